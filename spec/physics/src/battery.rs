//! A battery with internal resistance that is asked for a power.
//!
//! Positive power leaves the battery. Of the two currents that give the same power, the smaller is the one
//! that is reached from rest and stays; the other lies beyond the largest power and is not an operating
//! condition.

use crate::{Law, Power, Resistance, Voltage};

/// Law of [`terminal_voltage`].
pub static TERMINAL_VOLTAGE: Law = Law {
    name: "battery terminal voltage",
    formula: "V = (V_oc + √(V_oc² − 4·P·R))/2",
    validity: "constant open-circuit voltage and resistance, P up to V_oc²/(4·R); above V_oc while charging",
    source: "stable root of P = (V_oc − I·R)·I",
};

/// Largest power that a battery can give at all, whatever it is rated for.
///
/// `open_circuit` is the voltage without current, `resistance` the internal one. Infinite without resistance.
///
/// `P_max = V_oc²/(4·R)`. Valid: constant open-circuit voltage and resistance; half the voltage is lost inside there.
/// Source: maximum of (V_oc − I·R)·I.
#[inline]
pub fn transferable_power(open_circuit: Voltage, resistance: Resistance) -> Power {
    open_circuit * (open_circuit / (resistance * 4.0))
}

/// Terminal voltage while the battery gives (or, negative, takes) a power.
///
/// Not a number above [`transferable_power`]: there is no such voltage. See [`TERMINAL_VOLTAGE`].
#[inline]
pub fn terminal_voltage(open_circuit: Voltage, resistance: Resistance, power: Power) -> Voltage {
    // By the share of the largest power, so that this power itself has its voltage, free of rounding.
    let share = power / transferable_power(open_circuit, resistance);
    open_circuit * (0.5 * (1.0 + (1.0 - share).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const OPEN: Voltage = Voltage::new(346.0);
    const INSIDE: Resistance = Resistance::new(0.050);

    #[test]
    fn terminal_power_is_the_power_asked_for() {
        for power in [-60e3, 0.0, 1.0, 80e3, 300e3] {
            let power = Power::new(power);
            let v = terminal_voltage(OPEN, INSIDE, power);
            assert!((v * ((OPEN - v) / INSIDE) - power).si().abs() < 1e-6);
        }
    }

    #[test]
    fn charging_lifts_the_terminals_and_discharging_lowers_them() {
        assert!(terminal_voltage(OPEN, INSIDE, Power::new(-50e3)) > OPEN);
        assert!(terminal_voltage(OPEN, INSIDE, Power::new(50e3)) < OPEN);
    }

    #[test]
    fn at_the_largest_power_half_the_voltage_is_left() {
        let most = transferable_power(OPEN, INSIDE);
        assert!((most.si() - 346.0 * 346.0 / 0.2).abs() < 1e-6);
        assert_eq!(terminal_voltage(OPEN, INSIDE, most), Voltage::new(173.0));
        assert!(terminal_voltage(OPEN, INSIDE, most * 1.001).si().is_nan());
    }

    #[test]
    fn without_resistance_it_is_a_stiff_source() {
        assert_eq!(terminal_voltage(OPEN, Resistance::ZERO, Power::new(80e3)), OPEN);
    }
}
