//! What conductors are rated for, and those that are rated for more. A rating holds for the section that it is stated beside, so that one goes with it.
//!
//! A current brings a larger section to the same temperature with at least the root of it: its loss falls with the section,
//! and its surface does not shrink. So the root is taken, which asks for more copper than a data sheet would.

use loadworthy_physics::Law;
use loadworthy_unit::plan::{Conductor, RatedSection};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, Edit, FigureId, InputId, LaneId, Reach, Solved};

use crate::figure_text::{value, written};
use crate::size::series;
use crate::verdict::{EQUAL_WITHIN, Missing};
use crate::wound::everywhere;

static RATING: Law = Law {
    name: "rated current of a conductor",
    formula: "I ≤ I_rated",
    validity: "in surroundings at most as hot as those it is stated for",
    source: "data sheet",
};

/// Preferred numbers for rated currents, in one decade.
const PREFERRED: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0];
const DECADES: [f64; 8] = [0.01, 0.1, 1.0, 10.0, 100.0, 1e3, 1e4, 1e5];
/// Larger ratings that are tried.
pub(crate) const LARGER: usize = 4;

/// Whether a rating holds: it is stated for one temperature of the surroundings, and they have another.
pub(crate) fn rated_there(
    current: FigureId,
    (at, surroundings): (InputId, InputId),
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<(), Vec<Missing>> {
    let stated = |input| solved.input(input, lane).ok_or_else(|| vec![Missing::Cause(Cause::Input(input))]);
    let (high, value) = (stated(at)?, stated(surroundings)?);
    if value <= high {
        return Ok(());
    }
    let reach = Reach {
        what: "temperature of the surroundings",
        of: Operand::Input(at),
        value,
        low: f64::NEG_INFINITY,
        high,
        dimension: Dimension::Temperature,
    };
    Err(vec![Missing::Cause(Cause::Beyond { figure: current, law: &RATING, reach: Some(reach) })])
}

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
    sizes.into_iter().find(|&size| size >= now * times * times * (1.0 - EQUAL_WITHIN))
}

/// The next preferred numbers from a current up.
pub(crate) fn preferred(needed: f64) -> Vec<f64> {
    if !needed.is_finite() || needed <= 0.0 {
        return Vec::new();
    }
    let all = DECADES.iter().flat_map(|decade| PREFERRED.iter().map(move |number| number * decade));
    let written = all.map(crate::steps::as_written);
    written.filter(|&amps| amps >= needed * (1.0 - EQUAL_WITHIN)).take(LARGER).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn larger_ratings_are_preferred_numbers_that_suffice() {
        assert_eq!(preferred(183.0), [200.0, 250.0, 315.0, 400.0]);
        assert_eq!(preferred(200.0)[0].to_bits(), 200.0_f64.to_bits());
        assert_eq!(preferred(0.9), [1.0, 1.25, 1.6, 2.0]);
        assert!(preferred(f64::NAN).is_empty());
    }
}
