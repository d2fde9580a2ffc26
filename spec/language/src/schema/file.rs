//! The top level of a description file.

use indexmap::IndexMap;
use schemars::JsonSchema;

use crate::sections::branches::Branch;
use crate::sections::buses::Bus;
use crate::sections::capacitors::{Capacitor, CapacitorType};
use crate::sections::conductors::Conductor;
use crate::sections::cooling::Cooling;
use crate::sections::devices::Device;
use crate::sections::drivers::Driver;
use crate::sections::duty::DutyPoint;
use crate::sections::gate_supplies::{Controller, GateSupply};
use crate::sections::header::{Header, Surroundings};
use crate::sections::isolation::Isolation;
use crate::sections::machines::{Load, Machine};
use crate::sections::magnetics::Magnetic;
use crate::sections::missions::Mission;
use crate::sections::policy::{Permit, PolicyEntry};
use crate::sections::sensors::{Measurement, Signal};
use crate::sections::sources::Source;
use crate::sections::stages::Stage;

/// The concept of a power control unit: its sources, buses, stages, devices, cooling, and what it must carry.
///
/// Quantities are written with their unit (`650 V`, `36 mJ`, `65 degC`). What is not known is left out.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "only its schema is used; the sections are read one by one")]
pub(super) struct DescriptionFile {
    /// The edition of the language and of its default values: `2026`.
    #[schemars(extend("enum" = crate::defaults::EDITIONS))]
    edition: u32,
    /// What the unit is called.
    unit: Option<Header>,
    /// Further files whose entries are added, each by its path relative to this file and never outside its folder.
    parts: Option<Vec<String>>,
    /// The air and the height that the unit works in.
    surroundings: Option<Surroundings>,
    /// What feeds the unit, by name.
    sources: Option<IndexMap<String, Source>>,
    /// The direct-voltage buses, by name.
    buses: Option<IndexMap<String, Bus>>,
    /// What carries the current between two nodes, in order, by name.
    branches: Option<IndexMap<String, Branch>>,
    /// The converters, by name.
    stages: Option<IndexMap<String, Stage>>,
    /// The electric machines that the stages feed, by name.
    machines: Option<IndexMap<String, Machine>>,
    /// Loads that take direct current from a bus, by name.
    loads: Option<IndexMap<String, Load>>,
    /// Data-sheet figures of semiconductors, by name; usually in a file under `parts`.
    devices: Option<IndexMap<String, Device>>,
    /// Capacitor banks on the buses, and capacitors to the chassis, by name.
    capacitors: Option<IndexMap<String, Capacitor>>,
    /// Data-sheet figures of capacitors, by name; usually in a file under `parts`.
    capacitor_types: Option<IndexMap<String, CapacitorType>>,
    /// Chokes and transformers, by name.
    magnetics: Option<IndexMap<String, Magnetic>>,
    /// Fuses, contactors, connectors, bars and cables that the branches lead through, by name.
    conductors: Option<IndexMap<String, Conductor>>,
    /// The outputs that feed gate drivers, by name.
    gate_supplies: Option<IndexMap<String, GateSupply>>,
    /// What turns the gates on and off, by name.
    drivers: Option<IndexMap<String, Driver>>,
    /// What commands the gates of the stages, by name.
    controllers: Option<IndexMap<String, Controller>>,
    /// What the controllers measure, by name.
    sensors: Option<IndexMap<String, Measurement>>,
    /// Lines, plugs and screens that join two domains, by name.
    signals: Option<IndexMap<String, Signal>>,
    /// Parts of the circuit that must stay isolated, and what isolates them.
    isolation: Option<Isolation>,
    /// The coolant loop.
    cooling: Option<Cooling>,
    /// What the unit must carry: operating conditions, by name.
    duty: Option<IndexMap<String, DutyPoint>>,
    /// Duty points one after another, followed over time by `loadworthy mission`, by name.
    missions: Option<IndexMap<String, Mission>>,
    /// How much of each limit the team uses; what is not said takes the edition's value.
    policy: Option<IndexMap<String, PolicyEntry>>,
    /// Findings accepted beforehand.
    permits: Option<Vec<Permit>>,
}
