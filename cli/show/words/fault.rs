//! What is said of a single fault.

use loadworthy_checks::faults::{Effect, Fault, FaultWalk, Worse};
use loadworthy_checks::figure_text;

use crate::show::layout::counted;

/// Parts or duty points that a line names.
const MOST_NAMED: usize = 6;

/// A line about what comes of a fault; of several with one lead only the first has it.
#[derive(Debug)]
pub(crate) struct Line {
    pub(crate) lead: &'static str,
    pub(crate) said: String,
}

/// The parts that may fail, a line for each kind.
pub(crate) fn title(fault: &Fault) -> String {
    let causes =
        fault.causes.iter().map(|(kind, names)| format!("{}   {}", kind.words(), named(names, None)));
    causes.collect::<Vec<_>>().join("\n")
}

/// What comes of it.
pub(crate) fn lines(walk: &FaultWalk, fault: &Fault) -> Vec<Line> {
    let Effect { cut_off, stops, dead, not_served, unsolved, worse, discharge, says, .. } = &fault.effect;
    let mut lines: Vec<Line> = Vec::new();
    let mut put = |lead: &'static str, said: String| lines.push(Line { lead, said });
    for (place, said) in says.iter().enumerate() {
        put(if place == 0 { "then" } else { "" }, said.clone());
    }
    if !cut_off.is_empty() {
        put("cut off", named(cut_off, None));
    }
    if !stops.is_empty() {
        put("stops", named(stops, Some(walk.stages)));
    }
    if !dead.is_empty() {
        put("without feed", named(dead, None));
    }
    if !not_served.is_empty() {
        put("not served", named(not_served, Some(walk.duties)));
    }
    if !unsolved.is_empty() {
        put("no solution", named(unsolved, Some(walk.duties)));
    }
    for (place, one) in worse.iter().enumerate() {
        put(if place == 0 { "fails then" } else { "" }, worse_text(one));
    }
    for (place, said) in open(&fault.effect).into_iter().enumerate() {
        put(if place == 0 { "open" } else { "" }, said);
    }
    for (place, one) in discharge.iter().enumerate() {
        put(if place == 0 { "discharge" } else { "" }, one.clone());
    }
    if let Some(said) = left(walk, &fault.effect) {
        put("left", said.to_owned());
    }
    lines
}

/// Comparisons that are open, a line for those that were judged without the fault, and one for those that were not.
pub(crate) fn open(effect: &Effect) -> Vec<String> {
    let said = [
        (effect.unjudged, "not judged any more"),
        (effect.still_open, "judged neither with the fault nor without it"),
    ];
    let some = said.into_iter().filter(|&(number, _)| 0 < number);
    some.map(|(number, said)| format!("{} {said}", counted(number, "comparison", "comparisons"))).collect()
}

/// How what is left stands. What is not judged may fail as well as hold.
pub(crate) fn left(walk: &FaultWalk, effect: &Effect) -> Option<&'static str> {
    let is_unjudged = 0 < effect.unjudged + effect.still_open;
    let is_open = is_unjudged || effect.is_open;
    let is_left = !effect.stops.is_empty() && effect.stops.len() < walk.stages;
    match (effect.is_solved, is_open) {
        _ if !effect.worse.is_empty() || !effect.unsolved.is_empty() => None,
        (true, false) => Some("what is left was solved again, and nothing fails that did not before"),
        (true, true) => Some(
            "what is left was solved again as far as it is known; among what is judged no failure is new",
        ),
        (false, _) if is_unjudged => {
            Some("nothing of what is left has a solution, so that nothing is known of it")
        }
        (false, _) if is_left => Some("what is left was not solved again: the unit is too large for it"),
        (false, _) => None,
    }
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
