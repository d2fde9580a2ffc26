//! Heat through plane layers one behind the other, from a chip down to its coolant.
//!
//! One-dimensional: each layer has the same area. Spreading in a wide plate is not judged here.

use crate::{
    Area, Conductivity, FilmCoefficient, Length, Power, SpecificContactResistance, Temperature,
    ThermalResistance,
};

/// One plane layer and the contact below it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// Thickness along the heat flow; of an interface its bond line after pressure and ageing.
    pub thickness: Length,
    /// Conductivity of the material.
    pub conductivity: Conductivity,
    /// Resistance of the contact to what lies below, both faces together; zero where the layers are bonded.
    pub contact_below: SpecificContactResistance,
}

impl Layer {
    /// Resistance of a unit of area: thickness over conductivity, and the contact.
    #[inline]
    pub fn specific_resistance(self) -> SpecificContactResistance {
        self.thickness / self.conductivity + self.contact_below
    }
}

/// Thermal resistance of layers in series, ending in a wetted wall.
///
/// `layers` from the hot side down, `area` of all of them, `film` the coefficient from the last layer to the coolant. A
/// contact of no conductivity (a division by zero) comes out infinite, a missing figure as not a number.
///
/// `R = Σ (t/(k·A) + r_c/A) + 1/(h·A)`. Valid: one-dimensional flow, same area throughout; exact for that. Source:
/// Incropera, DeWitt, Bergman, Lavine, Fundamentals of Heat and Mass Transfer, 7th ed., 2011.
#[inline]
pub fn series_resistance(layers: &[Layer], area: Area, film: FilmCoefficient) -> ThermalResistance {
    let solid: SpecificContactResistance = layers.iter().map(|layer| layer.specific_resistance()).sum();
    (solid + 1.0 / film) / area
}

/// Temperature at the hot end of a path of heat.
///
/// `reference` is the temperature that `path` is counted from (case, plate or coolant), `loss` the heat through it.
///
/// `T_j = T_ref + P·R`. Valid: steady; R counted from the same reference. Source: Incropera, DeWitt, Bergman, Lavine,
/// Fundamentals of Heat and Mass Transfer, 7th ed., 2011.
#[inline]
pub fn junction_temperature(reference: Temperature, loss: Power, path: ThermalResistance) -> Temperature {
    reference + loss * path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copper_sheet_between_pad_and_coolant() {
        // 3 mm of copper at 390 W/(m·K), 10 cm²: 7.69 mK/W; the film of 8000 W/(m²·K): 125 mK/W.
        let copper = Layer {
            thickness: Length::new(3e-3),
            conductivity: Conductivity::new(390.0),
            contact_below: SpecificContactResistance::ZERO,
        };
        let path = series_resistance(&[copper], Area::new(1e-3), FilmCoefficient::new(8000.0));
        assert!((path.si() - (0.003 / 0.39 + 0.125)).abs() < 1e-12);
        let hot = junction_temperature(Temperature::celsius(65.0), Power::new(200.0), path);
        assert!((hot.in_celsius() - (65.0 + 200.0 * path.si())).abs() < 1e-12);
    }

    #[test]
    fn no_layer_leaves_the_film() {
        let path = series_resistance(&[], Area::new(0.01), FilmCoefficient::new(5000.0));
        assert!((path.si() - 0.02).abs() < 1e-15);
    }
}
