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
    formula: "t = R·C/(1 + R·G)·ln((V_end of the source − V_drop)/(V_rest − V_drop)), V_rest what is left across the contactor as it closes, V_drop what is drawn meanwhile keeps across R for good",
    validity: "source of constant voltage; a conductance G on the bus and loads of constant current while it lasts",
    source: RC,
};

/// Law of [`charge_loss`].
pub static CHARGE_LOSS: Law = Law {
    name: "energy in the resistance of a pre-charge",
    formula: "E = ∫(V − v)²/R·dt, V − v from V to V_rest towards V_drop, what is drawn meanwhile keeps across R for good; C·(V² − V_rest²)/2 where nothing is drawn",
    validity: "source of constant voltage; a conductance G on the bus and loads of constant current while it lasts",
    source: RC,
};

/// Law of [`charge_drop`].
pub static CHARGE_DROP: Law = Law {
    name: "voltage that stays across a pre-charge",
    formula: "V_drop = R·(I + G·V)/(1 + R·G)",
    validity: "loads of constant current I and a conductance G on the bus, charged as far as they let it",
    source: "Kirchhoff's laws at the bus",
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

/// What charges a capacitance through a resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charging {
    /// The capacitance.
    pub capacitance: Capacitance,
    /// The resistance that it is charged through.
    pub resistance: Resistance,
    /// Voltage of the source.
    pub source: Voltage,
    /// What is left of it across the resistance at the end.
    pub rest: Voltage,
    /// Constant current that is taken from the bus meanwhile.
    pub load: Current,
    /// Conductance on the bus in S.
    pub conductance: f64,
}

impl Charging {
    /// How many times less a time constant is for the conductance on the bus.
    fn divides(&self) -> f64 {
        1.0 + self.resistance.si() * self.conductance
    }

    /// Time constants that it takes; infinite where it never comes so far.
    fn constants(&self) -> f64 {
        let drop = charge_drop(self).si();
        let (start, end) = (self.source.si() - drop, self.rest.si() - drop);
        if end <= 0.0 { f64::INFINITY } else { libm::log(start / end) }
    }
}

/// Voltage that what is drawn meanwhile keeps across the resistance for good. See [`CHARGE_DROP`].
#[inline]
#[must_use]
pub fn charge_drop(of: &Charging) -> Voltage {
    let amps = of.load.si() + of.conductance * of.source.si();
    Voltage::new(of.resistance.si() * amps / of.divides())
}

/// Time until a capacitance has been charged to the rest. Infinite where it never comes so far. See [`CHARGE_TIME`].
#[inline]
#[must_use]
pub fn charge_time(of: &Charging) -> Time {
    Time::new(of.resistance.si() * of.capacitance.si() / of.divides() * of.constants())
}

/// Energy that the resistance takes meanwhile. Infinite where it never comes so far. See [`CHARGE_LOSS`].
#[inline]
#[must_use]
pub fn charge_loss(of: &Charging) -> Energy {
    let (drop, constants) = (charge_drop(of).si(), of.constants());
    let (begins, ends) = (of.source.si() - drop, of.rest.si() - drop);
    // The voltage across it is a drop that stays and a part that fades: the squares of both, and twice their product.
    let stays = if drop == 0.0 { 0.0 } else { drop * drop * constants };
    let squares = stays + 2.0 * drop * (begins - ends) + 0.5 * (begins * begins - ends * ends);
    Energy::new(of.capacitance.si() / of.divides() * squares)
}

/// Voltage that stays on a bus whose source feeds it through a resistance while a conductance (S) and a held power
/// discharge it; none where they bring it down.
///
/// `V = (V_s + √(V_s² − 4·R·(1 + R·G)·P))/(2·(1 + R·G)); nothing where the root has no value`. Valid: steady:
/// conductance G and a discharge that holds its power P on the bus, which starts at the source's voltage. Source:
/// Kirchhoff's laws at the bus: (V_s − V)/R = V·G + P/V, the higher of both solutions.
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

    /// A millifarad from 800 V down to 20 V across a resistance.
    fn charging(ohms: f64, amps: f64, siemens: f64) -> Charging {
        Charging {
            capacitance: MILLI,
            resistance: Resistance::new(ohms),
            source: Voltage::new(800.0),
            rest: Voltage::new(20.0),
            load: Current::new(amps),
            conductance: siemens,
        }
    }

    #[test]
    fn a_charge_takes_what_small_steps_say() {
        for (ohms, amps, siemens) in
            [(50.0, 0.0, 0.0), (50.0, 0.3, 0.0), (50.0, 0.1, 2e-4), (50.0, 0.0, 4e-4)]
        {
            let (mut volts, mut seconds, mut joules, step) = (0.0, 0.0, 0.0, 1e-6);
            while 800.0 - volts > 20.0 {
                let through = (800.0 - volts) / ohms;
                joules += through * through * ohms * step;
                volts += (through - amps - siemens * volts) / 1e-3 * step;
                seconds += step;
            }
            let of = charging(ohms, amps, siemens);
            assert!(
                (charge_time(&of).si() / seconds - 1.0).abs() < 1e-3,
                "{amps} A {siemens} S: {seconds} s"
            );
            assert!((charge_loss(&of).si() / joules - 1.0).abs() < 1e-3, "{amps} A {siemens} S: {joules} J");
        }
        // 340 V over 47 and 400 ohm.
        let divided = Charging { source: Voltage::new(340.0), ..charging(47.0, 0.0, 1.0 / 400.0) };
        assert!((charge_drop(&divided).si() - 340.0 * 47.0 / 447.0).abs() < 1e-9);
        assert!(charge_loss(&charging(50.0, 0.4, 0.0)).si().is_infinite());
        assert!(charge_loss(&charging(f64::NAN, 0.0, 0.0)).si().is_nan());
    }

    #[test]
    fn a_load_on_the_bus_may_keep_it_from_ever_being_charged() {
        let charged = |amps: f64| charge_time(&charging(50.0, amps, 0.0)).si();
        assert!((charged(0.0) - 0.05 * libm::log(40.0)).abs() < 1e-12);
        assert!(charged(0.2) > charged(0.0));
        assert!(charged(0.4).is_infinite() && charged(2.0).is_infinite());
    }
}
