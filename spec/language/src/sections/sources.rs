//! What feeds the unit.

use loadworthy_physics::{Current, Energy, Inductance, Power, Resistance, Time, Voltage};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Points, Ratio};

/// A source of power, by its kind.
///
/// On a bus with several sources, those that state no share in a duty point hold its voltage and balance it; the others
/// give their share.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Source", tag = "kind")]
pub enum Source {
    /// A traction battery: an open-circuit voltage behind a resistance.
    Battery(Battery),
    /// A fuel cell: a voltage that falls with its current. It gives a share in W or A.
    FuelCell(FuelCell),
    /// A generator with its rectifier, seen from the bus. It gives a share in W or A.
    Generator(Generator),
}

/// A traction battery: an open-circuit voltage behind a resistance.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Battery {
    /// The bus that its terminals feed, where no branch of conductors leads there.
    pub bus: Option<Located<String>>,
    /// Open-circuit voltage over the whole state of charge.
    pub open_circuit: Option<VoltageSpan>,
    /// Internal resistance between its terminals; the highest decides sag and rise.
    pub internal_resistance: Option<ResistanceSpan>,
    /// Inductance of the source with its cables, as the bus sees it; it may resonate with the banks there.
    pub inductance: Option<Given<Inductance>>,
    /// How what stands behind its own contactor is charged before that closes, where its pre-charge stands within it as well.
    pub precharge: Option<OwnPrecharge>,
    /// What it may give.
    pub discharge: Option<CurrentLimit>,
    /// What it may take back.
    pub charge: Option<CurrentLimit>,
    /// Time in which what it gave and took fades from the RMS current that a mission holds against its continuous rating. Five
    /// minutes, or ten times its longest peak where that is more, where nothing is said.
    pub memory: Option<Given<Time>>,
    /// `false` where it cannot take power back.
    pub absorbs: Option<Located<bool>>,
}

/// A fuel cell: a voltage that falls with its current.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FuelCell {
    /// The bus that its terminals feed, where no branch of conductors leads there.
    pub bus: Option<Located<String>>,
    /// Terminal voltage against current.
    pub polarisation: Option<Polarisation>,
    /// Inductance of the source with its cables, as the bus sees it; it may resonate with the banks there.
    pub inductance: Option<Given<Inductance>>,
    /// How what stands behind its own contactor is charged before that closes, where its pre-charge stands within it as well.
    pub precharge: Option<OwnPrecharge>,
    /// What it may give, as a current.
    pub discharge: Option<CurrentLimit>,
    /// What it may give, as a power.
    pub power: Option<PowerLimit>,
    /// Time in which what it gave and took fades from the RMS current that a mission holds against its continuous rating. Five
    /// minutes, or ten times its longest peak where that is more, where nothing is said.
    pub memory: Option<Given<Time>>,
    /// Current that it drives into a short circuit at its terminals, for good.
    pub short_circuit: Option<CurrentSpan>,
    /// `true` where it can take power back; it cannot unless said otherwise.
    pub absorbs: Option<Located<bool>>,
}

/// A generator with its rectifier, seen from the bus.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Generator {
    /// The bus that its terminals feed, where no branch of conductors leads there.
    pub bus: Option<Located<String>>,
    /// Inductance of the source with its cables, as the bus sees it; it may resonate with the banks there.
    pub inductance: Option<Given<Inductance>>,
    /// How what stands behind its own contactor is charged before that closes, where its pre-charge stands within it as well.
    pub precharge: Option<OwnPrecharge>,
    /// What it may give, as a current.
    pub discharge: Option<CurrentLimit>,
    /// What it may give, as a power.
    pub power: Option<PowerLimit>,
    /// Time in which what it gave and took fades from the RMS current that a mission holds against its continuous rating. Five
    /// minutes, or ten times its longest peak where that is more, where nothing is said.
    pub memory: Option<Given<Time>>,
    /// Current that it drives into a short circuit at its terminals, for good.
    pub short_circuit: Option<CurrentSpan>,
    /// `true` where it can take power back; it cannot unless said otherwise.
    pub absorbs: Option<Located<bool>>,
}

/// The pre-charge within a source, around the contactor that `parted_by` of a branch names.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnPrecharge {
    /// Resistance through which it charges.
    pub resistor: Option<Given<Resistance>>,
    /// Energy that its resistor stands in one pulse.
    pub energy: Option<Given<Energy>>,
    /// Current that loads take from the bus meanwhile; none unless said otherwise.
    pub load: Option<Given<Current>>,
    /// Share of the source's voltage that is left across the contactor as it closes; 5 % unless said otherwise.
    pub rest: Option<Given<Ratio>>,
    /// Time within which it must be done; none is asked for unless stated. Shorter than what the source waits for before it gives up.
    pub within: Option<Given<Time>>,
}

/// Terminal voltage against current.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Polarisation {
    /// Currents, rising; at least two.
    pub current: Points<Current>,
    /// The voltage at each current.
    pub voltage: Points<Voltage>,
}

/// Lowest, nominal and highest voltage.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VoltageSpan {
    /// Lowest voltage in service.
    pub lowest: Option<Given<Voltage>>,
    /// Nominal voltage.
    pub nominal: Option<Given<Voltage>>,
    /// Highest voltage in service.
    pub highest: Option<Given<Voltage>>,
}

/// Lowest and highest resistance.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResistanceSpan {
    /// Lowest resistance: warm, new.
    pub lowest: Option<Given<Resistance>>,
    /// Highest resistance: cold, aged.
    pub highest: Option<Given<Resistance>>,
}

/// Lowest and highest current.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentSpan {
    /// Lowest current.
    pub lowest: Option<Given<Current>>,
    /// Highest current.
    pub highest: Option<Given<Current>>,
}

/// A current that a source stands for good, and higher ones for a while.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentLimit {
    /// Current it stands for good.
    pub continuous: Option<Given<Current>>,
    /// Higher currents for a while.
    pub peaks: Option<Vec<CurrentPeak>>,
}

/// A current and how long it may last.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentPeak {
    /// The current.
    pub current: Given<Current>,
    /// How long it may last.
    pub lasts: Given<Time>,
    /// Shortest time from the beginning of one to that of the next; where it is not stated the RMS current alone says how often.
    pub every: Option<Given<Time>>,
}

/// A power that a source gives for good, and higher ones for a while.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerLimit {
    /// Power it gives for good.
    pub continuous: Option<Given<Power>>,
    /// Higher powers for a while.
    pub peaks: Option<Vec<PowerPeak>>,
}

/// A power and how long it may last.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerPeak {
    /// The power.
    pub power: Given<Power>,
    /// How long it may last.
    pub lasts: Given<Time>,
    /// Shortest time from the beginning of one to that of the next; where it is not stated the RMS current alone says how often.
    pub every: Option<Given<Time>>,
}

impl Source {
    /// Time in which what it gave and took before fades.
    #[must_use]
    pub const fn memory(&self) -> Option<&Given<Time>> {
        match self {
            Self::Battery(battery) => battery.memory.as_ref(),
            Self::FuelCell(cell) => cell.memory.as_ref(),
            Self::Generator(generator) => generator.memory.as_ref(),
        }
    }

    /// The bus that it feeds without a branch of conductors.
    #[must_use]
    pub const fn bus(&self) -> Option<&Located<String>> {
        match self {
            Self::Battery(battery) => battery.bus.as_ref(),
            Self::FuelCell(cell) => cell.bus.as_ref(),
            Self::Generator(generator) => generator.bus.as_ref(),
        }
    }

    /// Inductance of it with its cables.
    #[must_use]
    pub const fn inductance(&self) -> Option<&Given<Inductance>> {
        match self {
            Self::Battery(battery) => battery.inductance.as_ref(),
            Self::FuelCell(cell) => cell.inductance.as_ref(),
            Self::Generator(generator) => generator.inductance.as_ref(),
        }
    }

    /// The pre-charge within it.
    #[must_use]
    pub const fn precharge(&self) -> Option<&OwnPrecharge> {
        match self {
            Self::Battery(battery) => battery.precharge.as_ref(),
            Self::FuelCell(cell) => cell.precharge.as_ref(),
            Self::Generator(generator) => generator.precharge.as_ref(),
        }
    }

    /// What it says of taking power back.
    #[must_use]
    pub const fn absorbs(&self) -> Option<&Located<bool>> {
        match self {
            Self::Battery(battery) => battery.absorbs.as_ref(),
            Self::FuelCell(cell) => cell.absorbs.as_ref(),
            Self::Generator(generator) => generator.absorbs.as_ref(),
        }
    }
}
