//! Runs a review.

use std::collections::BTreeMap;

use loadworthy_unit::{LaneState, PartId, Solved, Unit, Variant};

use super::assumptions::{Assumed, assumed};
use super::elsewhere::Elsewhere;
use super::fingerprint::fingerprint;
use super::group::{Group, Key, corner, groups, other_parts, worst};
use super::judge::{explain_missing, guarded, judge};
use super::not_judged::not_judged;
use super::propose::{Answer, Asked, propose};
use super::worked::worked;
use super::{BrokenCheck, Counts, Finding, Place, Review, Unsolved};
use crate::check::{Check, Failure, Told};
use crate::list::{CHECKS, by_name};
use crate::verdict::{Outcome, Verdict};

/// Reviews a unit with every check.
#[must_use]
pub fn review(unit: &Unit) -> Review {
    review_with(CHECKS, unit)
}

/// Reviews a unit with some checks.
#[must_use]
pub fn review_with(checks: &[&'static dyn Check], unit: &Unit) -> Review {
    let mut review = Review::default();
    let mut solved = Vec::new();
    let mut defaults = BTreeMap::new();
    for (v, variant) in unit.variants.iter().enumerate() {
        let one = Solved::new(variant);
        let (mut verdicts, broken) = judge(checks, &one);
        explain_missing(&mut verdicts, &one);
        let said = |(check, said)| BrokenCheck { check, variant_name: variant.name.clone(), said };
        review.broken_checks.extend(broken.into_iter().map(said));
        review.unsolved.extend(unsolved(v, variant, &one));
        count(&mut review.counts, &verdicts);
        assumed(checks, &one, &verdicts, &mut defaults);
        review.verdicts.push(verdicts);
        solved.push(one);
    }
    review.findings = findings(checks, unit, &solved, &review.verdicts, &mut review.broken_checks);
    review.not_judged = not_judged(&unit.variants, &review.verdicts);
    review.assumed = by_weight(defaults);
    review
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

/// A group with its worst verdict.
struct Ranked<'u> {
    key: Key<'u>,
    group: Group,
    variant: usize,
    worst: usize,
}

/// All findings: gravest first, then the least headroom, then by path.
fn findings(
    checks: &[&'static dyn Check],
    unit: &Unit,
    solved: &[Solved<'_>],
    verdicts: &[Vec<Verdict>],
    broken: &mut Vec<BrokenCheck>,
) -> Vec<Finding> {
    let mut ranked: Vec<Ranked<'_>> = groups(&unit.variants, verdicts)
        .into_iter()
        .filter_map(|(key, group)| {
            let (variant, worst) = worst(&group, verdicts)?;
            Some(Ranked { key, group, variant, worst })
        })
        .collect();
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
    let mut answers: Vec<Option<Answer>> = ranked.iter().map(|_| None).collect();
    for (v, (own, own_verdicts)) in solved.iter().zip(verdicts).enumerate() {
        let of_variant: Vec<usize> = (0..ranked.len()).filter(|&k| ranked[k].variant == v).collect();
        if of_variant.is_empty() {
            continue;
        }
        let asked: Vec<Asked<'_>> = of_variant
            .iter()
            .filter_map(|&k| {
                let one = &ranked[k];
                Some(Asked {
                    key: one.key,
                    check: named(checks, one.key.check)?,
                    worst: &own_verdicts[one.worst],
                    all: one.group[&v].iter().map(|&place| &own_verdicts[place]).collect(),
                })
            })
            .collect();
        let Some(elsewhere) = Elsewhere::of(checks, v, solved, verdicts) else { continue };
        for (k, answer) in of_variant.into_iter().zip(propose(checks, &asked, own, own_verdicts, &elsewhere))
        {
            answers[k] = Some(answer);
        }
    }
    let mut finished = Vec::new();
    for (one, answer) in ranked.iter().zip(answers) {
        let Some(check) = named(checks, one.key.check) else { continue };
        let mut broke = |check: &'static str, said: String| {
            let variant_name = unit.variants[one.variant].name.clone();
            let one = BrokenCheck { check, variant_name, said };
            if !broken.contains(&one) {
                broken.push(one);
            }
        };
        let mut answer = answer.unwrap_or_default();
        for (check, said) in answer.broke.drain(..) {
            broke(check, said);
        }
        finished.push(finding(one, check, answer, unit, &solved[one.variant], verdicts, &mut broke));
    }
    finished
}

fn named(checks: &[&'static dyn Check], name: &str) -> Option<&'static dyn Check> {
    checks.iter().copied().find(|check| check.about().name == name).or_else(|| by_name(name))
}

fn finding(
    one: &Ranked<'_>,
    check: &dyn Check,
    answer: Answer,
    unit: &Unit,
    solved: &Solved<'_>,
    verdicts: &[Vec<Verdict>],
    broke: &mut dyn FnMut(&'static str, String),
) -> Finding {
    let variant = &unit.variants[one.variant];
    let own = &verdicts[one.variant];
    let worst = &own[one.worst];
    let all: Vec<&Verdict> = one.group[&one.variant].iter().map(|&place| &own[place]).collect();
    let told = guarded(|| check.tell(&Failure { worst, all: &all }, solved))
        .and_then(|told| told.ok_or_else(|| format!("no words for `{}`", worst.defect)))
        .unwrap_or_else(|said| {
            broke(worst.check, said);
            without_words(check, worst, variant)
        });
    let in_worst_duty: Vec<PartId> =
        all.iter().filter(|verdict| verdict.duty == worst.duty).map(|verdict| verdict.part).collect();
    let (also, also_parts) = other_parts(variant, worst.part, &in_worst_duty);
    let (comparison, largest_share, grade) = match &worst.outcome {
        Outcome::Fails { comparison, largest_share, grade } => (*comparison, *largest_share, *grade),
        Outcome::Holds(_) | Outcome::NotJudged(_) => (None, None, crate::verdict::Grade::Note),
    };
    let part = variant.path(worst.part).to_owned();
    let no_proposal = if answer.held.is_empty() {
        let reasons: Vec<String> = [answer.nothing, told.no_proposal].into_iter().flatten().collect();
        Some(if reasons.is_empty() {
            "no change is known that would hold".to_owned()
        } else {
            reasons.join("; ")
        })
    } else {
        None
    };
    Finding {
        check: worst.check,
        defect: worst.defect,
        grade,
        variant: one.variant,
        variant_name: variant.name.clone(),
        verdict: one.worst,
        duty: variant.duty_of(worst.lane).name.clone(),
        corner: corner(variant, worst.lane),
        saying: told.saying,
        comparison,
        largest_share,
        at: told.at,
        because: told.because,
        also,
        also_parts,
        also_in: also_in(one, unit, verdicts),
        worked: comparison.map_or_else(Vec::new, |compared| worked(solved, compared.carried, worst.lane)),
        proposals: answer.held,
        no_proposal,
        estimate: worst.remarks.iter().map(ToString::to_string).collect(),
        fingerprint: fingerprint(worst.check, &part, worst.defect),
        part,
    }
}

/// A failure whose check broke down as it put it into words: what the check says of any such defect.
fn without_words(check: &dyn Check, worst: &Verdict, variant: &Variant) -> Told {
    let mut defects = check.about().defects.iter();
    let line = defects.find(|(defect, _)| *defect == worst.defect).map_or(worst.defect, |(_, line)| line);
    let label = "the check broke down as it put this into words".to_owned();
    Told {
        saying: format!("`{}`: {line}", variant.path(worst.part)),
        at: Place { node: variant.tables.part_of(worst.part).at, label },
        because: Vec::new(),
        no_proposal: None,
    }
}

/// Other duty points in which a group fails, with the variant where it is another one.
fn also_in(one: &Ranked<'_>, unit: &Unit, verdicts: &[Vec<Verdict>]) -> Vec<String> {
    let worst = &verdicts[one.variant][one.worst];
    let mut list: Vec<String> = Vec::new();
    for (&v, places) in &one.group {
        let variant = &unit.variants[v];
        for &place in places {
            let verdict = &verdicts[v][place];
            if v == one.variant && verdict.duty == worst.duty {
                continue;
            }
            let duty = &variant.duty_of(verdict.lane).name;
            let text = match &variant.name {
                Some(name) if v != one.variant => format!("{duty}, {name}"),
                _ => duty.clone(),
            };
            if !list.contains(&text) {
                list.push(text);
            }
        }
    }
    list
}
