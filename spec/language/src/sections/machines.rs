//! What the stages feed.

use loadworthy_physics::{Inductance, Resistance};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// An electric machine, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Machine", tag = "kind")]
pub enum Machine {
    /// A permanent-magnet synchronous machine.
    PermanentMagnet(PermanentMagnet),
}

/// A permanent-magnet synchronous machine. Duty points state what flows at its terminals.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PermanentMagnet {
    /// Resistance of one phase; it sets the voltage at standstill.
    pub phase_resistance: Option<Given<Resistance>>,
    /// Inductance of one phase at the carrier frequency; it sets the current ripple.
    pub inductance: Option<DirectQuadrature>,
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
    /// The bus that feeds it.
    pub bus: Option<Located<String>>,
}
