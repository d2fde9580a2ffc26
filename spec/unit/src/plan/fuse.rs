//! Fuses: what drives a fault through each, by which way, and what stands behind it.

use std::sync::Arc;

use loadworthy_source::NodeId;

use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::plan::Ends;
use crate::trace::Operand;

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
    /// Current over the rated one that certainly melts it within its conventional time.
    pub conventional: InputId,
    /// I²t at which it melts.
    pub melting: InputId,
    /// I²t until it has cleared.
    pub clearing: InputId,
    /// Highest current that it breaks.
    pub breaking: InputId,
    /// Time constant of the circuit that it breaks that in, where it is stated.
    pub time_constant: Option<InputId>,
    /// Lowest current that it breaks.
    pub least_breaking: InputId,
    /// How soon overloads melt it: currents over the rated one, with times in s; where that is stated.
    pub curve: Option<TimeCurrent>,
    /// Voltages of which the highest may stand across it once it has opened.
    pub across: Vec<InputId>,
    /// Sources that drive a fault behind it.
    pub drives: Vec<Drive>,
    /// Sources that drive a fault through it the other way: in the branch of a source the others that feed the bus behind it,
    /// which hold that up in a fault behind; in the branch from the high side of a boost or a buck those before that stage.
    pub others: Vec<Drive>,
    /// What converters deliver there for good, where they alone feed its bus and no source stands behind it.
    pub delivered: Option<Delivered>,
    /// Banks at its bus, in the plan.
    pub banks: Vec<usize>,
    /// What they do to it, where there is one.
    pub surge: Option<SurgeFigures>,
    /// The bus that it leads to, in the plan.
    pub(crate) bus: Option<usize>,
    /// Whether it stands in the branch of a source.
    pub of_source: bool,
    /// Whether the sources of `drives` stand at the node of its branch, not at its bus.
    pub from_node: bool,
    /// Whether it stands in the branch from a negative rail back to the source.
    pub is_returned: bool,
    /// Resistances of its own branch at the other side, where something drives a fault from there.
    pub after: Vec<InputId>,
    /// Resistances of its own branch between the sources and the fuse: a fault right behind it meets no more.
    pub before: Vec<InputId>,
    /// In the branch of a source, bars, cables, plugs and the like between that and the first fuse, in the plan.
    pub ahead: Vec<usize>,
    /// Resistances of its own branch up to it and behind it, its own left out.
    pub own_line: Vec<InputId>,
    /// Resistances of the way back from the node of its branch, where that is no source and one is described.
    pub own_back: Vec<InputId>,
    /// Resistances of the longest branch behind it that has no fuse of its own, and of the way back from there.
    pub longest_behind: Vec<InputId>,
    /// Conductors that it protects, in the plan.
    pub protects: Vec<Protected>,
    /// What is solved for it.
    pub figures: FuseFigures,
}

/// What converters deliver into a fault behind a fuse.
#[derive(Clone, Debug)]
pub struct Delivered {
    /// What bounds each of them.
    pub ends: Ends,
    /// What would say how much one of them delivers, where nothing bounds it.
    pub unlimited: Option<InputId>,
}

/// What a branch says of the fuse that protects it.
#[derive(Clone, Debug)]
pub struct Protection {
    /// The branch.
    pub branch: PartId,
    /// The fuse, and where the branch names it; none where it has none and names none.
    pub fuse: Option<(String, NodeId)>,
    /// Where that stands.
    pub stands: Stands,
}

impl Protection {
    /// Whether the branch has no fuse and names none.
    #[must_use]
    pub const fn is_unfused(&self) -> bool {
        self.fuse.is_none() && matches!(self.stands, Stands::Nowhere)
    }
}

/// Where a fuse stands that a branch names.
#[derive(Clone, Copy, Debug)]
pub enum Stands {
    /// Between a source and the branch.
    OnTheWay,
    /// In a branch that no fault in this one flows through.
    In(PartId),
    /// In no branch and within no source.
    Nowhere,
    /// Perhaps in a branch that could not be read.
    Unread(InputId),
}

/// How soon overloads melt a fuse.
#[derive(Clone, Debug)]
pub struct TimeCurrent {
    /// Where it stands.
    pub curve: CurveId,
    /// Currents over the rated one, rising, with times in s.
    pub points: Vec<(f64, f64)>,
    /// How long each duty point lasts.
    pub lasts: InputId,
    /// Largest current that does not melt it while the duty point lasts.
    pub overload: FigureId,
    /// The same of a load that comes and goes.
    pub cyclic: FigureId,
}

/// A source that drives a fault.
#[derive(Clone, Debug)]
pub struct Drive {
    /// The source.
    pub source: PartId,
    /// Its place in the plan.
    pub place: usize,
    /// Highest and lowest voltage behind its resistance.
    pub voltage: (InputId, InputId),
    /// Lowest and highest internal resistance.
    pub resistance: (InputId, InputId),
    /// Highest and lowest current that it drives into a short circuit, where that is stated in place of a resistance.
    pub short_circuit: Option<(InputId, InputId)>,
    /// Resistances of its line to the bus; empty where the fuse stands in that line.
    pub line: Arc<[InputId]>,
    /// Resistances of its way back from the negative rail, where one is described: the weakest fault meets them.
    pub back: Arc<[InputId]>,
    /// Whether it feeds the bus through the diodes of boosts or bucks.
    pub is_beyond: bool,
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
    /// How warm it gets of its rated current, where that and its highest temperature are stated.
    pub reached: Option<Reached>,
    /// I²t that contacts stand, as stated.
    pub stated: Option<InputId>,
    /// Whether it stands in the fuse's own branch.
    pub is_own: bool,
    /// Resistances from the bus up to it, and of contacts its own: what a bank meets in a fault right where it begins.
    pub from_bus: Vec<InputId>,
    /// Its bus, in the plan, of one beyond the diodes of a boost or a buck that names the fuse; none of one at the fuse's own.
    pub beyond: Option<usize>,
    /// Banks that discharge into it, in the plan.
    pub banks: Vec<usize>,
    /// Highest voltage of those banks, where they do not stand at the bus of the fuse.
    pub banks_at: Option<InputId>,
    /// I²t that they send alone, where there are any.
    pub of_banks: Option<FigureId>,
    /// Whether they do so from the other side than the fuse.
    pub banks_against: bool,
    /// The boost or buck on whose high side its branch stands, in the plan.
    pub(crate) output_of: Option<usize>,
    /// I²t that the fuses of other sources let through, which drive the same fault.
    pub beside: Vec<FigureId>,
    /// I²t of those that drive one from the other side: before the conductor, or behind it.
    pub against: Vec<FigureId>,
    /// Other sources at the bus without a fuse whose clearing I²t is known.
    pub uncleared: Vec<PartId>,
    /// I²t that fuses and banks, or banks alone, send through it, from the side from which they send more.
    pub through: FigureId,
    /// I²t that it stands.
    pub withstood: FigureId,
}

/// A conductor that no fuse protects from the banks of its bus.
#[derive(Clone, Debug)]
pub struct Emptied {
    /// That bus, in the plan.
    pub bus: usize,
    /// Its highest voltage, where that is stated; else that of the duty point.
    pub(crate) across: Operand,
    /// The conductor, and what it stands.
    pub protected: Protected,
}

/// How warm a conductor gets that states a rated current.
#[derive(Clone, Copy, Debug)]
pub struct Reached {
    /// Its highest temperature, at which its rated current settles it.
    pub hottest: InputId,
    /// That current.
    pub rated: InputId,
    /// The temperature of the surroundings that it is stated for.
    pub at: InputId,
    /// The temperature that it settles at.
    pub temperature: FigureId,
}

/// Figures of a fuse.
#[derive(Clone, Copy, Debug)]
pub struct FuseFigures {
    /// Highest voltage across it once it has opened.
    pub highest_voltage: FigureId,
    /// The most that its sources have without current, where its bus does not say how high it may come: at least so much.
    pub open_circuit: Option<FigureId>,
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
    /// Time constant of the highest fault, or of the slowest source of several; none where nothing drives it.
    pub fault_constant: Option<FigureId>,
}

/// Figures of a fuse with banks at its bus.
#[derive(Clone, Copy, Debug)]
pub struct SurgeFigures {
    /// I²t that the banks send through it in a fault.
    pub let_through: FigureId,
    /// Highest prospective current with their discharge.
    pub current: FigureId,
}
