//! Flexible cables: resistance from the standard's table, and the heat that leaves them in still air.

use core::f64::consts::PI;

use crate::conductors::copper::{growth, section_resistance};
use crate::conductors::free_air::{Air, balanced, radiated};
use crate::{Area, Law, Length, Power, Resistance, SquaredCurrent, Temperature};

/// Law of [`temperature`].
pub static CABLE_TEMPERATURE: Law = Law {
    name: "conductor temperature of a cable in still air",
    formula: "I²·R(T) = π·d·l·(h·(T_s − T_a) + 0.9·σ·(T_s⁴ − T_a⁴)), T = T_s + I²·R·ln(d/d_c)/(2π·0.2 W/(m·K)·l)",
    validity: "one cable by itself, level; Churchill, Chu for the film; conductor fills ¾ of its circle; not compared with measured cables: ±15 %",
    source: "Churchill, Chu, Int. J. Heat Mass Transfer 18, 1975; series of thermal resistances",
};

/// Nominal sections in mm² and resistances in mΩ/m at 20 °C of class 5, plain copper.
const CLASS_5: [(f64, f64); 22] = [
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
    (95.0, 0.206),
    (120.0, 0.161),
    (150.0, 0.129),
    (185.0, 0.106),
    (240.0, 0.0801),
    (300.0, 0.0641),
    (400.0, 0.0486),
    (500.0, 0.0384),
    (630.0, 0.0287),
];

/// Conductivity of usual insulation in W/(m·K).
const INSULATION: f64 = 0.2;
/// Share of the circle around a stranded conductor that is copper.
const FILL: f64 = 0.75;
/// Emissivity of an insulated surface.
const EMISSIVITY: f64 = 0.9;
/// Secants after which the surface of a cable is taken as it is.
const MOST_SECANTS: usize = 30;
/// Prandtl number of air.
const PRANDTL: f64 = 0.71;
/// (1 + (0.559/Pr)^(9/16))^(8/27) of the film around a level cylinder.
const FILM: f64 = 1.204_567_016_981_928_7;

/// The nominal sections of the table, rising.
pub fn sections() -> impl Iterator<Item = Area> {
    CLASS_5.iter().map(|&(square_mm, _)| Area::new(square_mm * 1e-6))
}

/// The smallest and the largest section of the table in mm².
pub const SECTIONS: (f64, f64) = (CLASS_5[0].0, CLASS_5[CLASS_5.len() - 1].0);

/// Resistance of a flexible cable of a nominal section; missing beyond the rows of the table.
///
/// `R = R'·l·(1 + 0.00393/K·(T − 20 °C)), R' from the table of class 5`. Valid: plain copper, 0.5 to 630 mm²; between
/// rows that row's stranding factor over ρ/S which is higher. Source: IEC 60228, table 3: largest resistance at 20 °C.
pub fn resistance(section: Area, length: Length, copper: Temperature) -> Resistance {
    let nominal = section.si() * 1e6;
    if nominal < SECTIONS.0 * (1.0 - 1e-9) || SECTIONS.1 * (1.0 + 1e-9) < nominal {
        return Resistance::new(f64::NAN);
    }
    let solid = section_resistance(section, length, copper);
    let over_solid = |&(square_mm, milliohms): &(f64, f64)| {
        let bare =
            section_resistance(Area::new(square_mm * 1e-6), Length::new(1.0), Temperature::celsius(20.0));
        milliohms * 1e-3 / bare.si()
    };
    let place = CLASS_5.partition_point(|&(square_mm, _)| square_mm < nominal * (1.0 - 1e-9));
    let next = CLASS_5.get(place);
    if let Some(&(square_mm, milliohms)) = next
        && (square_mm - nominal).abs() <= 1e-9 * nominal
    {
        return Resistance::new(milliohms * 1e-3 * length.si() * growth(copper));
    }
    let before = place.checked_sub(1).and_then(|place| CLASS_5.get(place));
    let factors = [before, next].into_iter().flatten().map(over_solid);
    solid * factors.fold(1.0, |most, factor| if factor > most { factor } else { most })
}

/// A cable in still air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Nominal section of its copper.
    pub section: Area,
    /// Length that is reckoned.
    pub length: Length,
    /// Diameter over its insulation.
    pub outer_diameter: Length,
}

/// Heat that leaves the surface of a cable at a temperature.
fn leaving(cable: &Cable, air: &Air, surface: Temperature) -> f64 {
    let (d, l) = (cable.outer_diameter.si(), cable.length.si());
    let rise = surface.in_celsius() - air.temperature.in_celsius();
    if rise <= 0.0 {
        return 0.0 * rise;
    }
    let film = 0.5 * (surface.in_celsius() + air.temperature.in_celsius());
    // Dry air at sea level, −20 to 300 °C within 1 %: conductivity, kinematic viscosity.
    let conductivity = 0.024_3 + 7.2e-5 * film - 1.6e-8 * film * film;
    let viscosity = (13.3 + 0.088_5 * film + 9.3e-5 * film * film) * 1e-6 / air.pressure_share;
    let rayleigh = 9.81 * rise * d * d * d * PRANDTL / ((film + 273.15) * viscosity * viscosity);
    let root = 0.60 + 0.387 * libm::cbrt(rayleigh.sqrt()) / FILM;
    let convected = root * root * conductivity / d * rise;
    PI * d * l * (convected + radiated(EMISSIVITY, surface, air.temperature))
}

/// Thermal resistance of the insulation of a cable in K/W; missing where it is no wider than the copper.
fn wall(cable: &Cable) -> f64 {
    let conductor = (4.0 * cable.section.si() / (PI * FILL)).sqrt();
    let wall = cable.outer_diameter.si() / conductor;
    if wall >= 1.0 { libm::log(wall) / (2.0 * PI * INSULATION * cable.length.si()) } else { f64::NAN }
}

/// Heat that leaves a cable whose copper has a temperature, through its insulation; missing as in [`temperature`]. See
/// [`CABLE_TEMPERATURE`].
pub fn leaving_copper(cable: &Cable, air: &Air, copper: Temperature) -> Power {
    let (path, copper) = (wall(cable), copper.in_celsius());
    let leaves = |surface: f64| leaving(cable, air, Temperature::celsius(surface));
    // What the surface sheds beyond what reaches it, by secants; it falls with the surface, and few kelvin stand over the wall.
    let beyond = |surface: f64| path * leaves(surface) - (copper - surface);
    let (mut one, mut beyond_one) = (copper, beyond(copper));
    let mut other = copper - beyond_one;
    for _ in 0..MOST_SECANTS {
        let beyond_other = beyond(other);
        let is_level = (beyond_other - beyond_one).abs() < f64::MIN_POSITIVE;
        if (other - one).abs() < 1e-7 || is_level {
            break;
        }
        let next = other - beyond_other * (other - one) / (beyond_other - beyond_one);
        (one, beyond_one, other) = (other, beyond_other, next);
    }
    Power::new((copper - other) / path)
}

/// Settled temperature of the conductor of a cable in still air; missing where the insulation is no wider than the copper.
///
/// `heating` is the mean square of the current, `at_20` the resistance of the cable at 20 °C. See [`CABLE_TEMPERATURE`].
pub fn temperature(cable: &Cable, air: &Air, heating: SquaredCurrent, at_20: Resistance) -> Temperature {
    let path = wall(cable);
    if path.is_nan() {
        return Temperature::celsius(f64::NAN);
    }
    let copper = |surface: Temperature, watts: f64| Temperature::celsius(surface.in_celsius() + watts * path);
    let surface = balanced(air.temperature, |surface| {
        let watts = leaving(cable, air, surface);
        heating.si() * at_20.si() * growth(copper(surface, watts)) - watts
    });
    copper(surface, leaving(cable, air, surface))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_film_is_that_of_air() {
        let film = libm::pow(1.0 + libm::pow(0.559 / PRANDTL, 9.0 / 16.0), 8.0 / 27.0);
        assert!((FILM / film - 1.0).abs() < 1e-15, "{film:?}");
    }

    #[test]
    fn copper_sheds_where_it_settles_what_flows_in() {
        let cable = Cable {
            section: Area::new(35e-6),
            length: Length::new(1.0),
            outer_diameter: Length::new(12.6e-3),
        };
        let air = Air { temperature: Temperature::celsius(40.0), pressure_share: 0.9 };
        let at_20 = resistance(cable.section, cable.length, Temperature::celsius(20.0));
        for amps in [5.0, 80.0, 200.0, 600.0_f64] {
            let heating = crate::Current::new(amps) * crate::Current::new(amps);
            let settles = temperature(&cable, &air, heating, at_20);
            let into = amps * amps * at_20.si() * growth(settles);
            let leaves = leaving_copper(&cable, &air, settles).si();
            assert!((leaves / into - 1.0).abs() < 1e-6, "{amps} A: {leaves} of {into}");
        }
        assert!(leaving_copper(&cable, &air, air.temperature).si().abs() < 1e-9);
    }

    #[test]
    fn between_rows_the_cautious_factor_stands() {
        let cold = Temperature::celsius(20.0);
        let of = |square_mm: f64| resistance(Area::new(square_mm * 1e-6), Length::new(1.0), cold).si();
        assert!((of(35.0) - 0.554e-3).abs() < 1e-12);
        let all: Vec<f64> = (5..=6300).map(|k| of(0.1 * f64::from(k))).collect();
        assert!(all.windows(2).all(|pair| pair[1] < pair[0] * 1.03), "about falling");
        assert!(of(30.0) * 30.0 >= 0.780e-3 * 25.0 * 0.99);
        assert!(of(f64::NAN).is_nan() && of(0.3).is_nan() && of(1000.0).is_nan());
    }
}
