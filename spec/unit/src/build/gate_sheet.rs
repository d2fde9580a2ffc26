//! What the data sheet of a device says of its gate.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::devices::{Gate, ShortCircuitAt, Transistor};
use loadworthy_physics::{Resistance, Time};
use loadworthy_source::NodeId;

use crate::build::bank::shared;
use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::plan::GateInputs;

/// The transistor fitted to a kind of position.
pub(crate) struct GateSheet<'d> {
    /// Path of the device; where none is fitted, that of the key that would name it.
    path: String,
    near: NodeId,
    /// The node of an entry that could not be read.
    broken: Option<NodeId>,
    gate: Option<&'d Gate>,
    fall: Option<&'d Given<Time>>,
    measured_with: Option<&'d Given<Resistance>>,
    withstand: Option<&'d Given<Time>>,
    withstand_at: Option<&'d ShortCircuitAt>,
}

impl<'d> GateSheet<'d> {
    pub(crate) fn of(build: &Build<'d>, stage: usize, seat: usize) -> Self {
        let of = &build.plan.stages[stage];
        let (stage, seat) = (build.tables.part_of(of.part), &of.seats[seat]);
        let entry = seat.fitted.as_ref().and_then(|name| build.description.devices.get(name));
        let path = match &seat.fitted {
            Some(name) => format!("devices.{name}"),
            None => format!("stages.{}.switches.{}.fitted", stage.path, seat.key),
        };
        let device = entry.and_then(|entry| entry.read());
        let transistor = device.and_then(|device| device.transistor.as_ref());
        let (gate, fall, energies, withstand, withstand_at) = match transistor {
            Some(Transistor::Igbt(igbt)) => (
                igbt.gate.as_ref(),
                igbt.current_fall_time.as_ref(),
                igbt.energies.as_ref(),
                igbt.short_circuit_withstand.as_ref(),
                igbt.short_circuit_at.as_ref(),
            ),
            Some(Transistor::Mosfet(mosfet)) => (
                mosfet.gate.as_ref(),
                mosfet.current_fall_time.as_ref(),
                mosfet.energies.as_ref(),
                mosfet.short_circuit_withstand.as_ref(),
                mosfet.short_circuit_at.as_ref(),
            ),
            None => (None, None, None, None, None),
        };
        Self {
            path,
            near: entry.map_or(stage.at, |entry| entry.key),
            broken: entry.filter(|entry| entry.read().is_none()).map(|entry| entry.value),
            gate,
            fall,
            measured_with: energies.and_then(|energies| energies.gate_resistor.as_ref()),
            withstand,
            withstand_at,
        }
    }

    /// Whether it states how long it stands a short circuit.
    pub(crate) const fn withstands(&self) -> bool {
        self.withstand.is_some()
    }

    fn number<T>(
        &self,
        build: &mut Build<'_>,
        (key, dimension): (&str, Dimension),
        given: Option<&Given<T>>,
        si: impl Fn(&T) -> f64,
    ) -> InputId {
        let stated = match (given, self.broken) {
            (None, Some(at)) => broken(at),
            _ => build.stated(given, Some(self.near), si),
        };
        let path = format!("{}.transistor.{key}", self.path);
        shared(build, &path, &path, dimension, stated)
    }

    /// How long its current takes to fall.
    pub(crate) fn current_fall(&self, build: &mut Build<'_>) -> InputId {
        self.number(build, ("current_fall_time", Dimension::Time), self.fall, |time| time.si())
    }

    /// What its gate takes and stands. Capacitance and transconductance are those that parallel devices share by.
    pub(crate) fn inputs(
        &self,
        build: &mut Build<'_>,
        known: Option<crate::plan::ThresholdInputs>,
    ) -> GateInputs {
        let (gate, at) = (self.gate, self.withstand_at);
        let states_resistance = gate.is_some_and(|gate| gate.resistance.is_some());
        macro_rules! of_gate {
            ($key:literal, $field:ident, $dimension:ident) => {
                self.number(
                    build,
                    (concat!("gate.", $key), Dimension::$dimension),
                    gate.and_then(|gate| gate.$field.as_ref()),
                    |amount| amount.si(),
                )
            };
        }
        macro_rules! at_short {
            ($key:literal, $field:ident, $dimension:ident, $si:expr) => {
                self.number(
                    build,
                    (concat!("short_circuit_at.", $key), Dimension::$dimension),
                    at.and_then(|at| at.$field.as_ref()),
                    $si,
                )
            };
        }
        GateInputs {
            charge: of_gate!("charge", charge, Charge),
            stated_off: of_gate!("drive_off", off, Voltage),
            stated_on: of_gate!("drive_on", on, Voltage),
            internal: of_gate!("internal_resistance", internal_resistance, Resistance),
            highest: of_gate!("highest", highest, Voltage),
            lowest: of_gate!("lowest", lowest, Voltage),
            threshold: of_gate!("threshold", threshold, Voltage),
            least_threshold: of_gate!("least_threshold", least_threshold, Voltage),
            transconductance: match known {
                Some(known) => known.transconductance,
                None => of_gate!("transconductance", transconductance, Conductance),
            },
            capacitance: match known {
                Some(known) => known.capacitance,
                None => of_gate!("input_capacitance", input_capacitance, Capacitance),
            },
            reverse_capacitance: of_gate!("reverse_capacitance", reverse_capacitance, Capacitance),
            edge: of_gate!("edge", edge, SlewRate),
            turn_on_time: of_gate!("turn_on_time", turn_on_time, Time),
            turn_off_delay: of_gate!("turn_off_delay", turn_off_delay, Time),
            turn_on_delay: of_gate!("turn_on_delay", turn_on_delay, Time),
            stated_with: states_resistance.then(|| of_gate!("resistance", resistance, Resistance)),
            measured_with: self.measured_with.map(|given| {
                let key = ("energies.gate_resistor", Dimension::Resistance);
                self.number(build, key, Some(given), |ohms| ohms.si())
            }),
            withstand: self.number(
                build,
                ("short_circuit_withstand", Dimension::Time),
                self.withstand,
                |time| time.si(),
            ),
            withstand_voltage: at_short!("voltage", voltage, Voltage, |volts| volts.si()),
            withstand_junction: at_short!("junction", junction, Temperature, |at| at.in_celsius()),
            withstand_drive: at_short!("drive_on", drive_on, Voltage, |volts| volts.si()),
        }
    }
}
