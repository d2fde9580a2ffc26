//! What feeds the gate drivers, and what commands them.

use loadworthy_physics::{Capacitance, Current, Inductance, Power, Resistance, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Charge, Given, Ratio};

/// One output that feeds gate drivers. It floats on the potential of what it feeds unless it names a rail.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GateSupply {
    /// The switch positions that it feeds: `traction_bridge.high_side.u`, or `traction_bridge.low_side` for all of a side.
    pub feeds: Option<Located<Vec<Located<String>>>>,
    /// Power that it gives.
    pub power: Option<Given<Power>>,
    /// The transformer that it is a winding of; outputs that name one transformer fail with it.
    pub transformer: Option<Located<String>>,
    /// The negative rail that it is tied to, for an output that is not isolated.
    pub rail: Option<Located<String>>,
    /// The output that charges it through a diode while the low side of the same leg conducts, for a bootstrap.
    pub bootstrap_from: Option<Located<String>>,
    /// The bus that it takes its power from.
    pub from: Option<Located<String>>,
    /// A second bus that keeps it alive by itself once the first is lost, as the link does that a machine keeps up.
    pub also_from: Option<Located<String>>,
    /// Gate voltage while the switch is on; of a bootstrap that of what charges it.
    #[serde(rename = "drive_on")]
    pub on: Option<Given<Voltage>>,
    /// Gate voltage while the switch is off; of a bootstrap 0 V.
    #[serde(rename = "drive_off")]
    pub off: Option<Given<Voltage>>,
    /// Share of its input power that it gives on.
    pub efficiency: Option<Given<Ratio>>,
    /// How far its voltages may lie off, to either side; 5 % unless said otherwise.
    pub tolerance: Option<Given<Ratio>>,
    /// The barrier that it passes, an entry of `isolation.barriers`.
    pub crosses: Option<Located<String>>,
    /// Capacitance between its input and its output.
    pub coupling: Option<Given<Capacitance>>,
    /// Inductance between the sources or emitters that it feeds on one rail.
    pub common_inductance: Option<Given<Inductance>>,
    /// What a bootstrap is built from.
    pub bootstrap: Option<Bootstrap>,
}

/// What a bootstrap is built from.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bootstrap {
    /// The capacitor that holds the charge.
    pub capacitance: Option<Given<Capacitance>>,
    /// The resistor in series with the diode.
    pub resistance: Option<Given<Resistance>>,
    /// Voltage over the diode while it charges.
    pub diode_drop: Option<Given<Voltage>>,
    /// Highest voltage that the diode blocks.
    pub blocking_voltage: Option<Given<Voltage>>,
    /// Current that driver and capacitor take for good.
    pub leakage: Option<Given<Current>>,
    /// Charge that a level shifter takes in each period; none unless said otherwise.
    pub shift_charge: Option<Given<Charge>>,
}

/// What commands the gates of a stage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Controller {
    /// The isolation domain that it stands in, an entry of `isolation.domains`.
    pub domain: Option<Located<String>>,
    /// The bus that it takes its power from; its stages stop with it.
    pub from: Option<Located<String>>,
    /// A second bus that keeps it alive by itself once the first is lost, as the link does that a machine keeps up.
    pub also_from: Option<Located<String>>,
    /// What else it depends on, by names of your own: a fuse, a clock, an enable line. Whatever names the same fails with it.
    pub depends_on: Option<Located<Vec<Located<String>>>>,
    /// `true` where its stages can be switched off on a way that does not pass through software.
    pub hardware_enable: Option<Located<bool>>,
}
