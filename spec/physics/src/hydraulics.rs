//! Pressure drops of coolant passages, and how a flow parts between them.
//!
//! A drop is Δp = k1·Q + k2·Q·|Q| with k1 and k2 of one coolant at one temperature; neither is negative.
//! Every passage is then a strictly rising curve, and so is every arrangement of passages one after the
//! other and beside each other: each has exactly one flow for a pressure and one pressure for a flow.

mod network;
mod pump;

pub use network::{DISTRIBUTE, Node, check_tree, distribute, divide, flow_through, pressure_across};
pub use pump::{PUMP_POINT, PumpPoint, pump_point};

use core::iter::Sum;
use core::ops::Add;

use crate::{Law, LinearFlowResistance, Pressure, SquareFlowResistance, VolumeFlow};

const NETWORK: &str =
    "Todini, Pilati, A gradient algorithm for the analysis of pipe networks, 1988; own bracket";

/// Law of [`Drop::pressure`].
pub static PRESSURE: Law = Law {
    name: "pressure drop of a passage",
    formula: "Δp = k1·Q + k2·Q·|Q|",
    validity: "one coolant at one temperature: k1 grows with viscosity (34 times from 65 to −30 °C), k2 with density",
    source: "laminar and turbulent part of a pipe's drop",
};

/// Law of [`Drop::scaled`].
pub static AT_TEMPERATURE: Law = Law {
    name: "pressure drop of a passage at another temperature",
    formula: "Δp = k1·(μ/μ_s)·Q + k2·(ρ/ρ_s)·Q·|Q|, μ_s and ρ_s where it was measured",
    validity: "k1 from two points; the turbulent part is taken to follow density alone, within 15 % over a factor of two in viscosity",
    source: "laminar and turbulent part of a pipe's drop",
};

/// How the pressure drops along a passage: k1 and k2, neither negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drop {
    /// Drop for each unit of flow, k1.
    pub linear: LinearFlowResistance,
    /// Drop for each unit of squared flow, k2.
    pub square: SquareFlowResistance,
}

impl Drop {
    /// A passage that takes no pressure.
    pub const NONE: Self = Self { linear: LinearFlowResistance::ZERO, square: SquareFlowResistance::ZERO };

    /// Square law through one stated point.
    ///
    /// `k2 = Δp/Q², k1 = 0`. Valid: square law; too low for cold coolant and below the stated flow. Source: one stated
    /// point.
    #[inline]
    pub fn from_point(flow: VolumeFlow, pressure: Pressure) -> Self {
        let q = flow.si();
        let square = SquareFlowResistance::new(pressure.si() / (q * q.abs()));
        Self { linear: LinearFlowResistance::ZERO, square }
    }

    /// Curve through two stated points of flow and pressure.
    ///
    /// Two points that are bent the other way would need a negative part; it is set to zero and the other one lies as
    /// close to both points as it can. Equal flows have no curve and come out as not a number.
    ///
    /// `k2 = (Δp2/Q2 − Δp1/Q1)/(Q2 − Q1), k1 = Δp1/Q1 − k2·Q1; a negative one is set to 0 and the other fitted again`.
    /// Valid: the least sum of squared relative errors where one is set to 0. Source: two stated points.
    pub fn from_two_points(one: (VolumeFlow, Pressure), other: (VolumeFlow, Pressure)) -> Self {
        let (q1, q2) = (one.0.si(), other.0.si());
        let (p1, p2) = (one.1.si(), other.1.si());
        let (slope1, slope2) = (p1 / q1, p2 / q2);
        let run = q2 - q1;
        if run == 0.0 {
            return Self::fit(f64::NAN, f64::NAN);
        }
        let square = (slope2 - slope1) / run;
        let linear = slope1 - square * q1;
        // Relative errors k·x − 1 with x = Q/Δp or Q²/Δp: their squares are least at k = Σx/Σx².
        let least = |x1: f64, x2: f64| (x1 + x2) / (x1 * x1 + x2 * x2);
        if square < 0.0 {
            Self::fit(least(1.0 / slope1, 1.0 / slope2), 0.0)
        } else if linear < 0.0 {
            Self::fit(0.0, least(q1 / slope1, q2 / slope2))
        } else {
            Self::fit(linear, square)
        }
    }

    /// The same passage with a coolant of so many times the viscosity and the density. See [`AT_TEMPERATURE`].
    #[inline]
    pub fn scaled(self, viscosity: f64, density: f64) -> Self {
        Self { linear: self.linear * viscosity, square: self.square * density }
    }

    #[inline]
    fn fit(linear: f64, square: f64) -> Self {
        Self { linear: LinearFlowResistance::new(linear), square: SquareFlowResistance::new(square) }
    }

    /// Pressure drop at a flow, with its sign. See [`PRESSURE`].
    #[inline]
    pub fn pressure(self, flow: VolumeFlow) -> Pressure {
        let q = flow.si();
        self.linear * flow + Pressure::new(self.square.si() * q * q.abs())
    }

    /// Flow at a pressure drop, with its sign.
    ///
    /// A passage that takes no pressure has no flow of its own: infinite, or not a number without pressure.
    ///
    /// `Q = 2·Δp/(k1 + √(k1² + 4·k2·|Δp|))`. Valid: k1 and k2 not both zero; free of cancellation. Source: root of Δp =
    /// k1·Q + k2·Q·|Q|.
    #[inline]
    pub fn flow(self, pressure: Pressure) -> VolumeFlow {
        VolumeFlow::new(self.flow_and_slope(pressure.si()).0)
    }

    /// Flow at a pressure and its growth with it.
    #[inline]
    fn flow_and_slope(self, pressure: f64) -> (f64, f64) {
        let (k1, k2) = (self.linear.si(), self.square.si());
        let root = (k1 * k1 + 4.0 * k2 * pressure.abs()).sqrt();
        if pressure == 0.0 && k1 + k2 > 0.0 {
            return (0.0, 1.0 / k1);
        }
        (2.0 * pressure / (k1 + root), 1.0 / root)
    }

    /// Pressure at a flow and its growth with it.
    #[inline]
    fn pressure_and_slope(self, flow: f64) -> (f64, f64) {
        let (k1, k2) = (self.linear.si(), self.square.si());
        ((k1 + k2 * flow.abs()) * flow, k1 + 2.0 * k2 * flow.abs())
    }
}

/// One after the other: the drops add up at equal flow.
impl Add for Drop {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self { linear: self.linear + other.linear, square: self.square + other.square }
    }
}

/// One after the other.
impl Sum for Drop {
    #[inline]
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::NONE, |whole, part| whole + part)
    }
}

/// Most steps of a search; each at least halves the bracket, and a Newton step mostly does far better.
const STEPS: usize = 200;

/// Where a rising curve reaches `target`: Newton steps from `start`, kept inside `low ..= high`, halving
/// the bracket where a step leaves it.
///
/// `curve` gives value and slope. The bracket must enclose the root; a value that is not a number ends the
/// search with not a number.
pub(crate) fn rising_root(
    mut low: f64,
    mut high: f64,
    start: f64,
    target: f64,
    mut curve: impl FnMut(f64) -> (f64, f64),
) -> f64 {
    let mut at = start;
    for _ in 0..STEPS {
        let (value, slope) = curve(at);
        let miss = value - target;
        if miss.is_nan() {
            return f64::NAN;
        }
        if miss == 0.0 {
            return at;
        }
        if miss < 0.0 {
            low = at;
        } else {
            high = at;
        }
        let newton = at - miss / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - at).abs() <= 2.0 * f64::EPSILON * next.abs() || high <= low {
            return next;
        }
        at = next;
    }
    at
}

/// How a total flow parts between parallel branches; fills `flows` and gives the common pressure drop.
///
/// `flows` must be as long as `branches`. A single branch that takes no pressure takes the whole flow; between several
/// of them nothing decides, and all flows are not a number, as they are for a missing figure, for no branch at all and
/// for slices of unequal length. A blocked branch (infinite k1 or k2) passes nothing.
///
/// `Σ Q_i(Δp) = Q`. Valid: branches from one junction to another; no buoyancy. Source: Todini, Pilati, A gradient
/// algorithm for the analysis of pipe networks, 1988; own bracket.
pub fn split(branches: &[Drop], total: VolumeFlow, flows: &mut [VolumeFlow]) -> Pressure {
    let whole = total.si();
    let undecided = |flows: &mut [VolumeFlow]| {
        flows.fill(VolumeFlow::new(f64::NAN));
        Pressure::new(f64::NAN)
    };
    let unknown = branches.iter().any(|branch| branch.linear.si().is_nan() || branch.square.si().is_nan());
    if branches.is_empty() || branches.len() != flows.len() || unknown || !whole.is_finite() {
        return undecided(flows);
    }
    if whole == 0.0 {
        flows.fill(VolumeFlow::ZERO);
        return Pressure::ZERO;
    }
    let open = |branch: &&Drop| branch.linear.si() == 0.0 && branch.square.si() == 0.0;
    match branches.iter().filter(open).count() {
        0 => {}
        1 => {
            for (branch, flow) in branches.iter().zip(flows.iter_mut()) {
                *flow = if open(&branch) { total } else { VolumeFlow::ZERO };
            }
            return Pressure::ZERO;
        }
        _ => return undecided(flows),
    }
    // At the low end even the most willing branch passes no more than its equal share; at the high end it
    // passes everything alone.
    let (mut low, mut high) = (f64::INFINITY, f64::INFINITY);
    let count = branches.len() as f64;
    for branch in branches {
        let share = branch.pressure_and_slope(whole.abs() / count).0;
        let alone = branch.pressure_and_slope(whole.abs()).0;
        low = if share < low { share } else { low };
        high = if alone < high { alone } else { high };
    }
    if !high.is_finite() {
        // Every branch is blocked.
        return undecided(flows);
    }
    // The sum is concave, so that Newton from the low end never steps past the root.
    let magnitude = rising_root(low, high, low, whole.abs(), |pressure| {
        branches.iter().map(|branch| branch.flow_and_slope(pressure)).fold((0.0, 0.0), add_pairs)
    });
    let pressure = Pressure::new(magnitude * whole.signum());
    for (branch, flow) in branches.iter().zip(flows.iter_mut()) {
        *flow = branch.flow(pressure);
    }
    pressure
}

#[inline]
fn add_pairs(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0 + other.0, one.1 + other.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drop(linear: f64, square: f64) -> Drop {
        Drop::fit(linear, square)
    }

    #[test]
    fn flow_is_the_inverse_of_pressure() {
        for passage in [drop(2e7, 4e11), drop(5e7, 0.0), drop(0.0, 3e11)] {
            for flow in [-2e-4, -1e-9, 0.0, 1e-9, 3e-4] {
                let again = passage.flow(passage.pressure(VolumeFlow::new(flow))).si();
                assert!((again - flow).abs() <= 1e-14 * flow.abs(), "{flow} became {again}");
            }
        }
    }

    #[test]
    fn two_points_are_met_where_they_can_be() {
        let (one, other) =
            ((VolumeFlow::new(1e-4), Pressure::new(4e3)), (VolumeFlow::new(2e-4), Pressure::new(13e3)));
        let passage = Drop::from_two_points(one, other);
        assert!((passage.pressure(one.0) - one.1).si().abs() < 1e-8);
        assert!((passage.pressure(other.0) - other.1).si().abs() < 1e-8);
        // Bent downwards: a straight line; bent more than a square: a square law.
        let flat = Drop::from_two_points(one, (other.0, Pressure::new(7e3)));
        assert!(flat.square.si() == 0.0 && flat.linear.si() > 3.5e7 && flat.linear.si() < 4e7);
        let steep = Drop::from_two_points(one, (other.0, Pressure::new(20e3)));
        assert!(steep.linear.si() == 0.0 && steep.square.si() > 4e11 && steep.square.si() < 5e11);
        assert!(Drop::from_two_points(one, one).square.si().is_nan());
    }

    #[test]
    fn an_open_branch_takes_everything_and_two_decide_nothing() {
        let mut flows = [VolumeFlow::ZERO; 2];
        let total = VolumeFlow::new(2e-4);
        assert_eq!(split(&[drop(1e7, 0.0), Drop::NONE], total, &mut flows), Pressure::ZERO);
        assert_eq!(flows, [VolumeFlow::ZERO, total]);
        assert!(split(&[Drop::NONE, Drop::NONE], total, &mut flows).si().is_nan());
        assert!(flows[0].si().is_nan());
    }

    #[test]
    fn a_blocked_branch_takes_nothing() {
        let mut flows = [VolumeFlow::ZERO; 2];
        let total = VolumeFlow::new(2e-4);
        split(&[drop(1e7, 2e11), drop(f64::INFINITY, 0.0)], total, &mut flows);
        assert!((flows[0] - total).si().abs() < 1e-18);
        assert_eq!(flows[1], VolumeFlow::ZERO);
        let none = split(&[drop(f64::INFINITY, 0.0)], total, &mut flows[..1]);
        assert!(none.si().is_nan());
    }

    #[test]
    fn what_is_missing_decides_nothing() {
        let mut flows = [VolumeFlow::ZERO; 2];
        let branches = [drop(1e7, 2e11), drop(f64::NAN, 0.0)];
        assert!(split(&branches, VolumeFlow::new(1e-4), &mut flows).si().is_nan());
        assert!(flows.iter().all(|flow| flow.si().is_nan()));
        let branches = [drop(1e7, 2e11); 2];
        assert!(split(&branches, VolumeFlow::new(f64::NAN), &mut flows).si().is_nan());
        assert!(split(&branches, VolumeFlow::new(1e-4), &mut flows[..1]).si().is_nan());
        assert_eq!(split(&branches, VolumeFlow::ZERO, &mut flows), Pressure::ZERO);
    }

    #[test]
    fn a_reversed_flow_is_the_mirror() {
        let branches = [drop(1e7, 2e11), drop(4e7, 1e11)];
        let (mut forth, mut back) = ([VolumeFlow::ZERO; 2], [VolumeFlow::ZERO; 2]);
        let pressure = split(&branches, VolumeFlow::new(1e-4), &mut forth);
        assert_eq!(split(&branches, VolumeFlow::new(-1e-4), &mut back), -pressure);
        assert_eq!(back, forth.map(|flow| -flow));
    }
}
