//! Searches along the curve of equal torque.
//!
//! The curve is followed by its direct current i_d; each has one quadrature current i/x with x = 1 + δ·i_d,
//! δ = (L_d − L_q)/ψ, as long as magnets and saliency together link the phase in the magnets' direction
//! (x > 0). Along it the squared voltage is
//! R²·(i_d² + i_q²) + 2·R·ω·T/(3/2·p) + ω²·((ψ + L_d·i_d)² + (L_q·i_q)²),
//! a constant and squares of straight and inverse lines: a convex function of i_d with one least value.
//! Where the torque takes the least current, it rises with i_d, so that less voltage lies on the negative
//! side only.

use super::{Machine, RotorCurrent};
use crate::{AngularSpeed, Current, Torque, Voltage};

/// How a torque is had within a voltage.
pub(super) enum Reach {
    /// With the most torque per ampere.
    Easily(RotorCurrent),
    /// With more current.
    Weakened(RotorCurrent),
    /// Not at all.
    Never,
}

/// Golden section, which leaves one of its two inner places in use at each step.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// The curve of one torque at one speed.
struct Curve<'a> {
    machine: &'a Machine,
    speed: AngularSpeed,
    /// Quadrature current that the torque takes without direct current, i.
    plain: f64,
    /// δ.
    saliency: f64,
}

impl<'a> Curve<'a> {
    fn new(machine: &'a Machine, torque: Torque, speed: AngularSpeed) -> Self {
        let linked = machine.flux_linkage.si();
        let saliency = (machine.direct_inductance - machine.quadrature_inductance).si() / linked;
        Self { machine, speed, plain: torque.si() / (1.5 * machine.pole_pairs * linked), saliency }
    }

    /// The current on the curve with this direct part.
    fn at(&self, direct: f64) -> RotorCurrent {
        let linked = 1.0 + self.saliency * direct;
        let quadrature = if self.plain == 0.0 { 0.0 } else { self.plain / linked };
        RotorCurrent { direct: Current::new(direct), quadrature: Current::new(quadrature) }
    }

    fn voltage(&self, direct: f64) -> f64 {
        self.machine.voltage(self.at(direct), self.speed).si()
    }

    /// Direct current of most torque per ampere.
    ///
    /// The least of i_d² + (i/x)² lies at x³·(x − 1) = (δ·i)², a rising function of x above 1.
    fn most_torque_per_ampere(&self) -> f64 {
        let asked = self.saliency * self.plain;
        let square = asked * asked;
        if square == 0.0 {
            return 0.0;
        }
        // (1 + u)³·u is at least u and at least u⁴.
        let root = square.sqrt().sqrt();
        let (mut low, mut high) = (0.0, if square < root { square } else { root });
        let mut u = high;
        for _ in 0..200 {
            let x = 1.0 + u;
            let miss = x * x * x * u - square;
            if miss > 0.0 {
                high = u;
            } else {
                low = u;
            }
            let newton = u - miss / (x * x * (4.0 * u + 1.0));
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            let step = next - u;
            u = next;
            if step.abs() <= 2.0 * f64::EPSILON * u {
                break;
            }
        }
        u / self.saliency
    }

    /// Direct current of the least voltage, on the negative side of `start`.
    fn least_voltage(&self, start: f64) -> f64 {
        // A convex function has passed its least value where it begins to rise. Where saliency cancels the
        // magnets, the torque would need endless current: the curve ends there.
        let cancelled = -1.0 / self.saliency;
        let end = if self.saliency > 0.0 { cancelled } else { f64::NEG_INFINITY };
        let cancelling = self.machine.flux_linkage / self.machine.direct_inductance;
        let mut reach =
            0.01 * (self.plain.abs() + if cancelling.si().is_finite() { cancelling.si() } else { 1.0 });
        let (mut from, mut to) = (start, start);
        let mut last = self.voltage(start);
        for _ in 0..200 {
            let next = start - reach;
            let outside = next <= end;
            let next = if outside { end } else { next };
            let here = self.voltage(next);
            if outside || here >= last || here.is_nan() {
                to = next;
                break;
            }
            (from, to, last) = (to, next, here);
            reach *= 1.5;
        }
        self.golden(from, to)
    }

    /// Place of least voltage between two, where there is one least value only.
    fn golden(&self, from: f64, to: f64) -> f64 {
        let (mut from, mut to) = (from, to);
        let (mut one, mut other) = (to - GOLDEN * (to - from), from + GOLDEN * (to - from));
        let (mut at_one, mut at_other) = (self.voltage(one), self.voltage(other));
        for _ in 0..80 {
            if at_one < at_other {
                (to, other, at_other) = (other, one, at_one);
                one = to - GOLDEN * (to - from);
                at_one = self.voltage(one);
            } else {
                (from, one, at_one) = (one, other, at_other);
                other = from + GOLDEN * (to - from);
                at_other = self.voltage(other);
            }
        }
        if at_one < at_other { one } else { other }
    }

    /// Place where the voltage comes down to what is available, between one that has too much and one that
    /// has not.
    fn enclosed(&self, above: f64, below: f64, available: f64) -> f64 {
        let (mut above, mut below) = (above, below);
        for _ in 0..64 {
            let middle = 0.5 * (above + below);
            if self.voltage(middle) <= available {
                below = middle;
            } else {
                above = middle;
            }
        }
        below
    }
}

/// Least current that makes a torque within a voltage.
pub(super) fn least_current(
    machine: &Machine,
    torque: Torque,
    speed: AngularSpeed,
    available: Voltage,
) -> Reach {
    let curve = Curve::new(machine, torque, speed);
    let start = curve.most_torque_per_ampere();
    if curve.voltage(start) <= available.si() {
        return Reach::Easily(curve.at(start));
    }
    let bottom = curve.least_voltage(start);
    if curve.voltage(bottom) <= available.si() {
        Reach::Weakened(curve.at(curve.enclosed(start, bottom, available.si())))
    } else {
        Reach::Never
    }
}

/// Largest share of a torque that can be had within a voltage, and its current.
///
/// All currents within the voltage form one whole without holes, so that with a share every smaller one can
/// be had down to the idle machine. Where not even that can be had, the share is zero and the current that
/// of the least voltage.
pub(super) fn largest_share(
    machine: &Machine,
    torque: Torque,
    speed: AngularSpeed,
    available: Voltage,
) -> (f64, RotorCurrent) {
    let at = |share: f64| match least_current(machine, torque * share, speed, available) {
        Reach::Easily(rotor) | Reach::Weakened(rotor) => Some(rotor),
        Reach::Never => None,
    };
    let Some(mut rotor) = at(0.0) else {
        let idle = Curve::new(machine, Torque::ZERO, speed);
        return (0.0, idle.at(idle.least_voltage(0.0)));
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        match at(middle) {
            Some(found) => (low, rotor) = (middle, found),
            None => high = middle,
        }
    }
    (low, rotor)
}
