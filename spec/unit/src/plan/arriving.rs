//! What arrives at buses and loads that state the lowest voltage they work at.

use crate::ids::{FigureId, InputId, PartId};
use crate::trace::Operand;

/// A bus or a load that states how little voltage it still works at.
#[derive(Clone, Debug)]
pub struct Arriving {
    /// The bus or the load.
    pub part: PartId,
    /// Lowest voltage at which it works.
    pub lowest: InputId,
    /// The same as a figure, to be held against what arrives.
    pub needed: FigureId,
    /// Voltage that arrives.
    pub voltage: FigureId,
    /// Resistance of the conductors from the bus to it, one input each; empty of a bus.
    pub line: Vec<InputId>,
    /// Whether it is a load, and no bus.
    pub is_load: bool,
    /// Its bus, in the plan; of a bus itself.
    pub bus: Option<usize>,
    /// How far it dips as all of the load comes at once: a bus itself, or what arrives at a load on it.
    pub dip: Option<Dip>,
}

/// The dip of a bus.
#[derive(Clone, Debug)]
pub struct Dip {
    /// Time in which what holds the bus follows a step; none where batteries alone do, through their resistance and inductance.
    pub response: Option<InputId>,
    /// Where no bank stands on it: what would have to be stated.
    pub no_bank: Option<InputId>,
    /// What the stage that holds the bus gives at most, where its trip says so: that of one choke, and their number.
    pub gives: Option<Gives>,
    /// Current that comes at once.
    pub step: FigureId,
    /// How far the bus dips.
    pub depth: FigureId,
    /// Lowest voltage in that; at a load less what the conductors on the way drop.
    pub bottom: FigureId,
}

/// What the chokes of a stage give to the bus that it holds.
#[derive(Clone, Copy, Debug)]
pub struct Gives {
    /// The stage.
    pub stage: PartId,
    /// The level at which its earliest unit trips, of one choke.
    pub level: Operand,
    /// Where that is stated.
    pub stated: InputId,
    /// How many chokes there are.
    pub chokes: InputId,
    /// All of them together.
    pub most: FigureId,
}
