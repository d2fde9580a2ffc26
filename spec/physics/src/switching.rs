//! Switching loss: the energy of one event, averaged over the half wave of a sine current.
//!
//! In a three-phase bridge one transistor of a leg switches hard in each half wave while the opposite diode
//! recovers, so that each position has events for one half of a turn. Which way the power flows does not
//! matter. All averages here are energy for each carrier period of one position; [`loss`] makes power of
//! it. Beyond linear modulation the clipped crests have no edges, and the figure lies on the high side.

use core::f64::consts::PI;

use crate::bounds::power;
use crate::{Current, Energy, Frequency, Law, Power, Temperature, Voltage};

/// Law of [`loss`].
pub static LOSS: Law = Law {
    name: "switching loss",
    formula: "P_sw = f_s·E",
    validity: "E averaged over the carrier periods",
    source: "definition",
};

/// Mean of sinⁿ over a half wave, spread over the whole turn (plain number).
///
/// `exponent` is n; below −1 the integral does not exist and the answer is not a number.
///
/// `k(n) = Γ((n + 1)/2)/(2·√π·Γ(n/2 + 1))`. Valid: n above −1; 1/2 at 0, 1/π at 1, 1/4 at 2. Source: integral of sinⁿ;
/// tables of the gamma function.
#[inline]
pub fn half_wave_factor(exponent: f64) -> f64 {
    if exponent <= -1.0 {
        return f64::NAN;
    }
    libm::tgamma(0.5 * (exponent + 1.0)) / (2.0 * PI.sqrt() * libm::tgamma(0.5 * exponent + 1.0))
}

/// Switching energy for each carrier period where the energy follows a power of the current.
///
/// `reference` is the energy at the current `at_current`, `peak` the crest of the phase current, `exponent` the power.
///
/// `E = k(n)·E_ref·(Î/I_ref)ⁿ`. Valid: sine current; 0.6 % against counted events at 21 carrier periods a turn, one
/// data-sheet point stretched by a power. Source: Wintrich, Nicolai, Tursky, Reimann, Application Manual Power
/// Semiconductors, 2nd ed., 2015.
#[inline]
pub fn power_law_average(reference: Energy, at_current: Current, peak: Current, exponent: f64) -> Energy {
    reference * (half_wave_factor(exponent) * power(peak / at_current, exponent))
}

/// Energy of one event where the energy follows a power of the current; symbols as in [`power_law_average`].
///
/// `E(i) = E_ref·(i/I_ref)ⁿ`. Valid: one data-sheet point stretched by a power; about 1 for an IGBT, 0.6 for recovery
/// of a silicon diode. Source: Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed.,
/// 2015.
#[inline]
pub fn power_law_at(reference: Energy, at_current: Current, current: Current, exponent: f64) -> Energy {
    reference * power(current / at_current, exponent)
}

/// Factor of a switching energy for a voltage other than that of its curve (plain number).
///
/// `voltage` is the link voltage, `reference` that of the data sheet.
///
/// `k_V = (V/V_ref)ⁿ`. Valid: exponent of the device: about 1.3 for an IGBT, 0.6 for recovery of a silicon diode, 1 to
/// 1.5 for a SiC MOSFET. Source: Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed.,
/// 2015.
#[inline]
pub fn scale_voltage(voltage: Voltage, reference: Voltage, exponent: f64) -> f64 {
    power(voltage / reference, exponent)
}

/// Of the energy that a data sheet states, what is left at any temperature. Recovery of silicon diodes, which falls the
/// furthest, is at 25 °C still a quarter to a half of that at 150 °C.
pub const LEAST_LEFT: f64 = 0.25;

/// Factor of a switching energy for a junction temperature other than that of its curve (plain number).
///
/// `per_kelvin` is the coefficient c. The line is not cut off, so that a loss stays a straight line in temperature;
/// [`around_temperature`] says which line holds.
///
/// `k_T = 1 + c·(T − T_ref)`. Valid: c about 0.003/K for an IGBT, 0.006/K for recovery of a silicon diode; held at a
/// quarter below, since the line would end at nothing, which reads high in the cold. Source: Wintrich, Nicolai, Tursky,
/// Reimann, Application Manual Power Semiconductors, 2nd ed., 2015.
#[inline]
pub fn scale_temperature(temperature: Temperature, reference: Temperature, per_kelvin: f64) -> f64 {
    1.0 + per_kelvin * (temperature - reference).si()
}

/// The straight line that the factor of a switching energy follows about a junction temperature: its value at 0 °C, and
/// its growth for each kelvin; held at [`LEAST_LEFT`] where [`scale_temperature`] is below that.
#[inline]
pub fn around_temperature(temperature: Temperature, reference: Temperature, per_kelvin: f64) -> (f64, f64) {
    if scale_temperature(temperature, reference, per_kelvin) < LEAST_LEFT {
        return (LEAST_LEFT, 0.0);
    }
    (scale_temperature(Temperature::celsius(0.0), reference, per_kelvin), per_kelvin)
}

/// Switching loss from the energy for each carrier period. See [`LOSS`].
#[inline]
pub fn loss(energy: Energy, carrier: Frequency) -> Power {
    energy * carrier
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_wave_factor_has_its_textbook_values() {
        assert!((half_wave_factor(0.0) - 0.5).abs() < 1e-14);
        assert!((half_wave_factor(1.0) - 1.0 / PI).abs() < 1e-14);
        assert!((half_wave_factor(2.0) - 0.25).abs() < 1e-14);
        assert!((half_wave_factor(3.0) - 2.0 / (3.0 * PI)).abs() < 1e-14);
        assert!((half_wave_factor(0.6) - 0.366).abs() < 5e-4);
        assert!(half_wave_factor(-1.0).is_nan());
        assert!(half_wave_factor(f64::NAN).is_nan());
    }

    #[test]
    fn an_energy_that_grows_with_the_square_has_a_quarter_of_its_crest() {
        let peak = Current::new(310.0);
        let law = power_law_average(Energy::new(0.034), Current::new(400.0), peak, 2.0);
        assert!((law.si() - 0.034 * (310.0 * 310.0) / 160_000.0 / 4.0).abs() < 1e-15);
    }

    #[test]
    fn scales_are_one_at_their_reference() {
        assert!((scale_voltage(Voltage::new(600.0), Voltage::new(600.0), 1.35) - 1.0).abs() < 1e-15);
        let t = Temperature::celsius(150.0);
        assert!((scale_temperature(t, t, 0.003) - 1.0).abs() < 1e-15);
        assert!((scale_temperature(Temperature::celsius(100.0), t, 0.003) - 0.85).abs() < 1e-12);
        assert!(scale_voltage(Voltage::new(f64::NAN), Voltage::new(600.0), 0.0).is_nan());
    }

    #[test]
    fn an_energy_never_falls_below_a_quarter() {
        let at = |t: f64, c: f64| {
            let (cold, growth) = around_temperature(Temperature::celsius(t), Temperature::celsius(150.0), c);
            cold + growth * t
        };
        // By hand: 1 - 0.006 · 50 and 1 - 0.006 · 125, where the line meets a quarter; colder it would be below nothing.
        for (t, left) in [(100.0, 0.7), (26.0, 0.256), (25.0, 0.25), (-20.0, 0.25), (-40.0, 0.25)] {
            assert!((at(t, 0.006) - left).abs() < 1e-12, "{t}");
        }
        assert!((at(-40.0, 0.003) - 0.43).abs() < 1e-12);
        // Grows in the cold.
        assert!((at(-40.0, -0.001) - 1.19).abs() < 1e-12);
        assert!(at(20.0, f64::NAN).is_nan());
        // Where the temperature is not known yet it is the line.
        let (cold, growth) =
            around_temperature(Temperature::celsius(f64::NAN), Temperature::celsius(150.0), 0.006);
        assert!((cold - 0.1).abs() < 1e-12 && growth.to_bits() == 0.006_f64.to_bits());
    }

    #[test]
    fn loss_is_energy_times_carrier() {
        assert_eq!(loss(Energy::new(0.01), Frequency::new(8e3)), Power::new(80.0));
    }
}
