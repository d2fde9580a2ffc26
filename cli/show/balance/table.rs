//! The flows of a duty point as a table.

use loadworthy_checks::figure_text;
use loadworthy_unit::Dimension;

use crate::show::layout::{WIDTH, counted, hanging, width, wrapped};

use super::account::Account;
use super::scale::Scale;
use super::walk::{Kind, Line, Manner};

/// Room for names and what is said beside them.
const NAMES: usize = 36;
/// Room for what enters, what leaves, what is lost, and the efficiency.
const COLUMNS: [usize; 4] = [9, 9, 14, 12];
/// Stands before the largest loss.
const MOST: &str = "most";
/// Deeper lines are not indented more.
const DEEPEST: usize = 6;

/// Units of a duty point.
pub(super) struct Scales {
    pub(super) powers: Scale,
    pub(super) losses: Scale,
}

impl Scales {
    pub(super) fn of(account: &Account<'_, '_>) -> Self {
        let sum = &account.sum;
        let known = |values: [Option<f64>; 3]| values.into_iter().flatten().fold(0.0, f64::max);
        let each = |value: &dyn Fn(&Line<'_>) -> Option<f64>| {
            account.lines.iter().filter_map(value).fold(0.0, f64::max)
        };
        let power = known([sum.into, sum.out, sum.losses]);
        let power = if power > 0.0 { power } else { each(&|line| Some(line.into?.max(line.out?))) };
        let loss = sum.losses.unwrap_or_else(|| each(&|line| line.loss));
        let crossing = account.lines.iter().filter(|line| line.is_boundary()).count();
        let losing = account.lines.len() - crossing;
        Self { powers: Scale::of_powers(power, crossing + 1), losses: Scale::of_losses(loss, losing + 1) }
    }
}

/// All flows of a duty point, with their sum.
pub(super) fn table(account: &Account<'_, '_>, scales: &Scales) -> String {
    let columns = [
        format!("in {}", scales.powers.unit),
        format!("out {}", scales.powers.unit),
        format!("loss {}", scales.losses.unit),
        "efficiency".to_owned(),
    ];
    let mut text = row(String::new(), "", &columns);
    let largest = largest(&account.lines);
    let has_several_sources = account.lines.iter().filter(|line| line.kind == Kind::Source).count() > 1;
    let mut place = 0;
    while let Some(line) = account.lines.get(place) {
        let group = account.lines[place..].iter().take_while(|other| joins(line, other)).count().max(1);
        let is_largest = largest.is_some_and(|largest| (place..place + group).contains(&largest));
        text.push_str(&self::line(
            &account.lines[place..place + group],
            is_largest,
            has_several_sources,
            scales,
        ));
        place += group;
    }
    let sum = &account.sum;
    let known = |value: Option<f64>, scale: Scale| value.map_or_else(unknown, |value| scale.number(value));
    let efficiency = sum.efficiency().map(efficiency);
    text.push_str(&row(
        "sum".to_owned(),
        "",
        &[
            known(sum.into, scales.powers),
            known(sum.out, scales.powers),
            known(sum.losses, scales.losses),
            efficiency.unwrap_or_default(),
        ],
    ));
    text
}

/// Conductors of a branch stand in one line.
fn joins(line: &Line<'_>, other: &Line<'_>) -> bool {
    let is_wire = |line: &Line<'_>| line.kind == Kind::Conductor;
    is_wire(line) && is_wire(other) && line.of == other.of && line.depth == other.depth
}

/// The line with the largest loss, where every loss is known and any is there.
fn largest(lines: &[Line<'_>]) -> Option<usize> {
    let loses = |line: &Line<'_>| matches!(line.kind, Kind::Stage | Kind::Conductor);
    if lines.iter().any(|line| loses(line) && line.loss.is_none()) {
        return None;
    }
    let losing = lines.iter().enumerate().filter_map(|(place, line)| Some((place, line.loss?)));
    let largest = losing.reduce(|largest, one| if one.1 > largest.1 { one } else { largest });
    largest.filter(|(_, loss)| *loss > 0.0).map(|(place, _)| place)
}

fn line(group: &[Line<'_>], is_largest: bool, has_several_sources: bool, scales: &Scales) -> String {
    let Some(first) = group.first() else { return String::new() };
    let indent = " ".repeat(2 * first.depth.min(DEEPEST));
    let power = |value: Option<f64>| match value {
        None => unknown(),
        // One of the two is always nothing; that says which way it flows.
        Some(value) if value <= 0.0 && first.is_boundary() => String::new(),
        Some(value) => scales.powers.number(value),
    };
    let loss = |value: Option<f64>| value.map_or_else(unknown, |value| scales.losses.number(value));
    let most = |text: String| if is_largest { format!("{MOST} {text}") } else { text };
    let (name, note) = (name(group), note(first, has_several_sources));
    let numbers = match first.kind {
        Kind::Bus => [const { String::new() }; 4],
        Kind::Conductor => {
            let sum = group.iter().map(|line| line.loss).sum::<Option<f64>>();
            [String::new(), String::new(), most(loss(sum)), String::new()]
        }
        _ if first.rests() => ["rests".to_owned(), String::new(), String::new(), String::new()],
        Kind::Stage => {
            let efficiency = first.efficiency.filter(|share| *share > 0.0).map(efficiency);
            [power(first.into), power(first.out), most(loss(first.loss)), efficiency.unwrap_or_default()]
        }
        Kind::Source => {
            let inside = first.inside.map(|inside| format!("({})", scales.losses.number(inside)));
            [power(first.into), power(first.out), inside.unwrap_or_default(), String::new()]
        }
        Kind::Feed | Kind::Machine | Kind::Load => {
            [power(first.into), power(first.out), String::new(), String::new()]
        }
    };
    row(format!("{indent}{name}"), &note, &numbers)
}

fn name(group: &[Line<'_>]) -> String {
    match group {
        [only] => only.part.to_owned(),
        [first, ..] => {
            let branch = first.of.unwrap_or_default();
            format!("{branch} ({})", counted(group.len(), "conductor", "conductors"))
        }
        [] => String::new(),
    }
}

/// What is said beside a name.
fn note(line: &Line<'_>, has_several_sources: bool) -> String {
    let amount = |value: Option<f64>, dimension| {
        value.map(|value| figure_text::with_digits(value.abs(), dimension, 4))
    };
    let (volts, amps) = (amount(line.voltage, Dimension::Voltage), amount(line.current, Dimension::Current));
    let does = |gives: &'static str, takes: &'static str| match (line.into, line.out) {
        (Some(into), _) if into > 0.0 => gives,
        (_, Some(out)) if out > 0.0 => takes,
        _ => "",
    };
    // Of one source alone it goes without saying that it balances.
    let manner = match line.manner {
        Some(Manner::Share) => "share",
        Some(Manner::Balances) if has_several_sources => "balances",
        Some(Manner::Balances) | None => "",
    };
    match line.kind {
        Kind::Source | Kind::Feed => {
            let does = does(if manner.is_empty() { "gives" } else { "" }, "takes back");
            let amps = amps.filter(|_| line.into.is_some());
            let at = [amps, volts].into_iter().flatten().collect::<Vec<_>>().join(" at ");
            let said =
                [does, at.as_str()].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" ");
            if manner.is_empty() {
                said
            } else {
                format!("{manner}: {said}").trim_end_matches(": ").to_owned()
            }
        }
        Kind::Bus => volts.unwrap_or_default(),
        Kind::Machine => does("recovers", "").to_owned(),
        Kind::Load if line.rests() => String::new(),
        Kind::Load => [Some(does("gives back", "").to_owned()), amps]
            .into_iter()
            .flatten()
            .filter(|text| !text.is_empty())
            .collect::<Vec<_>>()
            .join(" "),
        Kind::Stage => line.of.map(|bus| format!("leads back to {bus}")).unwrap_or_default(),
        Kind::Conductor => String::new(),
    }
}

/// A line of the table: what is too long for its column stands above its numbers.
fn row(name: String, note: &str, numbers: &[String; 4]) -> String {
    let numbers: String = numbers.iter().zip(COLUMNS).map(|(number, column)| right(number, column)).collect();
    let numbers = numbers.trim_end();
    let both = if note.is_empty() { name.clone() } else { format!("{name}  {note}") };
    if width(&both) <= NAMES {
        return format!("{both}{}{numbers}", " ".repeat(NAMES - width(&both))).trim_end().to_owned() + "\n";
    }
    let indent = width(&name) - width(name.trim_start());
    if width(&name) <= NAMES {
        let below = hanging("", indent + 2, note);
        let first = format!("{name}{}{numbers}", " ".repeat(NAMES - width(&name)));
        return first.trim_end().to_owned() + "\n" + &below;
    }
    let above = indented(indent, both.trim_start());
    let numbers =
        if numbers.is_empty() { String::new() } else { format!("{}{numbers}\n", " ".repeat(NAMES)) };
    above + &numbers
}

/// Lines behind a margin, or without one.
fn indented(indent: usize, text: &str) -> String {
    wrapped(text, WIDTH - indent).iter().map(|line| format!("{}{line}\n", " ".repeat(indent))).collect()
}

fn right(text: &str, column: usize) -> String {
    format!("{}{text}", " ".repeat(column.saturating_sub(width(text)).max(1)))
}

/// Efficiency to a tenth of a per cent.
fn efficiency(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn unknown() -> String {
    "–".to_owned()
}

const _: () = assert!(NAMES + COLUMNS[0] + COLUMNS[1] + COLUMNS[2] + COLUMNS[3] <= WIDTH);
