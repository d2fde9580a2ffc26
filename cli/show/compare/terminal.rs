//! A comparison for a person at a terminal: the verdict, what is worse, what changed, what is better, headrooms.

use loadworthy_checks::compare::{HeadroomChange, HeadroomTurn, Turn, together};

use loadworthy_source::escape_text;

use super::said::{self, Turned};
use crate::compared::{Change, Compared};
use crate::show::layout::{WIDTH, counted, flowing, free_text, hanging};
use crate::show::terminal::{CAUTION, Paint, problems};
use crate::show::{cautions, places};

/// Changes that the first screen shows.
const FIRST_CHANGES: usize = 16;
/// Findings of one kind that the first screen shows.
const FIRST_FINDINGS: usize = 8;
/// Headrooms that the first screen shows.
const FIRST_HEADROOMS: usize = 12;
const MARGIN: usize = 12;

/// A comparison.
pub(crate) fn comparison(compared: &Compared, all: bool, paint: Paint) -> String {
    let Some(change) = &compared.change else { return unread(compared, all, paint) };
    let mut text = verdict(change, paint);
    text.push_str(&hanging("before", MARGIN, &compared.old.name));
    text.push_str(&hanging("after", MARGIN, &compared.new.name));
    text.push('\n');
    let turned = |turns: &[Turn]| findings(compared, change, turns, all, paint);
    text.push_str(&turned(&[Turn::New, Turn::NoLongerAccepted, Turn::Worse]));
    text.push_str(&unjudged(compared, change, all, paint));
    text.push_str(&changes(compared, change, all, paint));
    text.push_str(&turned(&[
        Turn::NewAndAccepted,
        Turn::NowAccepted,
        Turn::Better,
        Turn::NoLongerJudged,
        Turn::Gone,
    ]));
    text.push_str(&headrooms(compared, change, all, paint));
    let unchanged = change.effects.count(Turn::Unchanged);
    if unchanged > 0 {
        let said = match all {
            false => format!("{} as before, `--all`", counted(unchanged, "finding", "findings")),
            true => format!("{} as before", counted(unchanged, "finding", "findings")),
        };
        text.push_str(&paint.heading("unchanged", &hanging("unchanged", MARGIN, &said)));
        if all {
            text.push_str(&turned(&[Turn::Unchanged]));
        } else {
            text.push('\n');
        }
    }
    let review = compared.new.whole().map(|made| &made.review);
    for caution in review.map(cautions::of).unwrap_or_default().into_iter().chain([CAUTION]) {
        text.push_str(&paint.faint(caution));
        text.push('\n');
    }
    text
}

/// What is wrong with a side that could not be read in full.
fn unread(compared: &Compared, all: bool, paint: Paint) -> String {
    let mut text = String::new();
    for side in [&compared.old, &compared.new] {
        let Ok(made) = &side.made else { continue };
        let described = &made.described;
        if !described.problems.is_empty() {
            text.push_str(&paint.heading("in", &hanging("in", MARGIN, &side.name)));
            text.push_str(&problems(&described.tree, &described.problems, all, paint));
        }
    }
    text
}

fn verdict(change: &Change, paint: Paint) -> String {
    let word = said::verdict(change);
    let parts = [said::findings(&change.effects), said::headrooms(&change.effects), said::changes(change)];
    let line = hanging(word, MARGIN, &flowing(&parts, 3, WIDTH - MARGIN));
    if word == "worse" { paint.wrong(word, &line) } else { paint.heading(word, &line) }
}

fn findings(compared: &Compared, change: &Change, turns: &[Turn], all: bool, paint: Paint) -> String {
    let mut text = String::new();
    for turn in turns {
        let of_turn = change.effects.findings.iter().filter(|one| one.turn == *turn);
        let shown = if all { usize::MAX } else { FIRST_FINDINGS };
        for one in of_turn.clone().take(shown) {
            let Some(turned) = Turned::of(compared, one) else { continue };
            let line = finding(compared, &turned, *turn);
            let is_worse = matches!(turn, Turn::New | Turn::NoLongerAccepted | Turn::Worse);
            text.push_str(&if is_worse {
                paint.wrong(turn.words(), &line)
            } else {
                paint.heading(turn.words(), &line)
            });
            text.push('\n');
        }
        let more = of_turn.count().saturating_sub(shown);
        if more > 0 {
            text.push_str(&format!("+{more} more {}, `--all`\n\n", turn.words()));
        }
    }
    text
}

fn finding(compared: &Compared, turned: &Turned<'_>, turn: Turn) -> String {
    let Some(finding) = turned.shown() else { return String::new() };
    let tree = &turned.made.described.tree;
    let mut lines = vec![format!("{}   {}   {}", finding.check, finding.part, turned.grade())];
    lines.push(said::where_found(compared, turned));
    let figures = turned.figures();
    if figures.is_empty() {
        lines.push(finding.saying.clone());
        lines.extend((!finding.facts.is_empty()).then(|| flowing(&finding.facts, 3, WIDTH - MARGIN)));
    } else {
        lines.push(flowing(&figures, 3, WIDTH - MARGIN));
    }
    if let Some(of) = finding.permit
        && let Some(permit) = turned.made.described.unit.permits.get(of.permit)
    {
        let terms = format!("by {} until {}", free_text(&permit.accepted_by), permit.until);
        lines.push(format!("permit {}: {terms}, because {}", of.standing.word(), free_text(&permit.reason)));
    }
    lines.push(format!("{}: {}", places::in_short(tree, finding.at.node), finding.at.label));
    if !matches!(turn, Turn::Gone | Turn::NoLongerJudged) {
        let held = finding.proposals.first();
        lines.extend(held.map(|held| format!("would hold: {}: leaves {}", held.say, held.leaves)));
    }
    lines.retain(|line| !line.is_empty());
    hanging(turn.words(), MARGIN, &lines.join("\n"))
}

/// What keeps something from being judged now and did not before, and the other way round.
fn unjudged(compared: &Compared, change: &Change, all: bool, paint: Paint) -> String {
    let mut text = String::new();
    let mut lines = Vec::new();
    for one in &change.effects.unjudged {
        let side = if one.is_new { &compared.new } else { &compared.old };
        let missing = side.made.as_ref().ok().and_then(|made| made.review.not_judged.get(one.place));
        let Some(missing) = missing else { continue };
        let verdicts = counted(missing.verdicts, "verdict", "verdicts");
        let word = if one.is_new { "not judged" } else { "judged now" };
        let said = format!("{}: {verdicts} of {}", missing.missing, missing.checks.join(", "));
        lines.push(paint.heading(word, &hanging(word, MARGIN, &said)));
    }
    let shown = if all { lines.len() } else { FIRST_FINDINGS };
    lines.iter().take(shown).for_each(|line| text.push_str(line));
    if lines.len() > shown {
        text.push_str(&format!("+{} more that are missing or not any more, `--all`\n", lines.len() - shown));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn changes(compared: &Compared, change: &Change, all: bool, paint: Paint) -> String {
    let (Ok(old), Ok(new)) = (&compared.old.made, &compared.new.made) else { return String::new() };
    let (old, new) = (&old.described.tree, &new.described.tree);
    let all_changes = &change.difference.changes;
    let shown = if all { all_changes.len() } else { FIRST_CHANGES };
    let mut text = String::new();
    for one in all_changes.iter().take(shown) {
        let said = said::change(one);
        let place = match (said.at, said.was_at) {
            (Some(at), _) => places::in_short(new, at),
            (None, Some(at)) => places::in_short(old, at),
            (None, None) => String::new(),
        };
        let remark = said.remark.map(|remark| format!("({remark})")).unwrap_or_default();
        let visible = |text: &str| escape_text(text).into_owned();
        let what = flowing(&[visible(&said.what.join(" -> ")), remark], 1, WIDTH - MARGIN);
        let parts = flowing(&[visible(&said.path), what, place], 3, WIDTH - MARGIN);
        text.push_str(&paint.heading(said.word, &hanging(said.word, MARGIN, &parts)));
    }
    if all_changes.len() > shown {
        let more = counted(all_changes.len() - shown, "more change", "more changes");
        text.push_str(&format!("+{more}, `--all`\n"));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn headrooms(compared: &Compared, change: &Change, all: bool, paint: Paint) -> String {
    let together = together(&change.effects.headrooms);
    // What is there no more is said by what is gone.
    let telling = |one: &(&HeadroomChange, usize)| all || one.0.turn != HeadroomTurn::Gone;
    let lines = together.iter().filter(|one| telling(one)).collect::<Vec<_>>();
    let shown = if all { lines.len() } else { FIRST_HEADROOMS };
    let mut text = String::new();
    for (one, more) in lines.iter().take(shown) {
        let more = if *more > 0 { format!(" (+{more} alike)") } else { String::new() };
        let title = format!("{}   {}{more}", said::headroom(one), one.part);
        let (figure, mut figures) = said::compared_figures(one);
        figures.push(said::where_worst(compared, one));
        let what = flowing(&[title, figure], 3, WIDTH - MARGIN);
        let said = format!("{what}\n{}", flowing(&figures, 3, WIDTH - MARGIN));
        let word = if one.turn == HeadroomTurn::NoLongerJudged { "less judged" } else { one.turn.words() };
        text.push_str(&paint.heading(word, &hanging(word, MARGIN, &said)));
    }
    if lines.len() > shown {
        let more = counted(lines.len() - shown, "more headroom", "more headrooms");
        text.push_str(&format!("+{more}, `--all`\n"));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}
