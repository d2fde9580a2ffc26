//! The table of headrooms within tolerances for a person at a terminal.

use std::collections::BTreeMap;

use loadworthy_checks::figure_text::{self, value};
use loadworthy_checks::tolerance::{By, Left, Varied};

use crate::described::Described;
use crate::show::layout::{counted, free_text, hanging, width};
use crate::show::stress::legs::{Positions, Seat, drawn};
use crate::show::stress::rows::what;
use crate::show::terminal::{self, CAUTION, Paint};
use crate::show::words::permit::NOT_HELD;

use super::{Row, Tolerances};

const FIRST: usize = 20;
const MARGIN: usize = 13;
/// Room for the word of what fails in its worst case.
const MARK: usize = 7;
const FAILS: &str = "fails";
const COLUMN: usize = 11;

/// The table.
pub(crate) fn table(described: &Described, tolerances: &Tolerances<'_>, all: bool, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    let lines = lines(tolerances);
    let shown = if all { lines.len() } else { FIRST.min(lines.len()) };
    text.push_str(
        &paint.heading("tolerance", "tolerance, each part where its worst case is worst, worst first\n"),
    );
    text.push_str(&format!(
        "{}{}   part   what is compared\n",
        " ".repeat(MARK),
        columns(["described", "all bad", "rss"])
    ));
    for line in &lines[..shown] {
        let text_of = if line.fails { paint.wrong(FAILS, &line.text) } else { line.text.clone() };
        text.push_str(&text_of);
    }
    if lines.len() > shown {
        text.push_str(&format!("+{} more, `--all`\n", lines.len() - shown));
    }
    text.push('\n');
    text.push_str(&varied(tolerances, all, paint));
    if !described.unit.permits.is_empty() {
        text.push_str(&paint.faint(NOT_HELD));
        text.push('\n');
    }
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

/// Lines of the table that differ by their leg alone are one.
struct Line {
    fails: bool,
    text: String,
}

fn lines(tolerances: &Tolerances<'_>) -> Vec<Line> {
    let mut positions: BTreeMap<Option<&str>, Positions> = BTreeMap::new();
    let mut places: BTreeMap<(String, [String; 5]), usize> = BTreeMap::new();
    let mut all: Vec<(&Row<'_>, Seat<'_>, Vec<&str>, Vec<&str>)> = Vec::new();
    for row in tolerances.worst() {
        let known =
            positions.entry(row.variant.name.as_deref()).or_insert_with(|| Positions::of(row.variant));
        let seat = known.seat(row.variant, row.verdict.part);
        let [described, bad, rss] = numbers(row);
        let stage = seat.before.split_once('.').filter(|_| !seat.leg.is_empty());
        let before = stage.map_or(seat.before, |(stage, _)| stage);
        let own = (
            format!("{before}|{}|{}", seat.behind, row.verdict.check),
            [row.verdict.defect.to_owned(), row.duty().to_owned(), described, bad, rss],
        );
        let place = *places.entry(own).or_insert(all.len());
        if place == all.len() {
            all.push((row, seat.clone(), Vec::new(), Vec::new()));
        }
        let (_, first, legs, also) = &mut all[place];
        match stage {
            Some((_, side)) if first.before != seat.before => {
                if !also.contains(&side) {
                    also.push(side);
                }
            }
            _ => legs.push(seat.leg),
        }
    }
    let shown = |(row, seat, legs, also): &(&Row<'_>, Seat<'_>, Vec<&str>, Vec<&str>)| {
        let mut parts = drawn(seat.before, legs, seat.behind);
        if !also.is_empty() {
            parts.push_str(&format!(" (also {})", also.join(", ")));
        }
        line(tolerances, row, &parts)
    };
    all.iter().map(shown).collect()
}

/// Headroom as described, with all values at their bad ends, and by the root of the sum of squares.
fn numbers(row: &Row<'_>) -> [String; 3] {
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    let text = |headroom: f64| {
        if is_in_kelvin { figure_text::kelvins(headroom) } else { figure_text::percent(headroom) }
    };
    let shifts = &row.shifts;
    let all_bad = match shifts.solved {
        Left::Headroom(headroom) => text(headroom),
        Left::Unsolved => "no solution".to_owned(),
        Left::NotJudged => "not known".to_owned(),
        Left::Nothing => "goes away".to_owned(),
    };
    let rss = if shifts.root_sum_square.is_finite() {
        text(shifts.root_sum_square)
    } else {
        "no solution".to_owned()
    };
    [text(shifts.headroom), all_bad, rss]
}

fn columns<T: AsRef<str>>(texts: [T; 3]) -> String {
    let right =
        |text: &T| format!("{}{}", " ".repeat(COLUMN.saturating_sub(width(text.as_ref()))), text.as_ref());
    texts.iter().map(right).collect()
}

fn line(tolerances: &Tolerances<'_>, row: &Row<'_>, parts: &str) -> Line {
    let fails = row.shifts.solved.fails();
    let mark = if fails { FAILS } else { "" };
    let margin = format!("{mark}{}{}", " ".repeat(MARK - width(mark)), columns(numbers(row)));
    let takers = tolerances.takers(row).into_iter().filter(|(_, takes, _)| is_noticeable(row, *takes));
    let at = |varied: &Varied, at_high: bool| {
        let end = value(if at_high { varied.ends.1 } else { varied.ends.0 }, varied.dimension);
        format!("{} at {end}", named(varied))
    };
    let takers =
        takers.map(|(varied, takes, at_high)| format!("{} by {}", taken(row, takes), at(varied, at_high)));
    let unknown = tolerances.unknown(row).map(|(varied, at_high)| at(varied, at_high));
    let variant =
        row.variant.name.as_deref().map_or_else(String::new, |name| format!(", {}", free_text(name)));
    let mut said = vec![format!("{}: {}{variant}", what(row.variant, row.verdict), free_text(row.duty()))];
    said.extend(takers);
    if said.len() > 1 && !row.shifts.is_linear() {
        said.push("not linear: solved together, they do not take the sum of what each takes".to_owned());
    }
    let unknown: Vec<String> = unknown.collect();
    if let [first, rest @ ..] = unknown.as_slice() {
        let more = if rest.is_empty() { String::new() } else { format!(", and {} more", rest.len()) };
        said.push(format!("not judged with {first}{more}"));
    }
    let head = hanging(&margin, width(&margin) + 3, parts);
    Line { fails, text: head + &hanging("", MARK + 4, &said.join("\n")) }
}

/// A value by its path; a default that stands in for several by where it would stand, and whose it is.
fn named(varied: &Varied) -> String {
    let (Some(default), [first, rest @ ..]) = (varied.default, varied.places.as_slice()) else {
        return free_text(&varied.path);
    };
    let (before, after) = default.path.split_once('*').unwrap_or((default.path, ""));
    let whose = first.strip_prefix(before).and_then(|first| first.strip_suffix(after));
    match (whose, rest.len()) {
        (Some(whose), more @ 1..) => format!("{} of {} and {more} more", default.path, free_text(whose)),
        _ => free_text(&varied.path),
    }
}

/// Whether a reader would notice what is taken: a twentieth of a per cent or of a kelvin.
fn is_noticeable(row: &Row<'_>, takes: f64) -> bool {
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    takes >= if is_in_kelvin { 0.05 } else { 0.0005 }
}

fn taken(row: &Row<'_>, takes: f64) -> String {
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    match (takes.is_finite(), is_in_kelvin) {
        (false, _) => "all".to_owned(),
        (true, true) => figure_text::kelvins(takes),
        (true, false) => figure_text::percent(takes),
    }
}

/// What was varied, and what was not.
fn varied(tolerances: &Tolerances<'_>, all: bool, paint: Paint) -> String {
    let lines = |list: Vec<&Varied>, why: &str| {
        if list.is_empty() {
            return String::new();
        }
        let shown = if all { list.len() } else { 6.min(list.len()) };
        let one = |varied: &&Varied| {
            let (low, high) = varied.ends;
            let text = |end: f64| value(end, varied.dimension);
            format!("{} {} to {}", named(varied), text(low), text(high))
        };
        let mut all_named = list[..shown].iter().map(one).collect::<Vec<_>>().join("; ");
        if list.len() > shown {
            all_named.push_str(&format!("; +{} more, `--all`", list.len() - shown));
        }
        let said = format!("{} {why}: {all_named}", counted(list.len(), "value", "values"));
        paint.heading("varied", &hanging("varied", MARGIN, &said))
    };
    let mut text = lines(tolerances.varied(By::Stated), "within what the description states");
    text.push_str(&lines(
        tolerances.varied(By::Default),
        "within the usual range of a default of the edition",
    ));
    let fixed = "everything that states no tolerance, such as losses and curves of devices, thermal resistances, lengths, \
                 limits, and what duty points ask; how parallel devices differ is in their own comparison already";
    text.push_str(&paint.heading("not varied", &hanging("not varied", MARGIN, fixed)));
    text.push('\n');
    text
}
