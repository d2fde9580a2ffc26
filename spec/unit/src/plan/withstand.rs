//! What the devices of a switch position have to block.

use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::Role;
use crate::table::Tables;

/// A kind of switch position with the voltage that it blocks.
#[derive(Clone, Debug)]
pub struct Withstand {
    /// The kind of position; the position itself where there is but one.
    pub part: PartId,
    /// Its place in the seats of the stage.
    pub seat: usize,
    /// What it does.
    pub role: Role,
    /// The bus in the plan whose highest voltage it blocks, straight or through a transformer.
    pub bus: Option<usize>,
    /// Blocking voltage of the device.
    pub blocking: InputId,
    /// Share by which ringing goes beyond the plateau; of rectifiers behind a transformer.
    pub overshoot: Option<InputId>,
    /// Highest voltage that it blocks.
    pub blocked: FigureId,
    /// What it blocks at the highest voltage of its bus, of a forward converter: there the solved one may be worse, and may be unknown.
    pub at_highest: Option<FigureId>,
    /// What it blocks at the lowest voltage of its bus at which its output still holds, of a forward converter that states the
    /// largest duty: there its clamp stands highest of all that is below.
    pub at_largest_duty: Option<FigureId>,
}

impl Tables {
    /// Whether a person wrote a value, in any duty point.
    #[must_use]
    pub fn is_written(&self, input: InputId) -> bool {
        self.input_of(input).values.iter().any(|stated| stated.origin.is_written())
    }

    /// Whether nobody wrote a value, in no duty point, and nothing that could not be read may be it.
    #[must_use]
    pub fn is_absent(&self, input: InputId) -> bool {
        self.input_of(input).values.iter().all(|stated| matches!(stated.origin, Origin::Absent { .. }))
    }
}
