//! Ripple current that a three-phase bridge drives through the link capacitor.
//!
//! Takes the source as free of ripple. Several stages on one link, and a source inductance that resonates
//! with the capacitor, are not judged here.

use core::f64::consts::PI;

use crate::bounds::{at_least_zero, cosine};
use crate::modulation::SQRT_3;
use crate::{Current, Law};

/// Law of [`capacitor_rms`].
pub static CAPACITOR_RMS: Law = Law {
    name: "link capacitor current of a bridge, RMS",
    formula: "I_C = I·√(2·M·(√3/(4·π) + cos² φ·(√3/π − 9·M/16)))",
    validity: "sine current, linear modulation of any zero sequence, source free of ripple; 0.5 % against sampled waveforms from 51 carrier periods a turn, 24 % at 9",
    source: "Kolar, Round, IEE Proc. Electric Power Applications 153(4), 2006",
};

/// Law of [`with_phase_ripple`].
pub static WITH_PHASE_RIPPLE: Law = Law {
    name: "link capacitor current with phase ripple, RMS",
    formula: "I_C' = √(I_C² + M·I_ripple²)",
    validity: "weight M found by comparison with sampled waveforms: 1.3 % at a ripple of 0.1·I, 3.9 % at 0.2, 9.5 % at 0.35",
    source: "own comparison with sampled waveforms",
};

/// RMS current of the link capacitor.
///
/// `phase_rms` is the RMS of the phase current (not its crest), `m` the modulation index at the poles,
/// `cos_phi` the power factor; its sign does not matter. See [`CAPACITOR_RMS`].
#[inline]
pub fn capacitor_rms(phase_rms: Current, m: f64, cos_phi: f64) -> Current {
    let cos_phi = cosine(cos_phi);
    let bracket = SQRT_3 / (4.0 * PI) + cos_phi * cos_phi * (SQRT_3 / PI - 0.5625 * m);
    phase_rms * at_least_zero(2.0 * m * bracket).sqrt()
}

/// RMS current of the link capacitor with the ripple of the phase current added.
///
/// `without` is [`capacitor_rms`], `ripple_rms` the RMS ripple of a phase. See [`WITH_PHASE_RIPPLE`].
#[inline]
pub fn with_phase_ripple(without: Current, m: f64, ripple_rms: Current) -> Current {
    (without * without + ripple_rms * ripple_rms * at_least_zero(m)).root()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worst_case_at_unity_power_factor_is_0_65() {
        // Kolar, Round 2006: about 0.65 of the phase RMS near M = 0.61.
        assert!((capacitor_rms(Current::new(1.0), 0.61, 1.0).si() - 0.650).abs() < 5e-4);
        assert!((capacitor_rms(Current::new(1.0), 0.68, 0.8).si() - 0.578).abs() < 5e-4);
    }

    #[test]
    fn direction_of_power_does_not_matter() {
        let motoring = capacitor_rms(Current::new(139.0), 0.87, 0.88);
        assert_eq!(motoring, capacitor_rms(Current::new(139.0), 0.87, -0.88));
    }

    #[test]
    fn ripple_is_never_subtracted() {
        let plain = Current::new(90.0);
        let more = with_phase_ripple(plain, 0.81, Current::new(20.0));
        assert!((more.si() - (8100.0f64 + 324.0).sqrt()).abs() < 1e-12);
        assert_eq!(with_phase_ripple(plain, 0.81, Current::ZERO), plain);
        assert!(with_phase_ripple(plain, 0.81, Current::new(f64::NAN)).si().is_nan());
    }
}
