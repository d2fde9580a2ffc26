//! Would another order along the coolant leave more headroom?
//!
//! Every variant and duty point counts together, because the pipes are the same for all of them. Candidates are solved
//! anew as a whole. A trial of something else is not searched through: what it changes is judged once it is described.

mod rows;
mod search;
mod tell;

use loadworthy_unit::Solved;

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::verdict::{Grade, Outcome};
use rows::{Row, junctions, rows};
use search::{Bench, Headroom, Order};

const ANOTHER_ORDER: &str = "another-order";

/// Kelvins of headroom from which another order is worth a word.
const WORTH: f64 = 3.0;

static ABOUT: About = About {
    name: "coolant-order",
    former_names: &[],
    question: "Would another order along the coolant leave more headroom to the hottest junction?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[(
        ANOTHER_ORDER,
        "another order along the coolant leaves at least 3 K more to the hottest junction",
    )],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct CoolantOrder;

impl Check for CoolantOrder {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    /// Variants are judged together, see [`Check::judge_unit`].
    fn judge(&self, _: &Solved<'_>, _: &mut Verdicts) {}

    fn judge_unit(&self, all: &[&Solved<'_>], out: &mut [Verdicts]) {
        if all.iter().any(|solved| !solved.edits.is_empty()) {
            return;
        }
        for mut row in rows(all) {
            let mut known = Vec::new();
            row.members.retain(|&(v, solved, of)| match junctions(solved, of) {
                Ok(found) => {
                    known.push(found);
                    true
                }
                Err(missing) => {
                    put(solved, of, Outcome::NotJudged(missing), &mut out[v]);
                    false
                }
            });
            let Some(found) = Found::of(&row, known) else { continue };
            let (v, solved, of) = row.members[found.worst];
            let outcome = structural(Ok(found.gain() < WORTH), found.grade());
            put(solved, of, outcome, &mut out[v]);
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let unit: Vec<&Solved<'_>> = failure.unit.iter().collect();
        again(failure, solved, &unit).and_then(|(row, found)| tell::told(&row, &found))
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let unit: Vec<&Solved<'_>> = failure.unit.iter().collect();
        again(failure, solved, &unit).map_or_else(Vec::new, |(row, found)| vec![tell::change(&row, &found)])
    }
}

fn put(solved: &Solved<'_>, row: loadworthy_unit::plan::CoolantRow, outcome: Outcome, out: &mut Verdicts) {
    let Some(path) = &solved.variant.plan.coolant else { return };
    let subject = Subject { part: path.row_part(row), defect: ANOTHER_ORDER, lane: None, kin: None };
    out.put(solved, subject, outcome, Vec::new());
}

/// The described order of a row and the best one.
struct Found {
    described: Headroom,
    order: Order,
    best: Headroom,
    /// The junctions of each member that are held against their limits.
    junctions: Vec<Vec<rows::Junction>>,
    /// The member with the least headroom as described.
    worst: usize,
}

impl Found {
    /// Nothing where nothing is asked of anything that the row cools.
    fn of(row: &Row<'_, '_>, known: Vec<Vec<rows::Junction>>) -> Option<Self> {
        let mut bench = Bench::new(row, known);
        let described = bench.headroom(&bench.order());
        if !described.least().is_finite() {
            return None;
        }
        let (order, best) = bench.best(WORTH);
        let tightest = described.legs.iter().min_by(|one, other| one.kelvins.total_cmp(&other.kelvins))?;
        let worst = tightest.at?.0;
        Some(Self { described, order, best, junctions: bench.into_junctions(), worst })
    }

    /// Kelvins that the best order leaves more.
    fn gain(&self) -> f64 {
        self.best.least() - self.described.least()
    }

    /// A note, unless a junction that fails holds in the best order, and none the other way round.
    fn grade(&self) -> Grade {
        let both = || self.described.legs.iter().zip(&self.best.legs);
        let holds = |kelvins: f64| kelvins >= -1e-6;
        let is_cured = both().any(|(was, is)| !holds(was.kelvins) && holds(is.kelvins));
        let is_harmed = both().any(|(was, is)| holds(was.kelvins) && !holds(is.kelvins));
        if is_cured && !is_harmed { Grade::Minor } else { Grade::Note }
    }
}

/// The row that a failure is about, judged once more.
fn again<'s, 'u>(
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    unit: &[&'s Solved<'u>],
) -> Option<(Row<'s, 'u>, Found)> {
    let own = unit.iter().position(|one| core::ptr::eq(one.variant, solved.variant))?;
    let part = failure.worst.part;
    let is_it = |row: &Row<'_, '_>| {
        row.members.iter().any(|(v, solved, of)| {
            let path = solved.variant.plan.coolant.as_ref();
            *v == own && path.is_some_and(|path| path.row_part(*of) == part)
        })
    };
    let mut row = rows(unit).into_iter().find(is_it)?;
    let mut known = Vec::new();
    row.members.retain(|&(_, solved, of)| {
        junctions(solved, of).is_ok_and(|found| {
            known.push(found);
            true
        })
    });
    let found = Found::of(&row, known)?;
    Some((row, found))
}
