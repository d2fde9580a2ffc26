//! What feeds the unit.

use loadworthy_physics::{Current, Resistance, Time, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// A source of power, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Source", tag = "kind")]
pub enum Source {
    /// A traction battery: an open-circuit voltage behind a resistance.
    Battery(Battery),
}

/// A traction battery: an open-circuit voltage behind a resistance.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Battery {
    /// The bus that its terminals feed.
    pub bus: Option<Located<String>>,
    /// Open-circuit voltage over the whole state of charge.
    pub open_circuit: Option<VoltageSpan>,
    /// Internal resistance between its terminals; the highest decides sag and rise.
    pub internal_resistance: Option<ResistanceSpan>,
    /// What it may give. Read now; `source-limits` will judge it.
    pub discharge: Option<BatteryLimit>,
    /// What it may take back. Read now; `source-limits` will judge it.
    pub charge: Option<BatteryLimit>,
}

/// Lowest, nominal and highest voltage.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VoltageSpan {
    /// Lowest voltage in service.
    pub lowest: Option<Given<Voltage>>,
    /// Nominal voltage.
    pub nominal: Option<Given<Voltage>>,
    /// Highest voltage in service.
    pub highest: Option<Given<Voltage>>,
}

/// Lowest and highest resistance.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResistanceSpan {
    /// Lowest resistance: warm, new.
    pub lowest: Option<Given<Resistance>>,
    /// Highest resistance: cold, aged.
    pub highest: Option<Given<Resistance>>,
}

/// A current that a battery stands for good, and higher ones for a while.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BatteryLimit {
    /// Current it stands for good.
    pub continuous: Option<Given<Current>>,
    /// Higher currents for a while.
    pub peaks: Option<Vec<CurrentPeak>>,
}

/// A current and how long it may last.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentPeak {
    /// The current.
    pub current: Given<Current>,
    /// How long it may last.
    pub lasts: Given<Time>,
}
