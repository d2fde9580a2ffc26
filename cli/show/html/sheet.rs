//! A unit on its sheet: verdict, drawings, tables, findings, and what is open.

use crate::outcome::Outcome;
use crate::reviewed::Made;
use crate::show::cautions;
use crate::show::terminal::CAUTION;
use crate::solutions::Solutions;

use super::markup::Markup;
use super::numbers::{Numbers, numbered};
use super::points::{Point, Points};
use super::power::{self, Net};
use super::used::Uses;
use super::{coolant, faults, finding, isolation, open, problem, stress, verdict};

/// A sheet, and what its choices add to the style of the page.
pub(crate) struct Sheet {
    pub(crate) body: Markup,
    pub(crate) rules: Markup,
}

/// The sheet of a reviewed description; `place` makes its anchors its own.
pub(crate) fn sheet(made: &Made, outcome: Outcome, place: usize) -> Sheet {
    let (mut body, mut rules) = (Markup::new(), Markup::new());
    let described = &made.described;
    body.raw("<article class=\"sheet u").count(place).raw("\" id=\"u").count(place).raw("\">\n");
    body.join(&verdict::plate(made)).join(&verdict::verdict(made, outcome, place));
    body.join(&cautions(made, place));
    let mut inner = Markup::new();
    inner.join(&verdict::in_short(made, place));
    inner.join(&problem::problems(&described.tree, &described.problems, place));
    drawings(made, place, &mut inner, &mut rules);
    inner.join(&stress::table(made, place));
    inner.join(&findings(made, place)).join(&open::not_judged(made, place));
    inner.join(&open::assumed(made, place)).join(&open::unjudged(made, place));
    if let Some(walks) = &made.besides.faults {
        inner.join(&faults::faults(walks, place));
    }
    body.join(&inner).raw("</article>\n");
    Sheet { body, rules }
}

/// What a reader must know before anything else.
fn cautions(made: &Made, place: usize) -> Markup {
    let mut out = Markup::new();
    out.raw("<section class=\"cautions\" aria-labelledby=\"u")
        .count(place)
        .raw("-cautions\"><h2 id=\"u")
        .count(place);
    out.raw("-cautions\">Cautions</h2>\n<ul>");
    for caution in cautions::of(&made.review).into_iter().chain([CAUTION]) {
        out.raw("<li>").raw(caution).raw("</li>");
    }
    out.raw("</ul></section>\n");
    out
}

/// What is drawn from the solved unit, for each duty point that may be chosen.
fn drawings(made: &Made, place: usize, out: &mut Markup, rules: &mut Markup) {
    let Ok(solutions) = Solutions::of(&made.described.unit, None, None) else { return };
    let points = Points::of(made, &solutions);
    if points.drawn.is_empty() {
        return;
    }
    let numbers = Numbers::of(&made.review);
    rules.join(&points.rules(place));
    let all: Vec<(&Point<'_, '_>, Uses<'_>)> =
        points.drawn.iter().map(|point| (point, uses(made, point, &numbers))).collect();
    out.raw("<h2 id=\"u")
        .count(place)
        .raw("-power\">The way of the power</h2>\n")
        .join(&points.choice(place));
    for (k, (point, uses)) in all.iter().enumerate() {
        out.raw("<div class=\"p")
            .count(k)
            .raw("\">\n")
            .join(&power_of(point, uses, (place, k)))
            .raw("</div>\n");
    }
    out.raw(LEGEND);
    if all.iter().any(|(point, _)| point.account.solved.variant.plan.coolant.is_some()) {
        out.raw("<h2 id=\"u").count(place).raw("-coolant\">The way of the coolant</h2>\n");
        for (k, (point, uses)) in all.iter().enumerate() {
            out.raw("<div class=\"p").count(k).raw("\">\n").join(&coolant_of(point, uses, (place, k)));
            out.raw("</div>\n");
        }
    }
    // Domains and barriers are the same whatever is asked.
    let first = all.iter().find(|(point, _)| point.is_first);
    if let Some((point, uses)) = first
        && let Some(isolation) = &point.account.solved.variant.plan.isolation
    {
        out.raw("<h2 id=\"u").count(place).raw("-isolation\">Isolation</h2>\n");
        let account = &point.account;
        out.join(&isolation::isolation(account.solved, isolation, uses, account.lane, place));
    }
}

/// What the marks and bars of the drawings mean.
const LEGEND: &str = "<ul class=\"legend\"><li>✕ more than is allowed, hatched</li><li>△ below ten per cent or ten kelvin left</li>\
    <li>○ more left</li><li>? not judged</li><li>a bar is full where all that is allowed is used; for temperatures it shows the last 100 K</li>\
    <li>the heavier a line, the more power</li><li>a number in a ring is that of a finding</li></ul>\n";

fn uses<'u>(made: &'u Made, point: &Point<'_, 'u>, numbers: &Numbers<'_>) -> Uses<'u> {
    let verdicts = made.review.verdicts.get(point.variant).map_or(&[][..], Vec::as_slice);
    Uses::of(point.account.solved.variant, verdicts, Some(point.duty), numbers)
}

fn power_of<'u>(point: &Point<'_, 'u>, uses: &Uses<'u>, (place, k): (usize, usize)) -> Markup {
    let mut out = Markup::new();
    let mut net = Net::of(&point.account, uses);
    let title = format!("Power in {}", point.condition());
    out.join(&power::drawing(&mut net, &format!("u{place}-power-{k}"), &title));
    let elsewhere = uses.elsewhere(&net.names());
    if !elsewhere.is_empty() {
        out.raw("<p class=\"aside\">Findings at what is not drawn here: ");
        for (at, (name, number)) in elsewhere.iter().enumerate() {
            out.raw(if at == 0 { "" } else { ", " });
            finding::linked(&mut out, place, *number);
            out.element(" <code>", name, "</code>");
        }
        out.raw("</p>\n");
    }
    out.raw("<details><summary>The same as a table</summary>\n").join(&power::table(&net, &title));
    out.raw("</details>\n");
    out
}

fn coolant_of<'u>(point: &Point<'_, 'u>, uses: &Uses<'u>, (place, k): (usize, usize)) -> Markup {
    let mut out = Markup::new();
    let stations = coolant::stations(&point.account, uses);
    if stations.is_empty() {
        return out;
    }
    let title = format!("Coolant in {}", point.condition());
    out.join(&coolant::drawing(&stations, &format!("u{place}-coolant-{k}"), &title));
    out.raw("<details><summary>The same as a table</summary>\n").join(&coolant::table(&stations, &title));
    out.raw("</details>\n");
    out
}

fn findings(made: &Made, place: usize) -> Markup {
    let mut out = Markup::new();
    let (described, review, day) = (&made.described, &made.review, made.besides.day);
    out.raw("<h2 id=\"u").count(place).raw("-findings\">Findings</h2>\n");
    if review.findings.is_empty() {
        out.raw("<p>Nothing that was judged fails without a permit. That is no approval.</p>\n");
    }
    for (number, finding) in numbered(review).filter(|(_, finding)| !finding.is_accepted()) {
        out.join(&finding::block(described, finding, number, day, place));
    }
    if !review.accepted.is_empty() {
        out.raw("<h2 id=\"u").count(place).raw("-accepted\">Accepted by permit</h2>\n");
        out.raw("<p>These fail, and somebody accepted them on record.</p>\n");
        for (number, finding) in numbered(review).filter(|(_, finding)| finding.is_accepted()) {
            out.join(&finding::block(described, finding, number, day, place));
        }
    }
    out
}
