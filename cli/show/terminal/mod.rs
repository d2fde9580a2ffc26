//! A review for a person at a terminal: what must be known first, worst first, within a screen.

pub(crate) mod accepted;
pub(crate) mod faults;
pub(crate) mod finding;
mod holding;
mod paint;
pub(crate) mod permits;
mod problem;
pub(crate) mod snippet;
pub(crate) mod table;
pub(crate) mod window;

use loadworthy_checks::Review;
use loadworthy_checks::review::{Assumed, Counts, Finding};

use crate::described::Described;
use crate::permits::Day;
use crate::reviewed::Made;
use crate::show::cautions;
use crate::show::layout::{WIDTH, counted, free_text, hanging, width};
use crate::show::places;
use crate::show::words;

pub(crate) use paint::Paint;
pub(crate) use problem::problems;
pub(crate) use snippet::{Mark, snippet};

/// Findings that the first screen shows.
const FIRST: usize = 8;
/// Missing inputs, assumptions and the like that the first screen shows.
const FIRST_LINES: usize = 12;
const MARGIN: usize = 13;

/// What a review never is.
pub(crate) const CAUTION: &str =
    "A concept-stage aid: standards in force, local codes, qualified people decide.";

/// A review.
pub(crate) fn review(Made { described, review, besides }: &Made, all: bool, paint: Paint) -> String {
    let day = besides.day;
    let mut text = heading(described, paint);
    let note = described.unit.note.as_deref().map(free_text).filter(|note| !note.trim().is_empty());
    text.push_str(&note.map_or_else(String::new, |note| hanging("", 6, &note)));
    text.push_str(&summary(described, review));
    text.push_str("\n\n");
    text.push_str(&problem::problems(&described.tree, &described.problems, all, paint));
    text.push_str(&findings(described, review, day, all, paint));
    let in_full = |finding: &Finding| finding::finding(described, finding, day, all, paint);
    text.push_str(&accepted::accepted(described, review, day, in_full, all, paint));
    if let Some(walks) = &besides.faults {
        text.push_str(&faults::faults(walks, all, paint));
    }
    let lines = unjudged_lines(described, review, paint);
    text.push_str(&block(&lines, "not judged for another reason", all));
    if review.counts != Counts::default() {
        text.push_str(&assumptions(review, all, paint));
        text.push_str(&unjudged(described, paint));
        text.push_str(&left_out(review, paint));
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
    let unread = unit.variants.iter().map(|variant| variant.unread_duties).max().unwrap_or_default();
    if unread > 0 {
        over.push(format!("{unread} more not read, in which nothing is judged"));
    }
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
    let mut parts = Vec::new();
    parts.extend(words::review::problems(described));
    parts.extend(words::review::verdicts(&review.counts));
    parts.extend(words::review::grades(&review.findings));
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

/// Lines about what was not judged, each with its word in the margin.
fn unjudged_lines(described: &Described, review: &Review, paint: Paint) -> Vec<String> {
    let undecided = review.unsolved.iter().filter(|one| one.largest.is_none());
    let undecided = undecided
        .map(|one| paint.heading("undecided", &hanging("undecided", MARGIN, &words::review::undecided(one))));
    let line = |text: String| hanging("not judged", MARGIN, &text);
    let missing = review.not_judged.iter().map(|one| {
        let near = one.near.map(|near| format!("; {}", places::in_short(&described.tree, near)));
        let text = words::review::not_judged(described, one) + &near.unwrap_or_default();
        paint.heading("not judged", &line(text))
    });
    let nothing = words::review::nothing_judged(described, review);
    let broken = review.broken_checks.iter().map(words::review::broken_check);
    let wrong = nothing.into_iter().chain(broken).map(|text| paint.wrong("not judged", &line(text)));
    undecided.chain(missing).chain(wrong).collect()
}

fn assumptions(review: &Review, all: bool, paint: Paint) -> String {
    let (deciding, silent): (Vec<&Assumed>, Vec<&Assumed>) =
        review.assumed.iter().partition(|one| !one.decides.is_empty());
    let mut lines = deciding.iter().map(|one| assumption(one, paint)).collect::<Vec<_>>();
    if all {
        lines.extend(silent.iter().map(|one| assumption(one, paint)));
    } else {
        // One without a usual range has nothing to be tried over, and stands in the list.
        let untried = silent.iter().filter(|one| one.usual.is_some() && !one.tried).count();
        for (number, one, several) in [
            (silent.len() - untried, "decides nothing here", "decide nothing here"),
            (untried, "was not tried over its usual range", "were not tried over their usual ranges"),
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
    text.push_str(match (&one.usual, one.tried) {
        (None, _) => "\nwithout a usual range to be tried over",
        (Some(_), false) => "\nnot tried over its usual range",
        (Some(_), true) => "",
    });
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

/// Sections that a unit with high voltage does not state; one line.
fn left_out(review: &Review, paint: Paint) -> String {
    let Some(one) = &review.left_out else { return String::new() };
    let text = words::review::left_out(one);
    block(&[paint.heading("left out", &hanging("left out", MARGIN, &text))], "left out", true)
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
