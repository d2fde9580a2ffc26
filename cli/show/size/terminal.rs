//! Sizes for a person at a terminal: each with what stops it one step smaller.

use loadworthy_checks::figure_text::value;
use loadworthy_checks::size::{Kind, Sizing, Spared, Stop, Way};

use loadworthy_source::escape_text;

use crate::described::Described;
use crate::show::layout::{counted, free_text, hanging, width};
use crate::show::terminal::{self, CAUTION, Paint};
use crate::show::words::permit::{held_against, terms};
use crate::size::{Choice, Sizes, named};

use super::{size, stop};

const MARGIN: usize = 16;

/// The sizes.
pub(crate) fn table(described: &Described, sizes: &Sizes, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    text.push_str(&summary(sizes, paint));
    for (choice, sizing) in sizes.choices.iter().zip(&sizes.sized.choices) {
        text.push('\n');
        text.push_str(&one(choice, sizing, paint));
    }
    text.push_str(&fixed(sizes, paint));
    text.push_str(&spared(described, sizes, paint));
    text.push_str(&lesser(sizes, paint));
    text.push_str(&not_judged(sizes, paint));
    text.push_str(&written(sizes, paint));
    text.push('\n');
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

fn summary(sizes: &Sizes, paint: Paint) -> String {
    let order = sizes.order.iter().map(|kind| kind.word()).collect::<Vec<_>>().join(", then ");
    let changed =
        sizes.choices.iter().zip(sizes.at()).filter(|(choice, at)| !choice.is_described(*at)).count();
    let verdict = match (sizes.sized.spared.is_empty(), sizes.sized.open.is_empty()) {
        (true, true) if sizes.sized.lesser.is_empty() => "nothing fails",
        (true, true) => "nothing fails that counts",
        (true, false) => "nothing fails that counts of what is judged",
        (false, _) if sizes.accepted.iter().all(Option::is_some) => {
            "what is left to fail no size mends, and permits accept"
        }
        (false, _) => "what is left to fail no size mends",
    };
    let said = format!(
        "smallest {order}; a failure counts if it is {} or graver\n{}, {changed} changed: {verdict}; {} solved and judged by all checks",
        sizes.grade.word(),
        counted(sizes.choices.len(), "size", "sizes"),
        counted(sizes.sized.tried, "description", "descriptions"),
    );
    paint.heading("size", &hanging("size", MARGIN, &said))
}

fn one(choice: &Choice, sizing: &Sizing, paint: Paint) -> String {
    let at = |place: usize| size(choice, place);
    let now = at(sizing.at);
    let change = if choice.is_described(sizing.at) {
        format!("{now}, as described")
    } else {
        format!("{} -> {now}", described(choice))
    };
    let least = if sizing.at == 0 { ", and no less is tried" } else { "" };
    let window = match &sizing.largest {
        Some((largest, _)) if *largest > sizing.at => format!("; holds up to {}", at(*largest)),
        _ => String::new(),
    };
    let of = choice.variant().map_or_else(String::new, |variant| format!(", in {}", free_text(variant)));
    let offered = choice.offered().map_or_else(String::new, |offered| {
        format!("; of {} in parts files and as described, by {}", offered.names.len(), offered.by)
    });
    let named = free_text(&named(choice.part(), choice.what()));
    let head = format!("{named}{of}: {change}{least}{window}{offered}");
    let word = choice.kind().word();
    let mut text = paint.heading(word, &hanging(word, MARGIN, &head));
    if let Some(stop) = &sizing.waits {
        let (why, check) = (super::stop(stop).1, stop.check);
        let word = if matches!(stop.way, Way::NotJudged(_)) { "waits" } else { "fails at every size" };
        text.push_str(&hanging("", MARGIN, &format!("not made smaller: {check} {word}: {why}")));
    } else if let Some(below) = sizing.at.checked_sub(1) {
        text.push_str(&stops(&at(below), &sizing.smaller));
    }
    if let Some((largest, beyond)) = sizing.largest.as_ref().filter(|(_, beyond)| !beyond.is_empty()) {
        text.push_str(&stops(&at(largest + 1), beyond));
    }
    if !choice.unmoved().is_empty() {
        let names: Vec<String> = choice.unmoved().iter().map(|name| free_text(name)).collect();
        let line = format!(
            "not made smaller: {} {} resistances from case to coolant without the `flow` that they were measured at, so whether less is enough is not judged",
            names.join(", "),
            if names.len() > 1 { "state" } else { "states" }
        );
        text.push_str(&hanging("", MARGIN, &line));
    }
    text
}

/// What is described, in text.
fn described(choice: &Choice) -> String {
    match choice.offered() {
        Some(_) => size(choice, choice.start()),
        None => value(choice.described(), choice.dimension()),
    }
}

/// What does not hold at another size, the worst of it.
fn stops(size: &str, all: &[Stop]) -> String {
    let Some(worst) = all.first() else { return String::new() };
    let (what, how) = stop(worst);
    let more = if all.len() > 1 { format!("; +{} more", all.len() - 1) } else { String::new() };
    let label = format!("  not {size}");
    // What does not fit in the margin stands beside it.
    match width(&label) < MARGIN {
        true => hanging(&label, MARGIN, &format!("{what}\n{how}{more}")),
        false => hanging("  not", MARGIN, &format!("{size}\n{what}\n{how}{more}")),
    }
}

fn fixed(sizes: &Sizes, paint: Paint) -> String {
    let mut text = String::new();
    for one in &sizes.fixed {
        let of = free_text(&named(&one.part, &one.what));
        let line = format!("{of} ({}): {}", one.kind.word(), one.why);
        text.push_str(&paint.heading("not sized", &hanging("not sized", MARGIN, &line)));
    }
    if text.is_empty() { text } else { format!("\n{text}") }
}

fn spared(described: &Described, sizes: &Sizes, paint: Paint) -> String {
    let all = sizes.sized.spared.iter().zip(&sizes.accepted).collect::<Vec<_>>();
    let is_same = |(one, by): &(&Spared, &Option<usize>), (other, also_by): &(&Spared, &Option<usize>)| {
        let of = |stop: &Stop| (stop.check, stop.defect, stop.grade);
        // A part and what belongs to it.
        let top = |stop: &Stop| stop.part.split('.').next().map(str::to_owned);
        by == also_by && of(&one.now) == of(&other.now) && top(&one.now) == top(&other.now)
    };
    let mut text = String::new();
    for (place, spared @ (first, by)) in all.iter().enumerate() {
        // One line for all positions, duty points and variants of it; the worst of them speaks.
        if all[..place].iter().any(|before| is_same(before, spared)) {
            continue;
        }
        let alike: Vec<&Spared> =
            all.iter().filter(|other| is_same(other, spared)).map(|one| one.0).collect();
        let worst = alike.iter().fold(*first, |worst, one| if one.is_worse(worst) { one } else { worst });
        let (what, how) = stop(&worst.now);
        let more = if alike.len() > 1 { format!("; +{} more", alike.len() - 1) } else { String::new() };
        let best = match &worst.best {
            Some((best, at)) if stop(best).1 != how => {
                format!("\nno size mends it; nearest comes {}: {}", moved(sizes, at), stop(best).1)
            }
            _ => "\nno size mends or changes it".to_owned(),
        };
        if let Some(permit) = by.and_then(|by| described.unit.permits.get(by)) {
            let (terms, why) = (terms(permit, Some(worst.now.defect), sizes.day), free_text(&permit.reason));
            let said = format!("{what}\n{how}{more}{best}\n{terms}\nbecause {why}");
            text.push_str(&paint.heading("accepted", &hanging("accepted", MARGIN, &said)));
            continue;
        }
        let grade = worst.now.grade.map_or("", |grade| grade.word());
        let line = hanging(grade, MARGIN, &format!("{what}\n{how}{more}{best}"));
        text.push_str(&worst.now.grade.map_or_else(|| line.clone(), |grade| paint.grade(grade, &line)));
    }
    if let Some(day) = sizes.day {
        let said = format!("{}; they accept what no size mends, and make nothing smaller", held_against(day));
        text.push_str(&paint.heading("permits", &hanging("permits", MARGIN, &said)));
    }
    if text.is_empty() { text } else { format!("\n{text}") }
}

/// What fails with these sizes and did not before, and does not count; the worst of each check and grade speaks.
fn lesser(sizes: &Sizes, paint: Paint) -> String {
    let all = &sizes.sized.lesser;
    let mut text = String::new();
    for (place, one) in all.iter().enumerate() {
        let is_alike = |other: &&Stop| (other.check, other.grade) == (one.check, one.grade);
        if all[..place].iter().any(|before| is_alike(&before)) {
            continue;
        }
        let (what, how) = stop(one);
        let alike = all.iter().filter(is_alike).count();
        let more = if alike > 1 { format!("; +{} more", alike - 1) } else { String::new() };
        let grade = one.grade.map_or("", |grade| grade.word());
        let line = format!(
            "{what}\n{how}{more}\nfails with these sizes, and did not as described; it does not count"
        );
        let line = hanging(grade, MARGIN, &line);
        text.push_str(&one.grade.map_or_else(|| line.clone(), |grade| paint.grade(grade, &line)));
    }
    if text.is_empty() { text } else { format!("\n{text}") }
}

/// The sizes at some places that are not what is described.
fn moved(sizes: &Sizes, at: &[usize]) -> String {
    let moved = sizes.choices.iter().zip(at).filter(|(choice, at)| !choice.is_described(**at));
    let moved = moved.map(|(choice, &at)| {
        let named = free_text(&named(choice.part(), choice.what()));
        format!("{named} at {}", size(choice, at))
    });
    let moved = moved.collect::<Vec<_>>().join("; ");
    if moved.is_empty() { "what is described".to_owned() } else { moved }
}

fn not_judged(sizes: &Sizes, paint: Paint) -> String {
    let mut lines: Vec<String> = Vec::new();
    for one in &sizes.sized.broken {
        lines.push(format!("{} broke down, which is a defect of this program", free_text(one)));
    }
    let held_up: Vec<&Way> =
        sizes.sized.choices.iter().filter_map(|choice| Some(&choice.waits.as_ref()?.way)).collect();
    let mut open: Vec<(String, Vec<&str>, bool)> = Vec::new();
    for one in &sizes.sized.open {
        let Way::NotJudged(why) = &one.way else { continue };
        let why = free_text(&why.join("; "));
        let holds_up = held_up.contains(&&one.way);
        match open.iter_mut().find(|(known, ..)| *known == why) {
            Some((_, checks, known)) => {
                *known |= holds_up;
                if !checks.contains(&one.check) {
                    checks.push(one.check);
                }
            }
            None => open.push((why, vec![one.check], holds_up)),
        }
    }
    lines.extend(open.iter().map(|(why, checks, holds_up)| {
        let so = if *holds_up { "what hangs on it is made no smaller" } else { "no size is held against it" };
        format!("{why} ({}): {so}", checks.join(", "))
    }));
    if !sizes.sized.judges_a_duty_point {
        lines.push("no duty point is judged, so nothing stops any size".to_owned());
    }
    let text: String =
        lines.iter().map(|line| paint.wrong("not judged", &hanging("not judged", MARGIN, line))).collect();
    if text.is_empty() { text } else { format!("\n{text}") }
}

fn written(sizes: &Sizes, paint: Paint) -> String {
    let Some(patch) = sizes.patch() else {
        return format!("\n{}", hanging("", MARGIN, "nothing is to be changed"));
    };
    let mut said = "as a merge patch over the description:".to_owned();
    let choices = sizes.choices.iter().zip(sizes.at());
    let changed: Vec<&Choice> =
        choices.filter(|(choice, at)| !choice.is_described(*at)).map(|(choice, _)| choice).collect();
    let mut assumed = |is_so: bool, what: &str| {
        if is_so {
            said = format!("assumed: {what}\n{said}");
        }
    };
    let follows = |kind: Kind| changed.iter().any(|choice| choice.kind() == kind && choice.has_followers());
    assumed(
        changed.iter().any(|choice| choice.offered().is_some()),
        "another part stands where the described one does: its way to the plate, its gate drive and its bars stay as described",
    );
    assumed(
        follows(Kind::Fuses),
        "a fuse of the same family, its elements alike and in parallel, so that I²t goes with the square of the rated current, the least current that it breaks with it, its resistance against it; put the data sheet in place of that",
    );
    assumed(follows(Kind::Sections), "the wall of a cable's insulation stays as thick as it is");
    let mut text = paint.heading("write", &hanging("write", MARGIN, &said));
    text.insert(0, '\n');
    for line in patch.lines() {
        text.push_str(&format!("{}{}\n", " ".repeat(MARGIN), escape_text(line)));
    }
    text
}
