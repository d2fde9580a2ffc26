//! Curves as tables for a person at a terminal.

use loadworthy_checks::capability::{Limit, Point, Way};
use loadworthy_checks::figure_text::{self, percent, value};
use loadworthy_checks::verdict::Comparison;
use loadworthy_unit::Dimension;

use crate::described::Described;
use crate::show::layout::{free_text, hanging, width};
use crate::show::terminal::permits::permits;
use crate::show::terminal::{self, CAUTION, Paint};

use super::{Capability, Drawn, instead, is_same, letter};

const MARGIN: usize = 13;
/// Which loads below the largest one were tried.
const BETWEEN: &str = "loads below the largest, at every sixteenth of what is asked, above that at every eighth, and where headrooms beside point to a failure; a narrower range that fails may be missed";
const DIGITS: usize = 4;

/// The tables.
pub(crate) fn table(described: &Described, capability: &Capability<'_>, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    for drawn in &capability.drawn {
        text.push_str(&paint.heading("capability", &head(capability, drawn)));
        text.push('\n');
        text.push_str(&anyway(drawn, paint));
        text.push_str(&rows(capability, drawn));
        text.push('\n');
        text.push_str(&longest(drawn));
        text.push_str(&limits(drawn));
        text.push_str(&not_judged(drawn, paint));
    }
    let accepted = capability.drawn.iter().flat_map(Drawn::accepted);
    text.push_str(&permits(accepted, capability.day, paint));
    text.push_str(&paint.faint(&hanging("tried", MARGIN, BETWEEN)));
    text.push('\n');
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

fn head(capability: &Capability<'_>, drawn: &Drawn<'_>) -> String {
    let variant =
        drawn.variant.name.as_deref().map_or_else(String::new, |name| format!(", {}", free_text(name)));
    let said = format!(
        "{} in {}{variant}: the largest load that holds over {}, where the duty point asks {}",
        free_text(&capability.stage),
        free_text(drawn.duty()),
        free_text(&capability.over),
        drawn.asked()
    );
    hanging("capability", MARGIN, &said)
}

/// What fails at any load, before loads are told that hold beside it.
fn anyway(drawn: &Drawn<'_>, paint: Paint) -> String {
    let lines = drawn.anyway().into_iter();
    let mut text: String =
        lines.map(|said| paint.heading("fails", &hanging("fails", MARGIN, &said))).collect();
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn rows(capability: &Capability<'_>, drawn: &Drawn<'_>) -> String {
    let heads = [free_text(&capability.over), "largest load".to_owned(), "of asked".to_owned()];
    let cells: Vec<[String; 3]> = drawn.curve.points.iter().map(|point| cells(drawn, point)).collect();
    let column = |place: usize| {
        cells.iter().map(|row| width(&row[place])).max().unwrap_or_default().max(width(&heads[place]))
    };
    let columns = [column(0).min(40), column(1), column(2)];
    let right = |texts: &[String; 3]| {
        let padded = texts.iter().zip(columns);
        let padded = padded
            .map(|(text, columns)| format!("{}{text}", " ".repeat(columns.saturating_sub(width(text)))));
        padded.collect::<Vec<_>>().join("   ")
    };
    let mut text = format!("{}   limited by\n", right(&heads));
    for (row, point) in cells.iter().zip(&drawn.curve.points) {
        let mut by = drawn.key(point).map(letter).unwrap_or_default();
        if let Some(said) = instead(point) {
            by = if by.is_empty() { said } else { format!("{by}   {said}") };
        } else if let Some((factor, _)) = &point.lighter {
            by.push_str(&format!("   not at {}", percent(*factor)));
        }
        text.push_str(&format!("{}   {by}\n", right(row)));
    }
    text
}

fn cells(drawn: &Drawn<'_>, point: &Point) -> [String; 3] {
    let dash = || "-".to_owned();
    // A digit more than elsewhere: what is just not allowed must not read like what is asked.
    let load = |(load, dimension)| figure_text::with_digits(load, dimension, DIGITS);
    let load = drawn.load(point).map_or_else(dash, load);
    let share = |factor| format!("{} %", figure_text::with_digits(100.0 * factor, Dimension::Ratio, DIGITS));
    let share = point.factor.map_or_else(dash, share);
    if point.limit.is_none() {
        return [drawn.at(point.at), "-".to_owned(), "-".to_owned()];
    }
    [drawn.at(point.at), load, share]
}

/// How long the duty point may last as it asks, where that varies.
fn longest(drawn: &Drawn<'_>) -> String {
    let Some(said) = drawn.longest() else { return String::new() };
    hanging("as asked", MARGIN, &said) + "\n"
}

/// What limits and where, a paragraph for each letter.
fn limits(drawn: &Drawn<'_>) -> String {
    let mut text = String::new();
    for (place, limit) in drawn.limits.iter().enumerate() {
        let said =
            format!("{}\nat {}{}", drawn.what(limit), drawn.where_it_limits(place), numbers(drawn, place));
        text.push_str(&hanging(&letter(place), 4, &said));
    }
    for (limit, said) in lighter(drawn) {
        text.push_str(&hanging("-", 4, &format!("at lighter load not: {}\n{said}", drawn.what(limit))));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

/// What does not hold at lighter load, each once, with where that is first.
fn lighter<'d>(drawn: &'d Drawn<'_>) -> Vec<(&'d Limit, String)> {
    let mut all: Vec<(&Limit, String)> = Vec::new();
    for point in &drawn.curve.points {
        let Some((factor, limit)) = &point.lighter else { continue };
        if !all.iter().any(|(known, _)| is_same(known, limit)) {
            all.push((
                limit,
                format!("first at {} of what is asked and {}", percent(*factor), drawn.at(point.at)),
            ));
        }
    }
    all
}

/// What is allowed where a thing limits, from its first point to its last; where nothing holds at all, what is carried.
fn numbers(drawn: &Drawn<'_>, key: usize) -> String {
    let points = drawn.curve.points.iter().filter(|point| drawn.key(point) == Some(key));
    let compared: Vec<(&Point, &Comparison)> = points
        .filter_map(|point| match &point.limit.as_ref()?.way {
            Way::Exceeds(compared) => Some((point, compared)),
            _ => None,
        })
        .collect();
    let holding: Vec<&Comparison> =
        compared.iter().filter(|(point, _)| point.factor.is_some()).map(|(_, compared)| *compared).collect();
    if let (Some(first), Some(last)) = (holding.first(), holding.last()) {
        let text = figure_text::comparison(first);
        let allowed = |compared: &Comparison| value(compared.allowed, compared.dimension);
        let (from, to) = (allowed(first), allowed(last));
        let range = if from == to { from } else { format!("{from} to {to}") };
        let policy = text.policy.map_or_else(String::new, |policy| format!("; {policy} of {}", text.limit));
        return format!(", where {range} is allowed{policy}");
    }
    if let Some((_, compared)) = compared.first() {
        let text = figure_text::comparison(compared);
        return format!("; at first carried {}, allowed {}", text.carried, text.allowed);
    }
    match &drawn.limits[key].way {
        Way::NotJudged(why) => format!(": {}", free_text(&why.join("; "))),
        _ => String::new(),
    }
}

/// Inputs that are missing everywhere and are told.
const MOST_OPEN: usize = 12;

fn not_judged(drawn: &Drawn<'_>, paint: Paint) -> String {
    let broken = drawn.curve.broken.iter().map(|one| {
        format!("{} broke down, which is a defect of this program: {}", one.check, free_text(&one.said))
    });
    let all = &drawn.curve.open;
    let open = all.iter().take(MOST_OPEN).map(|why| format!("{why}: limits nothing here"));
    // An entry that could not be read leaves open all that hangs on it.
    let more = all.len().checked_sub(MOST_OPEN).filter(|&more| more > 0);
    let open = open.chain(more.map(|more| format!("+{more} more, `--format json`")));
    let lines: Vec<String> = broken.chain(open).collect();
    let mut text: String =
        lines.iter().map(|line| paint.heading("not judged", &hanging("not judged", MARGIN, line))).collect();
    if !text.is_empty() {
        text.push('\n');
    }
    text
}
