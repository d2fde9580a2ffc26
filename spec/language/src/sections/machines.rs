//! What the stages feed.

use loadworthy_physics::{Inductance, Resistance, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{FluxLinkage, Given, PeakVoltage, Ratio, RmsCurrent, Speed, Torque};

/// An electric machine, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Machine", tag = "kind")]
pub enum Machine {
    /// A permanent-magnet synchronous machine.
    PermanentMagnet(PermanentMagnet),
    /// An induction machine. Duty points state what flows at its terminals.
    Induction(Induction),
}

/// A permanent-magnet synchronous machine. With its constants, duty points may state torque and speed; without, they
/// state what flows at its terminals.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PermanentMagnet {
    /// Pairs of poles: electrical turns for each turn of the shaft.
    #[schemars(range(min = 1, max = 200))]
    pub pole_pairs: Option<Located<u32>>,
    /// Crest of the magnet flux that links one phase; it sets the voltage of a turning machine without current.
    pub flux_linkage: Option<Given<FluxLinkage>>,
    /// Resistance of one phase; it sets the voltage at standstill.
    pub phase_resistance: Option<Given<Resistance>>,
    /// Inductance of one phase at the carrier frequency; it sets the current ripple, and with torque and speed the voltage.
    pub inductance: Option<DirectQuadrature>,
    /// Highest speed; it decides what the turning machine does to its bus with all gates off, and shorted.
    pub highest_speed: Option<Given<Speed>>,
    /// Current against the magnets that they stand at their highest temperature, e.g. `900 A peak`; a short of all
    /// phases must stay below it.
    pub demagnetising_current: Option<Given<RmsCurrent>>,
    /// Torque that shaft and gear stand; a short of all phases must brake with less.
    pub highest_torque: Option<Given<Torque>>,
    /// Recurring peak between a terminal and its frame that its windings are made for, e.g. by IEC 60034-18-41; the bus with what
    /// turning off adds, and what reflections along the cable add, is held against it.
    pub recurring_peak: Option<Given<PeakVoltage>>,
    /// How far reflections along its cable lift each edge at its terminals, as a share of the bus voltage; none unless said
    /// otherwise, as with a cable that is much shorter than an edge.
    pub terminal_overshoot: Option<Given<Ratio>>,
}

/// An induction machine.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Induction {
    /// Resistance of one phase of the stator; it sets the voltage at standstill.
    pub phase_resistance: Option<Given<Resistance>>,
    /// Leakage inductance of one phase, stator and rotor together; it sets the current ripple.
    pub leakage_inductance: Option<Given<Inductance>>,
    /// Recurring peak between a terminal and its frame that its windings are made for, e.g. by IEC 60034-18-41; the bus with what
    /// turning off adds, and what reflections along the cable add, is held against it.
    pub recurring_peak: Option<Given<PeakVoltage>>,
    /// How far reflections along its cable lift each edge at its terminals, as a share of the bus voltage; none unless said
    /// otherwise, as with a cable that is much shorter than an edge.
    pub terminal_overshoot: Option<Given<Ratio>>,
}

/// Inductance along the two axes of the rotor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DirectQuadrature {
    /// Along the magnet flux.
    pub d: Option<Given<Inductance>>,
    /// Across the magnet flux.
    pub q: Option<Given<Inductance>>,
}

/// A load that takes direct current from a bus.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// The bus that feeds it, where no branch of conductors leads there.
    pub bus: Option<Located<String>>,
    /// Lowest voltage at which it works, at its own terminals.
    pub lowest: Option<Given<Voltage>>,
}

impl Machine {
    /// The recurring peak that its windings are made for, and how far reflections lift an edge.
    #[must_use]
    pub const fn winding_insulation(&self) -> (Option<&Given<PeakVoltage>>, Option<&Given<Ratio>>) {
        match self {
            Self::PermanentMagnet(one) => (one.recurring_peak.as_ref(), one.terminal_overshoot.as_ref()),
            Self::Induction(one) => (one.recurring_peak.as_ref(), one.terminal_overshoot.as_ref()),
        }
    }
}
