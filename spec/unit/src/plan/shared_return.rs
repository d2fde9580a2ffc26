//! Outputs that feed several gates on one rail, and the inductance between their sources.

use crate::ids::{FigureId, InputId, PartId};

/// An output of which it is stated how much inductance lies between the sources that it feeds on one rail.
#[derive(Clone, Debug)]
pub struct SharedReturn {
    /// The output.
    pub part: PartId,
    /// The output, in the plan.
    pub supply: usize,
    /// Inductance between the sources.
    pub inductance: InputId,
    /// Kinds of position among what it feeds that turn a current off against a bus.
    pub switches: Vec<Switching>,
    /// Its voltages.
    pub swing: Swing,
    /// Largest voltage between two of the sources while one of them turns off.
    pub voltage: FigureId,
    /// Gate voltage from off to on.
    pub swing_figure: FigureId,
}

/// A kind of position that turns a current off.
#[derive(Clone, Debug)]
pub struct Switching {
    /// The stage, in the plan.
    pub stage: usize,
    /// Its place in the seats of the stage.
    pub seat: usize,
    /// The current that it turns off, where that is solved with its loop; the largest that flows, where not.
    pub current: Option<FigureId>,
    /// Time that the current takes to fall, from 90 to 10 %.
    pub fall: InputId,
}

/// How far an output drives a gate.
#[derive(Clone, Copy, Debug)]
pub enum Swing {
    /// As its voltages say: on and off.
    Stated(InputId, InputId),
    /// A usual one.
    Assumed(InputId),
}
