//! What commands, drives and measures: names and references, from which it follows what is covered and what stops together.

use loadworthy_source::{Located, NodeId};

use crate::ids::{InputId, PartId};

/// The control of a unit, as far as it is described.
#[derive(Clone, Debug)]
pub struct Control {
    /// The section of drivers as a number: 0 where it is stated and all of it could be read.
    pub drivers_stated: InputId,
    /// The section of sensors in the same way.
    pub sensors_stated: InputId,
    /// The section of controllers in the same way.
    pub controllers_stated: InputId,
    /// Whether its stages are stated and were read, as a number that is missing where they are not.
    pub stages_stated: InputId,
    /// What commands.
    pub controllers: Vec<Controller>,
    /// What drives gates.
    pub drivers: Vec<Driver>,
    /// What is measured.
    pub sensors: Vec<Sensor>,
    /// What each stage says of its control, in the order of the plan.
    pub stages: Vec<Commanded>,
    /// The bus that each gate supply takes its power from, in the order of the plan, where it says so.
    pub supplied_from: Vec<Option<Located<String>>>,
    /// A second bus that keeps each of them alive by itself, where one is stated.
    pub supplied_also: Vec<Option<Located<String>>>,
    /// Buses with a discharge that is switched on, and the bus that its control takes its power from.
    pub discharges: Vec<(usize, Option<Located<String>>)>,
    /// What the coils of contactors live on, where they say so.
    pub coils: Vec<Coil>,
    /// The surroundings, or the description where it states none.
    pub surroundings: PartId,
    /// Keys of the surroundings that everything is judged by and that are not stated.
    pub undeclared: Vec<&'static str>,
}

/// A controller.
#[derive(Clone, Debug)]
pub struct Controller {
    /// The controller.
    pub part: PartId,
    /// Its name.
    pub name: String,
    /// The bus that it takes its power from.
    pub from: Option<Located<String>>,
    /// A second bus that keeps it alive by itself, where one is stated.
    pub also: Option<Located<String>>,
    /// What else it depends on.
    pub depends_on: Vec<Located<String>>,
    /// Whether its stages can be switched off without software, where that is stated.
    pub hardware_enable: Option<Located<bool>>,
}

/// What holds a contactor closed.
#[derive(Clone, Debug)]
pub struct Coil {
    /// The contactor, a conductor of the plan.
    pub conductor: usize,
    /// The bus that it takes its power from.
    pub from: Option<Located<String>>,
    /// A second bus that holds it by itself, where one is stated.
    pub also: Option<Located<String>>,
    /// The controller that holds it closed.
    pub controller: Option<Located<String>>,
}

/// Drivers of one kind.
#[derive(Clone, Debug)]
pub struct Driver {
    /// The entry.
    pub part: PartId,
    /// The gates that they drive: stage and position in the plan, and where the description names them.
    pub drives: Vec<(usize, usize, NodeId)>,
    /// The controller that commands them, where it is another than that of the stage.
    pub controller: Option<Located<String>>,
}

/// Two drivers of which each suits the gates of the other, and not its own.
#[derive(Clone, Debug)]
pub struct ExchangedDrivers {
    /// Their places in the section.
    pub places: [usize; 2],
    /// Their names.
    pub names: [String; 2],
    /// What speaks against each where it is named.
    pub misfits: [Vec<DriverMisfit>; 2],
}

/// What speaks against a driver at a gate.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DriverMisfit {
    /// It passes barriers, and none that stands between that gate and its controller, or none where one is needed.
    Barrier,
    /// It blocks the gate at what the output gives that feeds it.
    LockOut,
    /// Its resistors are far from those that the data sheet of the device holds at.
    Resistors,
    /// The gate takes more current than it gives.
    Current,
    /// It lets a short circuit last longer than the device stands.
    Response,
}

/// Sensors of one kind.
#[derive(Clone, Debug)]
pub struct Sensor {
    /// The entry.
    pub part: PartId,
    /// What they measure.
    pub measures: Option<Quantity>,
    /// Of what.
    pub of: Vec<Located<String>>,
    /// The controllers that read them; empty where that is not stated.
    pub read_by: Vec<Located<String>>,
    /// How many independent ones measure the same.
    pub redundant: u32,
}

/// What a sensor measures.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Quantity {
    /// A current.
    Current,
    /// A direct voltage.
    Voltage,
    /// A temperature.
    Temperature,
    /// The position of the rotor of a synchronous machine, without which its drive does not turn it.
    Position,
    /// Anything else.
    Other,
}

/// What a stage says of its control.
#[derive(Clone, Debug, Default)]
pub struct Commanded {
    /// The controller that commands it.
    pub controller: Option<Located<String>>,
    /// The stages that must not fail together with it.
    pub independent_of: Vec<Located<String>>,
    /// The machine that it turns, where that has magnets: the position of its rotor says which way its currents have to stand.
    pub rotor: Option<PartId>,
}
