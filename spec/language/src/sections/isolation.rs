//! Parts of the circuit that must stay isolated, and what isolates them.

use indexmap::IndexMap;
use loadworthy_physics::{Capacitance, Current, Frequency, Length, Resistance, SlewRate, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, PeakVoltage, RmsVoltage};

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
    /// What it is; a circuit unless said otherwise, or metal where `bonded` is stated.
    pub kind: Option<Located<DomainKind>>,
    /// How its direct voltage lies to the chassis; floating unless said otherwise.
    pub earthing: Option<Located<Earthing>>,
    /// `true` where a person can touch it.
    pub touchable: Option<Located<bool>>,
    /// `true` where it is bonded to the chassis.
    pub bonded: Option<Located<bool>>,
    /// `true` where the way of its bonding is stated and kept: a circuit whose minus is bonded as well.
    pub bonding_route: Option<Located<bool>>,
    /// Resistance of its bonding to the chassis, e.g. `20 mohm`.
    pub bonding_resistance: Option<Given<Resistance>>,
    /// Impulse voltage that its insulation must withstand, e.g. `2500 V`. A battery circuit has none of its own.
    pub impulse: Option<Given<Voltage>>,
    /// The mains that it is joined to while it is charged.
    pub mains: Option<Mains>,
    /// Isolation resistance of this unit between the domain and the chassis, at its lowest.
    pub isolation_resistance: Option<Given<Resistance>>,
    /// Isolation resistances of what else hangs on the domain: pack, machines, cables.
    pub beside: Option<Located<Vec<Given<Resistance>>>>,
    /// Capacitance to the chassis of what else hangs on the domain: cables, windings.
    pub stray_capacitance: Option<Given<Capacitance>>,
}

/// What a domain is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum DomainKind {
    /// A circuit.
    Circuit,
    /// Metal that carries no current: the chassis, a housing.
    Metal,
    /// A touchable surface of plastic.
    Surface,
}

/// How a direct voltage lies to the chassis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Earthing {
    /// Neither rail is joined to it; a first earth fault may last.
    Floating,
    /// The negative rail is joined to it.
    NegativeRail,
    /// The middle between the rails is joined to it.
    Midpoint,
}

/// The mains that a circuit is joined to while it is charged.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mains {
    /// Voltage from line to neutral, e.g. `230 V rms`.
    pub line_to_neutral: Option<Given<RmsVoltage>>,
    /// Overvoltage category as in IEC 60664-1.
    pub overvoltage_category: Option<Located<OvervoltageCategory>>,
}

/// Overvoltage categories as in IEC 60664-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum OvervoltageCategory {
    /// Held low by means of its own.
    I,
    /// Fed from the installation by a plug.
    II,
    /// Part of the installation.
    III,
    /// At its origin.
    IV,
}

/// What isolates two domains.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Barrier {
    /// The two domains; a switch position, such as `traction_bridge.high_side.u`, stands for the circuit of its gate.
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
    /// `true` where both distances lie on a printed board.
    pub printed: Option<Located<bool>>,
    /// Pollution degree at the barrier itself, where a housing or a coating makes it another than that of the surroundings.
    #[schemars(range(min = 1, max = 4))]
    pub pollution_degree: Option<Located<u8>>,
    /// Voltage that it is made for: the rms one, for good.
    pub working_voltage: Option<Given<RmsVoltage>>,
    /// Peak that may recur across it, e.g. `1000 V peak`.
    pub recurring_peak: Option<Given<PeakVoltage>>,
    /// Up to which frequency of recurring voltages its distances and its solid insulation are proven, by IEC 60664-4 or by
    /// test; asked for above 30 kHz.
    pub frequency: Option<Given<Frequency>>,
    /// Impulse voltage that it stands.
    pub impulse: Option<Given<Voltage>>,
    /// Steepest edge across it that disturbs nothing, where what spans it does not state its own.
    pub transient_immunity: Option<Given<SlewRate>>,
    /// Largest current that an edge may drive through the capacitance of one thing across it without disturbing that, where it
    /// states neither edge nor current of its own.
    pub immunity_current: Option<Given<Current>>,
    /// Capacitance across it, where what spans it does not state its own.
    pub coupling: Option<Given<Capacitance>>,
    /// What lies across it, by name: drivers, gate supplies or their transformers, magnetic components, sensors, signals, stages
    /// whose devices stand on cooled metal, and discharges of buses as `link.discharge`. A choke or a transformer on cooled metal is
    /// listed there by its own name.
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
