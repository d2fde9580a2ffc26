//! Windings whose layers are packed more loosely than their law knows.

use loadworthy_language::quantity::Dimension;
use loadworthy_physics::winding_loss::FILLING;

use crate::ids::InputId;
use crate::plan::Winding;
use crate::trace::Operand;

use super::Reach;

/// The filling of a winding's layers, where it leaves the range of the law of their loss.
pub(super) fn reach(winding: &Winding, input: impl Fn(InputId) -> f64) -> Option<Reach> {
    let filling = winding.conductor.as_ref()?.filling;
    let (value, (low, high)) = (input(filling), FILLING);
    let (of, dimension) = (Operand::Input(filling), Dimension::Ratio);
    (value < low || high < value).then_some(Reach { what: "filling", of, value, low, high, dimension })
}
