//! Buses whose banks swing against the inductance of the batteries that feed them.

use crate::ids::{FigureId, InputId};

/// A bus with banks that batteries feed of which one states an inductance.
#[derive(Clone, Debug)]
pub struct Damping {
    /// The bus, in the plan.
    pub bus: usize,
    /// The batteries.
    pub fed: Vec<Fed>,
    /// Frequency of the swing.
    pub resonance: FigureId,
    /// Power that is drawn from it and may be held, what is fed in left out.
    pub held_power: FigureId,
    /// Largest power held at which it fades.
    pub largest_power: FigureId,
}

/// A battery as a swing sees it.
#[derive(Clone, Copy, Debug)]
pub struct Fed {
    /// The battery, in the plan.
    pub source: usize,
    /// Its lowest internal resistance, which damps least.
    pub resistance: InputId,
}
