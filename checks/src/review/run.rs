//! Runs a review.

use std::collections::BTreeMap;

use jiff::civil::Date;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{LaneState, PartId, Permit, Solved, Unit, Variant};

use super::anew::Described;
use super::assumptions::{Assumed, assumed};
use super::elsewhere::Elsewhere;
use super::fingerprint::fingerprint;
use super::group::{Group, Key, corner, first_two, groups, other_parts, worst};
use super::judge::{Broke, Judged, explain_missing, guarded, judge};
use super::left_out::left_out;
use super::not_judged::{KeptOpen, not_judged};
use super::permits::{self, Applied, OnRecord, Standing};
use super::propose::{Answer, Asked, propose};
use super::worked::worked;
use super::{AlsoIn, BrokenCheck, Counts, Finding, Place, Review, Unsolved};
use crate::check::{Check, Failure, Told};
use crate::list::{CHECKS, by_name};
use crate::side_by_side::{both, side_by_side};
use crate::verdict::{Fault, Outcome, Verdict};

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
    solved.iter_mut().for_each(Solved::stop_listening);
    let described = Described::new(checks, &solved, &review.verdicts, &asked);
    let groups = groups(&unit.variants, &review.verdicts);
    let applied = day
        .map(|day| (day, permits::applied((&unit.permits, &unit.variants), day, &groups, &review.verdicts)));
    let none = Applied::default();
    let held = applied.as_ref().map_or(&none, |(_, applied)| applied);
    review.counts.accepted = held.accepted.len();
    let ranked = ranked(unit, groups, &review.verdicts, held);
    let defaults = || match beyond {
        Beyond::Sought => defaults(&described),
        Beyond::Left => BTreeMap::new(),
    };
    let broken = &mut review.broken_checks;
    let (defaults, all) = if is_large(unit) {
        (defaults(), findings(unit, &described, &ranked, beyond, broken))
    } else {
        both(defaults, || findings(unit, &described, &ranked, beyond, broken))
    };
    let mut all = all;
    let mut told = if review.not_judged.is_empty() { Vec::new() } else { kept_open(&described, &ranked) };
    if !told.is_empty() {
        review.not_judged = not_judged(&unit.variants, &review.verdicts, &mut told);
        for one in told {
            all[one.finding].facts.extend(one.fact());
        }
    }
    (review.accepted, review.findings) = all.into_iter().partition(Finding::is_accepted);
    if let Some((day, applied)) = &applied {
        review.findings.extend(permits::findings(unit, *day, applied, &review.verdicts));
        review.findings.sort_by_key(|finding| finding.grade);
    }
    review.assumed = by_weight(defaults);
    review
}

/// Judges a unit with every check, and looks no further: without findings, proposals, and what the defaults decide.
#[must_use]
pub fn judged(unit: &Unit) -> Review {
    let solved: Vec<Solved<'_>> = unit.variants.iter().map(Solved::new).collect();
    verdicts_of(CHECKS, unit, &solved).0
}

/// All verdicts and what waits for what, and what each check asked of each variant.
fn verdicts_of(
    checks: &[&'static dyn Check],
    unit: &Unit,
    solved: &[Solved<'_>],
) -> (Review, Vec<Vec<Option<loadworthy_unit::Asked>>>) {
    let mut review = Review::default();
    let Judged { mut verdicts, broken, asked } = judge(checks, &solved.iter().collect::<Vec<_>>());
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

/// Adds checks that broke down, each once; what is told of the whole unit is not told of a variant again.
fn tell_broken(broke: impl IntoIterator<Item = Broke>, unit: &Unit, told: &mut Vec<BrokenCheck>) {
    for Broke { check, variant, said } in broke {
        let variant_name = variant.and_then(|v| unit.variants[v].name.clone());
        let is_told = |one: &BrokenCheck| {
            let covers = one.variant_name.is_none() || one.variant_name == variant_name;
            covers && one.check == check && one.said == said
        };
        if !told.iter().any(is_told) {
            told.push(BrokenCheck { check, variant_name, said });
        }
    }
}

/// The defaults that are in use, over all variants.
fn defaults(described: &Described<'_, '_>) -> BTreeMap<String, Assumed> {
    let mut defaults = BTreeMap::new();
    for v in 0..described.solved.len() {
        assumed(described, v, &mut defaults);
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

/// Failures of one cause, as far as one permit accepts them or none does, with the worst.
struct Ranked<'u> {
    key: Key<'u>,
    group: Group,
    /// The permit that accepts them, or how one stands to them that does not.
    permit: Option<OnRecord>,
    /// Others that accept them together with it.
    beside: Vec<usize>,
    variant: usize,
    worst: usize,
}

impl Ranked<'_> {
    fn is_open(&self) -> bool {
        self.permit.is_none_or(|of| of.standing != Standing::Accepts)
    }
}

/// All failures by cause: gravest first, then the least headroom, then by path. What a permit accepts stands apart from
/// the rest of its group.
fn ranked<'u>(
    unit: &Unit,
    groups: BTreeMap<Key<'u>, Group>,
    verdicts: &[Vec<Verdict>],
    Applied { accepted, open, together, .. }: &Applied<'u>,
) -> Vec<Ranked<'u>> {
    let mut ranked: Vec<Ranked<'u>> = Vec::new();
    for (key, group) in groups {
        let mut by_permit: BTreeMap<Option<usize>, Group> = BTreeMap::new();
        for (v, places) in group {
            for place in places {
                let part = by_permit.entry(accepted.get(&(v, place)).copied()).or_default();
                part.entry(v).or_default().push(place);
            }
        }
        for (permit, group) in by_permit {
            let accepts = permit.map(|permit| OnRecord { permit, standing: Standing::Accepts });
            let permit = accepts.or_else(|| open.get(&key).copied());
            if let Some((variant, worst)) = worst(&group, verdicts) {
                let beside = permit.filter(|of| of.standing == Standing::Accepts);
                let beside = beside.and_then(|of| together.get(&of.permit).cloned()).unwrap_or_default();
                ranked.push(Ranked { key, group, permit, beside, variant, worst });
            }
        }
    }
    ranked.sort_by(|one, other| {
        let (a, b) = (&verdicts[one.variant][one.worst], &verdicts[other.variant][other.worst]);
        let grade = |verdict: &Verdict| match verdict.outcome {
            Outcome::Fails { grade, .. } => grade as u8,
            Outcome::Holds(_) | Outcome::NotJudged(_) => u8::MAX,
        };
        let path = |v: usize, verdict: &Verdict| unit.variants[v].path(verdict.part).to_owned();
        grade(a)
            .cmp(&grade(b))
            .then(a.rank().total_cmp(&b.rank()))
            .then_with(|| path(one.variant, a).cmp(&path(other.variant, b)))
            .then_with(|| one.key.cmp(&other.key))
    });
    ranked
}

/// The findings, in the order of the ranking. What is accepted asks for no proposal.
fn findings(
    unit: &Unit,
    described: &Described<'_, '_>,
    ranked: &[Ranked<'_>],
    beyond: Beyond,
    broken: &mut Vec<BrokenCheck>,
) -> Vec<Finding> {
    let (checks, solved, verdicts) = (described.checks, described.solved, described.verdicts);
    let mut answers = match beyond {
        Beyond::Sought => answers(described, ranked),
        Beyond::Left => BTreeMap::new(),
    };
    let mut how = worked_of(ranked, solved, verdicts);
    let mut finished = Vec::new();
    for (k, one) in ranked.iter().enumerate() {
        let Some(check) = named(checks, one.key.check) else { continue };
        let mut answer = answers.remove(&k);
        tell_broken(answer.iter_mut().flat_map(|answer| answer.broke.drain(..)), unit, broken);
        let worked = how.remove(&k).unwrap_or_default();
        finished.push(finding(one, check, (answer, worked), unit, solved, verdicts, broken));
    }
    finished
}

/// What the findings that no permit accepts say is missing. One that a permit accepts says nothing of what waits for it.
fn kept_open<'u>(described: &Described<'_, 'u>, ranked: &[Ranked<'_>]) -> Vec<KeptOpen<'u>> {
    let known = ranked.iter().filter_map(|one| Some((one, named(described.checks, one.key.check)?)));
    let open = known.enumerate().filter(|(_, (one, _))| one.is_open());
    let told = open.map(|(finding, (one, check))| {
        let own = &described.verdicts[one.variant];
        let all: Vec<&Verdict> = one.group[&one.variant].iter().map(|&place| &own[place]).collect();
        let failure = Failure { worst: &own[one.worst], all: &all, unit: described.solved };
        let solved = &described.solved[one.variant];
        // A check that breaks down here has told so where it was put into words, or its findings stand without this.
        let subjects = guarded(|| check.keeps_open(&failure, solved)).unwrap_or_default();
        let is_left = check.leaves_without_values(failure.worst.defect);
        let places = one.group.iter().flat_map(|(&v, places)| places.iter().map(move |&place| (v, place)));
        let failing = places.map(|(v, place)| (v, &described.verdicts[v][place]));
        let without =
            failing.filter(|(_, verdict)| is_left || matches!(verdict.fault(), Some(Fault::Unsolved { .. })));
        let without_values = without.map(|(v, verdict)| (v, verdict.duty())).collect();
        let what = check.outruns(failure.worst.defect);
        let entry = entry_of(failure.worst, solved.variant);
        let outruns = what.into_iter().flat_map(|what| one.group.keys().map(move |&v| (v, entry, what)));
        KeptOpen { finding, subjects, without_values, outruns: outruns.collect(), checks: Vec::new() }
    });
    let tells_any = |one: &KeptOpen<'u>| {
        !(one.subjects.is_empty() && one.without_values.is_empty() && one.outruns.is_empty())
    };
    told.filter(tells_any).collect()
}

/// Section and name of the entry that a failure is about, or whose limit it exceeds.
fn entry_of<'v>(worst: &Verdict, variant: &'v Variant) -> &'v str {
    let limit = worst.comparison().and_then(|compared| match compared.limit_from? {
        Operand::Input(input) => Some(input),
        Operand::Figure(_) | Operand::Curve(_) => None,
    });
    worst.kin.or(limit).map_or("", |input| first_two(&variant.tables.input_of(input).path))
}

/// What is proposed for each of the ranking that is open.
fn answers(described: &Described<'_, '_>, ranked: &[Ranked<'_>]) -> BTreeMap<usize, Answer> {
    let mut answers = BTreeMap::new();
    for (v, own) in described.verdicts.iter().enumerate() {
        let open = ranked.iter().enumerate().filter(|(_, one)| one.variant == v && one.is_open());
        let asked = open.filter_map(|(k, one)| {
            let asked = Asked {
                key: one.key,
                check: named(described.checks, one.key.check)?,
                worst: &own[one.worst],
                all: one.group[&v].iter().map(|&place| &own[place]).collect(),
            };
            Some((k, asked))
        });
        let (places, asked): (Vec<usize>, Vec<Asked<'_>>) = asked.unzip();
        if !asked.is_empty() {
            answers.extend(places.into_iter().zip(propose(&asked, &Elsewhere::of(v, described))));
        }
    }
    answers
}

/// How the carried figure of each group comes about, where there is one.
fn worked_of(
    ranked: &[Ranked<'_>],
    solved: &[Solved<'_>],
    verdicts: &[Vec<Verdict>],
) -> BTreeMap<usize, Vec<String>> {
    let mut all = BTreeMap::new();
    for (v, (solved, verdicts)) in solved.iter().zip(verdicts).enumerate() {
        let figures = ranked.iter().enumerate().filter(|(_, one)| one.variant == v).filter_map(|(k, one)| {
            let worst = &verdicts[one.worst];
            Some((k, (worst.comparison()?.carried, worst.lane()?)))
        });
        let (places, figures): (Vec<usize>, Vec<_>) = figures.unzip();
        all.extend(places.into_iter().zip(worked(solved, &figures)));
    }
    all
}

fn named(checks: &[&'static dyn Check], name: &str) -> Option<&'static dyn Check> {
    checks.iter().copied().find(|check| check.about().name == name).or_else(|| by_name(name))
}

fn finding(
    one: &Ranked<'_>,
    check: &dyn Check,
    (answer, worked): (Option<Answer>, Vec<String>),
    unit: &Unit,
    all_solved: &[Solved<'_>],
    verdicts: &[Vec<Verdict>],
    broken: &mut Vec<BrokenCheck>,
) -> Finding {
    let (variant, solved) = (&unit.variants[one.variant], &all_solved[one.variant]);
    let own = &verdicts[one.variant];
    let worst = &own[one.worst];
    let all: Vec<&Verdict> = one.group[&one.variant].iter().map(|&place| &own[place]).collect();
    let told = guarded(|| check.tell(&Failure { worst, all: &all, unit: all_solved }, solved))
        .and_then(|told| told.ok_or_else(|| format!("no words for `{}`", worst.defect)))
        .unwrap_or_else(|said| {
            tell_broken([Broke { check: worst.check, variant: Some(one.variant), said }], unit, broken);
            without_words(check, worst, variant)
        });
    let in_worst_duty: Vec<PartId> =
        all.iter().filter(|verdict| verdict.duty() == worst.duty()).map(|verdict| verdict.part).collect();
    let (also, also_parts) = other_parts(variant, worst.part, &in_worst_duty);
    let grade = match worst.outcome {
        Outcome::Fails { grade, .. } => grade,
        Outcome::Holds(_) | Outcome::NotJudged(_) => crate::verdict::Grade::Note,
    };
    let comparison = worst.comparison().copied();
    let largest_share = match worst.fault() {
        Some(&Fault::Unsolved { largest_share }) => Some(largest_share),
        _ => None,
    };
    let elsewhere = also_in(one, unit, verdicts);
    let worked = told.worked.into_iter().chain(worked).collect();
    let part = variant.path(worst.part).to_owned();
    // Nothing was sought for what is accepted, or where proposals were left.
    let (proposals, no_proposal) = match answer {
        None => (Vec::new(), None),
        Some(answer) if answer.held.is_empty() => {
            let reasons: Vec<String> = [answer.nothing, told.no_proposal].into_iter().flatten().collect();
            let none = || "no change is known that would hold".to_owned();
            (Vec::new(), Some(if reasons.is_empty() { none() } else { reasons.join("; ") }))
        }
        Some(answer) => (answer.held, None),
    };
    Finding {
        check: worst.check,
        defect: worst.defect,
        grade,
        variant: one.variant,
        variant_name: variant.name.clone(),
        verdict: Some(one.worst),
        duty: worst.duty().map(|duty| variant.duties[duty.index()].name.clone()),
        corner: worst.duty().and(worst.lane()).and_then(|lane| corner(variant, lane)),
        saying: told.saying,
        comparison,
        facts: told.facts,
        largest_share,
        at: told.at,
        because: told.because,
        also,
        also_parts,
        also_in: elsewhere.iter().flat_map(AlsoIn::each).collect(),
        elsewhere,
        worked,
        proposals,
        no_proposal,
        estimate: worst.remarks.iter().map(ToString::to_string).collect(),
        permit: one.permit,
        permits_beside: one.beside.clone(),
        fingerprint: fingerprint(worst.check, &part, worst.defect),
        part,
    }
}

/// A failure whose check broke down as it put it into words: what the check says of any such defect.
fn without_words(check: &dyn Check, worst: &Verdict, variant: &Variant) -> Told {
    let mut defects = check.about().defects.iter();
    let line = defects.find(|(defect, _)| *defect == worst.defect).map_or(worst.defect, |(_, line)| line);
    let label = "the check broke down as it put this into words".to_owned();
    let at = Place { node: variant.tables.part_of(worst.part).at, label };
    Told::new(format!("`{}`: {line}", variant.path(worst.part)), at)
}

/// Other duty points in which a group fails, by variant; that of the worst comes first.
fn also_in(one: &Ranked<'_>, unit: &Unit, verdicts: &[Vec<Verdict>]) -> Vec<AlsoIn> {
    let worst = &verdicts[one.variant][one.worst];
    let own = one.group.iter().filter(|(v, _)| **v == one.variant);
    let others = one.group.iter().filter(|(v, _)| **v != one.variant);
    let mut all = Vec::new();
    for (&v, places) in own.chain(others) {
        let (variant, is_own) = (&unit.variants[v], v == one.variant);
        let name = variant.name.clone().filter(|_| !is_own);
        let mut also = AlsoIn { variant: name, duties: Vec::new(), whatever_is_asked: false };
        for &place in places {
            let duty = verdicts[v][place].duty();
            if is_own && duty == worst.duty() {
                continue;
            }
            let Some(duty) = duty else {
                also.whatever_is_asked = true;
                continue;
            };
            let duty = &variant.duties[duty.index()].name;
            if !also.duties.contains(duty) {
                also.duties.push(duty.clone());
            }
        }
        if also.whatever_is_asked || !also.duties.is_empty() {
            all.push(also);
        }
    }
    all
}
