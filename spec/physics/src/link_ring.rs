//! How branches of a bus ring after each edge of a pulse, far above the frequency of the pulses.
//!
//! Where the capacitance of one branch meets the inductances of both at a high multiple of the carrier, no few lines tell what
//! the pulses make of it. Close to that frequency all branches side by side are a resistance, an inductance and a
//! capacitance beside one another, and each edge sets off a sine that fades until the next.

use core::f64::consts::{PI, TAU};

use crate::{Current, Frequency, Resistance, Voltage};

/// Rings of one bus that are told apart.
pub const RINGS: usize = 4;
/// Multiples of the first line above which a resonance is a ring, and below which the lines tell it.
pub const FROM: f64 = 8.0;

/// How branches side by side ring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    /// Its frequency over that of the first line: turns in a period.
    turns: f64,
    /// What it loses in a period, as an exponent.
    fades: f64,
    /// Crest of its voltage for a step of 1 A, in Ω.
    ohms: f64,
}

/// Edges of a current within a period of its first line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// Sum of its jumps.
    pub jumps: Current,
    /// Sum of what its slope changes by, per period.
    pub bends: Current,
}

impl Ring {
    /// The ring at a frequency at which all branches side by side have no susceptance. `at` gives their conductance and
    /// susceptance, in S, at a frequency.
    ///
    /// `v = Z·ΔI·e^(−σ·t)·sin ω·t after each step ΔI of current, of a change of slope s Z·s/ω; B(ω) = 0, Z =
    /// 2/(ω·dB/dω), σ = G/(dB/dω), with G + j·B of all branches side by side`. Valid: light damping, more than which
    /// reads high; what is left after a carrier period meets the next in step, as in the worst case within the
    /// tolerance of capacitances. Source: step response of R, L and C side by side; any textbook on circuits.
    #[must_use]
    pub fn at(frequency: Frequency, first: Frequency, at: impl Fn(Frequency) -> (f64, f64)) -> Self {
        const NEAR: f64 = 1e-4;
        let turn = TAU * frequency.si();
        let rise = (at(frequency * (1.0 + NEAR)).1 - at(frequency * (1.0 - NEAR)).1) / (2.0 * NEAR * turn);
        Self {
            turns: frequency / first,
            fades: at(frequency).0 / (rise * first.si()),
            ohms: 2.0 / (turn * rise),
        }
    }

    /// What it is of the impedance at a line: real and imaginary part, in Ω.
    #[must_use]
    pub fn impedance(&self, line: f64) -> (f64, f64) {
        // R, L and C side by side: 1/(G + j·C·(ω − ω_0²/ω)), C = 1/(ω_0·Z), G = 2·σ·C.
        let conductance = self.fades / (PI * self.turns * self.ohms);
        let susceptance = (line / self.turns - self.turns / line) / self.ohms;
        let square = conductance * conductance + susceptance * susceptance;
        (conductance / square, -susceptance / square)
    }

    /// Crest of its voltage for a step of current.
    #[must_use]
    pub fn of_step(&self) -> Resistance {
        Resistance::new(self.ohms)
    }

    /// Turns in a period of the first line.
    #[must_use]
    pub const fn turns(&self) -> f64 {
        self.turns
    }

    /// Mean square of its voltage in V², by edges of which the squares of the steps sum up to so many A² in a period.
    ///
    /// `V² = Z²·ΣΔI²/2·(1 − e^(−2·σ/f_1))/(2·σ/f_1)/(1 − e^(−σ/f_1))²`. Valid: edges of one period beside one another
    /// at random, each meeting what is left of itself a period later in step, which reads high where it hardly fades.
    /// Source: mean square of a fading sine.
    #[must_use]
    pub fn mean_square(&self, steps: f64) -> f64 {
        let gone = -libm::expm1(-self.fades);
        let fading = -libm::expm1(-2.0 * self.fades) / (2.0 * self.fades);
        0.5 * self.ohms * self.ohms * steps * fading / (gone * gone)
    }

    /// Bound for its swing, peak to peak, by a current of so many edges: all of them in step.
    pub(crate) fn bound(&self, edges: Edges) -> Voltage {
        let steps = edges.jumps + edges.bends * (1.0 / (TAU * self.turns));
        steps * self.of_step() * (2.0 / -libm::expm1(-self.fades))
    }

    /// A ring some time later, in periods.
    pub(crate) fn later(&self, (real, imaginary): (f64, f64), time: f64) -> (f64, f64) {
        let (sine, cosine) = libm::sincos(TAU * self.turns * time);
        let left = libm::exp(-self.fades * time);
        (left * (real * cosine - imaginary * sine), left * (real * sine + imaginary * cosine))
    }

    /// What of a ring at the end of a period that began without any is there where each meets the next in step.
    pub(crate) fn lasting(&self, (real, imaginary): (f64, f64)) -> (f64, f64) {
        let times = 1.0 / -libm::expm1(-self.fades);
        (times * real, times * imaginary)
    }

    /// A step of current, as what it adds to a ring.
    pub(crate) const fn step(&self, amps: f64) -> f64 {
        amps * self.ohms
    }

    /// Lowest and highest voltage of a ring from now on.
    pub(crate) fn crests(&self, (real, imaginary): (f64, f64)) -> (f64, f64) {
        let size = libm::hypot(real, imaginary);
        let now = libm::atan2(imaginary, real);
        let pace = TAU * self.turns;
        let crest = libm::atan2(pace, self.fades);
        let reached = |angle: f64| {
            let wait = angle - now;
            let wait = wait - TAU * (wait / TAU).floor();
            size * libm::exp(-self.fades * wait / pace) * libm::sin(crest)
        };
        let (high, low) = (reached(crest), -reached(crest + PI));
        // Where it is now may be more than it comes to again.
        (if imaginary < low { imaginary } else { low }, if imaginary > high { imaginary } else { high })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capacitor_bank::Branch;
    use crate::{Capacitance, Inductance};

    /// 2 µF behind 8 nH beside 500 µF behind 20 nH.
    const BRANCHES: [(f64, f64, f64); 2] = [(4e-3, 8e-9, 2e-6), (2e-3, 20e-9, 500e-6)];

    fn all(frequency: Frequency) -> (f64, f64) {
        BRANCHES.iter().fold((0.0, 0.0), |sum, &(ohms, henries, farads)| {
            let branch = Branch {
                resistance: Resistance::new(ohms),
                inductance: Inductance::new(henries),
                capacitance: Some(Capacitance::new(farads)),
            };
            let own = branch.admittance(frequency);
            (sum.0 + own.0, sum.1 + own.1)
        })
    }

    fn ring(first: f64) -> Ring {
        // By halving: no susceptance between the series resonances of both.
        let (mut low, mut high) = (100e3, 1.2e6);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if all(Frequency::new(middle)).1 < 0.0 { low = middle } else { high = middle }
        }
        Ring::at(Frequency::new(low), Frequency::new(first), all)
    }

    /// Voltage of the loop after a step of 1 A, less what an edge makes of both inductances: highest and lowest, stepped.
    fn stepped() -> (f64, f64) {
        let [(r1, l1, c1), (r2, l2, c2)] = BRANCHES;
        let step = 1e-10;
        // A jump divides by the inductances.
        let (mut through, mut v1, mut v2) = (l2 / (l1 + l2), 0.0, 0.0);
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for _ in 0..40_000 {
            let rise = (v2 + r2 * (1.0 - through) - v1 - r1 * through) / (l1 + l2);
            let volts = v1 + r1 * through + l1 * rise;
            through += rise * step;
            v1 += through * step / c1;
            v2 += (1.0 - through) * step / c2;
            (low, high) = (f64::min(low, volts), f64::max(high, volts));
        }
        (low, high)
    }

    #[test]
    fn a_step_rings_as_stepped() {
        let ring = ring(20e3);
        // 1/(2π·√(28 nH·2 µF)) = 672.6 kHz, a little more by the other capacitance.
        assert!((ring.turns * 20e3 / 674e3 - 1.0).abs() < 0.005, "{ring:?}");
        let (low, high) = ring.crests((ring.ohms, 0.0));
        let (least, most) = stepped();
        // Beside it the step leaves some 2 mΩ and the charge of some microseconds, which lift both.
        let off = (high - low) / (most - least) - 1.0;
        assert!(off.abs() < 0.025 && most - high > 0.0 && most - high < 3e-3, "{low} {high}: {least} {most}");
    }

    #[test]
    fn near_its_frequency_it_is_the_impedance_of_all_branches() {
        let ring = ring(20e3);
        for line in [31.0, 33.0, 33.7, 34.0, 36.0] {
            let (real, imaginary) = all(Frequency::new(20e3 * line));
            let square = real * real + imaginary * imaginary;
            let (own, reactive) = ring.impedance(line);
            // Both inductances side by side remain, 5.714 nH.
            let (real, imaginary) = (real / square, -imaginary / square - TAU * 20e3 * line * 5.714e-9);
            let off = libm::hypot(own - real, reactive - imaginary);
            assert!(
                off < 0.06 * libm::hypot(real, imaginary),
                "{line}: {own} {reactive}, {real} {imaginary}"
            );
        }
    }

    /// RMS current of the small branch by a current of 1 A that comes and goes 20,000 times a second, stepped until it repeats.
    #[test]
    fn what_rings_heats_a_branch_as_stepped() {
        let [(r1, l1, c1), (r2, l2, c2)] = BRANCHES;
        let (step, half) = (5e-10, 50_000);
        let (mut through, mut v1, mut v2, mut amps) = (0.0, 0.0, 0.0, 0.0);
        let (mut sum, mut square) = (0.0, 0.0);
        for turn in 0..12 {
            let jump = if turn % 2 == 0 { 1.0 } else { -1.0 };
            amps += jump;
            // A jump divides by the inductances; its mean is taken off, which no branch carries for good.
            through += jump * l2 / (l1 + l2);
            for _ in 0..half {
                let all = amps - 0.5;
                let rise = (v2 + r2 * (all - through) - v1 - r1 * through) / (l1 + l2);
                through += rise * step;
                v1 += through * step / c1;
                v2 += (all - through) * step / c2;
                if turn >= 10 {
                    (sum, square) = (sum + through, square + through * through);
                }
            }
        }
        let count = 2.0 * f64::from(half);
        let stepped = (square / count - (sum / count) * (sum / count)).sqrt();
        let ring = ring(20e3);
        let own = Branch {
            resistance: Resistance::new(r1),
            inductance: Inductance::new(l1),
            capacitance: Some(Capacitance::new(c1)),
        };
        let admittance = own.admittance(Frequency::new(20e3 * ring.turns()));
        let square = admittance.0 * admittance.0 + admittance.1 * admittance.1;
        let told = (ring.mean_square(2.0) * square).sqrt();
        // Beside it the branch takes its part of the square wave, half a percent of 0.5 A.
        assert!((told / stepped - 1.0).abs() < 0.06, "{told} against {stepped}");
    }

    #[test]
    fn a_bound_has_all_edges_in_step() {
        let ring = Ring { turns: 20.0, fades: 3.0, ohms: 0.1 };
        let edges = Edges { jumps: Current::new(80.0), bends: Current::new(40.0 * TAU) };
        // 80 + 40/20 = 82 A; 1/(1 − e^−3) = 1.0524.
        assert!((ring.bound(edges).si() - 2.0 * 8.2 * 1.0524).abs() < 1e-3);
        assert!(ring.bound(Edges { jumps: Current::new(f64::NAN), ..edges }).si().is_nan());
    }
}
