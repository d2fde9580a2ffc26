//! What is said of a review as a whole, and of what it could not judge.

use loadworthy_checks::Review;
use loadworthy_checks::figure_text;
use loadworthy_checks::review::{BrokenCheck, Counts, Finding, LeftOut, NotJudged, Unsolved};
use loadworthy_unit::Dimension;

use crate::described::{Described, MORE_PROBLEMS};
use crate::show::layout::{counted, free_text};
use crate::tally::ByGrade;

/// Parts that a line names.
const FIRST_PARTS: usize = 6;

/// How many problems a description has, where it has any.
pub(crate) fn problems(described: &Described) -> Option<String> {
    if described.problems.is_empty() {
        return None;
    }
    let listed = described.problems.iter().filter(|problem| problem.kind != MORE_PROBLEMS).count();
    let problems = counted(listed, "problem", "problems");
    Some(if listed < described.problems.len() { format!("more than {problems}") } else { problems })
}

/// How many findings there are of each grade, such as `findings: 1 major, 2 notes`.
pub(crate) fn grades(findings: &[Finding]) -> Option<String> {
    grades_of(ByGrade::of(findings))
}

/// The same, of findings that were counted.
pub(crate) fn grades_of(ByGrade { major, minor, note }: ByGrade) -> Option<String> {
    let noun = if major + minor + note == 1 { "finding" } else { "findings" };
    numbers_of(ByGrade { major, minor, note }).map(|numbers| format!("{noun}: {numbers}"))
}

/// How many there are of each grade, such as `1 major, 2 notes`.
fn numbers_of(ByGrade { major, minor, note }: ByGrade) -> Option<String> {
    let grades = [(major, "major", "major"), (minor, "minor", "minor"), (note, "note", "notes")];
    let grades = grades.into_iter().filter(|(number, ..)| *number > 0);
    let grades = grades.map(|(number, one, several)| counted(number, one, several)).collect::<Vec<_>>();
    (!grades.is_empty()).then(|| grades.join(", "))
}

/// Problems and findings by grade, such as `1 problem, 2 minor`.
pub(crate) fn found(described: &Described, review: &Review) -> Option<String> {
    let grades = numbers_of(ByGrade::of(&review.findings));
    let parts = problems(described).into_iter().chain(grades).collect::<Vec<_>>();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// How many verdicts hold, fail, and could not be given, such as `5 hold`, `3 fail, of which 1 accepted`, `0 not judged`.
pub(crate) fn verdicts(counts: &Counts) -> [String; 3] {
    let accepted = match counts.accepted {
        0 => String::new(),
        accepted => format!(", of which {accepted} accepted"),
    };
    [
        format!("{} hold", counts.hold),
        format!("{} fail{accepted}", counts.fail),
        format!("{} not judged", counts.not_judged),
    ]
}

/// What is missing, and what waits for it; where it would stand, each form says in its own way.
pub(crate) fn not_judged(described: &Described, one: &NotJudged) -> String {
    let waiting = counted(one.verdicts, "verdict", "verdicts");
    let mut text =
        format!("{}: {waiting} of {} on {}", one.missing, one.checks.join(", "), parts(&one.parts));
    let variants = &described.unit.variants;
    let is_everywhere = variants.iter().all(|variant| variant.duties.len() == one.duties.len());
    if is_everywhere && one.duties.len() > 1 {
        text.push_str(" in every duty point");
    } else if !one.duties.is_empty() {
        text.push_str(&format!(" in {}", one.duties.join(", ")));
    }
    // That it is so in all of them needs no list.
    if !one.variants.is_empty() && one.variants.len() < variants.len() {
        text.push_str(&format!(" ({})", one.variants.join(", ")));
    }
    text
}

/// What is left out, in one sentence.
pub(crate) fn left_out(one: &LeftOut) -> String {
    let sections = one.sections.join(", ");
    let volts = figure_text::value(one.voltage, Dimension::Voltage);
    format!("{sections}: not stated with up to {volts} on {}, so nothing of that is judged", one.bus)
}

/// The first parts of a list.
fn parts(all: &[String]) -> String {
    let mut text = all.iter().take(FIRST_PARTS).map(String::as_str).collect::<Vec<_>>().join(", ");
    if all.len() > FIRST_PARTS {
        text.push_str(&format!(" and {} more", all.len() - FIRST_PARTS));
    }
    text
}

/// A duty point of which neither a solution nor its absence was found.
pub(crate) fn undecided(one: &Unsolved) -> String {
    let mut lane = one.duty.clone();
    if let Some(corner) = &one.corner {
        lane.push_str(&format!(" ({corner})"));
    }
    if let Some(variant) = &one.variant_name {
        lane.push_str(&format!(", {variant}"));
    }
    format!("{lane}: neither a solution nor its absence was found, at {}", one.path)
}

/// A review in which nothing was judged must not read as one in which everything holds.
pub(crate) fn nothing_judged(described: &Described, review: &Review) -> Option<String> {
    if review.judges_a_duty_point() || !review.unsolved.is_empty() {
        return None;
    }
    let variants = &described.unit.variants;
    let why = if variants.is_empty() {
        "the description could not be read"
    } else if variants.iter().all(|variant| variant.duties.is_empty()) {
        "no duty point could be read, so nothing is carried"
    } else if variants.iter().all(|variant| variant.plan.stages.is_empty()) {
        "no stage could be read"
    } else {
        "no duty point asks anything of a stage"
    };
    let what = if review.counts == Counts::default() { "nothing" } else { "nothing but the structure" };
    Some(format!("{what}: {why} ({})", described.name))
}

/// A check that broke down.
pub(crate) fn broken_check(one: &BrokenCheck) -> String {
    let variant = one.variant_name.as_ref().map_or_else(String::new, |name| format!(" on variant {name}"));
    format!("{} broke down{variant}, which is a defect of this program: {}", one.check, free_text(&one.said))
}
