//! The charge of a bus: what takes it away at switch-off, and what puts it there.

use crate::ids::{FigureId, InputId, PartId};

/// What takes the charge of a bus at switch-off.
#[derive(Clone, Debug)]
pub struct Stored {
    /// The bus, in the plan.
    pub bus: usize,
    /// Whether the bus states anything of a discharge.
    pub is_stated: bool,
    /// A resistor that is always there, and the power that it stands for good.
    pub resistor: Option<(InputId, InputId)>,
    /// The discharge that is switched on.
    pub active: Option<ActiveDischarge>,
    /// Time in which it must bring the bus below 60 V.
    pub within: InputId,
    /// Time in which the resistor alone must.
    pub passively_within: InputId,
    /// Charges in the plan that flow to this bus through diodes once it is lower than theirs.
    pub followers: Vec<usize>,
    /// The bus that this one follows, where it has no discharge of its own.
    pub follows: Option<usize>,
    /// What could not be read, or is not described, and may be what it follows, where it has no discharge of its own.
    pub unread: Option<InputId>,
    /// Figures.
    pub figures: StoredFigures,
}

/// A discharge that is switched on.
#[derive(Clone, Copy, Debug)]
pub enum ActiveDischarge {
    /// It takes a power that it holds.
    Power(InputId),
    /// It puts a resistance across the bus.
    Resistance(InputId),
}

/// Figures of the charge of a bus.
#[derive(Clone, Copy, Debug)]
pub struct StoredFigures {
    /// Energy at its highest voltage.
    pub energy: FigureId,
    /// Time until the resistor alone has brought it to 60 V.
    pub passive_time: FigureId,
    /// Time until the discharge that is switched on has, with the resistor.
    pub active_time: FigureId,
    /// Loss of the resistor at the highest voltage.
    pub resistor_loss: FigureId,
}

/// A branch around a contactor through which a bus is charged.
#[derive(Clone, Debug)]
pub struct Precharge {
    /// The branch.
    pub part: PartId,
    /// The bus, in the plan.
    pub bus: usize,
    /// Whether a contactor of its own opens it; so is taken what could not be read.
    pub opens: bool,
    /// Highest voltage of the source.
    pub source: InputId,
    /// The charge of that bus, and those of the buses that it feeds through diodes, in the plan.
    pub charges: Vec<usize>,
    /// Resistances of its conductors.
    pub resistances: Vec<InputId>,
    /// Its contactors, one of which closes on the empty bank.
    pub contactors: Vec<Making>,
    /// The source, in the plan.
    pub from: usize,
    /// The contactor that it leads around, which closes on what it leaves.
    pub around: Option<Making>,
    /// Energy that its resistor stands in one pulse.
    pub rated_energy: InputId,
    /// Current that loads take from the bus meanwhile.
    pub load: InputId,
    /// Share of the source's voltage that is left across the contactor as it closes.
    pub rest: InputId,
    /// Time within which it must be done, where that is stated.
    pub within: Option<InputId>,
    /// Current as it begins.
    pub inrush: FigureId,
    /// Power that its resistances take as it begins.
    pub peak_power: FigureId,
    /// Energy that its resistor takes.
    pub energy: FigureId,
    /// I²t of the whole of it, which a fuse before it meets as well.
    pub pulse: FigureId,
    /// Time that it takes.
    pub time: FigureId,
    /// Voltage that loads and the discharge resistor keep across it for good.
    pub drop: FigureId,
    /// Voltage that is left across the contactor as it closes.
    pub rest_voltage: FigureId,
    /// Crest of the current that this drives through it.
    pub closing: FigureId,
}

/// Batteries side by side on one bus, which contactors close on one another.
#[derive(Clone, Debug)]
pub struct Paralleling {
    /// The bus, in the plan.
    pub bus: usize,
    /// The batteries.
    pub packs: Vec<ParallelPack>,
}

/// One of several batteries on a bus.
#[derive(Clone, Debug)]
pub struct ParallelPack {
    /// The source, in the plan.
    pub source: usize,
    /// Its contactors; one without any is always there.
    pub contactors: Vec<Making>,
    /// Voltages across them at which their control closes them, where any says so; of one without any those of all others,
    /// where each of them says so.
    pub closes: Vec<InputId>,
    /// Currents that melt fuses on its way in the end.
    pub melts: Vec<(PartId, FigureId)>,
    /// As the lower of both, which takes.
    pub taking: Equalising,
    /// As the higher one, which gives.
    pub giving: Equalising,
}

/// What flows as a battery is closed on others.
#[derive(Clone, Copy, Debug)]
pub struct Equalising {
    /// What their open-circuit voltages differ by at most.
    pub difference: FigureId,
    /// The current that this drives.
    pub current: FigureId,
}

/// A contactor that closes on a current.
#[derive(Clone, Copy, Debug)]
pub struct Making {
    /// The contactor.
    pub part: PartId,
    /// Highest current that it makes; missing where it is not stated.
    pub makes: InputId,
    /// Highest current that it breaks; missing where it is not stated.
    pub breaks: InputId,
}
