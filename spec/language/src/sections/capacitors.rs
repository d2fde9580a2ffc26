//! Banks on a bus, capacitors to the chassis, and the data sheets of what they are built from.

use loadworthy_physics::{
    Capacitance, Current, Inductance, Resistance, Temperature, TemperatureDifference, ThermalResistance,
    Time, Voltage,
};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Ratio};

/// A capacitor of the unit, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Capacitor", tag = "kind")]
pub enum Capacitor {
    /// A bank across a bus.
    Bank(Bank),
    /// A suppression capacitor between a rail and the chassis.
    Suppression(Suppression),
}

/// A bank across a bus.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bank {
    /// The bus.
    pub bus: Option<Located<String>>,
    /// How many capacitors stand in parallel; 1 unless said otherwise.
    #[schemars(range(min = 1, max = 10_000))]
    pub parts: Option<Located<u32>>,
    /// What each of them is, an entry of `capacitor_types`.
    pub each: Option<Located<String>>,
    /// What lies between the bank and the bus.
    pub path: Option<BankPath>,
    /// How long its capacitors have to last in service, e.g. `20000 h`; held against their `endurance`.
    pub life: Option<Given<Time>>,
}

/// What lies between a bank and its bus.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BankPath {
    /// Inductance.
    pub inductance: Option<Given<Inductance>>,
    /// Resistance.
    pub resistance: Option<Given<Resistance>>,
}

/// A suppression capacitor between a rail and the chassis.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Suppression {
    /// The rail, as `BUS.plus` or `BUS.minus`.
    pub from: Option<Located<String>>,
    /// The domain at its other end, e.g. `chassis`.
    pub to: Option<Located<String>>,
    /// Capacitance.
    pub capacitance: Option<Given<Capacitance>>,
    /// Its class as in IEC 60384-14.
    pub class: Option<Located<SuppressionClass>>,
}

/// Classes of suppression capacitors as in IEC 60384-14.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum SuppressionClass {
    /// Bridges double or reinforced insulation.
    Y1,
    /// Bridges basic insulation.
    Y2,
    /// Lies between lines, higher pulse.
    X1,
    /// Lies between lines.
    X2,
}

/// Data-sheet figures of a capacitor as it is bought.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CapacitorType {
    /// Capacitance.
    pub capacitance: Option<Given<Capacitance>>,
    /// Tolerance of the capacitance.
    pub tolerance: Option<Given<Ratio>>,
    /// Rated direct voltage.
    pub voltage: Option<Given<Voltage>>,
    /// RMS ripple current that it stands.
    pub ripple_current: Option<Given<Current>>,
    /// Equivalent series resistance at the ripple frequency.
    pub series_resistance: Option<Given<Resistance>>,
    /// Inductance of its own; with that of the path it decides how banks share a ripple.
    pub inductance: Option<Given<Inductance>>,
    /// Hot spot to the air inside the housing.
    pub thermal_resistance: Option<Given<ThermalResistance>>,
    /// Highest temperature of its hot spot.
    pub hottest: Option<Given<Temperature>>,
    /// How long it lasts, and where: its life elsewhere follows from that by a rule of thumb.
    pub endurance: Option<Endurance>,
}

/// How long a capacitor lasts at one hot spot and voltage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Endurance {
    /// Time until what the data sheet calls the end of its life, e.g. `5000 h`.
    pub life: Option<Given<Time>>,
    /// Temperature of its hot spot meanwhile.
    pub hot_spot: Option<Given<Temperature>>,
    /// Direct voltage meanwhile.
    pub voltage: Option<Given<Voltage>>,
    /// Kelvins more that halve it; 10 K unless said otherwise.
    pub halved_by: Option<Given<TemperatureDifference>>,
}
