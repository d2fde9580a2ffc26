//! Converters, by their topology.

use loadworthy_physics::{Frequency, Time};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// A converter, by its topology.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=topology", rename_all = "snake_case")]
#[schemars(rename = "Stage", tag = "topology")]
pub enum Stage {
    /// A two-level three-phase bridge between a bus and a machine.
    ThreePhaseBridge(ThreePhaseBridge),
}

/// A two-level three-phase bridge between a bus and a machine.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePhaseBridge {
    /// The bus that feeds it.
    pub dc_bus: Option<Located<String>>,
    /// The machine that it feeds.
    pub feeds: Option<Located<String>>,
    /// How the three references are formed; it decides the linear voltage limit.
    pub modulation: Option<Located<ModulationKind>>,
    /// Whether a duty point may ask for more voltage than linear modulation gives.
    pub overmodulation: Option<Located<Overmodulation>>,
    /// The carrier that the references are compared with.
    pub carrier: Option<Carrier>,
    /// Time between the turn-off of one switch of a leg and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// The switch positions of each leg.
    pub switches: Option<BridgeSwitches>,
}

/// How the references of a bridge are formed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ModulationKind {
    /// Plain sine references; linear up to a modulation index of 1.
    Sinusoidal,
    /// Sine with a third harmonic of one sixth; linear up to 1.155.
    ThirdHarmonic,
    /// Symmetrical space-vector modulation; linear up to 1.155.
    SpaceVector,
}

/// Whether a bridge may leave the linear range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Overmodulation {
    /// Routine at high speed: a duty point there is a minor finding.
    Permitted,
    /// Not wanted: a duty point there is a major finding.
    Excluded,
}

/// The carrier of a pulse-width modulator.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Carrier {
    /// Carrier frequency, which is the switching frequency of each position.
    pub frequency: Option<Given<Frequency>>,
}

/// The two switch positions of each leg of a bridge.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BridgeSwitches {
    /// From the positive rail to the phase.
    pub high_side: Option<SwitchPosition>,
    /// From the phase to the negative rail.
    pub low_side: Option<SwitchPosition>,
}

/// One place of a topology and the device fitted there.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwitchPosition {
    /// The device fitted, an entry of `devices`.
    pub fitted: Option<Located<String>>,
    /// How many devices stand in parallel, counted as bought; 1 unless said otherwise. A half-bridge module
    /// fitted to both positions of a leg is one device and serves both.
    #[schemars(range(min = 1, max = 64))]
    pub parallel: Option<Located<u32>>,
}
