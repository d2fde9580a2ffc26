//! A comparison as a page: what the change does in one glance, then what is new or worse with each such finding in full,
//! what changed, what is better, what permits accept, and the headrooms that moved.

mod glance;
mod tables;

use loadworthy_checks::compare::Turn;

use crate::arguments::AskedGrade;
use crate::compared::{Change, Compared, Side};
use crate::reviewed::Made;
use crate::show::compare::said::Turned;
use crate::show::layout::counted;
use crate::show::terminal::CAUTION;
use crate::show::words::permit::held_against;
use crate::show::words::review::{broken_check, nothing_judged};

use super::markup::Markup;
use super::numbers::Number;
use super::sheet::{self, Sections};
use super::{finding, frame, open, problem};

const WORSE: &[Turn] = &[Turn::New, Turn::NoLongerAccepted, Turn::Worse];
const BETTER: &[Turn] = &[Turn::NowAccepted, Turn::Better, Turn::NoLongerJudged, Turn::Gone];

/// The page of a comparison.
pub(crate) fn page(compared: &Compared, grade: AskedGrade) -> String {
    let (mut body, mut foot) = (Markup::new(), Markup::new());
    body.raw("<article class=\"sheet\" id=\"u0\">\n").join(&glance::plate(compared));
    let mut sections = Sections::of(0);
    match &compared.change {
        Some(change) => {
            body.join(&glance::verdict(compared, change));
            put_change(compared, change, &mut sections);
        }
        None => {
            body.join(&glance::not_compared());
            for (key, title, side) in [
                ("before", "Problems before the change", &compared.old),
                ("after", "Problems after the change", &compared.new),
            ] {
                sections.put(key, title, &problems(side));
            }
        }
    }
    body.join(&glance::sides(compared, grade)).join(&sections.put_together());
    if let Some(made) = compared.new.whole().or_else(|| compared.old.whole()) {
        body.join(&sheet::cautions(made));
    }
    body.raw("</article>\n");
    foot.raw("<p>").raw(CAUTION).raw("</p>\n");
    let title = format!("{} compared with {}", compared.new.name, compared.old.name);
    frame::page(&title, &Markup::new(), &body, &foot)
}

fn problems(side: &Side) -> Markup {
    match &side.made {
        Ok(made) => problem::problems(&made.described.tree, &made.described.problems),
        Err(why) => {
            let mut out = Markup::new();
            out.element("<p class=\"over\">✕ Cannot be read: ", why, "</p>\n");
            out
        }
    }
}

fn put_change(compared: &Compared, change: &Change, sections: &mut Sections) {
    let (worse, better) = (Turned::all(compared, change, WORSE), Turned::all(compared, change, BETTER));
    sections.put("worse", "New or worse", &tables::turned(compared, &worse, "New or worse", true));
    sections.put("full", "New or worse, in full", &in_full(&worse));
    sections.put("unjudged", "Not judged any more", &unjudged(compared, change, true));
    sections.put("changed", "What changed in the description", &tables::changes(compared, change));
    sections.put("better", "Better or gone", &tables::turned(compared, &better, "Better or gone", false));
    sections.put("judged", "Judged now", &unjudged(compared, change, false));
    sections.put("headrooms", "Headrooms that moved", &tables::headrooms(compared, change));
    sections.put("accepted", "Accepted by permit", &accepted(compared, change, worse.len()));
    sections.put("unchanged", "As before", &unchanged(compared, change));
}

/// Each finding that is new or worse, numbered as in the table of them.
fn in_full(worse: &[(Turn, Turned<'_>)]) -> Markup {
    let mut out = Markup::new();
    for (place, (_, turned)) in worse.iter().enumerate() {
        out.join(&block(turned, Number(place + 1)));
    }
    out
}

fn block(turned: &Turned<'_>, number: Number) -> Markup {
    let Made { described, besides, .. } = turned.made;
    turned.new.map_or_else(Markup::new, |found| finding::block(described, found, number, besides.day, 0))
}

/// What permits accept after the change; what is worse as well stands in full already.
fn accepted(compared: &Compared, change: &Change, worse: usize) -> Markup {
    let mut out = Markup::new();
    let day = compared.new.made.as_ref().ok().and_then(|made| made.besides.day);
    let all = Turned::all(compared, change, &Turn::ALL);
    let all = all
        .iter()
        .enumerate()
        .filter(|(_, (_, turned))| turned.new.is_some_and(loadworthy_checks::review::Finding::is_accepted));
    let mut next = worse;
    for (place, (turn, turned)) in all {
        if out.is_empty() {
            let held = day.map_or_else(String::new, |day| format!("; permits {}", held_against(day)));
            out.element("<p>These fail, and somebody accepted them on record", &held, ".</p>\n");
        }
        if WORSE.contains(turn) {
            // What is new or worse stands first among all, so that its place is its number.
            let part = turned.shown().map_or("", |found| found.part.as_str());
            out.raw("<p>");
            finding::linked(&mut out, 0, Number(place + 1));
            out.raw(" ").raw(turn.words()).element(", above: <code>", part, "</code></p>\n");
        } else {
            next += 1;
            out.join(&block(turned, Number(next)));
        }
    }
    out
}

/// What is not judged on one side alone.
fn unjudged(compared: &Compared, change: &Change, is_new: bool) -> Markup {
    let mut out = Markup::new();
    let side = if is_new { &compared.new } else { &compared.old };
    let Ok(Made { described, review, .. }) = &side.made else { return out };
    let of_side = change.effects.unjudged.iter().filter(|one| one.is_new == is_new);
    let missing = of_side.filter_map(|one| review.not_judged.get(one.place));
    let mut lines: Vec<String> = missing.map(|one| open::missing(described, one)).collect();
    if is_new {
        lines.extend(nothing_judged(described, review));
        lines.extend(review.broken_checks.iter().map(broken_check));
    }
    if lines.is_empty() {
        return out;
    }
    out.raw(if is_new {
        "<p>What could not be judged is no pass. Each line names what is missing and what waits for it.</p>\n<ul>"
    } else {
        "<p>This was missing before, and is not any more.</p>\n<ul>"
    });
    for line in &lines {
        out.raw("<li>").raw(if is_new { "? " } else { "" }).text(line).raw("</li>\n");
    }
    out.raw("</ul>\n");
    out
}

/// Findings that the change leaves as they were, folded.
fn unchanged(compared: &Compared, change: &Change) -> Markup {
    let mut out = Markup::new();
    let all = Turned::all(compared, change, &[Turn::Unchanged]);
    if all.is_empty() {
        return out;
    }
    out.element("<details><summary>", &counted(all.len(), "finding", "findings"), " as before</summary>\n");
    out.join(&tables::turned(compared, &all, "Findings as before", false)).raw("</details>\n");
    out
}
