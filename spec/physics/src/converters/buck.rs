//! Step-down half bridge with any number of interleaved phases: the mirror of the boost.
//!
//! The phase's current is positive where it flows to the output, and the duty is that of the *high* switch.
//! A synchronous converter is used with [`split`] or the position's RMS values; one with a plain diode below
//! is the same down to half the ripple, and
//! [`super::discontinuous::buck_at_current`] below it.

use super::boost::{self, Edges, SwitchingCurrents};
use super::ramp::Split;
use crate::{Current, Frequency, Inductance, Resistance, Voltage};

/// Duty of the high switch (plain number, not clamped).
///
/// `phase` is one phase's mean output current with its sign, `resistance` that of the phase and of the switches in it.
///
/// `D = (V_o + I_L·r)/V_i`. Valid: continuous conduction, both directions. Source: mirror of the boost; Erickson,
/// Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn duty(input: Voltage, output: Voltage, phase: Current, resistance: Resistance) -> f64 {
    (output + phase * resistance) / input
}

/// Ripple of a phase's current, peak to peak.
///
/// `ΔI = V_i·D·(1 − D)/(L·f)`. Valid: stiff voltages, small resistance; 0.01 % against sampled waveforms. Source:
/// mirror of the boost; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn ripple(input: Voltage, duty: f64, inductance: Inductance, frequency: Frequency) -> Current {
    boost::ripple(input, duty, inductance, frequency)
}

/// RMS current of a phase and its inductor; see [`boost::LEG_RMS`].
#[inline]
pub fn phase_rms(phase: Current, ripple: Current) -> Current {
    boost::leg_rms(phase, ripple)
}

/// A phase's current parted by its sign over one interval; see [`super::ramp::Split`].
///
/// Times the duty it is the high position: the transistor carries the positive part, its diode the negative
/// one. Times the rest it is the low position: the *diode* carries the positive part, the transistor the
/// negative one. A low position with a synchronous switch carries both in its channel.
#[inline]
pub fn split(phase: Current, ripple: Current) -> Split {
    boost::split(phase, ripple)
}

/// Currents at the edges of a phase: of the high transistor with the low diode first; see
/// [`boost::switching_currents`].
#[inline]
pub fn switching_currents(phase: Current, ripple: Current) -> (Edges, Edges) {
    // Seen from the output a phase feeds current backwards into a boost.
    let SwitchingCurrents { lower_transistor, upper_transistor } = boost::switching_currents(-phase, ripple);
    (upper_transistor, lower_transistor)
}

/// Ripple current of the input capacitor, RMS, with `phases` interleaved phases.
///
/// `I_C² = I_L²·e·(1 − e) + s²/12·[e·((k + 1)·e)² + (1 − e)·(k·(1 − e))²], x = n·D, k = ⌊x⌋, e = x − k, s = ΔI/x`.
/// Valid: phases equal and evenly shifted, source without ripple; 0.01 % against sampled waveforms. Source: mirror of
/// the boost; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn input_ripple_rms(phases: f64, phase: Current, duty: f64, ripple: Current) -> Current {
    boost::high_side_ripple_rms(phases, phase, 1.0 - duty, ripple)
}

/// Ripple current of the output capacitor, RMS, with `phases` interleaved phases.
///
/// `I_C = n·(D − m/n)·((m + 1)/n − D)/(D·(1 − D))·ΔI/(2·√3), m = ⌊n·D⌋`. Valid: phases equal and evenly shifted, load
/// without ripple; 0.01 % against sampled waveforms. Source: mirror of the boost; Erickson, Maksimović, Fundamentals of
/// Power Electronics, 3rd ed., 2020.
#[inline]
pub fn output_ripple_rms(phases: f64, duty: f64, ripple: Current) -> Current {
    boost::low_side_ripple_rms(phases, 1.0 - duty, ripple)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_boost_seen_from_the_other_side() {
        let (high, low, r) = (Voltage::new(48.0), Voltage::new(13.0), Resistance::new(3e-3));
        let own = duty(high, low, Current::new(80.0), r);
        assert!((own + boost::duty(low, high, Current::new(-80.0), r) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn the_high_transistor_is_the_loaded_one() {
        let (high, low) = switching_currents(Current::new(80.0), Current::new(20.0));
        assert_eq!((high.turn_on.si(), high.turn_off.si(), high.recovery.si()), (70.0, 90.0, 70.0));
        assert_eq!(low.turn_off, Current::ZERO);
    }
}
