//! Charge of a bus: how much energy it is, how long it takes to go, and what putting it there costs.

use crate::{Capacitance, Current, Energy, Law, Power, Resistance, Time, Voltage};

const RC: &str = "first-order discharge; any textbook on circuits";

/// Voltage below which a direct voltage counts as class A in ISO 6469-3 and UN Regulation No. 100.
pub const HARMLESS: Voltage = Voltage::new(60.0);

/// Law of [`energy`].
pub static ENERGY: Law = Law {
    name: "energy in a capacitance",
    formula: "E = C·V²/2",
    validity: "capacitance constant with voltage",
    source: "charging a capacitor",
};

/// Law of [`discharge_time`].
pub static DISCHARGE_TIME: Law = Law {
    name: "time of a discharge into a resistance and a held power",
    formula: "t = R·C/2·ln((V² + P·R)/(V_end² + P·R)); without power R·C·ln(V/V_end), without resistor C·(V² − V_end²)/(2·P)",
    validity: "source and loads off, machine at standstill; capacitance at the high end of its tolerance",
    source: RC,
};

/// Law of [`charge_time`].
pub static CHARGE_TIME: Law = Law {
    name: "time of a pre-charge through a resistance",
    formula: "t = R·C·ln((V_end of the source − I·R)/(V_rest − I·R)), V_rest what is left across the contactor as it closes",
    validity: "source of constant voltage; loads of constant current I while it lasts",
    source: RC,
};

/// Law of [`charge_loss`].
pub static CHARGE_LOSS: Law = Law {
    name: "energy in the resistance of a pre-charge",
    formula: "E = C·(V² − V_rest²)/2, independent of R",
    validity: "source of constant voltage, nothing else on the bus",
    source: RC,
};

/// Law of [`held_up`].
pub static HELD_UP: Law = Law {
    name: "voltage that a source keeps on a bus through a resistance",
    formula: "V = (V_s + √(V_s² − 4·R·(1 + R·G)·P))/(2·(1 + R·G)); nothing where the root has no value",
    validity: "steady: conductance G and a discharge that holds its power P on the bus, which starts at the source's voltage",
    source: "Kirchhoff's laws at the bus: (V_s − V)/R = V·G + P/V, the higher of both solutions",
};

/// Energy in a capacitance. See [`ENERGY`].
#[inline]
#[must_use]
pub fn energy(capacitance: Capacitance, voltage: Voltage) -> Energy {
    Energy::new(0.5 * capacitance.si() * voltage.si() * voltage.si())
}

/// Time until a capacitance has come from `from` down to `to`, into a conductance in 1/Ω and a power that is held.
/// Infinite where nothing takes the charge; zero where it is there already. See [`DISCHARGE_TIME`].
#[inline]
#[must_use]
pub fn discharge_time(
    capacitance: Capacitance,
    (from, to): (Voltage, Voltage),
    conductance: f64,
    power: Power,
) -> Time {
    let (farad, high, low, watts) = (capacitance.si(), from.si(), to.si(), power.si());
    if high <= low {
        return Time::new(0.0 * (farad + conductance + watts));
    }
    if conductance <= 0.0 && watts <= 0.0 {
        return Time::new(f64::INFINITY + 0.0 * farad);
    }
    // G·V² + P falls from its value at the start to that at the end; with little G the logarithm is a quotient.
    let end = conductance * low * low + watts;
    let growth = conductance * (high * high - low * low) / end;
    let seconds = if growth < 1e-9 {
        0.5 * farad * (high * high - low * low) / end
    } else {
        0.5 * farad / conductance * libm::log1p(growth)
    };
    Time::new(seconds)
}

/// Time until a capacitance has been charged through a resistance to `rest` below the source.
///
/// `load` is a constant current that is taken from the bus meanwhile. Infinite where it never comes so far. See
/// [`CHARGE_TIME`].
#[inline]
#[must_use]
pub fn charge_time(
    capacitance: Capacitance,
    resistance: Resistance,
    (source, rest): (Voltage, Voltage),
    load: Current,
) -> Time {
    let drop = load.si() * resistance.si();
    let (start, end) = (source.si() - drop, rest.si() - drop);
    if end <= 0.0 {
        return Time::new(f64::INFINITY + 0.0 * capacitance.si());
    }
    Time::new(resistance.si() * capacitance.si() * libm::log(start / end))
}

/// Energy that the resistance takes meanwhile, nothing else being on the bus. See [`CHARGE_LOSS`].
#[inline]
#[must_use]
pub fn charge_loss(capacitance: Capacitance, source: Voltage, rest: Voltage) -> Energy {
    energy(capacitance, source) - energy(capacitance, rest)
}

/// Voltage that stays on a bus whose source feeds it through a resistance while a conductance (S) and a held power discharge
/// it; none where they bring it down. See [`HELD_UP`].
#[inline]
#[must_use]
pub fn held_up(source: Voltage, resistance: Resistance, conductance: f64, power: Power) -> Voltage {
    let (volts, ohms) = (source.si(), resistance.si());
    let divides = 1.0 + ohms * conductance;
    let under = volts * volts - 4.0 * ohms * divides * power.si();
    // What is missing stays missing.
    Voltage::new(if under < 0.0 { 0.0 } else { (volts + libm::sqrt(under)) / (2.0 * divides) })
}

#[cfg(test)]
mod tests {
    use super::*;

    const MILLI: Capacitance = Capacitance::new(1e-3);

    fn seconds(from: f64, ohms: f64, watts: f64) -> f64 {
        discharge_time(MILLI, (Voltage::new(from), HARMLESS), 1.0 / ohms, Power::new(watts)).si()
    }

    #[test]
    fn ten_time_constants_take_a_bus_of_800_volts_to_60() {
        // ln(800/60) = 2.590 time constants of 10 s.
        assert!((seconds(800.0, 1e4, 0.0) - 25.9027).abs() < 1e-4);
        // 318.2 J at 100 W, without and with a resistor that helps a little.
        let alone = seconds(800.0, f64::INFINITY, 100.0);
        assert!((alone - 3.182).abs() < 1e-9);
        assert!((seconds(800.0, 1e9, 100.0) / alone - 1.0).abs() < 1e-4);
        assert!(seconds(800.0, 1e4, 100.0) < alone);
    }

    #[test]
    fn nothing_to_take_the_charge_takes_for_ever_and_no_charge_takes_no_time() {
        assert!(seconds(800.0, f64::INFINITY, 0.0).is_infinite());
        assert!(seconds(48.0, 1e4, 0.0).abs() < 1e-12);
        assert!(seconds(f64::NAN, 1e4, 0.0).is_nan());
        assert!(seconds(800.0, f64::NAN, 0.0).is_nan());
    }

    #[test]
    fn a_source_holds_a_bus_up_until_its_discharge_takes_more_than_passes() {
        let held = |ohms: f64, siemens: f64, watts: f64| {
            held_up(Voltage::new(400.0), Resistance::new(ohms), siemens, Power::new(watts)).si()
        };
        // 50 ohm above 350 ohm; 50 ohm and 600 W: 300 V at 2 A, of the roots of V² − 400·V + 30 000.
        assert!((held(50.0, 1.0 / 350.0, 0.0) - 350.0).abs() < 1e-9);
        assert!((held(50.0, 0.0, 600.0) - 300.0).abs() < 1e-9);
        // No more than 400²/(4·50) = 800 W passes.
        assert!((held(50.0, 0.0, 799.9) - 200.0).abs() < 3.0 && held(50.0, 0.0, 800.1).abs() < 1e-12);
        assert!((held(0.0, 1e-3, 600.0) - 400.0).abs() < 1e-9);
        assert!(held(f64::NAN, 0.0, 0.0).is_nan() && held(50.0, f64::NAN, 0.0).is_nan());
    }

    #[test]
    fn a_load_on_the_bus_may_keep_it_from_ever_being_charged() {
        let charged = |amps: f64| {
            let volts = (Voltage::new(800.0), Voltage::new(20.0));
            charge_time(MILLI, Resistance::new(50.0), volts, Current::new(amps)).si()
        };
        assert!((charged(0.0) - 0.05 * libm::log(40.0)).abs() < 1e-12);
        assert!(charged(0.2) > charged(0.0));
        assert!(charged(0.4).is_infinite() && charged(2.0).is_infinite());
    }
}
