//! Power, phase current and link current of a three-phase bridge.

use crate::bounds::{at_least_zero, cosine};
use crate::modulation::SQRT_3;
use crate::{Current, Law, OutOfRange, Power, Voltage};

/// Law of [`phase_current`].
pub static PHASE_CURRENT: Law = Law {
    name: "phase current, RMS",
    formula: "I = P/(√3·V_LL·cos φ)",
    validity: "fundamental; P and cos φ of the same sign, cos φ not 0",
    source: "definition of power and power factor",
};

/// Law of [`active_power`].
pub static ACTIVE_POWER: Law = Law {
    name: "active power",
    formula: "P = √3·V_LL·I·cos φ",
    validity: "fundamental",
    source: "definition of power and power factor",
};

/// Law of [`reactive_power_abs`].
pub static REACTIVE_POWER: Law = Law {
    name: "reactive power, without sign",
    formula: "|Q| = √3·V_LL·I·√(1 − cos² φ)",
    validity: "fundamental; cos φ does not tell lag from lead",
    source: "definition of reactive power",
};

/// Law of [`dc_current`].
pub static DC_CURRENT: Law = Law {
    name: "mean link current",
    formula: "I_dc = 3/4·M·Î·cos φ",
    validity: "lossless bridge, M at the poles; 0.05 % against sampled waveforms; negative while recovering",
    source: "power balance; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003",
};

/// RMS phase current of a power.
///
/// `power` is positive towards the machine, `line_rms` the line voltage, `cos_phi` the power factor with
/// the sign of the power, so that the current is positive either way. A negative answer means that the two
/// signs contradict each other, an infinite one that power was asked at cos φ = 0; [`check_power_factor`]
/// says so in words. See [`PHASE_CURRENT`].
#[inline]
pub fn phase_current(power: Power, line_rms: Voltage, cos_phi: f64) -> Current {
    power / (line_rms * (SQRT_3 * cosine(cos_phi)))
}

/// Whether a power factor can carry a power: same sign, and not zero unless the power is.
///
/// # Errors
/// Names the power factor, with the range that would fit the sign of the power.
#[inline]
pub fn check_power_factor(power: Power, cos_phi: f64) -> Result<(), OutOfRange> {
    // A power factor of exactly zero carries no active power at all.
    let fits = if power.si() > 0.0 {
        cos_phi > 0.0 && cos_phi <= 1.0
    } else if power.si() < 0.0 {
        (-1.0..0.0).contains(&cos_phi)
    } else {
        (-1.0..=1.0).contains(&cos_phi)
    };
    if fits && !power.si().is_nan() {
        return Ok(());
    }
    let low = if power.si() > 0.0 { 0.0 } else { -1.0 };
    let high = if power.si() < 0.0 { 0.0 } else { 1.0 };
    Err(OutOfRange {
        quantity: "power factor for this direction of power",
        value: cos_phi,
        low,
        high,
        unit: "",
    })
}

/// Active power of a phase current, positive towards the machine.
///
/// `line_rms` is the line voltage, `rms` the phase current, `cos_phi` the power factor with the sign of the
/// power. See [`ACTIVE_POWER`].
#[inline]
pub fn active_power(line_rms: Voltage, rms: Current, cos_phi: f64) -> Power {
    line_rms * rms * (SQRT_3 * cosine(cos_phi))
}

/// Reactive power without its sign, in volt-amperes.
///
/// `line_rms` is the line voltage, `rms` the phase current. See [`REACTIVE_POWER`].
#[inline]
pub fn reactive_power_abs(line_rms: Voltage, rms: Current, cos_phi: f64) -> Power {
    let cos_phi = cosine(cos_phi);
    line_rms * rms * (SQRT_3 * at_least_zero(1.0 - cos_phi * cos_phi).sqrt())
}

/// Mean current that the bridge draws from the link, negative while recovering.
///
/// `m` is the modulation index at the poles, `peak` the crest of the phase current. See [`DC_CURRENT`].
#[inline]
pub fn dc_current(m: f64, peak: Current, cos_phi: f64) -> Current {
    peak * (0.75 * m * cosine(cos_phi))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::modulation::modulation_index;
    use core::f64::consts::SQRT_2;

    #[test]
    fn link_power_equals_phase_power() {
        let (line, rms, dc) = (Voltage::new(330.0), Current::new(139.0), Voltage::new(620.0));
        for cos_phi in [-1.0, -0.4, 0.2, 0.88] {
            let link = dc * dc_current(modulation_index(line, dc), rms * SQRT_2, cos_phi);
            assert!((link - active_power(line, rms, cos_phi)).si().abs() < 1e-8);
        }
    }

    #[test]
    fn recovering_power_has_a_positive_current() {
        let rms = phase_current(Power::new(-40e3), Voltage::new(330.0), -0.85);
        assert!((rms.si() - 40e3 / (3f64.sqrt() * 330.0 * 0.85)).abs() < 1e-9);
    }

    #[test]
    fn a_power_factor_against_the_power_is_refused() {
        assert!(check_power_factor(Power::new(70e3), -0.9).is_err());
        assert!(check_power_factor(Power::new(70e3), 0.0).is_err());
        assert!(check_power_factor(Power::new(-70e3), 0.9).is_err());
        assert!(check_power_factor(Power::new(70e3), f64::NAN).is_err());
        assert_eq!(check_power_factor(Power::new(-70e3), -1.0), Ok(()));
        assert_eq!(check_power_factor(Power::ZERO, 0.0), Ok(()));
    }
}
