//! Chokes and transformers.

use loadworthy_physics::{Area, Inductance, Power, Resistance, Temperature};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{FluxDensity, Given, Ratio};

/// A magnetic component, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Magnetic", tag = "kind")]
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
    /// Tolerance of the inductance. Read now; no check judges it yet.
    pub tolerance: Option<Given<Ratio>>,
    /// Turns. Read now; no check judges it yet.
    #[schemars(range(min = 1, max = 100_000))]
    pub turns: Option<Located<u32>>,
    /// Its core.
    pub core: Option<Core>,
    /// Its winding.
    pub winding: Option<Winding>,
}

/// A transformer of an isolated stage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Transformer {
    /// Turns of the primary over those of the secondary; with a centre tap over those of one half.
    pub turns_ratio: Option<Located<f64>>,
    /// Turns of the primary. Read now; no check judges it yet.
    #[schemars(range(min = 1, max = 100_000))]
    pub primary_turns: Option<Located<u32>>,
    /// Magnetising inductance, seen from the primary.
    pub magnetising_inductance: Option<Given<Inductance>>,
    /// Leakage inductance, seen from the primary.
    pub leakage_inductance: Option<Given<Inductance>>,
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
    /// Section that the flux passes. Read now; no check judges it yet.
    pub area: Option<Given<Area>>,
    /// Flux density at which it saturates. Read now; no check judges it yet.
    pub saturation: Option<Saturation>,
    /// What it loses in service, where that is known; core loss is not computed yet.
    pub loss: Option<Given<Power>>,
}

/// Flux density at which a core saturates, and the temperature that it is stated for.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Saturation {
    /// Flux density.
    pub flux_density: Option<Given<FluxDensity>>,
    /// Temperature of the core.
    pub at: Option<Given<Temperature>>,
}

/// A winding.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Winding {
    /// Section of its copper. Read now; no check judges it yet.
    pub area: Option<Given<Area>>,
    /// Resistance at its temperature of service, skin effect left out.
    pub resistance: Option<Given<Resistance>>,
    /// Highest temperature of its insulation. Read now; no check judges it yet.
    pub hottest: Option<Given<Temperature>>,
    /// RMS current that it stands, where that is known without a calculation.
    pub current: Option<super::conductors::ConductorCurrent>,
}
