//! Why a figure has no value, in words, with the place of the entry that it is about.

use loadworthy_checks::cause::cause_text;
use loadworthy_checks::figure_text;
use loadworthy_unit::{Cause, LaneId, Variant};

use crate::described::Described;

use super::places;

/// Why a figure is missing in a lane, and where.
pub(crate) fn missing(described: &Described, variant: &Variant, lane: LaneId, cause: Cause) -> String {
    let text = cause_text(variant, Some(variant.lane(lane).duty), cause);
    let subject = text.subject_in(&variant.duty_of(lane).name);
    let mut said = if text.is_path { format!("`{subject}` {}", text.trouble) } else { subject };
    match cause {
        Cause::NoSolution { largest, .. } if largest.is_finite() => {
            said.push_str(&format!("; at most {} of what it asks has one", figure_text::percent(largest)));
        }
        Cause::Beyond { figure, .. } => {
            said = format!("{} has no value: {said}", variant.tables.figure_path(figure));
        }
        _ => {}
    }
    if let Some(node) = text.near {
        said.push_str(&format!(", near {}", places::in_short(&described.tree, node)));
    }
    said
}
