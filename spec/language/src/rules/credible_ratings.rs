//! Ratings that no part of its kind has: with a prefix too many nothing is ever held against them.

use loadworthy_physics::{
    Current, Energy, Frequency, Inductance, Length, Power, Resistance, SlewRate, SquaredCurrent, Temperature,
    Time, Voltage,
};

use super::Scope;
use crate::quantity::{Given, Readable, SquaredCurrentTime};
use crate::sections::conductors::{Contactor, Fuse, Sensor};

/// The largest single devices block some 10 kV; fuses, contacts and capacitors for more stand in other plant.
const MOST_VOLTS: f64 = 20e3;
/// Gates stand some 20 V.
const MOST_GATE: f64 = 60.0;
/// Contactors and fuses for direct current of several kiloamperes are the largest; short circuits of 500 kA are broken nowhere.
const MOST_AMPS: f64 = 10e3;
const MOST_BROKEN: f64 = 500e3;
/// Contacts make and break some 20 kA at most.
const MOST_SWITCHED: f64 = 50e3;
/// Peaks end with the tables of insulation at 100 kV, impulses at high altitude not far above; what is below 50 V is no
/// impulse of a net, in V.
const MOST_STOOD: f64 = 100e3;
const MOST_IMPULSE: f64 = 300e3;
const LEAST_IMPULSE: f64 = 50.0;
/// Distances are known for frequencies up to 10 MHz.
const MOST_OFTEN: f64 = 10e6;
/// An output that feeds gates gives some watts, a resistor that takes charge away some hundred, in W.
const MOST_FOR_GATES: f64 = 200.0;
const MOST_BLED: f64 = 5e3;
/// A resistor of a pre-charge takes some kilojoules, in J.
const MOST_TAKEN: f64 = 50e3;
/// What is charged is to be empty within seconds or minutes; an hour is no time that anybody waits, in s.
const MOST_WAITED: f64 = 3600.0;
/// Modules have some 5 to 50 nH from terminal to terminal, in H.
const MOST_IN_PACKAGE: f64 = 1e-6;
/// Distances at 20 kV and the highest pollution are some decimetres.
const MOST_DISTANCE: f64 = 1.0;
/// The best isolators stand some 200 kV/µs, in V/s.
const MOST_EDGE: f64 = 2e12;
/// That edge through 50 pF, in A.
const MOST_THROUGH: f64 = 100.0;
/// What data sheets are measured at lies between deep frost and the hottest junction, in °C.
const MEASURED: (f64, f64) = (-80.0, 350.0);
/// Share of its rated current that no fuse breaks.
const NO_LEAST: f64 = 0.1;
/// Up to this time in s a fuse melts before heat leaves its notches, so that its curve gives the same I²t as `melting`.
const NO_HEAT_LEAVES: f64 = 10e-3;
/// Notches of the fastest fuses would melt in some tens of milliseconds by their rated current if no heat left them, in s.
const LEAST_MELTING: f64 = 10e-3;
/// Of that: its tolerance, and what a longer time adds.
const UNLIKE_MELTING: (f64, f64) = (0.3, 10.0);

/// Resistors that charge a bank in Ω.
const LEAST_TO_CHARGE: f64 = 0.5;
/// Of what its rated current burns in it, the power that a shunt is said to stand.
const MOST_OF_SHUNT: f64 = 100.0;
/// The slowest drivers, behind optical couplers, take some microseconds from command to gate, in s.
pub(super) const SLOWEST_DRIVER: f64 = 50e-6;
/// Closed contacts stand some ten times the current that they carry for good, for some tenths of a second: so many A²s for each A².
const MOST_STOOD_SHORT: f64 = 2500.0;

impl Scope<'_> {
    /// From command to gate.
    pub(super) fn credible_gate_delay(&mut self, delay: Option<Given<Time>>) {
        self.at_most("delay", delay, Time::si, (SLOWEST_DRIVER, "a time of at most 50 us"));
    }

    /// What closed contacts stand, against the current that they carry for good.
    pub(super) fn credible_contacts(&mut self, contactor: &Contactor) {
        let rated = contactor.current.as_ref().and_then(|current| current.continuous);
        let (Some(stands), Some(rated)) = (contactor.withstands, rated) else { return };
        let square: SquaredCurrent = rated.value * rated.value;
        if SquaredCurrentTime::si(stands.value) > square.si() * MOST_STOOD_SHORT {
            let message = "no contacts stand 50 times the current that they carry for good for a second";
            self.contradict((stands.at, "`withstands`"), (rated.at, "`current`"), message);
        }
    }

    pub(super) fn credible_volts(&mut self, key: &str, volts: Option<Given<Voltage>>) {
        self.at_most(key, volts, Voltage::si, (MOST_VOLTS, "a voltage of at most 20 kV"));
    }

    pub(super) fn credible_gate_volts(&mut self, key: &str, volts: Option<Given<Voltage>>) {
        self.at_most(key, volts, |volts| volts.si().abs(), (MOST_GATE, "a voltage of at most 60 V"));
    }

    pub(super) fn credible_amps(&mut self, key: &str, amps: Option<Given<Current>>) {
        self.at_most(key, amps, Current::si, (MOST_AMPS, "a current of at most 10 kA"));
    }

    pub(super) fn credible_breaking(&mut self, key: &str, amps: Option<Given<Current>>) {
        self.at_most(key, amps, Current::si, (MOST_BROKEN, "a current of at most 500 kA"));
    }

    /// What contacts make or break.
    pub(super) fn credible_switched(&mut self, key: &str, amps: Option<Given<Current>>) {
        self.at_most(key, amps, Current::si, (MOST_SWITCHED, "a current of at most 50 kA"));
    }

    /// A voltage in V that insulation is to stand.
    pub(super) fn credible_stood<T: Readable + Copy>(
        &mut self,
        key: &str,
        volts: Option<Given<T>>,
        si: impl Fn(T) -> f64,
    ) {
        self.at_most(key, volts, si, (MOST_STOOD, "a voltage of at most 100 kV"));
    }

    /// An impulse on a net.
    pub(super) fn credible_impulse(&mut self, volts: Option<Given<Voltage>>) {
        self.at_most("impulse", volts, Voltage::si, (MOST_IMPULSE, "a voltage of at most 300 kV"));
        self.at_most("impulse", volts, |volts| -volts.si(), (-LEAST_IMPULSE, "a voltage of at least 50 V"));
    }

    pub(super) fn credible_frequency(&mut self, frequency: Option<Given<Frequency>>) {
        self.at_most("frequency", frequency, Frequency::si, (MOST_OFTEN, "a frequency of at most 10 MHz"));
    }

    pub(super) fn credible_for_gates(&mut self, power: Option<Given<Power>>) {
        self.at_most("power", power, Power::si, (MOST_FOR_GATES, "a power of at most 200 W"));
    }

    pub(super) fn credible_bleeder(&mut self, power: Option<Given<Power>>) {
        self.at_most("resistor_power", power, Power::si, (MOST_BLED, "a power of at most 5 kW"));
    }

    /// What a shunt stands; more than a hundred times what its rated current burns in it is a slip.
    pub(super) fn credible_shunt(&mut self, sensor: &Sensor) {
        let rated = sensor.current.as_ref().and_then(|current| current.continuous);
        let (Some(power), Some(ohms), Some(rated)) = (sensor.power, sensor.resistance, rated) else { return };
        let burns = rated.value.si() * rated.value.si() * ohms.value.si();
        if burns > 0.0 && power.value.si() > MOST_OF_SHUNT * burns {
            let message =
                "no shunt stands a hundred times what the current that it carries for good burns in it";
            self.contradict((power.at, "`power`"), (ohms.at, "`resistance`"), message);
        }
    }

    /// What charges a bank through less is no pre-charge: from 300 V it draws hundreds of amperes.
    pub(super) fn credible_precharge(&mut self, resistor: Option<Given<Resistance>>) {
        let resistor = resistor.filter(|ohms| ohms.value.si() > 0.0);
        let said = "a resistance of at least 0.5 ohm";
        self.at_most("resistor", resistor, |ohms| -ohms.si(), (-LEAST_TO_CHARGE, said));
    }

    pub(super) fn credible_energy(&mut self, energy: Option<Given<Energy>>) {
        self.at_most("energy", energy, Energy::si, (MOST_TAKEN, "an energy of at most 50 kJ"));
    }

    /// A time within which charge is to be gone.
    pub(super) fn credible_wait(&mut self, key: &str, time: Option<Given<Time>>) {
        self.at_most(key, time, Time::si, (MOST_WAITED, "a time of at most an hour"));
    }

    pub(super) fn credible_package(&mut self, inductance: Option<Given<Inductance>>) {
        let said = "an inductance of at most 1 uH";
        self.at_most("inductance", inductance, Inductance::si, (MOST_IN_PACKAGE, said));
    }

    pub(super) fn credible_distance(&mut self, key: &str, distance: Option<Given<Length>>) {
        self.at_most(key, distance, Length::si, (MOST_DISTANCE, "a distance of at most 1 m"));
    }

    pub(super) fn credible_immunity(&mut self, edge: Option<Given<SlewRate>>) {
        self.at_most("transient_immunity", edge, SlewRate::si, (MOST_EDGE, "an edge of at most 2000 kV/us"));
    }

    pub(super) fn credible_immunity_current(&mut self, amps: Option<Given<Current>>) {
        self.at_most("immunity_current", amps, Current::si, (MOST_THROUGH, "a current of at most 100 A"));
    }

    /// A temperature that a value of a data sheet was measured at.
    pub(super) fn credible_measured(&mut self, key: &str, at: Option<Given<Temperature>>) {
        let (coldest, hottest) = MEASURED;
        self.at_most(key, at, |at| at.in_celsius(), (hottest, "a temperature of at most 350 degC"));
        self.at_most(key, at, |at| -at.in_celsius(), (-coldest, "a temperature of at least -80 degC"));
    }

    /// What melts a fuse, against the current that it carries for good.
    pub(super) fn credible_melting(&mut self, fuse: &Fuse) {
        let (Some(melting), Some(current)) = (fuse.melting, fuse.current) else { return };
        // Its curve says more of both.
        if fuse.time_current.is_some() {
            return;
        }
        let square: SquaredCurrent = current.value * current.value;
        if SquaredCurrentTime::si(melting.value) < square.si() * LEAST_MELTING {
            let message = "no fuse carries for good what would melt it within 10 ms if no heat left it";
            self.contradict((current.at, "`current`"), (melting.at, "`melting`"), message);
        }
    }

    /// The least current that a fuse breaks: what it carries for good it need not break, and a tenth of that is a slip.
    pub(super) fn credible_least(&mut self, fuse: &Fuse) {
        let (Some(least), Some(current)) = (fuse.least_breaking, fuse.current) else { return };
        if least.value.si() < current.value.si() * NO_LEAST {
            let message = "no fuse breaks a tenth of the current that it carries for good";
            self.contradict((current.at, "`current`"), (least.at, "`least_breaking`"), message);
        }
    }

    /// The shortest time of a time-current curve, against what melts the fuse before heat leaves it.
    pub(super) fn credible_curve(&mut self, fuse: &Fuse) {
        let (Some(melting), Some(current), Some(curve)) = (fuse.melting, fuse.current, &fuse.time_current)
        else {
            return;
        };
        let (Some(load), Some(time)) = (curve.load.last(), curve.time.last()) else { return };
        let seconds = Time::si(time.value);
        let square: SquaredCurrent =
            (current.value * load.value.value()) * (current.value * load.value.value());
        let by_curve = square.si() * seconds;
        let melts = SquaredCurrentTime::si(melting.value);
        let (least, most) = UNLIKE_MELTING;
        let is_more = seconds <= NO_HEAT_LEAVES && by_curve > most * melts;
        if by_curve < least * melts || is_more {
            let message = "a fuse does not melt at so different an I²t as its time-current curve says for its shortest time";
            self.contradict((melting.at, "`melting`"), (time.at, "shortest time of the curve"), message);
        }
    }
}
