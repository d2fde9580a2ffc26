//! Windings of machines against their frames.

use crate::ids::{FigureId, InputId, PartId};

/// A machine that states what its windings stand to the frame.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The machine.
    pub machine: PartId,
    /// Its bridge, in the plan.
    pub stage: usize,
    /// The bus of that, in the plan.
    pub bus: usize,
    /// Recurring peak that the windings are made for.
    pub rated: InputId,
    /// Share of the bus voltage by which reflections lift each edge.
    pub overshoot: InputId,
    /// Share of the bus voltage that may stand between a phase and the chassis.
    pub share: f64,
    /// Turn-offs of the bridge, in the plan.
    pub turn_offs: Vec<usize>,
    /// Recurring peak between a terminal and the frame.
    pub peak: FigureId,
}
