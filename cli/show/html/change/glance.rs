//! The change in one glance: how it is judged, what turned which way, what is worst of it, and how each side stands by itself.

use loadworthy_checks::compare::{HeadroomTurn, Turn};
use loadworthy_unit::Unit;

use crate::arguments::AskedGrade;
use crate::compared::{Change, Compared, Side};
use crate::show::compare::said::{self, Turned};
use crate::show::layout::{cut, free_text};
use crate::show::words::permit::held_against;
use crate::show::words::review::found;
use crate::tally::Ends;

use super::super::finding::linked;
use super::super::gauge::{gauge, moved};
use super::super::markup::{Markup, lines, prose};
use super::super::numbers::Number;
use super::super::table::{cell, filled, head, region};
use super::super::verdict::{self, LONGEST_NAME};
use super::tables::{arrows, figures, joined};
use super::{BETTER, WORSE};

/// The unit that it is about, as it is now, and what is laid beside what.
pub(super) fn plate(compared: &Compared) -> Markup {
    let mut out = Markup::new();
    let (old, new) = (unit(&compared.old), unit(&compared.new));
    let name = new.or(old).and_then(|unit| unit.name.as_deref()).filter(|name| !name.trim().is_empty());
    let name = name.map_or_else(|| compared.new.name.clone(), |name| cut(name, LONGEST_NAME));
    out.element(
        "<div class=\"plate\">\n<div><h1>",
        &name,
        "</h1>\n<p class=\"aside\">What the change does: ",
    );
    out.element("from <code>", &cut(&compared.old.name, LONGEST_NAME), "</code>");
    out.element(" to <code>", &cut(&compared.new.name, LONGEST_NAME), "</code>");
    let day = |side: &Side| side.made.as_ref().ok().and_then(|made| made.besides.day);
    if let Some(day) = day(&compared.new).or_else(|| day(&compared.old)) {
        out.raw("; permits ").text(&held_against(day));
    }
    out.raw("</p></div>\n<dl>");
    let (old, new) = (old.map(facts), new.map(facts));
    for (place, name) in ["Revision", "Edition", "Duty points", "Variants"].into_iter().enumerate() {
        let of = |facts: &Option<[String; 4]>| facts.as_ref().map(|facts| facts[place].clone());
        let said = match (of(&old), of(&new)) {
            (Some(old), Some(new)) if old != new => format!("{old} → {new}"),
            (old, new) => new.or(old).unwrap_or_else(|| "–".to_owned()),
        };
        out.raw("<div><dt>").raw(name).element("</dt><dd>", &said, "</dd></div>");
    }
    out.raw("</dl>\n</div>\n");
    out
}

/// Revision, edition, duty points and variants of a unit.
fn facts(unit: &Unit) -> [String; 4] {
    let none = || "–".to_owned();
    let named = unit.variants.iter().filter(|variant| variant.name.is_some()).count();
    let duties = unit.variants.iter().map(|one| one.duties.len()).max().unwrap_or_default();
    [
        unit.revision.as_deref().map_or_else(none, free_text),
        unit.edition.map_or_else(none, |edition| edition.to_string()),
        duties.to_string(),
        if named == 0 { none() } else { named.to_string() },
    ]
}

fn unit(side: &Side) -> Option<&Unit> {
    side.made.as_ref().ok().map(|made| &made.described.unit)
}

/// The stamp, and what is worst of what moved.
pub(super) fn verdict(compared: &Compared, change: &Change) -> Markup {
    let mut out = Markup::new();
    let word = said::verdict(change);
    let (class, mark, title) = match word {
        "worse" => ("fails", "✕", "Worse"),
        "less judged" => ("open", "?", "Less judged"),
        "better" => ("holds", "○", "Better"),
        "no change" => ("holds", "=", "No change"),
        _ => ("holds", "○", "No worse"),
    };
    out.raw("<section class=\"verdict ").raw(class).raw("\">\n<div class=\"stamp\"><h2>");
    out.raw(mark).raw(" ").raw(title).raw("</h2>\n<ul class=\"says\">");
    for (name, number) in counts(change) {
        out.element("<li><span>", &name, "</span> <span class=\"num\">").count(number).raw("</span></li>");
    }
    out.raw("</ul></div>\n<div class=\"weakest\">\n").join(&first(compared, change));
    out.raw("</div>\n</section>\n");
    out
}

fn counts(change: &Change) -> Vec<(String, usize)> {
    use HeadroomTurn::{Fell, Gone, New, NoLongerJudged, NowJudged, Rose};
    let effects = &change.effects;
    let mut all = Vec::new();
    for turn in Turn::ALL {
        all.push((format!("findings {}", turn.words()), effects.count(turn)));
    }
    if all.iter().all(|(_, number)| *number == 0) {
        all = Vec::new();
    }
    for turn in [Fell, Rose, New, Gone, NoLongerJudged, NowJudged] {
        all.push((format!("headrooms {}", turn.words()), effects.count_headrooms(turn)));
    }
    all.push(("headrooms unchanged".to_owned(), effects.headrooms_unchanged));
    all.retain(|(_, number)| *number > 0);
    all.push(("changes of the description".to_owned(), change.difference.changes.len()));
    all
}

/// What a reader must see first: the gravest of what is worse, what is not judged any more, the headroom that fell most, or
/// the first that is better.
fn first(compared: &Compared, change: &Change) -> Markup {
    let mut out = Markup::new();
    let worse = Turned::all(compared, change, WORSE);
    let grade = |(_, turned): &(Turn, Turned<'_>)| {
        turned.shown().map(|finding| (finding.is_accepted(), finding.grade))
    };
    let gravest = worse.iter().enumerate().min_by_key(|(_, one)| grade(one));
    if let Some((place, (turn, turned))) = gravest {
        return of_finding(compared, *turn, turned, Some(Number(place + 1)));
    }
    let missing = change.effects.unjudged.iter().find(|one| one.is_new);
    let missing = missing.zip(compared.new.whole());
    if let Some(missing) = missing.and_then(|(one, made)| made.review.not_judged.get(one.place)) {
        out.raw("<h3>Not judged any more</h3>\n<p class=\"lead\">").text(&missing.missing);
        return out.raw(" is missing, which is no pass.</p>\n").clone();
    }
    // In their order what is no longer judged comes first, then the largest loss.
    let fell = change.effects.headrooms.first();
    let fell = fell.filter(|one| matches!(one.turn, HeadroomTurn::NoLongerJudged | HeadroomTurn::Fell));
    let better = Turned::all(compared, change, BETTER);
    match (fell, better.first()) {
        (_, Some((turn, turned))) => out = of_finding(compared, *turn, turned, None),
        (Some(one), None) => {
            let (figure, said) = said::compared_figures(one);
            out.raw("<h3>Headroom ").raw(one.turn.words()).element(" <code>", &one.part, "</code></h3>\n");
            out.element("<p class=\"lead\">", &arrows(&said::headroom(one)), ": ");
            out.text(&figure).raw("</p>\n<p class=\"where\">").join(&joined(&said)).raw("</p>\n");
            let compared =
                |of: &Option<loadworthy_checks::compare::Headroom>| of.as_ref().map(|of| of.comparison);
            out.join(&moved(compared(&one.old).as_ref(), compared(&one.new).as_ref()));
        }
        (None, None) => {
            out.raw("<h3>No finding turned, and no headroom fell</h3>\n");
            out.raw("<p class=\"lead\">How each side stands by itself is said below.</p>\n");
        }
    }
    out
}

fn of_finding(compared: &Compared, turn: Turn, turned: &Turned<'_>, number: Option<Number>) -> Markup {
    let mut out = Markup::new();
    let Some(finding) = turned.shown() else { return out };
    out.element("<h3>", &capital(turn.words()), " ");
    if let Some(number) = number {
        linked(&mut out, 0, number);
    }
    out.raw(" <span class=\"").raw(finding.grade.word()).raw("\"><span class=\"grade\">");
    out.text(&arrows(&turned.grade())).element("</span></span> <code>", &finding.part, "</code></h3>\n");
    out.raw("<p class=\"lead\">").join(&prose(&finding.saying)).raw("</p>\n");
    let place = said::where_found(compared, turned);
    if !place.is_empty() {
        out.raw("<p class=\"where\">").join(&lines(&arrows(&place))).raw("</p>\n");
    }
    if turned.old.is_some() && turned.new.is_some() && finding.comparison.is_some() {
        out.raw("<p>").join(&figures(turned)).raw("</p>\n");
    }
    match (turn, &finding.comparison) {
        (Turn::NoLongerJudged | Turn::Gone, _) | (_, None) => {}
        (_, Some(compared)) => {
            out.join(&gauge(compared));
        }
    }
    if number.is_some() {
        out.join(&verdict::change(finding));
    }
    out
}

fn capital(word: &str) -> String {
    let mut characters = word.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// What is said where a side could not be read in full.
pub(super) fn not_compared() -> Markup {
    let mut out = Markup::new();
    out.raw("<section class=\"verdict fails\">\n<div class=\"stamp\"><h2>✕ Not compared</h2></div>\n");
    out.raw("<div class=\"weakest\"><h3>A side could not be read in full</h3>\n");
    out.raw("<p class=\"lead\">What is void in a side would look like a change.</p></div>\n</section>\n");
    out
}

/// How each side stands by itself.
pub(super) fn sides(compared: &Compared, grade: AskedGrade) -> Markup {
    let mut out = Markup::new();
    out.raw("<h2 id=\"u0-sides\">How each side stands by itself</h2>\n");
    region(&mut out, "How each side stands by itself", 0);
    out.raw("<table class=\"stack\" role=\"table\">\n");
    head(&mut out, &["Side", "Verdict", "Findings", "Hold", "Fail", "Accepted", "Not judged"]);
    for (which, side) in [("before", &compared.old), ("after", &compared.new)] {
        out.raw("<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">").raw(which);
        out.element("<br><span class=\"check\">", &cut(&side.name, LONGEST_NAME), "</span></th>");
        let mut ends = Markup::new();
        match &side.made {
            Err(why) => {
                ends.element("✕ Cannot be read: ", why, "");
                filled(&mut out, "Verdict", &ends);
                for name in ["Findings", "Hold", "Fail", "Accepted", "Not judged"] {
                    cell(&mut out, name, "–");
                }
            }
            Ok(made) => {
                let outcome = made.outcome(grade);
                let how = Ends::of(outcome, grade, &made.review.findings);
                let headline = verdict::headline(how, &made.review.findings);
                ends.raw(verdict::mark(outcome)).raw(" ").text(&headline);
                filled(&mut out, "Verdict", &ends);
                let found = found(&made.described, &made.review);
                cell(&mut out, "Findings", found.as_deref().unwrap_or("none"));
                let counts = made.review.counts;
                for (name, number) in [
                    ("Hold", counts.hold),
                    ("Fail", counts.fail),
                    ("Accepted", counts.accepted),
                    ("Not judged", counts.not_judged),
                ] {
                    cell(&mut out, name, &number.to_string());
                }
            }
        }
        out.raw("</tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}
