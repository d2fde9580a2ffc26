//! Missions: duty points one after another.

use loadworthy_physics::Time;
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// A sequence of duty points, followed from one to the next: its steps, or a file of rows.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mission {
    /// Duty points one after another.
    pub steps: Option<Located<Vec<MissionStep>>>,
    /// A file of comma-separated rows beside the description, never outside its folder. Each column is headed by a path of
    /// a duty point with the unit in brackets, e.g. `lasts [s],loads.traction_motor.torque [N m],coolant.inlet [degC]`; a
    /// column `duty` names the duty point that its row takes the rest from.
    pub file: Option<Located<String>>,
    /// The duty point that rows take what they do not state from, where no column says so.
    pub duty: Option<Located<String>>,
    /// The duty point that went before, long enough to settle. Without it everything begins settled in the first step.
    pub starts_from: Option<Located<String>>,
}

/// One step of a mission.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MissionStep {
    /// The duty point.
    pub duty: Located<String>,
    /// How long it lasts here.
    pub lasts: Given<Time>,
}
