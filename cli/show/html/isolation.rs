//! Domains as upright rails, and as rungs between them whatever lies between two: barriers, capacitors, bonding.

use loadworthy_checks::figure_text::value;
use loadworthy_checks::isolation::ways::{Way, layers, weakest, what, worth};
use loadworthy_unit::plan::{Barrier, Isolation, Span};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::finding::linked;
use super::markup::Markup;
use super::svg::{self, Anchor, Label, NAME, SMALL};
use super::table::{on_sheet, region};
use super::used::{Standing, Used, Uses};

/// Between two rails.
const APART: f64 = 420.0;
const EDGE: f64 = 112.0;
/// Room for what rails are called.
const TOP: f64 = 66.0;
/// Room for a rung.
const RUNG: f64 = 66.0;
/// Half of what a barrier takes of its line.
const HALF: f64 = 7.0;
/// Names of what passes a barrier that a row lists.
const NAMED: usize = 40;

/// A rung.
struct Rung<'i> {
    ends: (usize, usize),
    name: &'i str,
    says: String,
    layers: u8,
    is_barrier: bool,
    is_weak: bool,
    used: Option<&'i Used>,
}

/// The isolation of a solved variant, as a drawing and as tables.
pub(crate) fn isolation(
    solved: &Solved<'_>,
    isolation: &Isolation,
    uses: &Uses<'_>,
    lane: LaneId,
    sheet: usize,
) -> Markup {
    let mut out = Markup::new();
    let ways = weakest(solved, isolation);
    let weak: Vec<Span> =
        ways.iter().filter(|way| way.means < way.needed_means).flat_map(|way| way.spans.clone()).collect();
    let rungs = rungs(solved, isolation, uses, &weak);
    let mut title = "Isolation: domains and what lies between them".to_owned();
    if let Some(name) = &solved.variant.name {
        title.push_str(&format!(", {name}"));
    }
    let title = on_sheet(&title, sheet);
    out.join(&drawing(solved, isolation, &rungs, (lane, sheet), &title));
    out.raw("<ul class=\"legend\"><li>one stroke across a line: one layer of insulation</li><li>two strokes: double or reinforced</li>");
    out.raw(
        "<li>a broken stroke: functional, or a kind that is not stated</li><li>no stroke: bonded</li></ul>\n",
    );
    out.join(&pairs(isolation, &ways, sheet));
    out.join(&barriers(solved, isolation, uses, lane, sheet));
    out
}

fn rungs<'i>(
    solved: &Solved<'_>,
    isolation: &'i Isolation,
    uses: &'i Uses<'_>,
    weak: &[Span],
) -> Vec<Rung<'i>> {
    let mut rungs = Vec::new();
    for (ends, span) in isolation.spans() {
        let (name, part, says) = match span {
            Span::Barrier(place) => {
                let barrier = &isolation.barriers[place];
                let passes = barrier.spanned_by.len();
                let says = format!("{}, {passes} pass it", worth(isolation, span));
                (barrier.name.as_str(), Some(barrier.part), says)
            }
            Span::Capacitor(place) => {
                let capacitor = &isolation.capacitors[place];
                (
                    capacitor.name.as_str(),
                    Some(capacitor.part),
                    format!("capacitor, class {}", capacitor.class),
                )
            }
            Span::Bonding => ("bonded", None, "one potential".to_owned()),
            Span::OwnStage => ("its own stage", None, "functional".to_owned()),
        };
        rungs.push(Rung {
            ends: (ends.0.min(ends.1), ends.0.max(ends.1)),
            name,
            says,
            layers: layers(isolation, span),
            is_barrier: !matches!(span, Span::Bonding),
            is_weak: weak.contains(&span),
            used: part.and_then(|part| uses.path(solved.variant.path(part))),
        });
    }
    rungs
}

fn drawing(
    solved: &Solved<'_>,
    isolation: &Isolation,
    rungs: &[Rung<'_>],
    (lane, sheet): (LaneId, usize),
    title: &str,
) -> Markup {
    let mut out = Markup::new();
    let count = isolation.domains().count();
    let rail = |place: usize| EDGE + APART * place as f64;
    let level = |rung: usize| TOP + RUNG * (rung as f64 + 0.5) + 6.0;
    let (wide, tall) =
        (2.0 * EDGE + APART * count.saturating_sub(1) as f64, TOP + RUNG * rungs.len() as f64 + 20.0);
    svg::open(&mut out, (wide, tall), &format!("u{sheet}-isolation-drawing"), title);
    for (place, domain) in isolation.domains() {
        let x = rail(place);
        svg::rect(&mut out, "bar", (x - 3.0, TOP), (6.0, tall - TOP - 8.0));
        let label = |class| Label { class, size: SMALL, anchor: Anchor::Middle, room: 2.0 * EDGE - 8.0 };
        Label { size: NAME, ..label("n") }.put(&mut out, (x, 14.0), &domain.name);
        label("s").put(&mut out, (x, 32.0), what(isolation, place));
        let volts = solved.figure(domain.voltage, lane);
        let volts =
            volts.map_or_else(String::new, |volts| format!("up to {}", value(volts, Dimension::Voltage)));
        label("s").put(&mut out, (x, 49.0), &volts);
    }
    for (place, rung) in rungs.iter().enumerate() {
        let y = level(place);
        let (from, to) = (rail(rung.ends.0), rail(rung.ends.1));
        let middle = from + 0.5 * APART;
        let crossed = (rung.ends.0 + 1..rung.ends.1).map(rail);
        out.raw("<path class=\"wire\" d=\"M").at(from).raw(" ").at(y);
        if rung.is_barrier {
            out.raw("H").at(middle - HALF).raw("M").at(middle + HALF).raw(" ").at(y);
        }
        for x in crossed {
            out.raw("H").at(x - 8.0).raw("a8 8 0 0 1 16 0");
        }
        out.raw("H").at(to).raw("\"/>\n");
        for x in [from, to] {
            svg::circle(&mut out, "joint", (x, y), 4.5);
        }
        let strokes: &[f64] = if rung.layers >= 2 { &[-3.0, 3.0] } else { &[0.0] };
        for dx in strokes.iter().filter(|_| rung.is_barrier) {
            let class = match (rung.is_weak, rung.layers) {
                (true, 0) => "dash over",
                (true, _) => "bold over",
                (false, 0) => "dash",
                (false, _) => "bold",
            };
            svg::stroke(&mut out, class, &[(middle + dx, y - 13.0), (middle + dx, y + 13.0)]);
        }
        let is_over = rung.is_weak || rung.used.is_some_and(|used| used.standing == Standing::Over);
        let half = 0.5 * APART - 22.0;
        Label::name(half).put(&mut out, (from + 10.0, y - 8.0), rung.name);
        Label::small(half).class("s soft").put(&mut out, (from + 10.0, y + 17.0), &rung.says);
        let said = match rung.used {
            Some(used) => used.short(),
            None if rung.is_weak => "✕ too weak".to_owned(),
            None => String::new(),
        };
        let class = if is_over { "s over" } else { "s" };
        Label::small(half).class(class).put(&mut out, (middle + 14.0, y - 8.0), &said);
        for (k, number) in rung.used.iter().flat_map(|used| &used.numbers).take(3).enumerate() {
            svg::ring(&mut out, (middle + 26.0 + 24.0 * k as f64, y + 15.0), number.0);
        }
    }
    svg::close(&mut out);
    out
}

/// What is called so between two domains.
fn span_name(isolation: &Isolation, span: Span) -> &str {
    match span {
        Span::Barrier(place) => &isolation.barriers[place].name,
        Span::Capacitor(place) => &isolation.capacitors[place].name,
        Span::Bonding => "bonding to the chassis",
        Span::OwnStage => "its own stage",
    }
}

/// What every two domains need and what the weakest way between them has.
fn pairs(isolation: &Isolation, ways: &[Way], sheet: usize) -> Markup {
    let mut out = Markup::new();
    if ways.is_empty() {
        return out;
    }
    region(&mut out, "The weakest way between domains", sheet);
    out.raw("<table>");
    out.raw("<caption>The weakest way between every two domains that need protection from one another</caption>\n<thead><tr>");
    for head in ["Between", "Needed", "Weakest way", "Means of protection"] {
        out.raw("<th scope=\"col\">").raw(head).raw("</th>");
    }
    out.raw("</tr></thead>\n<tbody>\n");
    for way in ways {
        let (one, other) = (isolation.domain(way.between.0), isolation.domain(way.between.1));
        out.raw("<tr").raw(if way.means < way.needed_means { " class=\"is-over\"" } else { "" });
        out.element("><th scope=\"row\">", &format!("{} – {}", one.name, other.name), "</th><td>")
            .text(way.needed);
        let names: Vec<&str> = way.spans.iter().map(|span| span_name(isolation, *span)).collect();
        out.element("</td><td>", &names.join(", then "), "</td><td><span class=\"says\">");
        let mark = if way.means < way.needed_means { "✕" } else { "○" };
        out.text(&format!("{mark} {} of {}", way.means, way.needed_means)).raw("</span></td></tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}

fn barriers(
    solved: &Solved<'_>,
    isolation: &Isolation,
    uses: &Uses<'_>,
    lane: LaneId,
    sheet: usize,
) -> Markup {
    let mut out = Markup::new();
    if isolation.barriers.is_empty() {
        return out;
    }
    region(&mut out, "Barriers", sheet);
    out.raw("<table>");
    out.raw("<caption>Barriers as they are declared, with what is asked of them</caption>\n<thead><tr>");
    for head in ["Barrier", "Between", "Kind declared", "Clearance", "Creepage", "Worst", "What passes it"] {
        out.raw("<th scope=\"col\">").raw(head).raw("</th>");
    }
    out.raw("</tr></thead>\n<tbody>\n");
    for (place, barrier) in isolation.barriers.iter().enumerate() {
        out.element("<tr><th scope=\"row\">", &barrier.name, "</th><td>");
        let between = barrier
            .between
            .map(|(one, other)| format!("{} – {}", isolation.domain(one).name, isolation.domain(other).name));
        out.text(between.as_deref().unwrap_or("not stated"));
        out.element("</td><td>", worth(isolation, Span::Barrier(place)), "");
        let has = |input: InputId| length(solved.input(input, lane), "has");
        for (stated, asked) in
            [(barrier.clearance, barrier.figures.clearance), (barrier.creepage, barrier.figures.creepage)]
        {
            let asked = length(solved.figure(asked, lane), "asked");
            out.element("</td><td>", &format!("{}; {asked}", has(stated)), "");
        }
        out.raw("</td><td>");
        worst(&mut out, solved, barrier, uses, sheet);
        let mut names: Vec<&str> = barrier.spanned_by.iter().map(|(name, ..)| name.as_str()).collect();
        let more = names.len().saturating_sub(NAMED);
        names.truncate(NAMED);
        out.element("</td><td>", &names.join(", "), "");
        if more > 0 {
            out.raw(" and ").count(more).raw(" more");
        }
        out.raw("</td></tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}

fn length(metres: Option<f64>, word: &str) -> String {
    metres.map_or_else(
        || format!("{word} not known"),
        |metres| format!("{word} {}", value(metres, Dimension::Length)),
    )
}

fn worst(out: &mut Markup, solved: &Solved<'_>, barrier: &Barrier, uses: &Uses<'_>, sheet: usize) {
    match uses.path(solved.variant.path(barrier.part)) {
        Some(used) => {
            out.text(&used.short()).raw(" <span class=\"aside\">").text(&used.figure).raw("</span> ");
            for number in &used.numbers {
                linked(out, sheet, *number);
            }
        }
        None => {
            out.raw("nothing compared");
        }
    }
}
