//! Sizes for a person at a terminal: each with what stops it one step smaller.

use loadworthy_checks::size::{Kind, Sizing, Stop};

use crate::described::Described;
use crate::show::layout::{counted, free_text, hanging};
use crate::show::terminal::{self, CAUTION, Paint};
use crate::size::{Choice, Sizes, named};

use super::{size, stop};

const MARGIN: usize = 13;

/// The sizes.
pub(crate) fn table(described: &Described, sizes: &Sizes, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    text.push_str(&summary(sizes, paint));
    for (choice, sizing) in sizes.choices.iter().zip(&sizes.sized.choices) {
        text.push('\n');
        text.push_str(&one(choice, sizing, paint));
    }
    text.push_str(&fixed(sizes, paint));
    text.push_str(&spared(sizes, paint));
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
    let verdict = match sizes.sized.spared.len() {
        0 => "with them nothing fails".to_owned(),
        left => format!("{} that no size mends", counted(left, "failure is left", "failures are left")),
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
    let now = size(choice, choice.size(sizing.at));
    let described = size(choice, choice.described());
    let change = if choice.is_described(sizing.at) {
        format!("{now}, as described")
    } else {
        format!("{described} -> {now}")
    };
    let of = choice.variant().map_or_else(String::new, |variant| format!(", in {}", free_text(variant)));
    let head = format!("{}{of}: {change}", free_text(&named(choice.part(), choice.what())));
    let word = choice.kind().word();
    let mut text = paint.heading(word, &hanging(word, MARGIN, &head));
    match sizing.at.checked_sub(1) {
        Some(below) => {
            let margin = format!("  {} fails", size(choice, choice.size(below)));
            text.push_str(&stops(&margin, &sizing.smaller));
        }
        None => text.push_str(&hanging("", MARGIN, "no smaller one is tried")),
    }
    if let Some((largest, beyond)) = &sizing.largest {
        let to = size(choice, choice.size(*largest));
        let window = if *largest == sizing.at {
            "no larger one holds".to_owned()
        } else {
            format!("holds up to {to}")
        };
        text.push_str(&hanging("", MARGIN, &window));
        if beyond.is_empty() {
            text.push_str(&hanging("", MARGIN, "which is the largest of the series"));
        } else {
            let margin = format!("  {} fails", size(choice, choice.size(largest + 1)));
            text.push_str(&stops(&margin, beyond));
        }
    }
    text
}

/// What does not hold at another size, the worst of it.
fn stops(margin: &str, all: &[Stop]) -> String {
    let Some(worst) = all.first() else { return String::new() };
    let (what, how) = stop(worst);
    let more = if all.len() > 1 { format!("\n+{} more", all.len() - 1) } else { String::new() };
    hanging(margin, MARGIN, &format!("{what}\n{how}{more}"))
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

fn spared(sizes: &Sizes, paint: Paint) -> String {
    let mut text = String::new();
    for spared in &sizes.sized.spared {
        let grade = spared.now.grade.map_or("", |grade| grade.word());
        let (what, how) = stop(&spared.now);
        let best = match &spared.best {
            Some((best, at)) => {
                let moved = sizes.choices.iter().zip(at).filter(|(choice, at)| !choice.is_described(**at));
                let moved = moved.map(|(choice, &at)| {
                    format!(
                        "{} at {}",
                        free_text(&named(choice.part(), choice.what())),
                        size(choice, choice.size(at))
                    )
                });
                let moved = moved.collect::<Vec<_>>().join("; ");
                let moved = if moved.is_empty() { "what is described".to_owned() } else { moved };
                format!("\nno size mends it; nearest comes {moved}: {}", stop(best).1)
            }
            None => "\nno size mends it, or changes it; what is sized does not make it worse".to_owned(),
        };
        let line = hanging(grade, MARGIN, &format!("{what}\n{how}{best}"));
        text.push_str(&spared.now.grade.map_or_else(|| line.clone(), |grade| paint.grade(grade, &line)));
    }
    if text.is_empty() { text } else { format!("\n{text}") }
}

fn not_judged(sizes: &Sizes, paint: Paint) -> String {
    let mut lines: Vec<String> = Vec::new();
    for one in &sizes.sized.broken {
        lines.push(format!("{} broke down, which is a defect of this program", free_text(one)));
    }
    for one in &sizes.sized.open {
        if let loadworthy_checks::size::Way::NotJudged(why) = &one.way {
            let line = format!("{} ({}): stops no size", free_text(&why.join("; ")), one.check);
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
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
    let mut follows = |kind: Kind, what: &str| {
        if choices
            .clone()
            .any(|(choice, at)| choice.kind() == kind && choice.has_followers() && !choice.is_described(at))
        {
            said = format!("{what}\n{said}");
        }
    };
    follows(
        Kind::Fuses,
        "assumed: a fuse of the same family, its elements alike and in parallel, so that I²t goes with the square of the rated current, the least current that it breaks with it, its resistance against it; put the data sheet in place of that",
    );
    follows(Kind::Sections, "assumed: the wall of a cable's insulation stays as thick as it is");
    let mut text = paint.heading("write", &hanging("write", MARGIN, &said));
    text.insert(0, '\n');
    for line in patch.lines() {
        text.push_str(&format!("{}{}\n", " ".repeat(MARGIN), free_text(line)));
    }
    text
}
