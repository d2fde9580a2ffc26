//! How long a capacitor lasts at a hot spot other than the one that its endurance is stated at.

use crate::{Law, Temperature, TemperatureDifference, Time, Voltage};

/// Law of [`life`].
pub static LIFE: Law = Law {
    name: "life of a capacitor at its hot spot",
    formula: "L = L_0·2^((T_0 − T)/ΔT), T no lower than T_0 − 40 K",
    validity: "rule of thumb: what the data sheet calls the end of life, heat alone; up to the voltage V_0 of the endurance, and less of it earns nothing; ΔT some 10 K; moisture, vibration and single failures left out",
    source: "Arrhenius' law between two temperatures; Wang, Blaabjerg, IEEE Trans. Industry Applications 50(5), 2014",
};

/// Law of [`spent`].
pub static SPENT: Law = Law {
    name: "hours at the endurance of a capacitor that wear it as much as those asked",
    formula: "t_0 = t·L_0/L",
    validity: "a duty point taken to last all of them; life used up in proportion to time",
    source: "linear sum of damage; Miner, J. Applied Mechanics 12(3), 1945",
};

/// Kelvins below the hot spot of the endurance from which colder earns nothing: no endurance was run for that long.
pub const COLDER: TemperatureDifference = TemperatureDifference::new(40.0);

/// What a data sheet says of the life of a capacitor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Endurance {
    /// How long it lasts.
    pub life: Time,
    /// Hot spot at which it does.
    pub hot_spot: Temperature,
    /// Voltage at which it does.
    pub voltage: Voltage,
    /// Kelvins more that halve it.
    pub halved_by: TemperatureDifference,
}

/// Life at a hot spot and a voltage; not a number above the voltage of the endurance. See [`LIFE`].
#[must_use]
pub fn life(endurance: &Endurance, hot_spot: Temperature, voltage: Voltage) -> Time {
    if voltage > endurance.voltage || (voltage.si() + endurance.voltage.si()).is_nan() {
        return Time::new(f64::NAN);
    }
    let colder = endurance.hot_spot - hot_spot;
    let colder = if colder > COLDER { COLDER } else { colder };
    endurance.life * libm::exp2(colder / endurance.halved_by)
}

/// Hours at the endurance that wear it as much as a time with another life. See [`SPENT`].
#[must_use]
pub fn spent(asked: Time, endurance: &Endurance, life: Time) -> Time {
    asked * (endurance.life / life)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAN: Endurance = Endurance {
        life: Time::new(5000.0 * 3600.0),
        hot_spot: Temperature::celsius(105.0),
        voltage: Voltage::new(450.0),
        halved_by: TemperatureDifference::new(10.0),
    };

    fn hours(celsius: f64, volts: f64) -> f64 {
        life(&CAN, Temperature::celsius(celsius), Voltage::new(volts)).si() / 3600.0
    }

    #[test]
    fn ten_kelvins_less_double_it() {
        assert!((hours(105.0, 450.0) - 5000.0).abs() < 1e-6);
        assert!((hours(85.0, 400.0) - 20_000.0).abs() < 1e-6);
        assert!((hours(115.0, 400.0) - 2500.0).abs() < 1e-6);
        // Near 100 °C that is what an activation energy of 1.0 eV makes, 2.1 times from 105 to 95 °C.
        let boltzmann = 8.617e-5;
        let arrhenius = libm::exp(1.0 / boltzmann * (1.0 / 368.15 - 1.0 / 378.15));
        assert!((hours(95.0, 400.0) / 5000.0 / arrhenius - 1.0).abs() < 0.15, "{arrhenius}");
    }

    #[test]
    fn far_colder_earns_nothing_more_and_more_voltage_is_not_known() {
        assert!((hours(65.0, 400.0) - 80_000.0).abs() < 1e-6 && (hours(20.0, 400.0) - 80_000.0).abs() < 1e-6);
        assert!(
            hours(85.0, 451.0).is_nan() && hours(85.0, f64::NAN).is_nan() && hours(f64::NAN, 400.0).is_nan()
        );
    }

    #[test]
    fn a_time_spends_as_much_as_it_ages() {
        let asked = Time::new(10_000.0 * 3600.0);
        let life = life(&CAN, Temperature::celsius(85.0), Voltage::new(400.0));
        assert!((spent(asked, &CAN, life).si() / 3600.0 - 2500.0).abs() < 1e-6);
    }
}
