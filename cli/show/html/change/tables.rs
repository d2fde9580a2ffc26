//! Findings that turned, changes of the description, and headrooms that moved, each as a table.

use loadworthy_checks::compare::{HeadroomChange, HeadroomTurn, Turn, together};
use loadworthy_language::difference;
use loadworthy_source::NodeId;

use crate::compared::{Change, Compared, Side};
use crate::show::compare::said::{self, Turned};
use crate::show::layout::{counted, cut};
use crate::show::places;

use super::super::finding::linked;
use super::super::gauge::moved;
use super::super::markup::{Markup, lines, prose};
use super::super::numbers::Number;
use super::super::table::{cell, filled, head, region};

/// Rows of a table that are shown before the rest is folded.
const FIRST_ROWS: usize = 20;
/// Characters of a path or a name of a part that are shown.
const LONGEST: usize = 160;

/// What turned or moved, with an arrow as a page has one.
pub(super) fn arrows(said: &str) -> String {
    said.replace(" -> ", " → ")
}

/// Sayings line by line.
pub(super) fn joined(said: &[String]) -> Markup {
    let mut out = Markup::new();
    out.raw("<span class=\"figures\">");
    for (place, one) in said.iter().filter(|one| !one.is_empty()).enumerate() {
        out.raw(if place > 0 { "<br>" } else { "" }).text(&arrows(one));
    }
    out.raw("</span>");
    out
}

/// The figures of a finding before and after, or what is wrong where there are none.
pub(super) fn figures(turned: &Turned<'_>) -> Markup {
    let said = turned.figures();
    match turned.shown() {
        Some(finding) if said.is_empty() => prose(&finding.saying),
        _ => joined(&said),
    }
}

/// A table, of which all behind its first rows are folded.
fn table(name: &str, columns: &[&'static str], rows: &[Markup]) -> Markup {
    let mut out = Markup::new();
    let (first, rest) = rows.split_at(rows.len().min(FIRST_ROWS));
    put(&mut out, name, columns, first);
    if !rest.is_empty() {
        out.raw("<details><summary>").count(rest.len()).raw(" more</summary>\n");
        put(&mut out, &format!("{name}, the rest"), columns, rest);
        out.raw("</details>\n");
    }
    out
}

fn put(out: &mut Markup, name: &str, columns: &[&'static str], rows: &[Markup]) {
    if rows.is_empty() {
        return;
    }
    region(out, name, 0);
    out.raw("<table class=\"stack\" role=\"table\">\n");
    head(out, columns);
    for row in rows {
        out.raw("<tr role=\"row\">").join(row).raw("</tr>\n");
    }
    out.raw("</tbody></table></div>\n");
}

/// Findings before and after; where each stands in full below, its number leads there.
pub(super) fn turned(
    compared: &Compared,
    all: &[(Turn, Turned<'_>)],
    name: &str,
    are_in_full: bool,
) -> Markup {
    let row = |(place, (turn, turned)): (usize, &(Turn, Turned<'_>))| {
        let number = are_in_full.then_some(Number(place + 1));
        finding(compared, *turn, turned, number)
    };
    let rows: Vec<Markup> = all.iter().enumerate().map(row).collect();
    const COLUMNS: [&str; 6] = ["Part", "Change", "Figures", "Bars", "Where", "What would hold"];
    table(name, if are_in_full { &COLUMNS } else { &COLUMNS[..5] }, &rows)
}

fn finding(compared: &Compared, turn: Turn, turned: &Turned<'_>, number: Option<Number>) -> Markup {
    let mut out = Markup::new();
    let Some(finding) = turned.shown() else { return out };
    out.raw("<th scope=\"row\" role=\"rowheader\">");
    if let Some(number) = number {
        linked(&mut out, 0, number);
        out.raw(" ");
    }
    out.text(&cut(&finding.part, LONGEST)).raw("<br><span class=\"").raw(finding.grade.word());
    out.raw("\"><span class=\"grade\">").raw(if finding.is_accepted() { "accepted, " } else { "" });
    out.text(&arrows(&turned.grade())).raw("</span></span> <span class=\"check\">").raw(finding.check);
    out.raw("</span></th>");
    cell(&mut out, "Change", turn.words());
    filled(&mut out, "Figures", &figures(turned));
    let compared_of = |of: Option<&'_ loadworthy_checks::review::Finding>| of.and_then(|of| of.comparison);
    let (old, new) = (compared_of(turned.old), compared_of(turned.new));
    bars(&mut out, &moved(old.as_ref(), new.as_ref()));
    place(&mut out, "Where", &said::where_found(compared, turned));
    if number.is_some() {
        let held = match (finding.proposals.first(), &finding.no_proposal) {
            (Some(held), _) => format!("{}: leaves {}", held.say, held.leaves),
            (None, Some(why)) => format!("no proposal: {why}"),
            (None, None) => "–".to_owned(),
        };
        cell(&mut out, "What would hold", &held);
    }
    out
}

/// Bars, of which nothing is left out where they are not seen.
fn bars(out: &mut Markup, drawn: &Markup) {
    if drawn.is_empty() {
        out.raw("<td role=\"cell\" class=\"blank\" data-l=\"Bars\"><span>–</span></td>");
    } else {
        filled(out, "Bars", drawn);
    }
}

/// Where something is worst.
fn place(out: &mut Markup, name: &'static str, said: &str) {
    filled(out, name, &lines(&arrows(if said.is_empty() { "always" } else { said })));
}

/// What the descriptions say differently.
pub(super) fn changes(compared: &Compared, change: &Change) -> Markup {
    let all = &change.difference.changes;
    if all.is_empty() {
        let mut out = Markup::new();
        out.raw("<p>The descriptions say the same.</p>\n");
        return out;
    }
    let rows: Vec<Markup> = all.iter().map(|one| changed(compared, one)).collect();
    let columns = ["Path", "Change", "Before", "After", "Place"];
    table("What changed in the description", &columns, &rows)
}

fn changed(compared: &Compared, change: &difference::Change) -> Markup {
    let mut out = Markup::new();
    let said = said::change(change);
    out.element("<th scope=\"row\" role=\"rowheader\">", &cut(&said.path, LONGEST), "</th>");
    cell(&mut out, "Change", said.word);
    // Of a list what came and went is one saying.
    let (before, after) = match said.what.as_slice() {
        [before, after] => (before.as_str(), after.as_str()),
        [only] => ("–", only.as_str()),
        _ if said.at.is_none() => ("stated", "–"),
        _ => ("–", "stated"),
    };
    cell(&mut out, "Before", before);
    let remark = said.remark.map(|remark| format!(" ({remark})")).unwrap_or_default();
    cell(&mut out, "After", &format!("{after}{remark}"));
    let at = |side: &Side, at: Option<NodeId>| {
        let made = side.made.as_ref().ok()?;
        Some(places::in_short(&made.described.tree, at?))
    };
    let before = || at(&compared.old, said.was_at).map(|at| format!("before: {at}"));
    cell(&mut out, "Place", &at(&compared.new, said.at).or_else(before).unwrap_or_else(|| "–".to_owned()));
    out
}

/// Headrooms that moved: of which less is left, more, and those that are on one side alone.
pub(super) fn headrooms(compared: &Compared, change: &Change) -> Markup {
    use HeadroomTurn::{Fell, Gone, New, NoLongerJudged, NowJudged, Rose};
    let mut out = Markup::new();
    let together = together(&change.effects.headrooms);
    let tables: [(&'static str, &[HeadroomTurn]); 3] = [
        ("Less headroom, or not judged any more", &[NoLongerJudged, Fell]),
        ("More headroom, or judged now", &[Rose, NowJudged]),
        ("On one side alone", &[New, Gone]),
    ];
    for (name, turns) in tables {
        let of_turns = together.iter().filter(|one| turns.contains(&one.0.turn));
        let rows: Vec<Markup> = of_turns.map(|(one, alike)| headroom(compared, one, *alike)).collect();
        if !rows.is_empty() {
            out.raw("<h3>").raw(name).raw("</h3>\n");
            out.join(&table(name, &["Part", "Headroom", "Figures", "Bars", "Worst in"], &rows));
        }
    }
    if !out.is_empty() {
        out.element(
            "<p class=\"aside\">",
            &counted(change.effects.headrooms_unchanged, "headroom", "headrooms"),
            "",
        );
        out.raw(" unchanged.</p>\n");
    }
    out
}

fn headroom(compared: &Compared, change: &HeadroomChange, alike: usize) -> Markup {
    let mut out = Markup::new();
    let (figure, figures) = said::compared_figures(change);
    out.element("<th scope=\"row\" role=\"rowheader\">", &cut(&change.part, LONGEST), "");
    if alike > 0 {
        out.raw(" +").count(alike).raw(" alike");
    }
    out.element("<br><span class=\"check\">", &figure, "</span></th>");
    cell(&mut out, "Headroom", &format!("{}: {}", change.turn.words(), arrows(&said::headroom(change))));
    filled(&mut out, "Figures", &joined(&figures));
    let old = change.old.as_ref().map(|of| of.comparison);
    // What is left of one that is judged in part alone is no figure to lay beside the old one.
    let new = change.new.as_ref().filter(|_| change.turn != HeadroomTurn::NoLongerJudged);
    bars(&mut out, &moved(old.as_ref(), new.map(|of| of.comparison).as_ref()));
    place(&mut out, "Worst in", &said::where_worst(compared, change));
    out
}
