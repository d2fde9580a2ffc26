//! Data-sheet figures of semiconductors.

use loadworthy_physics::{
    Capacitance, Current, Energy, Inductance, Resistance, SlewRate, Temperature, TemperatureDifference,
    ThermalResistance, Time, Voltage,
};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Charge, Conductance, Given, PerKelvin, Points, Ratio};

/// A semiconductor device as it is bought.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Device {
    /// How its chips are housed and cooled.
    pub package: Option<Package>,
    /// The switch that can be turned off.
    pub transistor: Option<Transistor>,
    /// The diode beside an IGBT, the body diode of a MOSFET, or a diode alone.
    pub diode: Option<Diode>,
}

/// How the chips of a device are housed and cooled.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Package {
    /// How it is built. Read now; no check judges it yet.
    pub form: Option<Located<PackageForm>>,
    /// What the package holds; its chips share one case.
    pub circuit: Option<Located<Circuit>>,
    /// On how many faces the coolant takes heat from it: 1 or 2.
    #[schemars(range(min = 1, max = 2))]
    pub cooled_faces: Option<Located<u8>>,
    /// Inductance of its own between the direct-voltage terminals.
    pub inductance: Option<Given<Inductance>>,
    /// `true` where its case is isolated from its chips; where not, what lies between it and the plate isolates.
    pub isolated: Option<Located<bool>>,
    /// How many swings of a junction its joints stand, which a mission is counted against.
    pub power_cycling: Option<PowerCycling>,
}

/// Cycles of the junction that a package stands until it counts as worn out: points of its data sheet.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerCycling {
    /// Swings of the junction, rising, e.g. `[40 K, 60 K, 100 K]`; two or more.
    pub swing: Points<TemperatureDifference>,
    /// How many of each it stands, falling, e.g. `[2e6, 300e3, 30e3]`.
    pub cycles: Located<Vec<Located<f64>>>,
    /// Highest junction temperature that this holds up to; cycles that go hotter are not known.
    pub up_to: Option<Given<Temperature>>,
}

/// How a package is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum PackageForm {
    /// A module with terminals of its own.
    Module,
    /// A discrete package on a board or a bar.
    Discrete,
}

/// What one package holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Circuit {
    /// One switch with its diode.
    Single,
    /// Both positions of one leg.
    HalfBridge,
    /// All six positions of a three-phase bridge, or of three legs of a boost or buck converter.
    SixPack,
}

/// The switch that can be turned off, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Transistor", tag = "kind")]
pub enum Transistor {
    /// An insulated-gate bipolar transistor; its diode is a chip of its own.
    Igbt(Igbt),
    /// A field-effect transistor; its channel also carries the reverse current.
    Mosfet(Mosfet),
}

/// An insulated-gate bipolar transistor.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Igbt {
    /// Highest collector-emitter voltage, as stated at 25 °C.
    pub blocking_voltage: Option<Given<Voltage>>,
    /// Relative growth of the blocking voltage with temperature, which takes from it in the cold.
    pub blocking_temperature_coefficient: Option<Given<PerKelvin>>,
    /// Rated currents.
    pub current: Option<RatedCurrent>,
    /// Highest junction temperature in service.
    pub junction_limit: Option<Given<Temperature>>,
    /// On-state voltage against current, one curve for each junction temperature.
    pub on_state: Option<Vec<OnState>>,
    /// Switching energies of one turn-on and one turn-off.
    pub energies: Option<TransistorEnergies>,
    /// Junction to case as a list of resistance and time constant, all cooled faces together:
    /// `[[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]`.
    pub thermal_impedance: Option<Located<Vec<FosterElement>>>,
    /// Time that the current takes to fall at turn-off, from 90 to 10 %, as fast as the gate drives it here.
    pub current_fall_time: Option<Given<Time>>,
    /// What its gate takes.
    pub gate: Option<Gate>,
    /// How far devices of one delivery lie apart.
    pub spread: Option<TransistorSpread>,
    /// How long it stands a short circuit.
    pub short_circuit_withstand: Option<Given<Time>>,
    /// What that time holds at.
    pub short_circuit_at: Option<ShortCircuitAt>,
}

/// A field-effect transistor.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mosfet {
    /// Highest drain-source voltage, as stated at 25 °C.
    pub blocking_voltage: Option<Given<Voltage>>,
    /// Relative growth of the blocking voltage with temperature, which takes from it in the cold.
    pub blocking_temperature_coefficient: Option<Given<PerKelvin>>,
    /// Rated currents.
    pub current: Option<RatedCurrent>,
    /// Highest junction temperature in service.
    pub junction_limit: Option<Given<Temperature>>,
    /// On-state resistance, one value for each junction temperature.
    pub on_resistance: Option<Vec<OnResistance>>,
    /// Switching energies of one turn-on and one turn-off.
    pub energies: Option<TransistorEnergies>,
    /// Junction to case as a list of resistance and time constant, all cooled faces together.
    pub thermal_impedance: Option<Located<Vec<FosterElement>>>,
    /// Output capacitance, related to energy at the voltage switched; it decides whether a leg of a full bridge turns on
    /// softly, and what the main switch of a forward converter still blocks when it turns on.
    pub output_capacitance: Option<Given<Capacitance>>,
    /// Time that the current takes to fall at turn-off, from 90 to 10 %, as fast as the gate drives it here.
    pub current_fall_time: Option<Given<Time>>,
    /// What its gate takes.
    pub gate: Option<Gate>,
    /// How far devices of one delivery lie apart.
    pub spread: Option<TransistorSpread>,
    /// How long it stands a short circuit.
    pub short_circuit_withstand: Option<Given<Time>>,
    /// What that time holds at.
    pub short_circuit_at: Option<ShortCircuitAt>,
}

/// What the time holds at for which a transistor stands a short circuit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShortCircuitAt {
    /// Voltage of the bus.
    pub voltage: Option<Given<Voltage>>,
    /// Junction temperature at its start.
    pub junction: Option<Given<Temperature>>,
    /// Gate voltage, e.g. `15 V`.
    pub drive_on: Option<Given<Voltage>>,
}

/// What the gate of a transistor takes.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// Charge of one turn-on, from `drive_off` to `drive_on`.
    pub charge: Option<Given<Charge>>,
    /// Gate voltage that charge and on-state figures hold at, e.g. `15 V`.
    #[serde(rename = "drive_on")]
    pub on: Option<Given<Voltage>>,
    /// Gate voltage that the charge begins at, e.g. `-8 V`.
    #[serde(rename = "drive_off")]
    pub off: Option<Given<Voltage>>,
    /// Voltage at which the channel opens.
    pub threshold: Option<Given<Voltage>>,
    /// Capacitance from gate to the switched terminal, related to the charge of a whole edge.
    pub reverse_capacitance: Option<Given<Capacitance>>,
    /// Capacitance of the gate; with the gate resistance it decides how far a threshold skew unbalances an edge.
    pub input_capacitance: Option<Given<Capacitance>>,
    /// Gate resistance, driver and internal together, that energies, edge and times hold at; `energies.gate_resistor` says it of
    /// energies alone. Delays and `turn_on_time` are
    /// scaled from it to what is fitted; where it is not stated they are taken to hold with the resistors in use.
    pub resistance: Option<Given<Resistance>>,
    /// Change of current by gate voltage at the current switched.
    pub transconductance: Option<Given<Conductance>>,
    /// Inductance that emitter or source and gate loop share.
    pub common_inductance: Option<Given<Inductance>>,
    /// Resistance inside the device, between its terminal and its gate.
    pub internal_resistance: Option<Given<Resistance>>,
    /// Lowest voltage at which the channel opens: of any device, at the hottest junction.
    pub least_threshold: Option<Given<Voltage>>,
    /// Highest voltage that the gate stands for good.
    pub highest: Option<Given<Voltage>>,
    /// Lowest voltage that the gate stands for good, e.g. `-10 V`.
    pub lowest: Option<Given<Voltage>>,
    /// Steepest edge of its voltage, at light load and cold, e.g. `20 kV/us`.
    pub edge: Option<Given<SlewRate>>,
    /// Longest time from gate command to the start of the fall of the current.
    pub turn_off_delay: Option<Given<Time>>,
    /// Shortest time from gate command to the start of the rise of the current.
    pub turn_on_delay: Option<Given<Time>>,
    /// Longest time from gate command until its voltage has fallen, as slowly as the gate drives it here.
    pub turn_on_time: Option<Given<Time>>,
}

/// How far transistors of one delivery lie apart, to either side.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TransistorSpread {
    /// On-state voltage at a current, as a share.
    pub on_voltage: Option<Given<Ratio>>,
    /// Gate threshold.
    pub gate_threshold: Option<Given<Voltage>>,
}

/// How far diodes of one delivery lie apart, to either side.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DiodeSpread {
    /// Forward voltage at a current, as a share.
    pub on_voltage: Option<Given<Ratio>>,
}

/// The diode beside an IGBT, or the body diode of a MOSFET.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Diode {
    /// Highest reverse voltage, where it stands alone.
    pub blocking_voltage: Option<Given<Voltage>>,
    /// How far diodes of one delivery lie apart.
    pub spread: Option<DiodeSpread>,
    /// Rated currents.
    pub current: Option<RatedCurrent>,
    /// Highest junction temperature in service; that of the transistor unless said otherwise.
    pub junction_limit: Option<Given<Temperature>>,
    /// Forward voltage against current, one curve for each junction temperature.
    pub on_state: Option<Vec<OnState>>,
    /// Energy of one reverse recovery.
    pub energies: Option<RecoveryEnergy>,
    /// Junction to case as a list of resistance and time constant, all cooled faces together. The body diode
    /// of a MOSFET is the same chip and needs none.
    pub thermal_impedance: Option<Located<Vec<FosterElement>>>,
}

/// Currents that a data sheet permits.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RatedCurrent {
    /// Continuous direct current with the case at `at_case`.
    pub continuous: Option<Given<Current>>,
    /// The case temperature that the continuous current is stated for.
    pub at_case: Option<Given<Temperature>>,
    /// Highest current that may recur.
    pub repetitive_peak: Option<Given<Current>>,
}

/// An on-state curve at one junction temperature.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OnState {
    /// Junction temperature of the curve.
    pub junction: Given<Temperature>,
    /// Currents, rising; at least two.
    #[schemars(extend("type" = "array", "minItems" = 2))]
    pub current: Points<Current>,
    /// The voltage at each current.
    pub voltage: Points<Voltage>,
}

/// An on-state resistance at one junction temperature.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OnResistance {
    /// Junction temperature of the value.
    pub junction: Given<Temperature>,
    /// Drain-source resistance, gate at its driven voltage.
    pub resistance: Given<Resistance>,
}

/// Switching energies of a transistor at one voltage and junction temperature.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TransistorEnergies {
    /// The gate resistor outside of the device that they were measured with. With `gate.internal_resistance` it is held against
    /// what is fitted; without it `gate.resistance` is.
    pub gate_resistor: Option<Given<Resistance>>,
    /// The voltage switched when they were measured.
    pub voltage: Given<Voltage>,
    /// The junction temperature when they were measured.
    pub junction: Given<Temperature>,
    /// The current switched: one value, or a rising list for a curve.
    pub current: Points<Current>,
    /// What one turn-on costs the transistor of one device at each current, the recovery current of the opposite diode
    /// included as data sheets do; what that diode loses itself is its `recovery`.
    pub turn_on: Points<Energy>,
    /// What one turn-off costs it at each current.
    pub turn_off: Points<Energy>,
    /// Energy grows with voltage to this power; 1.35 for an IGBT, 1.2 for a MOSFET unless said otherwise.
    #[schemars(range(min = 0, max = 3))]
    pub voltage_exponent: Option<Located<f64>>,
    /// Energy grows with current to this power where only one current is stated; 1 unless said otherwise.
    #[schemars(range(min = 0, max = 3))]
    pub current_exponent: Option<Located<f64>>,
    /// Relative growth with junction temperature, e.g. `0.003 1/K`; that or 0.0005 1/K (MOSFET) unless said otherwise.
    pub temperature_coefficient: Option<Given<PerKelvin>>,
}

/// Recovery energy of a diode at one voltage and junction temperature.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RecoveryEnergy {
    /// The voltage switched when it was measured.
    pub voltage: Given<Voltage>,
    /// The junction temperature when it was measured.
    pub junction: Given<Temperature>,
    /// The current switched: one value, or a rising list for a curve.
    pub current: Points<Current>,
    /// Energy of one recovery at each current.
    pub recovery: Points<Energy>,
    /// Energy grows with voltage to this power; 0.6 unless said otherwise.
    #[schemars(range(min = 0, max = 3))]
    pub voltage_exponent: Option<Located<f64>>,
    /// Energy grows with current to this power where only one current is stated; 0.6 unless said otherwise.
    #[schemars(range(min = 0, max = 3))]
    pub current_exponent: Option<Located<f64>>,
    /// Relative growth with junction temperature; 0.006 1/K unless said otherwise.
    pub temperature_coefficient: Option<Given<PerKelvin>>,
}

/// One element of a thermal impedance: resistance, then time constant.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
pub struct FosterElement(
    /// Resistance of the element.
    pub Given<ThermalResistance>,
    /// Time constant of the element.
    pub Given<Time>,
);
