//! Gates with the driver and the output that drive them.

use crate::ids::{FigureId, InputId, PartId};

/// Switch positions of one kind with one driver and one output: what drives the gate of each of them.
#[derive(Clone, Debug)]
pub struct GateDrive {
    /// The kind of position where all of it are driven alike; else the position, the first of several.
    pub part: PartId,
    /// The stage, in the plan.
    pub stage: usize,
    /// The kind of position: a place in the seats of the stage.
    pub seat: usize,
    /// Its place in what the stage's kinds of position block.
    pub withstand: usize,
    /// The positions: places in those of the stage.
    pub positions: Vec<usize>,
    /// The entry of `drivers`: its place in the section; none where no driver is stated for it.
    pub driver: Option<usize>,
    /// The output that feeds it, in the plan; none where none is stated.
    pub supply: Option<usize>,
    /// Whether that output is a bootstrap.
    pub is_bootstrap: bool,
    /// Whether a short circuit through it is to be noticed: it stands in a leg or switches a transformer, and its device
    /// states how long it stands one, or its driver how it notices one.
    pub may_short: bool,
    /// What its output gives.
    pub rails: Rails,
    /// What its device takes.
    pub gate: GateInputs,
    /// What its driver does.
    pub channel: Channel,
    /// What is solved for it.
    pub figures: GateDriveFigures,
}

/// What an output gives a gate. What is not stated is missing.
#[derive(Clone, Copy, Debug)]
pub struct Rails {
    /// Gate voltage while the switch is on.
    pub on: InputId,
    /// Gate voltage while it is off.
    pub off: InputId,
    /// How far both may lie off, as a share.
    pub tolerance: InputId,
}

/// What the gate of a device takes and stands. What is not stated is missing.
#[derive(Clone, Copy, Debug)]
pub struct GateInputs {
    /// Charge of one turn-on.
    pub charge: InputId,
    /// Gate voltage that it begins at.
    pub stated_off: InputId,
    /// Gate voltage that it ends at, and that on-state figures hold at.
    pub stated_on: InputId,
    /// Resistance inside of the device.
    pub internal: InputId,
    /// Highest voltage that the gate stands.
    pub highest: InputId,
    /// Lowest voltage that the gate stands.
    pub lowest: InputId,
    /// Voltage at which the channel opens.
    pub threshold: InputId,
    /// The lowest one, of any device at the hottest junction.
    pub least_threshold: InputId,
    /// Change of current by gate voltage.
    pub transconductance: InputId,
    /// Capacitance of the gate.
    pub capacitance: InputId,
    /// The part of it that leads to the switched terminal.
    pub reverse_capacitance: InputId,
    /// Steepest edge of the device's voltage.
    pub edge: InputId,
    /// Longest time until its voltage has fallen.
    pub turn_on_time: InputId,
    /// Longest delay of turning off.
    pub turn_off_delay: InputId,
    /// Shortest delay of turning on.
    pub turn_on_delay: InputId,
    /// Gate resistance that these times and the energies hold at, where it is stated.
    pub stated_with: Option<InputId>,
    /// Gate resistor outside of the device that the energies were measured with, where it is stated.
    pub measured_with: Option<InputId>,
    /// How long the device stands a short circuit.
    pub withstand: InputId,
    /// Bus voltage that this holds at.
    pub withstand_voltage: InputId,
    /// Junction temperature that this holds at.
    pub withstand_junction: InputId,
    /// Gate voltage that this holds at.
    pub withstand_drive: InputId,
}

impl GateInputs {
    /// The key that says at which gate resistance the energies hold.
    #[must_use]
    pub fn energies_hold_at(&self) -> Option<InputId> {
        self.measured_with.or(self.stated_with)
    }

    /// That resistance, inside and outside of the device together, in ohms.
    pub fn ohms_of_energies(&self, input: impl Fn(InputId) -> Option<f64>) -> Option<f64> {
        match self.measured_with {
            Some(outside) => Some(input(outside)? + input(self.internal)?),
            None => input(self.stated_with?),
        }
    }
}

/// What a channel of a driver does. What is not stated is missing.
#[derive(Clone, Copy, Debug)]
pub struct Channel {
    /// Resistor while it turns on.
    pub turn_on_resistor: InputId,
    /// Resistor while it turns and holds off.
    pub turn_off_resistor: InputId,
    /// Resistance of a clamp that holds off beside it, where it has one.
    pub clamp: Option<InputId>,
    /// 1 where each device in parallel has resistors of its own, 0 where they share one.
    pub resistor_for_each: InputId,
    /// Peak current of an output, where it is stated.
    pub peak_current: Option<InputId>,
    /// Power that one channel takes for itself.
    pub own_power: InputId,
    /// Voltage below which it blocks the gate.
    pub undervoltage: InputId,
    /// Time after turn-on in which it looks for no short circuit.
    pub blanking: InputId,
    /// Time that a short circuit must last.
    pub filter: InputId,
    /// Time from there until the gate moves.
    pub delay: InputId,
    /// Time of the turn-off.
    pub turn_off: InputId,
}

/// Figures of what drives a gate.
#[derive(Clone, Copy, Debug)]
pub struct GateDriveFigures {
    /// Gate charge of one device at the swing of its output.
    pub charge: FigureId,
    /// Power that its positions take from their output, drivers included.
    pub power: FigureId,
    /// Crest of the current of one channel, all devices in parallel.
    pub peak_current: FigureId,
    /// Highest gate voltage.
    pub highest: FigureId,
    /// How far below zero the gate voltage comes.
    pub below_zero: FigureId,
    /// How far below zero it may.
    pub below_zero_limit: FigureId,
    /// How far the voltage of the on state falls within its tolerance.
    pub rail_fall: FigureId,
    /// How far it may fall until the driver blocks the gate.
    pub lockout_distance: FigureId,
    /// How far its lowest value stays below what on-state figures hold at.
    pub shortfall: FigureId,
    /// Lowest gate voltage of the on state.
    pub lowest: FigureId,
    /// Gate voltage below which the channel would limit the crest of the current.
    pub linear_level: FigureId,
    /// How far an edge lifts the gate while it is held off.
    pub lift: FigureId,
    /// From the voltage that holds off, at its weakest, to the lowest threshold.
    pub lift_limit: FigureId,
    /// Time until a short circuit is switched off.
    pub reaction: FigureId,
    /// How long the device stands it at the highest bus voltage.
    pub withstand: FigureId,
    /// Longest turn-on.
    pub turn_on_time: FigureId,
    /// Gate resistance of one device while it turns on, inside and outside.
    pub on_resistance: FigureId,
    /// The same while it turns off.
    pub off_resistance: FigureId,
    /// Factor between these and the one that the data sheet holds at, where that is stated.
    pub apart: FigureId,
    /// Longest delay of turning off with that resistance.
    pub turn_off_delay: FigureId,
    /// Shortest delay of turning on with that resistance.
    pub turn_on_delay: FigureId,
}

/// An output with what it feeds.
#[derive(Clone, Debug)]
pub struct GateFeed {
    /// The output, in the plan.
    pub supply: usize,
    /// The gates that it feeds, in the plan; those behind bootstraps that it charges included.
    pub drives: Vec<usize>,
    /// Power that it gives.
    pub power: InputId,
    /// Share of what it takes that it gives on, where it is stated.
    pub efficiency: Option<InputId>,
    /// Power that its gates take.
    pub asked: FigureId,
    /// Power that it takes itself, where its efficiency is stated.
    pub taken: Option<FigureId>,
}
