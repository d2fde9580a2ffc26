//! More copper where a fault sends too much through a conductor: what it stands grows with the square of its section.

use loadworthy_unit::plan::Protected;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use crate::check::Family;
use crate::steps::toward;
use crate::verdict::Comparison;

/// A larger section of a cable, or a wider bar or foil; nothing of contacts, which stand what is stated.
pub(super) fn more(
    protected: &Protected,
    name: &str,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Family> {
    let more = (compared.carried_value / compared.allowed).sqrt();
    let step = |what: &str, side: InputId, dimension| {
        toward(&format!("{what} of {name}"), side, (dimension, ""), more, solved, lane)
    };
    match *protected.section.as_slice() {
        [section] => Some(step("section", section, Dimension::Area)),
        [width, _] => Some(step("width", width, Dimension::Length)),
        _ => None,
    }
}
