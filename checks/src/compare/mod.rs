//! What a change of a unit does to its review: findings, headrooms, and what is not judged.
//!
//! Both reviews are complete in themselves; here they are only laid side by side. What a part is called does not matter where
//! the caller says that it has another name. What moved by less than [`MOVED`], or reads as before, counts as unchanged, so that a change
//! of the description elsewhere, or of the last digit, is not told as one of every part.

mod findings;
mod headrooms;
mod names;
mod unjudged;

use loadworthy_unit::Unit;

use crate::figure_text;
use crate::review::Review;
use crate::verdict::Comparison;

pub use findings::{FindingAt, FindingChange, Turn};
pub use headrooms::{Headroom, HeadroomChange, HeadroomTurn, together};
pub use unjudged::UnjudgedChange;

/// How far a headroom must move at least to count as moved: a tenth of a per cent of what is allowed, or of a kelvin; where more
/// is carried than is allowed, a tenth of a per cent of what is carried. `size` knows the same bound. Besides, it must read
/// differently as it is shown, with two significant digits: what nobody can see is not told.
pub const MOVED: f64 = 1e-3;

/// A unit with its review.
#[derive(Clone, Copy, Debug)]
pub struct Side<'r> {
    /// The unit.
    pub unit: &'r Unit,
    /// Its review, on the same day as the other.
    pub review: &'r Review,
}

/// What a change does.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effects {
    /// Every finding and every accepted one of both sides, once: those that are worse for the change first. Of one kind in
    /// the order of the new review, or of the old one where they are gone.
    pub findings: Vec<FindingChange>,
    /// Headrooms that are not what they were: what is no longer judged, then those that no longer hold, the largest loss first,
    /// new ones, those judged at last, gains, gone ones.
    pub headrooms: Vec<HeadroomChange>,
    /// How many headrooms are what they were.
    pub headrooms_unchanged: usize,
    /// Missing inputs that keep something from being judged and did not before, or do no more.
    pub unjudged: Vec<UnjudgedChange>,
}

impl Effects {
    /// How many findings turned that way.
    #[must_use]
    pub fn count(&self, turn: Turn) -> usize {
        self.findings.iter().filter(|finding| finding.turn == turn).count()
    }

    /// How many headrooms turned that way.
    #[must_use]
    pub fn count_headrooms(&self, turn: HeadroomTurn) -> usize {
        self.headrooms.iter().filter(|headroom| headroom.turn == turn).count()
    }

    /// Whether no finding, no headroom and nothing that is missing is another.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.headrooms.is_empty()
            && self.unjudged.is_empty()
            && self.findings.iter().all(|finding| finding.turn == Turn::Unchanged)
    }
}

/// What the change from one unit to another does. `renames` are names of parts before and now. Takes time in proportion to
/// the verdicts of both.
#[must_use]
pub fn compare(old: Side<'_>, new: Side<'_>, renames: &[(&str, &str)]) -> Effects {
    let names = names::Names::of(new.unit, renames);
    let (headrooms, headrooms_unchanged) = headrooms::changes(old, new, &names);
    Effects {
        findings: findings::changes(old, new, &names),
        headrooms,
        headrooms_unchanged,
        unjudged: unjudged::changes(old, new, &names),
    }
}

/// By how much of its scale one headroom is less than another; nothing where it is the same within [`MOVED`].
fn loss(old: &Comparison, new: &Comparison) -> Option<f64> {
    let (before, after) = (old.rank(), new.rank());
    if before.total_cmp(&after).is_eq() {
        return None;
    }
    // What is carried of what is allowed; a difference of temperatures has no such share.
    let carried = |of: &Comparison| if of.is_in_kelvin() { 1.0 } else { 1.0 - of.rank() };
    let scale = carried(old).max(carried(new)).max(1.0);
    let lost = before - after;
    // An infinite loss exceeds any bound, the infinite one as well.
    let is_moved = lost.is_infinite() || lost.abs() >= MOVED * scale;
    (is_moved && figure_text::headroom(old) != figure_text::headroom(new)).then_some(lost)
}
