//! What copper resists at its temperature.

use core::f64::consts::PI;

use crate::{Area, Current, CurrentDensity, Frequency, Law, Length, Resistance, Temperature};

/// Resistivity of annealed copper at 20 °C in Ω·m (IEC 60028).
const AT_20: f64 = 1.7241e-8;
/// Growth of copper's resistivity for each kelvin, of that at 20 °C (IEC 60028).
const GROWTH: f64 = 3.93e-3;
/// Magnetic constant in H/m.
const MU_0: f64 = 4e-7 * PI;

/// Law of [`current_density`].
pub static CURRENT_DENSITY: Law = Law {
    name: "current density",
    formula: "J = I/A, I the RMS value with its ripple",
    validity: "mean over the section; alternating current crowds towards its edges",
    source: "definition",
};

/// Density of a current in its section. See [`CURRENT_DENSITY`].
#[inline]
pub fn current_density(current: Current, section: Area) -> CurrentDensity {
    current / section
}

/// Resistivity of copper in Ω·m.
#[inline]
pub fn resistivity(copper: Temperature) -> f64 {
    AT_20 * growth(copper)
}

/// Resistance of copper over that at 20 °C.
#[inline]
pub fn growth(copper: Temperature) -> f64 {
    1.0 + GROWTH * (copper.in_celsius() - 20.0)
}

/// Resistance of a solid conductor.
///
/// `R = ρ·l/S, ρ = 17.241 nΩ·m·(1 + 0.00393/K·(T − 20 °C))`. Valid: annealed copper, direct current, current across the
/// whole section. Source: IEC 60028.
#[inline]
pub fn section_resistance(section: Area, length: Length, copper: Temperature) -> Resistance {
    Resistance::new(resistivity(copper) * (length.si() / section.si()))
}

/// Depth at which a current fades to 37 % in a thick conductor.
///
/// `δ = √(ρ/(π·f·μ_0))`. Valid: good conductor, not magnetic. Source: textbooks of electromagnetic fields.
#[inline]
pub fn skin_depth(frequency: Frequency, copper: Temperature) -> Length {
    Length::new((resistivity(copper) / (PI * frequency.si() * MU_0)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wire_of_one_square_millimetre_is_a_58th_of_an_ohm_a_metre() {
        let wire = section_resistance(Area::new(1e-6), Length::new(1.0), Temperature::celsius(20.0));
        assert!((wire.si() - 1.0 / 58.0).abs() < 1e-6);
    }

    #[test]
    fn copper_at_100_degrees_resists_31_per_cent_more() {
        assert!((growth(Temperature::celsius(100.0)) - 1.3144).abs() < 1e-4);
    }
}
