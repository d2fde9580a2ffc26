//! A three-phase bridge in time: natural pulse-width modulation over one turn of the angle.
//!
//! Within half a carrier period each leg switches once, where its reference meets the ramp. Those instants
//! are found exactly; between them every current is smooth and integrated with three Gauss points. Nothing
//! here shares code or a formula with the crate.

use std::f64::consts::{FRAC_PI_3, PI, TAU};

use libm::{cos, sin};
use loadworthy_physics::Modulation;

/// What is simulated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drive {
    pub(crate) modulation: Modulation,
    pub(crate) index: f64,
    pub(crate) phi: f64,
    /// Carrier periods in one turn.
    pub(crate) ratio: u32,
    /// Angle of the carrier against the voltage, as a share of its period.
    pub(crate) offset: f64,
}

/// A switching instant of one leg.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) angle: f64,
    /// Upper switch on from here (or off).
    pub(crate) rising: bool,
}

/// A stretch without a switching instant.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Which upper switches are on.
    pub(crate) upper: [bool; 3],
}

/// Ripple of the phase currents: the switched voltages less their fundamentals, integrated; mean zero.
pub(crate) struct Ripple {
    /// Cosine and sine crest of each phase's fundamental voltage.
    cosine: [f64; 3],
    sine: [f64; 3],
    /// Ripple at the beginning of each stretch.
    starts: Vec<[f64; 3]>,
}

impl Ripple {
    /// Ripple at an angle within a stretch that begins with `start`.
    fn at(&self, stretch: &Stretch, start: [f64; 3], angle: f64) -> [f64; 3] {
        let switched = star_voltages(stretch.upper);
        let (c, s) = (sin(angle) - sin(stretch.from), cos(stretch.from) - cos(angle));
        [0, 1, 2].map(|k| {
            let volt_seconds = switched[k] * (angle - stretch.from) - self.cosine[k] * c - self.sine[k] * s;
            start[k] + volt_seconds / TAU
        })
    }
}

/// Voltages of the three phases against their star point, with one volt of link.
fn star_voltages(upper: [bool; 3]) -> [f64; 3] {
    let on = upper.map(|on| f64::from(u8::from(on)));
    on.map(|pole| pole - (on[0] + on[1] + on[2]) / 3.0)
}

impl Drive {
    /// References of the three legs at an angle.
    fn references(&self, angle: f64) -> [f64; 3] {
        let sines = [0.0, 1.0, 2.0].map(|k| self.index * cos(angle - 2.0 * FRAC_PI_3 * k));
        let zero = match self.modulation {
            Modulation::Sinusoidal => 0.0,
            Modulation::ThirdHarmonic => -self.index / 6.0 * cos(3.0 * angle),
            Modulation::SpaceVector => {
                let (low, high) =
                    sines.iter().fold((f64::MAX, f64::MIN), |(low, high), &s| (low.min(s), high.max(s)));
                -0.5 * (low + high)
            }
        };
        sines.map(|sine| sine + zero)
    }

    /// Phase currents of crest one at an angle.
    pub(crate) fn currents(&self, angle: f64) -> [f64; 3] {
        [0.0, 1.0, 2.0].map(|k| cos(angle - self.phi - 2.0 * FRAC_PI_3 * k))
    }

    /// Angle of half a carrier period.
    fn half_period(&self) -> f64 {
        PI / f64::from(self.ratio)
    }

    /// The edges of all legs within half a carrier period that begins at `from`; the ramp rises or falls
    /// through it.
    fn edges(&self, from: f64, ramp_rises: bool) -> [Edge; 3] {
        let mut edges = [Edge { angle: from, rising: !ramp_rises }; 3];
        for (leg, edge) in edges.iter_mut().enumerate() {
            // The reference moves little within the ramp, so that putting the instant back in closes in on
            // it quickly.
            for _ in 0..12 {
                let reference = self.references(edge.angle)[leg];
                let share = 0.5 * if ramp_rises { 1.0 + reference } else { 1.0 - reference };
                edge.angle = from + self.half_period() * share.clamp(0.0, 1.0);
            }
        }
        edges
    }

    /// All edges of a turn, half period by half period.
    fn half_periods(&self) -> impl Iterator<Item = (f64, bool, [Edge; 3])> {
        let start = self.offset * 2.0 * self.half_period();
        (0..2 * self.ratio).map(move |k| {
            let (from, ramp_rises) = (start + f64::from(k) * self.half_period(), k % 2 == 0);
            (from, ramp_rises, self.edges(from, ramp_rises))
        })
    }

    /// The edges of the first leg.
    pub(crate) fn edges_of_first_leg(&self) -> Vec<Edge> {
        self.half_periods().map(|(_, _, edges)| edges[0]).collect()
    }

    /// The whole turn, cut at every switching instant.
    pub(crate) fn stretches(&self) -> Vec<Stretch> {
        let mut stretches = Vec::with_capacity(8 * self.ratio as usize);
        for (from, ramp_rises, edges) in self.half_periods() {
            let mut order = [0, 1, 2];
            order.sort_by(|&a, &b| edges[a].angle.total_cmp(&edges[b].angle));
            // While the ramp rises every reference starts above it.
            let (mut upper, mut begin) = ([ramp_rises; 3], from);
            for leg in order {
                stretches.push(Stretch { from: begin, to: edges[leg].angle, upper });
                upper[leg] = edges[leg].rising;
                begin = edges[leg].angle;
            }
            stretches.push(Stretch { from: begin, to: from + self.half_period(), upper });
        }
        stretches
    }

    /// Ripple of the phase currents with one volt of link, one henry a phase and one turn a second.
    pub(crate) fn ripple(&self) -> Ripple {
        // The fundamental that the poles really form: the smallest mistake in it would be a current at the
        // fundamental.
        let phase = |angle: f64, upper: [bool; 3], wave: fn(f64) -> f64| {
            star_voltages(upper).map(|voltage| 2.0 * voltage * wave(angle))
        };
        let mut ripple = Ripple {
            cosine: self.means(|angle, upper| phase(angle, upper, cos)),
            sine: self.means(|angle, upper| phase(angle, upper, sin)),
            starts: Vec::new(),
        };
        let mut now = [0.0; 3];
        for stretch in self.stretches() {
            ripple.starts.push(now);
            now = ripple.at(&stretch, now, stretch.to);
        }
        let means = self.means_with(&ripple, |_, _, ripple| ripple);
        for start in &mut ripple.starts {
            *start = [0, 1, 2].map(|k| start[k] - means[k]);
        }
        ripple
    }

    /// Means over a turn of several figures that depend on the ripple as well.
    pub(crate) fn means_with<const N: usize>(
        &self,
        ripple: &Ripple,
        figures: impl Fn(f64, [bool; 3], [f64; 3]) -> [f64; N],
    ) -> [f64; N] {
        let mut sums = [0.0; N];
        for (stretch, start) in self.stretches().iter().zip(&ripple.starts) {
            let part = integral(stretch.from, stretch.to, |angle| {
                figures(angle, stretch.upper, ripple.at(stretch, *start, angle))
            });
            sums.iter_mut().zip(part).for_each(|(sum, part)| *sum += part);
        }
        sums.map(|sum| sum / TAU)
    }

    /// Means over a turn of several figures that are smooth within each stretch.
    pub(crate) fn means<const N: usize>(&self, figures: impl Fn(f64, [bool; 3]) -> [f64; N]) -> [f64; N] {
        let mut sums = [0.0; N];
        for stretch in self.stretches() {
            let part = integral(stretch.from, stretch.to, |angle| figures(angle, stretch.upper));
            sums.iter_mut().zip(part).for_each(|(sum, part)| *sum += part);
        }
        sums.map(|sum| sum / TAU)
    }
}

/// Integral by three Gauss points.
pub(crate) fn integral<const N: usize>(from: f64, to: f64, figures: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let mut sums = [0.0; N];
    for (place, weight) in [(-0.6f64.sqrt(), 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.6f64.sqrt(), 5.0 / 9.0)] {
        let values = figures(middle + half * place);
        sums.iter_mut().zip(values).for_each(|(sum, value)| *sum += weight * half * value);
    }
    sums
}

#[test]
fn a_turn_is_covered_without_gap() {
    let drive = Drive { modulation: Modulation::SpaceVector, index: 1.0, phi: 0.5, ratio: 21, offset: 0.3 };
    let stretches = drive.stretches();
    assert_eq!(stretches.len(), 8 * 21);
    assert!(stretches.windows(2).all(|pair| (pair[0].to - pair[1].from).abs() < 1e-12));
    let [whole, fundamental] =
        drive.means(|angle, upper| [1.0, 2.0 * cos(angle) * if upper[0] { 1.0 } else { -1.0 }]);
    assert!((whole - 1.0).abs() < 1e-12);
    // The pole swings between +1 and −1; its fundamental is the index.
    assert!((fundamental - 1.0).abs() < 5e-3);
}
