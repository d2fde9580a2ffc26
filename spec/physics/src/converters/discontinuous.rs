//! A leg whose diode position has no switch, at currents so small that the inductor runs empty in every
//! period.
//!
//! The inductor's current is a triangle: it rises while the switch is on, falls back to zero through the
//! diode and rests for what is left of the period.

use super::ramp::interleaved_mean_square;
use super::wave::Wave;
use crate::{Current, Frequency, Inductance, Law, SquaredCurrent, Voltage};

const SOURCE: &str =
    "volt-second balance; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020";

/// Law of [`boost_at_current`].
pub static BOOST_AT_CURRENT: Law = Law {
    name: "duty of a discontinuous boost",
    formula: "D = √(2·I_1·L·f·(V_2 − V_1)/(V_1·V_2))",
    validity: "plain diode above, D + D_2 up to 1",
    source: SOURCE,
};

/// Law of [`buck_at_current`].
pub static BUCK_AT_CURRENT: Law = Law {
    name: "duty of a discontinuous buck",
    formula: "D = √(2·I_o·L·f·V_o/(V_i·(V_i − V_o)))",
    validity: "plain diode below, D + D_2 up to 1",
    source: SOURCE,
};

/// The triangle that an inductor's current makes in each period.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Triangle {
    /// Share of the period in which the switch is on and the current rises, D.
    pub rise: f64,
    /// Share of the period in which the diode conducts and the current falls, D_2.
    pub fall: f64,
    /// Crest of the current; the switch turns off at it. It turns on without current, and the diode
    /// recovers nothing.
    pub peak: Current,
}

impl Triangle {
    /// Whether the inductor does run empty: rise and fall leave a rest or just fill the period. Where they
    /// do not, the leg conducts continuously and the triangle describes nothing.
    #[inline]
    pub fn runs_empty(self) -> bool {
        self.rise + self.fall <= 1.0
    }

    /// Mean current of the inductor.
    ///
    /// `I = Î·d/2, d = D + D_2 in the inductor, D in the switch, D_2 in the diode`. Valid: exact for a triangle.
    /// Source: area of a triangle.
    #[inline]
    pub fn mean(self) -> Current {
        self.peak * (0.5 * (self.rise + self.fall))
    }

    /// Mean current of the switch.
    #[inline]
    pub fn switch_mean(self) -> Current {
        self.peak * (0.5 * self.rise)
    }

    /// Mean current of the diode.
    #[inline]
    pub fn diode_mean(self) -> Current {
        self.peak * (0.5 * self.fall)
    }

    /// RMS current of the inductor.
    ///
    /// `I_rms = Î·√(d/3), d = D + D_2 in the inductor, D in the switch, D_2 in the diode`. Valid: exact for a triangle.
    /// Source: mean square of a ramp.
    #[inline]
    pub fn rms(self) -> Current {
        self.peak * ((self.rise + self.fall) / 3.0).sqrt()
    }

    /// Current of the inductor over a period.
    #[inline]
    pub fn wave(self) -> Wave {
        let none = Current::ZERO;
        Wave::NONE.then(self.rise, none, self.peak).then(self.fall, self.peak, none).then(
            1.0 - self.rise - self.fall,
            none,
            none,
        )
    }

    /// RMS current of the switch.
    #[inline]
    pub fn switch_rms(self) -> Current {
        self.peak * (self.rise / 3.0).sqrt()
    }

    /// RMS current of the diode.
    #[inline]
    pub fn diode_rms(self) -> Current {
        self.peak * (self.fall / 3.0).sqrt()
    }

    /// One leg's current at a phase 0 … 1, in shares of the crest.
    #[inline]
    fn at(self, phase: f64) -> f64 {
        if phase < self.rise {
            phase / self.rise
        } else if phase < self.rise + self.fall {
            1.0 - (phase - self.rise) / self.fall
        } else {
            0.0
        }
    }

    /// Alternating part of the sum over `legs` legs of a current with the mean `mean`.
    #[inline]
    fn alternating(self, legs: f64, mean: Current, wave: impl Fn(f64) -> f64) -> Current {
        let square = interleaved_mean_square(legs, [0.0, self.rise, self.rise + self.fall], wave);
        let whole = mean * legs;
        (self.peak * self.peak * square - whole * whole).root()
    }

    /// Ripple, RMS, of what `legs` evenly shifted legs (a whole number up to 1024) carry together: in the low-side
    /// capacitor of a boost, the output capacitor of a buck.
    ///
    /// `I_C² = mean of (Σ i_k)² − (mean of Σ i_k)², i_k shifted by 1/n of a period`. Valid: exact for equal legs,
    /// evenly shifted. Source: integral over one shift, piecewise straight.
    pub fn leg_ripple_rms(self, legs: f64) -> Current {
        self.alternating(legs, self.mean(), |phase| self.at(phase))
    }

    /// Ripple, RMS, of what the diodes of `legs` evenly shifted legs carry together: in the high-side capacitor of a
    /// boost.
    pub fn diode_ripple_rms(self, legs: f64) -> Current {
        let wave = |phase| if phase < self.rise { 0.0 } else { self.at(phase) };
        self.alternating(legs, self.diode_mean(), wave)
    }

    /// Ripple, RMS, of what the switches of `legs` evenly shifted legs carry together: in the input capacitor of a
    /// buck.
    pub fn switch_ripple_rms(self, legs: f64) -> Current {
        let wave = |phase| if phase < self.rise { self.at(phase) } else { 0.0 };
        self.alternating(legs, self.switch_mean(), wave)
    }

    /// Mean square of the inductor's current.
    #[inline]
    pub fn mean_square(self) -> SquaredCurrent {
        self.peak * self.peak * ((self.rise + self.fall) / 3.0)
    }
}

/// Discontinuous boost at a duty of its switch.
///
/// `Î = V_1·D/(L·f), D_2 = V_1·D/(V_2 − V_1)`. Valid: plain diode above, D + D_2 up to 1; 0.02 % against time
/// simulation. Source: volt-second balance; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn boost_at_duty(
    low: Voltage,
    high: Voltage,
    duty: f64,
    inductance: Inductance,
    frequency: Frequency,
) -> Triangle {
    let peak = low * duty / (inductance * frequency);
    Triangle { rise: duty, fall: duty * (low / (high - low)), peak }
}

/// Discontinuous boost at a mean low-side current of one leg.
///
/// [`Triangle::runs_empty`] says whether the current is small enough. Not a number for a high side that is
/// not above the low one. See [`BOOST_AT_CURRENT`].
#[inline]
pub fn boost_at_current(
    low: Voltage,
    high: Voltage,
    leg: Current,
    inductance: Inductance,
    frequency: Frequency,
) -> Triangle {
    let drop = leg * (inductance * frequency);
    let duty = (2.0 * (drop / low) * ((high - low) / high)).sqrt();
    boost_at_duty(low, high, duty, inductance, frequency)
}

/// Discontinuous buck at a duty of its switch.
///
/// `Î = (V_i − V_o)·D/(L·f), D_2 = (V_i − V_o)·D/V_o`. Valid: plain diode below, D + D_2 up to 1. Source: volt-second
/// balance; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn buck_at_duty(
    input: Voltage,
    output: Voltage,
    duty: f64,
    inductance: Inductance,
    frequency: Frequency,
) -> Triangle {
    let across = input - output;
    Triangle { rise: duty, fall: duty * (across / output), peak: across * duty / (inductance * frequency) }
}

/// Discontinuous buck at a mean output current of one phase. See [`BUCK_AT_CURRENT`].
#[inline]
pub fn buck_at_current(
    input: Voltage,
    output: Voltage,
    phase: Current,
    inductance: Inductance,
    frequency: Frequency,
) -> Triangle {
    let drop = phase * (inductance * frequency);
    let duty = (2.0 * (drop / (input - output)) * (output / input)).sqrt();
    buck_at_duty(input, output, duty, inductance, frequency)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::converters::boost;

    const LOW: Voltage = Voltage::new(200.0);
    const HIGH: Voltage = Voltage::new(420.0);
    const L: Inductance = Inductance::new(80e-6);
    const F: Frequency = Frequency::new(20e3);

    #[test]
    fn at_the_boundary_it_is_the_continuous_leg() {
        let duty = boost::duty(LOW, HIGH, Current::ZERO, crate::Resistance::ZERO);
        let ripple = boost::ripple(HIGH, duty, L, F);
        let triangle = boost_at_current(LOW, HIGH, ripple * 0.5, L, F);
        assert!((triangle.rise - duty).abs() < 1e-12 && (triangle.rise + triangle.fall - 1.0).abs() < 1e-12);
        assert!((triangle.peak - ripple).si().abs() < 1e-9);
        for legs in [1.0, 2.0, 3.0] {
            let low = boost::low_side_ripple_rms(legs, duty, ripple);
            assert!((triangle.leg_ripple_rms(legs) - low).si().abs() < 1e-6);
            let high = boost::high_side_ripple_rms(legs, ripple * 0.5, duty, ripple);
            assert!((triangle.diode_ripple_rms(legs) - high).si().abs() < 1e-6);
        }
    }

    #[test]
    fn the_current_asked_for_flows() {
        let triangle = boost_at_current(LOW, HIGH, Current::new(5.0), L, F);
        assert!(triangle.runs_empty() && (triangle.mean().si() - 5.0).abs() < 1e-12);
        // Power in equals power out.
        let (power_in, power_out) = (triangle.mean() * LOW, triangle.diode_mean() * HIGH);
        assert!((power_in - power_out).si().abs() < 1e-9);
        let buck = buck_at_current(HIGH, LOW, Current::new(5.0), L, F);
        assert!((buck.mean() * LOW - buck.switch_mean() * HIGH).si().abs() < 1e-9);
        assert!((buck.mean().si() - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_larger_current_does_not_run_empty() {
        assert!(!boost_at_current(LOW, HIGH, Current::new(500.0), L, F).runs_empty());
        assert!(!boost_at_current(LOW, LOW * 0.9, Current::new(5.0), L, F).runs_empty());
    }
}
