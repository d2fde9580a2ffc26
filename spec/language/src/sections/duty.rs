//! Operating conditions that the unit must carry.

use indexmap::IndexMap;
use loadworthy_physics::{Current, Frequency, Power, Temperature, Time, Voltage, VolumeFlow};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, RmsCurrent, RmsVoltage, SignedRatio, Speed, TimeOr, Torque};

/// One operating condition: voltages, loads, coolant, how long.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DutyPoint {
    /// How long it lasts: `continuous`, or a time. Continuous unless said otherwise.
    pub lasts: Option<Given<TimeOr>>,
    /// The time from one occurrence to the next; in between it returns to what it `starts_from`.
    pub every: Option<Given<Time>>,
    /// The duty point that went before, long enough to settle unless it says how long it lasts. With it, junctions are
    /// followed over the time that this one lasts; without it they are judged as if it were held continuously.
    pub starts_from: Option<Located<String>>,
    /// The coolant that arrives.
    pub coolant: Option<CoolantSupply>,
    /// The state of each source.
    pub sources: Option<IndexMap<String, SourceState>>,
    /// Voltages of buses that a stage holds.
    pub buses: Option<IndexMap<String, Given<Voltage>>>,
    /// What each machine and load takes; negative power is recovered. What is not named here rests.
    pub loads: Option<IndexMap<String, Demand>>,
}

/// The coolant that arrives at the unit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoolantSupply {
    /// Temperature at the inlet of the unit.
    pub inlet: Option<Given<Temperature>>,
    /// Volume flow in this duty point, where it differs from the pump's.
    pub flow: Option<Given<VolumeFlow>>,
}

/// The state of a source: a voltage, and for one that gives a share the share.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SourceState {
    /// Voltage at its terminals, under load, where that is what is known.
    pub terminal: Option<Given<Voltage>>,
    /// Voltage behind its internal resistance; the terminal voltage is then solved with the highest resistance, both
    /// while it gives and while it takes.
    pub open_circuit: Option<Given<Voltage>>,
    /// The share that it gives, as a power; the bus is then balanced by another source or through a stage. Negative
    /// where it takes power back.
    pub power: Option<Given<Power>>,
    /// The share that it gives, as a current.
    pub current: Option<Given<Current>>,
}

/// What a machine or a load takes.
///
/// A load states `power` or `current`. A machine with constants states `torque` or `shaft_power`, and `speed`. Any
/// machine states `electrical_power` or `phase_current`, and beside it `line_voltage`, `power_factor` and `frequency`;
/// at `frequency: 0 Hz` it stands still and states `phase_current` alone.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Demand {
    /// Power of a load on a bus.
    pub power: Option<Given<Power>>,
    /// Current of a load on a bus, in place of its power.
    pub current: Option<Given<Current>>,
    /// Torque at the shaft, with `speed`; the constants of the machine give the current. Negative while it brakes.
    pub torque: Option<Given<Torque>>,
    /// Power at the shaft, with `speed`, in place of a torque.
    pub shaft_power: Option<Given<Power>>,
    /// Speed of the shaft.
    pub speed: Option<Given<Speed>>,
    /// Power at the terminals of a machine; negative while it recovers.
    pub electrical_power: Option<Given<Power>>,
    /// Fundamental current of a phase, e.g. `260 A rms`. At 0 Hz: the current whose crest stands in one phase.
    pub phase_current: Option<Given<RmsCurrent>>,
    /// Fundamental voltage between lines at the machine, e.g. `330 V rms`.
    pub line_voltage: Option<Given<RmsVoltage>>,
    /// Cosine of the angle between phase voltage and current; negative while recovering, or without a sign
    /// beside a signed `electrical_power`.
    pub power_factor: Option<Given<SignedRatio>>,
    /// Frequency of the fundamental; `0 Hz` is standstill.
    pub frequency: Option<Given<Frequency>>,
}
