//! Converters, by their topology.

use loadworthy_physics::{Current, Frequency, Inductance, Time};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Angle, Given, Ratio};

/// A converter, by its topology.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=topology", rename_all = "snake_case")]
#[schemars(rename = "Stage", tag = "topology")]
pub enum Stage {
    /// A two-level three-phase bridge between a bus and a machine.
    ThreePhaseBridge(ThreePhaseBridge),
    /// A half bridge with a choke between a low and a high bus, in one leg or several interleaved ones; power flows
    /// both ways.
    Boost(Boost),
    /// A step-down stage without isolation, in one leg or several interleaved ones.
    Buck(Buck),
    /// An isolated step-down stage: a full bridge with phase shift, a transformer, a rectifier.
    PhaseShiftedFullBridge(PhaseShiftedFullBridge),
    /// An isolated step-down stage: a forward converter whose transformer is reset by an active clamp.
    ActiveClampForward(ActiveClampForward),
}

/// A two-level three-phase bridge between a bus and a machine.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePhaseBridge {
    /// The bus that feeds it.
    pub dc_bus: Option<Located<String>>,
    /// The machine that it feeds.
    pub feeds: Option<Located<String>>,
    /// How the three references are formed; it decides the linear voltage limit.
    pub modulation: Option<Located<ModulationKind>>,
    /// Whether a duty point may ask for more voltage than linear modulation gives.
    pub overmodulation: Option<Located<Overmodulation>>,
    /// What its gates do after a fault while the machine still turns; a review asks what that takes.
    pub on_fault: Option<Located<OnFault>>,
    /// Share of the linear limit at which the field is weakened where a duty point states torque and speed.
    pub field_weakening: Option<Given<Ratio>>,
    /// The carrier that the references are compared with.
    pub carrier: Option<Carrier>,
    /// Time between the turn-off of one switch of a leg and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// Crest of the phase current at which the bridge is switched off: its switches must turn it off as well.
    pub trip: Option<Given<Current>>,
    /// What reads its phase currents, and how sure and how late the trip is.
    pub current_sensing: Option<CurrentSensing>,
    /// The switch positions of each leg.
    pub switches: Option<LegSwitches>,
    /// What commands its gates, an entry of `controllers`.
    pub controller: Option<Located<String>>,
    /// Stages that must not fail together with it.
    pub independent_of: Option<Located<Vec<Located<String>>>>,
}

/// What reads the currents of a stage, and what that adds to its trip.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentSensing {
    /// Largest current that it reads, to either side.
    pub range: Option<Given<Current>>,
    /// How far the trip lies apart from unit to unit and over temperature, to either side; 5 % unless said otherwise.
    pub trip_tolerance: Option<Given<Ratio>>,
    /// Time from the level of the trip until the current falls: filter, comparator, decision and turn-off together. The
    /// current goes on rising meanwhile.
    pub trip_delay: Option<Given<Time>>,
    /// Inductance that holds back the fault which the trip is for; that of one phase of the machine, or of the choke, unless
    /// said otherwise.
    pub fault_inductance: Option<Given<Inductance>>,
}

/// What the gates of a bridge do after a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum OnFault {
    /// All six stay off; the machine feeds its bus through the diodes wherever its voltage is the higher one.
    GatesOff,
    /// All high sides or all low sides stay on and short the phases of the machine.
    ThreePhaseShort,
}

/// How the references of a bridge are formed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ModulationKind {
    /// Plain sine references; linear up to a modulation index of 1.
    Sinusoidal,
    /// Sine with a third harmonic of one sixth; linear up to 1.155.
    ThirdHarmonic,
    /// Symmetrical space-vector modulation; linear up to 1.155.
    SpaceVector,
}

/// Whether a bridge may leave the linear range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Overmodulation {
    /// Routine at high speed: a duty point there is a minor finding.
    Permitted,
    /// Not wanted: a duty point there is a major finding.
    Excluded,
}

/// The carrier of a pulse-width modulator.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Carrier {
    /// Carrier frequency, which is the switching frequency of each position.
    pub frequency: Option<Given<Frequency>>,
    /// The stage whose carrier it follows; its ripple then adds to that of the other instead of beating with it.
    pub synchronised_with: Option<Located<String>>,
    /// How far it lags behind that carrier; the worst is taken where it is not stated, and where one of the two is no bridge.
    pub shift: Option<Given<Angle>>,
}

/// The two switch positions of each leg.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegSwitches {
    /// From the positive rail to the middle of the leg.
    pub high_side: Option<SwitchPosition>,
    /// From the middle of the leg to the negative rail.
    pub low_side: Option<SwitchPosition>,
}

/// A half bridge with a choke between a low and a high bus.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Boost {
    /// The bus at the choke.
    pub low_bus: Option<Located<String>>,
    /// The bus at the switches.
    pub high_bus: Option<Located<String>>,
    /// Interleaved legs; 1 unless said otherwise.
    #[schemars(range(min = 1, max = 32))]
    pub legs: Option<Located<u32>>,
    /// Share by which the current of one leg may stand above the mean of all; none unless said otherwise. Its currents
    /// and junctions are held against ratings, trip and limits, and its choke against flux and heat.
    pub leg_imbalance: Option<Given<Ratio>>,
    /// The choke of each leg, an entry of `magnetics`.
    pub inductor: Option<Located<String>>,
    /// The carrier; the legs follow one another evenly.
    pub carrier: Option<Carrier>,
    /// Time between the turn-off of one switch of a leg and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// What reads the currents of its chokes, and how sure and how late the trip of a choke is.
    pub current_sensing: Option<CurrentSensing>,
    /// The switch positions of each leg. A device with a diode alone at the high side passes power upwards only.
    pub switches: Option<LegSwitches>,
    /// What commands its gates, an entry of `controllers`.
    pub controller: Option<Located<String>>,
    /// Stages that must not fail together with it.
    pub independent_of: Option<Located<Vec<Located<String>>>>,
}

/// A step-down stage without isolation.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Buck {
    /// The bus that feeds it.
    pub from: Option<Located<String>>,
    /// The bus that it feeds, at the choke.
    pub to: Option<Located<String>>,
    /// Interleaved legs; 1 unless said otherwise.
    #[schemars(range(min = 1, max = 32))]
    pub legs: Option<Located<u32>>,
    /// Share by which the current of one leg may stand above the mean of all; none unless said otherwise. Its currents
    /// and junctions are held against ratings, trip and limits, and its choke against flux and heat.
    pub leg_imbalance: Option<Given<Ratio>>,
    /// The choke of each leg, an entry of `magnetics`.
    pub inductor: Option<Located<String>>,
    /// The carrier; the legs follow one another evenly.
    pub carrier: Option<Carrier>,
    /// Time between the turn-off of one switch of a leg and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// What reads the currents of its chokes, and how sure and how late the trip of a choke is.
    pub current_sensing: Option<CurrentSensing>,
    /// The switch positions of each leg. A device with a diode alone at the low side is not switched.
    pub switches: Option<LegSwitches>,
    /// What commands its gates, an entry of `controllers`.
    pub controller: Option<Located<String>>,
    /// Stages that must not fail together with it.
    pub independent_of: Option<Located<Vec<Located<String>>>>,
}

/// A full bridge with phase shift, a transformer and a rectifier.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhaseShiftedFullBridge {
    /// The bus that feeds it.
    pub from: Option<Located<String>>,
    /// The bus that it feeds.
    pub to: Option<Located<String>>,
    /// The circuit of its secondary. It must be stated: it decides everything behind the transformer.
    #[schemars(required)]
    pub rectifier: Option<Located<RectifierCircuit>>,
    /// The lead that the rectifier stands in; the return unless said otherwise, which gives its gates the potential of
    /// the bus that it feeds.
    pub rectifier_lead: Option<Located<RectifierLead>>,
    /// How far ringing lifts the voltage of the rectifiers above its plateau, with the clamp or snubber that is fitted, e.g.
    /// `30 %`; 100 %, which is undamped, unless said otherwise.
    pub rectifier_overshoot: Option<Given<Ratio>>,
    /// The transformer, an entry of `magnetics`.
    pub transformer: Option<Located<String>>,
    /// The output choke, an entry of `magnetics`; of a current doubler each of its two.
    pub output_inductor: Option<Located<String>>,
    /// Of a current doubler: share by which the direct current of one choke may stand above half of the load; 5 % unless said otherwise. Nothing
    /// but the resistances of both ways divides it. Its choke is held against flux and heat.
    pub choke_imbalance: Option<Given<Ratio>>,
    /// The carrier.
    pub carrier: Option<Carrier>,
    /// Time between the turn-off of one switch of a leg and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// Its switch positions.
    pub switches: Option<FullBridgeSwitches>,
    /// What commands its gates, an entry of `controllers`.
    pub controller: Option<Located<String>>,
    /// Stages that must not fail together with it.
    pub independent_of: Option<Located<Vec<Located<String>>>>,
}

/// Switch positions of a full bridge with its rectifier.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FullBridgeSwitches {
    /// The two high sides of the bridge.
    pub bridge_high: Option<SwitchPosition>,
    /// The two low sides of the bridge.
    pub bridge_low: Option<SwitchPosition>,
    /// The two rectifiers; a device with a diode alone is not switched.
    pub rectifier: Option<SwitchPosition>,
}

/// The circuit of a secondary with two rectifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum RectifierCircuit {
    /// Two half windings and one output choke.
    CentreTap,
    /// One winding and two output chokes.
    CurrentDoubler,
}

/// The lead of a secondary that its rectifiers stand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum RectifierLead {
    /// In the return: their sources lie on the negative rail of the output.
    Return,
    /// In the positive lead: each floats on a node of its own.
    Positive,
}

/// A forward converter with an active clamp.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ActiveClampForward {
    /// The bus that feeds it.
    pub from: Option<Located<String>>,
    /// The bus that it feeds.
    pub to: Option<Located<String>>,
    /// How the clamp switch is tied.
    pub clamp: Option<Located<ClampSide>>,
    /// The lead that the rectifiers stand in; the return unless said otherwise.
    pub rectifier_lead: Option<Located<RectifierLead>>,
    /// How far ringing lifts the voltage of the rectifiers above its plateau, with the clamp or snubber that is fitted, e.g.
    /// `30 %`; 100 %, which is undamped, unless said otherwise.
    pub rectifier_overshoot: Option<Given<Ratio>>,
    /// The transformer, an entry of `magnetics`.
    pub transformer: Option<Located<String>>,
    /// The output choke, an entry of `magnetics`.
    pub output_inductor: Option<Located<String>>,
    /// The carrier.
    pub carrier: Option<Carrier>,
    /// Largest share of the period that the main switch may conduct; 0.65 unless said otherwise.
    pub largest_duty: Option<Given<Ratio>>,
    /// Time between the turn-off of one primary switch and the turn-on of the other.
    pub dead_time: Option<Given<Time>>,
    /// Its switch positions.
    pub switches: Option<ForwardSwitches>,
    /// What commands its gates, an entry of `controllers`.
    pub controller: Option<Located<String>>,
    /// Stages that must not fail together with it.
    pub independent_of: Option<Located<Vec<Located<String>>>>,
}

/// How the clamp switch of a forward converter is tied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ClampSide {
    /// Its source lies on the drain of the main switch and floats.
    HighSide,
    /// A p-channel device whose source lies on the negative rail.
    LowSide,
}

/// Switch positions of a forward converter.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ForwardSwitches {
    /// The main switch.
    pub main: Option<SwitchPosition>,
    /// The clamp switch.
    pub clamp: Option<SwitchPosition>,
    /// The rectifier that conducts while the main switch does.
    pub forward: Option<SwitchPosition>,
    /// The rectifier that conducts while it does not.
    pub freewheel: Option<SwitchPosition>,
}

/// One place of a topology and the device fitted there.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwitchPosition {
    /// The device fitted, an entry of `devices`.
    pub fitted: Option<Located<String>>,
    /// How many devices stand in parallel, counted as bought; 1 unless said otherwise. A half-bridge module
    /// fitted to both positions of a leg is one device and serves both.
    #[schemars(range(min = 1, max = 64))]
    pub parallel: Option<Located<u32>>,
}
