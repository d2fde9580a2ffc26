//! The coolant, its flow and the places it visits.

use indexmap::IndexMap;
use loadworthy_physics::{HeatCapacity, Length, Pressure, ThermalResistance, VolumeFlow};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Points, Ratio};

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
    /// Volume flow at the inlet, e.g. `8 L/min`, where the pump holds it.
    pub flow: Option<Given<VolumeFlow>>,
    /// Pressure against flow, where the flow follows from the pressure drops of the path.
    pub curve: Option<PumpCurve>,
}

/// Pressure that a pump gives against its flow.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PumpCurve {
    /// Flows, rising from zero; three or more.
    pub flow: Points<VolumeFlow>,
    /// The pressure at each flow, falling.
    pub pressure: Points<Pressure>,
}

/// One place along the coolant path: a plate, a stack of modules, a pipe.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoolantElement {
    /// What it cools: stages, whose devices stand on it, single switch positions such as `auxiliary.rectifier`, and
    /// entries of `magnetics`.
    #[schemars(transform = crate::schema::places)]
    pub cools: Option<IndexMap<String, CooledFaces>>,
    /// Branches that the flow divides into here, by name, each the elements it visits in order.
    pub split: Option<IndexMap<String, Vec<Located<String>>>>,
    /// What the flow loses in pressure here, at one flow or two.
    pub pressure_drop: Option<PressureDrop>,
    /// Heights of its passage above any datum. Read now; no check judges them yet.
    pub elevation: Option<Elevation>,
    /// `true` where it cannot be put elsewhere along the path.
    pub fixed: Option<Located<bool>>,
    /// `true` where air can leave here. Read now; no check judges it yet.
    pub vented: Option<Located<bool>>,
    /// A resistance that the heat of everything on this element passes together, e.g. that of a plate.
    pub resistance: Option<PlateResistance>,
    /// The coolant temperature that the resistances of this element are referred to; the outlet of the
    /// element unless said otherwise, which is the cautious side.
    pub referred_to: Option<Located<CoolantReference>>,
}

/// Heights of a passage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Elevation {
    /// Where the coolant enters.
    #[serde(rename = "in")]
    pub inlet: Option<Given<Length>>,
    /// Where it leaves.
    #[serde(rename = "out")]
    pub outlet: Option<Given<Length>>,
}

/// Pressure drop of a passage, at one flow or two.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PressureDrop {
    /// The flow that it was measured at, or two of them, rising.
    pub flow: Points<VolumeFlow>,
    /// The drop at each flow.
    pub pressure: Points<Pressure>,
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
    /// How many of the devices in parallel at each position stand here, where the others stand elsewhere.
    #[schemars(range(min = 1, max = 64))]
    pub devices: Option<Located<u32>>,
}

/// A resistance to the coolant at a stated flow.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlateResistance {
    /// Plate to coolant.
    pub value: Given<ThermalResistance>,
    /// The flow it was measured at; less flow raises it.
    pub flow: Option<Given<VolumeFlow>>,
    /// Heat that warms the plate, and what stands on it, by one kelvin. Short duty points that say what they start from
    /// are followed with it; without it the plate is taken to warm at once, which is the cautious side.
    pub heat_capacity: Option<Given<HeatCapacity>>,
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
