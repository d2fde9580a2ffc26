//! Power, phase current and link current of a three-phase bridge.

use crate::bounds::{at_least_zero, cosine};
use crate::modulation::SQRT_3;
use crate::{Current, Law, Power, Voltage};

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

/// RMS phase current of a power.
///
/// `power` is positive towards the machine, `line_rms` the line voltage, `cos_phi` the power factor with
/// the sign of the power, so that the current is positive either way. A negative answer means that the two
/// signs contradict each other, an infinite one that power was asked at cos φ = 0. See [`PHASE_CURRENT`].
#[inline]
pub fn phase_current(power: Power, line_rms: Voltage, cos_phi: f64) -> Current {
    power / (line_rms * (SQRT_3 * cosine(cos_phi)))
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
/// `line_rms` is the line voltage, `rms` the phase current.
///
/// `|Q| = √3·V_LL·I·√(1 − cos² φ)`. Valid: fundamental; cos φ does not tell lag from lead. Source: definition of
/// reactive power.
#[inline]
pub fn reactive_power_abs(line_rms: Voltage, rms: Current, cos_phi: f64) -> Power {
    let cos_phi = cosine(cos_phi);
    line_rms * rms * (SQRT_3 * at_least_zero(1.0 - cos_phi * cos_phi).sqrt())
}

/// Mean current that the bridge draws from the link, negative while recovering.
///
/// `m` is the modulation index at the poles, `peak` the crest of the phase current.
///
/// `I_dc = 3/4·M·Î·cos φ`. Valid: lossless bridge, M at the poles; 0.05 % against sampled waveforms; negative while
/// recovering. Source: power balance; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003.
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
}
