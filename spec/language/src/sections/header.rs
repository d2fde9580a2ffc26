//! What the unit is called, and the surroundings it works in.

use loadworthy_physics::{Length, Temperature};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// Names the unit that the file describes.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// Name of the unit, as it should stand in reviews and reports.
    pub name: Option<Located<String>>,
    /// Revision of the concept.
    pub revision: Option<Located<String>>,
    /// What a reader should know first: what the unit drives, from what, through which stages.
    pub note: Option<Located<String>>,
}

/// The air and the height that the unit works in.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Surroundings {
    /// Temperature of the air inside the housing, which bars and capacitors see, e.g. `75 degC`.
    pub inside_air: Option<Given<Temperature>>,
    /// Lowest temperature that the unit is left or started in, e.g. `-30 degC`.
    pub coldest: Option<Given<Temperature>>,
    /// Highest altitude above sea level, e.g. `2000 m`.
    pub altitude: Option<Given<Length>>,
    /// What the unit is built into; it decides which limits of isolation and residual voltage hold.
    pub application: Option<Located<Application>>,
    /// Pollution degree 1 to 4 as in IEC 60664-1.
    #[schemars(range(min = 1, max = 4))]
    pub pollution_degree: Option<Located<u8>>,
}

/// What a unit is built into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Application {
    /// A vehicle on roads.
    Road,
    /// A machine that works off roads.
    MobileMachinery,
    /// A plant or a machine that stands.
    Industrial,
    /// A vessel.
    Marine,
}
