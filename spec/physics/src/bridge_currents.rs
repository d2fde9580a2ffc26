//! What one of the six positions of a three-phase bridge carries while the angle turns.
//!
//! Transistor with an antiparallel diode: the load moves from one to the other with the sign of cos φ. A
//! MOSFET whose channel is switched on for the commanded time carries both directions in its channel, and
//! its body diode only the dead time; the split between transistor and diode must never be applied to it.

use core::f64::consts::PI;

use crate::bounds::{at_least_zero, cosine};
use crate::{Current, Frequency, Law, Modulation, SquaredCurrent, Time};

const KOLAR: &str = "Kolar, Ertl, Zach, IEEE Trans. Industry Applications 27(6), 1991";

/// Law of [`transistor_average`].
pub static TRANSISTOR_AVERAGE: Law = Law {
    name: "transistor current, mean",
    formula: "I_T,avg = Î·(1/(2·π) + M·cos φ/8)",
    validity: "sine current, linear modulation of any zero sequence; 0.006 % of Î against sampled waveforms",
    source: KOLAR,
};

/// Law of [`diode_average`].
pub static DIODE_AVERAGE: Law = Law {
    name: "diode current, mean",
    formula: "I_D,avg = Î·(1/(2·π) − M·cos φ/8)",
    validity: "sine current, linear modulation of any zero sequence; 0.006 % of Î against sampled waveforms",
    source: KOLAR,
};

/// Law of [`transistor_rms`].
pub static TRANSISTOR_RMS: Law = Law {
    name: "transistor current, RMS",
    formula: "I_T,rms = Î·√(1/8 + M·cos φ/(3·π) + X)",
    validity: "sine current, linear modulation; 0.1 % against sampled waveforms, 1.4 % of Î at 9 carrier periods a turn",
    source: KOLAR,
};

/// Law of [`diode_rms`].
pub static DIODE_RMS: Law = Law {
    name: "diode current, RMS",
    formula: "I_D,rms = Î·√(1/8 − M·cos φ/(3·π) − X)",
    validity: "sine current, linear modulation; 0.1 % against sampled waveforms, 1.4 % of Î at 9 carrier periods a turn",
    source: KOLAR,
};

/// Law of [`channel_rms`].
pub static CHANNEL_RMS: Law = Law {
    name: "channel current of a MOSFET, RMS",
    formula: "I_ch = Î/2·√(1 − 2·t_d·f_s)",
    validity: "channel on in both directions, Î·R_on below the body diode's knee; high (never low) above it",
    source: "own integration; MOSFET conducting in the third quadrant",
};

/// Law of [`body_diode_average`].
pub static BODY_DIODE_AVERAGE: Law = Law {
    name: "body diode current, mean",
    formula: "I_BD,avg = Î/π·2·t_d·f_s",
    validity: "conducts in the dead times only; 0.01 % against sampled waveforms",
    source: "own integration over the two dead times of a carrier period",
};

/// Law of [`body_diode_rms`].
pub static BODY_DIODE_RMS: Law = Law {
    name: "body diode current, RMS",
    formula: "I_BD,rms = Î/2·√(2·t_d·f_s)",
    validity: "conducts in the dead times only; 0.01 % against sampled waveforms",
    source: "own integration over the two dead times of a carrier period",
};

/// Law of [`ripple_factor`].
pub static RIPPLE_FACTOR: Law = Law {
    name: "growth of an RMS current by phase ripple",
    formula: "k = √(1 + r²), r = I_ripple/I",
    validity: "0.1 % of Î at r = 0.1, 0.4 % at 0.2, 1.3 % at 0.35 against sampled waveforms",
    source: "sum of squares; own comparison with sampled waveforms",
};

/// Mean current of a transistor over a turn of the angle.
///
/// `peak` is the crest Î of the phase current, `m` the modulation index at the poles, `cos_phi` the power
/// factor with the sign of the power. See [`TRANSISTOR_AVERAGE`].
#[inline]
pub fn transistor_average(peak: Current, m: f64, cos_phi: f64) -> Current {
    peak * at_least_zero(0.5 / PI + m * cosine(cos_phi) / 8.0)
}

/// Mean current of the antiparallel diode over a turn of the angle.
///
/// Symbols as in [`transistor_average`]. See [`DIODE_AVERAGE`].
#[inline]
pub fn diode_average(peak: Current, m: f64, cos_phi: f64) -> Current {
    peak * at_least_zero(0.5 / PI - m * cosine(cos_phi) / 8.0)
}

/// Mean square of a transistor's current, before phase ripple.
///
/// `modulation` gives the common-mode term X. Clamped at zero: near the limit of modulation the lightly
/// loaded device's bracket can fall below it by rounding. Other symbols as in [`transistor_average`]. See
/// [`TRANSISTOR_RMS`].
#[inline]
pub fn transistor_mean_square(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> SquaredCurrent {
    let shift = m * cosine(cos_phi) / (3.0 * PI) + modulation.rms_common_mode(m, cos_phi);
    peak * peak * at_least_zero(0.125 + shift)
}

/// Mean square of the antiparallel diode's current, before phase ripple.
///
/// Symbols as in [`transistor_mean_square`]. See [`DIODE_RMS`].
#[inline]
pub fn diode_mean_square(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> SquaredCurrent {
    let shift = m * cosine(cos_phi) / (3.0 * PI) + modulation.rms_common_mode(m, cos_phi);
    peak * peak * at_least_zero(0.125 - shift)
}

/// RMS current of a transistor, before phase ripple; see [`transistor_mean_square`].
#[inline]
pub fn transistor_rms(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> Current {
    transistor_mean_square(peak, m, cos_phi, modulation).root()
}

/// RMS current of the antiparallel diode, before phase ripple; see [`diode_mean_square`].
#[inline]
pub fn diode_rms(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> Current {
    diode_mean_square(peak, m, cos_phi, modulation).root()
}

/// Share of a carrier period in which both switches of a leg are off (plain number): two dead times.
///
/// `d_dead = 2·t_d·f_s`. Valid: one dead time after each of two edges a carrier period. Source: definition.
#[inline]
pub fn dead_share(dead_time: Time, carrier: Frequency) -> f64 {
    2.0 * (dead_time * carrier)
}

/// RMS current of a MOSFET's channel that is switched on in both directions of current.
///
/// `peak` is the crest of the phase current, `dead_time` the blanking after each edge, `carrier` the
/// carrier frequency. Does not depend on modulation or power factor: the loss is the same motoring and
/// recovering. See [`CHANNEL_RMS`].
#[inline]
pub fn channel_rms(peak: Current, dead_time: Time, carrier: Frequency) -> Current {
    peak * 0.5 * at_least_zero(1.0 - dead_share(dead_time, carrier)).sqrt()
}

/// Mean current of a MOSFET's body diode, which conducts in the dead times only; symbols as in
/// [`channel_rms`].
#[inline]
pub fn body_diode_average(peak: Current, dead_time: Time, carrier: Frequency) -> Current {
    peak * (dead_share(dead_time, carrier) / PI)
}

/// RMS current of a MOSFET's body diode, which conducts in the dead times only; symbols as in
/// [`channel_rms`].
#[inline]
pub fn body_diode_rms(peak: Current, dead_time: Time, carrier: Frequency) -> Current {
    peak * 0.5 * at_least_zero(dead_share(dead_time, carrier)).sqrt()
}

/// Factor on every RMS device current for the ripple of the phase current (plain number, at least 1).
///
/// `ripple_rms` is the ripple, `phase_rms` the fundamental, both RMS. See [`RIPPLE_FACTOR`].
#[inline]
pub fn ripple_factor(ripple_rms: Current, phase_rms: Current) -> f64 {
    let share = ripple_rms / phase_rms;
    (1.0 + share * share).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const PEAK: Current = Current::new(200.0);

    #[test]
    fn transistor_and_diode_share_the_half_wave() {
        // Together they carry one half wave: mean Î/π, mean square Î²/4, whatever the direction.
        for cos_phi in [-1.0, -0.3, 0.0, 0.7, 1.0] {
            let mean = transistor_average(PEAK, 0.9, cos_phi) + diode_average(PEAK, 0.9, cos_phi);
            assert!((mean.si() - 200.0 / PI).abs() < 1e-12);
            let square = transistor_mean_square(PEAK, 0.9, cos_phi, Modulation::SpaceVector)
                + diode_mean_square(PEAK, 0.9, cos_phi, Modulation::SpaceVector);
            assert!((square.si() - 10_000.0).abs() < 1e-9);
        }
    }

    #[test]
    fn recovering_swaps_transistor_and_diode() {
        for modulation in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            let motoring = transistor_rms(PEAK, 0.8, 0.85, modulation);
            assert!((motoring - diode_rms(PEAK, 0.8, -0.85, modulation)).si().abs() < 1e-12);
        }
    }

    #[test]
    fn a_power_factor_just_above_one_does_not_break_the_root() {
        let rms = diode_rms(PEAK, 2.0 / 3f64.sqrt(), 1.0 + 1e-12, Modulation::ThirdHarmonic);
        assert!(rms.si() >= 0.0);
    }

    #[test]
    fn channel_and_body_diode_carry_the_half_wave() {
        let (td, fs) = (Time::new(1e-6), Frequency::new(20e3));
        let channel = channel_rms(PEAK, td, fs);
        let diode = body_diode_rms(PEAK, td, fs);
        assert!(((channel * channel + diode * diode).si() - 10_000.0).abs() < 1e-9);
        assert!((body_diode_average(PEAK, td, fs).si() - 200.0 / PI * 0.04).abs() < 1e-12);
    }

    #[test]
    fn missing_inputs_give_missing_currents() {
        assert!(transistor_average(PEAK, f64::NAN, 0.9).si().is_nan());
        assert!(diode_rms(PEAK, 0.9, f64::NAN, Modulation::Sinusoidal).si().is_nan());
        assert!(channel_rms(PEAK, Time::new(f64::NAN), Frequency::new(8e3)).si().is_nan());
    }
}
