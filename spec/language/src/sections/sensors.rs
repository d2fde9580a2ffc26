//! What the controllers measure, and what else joins two domains.

use loadworthy_physics::{Capacitance, Current, Resistance, SlewRate};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// Sensors of one kind, with what they measure and who reads them.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measurement {
    /// What they measure.
    pub measures: Option<Located<Measured>>,
    /// Of what, by name: `traction_bridge.u` the current of a phase, `step_up.1` that of a leg, a bus its voltage or current, a stage, a
    /// magnetic component, a coolant element or `cooling` a temperature, a machine its position.
    pub of: Option<Located<Vec<Located<String>>>>,
    /// The controllers that read them.
    pub read_by: Option<Located<Vec<Located<String>>>>,
    /// The domain that their measuring side stands in, where what they measure does not say it: that of a temperature sensor
    /// glued to a live tab.
    pub domain: Option<Located<String>>,
    /// The barrier that their signal passes, an entry of `isolation.barriers`.
    pub crosses: Option<Located<String>>,
    /// Steepest edge across them that does not disturb their signal.
    pub transient_immunity: Option<Given<SlewRate>>,
    /// Largest current that an edge may drive through the capacitance of one of them without disturbing its signal.
    pub immunity_current: Option<Given<Current>>,
    /// Capacitance across one of them.
    pub coupling: Option<Given<Capacitance>>,
    /// Resistance of a divider from a rail to the other side, which takes from the isolation resistance.
    pub resistance: Option<Given<Resistance>>,
    /// How many independent resistors in series make up that resistance. One insulates nothing; of two or more the others bound the
    /// current with any of them shorted.
    #[schemars(range(min = 1, max = 16))]
    pub resistors: Option<Located<u32>>,
    /// Largest current that the standard of the machine lets through them with one shorted.
    pub touch_current: Option<Given<Current>>,
    /// How many independent ones measure the same; 1 unless said otherwise.
    #[schemars(range(min = 1, max = 8))]
    pub redundant: Option<Located<u32>>,
}

/// What a sensor measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Measured {
    /// A current.
    Current,
    /// A direct voltage.
    Voltage,
    /// A temperature.
    Temperature,
    /// The position of a rotor.
    Position,
    /// The isolation resistance of a floating domain.
    Isolation,
    /// A flow of coolant.
    Flow,
}

/// A line, a plug or a screen that joins two domains.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Signal {
    /// The two domains that it joins.
    #[schemars(length(equal = 2))]
    pub joins: Option<Located<Vec<Located<String>>>>,
    /// The barrier that it passes, an entry of `isolation.barriers`.
    pub crosses: Option<Located<String>>,
    /// What it is for: `service port`, `interlock loop`, `cable screen`.
    pub carries: Option<Located<String>>,
    /// Steepest edge across it that does not disturb it.
    pub transient_immunity: Option<Given<SlewRate>>,
    /// Largest current that an edge may drive through its capacitance without disturbing it, e.g. `20 mA`.
    pub immunity_current: Option<Given<Current>>,
    /// Capacitance across it.
    pub coupling: Option<Given<Capacitance>>,
}
