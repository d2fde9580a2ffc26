//! What a switch position blocks, and what its device blocks in the cold.

use crate::{Law, Temperature, Voltage};

/// Law of [`with_ringing`].
pub static WITH_RINGING: Law = Law {
    name: "crest of a rectifier's voltage with its ringing",
    formula: "V = V_plateau·(1 + k)",
    validity: "k as the clamp or snubber leaves it; undamped ringing of leakage and capacitance has k = 1",
    source: "step response of an LC circuit; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020",
};

/// Law of [`in_the_cold`].
pub static IN_THE_COLD: Law = Law {
    name: "blocking voltage at the coldest junction",
    formula: "V = V_25·(1 + c·(T − 25 °C)) below 25 °C, V_25 above",
    validity: "avalanche breakdown, −55 to 25 °C; the data sheet's own curve goes before it",
    source: "Lutz, Schlangenotto, Scheuermann, De Doncker, Semiconductor Power Devices, 2nd ed., 2018 (impact ionisation falls with temperature)",
};

/// Temperature in °C that data sheets state blocking voltages for.
const STATED_AT: f64 = 25.0;

/// Crest of a rectifier's voltage.
///
/// `plateau` is the voltage without ringing, `overshoot` the share by which ringing goes beyond it (plain number; 1
/// where nothing damps it). See [`WITH_RINGING`].
#[inline]
#[must_use]
pub fn with_ringing(plateau: Voltage, overshoot: f64) -> Voltage {
    plateau * (1.0 + overshoot)
}

/// What a device blocks when its junction is as cold as its surroundings.
///
/// `rated` is stated at 25 °C, `per_kelvin` its relative growth with temperature in 1/K, `coldest` the coldest junction.
/// A junction warmer than 25 °C counts as 25 °C. See [`IN_THE_COLD`].
#[inline]
#[must_use]
pub fn in_the_cold(rated: Voltage, per_kelvin: f64, coldest: Temperature) -> Voltage {
    let below = coldest.in_celsius() - STATED_AT;
    let below = if below > 0.0 { 0.0 } else { below };
    rated * (1.0 + per_kelvin * below)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_undamped_ring_doubles_the_plateau() {
        assert_eq!(with_ringing(Voltage::new(117.0), 1.0), Voltage::new(234.0));
        assert_eq!(with_ringing(Voltage::new(117.0), 0.0), Voltage::new(117.0));
    }

    #[test]
    fn silicon_blocks_some_78_volts_of_1200_less_at_minus_40_degrees() {
        // 0.1 % a kelvin over 65 K.
        let cold = in_the_cold(Voltage::new(1200.0), 0.001, Temperature::celsius(-40.0));
        assert!((cold.si() - 1122.0).abs() < 1e-9);
    }

    #[test]
    fn warmth_adds_nothing_and_what_is_missing_stays_missing() {
        let warm = in_the_cold(Voltage::new(650.0), 0.001, Temperature::celsius(70.0));
        assert_eq!(warm, Voltage::new(650.0));
        for missing in [
            in_the_cold(Voltage::new(f64::NAN), 0.001, Temperature::celsius(70.0)),
            in_the_cold(Voltage::new(650.0), f64::NAN, Temperature::celsius(-40.0)),
            in_the_cold(Voltage::new(650.0), 0.001, Temperature::celsius(f64::NAN)),
        ] {
            assert!(missing.si().is_nan());
        }
    }
}
