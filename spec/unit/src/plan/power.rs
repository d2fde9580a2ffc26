//! Buses, sources, loads, and the conductors between them.

use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{ConductorHeat, Crowds, Density, Ripple, RippleTerm, Section};
use crate::trace::Operand;

/// A bus and what sets its voltage.
#[derive(Clone, Debug)]
pub struct Bus {
    /// The bus.
    pub part: PartId,
    /// Voltage that a duty point states, for the bus or for the terminals of a source that feeds it alone; where it
    /// states none and a stage holds the bus, its nominal voltage.
    pub stated: InputId,
    /// Highest voltage that it may reach, as stated.
    pub highest: InputId,
    /// Highest voltage that is reckoned with: never below what was solved, nor below what a source may have.
    pub highest_voltage: FigureId,
    /// Sources at this bus, in the plan.
    pub sources: Vec<usize>,
    /// Whether the sources here hold its voltage and take what is left over.
    pub is_balanced_here: bool,
    /// Solved voltage.
    pub voltage: FigureId,
    /// Solved power drawn from it by all but its balancing sources; negative while it takes back.
    pub power: FigureId,
    /// Solved current drawn from it.
    pub current: FigureId,
    /// Whether any source reaches it, directly or through stages, or an entry that could not be read may let one reach it.
    pub is_fed: bool,
    /// Its banks and the ripple in them.
    pub ripple: Ripple,
    /// Name of its negative rail, where it shares or names one.
    pub negative_rail: String,
    /// What is summed for `power`: what hangs here, the stage that holds the bus left out.
    pub(crate) drawn: Vec<Operand>,
    /// Shares that sources give, taken from the sum.
    pub(crate) shares: Vec<Operand>,
    /// By what power leaves the unit here, losses apart.
    pub outlets: Outlets,
}

/// By what power leaves the unit from a bus, in the order of the description.
#[derive(Clone, Debug, Default)]
pub struct Outlets {
    /// What bridges put out to their machines.
    pub bridges: Vec<FigureId>,
    /// What loads ask for.
    pub loads: Vec<InputId>,
    /// Buses that stages lead on to from here.
    pub beyond: Vec<usize>,
}

impl Bus {
    /// Whether something that could not be read may draw from it, or give.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.drawn.iter().any(|drawn| matches!(drawn, Operand::Input(_)))
    }
}

/// A source at a bus.
#[derive(Clone, Debug)]
pub struct Source {
    /// The source.
    pub part: PartId,
    /// Whether it is a battery; of the others none states what it stands taking.
    pub is_battery: bool,
    /// Its bus in the plan, if that is known.
    pub bus: Option<usize>,
    /// Whether it can hold a voltage: it then balances in each duty point that states no share for it.
    pub may_balance: bool,
    /// Voltage behind its resistance, where a duty point states it.
    pub open_circuit: InputId,
    /// Voltage at its terminals, where a duty point states it.
    pub terminal: InputId,
    /// Current and power, in A and W, at which the curve of a fuel cell ends.
    pub curve_end: Option<(f64, f64)>,
    /// Highest voltage at its terminals without a load, in V, of a battery or by the curve of a fuel cell; none where neither says so.
    pub without_load: Option<f64>,
    /// Highest current, in A, that a fuel cell or a generator drives into a short circuit; none where it is not stated.
    pub short_circuit: Option<f64>,
    /// Highest internal resistance.
    pub resistance: InputId,
    /// Lowest internal resistance, which damps least.
    pub lowest_resistance: InputId,
    /// Inductance of it with its cables; missing where it is not stated.
    pub inductance: InputId,
    /// Resistance of the conductors to its bus, one input each; empty where none is known.
    pub line: Vec<InputId>,
    /// Power that it gives as its share; missing where it balances.
    pub share_power: InputId,
    /// Current that it gives as its share; missing where it balances.
    pub share_current: InputId,
    /// Whether it cannot take power back: above zero where it can.
    pub absorbs: InputId,
    /// What it stands for good, giving: current, power; what it stands taking.
    pub limits: SourceLimits,
    /// Power of its share that arrives at the bus; zero where it balances.
    pub share: FigureId,
    /// Solved voltage at its terminals.
    pub terminal_voltage: FigureId,
    /// Solved current; negative while it takes.
    pub current: FigureId,
    /// The most that it gives or takes wherever the resistances of all sources of its bus lie in their spans; none where it
    /// has its bus alone.
    pub largest_current: Option<FigureId>,
    /// Solved power at its terminals.
    pub power: FigureId,
    /// Solved loss in its resistance.
    pub loss: FigureId,
    /// RMS current of the rows of a mission, the way that it flows in the last of them, and the time constant in which those before
    /// fade; none where there is no mission.
    pub over_rows: Option<(FigureId, InputId)>,
    /// How long it remembers a current, where a duty point that ends lasts longer than its peaks, or rows of a mission do.
    pub memory: Option<InputId>,
}

impl Source {
    /// The current that it is held to: beside others the largest that their resistances leave room for.
    #[must_use]
    pub fn carries(&self) -> FigureId {
        self.largest_current.unwrap_or(self.current)
    }
}

/// A rating of a source: a current in A or a power in W.
#[derive(Clone, Copy, Debug)]
pub struct SourceLimit {
    /// How long it lasts in s; infinite for good.
    pub lasts: f64,
    /// Shortest time in s from the beginning of one to that of the next; zero where that is not stated.
    pub every: f64,
    /// The input that states it.
    pub most: InputId,
    /// Its place among those of all sources.
    pub place: usize,
}

/// Limits of a source.
#[derive(Clone, Debug, Default)]
pub struct SourceLimits {
    /// Current that it gives.
    pub discharge: Vec<SourceLimit>,
    /// Current that it takes.
    pub charge: Vec<SourceLimit>,
    /// Power that it gives.
    pub power: Vec<SourceLimit>,
    /// Lowest and highest open-circuit voltage, where stated.
    pub open_circuit: Option<(InputId, InputId)>,
}

impl SourceLimits {
    /// All ratings of current and power.
    pub fn all(&self) -> impl Iterator<Item = &SourceLimit> {
        self.discharge.iter().chain(&self.charge).chain(&self.power)
    }
}

/// Where a stage or a load meets a bus.
#[derive(Clone, Debug)]
pub struct Port {
    /// Its bus in the plan, if that is known.
    pub bus: Option<usize>,
    /// The bus as a number: 0 where it is stated; what hangs on it is missing where it is not.
    pub named: InputId,
    /// Resistance of the conductors on the way, one input each.
    pub line: Vec<InputId>,
    /// Whether its figures count what leaves the stage here, not what enters.
    pub outward: bool,
    /// Voltage at the port.
    pub voltage: FigureId,
    /// Power at the port.
    pub power: FigureId,
    /// Current at the port.
    pub current: FigureId,
    /// Power that the bus gives, the loss of the conductors included.
    pub drawn: FigureId,
    /// Its number among all ports of the plan.
    pub(crate) slot: usize,
}

/// A conductor in a branch.
#[derive(Clone, Debug)]
pub struct Conductor {
    /// The conductor.
    pub part: PartId,
    /// The branch that it stands in.
    pub branch: PartId,
    /// Whether it is a connector or a contactor.
    pub is_contact: bool,
    /// Its resistance.
    pub resistance: InputId,
    /// Current that it stands for good; missing where it states none.
    pub rated: Option<InputId>,
    /// Temperature of the surroundings that the rating is stated for.
    pub rated_at: Option<InputId>,
    /// What its section is changed by where that is stated beside the rating, which holds for that section alone.
    pub rated_section: Option<RatedSection>,
    /// Temperature of the air around it.
    pub surroundings: InputId,
    /// The figure whose current it carries; none where it carries none in service, or what it carries is not known.
    pub carries: Option<FigureId>,
    /// What would have to say what it carries, where that is not known.
    pub unknown: Option<InputId>,
    /// Its current.
    pub current: FigureId,
    /// Alternating currents that it carries beside the direct one.
    pub ripples: Vec<RippleTerm>,
    /// RMS current of both, where there are some that no bank is left to take.
    pub rms: Option<FigureId>,
    /// Its loss as power is drawn for it: of direct current, in copper as warm as the air.
    pub loss: FigureId,
    /// Its loss with ripple and skin effect in copper as warm as it gets, where one of these is known.
    pub heating_loss: Option<FigureId>,
    /// Voltage along it.
    pub drop: FigureId,
    /// How its temperature comes about, where that is what judges it.
    pub heat: Option<ConductorHeat>,
    /// The density of its current, where its section is stated.
    pub density: Option<Density>,
    /// What it breaks, of a contactor that says so.
    pub breaks: Option<Breaks>,
    /// When its control opens it in an overload, of a contactor that says so.
    pub opens: Option<Opens>,
    /// Height of the place above the sea, where that is stated, and up to which ratings of a fuse or a contactor hold, where it
    /// says so.
    pub altitude: Option<(InputId, Option<InputId>)>,
    /// Highest current that it measures, of a sensor that says so.
    pub range: Option<InputId>,
    /// Power that it stands for good, of a shunt that says so.
    pub stands: Option<InputId>,
}

/// The section of a conductor that states what it is rated for.
#[derive(Clone, Copy, Debug)]
pub struct RatedSection {
    /// Whether it is a cable, or a bar.
    pub is_cable: bool,
    /// Section of a cable, width of a bar.
    pub size: InputId,
    /// Where an alternating current crowds in it, where it is known how warm its copper is.
    pub(crate) crowds: Option<Crowds>,
    /// What its resistance follows from, where none is stated.
    pub(crate) follows: Option<Section>,
}

impl Conductor {
    /// The current that it is warmed by where alternating currents do not crowd: RMS, ripple included.
    #[must_use]
    pub fn carried(&self) -> FigureId {
        self.rms.unwrap_or(self.current)
    }

    /// The section that its resistance follows from, where none is stated.
    pub(crate) fn section(&self) -> Option<&Section> {
        let of_heat = self.heat.as_ref().and_then(|heat| heat.section.as_ref());
        of_heat.or_else(|| self.rated_section.as_ref()?.follows.as_ref())
    }
}

/// When the control of a contactor opens it in an overload.
#[derive(Clone, Copy, Debug)]
pub struct Opens {
    /// Above this current.
    pub above: InputId,
    /// Once that has flowed for so long.
    pub after: InputId,
}

/// What a contactor breaks.
#[derive(Clone, Copy, Debug)]
pub struct Breaks {
    /// At this voltage.
    pub voltage: InputId,
    /// This current.
    pub current: InputId,
    /// The bus whose voltage stands across it once it is open, in the plan, where that is known.
    pub bus: Option<usize>,
}

/// A load that takes power from a bus.
#[derive(Clone, Debug)]
pub struct Load {
    /// The load.
    pub part: PartId,
    /// Where it meets its bus.
    pub port: Port,
    /// Power that a duty point states.
    pub power: InputId,
    /// Current that a duty point states, in place of the power.
    pub current: InputId,
}

/// A stage that closes a loop of buses.
#[derive(Clone, Debug)]
pub struct Loop {
    /// The stage, in the plan.
    pub stage: usize,
    /// The other stages of the loop, in the plan.
    pub others: Vec<usize>,
}
