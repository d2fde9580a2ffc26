//! Runs a review.

use std::collections::BTreeMap;

use jiff::civil::Date;
use loadworthy_unit::{LaneState, Permit, Solved, Unit, Variant};

use super::anew::Described;
use super::assumptions::{Assumed, assumed};
use super::findings::{answers, findings, kept_open, worked_of};
use super::group::{corner, groups};
use super::judge::{Judged, explain_missing, judge, tell_broken};
use super::left_out::left_out;
use super::meant;
use super::not_judged::{NotJudged, not_judged};
use super::permits::{self, Applied};
use super::ranked::ranked;
use super::slips;
use super::withdrawn::of_doubtful_variants;
use super::{Counts, Finding, Review, Unsolved};
use crate::check::Check;
use crate::list::CHECKS;
use crate::verdict::{Outcome, Verdict};
use loadworthy_unit::side_by_side::{both, side_by_side};

/// Figures of a unit, over all its lanes, above which it counts as large.
const LARGE: usize = 1_000_000;

/// Reviews a unit with every check. No permit is in force: which are is a matter of the day.
#[must_use]
pub fn review(unit: &Unit) -> Review {
    reviewed(CHECKS, unit, None, Beyond::Sought)
}

/// Reviews a unit with every check as on a day, on which permits are in force or have ended.
#[must_use]
pub fn review_on(unit: &Unit, day: Date) -> Review {
    reviewed(CHECKS, unit, Some(day), Beyond::Sought)
}

/// Verdicts and findings of a unit, as on a day where one is given: the same as those of a review, without what asks for more
/// to be solved, which are proposals and what the defaults decide.
#[must_use]
pub fn findings_on(unit: &Unit, day: Option<Date>) -> Review {
    reviewed(CHECKS, unit, day, Beyond::Left)
}

/// Failures that permits accept on a day: variant and place of each verdict, and the place of the permit in the unit.
#[must_use]
pub fn accepted_on(unit: &Unit, verdicts: &[Vec<Verdict>], day: Date) -> BTreeMap<(usize, usize), usize> {
    accepted_among(&unit.permits, &unit.variants, verdicts, day)
}

/// The same of variants that are not those of a unit, such as trials of a duty point.
pub(crate) fn accepted_among(
    permits: &[Permit],
    variants: &[Variant],
    verdicts: &[Vec<Verdict>],
    day: Date,
) -> BTreeMap<(usize, usize), usize> {
    permits::applied((permits, variants), day, &groups(variants, verdicts), verdicts).accepted
}

/// Reviews a unit with some checks, and without permits.
#[must_use]
pub fn review_with(checks: &[&'static dyn Check], unit: &Unit) -> Review {
    reviewed(checks, unit, None, Beyond::Sought)
}

/// What is solved beside the unit as it stands: proposals, and what defaults decide.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Beyond {
    Sought,
    Left,
}

fn reviewed(checks: &[&'static dyn Check], unit: &Unit, day: Option<Date>, beyond: Beyond) -> Review {
    let mut solved = side_by_side(&unit.variants, |variant| match beyond {
        Beyond::Sought => Solved::new(variant).listening(),
        Beyond::Left => Solved::new(variant),
    });
    let (mut review, asked) = verdicts_of(checks, unit, &solved);
    let written = meant::written(unit);
    written.iter().for_each(|written| written.remark(unit, &mut review.verdicts));
    solved.iter_mut().for_each(Solved::stop_listening);
    let described = Described::new(checks, &solved, &review.verdicts, &asked);
    let groups = groups(&unit.variants, &review.verdicts);
    let applied = day
        .map(|day| (day, permits::applied((&unit.permits, &unit.variants), day, &groups, &review.verdicts)));
    let none = Applied::default();
    let held = applied.as_ref().map_or(&none, |(_, applied)| applied);
    review.counts.accepted = held.accepted.len();
    let mut ranked = ranked(unit, groups, (&solved, &review.verdicts), held);
    let slips = match is_large(unit) {
        // As many units beside it take too much room.
        true => Vec::new(),
        false => slips::followed(unit, &described, &mut ranked, &review.not_judged),
    };
    let defaults = || match beyond {
        Beyond::Sought => defaults(&described, is_large(unit)),
        Beyond::Left => BTreeMap::new(),
    };
    let answers = || match beyond {
        Beyond::Sought => answers(&described, &ranked),
        Beyond::Left => BTreeMap::new(),
    };
    let how = || worked_of(&described, &ranked);
    let ((defaults, how), answers) = match is_large(unit) {
        true => ((defaults(), how()), answers()),
        false => both(|| (defaults(), how()), answers),
    };
    let mut all = findings(unit, &described, &ranked, (answers, how), &mut review.broken_checks);
    let mut told = if review.not_judged.is_empty() { Vec::new() } else { kept_open(&described, &ranked) };
    if !told.is_empty() {
        review.not_judged = not_judged(&unit.variants, &review.verdicts, &mut told);
        for one in told {
            all[one.finding].facts.extend(one.fact());
        }
    }
    let is_told = |one: &NotJudged| slips.iter().any(|slip| slip.no_longer_missing.contains(&one.missing));
    review.not_judged.retain(|one| !is_told(one));
    // A slip stands before what is as grave.
    let mut first: Vec<Finding> =
        slips.iter().map(|slip| slip.finding(unit, &described, &mut review.broken_checks)).collect();
    (review.accepted, review.findings) = all.into_iter().partition(Finding::is_accepted);
    first.append(&mut review.findings);
    review.findings = first;
    if let Some((day, applied)) = &applied {
        review.findings.extend(permits::findings(unit, *day, applied, &review.verdicts));
    }
    review.findings.sort_by_key(|finding| finding.grade);
    review.assumed = by_weight(defaults);
    of_doubtful_variants(unit, &mut review);
    written.iter().for_each(|written| written.take_back(unit, &mut review));
    review
}

/// Judges a unit with every check, and looks no further: without findings, proposals, and what the defaults decide.
#[must_use]
pub fn judged(unit: &Unit) -> Review {
    let solved: Vec<Solved<'_>> = unit.variants.iter().map(Solved::new).collect();
    let mut review = verdicts_of(CHECKS, unit, &solved).0;
    of_doubtful_variants(unit, &mut review);
    meant::written(unit).iter().for_each(|written| written.take_back(unit, &mut review));
    review
}

/// All verdicts and what waits for what, and what each check asked of each variant.
fn verdicts_of(
    checks: &[&'static dyn Check],
    unit: &Unit,
    solved: &[Solved<'_>],
) -> (Review, Vec<Vec<Option<loadworthy_unit::Asked>>>) {
    let mut review = Review::default();
    let Judged { mut verdicts, broken, asked } = judge(checks, solved);
    tell_broken(broken, unit, &mut review.broken_checks);
    for (v, (one, verdicts)) in solved.iter().zip(&mut verdicts).enumerate() {
        explain_missing(verdicts, one);
        review.unsolved.extend(unsolved(v, one.variant, one));
        count(&mut review.counts, verdicts);
    }
    review.not_judged = not_judged(&unit.variants, &verdicts, &mut []);
    review.left_out = left_out(solved, &review.not_judged);
    review.verdicts = verdicts;
    (review, asked)
}

/// The defaults that are in use, over all variants.
fn defaults(described: &Described<'_, '_>, is_large: bool) -> BTreeMap<String, Assumed> {
    let mut defaults = BTreeMap::new();
    for v in 0..described.solved.len() {
        assumed(described, v, is_large, &mut defaults);
    }
    defaults
}

/// Whether trials take so much room that no two should be under way at once.
fn is_large(unit: &Unit) -> bool {
    let figures = unit.variants.iter().map(|one| one.lanes.len() * one.tables.figures().len());
    figures.sum::<usize>() > LARGE
}

fn by_weight(defaults: BTreeMap<String, Assumed>) -> Vec<Assumed> {
    let mut all: Vec<Assumed> = defaults.into_values().collect();
    all.sort_by_key(|assumed| assumed.decides.is_empty());
    all
}

fn count(counts: &mut Counts, verdicts: &[Verdict]) {
    for verdict in verdicts {
        match verdict.outcome {
            Outcome::Holds(_) => counts.hold += 1,
            Outcome::Fails { .. } => counts.fail += 1,
            Outcome::NotJudged(_) => counts.not_judged += 1,
        }
    }
}

/// Lanes without figures, the worst corner of each duty point.
fn unsolved(v: usize, variant: &Variant, solved: &Solved<'_>) -> Vec<Unsolved> {
    let mut list: Vec<(usize, Unsolved)> = Vec::new();
    for lane in variant.lane_ids() {
        let (part, largest) = match solved.state(lane) {
            LaneState::Solved { .. } => continue,
            LaneState::NoSolution { at, largest } => (at, Some(largest)),
            LaneState::Undecided { at } => (at, None),
        };
        let duty = variant.lane(lane).duty.index();
        let one = Unsolved {
            variant: v,
            variant_name: variant.name.clone(),
            duty: variant.duties[duty].name.clone(),
            corner: corner(variant, lane),
            part,
            path: variant.path(part).to_owned(),
            largest,
        };
        match list.iter_mut().find(|(of, _)| *of == duty) {
            None => list.push((duty, one)),
            Some((_, worst)) => {
                if one.largest.unwrap_or(f64::INFINITY) < worst.largest.unwrap_or(f64::INFINITY) {
                    *worst = one;
                }
            }
        }
    }
    list.into_iter().map(|(_, one)| one).collect()
}
