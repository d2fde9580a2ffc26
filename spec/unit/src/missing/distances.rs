//! Distances and impulses that are asked for beyond the last row of a table, or where it has no column.

use loadworthy_language::quantity::Dimension;
use loadworthy_physics::insulation::NotGiven;
use loadworthy_physics::insulation::clearance::clearance;
use loadworthy_physics::insulation::creepage::creepage;
use loadworthy_physics::insulation::rated_impulse::rated_impulse;
use loadworthy_physics::{OutOfRange, Voltage};

use crate::ids::{FigureId, InputId};
use crate::plan::{Barrier, Isolation};
use crate::trace::Operand;

use super::Reach;

/// What the number is called that chooses a column of the tables.
pub const POLLUTION_DEGREE: &str = "pollution degree";

/// The number above a table, behind a figure of a barrier.
pub(super) fn reach(
    (isolation, barrier): (&Isolation, &Barrier),
    figure: FigureId,
    input: &dyn Fn(InputId) -> f64,
    solved: &dyn Fn(FigureId) -> f64,
) -> Option<Reach> {
    let figures = &barrier.figures;
    if figure == figures.impulse {
        return barrier.carried_by().find_map(|end| {
            let stress = &isolation.domain(end).stress;
            let mains = stress.mains?;
            let given = rated_impulse(Voltage::new(input(mains)), stress.impulse.category?);
            above(given.err()?, Operand::Input(mains))
        });
    }
    if figure == figures.clearance {
        let by_mains = isolation.is_fed_by_mains(barrier);
        let asked = barrier.clearance_asked(input, solved(figures.impulse), by_mains)?;
        return outside(clearance(&asked).err()?, barrier, Operand::Figure(figures.withstand));
    }
    let asked = barrier.creepage_asked(input, solved(figures.rms))?;
    outside(creepage(&asked, None).err()?, barrier, Operand::Figure(figures.rms))
}

fn outside(error: NotGiven, barrier: &Barrier, of: Operand) -> Option<Reach> {
    if error != NotGiven::PollutionDegreeFour {
        return above(error, of);
    }
    let of = Operand::Input(barrier.degree);
    Some(Reach { what: POLLUTION_DEGREE, of, value: 4.0, low: 1.0, high: 3.0, dimension: Dimension::Ratio })
}

fn above(error: NotGiven, of: Operand) -> Option<Reach> {
    let (NotGiven::OutOfRange(outside) | NotGiven::GroupThreeB(outside)) = error else { return None };
    let OutOfRange { quantity: what, value, low, high, unit } = outside;
    let dimension = if unit == "m" { Dimension::Length } else { Dimension::Voltage };
    (high < value).then_some(Reach { what, of, value, low, high, dimension })
}
