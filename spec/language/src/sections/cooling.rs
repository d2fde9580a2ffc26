//! The coolant, its flow and the places it visits.

use indexmap::IndexMap;
use loadworthy_physics::{
    Area, HeatCapacity, Length, Pressure, Temperature, TemperatureDifference, ThermalResistance, VolumeFlow,
};
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
    /// Lowest absolute pressure of the coolant where it leaves the unit, e.g. `150 kPa`; that of the air at the
    /// altitude of the surroundings unless said otherwise.
    pub absolute_pressure: Option<Given<Pressure>>,
    /// Kelvins that the coolant may warm on its whole way, and in each branch; `10 K` unless said otherwise.
    pub warming: Option<Given<TemperatureDifference>>,
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
    /// Ethylene glycol and water; properties are known from 30 to 60 % by volume.
    WaterGlycol(WaterGlycol),
    /// Water.
    Water(Water),
}

/// Ethylene glycol and water.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WaterGlycol {
    /// Share of glycol by volume, 30 to 60 %; `50 %` unless said otherwise.
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
    /// Heights of the highest wall of its passage above any datum, in the attitude that is worst for air.
    pub elevation: Option<Elevation>,
    /// Its passage, if it is round or can be taken as round.
    pub passage: Option<Passage>,
    /// The least flow that what stands here needs, as its data sheet says.
    pub least_flow: Option<Given<VolumeFlow>>,
    /// `true` where it cannot be put elsewhere along the path.
    pub fixed: Option<Located<bool>>,
    /// `true` where air can leave at its highest point.
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

/// Alike round passages side by side: a hose, a bored plate, channels by their hydraulic diameter.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Passage {
    /// Inner diameter, e.g. `12 mm`; of channels that are not round four times the section over the wetted edge.
    pub bore: Option<Given<Length>>,
    /// Length along the flow. With it the pressure drop is computed where none is stated.
    pub length: Option<Given<Length>>,
    /// How many stand side by side; one unless said otherwise.
    #[schemars(range(min = 1, max = 1000))]
    pub count: Option<Located<u32>>,
    /// Sum of the loss coefficients of its ends and bends; 1.5, two sharp ends, unless said otherwise.
    pub losses: Option<Located<f64>>,
    /// Area between wall and coolant that takes up the heat; that of the round wall unless said otherwise.
    pub wetted_area: Option<Given<Area>>,
    /// Largest heat flux into the coolant over the mean; 2 unless said otherwise, as heat enters below the chips.
    pub heat_concentration: Option<Located<f64>>,
}

/// Pressure drop of a passage, at one flow or two.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PressureDrop {
    /// Temperature of the coolant that it was measured at. With it the drop follows the viscosity; without it, it is
    /// taken as it is, and nothing is known of cold coolant.
    pub at: Option<Given<Temperature>>,
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
    /// Flow here that they were measured at; stated with it they grow as less flows, else they count as alike at any flow. Of an
    /// element with a `resistance` that one follows the flow, and what leads to it does not.
    pub flow: Option<Given<VolumeFlow>>,
    /// How far both resistances may lie off, to either side, as a share: an interface that is applied by hand by some 30 to 50 %. It
    /// is what `stress --tolerance` varies, and what everything else is judged by stays the stated value.
    pub tolerance: Option<Given<Ratio>>,
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
