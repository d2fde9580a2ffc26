//! The nodes that carry direct voltage between sources, stages and loads.

use loadworthy_physics::Voltage;
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// A direct-voltage bus.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bus {
    /// The isolation domain it belongs to, e.g. `traction`. Read now; no check judges it yet.
    pub domain: Option<Located<String>>,
    /// Name of its negative rail; buses that name one rail share its potential. Read now; no check judges it yet.
    pub negative_rail: Option<Located<String>>,
    /// Nominal voltage. Read now; no check judges it yet.
    pub nominal: Option<Given<Voltage>>,
    /// Highest voltage it may reach, trip level included. Read now; no check judges it yet.
    pub highest: Option<Given<Voltage>>,
}
