//! Potentials that jump with each edge of a leg, and what rides on them.

use crate::ids::{FigureId, InputId, PartId};

/// A driver or a sensor that rides on potentials which jump, and is commanded or read in the same domain.
#[derive(Clone, Debug)]
pub struct Rider {
    /// The driver or sensor.
    pub part: PartId,
    /// The potentials, in the plan.
    pub jumping: Vec<usize>,
    /// Steepest edge that does not disturb it; none where it states a current in place of that.
    pub immunity: Option<InputId>,
    /// Steepest edge that it sees.
    pub edge: FigureId,
    /// What that edge drives through it, where it states how much that may be.
    pub through: Option<Through>,
}

/// The current that an edge drives through what it sees.
#[derive(Clone, Copy, Debug)]
pub struct Through {
    /// The largest that does not disturb it.
    pub limit: InputId,
    /// Its own capacitance.
    pub coupling: InputId,
    /// The current.
    pub current: FigureId,
}

/// A potential that jumps against the rails of its stage.
#[derive(Clone, Debug)]
pub struct Jumping {
    /// Where it is, such as `traction_bridge.high_side.u`.
    pub part: PartId,
    /// Steepest edges of the devices that switch it.
    pub edges: Vec<InputId>,
    /// What is missing where no device is said to switch it.
    pub lacks: Vec<InputId>,
    /// Whether something rides on it within its own domain.
    pub is_ridden: bool,
    /// Capacitances from it to another domain.
    pub couplings: Vec<InputId>,
    /// Steepest edge.
    pub edge: FigureId,
    /// Sum of the capacitances.
    pub coupling: FigureId,
    /// Current that an edge drives through them.
    pub current: FigureId,
}
