//! When a coolant freezes and when it boils.

use super::Coolant;
use super::mixtures::Mixture;
use crate::{Law, Length, Pressure, Temperature};

/// Law of [`freezing`].
pub static FREEZING: Law = Law {
    name: "freezing point of the coolant",
    formula: "T_f of the share of glycol; water 0 °C",
    validity: "30 to 60 % glycol by volume, first crystals; older tables freeze up to 4 K earlier, and a share by mass is not one by volume",
    source: "ASHRAE Handbook Fundamentals 2009, ch. 31, aqueous ethylene glycol",
};

/// Law of [`boiling`].
pub static BOILING: Law = Law {
    name: "boiling point of the coolant",
    formula: "T_b = T_sat(p/x_w), x_w the share of molecules that are water",
    validity: "water and 30 to 60 % glycol by volume, 20 to 500 kPa absolute; 0.7 K above the published 107.2 °C of half glycol at 101.3 kPa",
    source: "Raoult's law with glycol that does not evaporate; T_sat of water after IAPWS-IF97, eq. 31",
};

/// Law of [`air_pressure`].
pub static AIR_PRESSURE: Law = Law {
    name: "pressure of the air at an altitude",
    formula: "p = 101.325 kPa·(1 − 2.25577·10⁻⁵·h)^5.2559",
    validity: "−500 to 6000 m, standard atmosphere; weather takes or gives 5 %",
    source: "ISO 2533, standard atmosphere",
};

/// Molar masses of water and ethylene glycol in g/mol.
const MOLAR_MASS: (f64, f64) = (18.015, 62.068);

/// Absolute pressures in Pa for which [`boiling`] holds.
const PRESSURES: (f64, f64) = (20e3, 500e3);

/// Freezing point; not a number for a mixture of which none is known. See [`FREEZING`].
#[inline]
pub fn freezing(coolant: Coolant) -> Temperature {
    Temperature::celsius(match coolant {
        Coolant::WaterGlycol { glycol } => Mixture::of(glycol).freezing,
        Coolant::Water => 0.0,
    })
}

/// Share of the molecules of a coolant that are water.
#[inline]
pub fn water_share(coolant: Coolant) -> f64 {
    match coolant {
        Coolant::WaterGlycol { glycol } => {
            let by_mass = Mixture::of(glycol).by_mass;
            let (water, glycol) = ((1.0 - by_mass) / MOLAR_MASS.0, by_mass / MOLAR_MASS.1);
            water / (water + glycol)
        }
        Coolant::Water => 1.0,
    }
}

/// Boiling point at an absolute pressure; not a number outside 20 to 500 kPa. See [`BOILING`].
#[inline]
pub fn boiling(coolant: Coolant, absolute: Pressure) -> Temperature {
    let pressure = absolute.si();
    if !(PRESSURES.0..=PRESSURES.1).contains(&pressure) {
        return Temperature::celsius(f64::NAN);
    }
    saturation(pressure / water_share(coolant))
}

/// Temperature at which water boils at a pressure in Pa, IAPWS-IF97 eq. 31.
fn saturation(pressure: f64) -> Temperature {
    const N: [f64; 10] = [
        0.116_705_214_527_67e4,
        -0.724_213_167_032_06e6,
        -0.170_738_469_400_92e2,
        0.120_208_247_024_70e5,
        -0.323_255_503_223_33e7,
        0.149_151_086_135_30e2,
        -0.482_326_573_615_91e4,
        0.405_113_405_420_57e6,
        -0.238_555_575_678_49,
        0.650_175_348_447_98e3,
    ];
    let beta = (pressure / 1e6).sqrt().sqrt();
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    let kelvin = 0.5 * (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt());
    Temperature::celsius(kelvin - 273.15)
}

/// Pressure of the air at an altitude above sea level; not a number outside −500 to 6000 m. See [`AIR_PRESSURE`].
#[inline]
pub fn air_pressure(altitude: Length) -> Pressure {
    let height = altitude.si();
    if !(-500.0..=6000.0).contains(&height) {
        return Pressure::new(f64::NAN);
    }
    Pressure::new(101_325.0 * crate::bounds::power(1.0 - 2.255_77e-5 * height, 5.2559))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_boils_where_the_release_says() {
        // Verification value of IAPWS-IF97: 372.755919 K at 0.1 MPa.
        assert!((saturation(1e5).in_kelvin() - 372.755_919).abs() < 1e-5);
        // IAPWS-95 at 50, 150 and 400 kPa.
        for (pressure, celsius) in [(50e3, 81.317), (150e3, 111.349), (400e3, 143.608)] {
            assert!((boiling(Coolant::Water, Pressure::new(pressure)).in_celsius() - celsius).abs() < 0.01);
        }
    }

    #[test]
    fn half_glycol_boils_near_the_published_107_degrees_and_freezes_at_minus_37() {
        let mixture = Coolant::WATER_GLYCOL_50;
        assert!((boiling(mixture, Pressure::new(101_325.0)).in_celsius() - 107.2).abs() < 1.0);
        assert!((boiling(mixture, Pressure::new(150e3)).in_celsius() - 120.0).abs() < 0.6);
        assert!((boiling(mixture, Pressure::new(200e3)).in_celsius() - 129.0).abs() < 0.8);
        assert!((freezing(mixture).in_celsius() + 37.0).abs() < 0.01);
        assert!((water_share(mixture) - 0.758).abs() < 1e-3);
    }

    #[test]
    fn freezing_follows_the_published_shares() {
        // ASHRAE, by volume: 44.5 % −29.8, 49.6 % −36.4, 54.7 % −44.2 °C.
        for (glycol, celsius) in [(0.445, -29.8), (0.496, -36.4), (0.547, -44.2)] {
            let found = freezing(Coolant::WaterGlycol { glycol }).in_celsius();
            assert!((found - celsius).abs() < 0.4, "{glycol}: {found}");
        }
    }

    #[test]
    fn two_kilometres_up_a_fifth_of_the_air_is_gone() {
        assert!((air_pressure(Length::new(2000.0)).si() - 79_495.0).abs() < 20.0);
        assert!((air_pressure(Length::ZERO).si() - 101_325.0).abs() < 1e-9);
        assert!(air_pressure(Length::new(9000.0)).si().is_nan());
    }

    #[test]
    fn outside_its_range_nothing_is_said() {
        assert!(boiling(Coolant::Water, Pressure::new(1e3)).in_celsius().is_nan());
        assert!(boiling(Coolant::WaterGlycol { glycol: 0.7 }, Pressure::new(1e5)).in_celsius().is_nan());
        assert!(freezing(Coolant::WaterGlycol { glycol: 0.2 }).in_celsius().is_nan());
    }
}
