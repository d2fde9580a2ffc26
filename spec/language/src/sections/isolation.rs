//! Parts of the circuit that must stay isolated, and what isolates them. Read now; no check judges them yet.

use indexmap::IndexMap;
use loadworthy_physics::{Length, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// Domains and the barriers between them.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Isolation {
    /// Parts of the circuit whose potentials belong together.
    pub domains: Option<IndexMap<String, Domain>>,
    /// What isolates two domains from one another.
    pub barriers: Option<IndexMap<String, Barrier>>,
}

/// Part of the circuit whose potentials belong together.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Domain {
    /// `true` where a person can touch it.
    pub touchable: Option<Located<bool>>,
    /// `true` where it is bonded to the chassis.
    pub bonded: Option<Located<bool>>,
    /// Impulse voltage that its insulation must withstand, e.g. `2500 V`.
    pub impulse: Option<Given<Voltage>>,
}

/// What isolates two domains.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Barrier {
    /// The two domains.
    #[schemars(length(equal = 2))]
    pub between: Option<Located<Vec<Located<String>>>>,
    /// Its kind as in IEC 60664-1.
    pub kind: Option<Located<BarrierKind>>,
    /// Shortest distance through air.
    pub clearance: Option<Given<Length>>,
    /// Shortest distance along a surface.
    pub creepage: Option<Given<Length>>,
    /// Material group of that surface as in IEC 60664-1.
    pub material_group: Option<Located<MaterialGroup>>,
    /// What lies across it, by name: drivers, transformers, sensors.
    pub spanned_by: Option<Located<Vec<Located<String>>>>,
}

/// Kinds of insulation as in IEC 60664-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum BarrierKind {
    /// Needed only for the circuit to work.
    Functional,
    /// One means of protection.
    Basic,
    /// A second one behind a basic one.
    Supplementary,
    /// Basic and supplementary.
    Double,
    /// One that protects like double.
    Reinforced,
}

/// Groups of insulating materials by comparative tracking index, as in IEC 60664-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum MaterialGroup {
    /// 600 and above.
    I,
    /// 400 to below 600.
    II,
    /// 175 to below 400.
    #[serde(rename = "IIIa")]
    IIIa,
    /// 100 to below 175.
    #[serde(rename = "IIIb")]
    IIIb,
}
