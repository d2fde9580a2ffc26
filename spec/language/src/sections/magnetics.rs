//! Chokes and transformers.

use loadworthy_physics::{
    Area, Current, Frequency, HeatCapacity, Inductance, Length, LossDensity, Power, Resistance, Temperature,
    TemperatureDifference, ThermalResistance, Volume,
};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{FluxDensity, Given, PerKelvin, Points, Ratio};

/// A magnetic component, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Magnetic", tag = "kind")]
#[expect(clippy::large_enum_variant, reason = "each stands by itself behind a pointer of its section")]
pub enum Magnetic {
    /// A choke with one winding.
    Choke(Choke),
    /// A transformer.
    Transformer(Transformer),
}

/// A choke with one winding.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Choke {
    /// Inductance at the current of service.
    pub inductance: Option<Given<Inductance>>,
    /// Tolerance of the inductance, that of gap and material together.
    pub tolerance: Option<Given<Ratio>>,
    /// How the inductance falls with the current, of a core that saturates softly.
    pub softening: Option<Softening>,
    /// Turns.
    #[schemars(range(min = 1, max = 100_000))]
    pub turns: Option<Located<u32>>,
    /// Current of the choke at which its stage is switched off, where one is set: the core must carry it as well.
    pub trip: Option<Given<Current>>,
    /// From its case to the air in the unit, where no coolant element cools it.
    pub to_air: Option<Given<ThermalResistance>>,
    /// Its core.
    pub core: Option<Core>,
    /// Its winding.
    pub winding: Option<Winding>,
}

/// Inductance for small changes of the current, at currents that rise from zero.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Softening {
    /// Currents, rising from zero; two or more.
    pub current: Points<Current>,
    /// The inductance at each of them, nowhere rising.
    pub inductance: Points<Inductance>,
}

/// A transformer of an isolated stage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Transformer {
    /// Turns of the primary over those of the secondary; with a centre tap over those of one half.
    pub turns_ratio: Option<Located<f64>>,
    /// Turns of the primary.
    #[schemars(range(min = 1, max = 100_000))]
    pub primary_turns: Option<Located<u32>>,
    /// Magnetising inductance, seen from the primary.
    pub magnetising_inductance: Option<Given<Inductance>>,
    /// Leakage inductance, seen from the primary.
    pub leakage_inductance: Option<Given<Inductance>>,
    /// Share of its crest by which the flux may stand off its middle in a full bridge, because half periods are never
    /// quite alike.
    pub flux_walking: Option<Given<Ratio>>,
    /// From its case to the air in the unit, where no coolant element cools it.
    pub to_air: Option<Given<ThermalResistance>>,
    /// Its core.
    pub core: Option<Core>,
    /// Its primary winding.
    pub primary: Option<Winding>,
    /// Its secondary winding; with a centre tap one half of it.
    pub secondary: Option<Winding>,
}

/// A core.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Core {
    /// Section that the flux passes, where it is narrowest.
    pub area: Option<Given<Area>>,
    /// Volume of its material, gap left out.
    pub volume: Option<Given<Volume>>,
    /// Flux density at which it saturates.
    pub saturation: Option<Saturation>,
    /// What its material loses under a sine; the loss in service is computed from it.
    pub steinmetz: Option<Steinmetz>,
    /// How the loss of its material grows with direct flux; without it that is left out.
    pub bias: Option<CoreBias>,
    /// What it loses in service, where that is known and not to be computed.
    pub loss: Option<Given<Power>>,
    /// From the core to the case of the component.
    pub to_case: Option<Given<ThermalResistance>>,
    /// Heat that it holds for each kelvin; from its volume where it is not stated.
    pub heat_capacity: Option<Given<HeatCapacity>>,
    /// Highest temperature of its material.
    pub hottest: Option<Given<Temperature>>,
}

/// Flux density at which a core saturates, at one temperature or several.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Saturation {
    /// Flux density at each temperature.
    pub flux_density: Option<Points<FluxDensity>>,
    /// Temperatures of the core, rising.
    pub at: Option<Points<Temperature>>,
    /// Share of it that is lost for each kelvin above, where one temperature is stated.
    pub fall: Option<Given<PerKelvin>>,
}

/// Loss of a core's material under a sine: one point of its data sheet, and how it grows.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Steinmetz {
    /// Loss density at the point, at the core's temperature in service.
    pub density: Option<Given<LossDensity>>,
    /// Frequency of the point.
    pub frequency: Option<Given<Frequency>>,
    /// Flux density of the point, crest of the sine.
    pub flux_density: Option<Given<FluxDensity>>,
    /// Power of the frequency that the loss grows with, usually 1.1 to 2.
    #[schemars(range(min = 1, max = 3))]
    pub frequency_exponent: Option<Located<f64>>,
    /// Power of the flux density that the loss grows with, usually 2 to 3.
    #[schemars(range(min = 1, max = 4))]
    pub flux_exponent: Option<Located<f64>>,
    /// Factor up to which frequency and flux density may lie beside the point.
    #[schemars(range(min = 1, max = 20))]
    pub reach: Option<Located<f64>>,
}

/// Loss of a core's material beside direct flux, over that of the same swing without any.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoreBias {
    /// Direct flux densities, rising from zero; two or more.
    pub flux_density: Points<FluxDensity>,
    /// The loss at each of them over that without direct flux, so `100 %` at the first, e.g. `[100 %, 130 %, 190 %]`.
    pub loss: Points<Ratio>,
}

/// A winding.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Winding {
    /// Section of its copper: with its resistance it says how much copper there is, and so how fast it warms.
    pub area: Option<Given<Area>>,
    /// Resistance for direct current.
    pub resistance: Option<Given<Resistance>>,
    /// Temperature that the resistance is stated for, usually 20 degC; without it the resistance is taken as that in
    /// service.
    pub at: Option<Given<Temperature>>,
    /// What it is wound of; without it skin effect and the fields of the layers are left out of its loss.
    pub conductor: Option<WindingConductor>,
    /// From the winding to the case of the component.
    pub to_case: Option<Given<ThermalResistance>>,
    /// Heat that it holds for each kelvin; from its `area` and resistance where it is not stated.
    pub heat_capacity: Option<Given<HeatCapacity>>,
    /// Kelvins by which its hottest place lies above its mean.
    pub hot_spot: Option<Given<TemperatureDifference>>,
    /// Highest temperature of its insulation.
    pub hottest: Option<Given<Temperature>>,
    /// RMS current that it stands, where that is known without a calculation.
    pub current: Option<super::conductors::ConductorCurrent>,
}

/// What a winding is wound of, by its kind. Layers are counted from where no field passes to where all of it does: in a
/// winding that lies in two halves around another one, those of one half.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "WindingConductor", tag = "kind")]
pub enum WindingConductor {
    /// Foil as wide as the window, or flat wire.
    Foil(WoundFoil),
    /// Round solid wire.
    Round(WoundWire),
    /// Twisted strands that are insulated from one another.
    Litz(WoundLitz),
}

/// Foil as wide as the window, or flat wire on edge.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WoundFoil {
    /// Thickness of one foil.
    pub thickness: Option<Given<Length>>,
    /// Layers.
    #[schemars(range(min = 1, max = 10_000))]
    pub layers: Option<Located<u32>>,
    /// Share of the window's breadth that a layer fills.
    pub filling: Option<Given<Ratio>>,
}

/// Round solid wire.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WoundWire {
    /// Diameter of the copper.
    pub diameter: Option<Given<Length>>,
    /// Layers.
    #[schemars(range(min = 1, max = 10_000))]
    pub layers: Option<Located<u32>>,
    /// Share of the window's breadth that a layer fills.
    pub filling: Option<Given<Ratio>>,
}

/// Twisted strands that are insulated from one another.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WoundLitz {
    /// Diameter of the copper of one strand.
    pub diameter: Option<Given<Length>>,
    /// Strands.
    #[schemars(range(min = 1, max = 100_000))]
    pub strands: Option<Located<u32>>,
    /// Layers.
    #[schemars(range(min = 1, max = 10_000))]
    pub layers: Option<Located<u32>>,
    /// Share of the window's breadth that a layer fills.
    pub filling: Option<Given<Ratio>>,
}
