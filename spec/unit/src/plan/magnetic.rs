//! Chokes and transformers as a stage uses them.

use crate::ids::{FigureId, InputId, PartId};
use crate::trace::Operand;

/// A choke or a transformer of a stage.
#[derive(Clone, Debug)]
pub struct Magnetic {
    /// The component.
    pub part: PartId,
    /// How many of it the stage has.
    pub count: InputId,
    /// Its windings: the RMS current, the resistance, and the loss of each.
    pub windings: Vec<(FigureId, InputId, FigureId)>,
    /// Rated RMS current of the first winding, where stated.
    pub rated: Option<InputId>,
    /// Loss of its core, as stated.
    pub core_loss: InputId,
    /// Loss of one component.
    pub loss: FigureId,
    /// Place of the coolant element that takes its heat, if one does.
    pub place: Option<usize>,
    /// What is summed for its loss.
    pub(crate) losses: Vec<Operand>,
}
