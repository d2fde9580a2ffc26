//! The coolant, its flow and the places it visits.

use indexmap::IndexMap;
use loadworthy_physics::{ThermalResistance, VolumeFlow};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Ratio};

/// The coolant loop.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cooling {
    /// What flows.
    pub coolant: Option<CoolantKind>,
    /// What makes it flow.
    pub pump: Option<Pump>,
    /// Names of `elements`, in the order of flow.
    pub path: Option<Located<Vec<Located<String>>>>,
    /// The places along the path.
    pub elements: Option<IndexMap<String, CoolantElement>>,
}

/// A coolant, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "CoolantKind", tag = "kind")]
pub enum CoolantKind {
    /// Ethylene glycol and water; properties are known for 50 % by volume.
    WaterGlycol(WaterGlycol),
    /// Water.
    Water(Water),
}

/// Ethylene glycol and water.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WaterGlycol {
    /// Share of glycol by volume. Only `50 %` is known.
    pub glycol: Option<Given<Ratio>>,
}

/// Water.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Water {}

/// What makes the coolant flow.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// Volume flow at the inlet, e.g. `8 L/min`.
    pub flow: Option<Given<VolumeFlow>>,
}

/// One place along the coolant path: a plate, a stack of modules, a pipe.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoolantElement {
    /// The stages whose devices it cools, by name.
    pub cools: Option<IndexMap<String, CooledFaces>>,
    /// A resistance that the heat of everything on this element passes together, e.g. that of a plate.
    pub resistance: Option<PlateResistance>,
    /// The coolant temperature that the resistances of this element are referred to; the outlet of the
    /// element unless said otherwise, which is the cautious side.
    pub referred_to: Option<Located<CoolantReference>>,
}

/// The faces of a stage's packages that an element cools: from the case of one package to the coolant, or to
/// the plate where the element states a resistance of its own.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CooledFaces {
    /// Case to coolant through the first face of each package, interface included.
    pub face_a: Option<Given<ThermalResistance>>,
    /// Case to coolant through the second face, for packages with two cooled faces.
    pub face_b: Option<Given<ThermalResistance>>,
}

/// A resistance to the coolant at a stated flow.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlateResistance {
    /// Plate to coolant.
    pub value: Given<ThermalResistance>,
    /// The flow it was measured at; less flow raises it.
    pub flow: Option<Given<VolumeFlow>>,
}

/// The place on an element whose coolant temperature a resistance is referred to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum CoolantReference {
    /// Coolant entering the element.
    Inlet,
    /// Mean of entering and leaving coolant.
    Mean,
    /// Coolant leaving the element.
    Outlet,
}
