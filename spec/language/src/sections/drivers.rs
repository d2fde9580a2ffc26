//! What turns the gates on and off, and notices a short circuit.

use loadworthy_physics::{Capacitance, Current, Power, Resistance, SlewRate, Time, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::Given;

/// Gate drivers of one kind: one channel for each switch position that they drive.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Driver {
    /// The switch positions that they drive: `traction_bridge.high_side.u`, or `traction_bridge.low_side` for all of a side.
    pub drives: Option<Located<Vec<Located<String>>>>,
    /// The controller that commands them; that of the stage unless said otherwise.
    pub controller: Option<Located<String>>,
    /// The barrier that their command passes, an entry of `isolation.barriers`.
    pub crosses: Option<Located<String>>,
    /// Steepest edge across them that does not disturb their command, static and dynamic, e.g. `100 kV/us`.
    pub transient_immunity: Option<Given<SlewRate>>,
    /// Largest current that an edge may drive through the capacitance of one channel without disturbing its command, where data
    /// sheets state a current beside or in place of an edge.
    pub immunity_current: Option<Given<Current>>,
    /// Capacitance across one channel.
    pub coupling: Option<Given<Capacitance>>,
    /// Resistor between the driver and the gate while it turns on.
    pub turn_on_resistor: Option<Given<Resistance>>,
    /// Resistor between the driver and the gate while it turns off and holds off.
    pub turn_off_resistor: Option<Given<Resistance>>,
    /// Resistance through which a clamp of its own holds the gate off, resistors bypassed.
    pub clamp_resistance: Option<Given<Resistance>>,
    /// `true` where each of several devices in parallel has gate resistors of its own; taken so unless said otherwise.
    pub resistor_for_each: Option<Located<bool>>,
    /// Peak current of an output.
    pub peak_current: Option<Given<Current>>,
    /// Power that one channel takes for itself, without the charge of the gates.
    pub own_power: Option<Given<Power>>,
    /// Longest time from command to gate.
    pub delay: Option<Given<Time>>,
    /// Largest difference between the delays of two channels.
    pub skew: Option<Given<Time>>,
    /// Voltage above the source or emitter below which it blocks the gate, at its lowest.
    pub undervoltage: Option<Given<Voltage>>,
    /// How it notices a short circuit and what it does then.
    pub short_circuit: Option<ShortCircuit>,
}

impl Driver {
    /// Whether it says more than what it drives and which barrier it passes.
    #[must_use]
    pub const fn says_how(&self) -> bool {
        self.turn_on_resistor.is_some()
            || self.turn_off_resistor.is_some()
            || self.clamp_resistance.is_some()
            || self.resistor_for_each.is_some()
            || self.peak_current.is_some()
            || self.own_power.is_some()
            || self.delay.is_some()
            || self.skew.is_some()
            || self.undervoltage.is_some()
            || self.short_circuit.is_some()
    }
}

/// How a short circuit is noticed and switched off. The sum of the times is what the switch must stand.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShortCircuit {
    /// Time after turn-on in which nothing is looked at.
    pub blanking: Option<Given<Time>>,
    /// Time that the signal must last.
    pub filter: Option<Given<Time>>,
    /// Time from there until the gate moves.
    pub delay: Option<Given<Time>>,
    /// Time of the turn-off itself, soft or in two levels.
    pub turn_off: Option<Given<Time>>,
}
