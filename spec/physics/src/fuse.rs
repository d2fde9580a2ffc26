//! Fuses: what they carry, when they melt, and what the conductors behind them stand until then.

use crate::{
    Capacitance, Current, Law, Resistance, SquaredCurrent, Temperature, TemperatureDifference, Time, Voltage,
};

/// Law of [`derated`].
pub static DERATED: Law = Law {
    name: "continuous current of a fuse in warm air",
    formula: "I = I_n·√((T_el − T_a)/(T_el − 25 °C))·k_cycle",
    validity: "still air from 25 °C up, element at T_el when fully loaded; a maker's curve wins",
    source: "application guides of fuse makers; IEC 60269-1",
};

/// Law of [`prospective`].
pub static PROSPECTIVE: Law = Law {
    name: "prospective short-circuit current",
    formula: "I = V/Σ R",
    validity: "direct current, once the inductance of the loop has given way; discharge of capacitors left out",
    source: "Ohm's law",
};

/// Law of [`capacitor_let_through`].
pub static CAPACITOR_LET_THROUGH: Law = Law {
    name: "I²t of a capacitor that discharges",
    formula: "I²t = C·V²/(2·R)",
    validity: "whole discharge into a resistance, whatever the inductance; exact",
    source: "balance of energy",
};

/// Law of [`melting_time`].
pub static MELTING_TIME: Law = Law {
    name: "time to melt on a rising current",
    formula: "(V/R)²·(t − 2τ·(1 − e^(−t/τ)) + τ/2·(1 − e^(−2t/τ))) = I²t",
    validity: "adiabatic: below some 10 ms",
    source: "integral of i = V/R·(1 − e^(−t/τ))",
};

/// Law of [`withstood`].
pub static WITHSTOOD: Law = Law {
    name: "I²t that a copper conductor stands",
    formula: "I²t = (k·S)², k = 226 A·√s/mm²·√(ln(1 + (T_2 − T_1)/(234.5 °C + T_1)))",
    validity: "no heat leaves it: below some seconds",
    source: "IEC 60364-5-54, IEC 60949",
};

/// Temperature that the rated current of a fuse is stated for.
const RATED_AT: Temperature = Temperature::celsius(25.0);
/// Melts at zero of this scale, in °C, and its constant in A·√s/m².
const COPPER: (f64, f64) = (234.5, 226e6);

/// Current that a fuse carries for good in warm air; missing where the air is as hot as its element, and nothing is gained
/// in cold air. See [`DERATED`].
pub fn derated(rated: Current, air: Temperature, element: Temperature, cyclic: f64) -> Current {
    let (left, whole): (TemperatureDifference, TemperatureDifference) = (element - air, element - RATED_AT);
    let share = left / whole;
    if share >= 1.0 { rated * cyclic } else { rated * share.sqrt() * cyclic }
}

/// Current that a source drives into a short circuit. See [`PROSPECTIVE`].
#[inline]
pub fn prospective(source: Voltage, path: Resistance) -> Current {
    source / path
}

/// I²t in A²s of a capacitor that discharges through a resistance. See [`CAPACITOR_LET_THROUGH`].
#[inline]
pub fn capacitor_let_through(capacitance: Capacitance, voltage: Voltage, path: Resistance) -> f64 {
    0.5 * capacitance.si() * voltage.si() * voltage.si() / path.si()
}

/// Time after which a rising current has melted a fuse of so many A²s. See [`MELTING_TIME`].
pub fn melting_time(end: Current, constant: Time, melting: f64) -> Time {
    let (square, tau): (SquaredCurrent, f64) = (end * end, constant.si());
    let reached = |t: f64| {
        if tau <= 0.0 {
            return square.si() * t;
        }
        let (once, twice) = (libm::expm1(-t / tau), libm::expm1(-2.0 * t / tau));
        square.si() * (t + 2.0 * tau * once - 0.5 * tau * twice)
    };
    let (mut low, mut high) = (0.0, melting / square.si() + 2.0 * tau);
    if !high.is_finite() {
        return Time::new(f64::NAN);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if reached(middle) < melting { low = middle } else { high = middle }
    }
    Time::new(0.5 * (low + high))
}

/// k of a copper conductor between two temperatures, in A·√s/m². See [`WITHSTOOD`].
pub fn adiabatic_constant(from: Temperature, to: Temperature) -> f64 {
    let (from, to) = (from.in_celsius(), to.in_celsius());
    COPPER.1 * libm::log(1.0 + (to - from) / (COPPER.0 + from)).sqrt()
}

/// I²t in A²s that a copper conductor of a section in m² stands between two temperatures; missing where it starts hotter
/// than it may end. See [`WITHSTOOD`].
pub fn withstood(section: crate::Area, from: Temperature, to: Temperature) -> f64 {
    let root = adiabatic_constant(from, to) * section.si();
    root * root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cold_air_gains_nothing_and_air_as_hot_as_the_element_leaves_nothing() {
        let (rated, element) = (Current::new(400.0), Temperature::celsius(140.0));
        let at = |air| derated(rated, Temperature::celsius(air), element, 1.0).si();
        assert!((at(-20.0) - 400.0).abs() < 1e-9);
        assert!((at(25.0) - 400.0).abs() < 1e-9);
        assert!(at(140.0).abs() < 1e-9);
        assert!(at(150.0).is_nan() && at(f64::NAN).is_nan());
    }

    #[test]
    fn without_inductance_a_fuse_melts_after_its_integral() {
        let at_once = melting_time(Current::new(5000.0), Time::new(0.0), 25_000.0);
        assert!((at_once.si() - 1e-3).abs() < 1e-12);
        assert!(melting_time(Current::new(5000.0), Time::new(1e-4), 25_000.0).si() > at_once.si());
        assert!(melting_time(Current::new(f64::NAN), Time::new(0.0), 1.0).si().is_nan());
    }

    #[test]
    fn a_conductor_that_starts_too_hot_stands_nothing_known() {
        let mm = crate::Area::new(1e-6);
        assert!(withstood(mm, Temperature::celsius(200.0), Temperature::celsius(160.0)).is_nan());
    }
}
