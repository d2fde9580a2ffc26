//! Fuses: what drives a fault through each, by which way, and what stands behind it.

use crate::ids::{FigureId, InputId, PartId};

/// A fuse in a branch.
#[derive(Clone, Debug)]
pub struct Fuse {
    /// Its conductor, in the plan.
    pub conductor: usize,
    /// Rated voltage.
    pub voltage: InputId,
    /// Rated current.
    pub rated: InputId,
    /// Temperature of its element when fully loaded.
    pub element: InputId,
    /// Share of its current that it stands where the load comes and goes.
    pub cyclic: InputId,
    /// I²t at which it melts.
    pub melting: InputId,
    /// I²t until it has cleared.
    pub clearing: InputId,
    /// Highest current that it breaks.
    pub breaking: InputId,
    /// Lowest current that it breaks.
    pub least_breaking: InputId,
    /// Voltages of which the highest may stand across it once it has opened.
    pub across: Vec<InputId>,
    /// Sources that drive a fault behind it.
    pub drives: Vec<Drive>,
    /// Resistances of its own branch between the sources and the fuse: a fault right behind it meets no more.
    pub before: Vec<InputId>,
    /// Resistances of its own branch up to it and behind it, its own left out.
    pub own_line: Vec<InputId>,
    /// Resistances of the longest branch behind it that has no fuse of its own.
    pub longest_behind: Vec<InputId>,
    /// Conductors that it protects, in the plan.
    pub protects: Vec<Protected>,
    /// What is solved for it.
    pub figures: FuseFigures,
}

/// A source that drives a fault.
#[derive(Clone, Debug)]
pub struct Drive {
    /// The source.
    pub source: PartId,
    /// Highest and lowest voltage behind its resistance.
    pub voltage: (InputId, InputId),
    /// Lowest and highest internal resistance.
    pub resistance: (InputId, InputId),
    /// Highest and lowest current that it drives into a short circuit, where that is stated in place of a resistance.
    pub short_circuit: Option<(InputId, InputId)>,
    /// Resistances of its line to the bus; empty where the fuse stands in that line.
    pub line: Vec<InputId>,
}

/// A conductor behind a fuse, and what it stands until the fuse has cleared.
#[derive(Clone, Debug)]
pub struct Protected {
    /// The conductor, in the plan.
    pub conductor: usize,
    /// Sides whose product is its section, or the section itself; none of contacts.
    pub section: Vec<InputId>,
    /// Temperature that it may reach for some seconds.
    pub short_hottest: InputId,
    /// I²t that contacts stand, as stated.
    pub stated: Option<InputId>,
    /// I²t that it stands.
    pub withstood: FigureId,
}

/// Figures of a fuse.
#[derive(Clone, Copy, Debug)]
pub struct FuseFigures {
    /// Highest voltage across it once it has opened.
    pub highest_voltage: FigureId,
    /// Current that it carries for good where it stands.
    pub continuous: FigureId,
    /// The same of a load that comes and goes.
    pub cyclic: FigureId,
    /// Highest prospective current, by the way of lowest resistance.
    pub highest_fault: FigureId,
    /// Lowest prospective current, by the way of highest resistance.
    pub lowest_fault: FigureId,
    /// Lowest current that it breaks, as stated.
    pub least_breaking: FigureId,
    /// I²t that it lets through.
    pub let_through: FigureId,
}
