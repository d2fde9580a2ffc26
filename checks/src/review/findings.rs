//! Findings: what a group of failures says, with its proposals, its working and where else it fails.

use std::collections::BTreeMap;

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{PartId, Solved, Unit, Variant};

use super::anew::Described;
use super::elsewhere::Elsewhere;
use super::fingerprint::fingerprint;
use super::group::{corner, first_two, other_parts};
use super::judge::{Broke, guarded, tell_broken};
use super::not_judged::KeptOpen;
use super::propose::{Answer, Asked, propose};
use super::ranked::Ranked;
use super::worked::worked;
use super::{AlsoIn, BrokenCheck, Finding, Place};
use crate::check::{Check, Failure, Told};
use crate::list::by_name;
use crate::verdict::{Fault, Outcome, Verdict};

/// The findings, in the order of the ranking, with what is proposed and how the figures come about, by their places in it.
pub(super) fn findings(
    unit: &Unit,
    described: &Described<'_, '_>,
    ranked: &[Ranked<'_>],
    (mut answers, mut how): (BTreeMap<usize, Answer>, BTreeMap<usize, Vec<String>>),
    broken: &mut Vec<BrokenCheck>,
) -> Vec<Finding> {
    let (checks, solved, verdicts) = (described.checks, described.solved, described.verdicts);
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
pub(super) fn kept_open<'u>(described: &Described<'_, 'u>, ranked: &[Ranked<'_>]) -> Vec<KeptOpen<'u>> {
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
        let outruns = what.iter().flat_map(|&what| one.group.keys().map(move |&v| (v, entry, what)));
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

/// What is proposed for each of the ranking that is open. What is accepted asks for nothing.
pub(super) fn answers(described: &Described<'_, '_>, ranked: &[Ranked<'_>]) -> BTreeMap<usize, Answer> {
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
pub(super) fn worked_of(
    described: &Described<'_, '_>,
    ranked: &[Ranked<'_>],
) -> BTreeMap<usize, Vec<String>> {
    let mut all = BTreeMap::new();
    for (v, (solved, verdicts)) in described.solved.iter().zip(described.verdicts).enumerate() {
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
    let mut facts = told.facts;
    facts.extend(along(one, all_solved, verdicts));
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
        facts,
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

/// What is told with a finding, because one cause brings both, in the words of its own check.
fn along(one: &Ranked<'_>, solved: &[Solved<'_>], verdicts: &[Vec<Verdict>]) -> Vec<String> {
    let said = |&(v, place): &(usize, usize)| {
        let worst = &verdicts[v][place];
        let check = by_name(worst.check)?;
        let failure = Failure { worst, all: &[worst], unit: solved };
        let told = guarded(|| check.tell(&failure, &solved[v])).ok().flatten()?;
        Some(format!("with it {}: {}", worst.check, told.saying))
    };
    one.along.iter().filter_map(said).collect()
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
