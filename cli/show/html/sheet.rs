//! A unit on its sheet: verdict, drawings, tables, findings, and what is open.

use crate::reviewed::Made;
use crate::show::cautions;
use crate::show::terminal::CAUTION;
use crate::solutions::Solutions;
use crate::tally::Ends;

use super::markup::Markup;
use super::numbers::{Numbers, numbered};
use super::points::{Point, Points};
use super::power::{self, Net};
use super::table::on_sheet;
use super::used::Uses;
use super::{coolant, faults, finding, isolation, open, permits, problem, stress, verdict};

/// What the marks and bars of the drawings mean.
const LEGEND: &str = "<ul class=\"legend\"><li>✕ more than is allowed, hatched</li>\
    <li>△ below ten per cent or ten kelvin left</li><li>○ more left</li><li>? not judged</li>\
    <li>a bar is full where all that is allowed is used; for temperatures it shows the last 100 K</li>\
    <li>the heavier a line, the more power</li><li>a number in a ring is that of a finding</li></ul>\n";

/// A sheet, and what its choices add to the style of the page.
pub(crate) struct Sheet {
    pub(crate) body: Markup,
    pub(crate) rules: Markup,
}

/// The sheet of a reviewed description; `place` makes its anchors its own.
pub(crate) fn sheet(made: &Made, ends: Ends, place: usize) -> Sheet {
    let (mut body, mut rules) = (Markup::new(), Markup::new());
    let described = &made.described;
    body.raw("<article class=\"sheet u").count(place).raw("\" id=\"u").count(place).raw("\">\n");
    body.join(&verdict::plate(made)).join(&verdict::verdict(made, ends, place));
    body.join(&cautions(made));
    let mut sections = Sections::of(place);
    sections.put("short", "All findings in short", &verdict::in_short(made, place));
    let problems = problem::problems(&described.tree, &described.problems);
    sections.put("problems", "Problems of the description", &problems);
    drawings(made, &mut sections, &mut rules);
    sections.put("stress", "What every part carries of what it may", &stress::table(made, place));
    sections.put("findings", "Findings", &findings(made, place));
    sections.put("accepted", "Accepted by permit", &accepted(made, place));
    sections.put("permits", "Permits", &permits::table(made, place));
    sections.put("open", "Not judged", &open::not_judged(made));
    sections.put("assumed", "Assumptions", &open::assumed(made));
    sections.put("unjudged", "Stated, and judged by nothing yet", &open::unjudged(made));
    sections.put("left-out", "Left out", &open::left_out(made));
    if let Some(walks) = &made.besides.faults {
        sections.put("faults", "Single faults", &faults::faults(walks));
    }
    body.join(&sections.put_together()).raw("</article>\n");
    Sheet { body, rules }
}

/// Sections one after another, and where each begins.
pub(crate) struct Sections {
    place: usize,
    contents: Markup,
    all: Markup,
}

impl Sections {
    /// None yet; `place` makes their anchors those of a sheet.
    pub(crate) const fn of(place: usize) -> Self {
        Self { place, contents: Markup::new(), all: Markup::new() }
    }

    /// The contents, and all sections behind them.
    pub(crate) fn put_together(&self) -> Markup {
        let mut out = Markup::new();
        out.raw("<nav class=\"contents\" aria-label=\"").text(&on_sheet("Contents", self.place));
        out.raw("\"><ul>").join(&self.contents).raw("</ul></nav>\n").join(&self.all);
        out
    }

    /// Adds a section; one in which nothing stands is left out.
    pub(crate) fn put(&mut self, key: &'static str, title: &'static str, body: &Markup) {
        if body.is_empty() {
            return;
        }
        self.contents.raw("<li><a href=\"#u").count(self.place).raw("-").raw(key).raw("\">").raw(title);
        self.contents.raw("</a></li>");
        self.all.raw("<h2 id=\"u").count(self.place).raw("-").raw(key).raw("\">").raw(title).raw("</h2>\n");
        self.all.join(body);
    }
}

/// What a reader must know whatever the verdict is.
pub(crate) fn cautions(made: &Made) -> Markup {
    let mut out = Markup::new();
    out.raw(
        "<section class=\"cautions\"><h2>Cautions</h2>
<ul>",
    );
    for caution in cautions::of(&made.review).into_iter().chain([CAUTION]) {
        out.raw("<li>").raw(caution).raw("</li>");
    }
    out.raw("</ul></section>\n");
    out
}

/// What is drawn from the solved unit, for each duty point that may be chosen.
fn drawings(made: &Made, sections: &mut Sections, rules: &mut Markup) {
    let Ok(solutions) = Solutions::of(&made.described.unit, None, None) else { return };
    let points = Points::of(made, &solutions);
    if points.drawn.is_empty() {
        return;
    }
    let place = sections.place;
    let numbers = Numbers::of(&made.review);
    rules.join(&points.rules(place));
    let all: Vec<(&Point<'_, '_>, Uses<'_>)> =
        points.drawn.iter().map(|point| (point, uses(made, point, &numbers))).collect();
    let (mut power, mut coolant) = (points.choice(place), Markup::new());
    for (k, (point, uses)) in all.iter().enumerate() {
        let own = |out: &mut Markup, body: &Markup| {
            out.raw("<div class=\"p").count(k).raw("\">\n").join(body).raw("</div>\n");
        };
        own(&mut power, &power_of(point, uses, (place, k)));
        if point.account.solved.variant.plan.coolant.is_some() {
            own(&mut coolant, &coolant_of(point, uses, (place, k)));
        }
    }
    power.raw(LEGEND);
    sections.put("power", "The way of the power", &power);
    sections.put("coolant", "The way of the coolant", &coolant);
    // Domains and barriers are the same whatever is asked.
    let first = all.iter().find(|(point, _)| point.is_first);
    if let Some((point, uses)) = first
        && let Some(isolation) = &point.account.solved.variant.plan.isolation
    {
        let account = &point.account;
        let drawn = isolation::isolation(account.solved, isolation, uses, account.lane, place);
        sections.put("isolation", "Isolation", &drawn);
    }
}

fn uses<'u>(made: &'u Made, point: &Point<'_, 'u>, numbers: &Numbers<'_>) -> Uses<'u> {
    let verdicts = made.review.verdicts.get(point.variant).map_or(&[][..], Vec::as_slice);
    Uses::of(point.account.solved.variant, verdicts, Some(point.duty), numbers)
}

fn power_of<'u>(point: &Point<'_, 'u>, uses: &Uses<'u>, (place, k): (usize, usize)) -> Markup {
    let mut out = Markup::new();
    let mut net = Net::of(&point.account, uses);
    let title = on_sheet(&format!("Power in {}", point.condition()), place);
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
    let title = on_sheet(&format!("Coolant in {}", point.condition()), place);
    out.join(&coolant::drawing(&stations, &format!("u{place}-coolant-{k}"), &title));
    out.raw("<details><summary>The same as a table</summary>\n").join(&coolant::table(&stations, &title));
    out.raw("</details>\n");
    out
}

fn findings(made: &Made, place: usize) -> Markup {
    let mut out = Markup::new();
    let (described, review, day) = (&made.described, &made.review, made.besides.day);
    if review.findings.is_empty() {
        out.raw("<p>Nothing that was judged fails without a permit. That is no approval.</p>\n");
    }
    for (number, finding) in numbered(review).filter(|(_, finding)| !finding.is_accepted()) {
        out.join(&finding::block(described, finding, number, day, place));
    }
    out
}

/// Failures that a permit accepts, with reason, person and day.
fn accepted(made: &Made, place: usize) -> Markup {
    let mut out = Markup::new();
    let (described, review, day) = (&made.described, &made.review, made.besides.day);
    if review.accepted.is_empty() {
        return out;
    }
    out.raw("<p>These fail, and somebody accepted them on record.</p>\n");
    for (number, finding) in numbered(review).filter(|(_, finding)| finding.is_accepted()) {
        out.join(&finding::block(described, finding, number, day, place));
    }
    out
}
