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
use rows::{Junction, Replay, Row, junctions, rows};
use search::{Bench, Headroom, Order, search};

const ANOTHER_ORDER: &str = "another-order";

/// Kelvins of headroom from which another order is worth a word.
const WORTH: f64 = 3.0;

/// Share of that which an order must be able to gain at most for its row not to be searched through; the rest is for what
/// one stage does to the voltage of another.
const NEAR: f64 = 0.95;

/// Kelvins around [`WORTH`] in which a row is searched through once more by itself.
const NEAR_THING: f64 = 0.02;

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

    fn compares(&self) -> bool {
        false
    }

    /// Variants are judged together, see [`Check::judge_unit`].
    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, _: &Solved<'_>, _: &mut Verdicts) {}

    fn judges_variants_together(&self) -> bool {
        true
    }

    fn judge_unit(&self, all: &[&Solved<'_>], out: &mut [Verdicts]) {
        if all.iter().any(|solved| !solved.edits().is_empty()) {
            return;
        }
        let mut replay = Replay::default();
        let mut judged: Vec<(Row<'_, '_>, Vec<Vec<Junction>>)> = Vec::new();
        for mut row in rows(all) {
            let mut known = Vec::new();
            row.members.retain(|&(v, solved, of)| match junctions(solved, of, &mut replay) {
                Ok(found) => {
                    known.push(found);
                    true
                }
                Err(missing) => {
                    put(solved, of, Outcome::NotJudged(missing), &mut out[v]);
                    false
                }
            });
            judged.push((row, known));
        }
        for (row, found) in found(judged) {
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
    junctions: Vec<Vec<Junction>>,
    /// The member with the least headroom as described.
    worst: usize,
}

impl Found {
    /// What was found of a row.
    fn of(bench: Bench<'_, '_, '_>, (order, best): (Order, Headroom)) -> Option<Self> {
        let described = bench.headroom(&bench.order());
        let worst = described.tightest()?.0;
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

/// What is found of rows of which anything is asked, in their order.
fn found<'s, 'u>(rows: Vec<(Row<'s, 'u>, Vec<Vec<Junction>>)>) -> Vec<(Row<'s, 'u>, Found)> {
    let mut all: Vec<(usize, Found)> = Vec::new();
    let mut sought: Vec<(usize, Bench<'_, '_, '_>)> = Vec::new();
    let (rows, known): (Vec<Row<'_, '_>>, Vec<_>) = rows.into_iter().unzip();
    for ((place, row), known) in rows.iter().enumerate().zip(known) {
        let bench = Bench::new(row, known);
        let described = bench.headroom(&bench.order());
        let Some(at) = described.tightest().filter(|_| described.least().is_finite()) else { continue };
        // A row of which no order can gain enough is not searched through.
        if bench.most_gain(at).is_some_and(|gain| gain < NEAR * WORTH) {
            let same = (bench.order(), described);
            all.extend(Found::of(bench, same).map(|found| (place, found)));
        } else {
            sought.push((place, bench));
        }
    }
    let (beside, alone): (Vec<_>, Vec<_>) =
        sought.into_iter().partition(|(place, _)| rows[*place].is_beside());
    let (places, mut benches): (Vec<usize>, Vec<Bench<'_, '_, '_>>) = beside.into_iter().unzip();
    let several = benches.len() > 1;
    let best = search(&mut benches, WORTH);
    let together = places.into_iter().zip(benches).zip(best);
    let mut searched: Vec<_> = together.map(|((place, bench), best)| (place, bench, best)).collect();
    for (place, bench, best) in &mut searched {
        let gain = best.1.least() - bench.headroom(&bench.order()).least();
        // Where it is a near thing, what other rows do to a voltage must not decide.
        if several && (gain - WORTH).abs() < NEAR_THING {
            *best = alone_of(bench, &rows[*place]);
        }
    }
    for (place, mut bench) in alone {
        if let Some(best) = search(core::slice::from_mut(&mut bench), WORTH).pop() {
            searched.push((place, bench, best));
        }
    }
    all.extend(
        searched.into_iter().filter_map(|(place, bench, best)| Some((place, Found::of(bench, best)?))),
    );
    let mut of_row: Vec<Option<Found>> = rows.iter().map(|_| None).collect();
    for (place, found) in all {
        of_row[place] = Some(found);
    }
    rows.into_iter().zip(of_row).filter_map(|(row, found)| Some((row, found?))).collect()
}

/// The best order of a row with all other rows as they are described.
fn alone_of<'r, 's, 'u>(bench: &mut Bench<'r, 's, 'u>, row: &'r Row<'s, 'u>) -> (Order, Headroom) {
    let junctions = core::mem::replace(bench, Bench::new(row, Vec::new())).into_junctions();
    *bench = Bench::new(row, junctions);
    let described = (bench.order(), bench.headroom(&bench.order()));
    search(core::slice::from_mut(bench), WORTH).pop().unwrap_or(described)
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
    let (mut known, mut replay) = (Vec::new(), Replay::default());
    row.members.retain(|&(_, solved, of)| {
        junctions(solved, of, &mut replay).is_ok_and(|found| {
            known.push(found);
            true
        })
    });
    found(vec![(row, known)]).pop()
}
