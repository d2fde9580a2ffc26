//! The nodes that carry direct voltage between sources, stages and loads.

use loadworthy_physics::{Inductance, Power, Resistance, Time, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Ratio};

/// A direct-voltage bus.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bus {
    /// The isolation domain it belongs to, an entry of `isolation.domains`.
    pub domain: Option<Located<String>>,
    /// Name of its negative rail; buses that name one rail share its potential. A bus that names none has a rail of its
    /// own.
    pub negative_rail: Option<Located<String>>,
    /// Nominal voltage; a stage that feeds the bus holds it there where a duty point states nothing else.
    pub nominal: Option<Given<Voltage>>,
    /// Highest voltage at which stages on it still switch, trip level and delay included; what stands against it must block it.
    pub highest: Option<Given<Voltage>>,
    /// Lowest voltage at which what hangs on it still works, also for the moment in which a load comes.
    pub lowest: Option<Given<Voltage>>,
    /// Time in which the stage that holds it, or a source that is no battery, brings its current up to a load that comes at once.
    pub response: Option<Given<Time>>,
    /// What switches off the stages on it where it rises too high.
    pub overvoltage_trip: Option<OvervoltageTrip>,
    /// Inductance of the loop from the capacitors to the switches.
    pub loop_inductance: Option<LoopInductance>,
    /// What takes the charge from the bus at switch-off.
    pub discharge: Option<Discharge>,
}

/// What switches off the stages on a bus where it rises too high.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OvervoltageTrip {
    /// Voltage at which it responds.
    pub voltage: Option<Given<Voltage>>,
    /// How far that level lies apart from unit to unit and over temperature, to either side; 2 % unless said otherwise.
    pub tolerance: Option<Given<Ratio>>,
    /// Time from that level until all gates are off: filter, sampling, decision and turn-off together.
    pub delay: Option<Given<Time>>,
    /// Highest voltage that its sensor reads.
    pub sensor_range: Option<Given<Voltage>>,
}

/// Inductance of a commutation loop, beside what capacitor and module bring.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoopInductance {
    /// That of the bars between capacitor and module.
    pub bars: Option<Given<Inductance>>,
}

/// What takes the charge from a bus at switch-off.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Discharge {
    /// A resistor that is always there.
    pub resistor: Option<Given<Resistance>>,
    /// Power that the resistor stands for good.
    pub resistor_power: Option<Given<Power>>,
    /// Time in which the resistor alone must bring the bus below 60 V; 120 s unless said otherwise.
    pub passively_within: Option<Given<Time>>,
    /// Time in which the discharge that is switched on must; 5 s unless said otherwise.
    pub within: Option<Given<Time>>,
    /// A discharge that is switched on.
    pub active: Option<ActiveDischarge>,
}

/// A discharge that is switched on.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ActiveDischarge {
    /// Power that it takes, held constant.
    pub power: Option<Given<Power>>,
    /// Resistance that it puts across the bus instead.
    pub resistor: Option<Given<Resistance>>,
    /// The bus that its control takes its power from; the discharge fails with it.
    pub from: Option<Located<String>>,
}
