//! A review for a person at a terminal: what must be known first, worst first, within a screen.

pub(crate) mod accepted;
pub(crate) mod faults;
pub(crate) mod finding;
mod holding;
mod paint;
mod problem;
pub(crate) mod snippet;
pub(crate) mod window;

use loadworthy_checks::Review;
use loadworthy_checks::review::{Assumed, Counts, Finding, NotJudged, Unsolved};
use loadworthy_checks::verdict::Grade;

use crate::described::{Described, MORE_PROBLEMS};
use crate::permits::Day;
use crate::reviewed::Made;
use crate::show::cautions;
use crate::show::layout::{WIDTH, counted, free_text, hanging, width};
use crate::show::places;

pub(crate) use paint::Paint;
pub(crate) use problem::problems;

/// Findings that the first screen shows.
const FIRST: usize = 8;
/// Missing inputs, assumptions and the like that the first screen shows.
const FIRST_LINES: usize = 12;
/// Parts that a line names.
const FIRST_PARTS: usize = 6;
const MARGIN: usize = 13;

/// What a review never is.
pub(crate) const CAUTION: &str =
    "A concept-stage aid: standards in force, local codes, qualified people decide.";

/// A review.
pub(crate) fn review(Made { described, review, besides }: &Made, all: bool, paint: Paint) -> String {
    let day = besides.day;
    let mut text = heading(described, paint);
    text.push_str(&summary(described, review));
    text.push_str("\n\n");
    text.push_str(&problem::problems(&described.tree, &described.problems, all, paint));
    text.push_str(&findings(described, review, day, all, paint));
    let in_full = |finding: &Finding| finding::finding(described, finding, day, all, paint);
    text.push_str(&accepted::accepted(described, review, day, in_full, all, paint));
    if let Some(walks) = &besides.faults {
        text.push_str(&faults::faults(walks, all, paint));
    }
    let mut lines = Vec::new();
    lines.extend(review.unsolved.iter().filter(|one| one.largest.is_none()).map(|one| undecided(one, paint)));
    lines.extend(review.not_judged.iter().map(|one| not_judged(described, one, paint)));
    lines.extend(nothing_judged(described, review).map(|line| paint.wrong("not judged", &line)));
    lines.extend(broken_checks(review, paint));
    text.push_str(&block(&lines, "not judged for another reason", all));
    if review.counts != Counts::default() {
        text.push_str(&assumptions(review, all, paint));
        text.push_str(&unjudged(described, paint));
    }
    if all {
        text.push_str(&holding::holding(described, review, paint));
    }
    for caution in cautions::of(review).into_iter().chain([CAUTION]) {
        text.push_str(&paint.faint(caution));
        text.push('\n');
    }
    text
}

/// One line about a review, for a script's log.
pub(crate) fn one_line(Made { described, review, .. }: &Made) -> String {
    format!("{}   {}\n", summary(described, review), described.name)
}

/// What is reviewed, and over what.
pub(crate) fn heading(described: &Described, paint: Paint) -> String {
    let unit = &described.unit;
    let name = unit.name.as_deref().map_or_else(|| described.name.clone(), free_text);
    let name = match unit.revision.as_deref() {
        Some(revision) => format!("{name}, revision {}", free_text(revision)),
        None => name,
    };
    let duties = unit.variants.iter().map(|variant| variant.duties.len()).max().unwrap_or_default();
    let variants = unit.variants.iter().filter(|variant| variant.name.is_some()).count();
    let mut over = vec![counted(duties, "duty point", "duty points")];
    if let Some(edition) = unit.edition {
        over.insert(0, format!("edition {edition}"));
    }
    if variants > 0 {
        over.push(counted(variants, "variant", "variants"));
    }
    let over = over.join(", ");
    // A name is somebody's text and never begins a line.
    let free = WIDTH.saturating_sub(6 + width(&name) + width(&over));
    let text = if free >= 3 {
        format!("unit  {name}{}{over}\n", " ".repeat(free))
    } else {
        format!("{}{}", hanging("unit", 6, &name), hanging("", 6, &over))
    };
    paint.heading("unit", &text)
}

/// How many verdicts hold, fail, and could not be given.
pub(crate) fn summary(described: &Described, review: &Review) -> String {
    let counts = review.counts;
    let mut parts = Vec::new();
    if !described.problems.is_empty() {
        let listed = described.problems.iter().filter(|problem| problem.kind != MORE_PROBLEMS).count();
        let problems = counted(listed, "problem", "problems");
        parts.push(if listed < described.problems.len() {
            format!("more than {problems}")
        } else {
            problems
        });
    }
    parts.push(format!("{} hold", counts.hold));
    parts.push(match counts.accepted {
        0 => format!("{} fail", counts.fail),
        accepted => format!("{} fail, {accepted} accepted", counts.fail),
    });
    parts.push(format!("{} not judged", counts.not_judged));
    let grades = [Grade::Major, Grade::Minor, Grade::Note].into_iter().filter_map(|grade| {
        let number = review.findings.iter().filter(|finding| finding.grade == grade).count();
        (number > 0).then(|| format!("{number} {}", grade.word()))
    });
    let grades = grades.collect::<Vec<_>>();
    if !grades.is_empty() {
        let noun = if review.findings.len() == 1 { "finding" } else { "findings" };
        parts.push(format!("{noun}: {}", grades.join(", ")));
    }
    parts.join("   ")
}

fn findings(described: &Described, review: &Review, day: Option<Day>, all: bool, paint: Paint) -> String {
    let mut text = String::new();
    let shown = if all { review.findings.len() } else { FIRST };
    for finding in review.findings.iter().take(shown) {
        text.push_str(&finding::finding(described, finding, day, all, paint));
        text.push('\n');
    }
    if review.findings.len() > shown {
        text.push_str(&format!("+{} more, `--all`\n\n", review.findings.len() - shown));
    }
    text
}

fn not_judged(described: &Described, one: &NotJudged, paint: Paint) -> String {
    paint.heading("not judged", &hanging("not judged", MARGIN, &waiting(described, one)))
}

/// What waits for a missing input, and where that would stand.
pub(crate) fn waiting(described: &Described, one: &NotJudged) -> String {
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
    if let Some(near) = one.near {
        text.push_str(&format!("; {}", places::in_short(&described.tree, near)));
    }
    text
}

/// The first parts of a list.
fn parts(all: &[String]) -> String {
    let mut text = all.iter().take(FIRST_PARTS).map(String::as_str).collect::<Vec<_>>().join(", ");
    if all.len() > FIRST_PARTS {
        text.push_str(&format!(" and {} more", all.len() - FIRST_PARTS));
    }
    text
}

fn undecided(one: &Unsolved, paint: Paint) -> String {
    paint.heading("undecided", &hanging("undecided", MARGIN, &no_answer(one)))
}

/// Where neither a solution nor its absence was found.
pub(crate) fn no_answer(one: &Unsolved) -> String {
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
fn nothing_judged(described: &Described, review: &Review) -> Option<String> {
    judges_nothing(described, review).map(|text| hanging("not judged", MARGIN, &text))
}

/// Why nothing was judged in a duty point, where nothing was.
pub(crate) fn judges_nothing(described: &Described, review: &Review) -> Option<String> {
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

fn broken_checks(review: &Review, paint: Paint) -> Vec<String> {
    let line = |one: &loadworthy_checks::review::BrokenCheck| {
        let variant =
            one.variant_name.as_ref().map_or_else(String::new, |name| format!(" on variant {name}"));
        let text = format!(
            "{} broke down{variant}, which is a defect of this program: {}",
            one.check,
            free_text(&one.said)
        );
        paint.wrong("not judged", &hanging("not judged", MARGIN, &text))
    };
    review.broken_checks.iter().map(line).collect()
}

fn assumptions(review: &Review, all: bool, paint: Paint) -> String {
    let (deciding, silent): (Vec<&Assumed>, Vec<&Assumed>) =
        review.assumed.iter().partition(|one| !one.decides.is_empty());
    let mut lines = deciding.iter().map(|one| assumption(one, paint)).collect::<Vec<_>>();
    if all {
        lines.extend(silent.iter().map(|one| assumption(one, paint)));
    } else {
        let tried = silent.iter().filter(|one| one.tried).count();
        for (number, one, several) in [
            (tried, "decides nothing here", "decide nothing here"),
            (silent.len() - tried, "was not tried over a usual range", "were not tried over a usual range"),
        ] {
            if number > 0 {
                let what = if number == 1 { one } else { several };
                let text =
                    format!("{} of the edition that {what}, `--all`", counted(number, "default", "defaults"));
                lines.push(paint.heading("assumed", &hanging("assumed", MARGIN, &text)));
            }
        }
    }
    block(&lines, "assumed", true)
}

fn assumption(one: &Assumed, paint: Paint) -> String {
    let mut text = one.value.clone();
    if let Some(usual) = &one.usual {
        text.push_str(&format!(" (usual {usual})"));
    }
    text.push_str(&format!(": {}", one.why));
    if let [first, more @ ..] = one.paths.as_slice() {
        text.push_str(&format!("\nat {first}"));
        if !more.is_empty() {
            text.push_str(&format!(" and {} more", more.len()));
        }
    }
    if !one.tried {
        text.push_str("\nnot tried over a usual range");
    }
    for decided in one.decides.iter().take(FIRST_LINES) {
        text.push_str(&format!("\ndecides: {decided}"));
    }
    if one.decides.len() > FIRST_LINES {
        text.push_str(&format!("\ndecides {} more", one.decides.len() - FIRST_LINES));
    }
    paint.heading("assumed", &hanging("assumed", MARGIN, &text))
}

/// What is stated and judged by nothing yet; one line, so that nobody takes silence for a pass.
fn unjudged(described: &Described, paint: Paint) -> String {
    let stated = &described.unit.unjudged;
    if stated.is_empty() {
        return String::new();
    }
    let text = format!("and judged by nothing yet: {}", stated.join(", "));
    block(&[paint.heading("stated", &hanging("stated", MARGIN, &text))], "stated", true)
}

/// Lines that belong together, or the first of them and how many more there are.
fn block(lines: &[String], what: &str, all: bool) -> String {
    let shown = if all { lines.len() } else { FIRST_LINES };
    let mut text = lines.iter().take(shown).map(String::as_str).collect::<String>();
    if lines.len() > shown {
        text.push_str(&format!("+{} more {what}, `--all`\n", lines.len() - shown));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}
