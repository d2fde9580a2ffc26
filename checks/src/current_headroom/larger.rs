//! Conductors that are rated for more. A rating holds for the section that it is stated beside, so that one goes with it.
//!
//! A current brings a larger section to the same temperature with at least the root of it: its loss falls with the section,
//! and its surface does not shrink. So the root is taken, which asks for more copper than a data sheet would.

use loadworthy_unit::plan::{Conductor, RatedSection};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use crate::figure_text::{value, written};
use crate::size::series;
use crate::wound::everywhere;

/// Edits that make a conductor one that is rated for a current, and what they come to in words; none where no section that is
/// made is large enough for it.
pub(crate) fn rated_for(
    conductor: &Conductor,
    (rated, amps): (InputId, f64),
    name: &str,
    (solved, lane): (&Solved<'_>, LaneId),
) -> Option<(Vec<(Edit, String)>, String)> {
    let edits = |input: InputId, to: f64, dimension: Dimension| {
        let text = written(to, dimension);
        everywhere(solved, input).into_iter().map(move |input| (Edit { input, value: to }, text.clone()))
    };
    let rating = edits(rated, amps, Dimension::Current);
    let text = written(amps, Dimension::Current);
    let Some(of) = conductor.rated_section else {
        return Some((rating.collect(), format!("{name} rated {text}")));
    };
    let now = solved.input(rated, lane)?;
    let to = larger(of, solved.input(of.size, lane)?, amps / now)?;
    let (dimension, what) =
        if of.is_cable { (Dimension::Area, "") } else { (Dimension::Length, " in width") };
    let size = value(to, dimension);
    let says = format!("{name} of {size}{what}, rated {text} if its data sheet says so");
    Some((edits(of.size, to, dimension).chain(rating).collect(), says))
}

/// The next section or width that carries so many times as much.
fn larger(of: RatedSection, now: f64, times: f64) -> Option<f64> {
    let sizes = if of.is_cable { series::cable_sections() } else { series::bar_widths() };
    sizes.into_iter().find(|&size| size >= now * times * times * (1.0 - crate::verdict::EQUAL_WITHIN))
}
