//! What may open a way: fuses and contactors, and what else a branch leads through.

use crate::ids::PartId;

/// A fuse or a contactor, and what is cut off once it is open.
#[derive(Clone, Copy, Debug)]
pub struct Opening {
    /// The conductor, in the plan.
    pub conductor: usize,
    /// Whether it is a contactor.
    pub is_contactor: bool,
    /// The conductor that its branch leads around, in the plan, as a pre-charge does.
    pub around: Option<usize>,
    /// What stands at the end of its circuit.
    pub of: Circuit,
}

/// A branch that leads through more than fuses and contactors: once any conductor of it comes apart the whole of it is open.
#[derive(Clone, Copy, Debug)]
pub struct Lead {
    /// The branch.
    pub branch: PartId,
    /// The conductor that it leads around, in the plan, as a pre-charge does.
    pub around: Option<usize>,
    /// What stands at the end of its circuit.
    pub of: Circuit,
}

/// A source that cannot be switched off, of which contactors open one pole alone as far as anything is described.
#[derive(Clone, Debug)]
pub struct OnePole {
    /// The source, in the plan.
    pub source: usize,
    /// A bus that it feeds, in the plan.
    pub bus: usize,
    /// Its contactors, in the plan: at least one, all in that pole. What leads around one is not among them.
    pub contactors: Vec<usize>,
    /// Whether they stand on the way back to it.
    pub is_return: bool,
}

/// What a circuit leads to or from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Circuit {
    /// A source, in the plan.
    Source(usize),
    /// A stage, in the plan.
    Stage(usize),
    /// A load, in the plan.
    Load(usize),
}
