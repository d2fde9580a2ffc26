//! The single faults of a unit and what comes of each, worst first.

use loadworthy_checks::faults::{Effect, Fault, FaultWalk, Worse};
use loadworthy_checks::figure_text;

use crate::show::layout::{counted, hanging};

use super::paint::Paint;

/// Faults that are shown unless all are asked for.
const FIRST: usize = 12;
/// Parts or duty points that a line names.
const MOST_NAMED: usize = 6;
const MARGIN: usize = 7;
const BELOW: usize = MARGIN + 14;

/// The walks of all variants; one that comes to the same as the first is not told again.
pub(super) fn faults(walks: &[FaultWalk], all: bool, paint: Paint) -> String {
    let mut text = String::new();
    for (place, walk) in walks.iter().enumerate() {
        let name = walk.variant_name.as_ref().map_or_else(String::new, |name| format!(" of variant {name}"));
        let same = walks[..place].iter().find(|other| other.faults == walk.faults);
        let number: usize = walk.faults.iter().map(Fault::count).sum();
        let said = match same.and_then(|other| other.variant_name.as_ref()) {
            Some(other) => format!("single faults{name}: as of {other}"),
            None if number == 0 => format!("single faults{name}: nothing is declared that could fail"),
            None => {
                format!(
                    "{}{name}, one at a time, worst first; none counts as a finding",
                    counted(number, "single fault", "single faults")
                )
            }
        };
        text.push_str(&paint.heading("faults", &hanging("faults", MARGIN, &said)));
        text.push('\n');
        if same.is_some() {
            continue;
        }
        let shown = if all { walk.faults.len() } else { FIRST };
        for one in walk.faults.iter().take(shown) {
            text.push_str(&fault(walk, one, paint));
        }
        if walk.faults.len() > shown {
            text.push_str(&format!("+{} more faults, `--all`\n", walk.faults.len() - shown));
        }
        text.push('\n');
    }
    text
}

fn fault(walk: &FaultWalk, fault: &Fault, paint: Paint) -> String {
    let causes =
        fault.causes.iter().map(|(kind, names)| format!("{}   {}", kind.words(), named(names, None)));
    let title = causes.collect::<Vec<_>>().join("\n");
    let mut text = paint.heading("fault", &hanging("fault", MARGIN, &title));
    let Effect { stops, dead, not_served, unsolved, worse, unjudged, discharge, says, .. } = &fault.effect;
    let mut put = |margin: &str, line: &str| {
        text.push_str(&hanging(&format!("{}{margin}", " ".repeat(MARGIN)), BELOW, line));
    };
    for (place, said) in says.iter().enumerate() {
        put(if place == 0 { "then" } else { "" }, said);
    }
    if !stops.is_empty() {
        put("stops", &named(stops, Some(walk.stages)));
    }
    if !dead.is_empty() {
        put("without feed", &named(dead, None));
    }
    if !not_served.is_empty() {
        put("not served", &named(not_served, Some(walk.duties)));
    }
    if !unsolved.is_empty() {
        put("no solution", &named(unsolved, Some(walk.duties)));
    }
    for (place, one) in worse.iter().enumerate() {
        put(if place == 0 { "fails then" } else { "" }, &worse_text(one));
    }
    if *unjudged > 0 {
        put("open", &format!("{} not judged any more", counted(*unjudged, "comparison", "comparisons")));
    }
    for (place, one) in discharge.iter().enumerate() {
        put(if place == 0 { "discharge" } else { "" }, one);
    }
    let is_left = !stops.is_empty() && stops.len() < walk.stages;
    if fault.effect.is_solved && worse.is_empty() && unsolved.is_empty() {
        put("left", "what is left was solved again, and nothing fails that did not before");
    } else if !fault.effect.is_solved && is_left {
        put("left", "what is left was not solved again: the unit is too large for it");
    }
    text
}

pub(crate) fn worse_text(worse: &Worse) -> String {
    let mut text = format!("{} of {}", worse.check, worse.part);
    if let Some(duty) = &worse.duty {
        text.push_str(&format!(" in {duty}"));
    }
    if let Some(compared) = &worse.comparison {
        let shown = figure_text::comparison(compared);
        text.push_str(&format!(": carried {}, allowed {}, {}", shown.carried, shown.allowed, shown.headroom));
    }
    format!("{text} ({})", worse.grade.word())
}

/// Names, the first of them where they are many; that they are all is said in a word.
pub(crate) fn named(names: &[String], of: Option<usize>) -> String {
    if of == Some(names.len()) && 1 < names.len() {
        return format!("all {}: {}", names.len(), named(names, None));
    }
    let mut text = names.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
    if names.len() > MOST_NAMED {
        text.push_str(&format!(" and {} more", names.len() - MOST_NAMED));
    }
    text
}
