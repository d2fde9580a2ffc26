//! Magnitudes of drivers, gates, banks, fuses and lines that no part of its kind has, and tolerances that none keeps.

use loadworthy_physics::{Capacitance, Current, Inductance, Length, Power, Resistance, Time, Voltage};

use super::Scope;
use crate::quantity::{Charge, Given, Ratio};
use crate::sections::capacitors::Bank;
use crate::sections::conductors::{ConductorCurrent, Fuse};
use crate::sections::devices::Gate;
use crate::sections::drivers::Driver;

/// Drivers of the largest modules, boosters included, give some 100 A.
const MOST_FOR_A_GATE: f64 = 300.0;
/// A driver takes some watts.
const MOST_OF_A_DRIVER: f64 = 50.0;
/// A short is noticed within microseconds.
const SLOWEST_NOTICE: f64 = 100e-6;
/// What a driver, a supply or a transducer has across its barrier is some picofarad, of a large transformer some nanofarad, the screen
/// of a motor cable a nanofarad a metre.
const MOST_ACROSS: f64 = 100e-9;
/// The largest modules of silicon, of some kilovolts, turn off within 10 µs, the largest ones of silicon carbide within 2 µs.
const SLOWEST_BIPOLAR: f64 = 30e-6;
const SLOWEST_CHANNEL: f64 = 5e-6;
/// The largest modules have some hundred nanofarad.
const MOST_OF_GATE: f64 = 3e-6;
/// Of the input capacitance, the reverse one of any device at all.
const LEAST_REVERSE: f64 = 1e-5;
/// Over the charge that its input capacitance alone takes: the charge to the drain adds up to some times as much.
const MOST_CHARGE: f64 = 15.0;
/// Ways between a bank and its bus have some 10 nH and some milliohm.
const MOST_TO_BANK: (f64, f64) = (3e-6, 0.1);
/// At its rated current a fuse drops some tenths of a volt, a small one for high voltages some volts.
const MOST_DROPPED: f64 = 10.0;
/// A fuse stands at least a third of its rated current whatever comes and goes.
const LEAST_CYCLIC: f64 = 0.2;
/// Bars and foils stay within a unit, cables within a machine.
const LONGEST_BAR: f64 = 20.0;
const LONGEST_CABLE: f64 = 500.0;
/// A discharge that is switched on takes some kilowatts.
const MOST_DISCHARGED: f64 = 20e3;

impl Scope<'_> {
    /// How far a value may lie apart. No part of a unit keeps so close to its value; none at all is said on purpose.
    pub(super) fn credible_tolerance(
        &mut self,
        key: &str,
        share: Option<Given<Ratio>>,
        (least, said): (f64, &str),
    ) {
        let share = share.filter(|share| share.value.value() > 0.0);
        self.at_most(key, share, |share| -share.value(), (-least, said));
    }

    pub(super) fn credible_driver(&mut self, driver: &Driver) {
        let said = "a current of at most 300 A";
        self.at_most("peak_current", driver.peak_current, Current::si, (MOST_FOR_A_GATE, said));
        let said = "a power of at most 50 W";
        self.at_most("own_power", driver.own_power, Power::si, (MOST_OF_A_DRIVER, said));
        self.credible_gate_volts("undervoltage", driver.undervoltage);
        let slowest = super::credible_ratings::SLOWEST_DRIVER;
        self.at_most("skew", driver.skew, Time::si, (slowest, "a time of at most 50 us"));
        self.credible_coupling(driver.coupling);
        let Some(short) = &driver.short_circuit else { return };
        for (key, time) in [
            ("blanking", short.blanking),
            ("filter", short.filter),
            ("delay", short.delay),
            ("turn_off", short.turn_off),
        ] {
            self.at_most(key, time, Time::si, (SLOWEST_NOTICE, "a time of at most 100 us"));
        }
    }

    /// Capacitance across a barrier.
    pub(super) fn credible_coupling(&mut self, coupling: Option<Given<Capacitance>>) {
        let said = "a capacitance of at most 100 nF";
        self.at_most("coupling", coupling, Capacitance::si, (MOST_ACROSS, said));
    }

    /// Times and capacitances of a gate: a channel alone is faster than what carries charge of both kinds.
    pub(super) fn credible_gate_of(&mut self, gate: Option<&Gate>, is_channel: bool) {
        let Some(gate) = gate else { return };
        let slowest = if is_channel {
            (SLOWEST_CHANNEL, "a time of at most 5 us")
        } else {
            (SLOWEST_BIPOLAR, "a time of at most 30 us")
        };
        for (key, time) in [
            ("turn_off_delay", gate.turn_off_delay),
            ("turn_on_delay", gate.turn_on_delay),
            ("turn_on_time", gate.turn_on_time),
        ] {
            self.at_most(key, time, Time::si, slowest);
        }
        let said = "a capacitance of at most 3 uF";
        self.at_most("input_capacitance", gate.input_capacitance, Capacitance::si, (MOST_OF_GATE, said));
        if let (Some(reverse), Some(input)) = (gate.reverse_capacitance, gate.input_capacitance) {
            let share = reverse.value.si() / input.value.si();
            if 0.0 < share && share < LEAST_REVERSE {
                let message = "of what a gate has of capacitance more than a hundred-thousandth leads to the drain or collector";
                let (at, also) = (reverse.at, input.at);
                self.contradict((at, "`reverse_capacitance`"), (also, "`input_capacitance`"), message);
            }
        }
        let known = (gate.charge, gate.input_capacitance, gate.on);
        let (Some(charge), Some(input), Some(on)) = known else { return };
        let swing = Voltage::si(on.value) - gate.off.map_or(0.0, |off| off.value.si());
        let alone = Capacitance::si(input.value) * swing;
        if alone > 0.0 && Charge::si(charge.value) > MOST_CHARGE * alone {
            let message = "the charge of a gate is more than 15 times what its input capacitance alone takes";
            self.contradict((charge.at, "`charge`"), (input.at, "`input_capacitance`"), message);
        }
    }

    /// What lies between a bank and its bus.
    pub(super) fn credible_bank(&mut self, bank: &Bank) {
        let Some(path) = &bank.path else { return };
        let (henry, ohm) = MOST_TO_BANK;
        let said = "an inductance of at most 3 uH between a bank and its bus";
        self.at_most("inductance", path.inductance, Inductance::si, (henry, said));
        let said = "a resistance of at most 100 mohm between a bank and its bus";
        self.at_most("resistance", path.resistance, Resistance::si, (ohm, said));
    }

    /// What a fuse drops at its rated current, and what it stands of a load that comes and goes.
    pub(super) fn credible_fuse(&mut self, fuse: &Fuse) {
        if let (Some(ohms), Some(amps)) = (fuse.resistance, fuse.current)
            && ohms.value.si() * amps.value.si() > MOST_DROPPED
        {
            let message = "no fuse drops more than 10 V at its rated current";
            self.contradict((ohms.at, "`resistance`"), (amps.at, "`current`"), message);
        }
        let said = "a share of at least 20 %";
        let share = fuse.cyclic_load.filter(|share| share.value.value() > 0.0);
        self.at_most("cyclic_load", share, |share| -share.value(), (-LEAST_CYCLIC, said));
    }

    /// What contacts and sensors drop at the current that they carry for good.
    pub(super) fn credible_contact_drop(
        &mut self,
        resistance: Option<Given<Resistance>>,
        current: Option<&ConductorCurrent>,
    ) {
        let rated = current.and_then(|current| current.continuous);
        let (Some(ohms), Some(amps)) = (resistance, rated) else { return };
        if ohms.value.si() * amps.value.si() > MOST_DROPPED {
            let message = "no contact or sensor drops more than 10 V at the current that it carries for good";
            self.contradict((ohms.at, "`resistance`"), (amps.at, "`continuous`"), message);
        }
    }

    pub(super) fn credible_bar_length(&mut self, length: Option<Given<Length>>) {
        self.at_most("length", length, Length::si, (LONGEST_BAR, "a length of at most 20 m"));
    }

    pub(super) fn credible_cable_length(&mut self, length: Option<Given<Length>>) {
        self.at_most("length", length, Length::si, (LONGEST_CABLE, "a length of at most 500 m"));
    }

    pub(super) fn credible_discharge(&mut self, power: Option<Given<Power>>) {
        self.at_most("power", power, Power::si, (MOST_DISCHARGED, "a power of at most 20 kW"));
    }
}
