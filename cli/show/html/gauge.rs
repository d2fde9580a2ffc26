//! One comparison as a dimensioned line: what is carried, what is allowed of which limit, and the distance between; and one
//! before and after, as two bars on one scale.

use loadworthy_checks::figure_text;
use loadworthy_checks::verdict::Comparison;

use super::markup::Markup;
use super::svg::{self, Anchor, Label, SMALL};

const WIDTH: f64 = 344.0;
/// With what is said below the scale: of what is allowed, and of another limit.
const HEIGHT: (f64, f64) = (80.0, 100.0);
/// Left and right end of the scale.
const ENDS: (f64, f64) = (2.0, 326.0);
/// Height of the scale.
const SCALE: f64 = 52.0;

/// The bars of a comparison before and after: their room, where they begin and end, and how far they lie apart.
const PAIR: (f64, f64) = (188.0, 40.0);
const BARS: (f64, f64) = (50.0, 184.0);
const APART: f64 = 19.0;

/// From where to where: from zero, or for temperatures and where something is below it from somewhat lower than the least.
fn scale(values: &[f64], is_in_kelvin: bool) -> (f64, f64) {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let from = if is_in_kelvin || least < 0.0 { least - (0.6 * (most - least)).max(10.0) } else { 0.0 };
    (from, most)
}

/// Two bars, before and after: what is carried, a stroke at what is allowed, what is over hatched. All that they say stands
/// beside them as text, so they are hidden from who listens.
pub(crate) fn moved(old: Option<&Comparison>, new: Option<&Comparison>) -> Markup {
    let mut out = Markup::new();
    let both = || [("before", old), ("after", new)].into_iter().filter_map(|(say, of)| Some((say, of?)));
    let values: Vec<f64> = both().flat_map(|(_, of)| [of.carried_value, of.allowed]).collect();
    let (from, most) = scale(&values, both().any(|(_, of)| of.is_in_kelvin()));
    if !values.iter().all(|value| value.is_finite()) || most <= from {
        return out;
    }
    let place = |value: f64| BARS.0 + (BARS.1 - BARS.0) * (value - from) / (most - from);
    out.raw("<svg class=\"drawing moved\" aria-hidden=\"true\" viewBox=\"0 0 ").at(PAIR.0).raw(" ");
    out.at(PAIR.1 - if both().count() < 2 { APART } else { 0.0 }).raw("\">\n");
    for (row, (say, of)) in both().enumerate() {
        let y = 5.0 + APART * row as f64;
        let (carried, allowed) = (place(of.carried_value), place(of.allowed));
        Label::small(BARS.0).class("s soft").put(&mut out, (0.0, y + 10.0), say);
        svg::rect(&mut out, "fill enough", (BARS.0, y), (carried.min(allowed) - BARS.0, 11.0));
        if !of.holds() {
            svg::rect(&mut out, "fill over", (allowed, y), (carried - allowed, 11.0));
        }
        svg::stroke(&mut out, "bold", &[(allowed, y - 4.0), (allowed, y + 14.0)]);
    }
    out.raw("</svg>\n");
    out
}

/// The line. All that it says stands beside it as text, so it is hidden from who listens.
pub(crate) fn gauge(compared: &Comparison) -> Markup {
    let mut out = Markup::new();
    let (carried, allowed, limit) = (compared.carried_value, compared.allowed, compared.limit);
    if ![carried, allowed, limit].iter().all(|value| value.is_finite()) {
        return out;
    }
    let (from, most) = scale(&[carried, allowed, limit], compared.is_in_kelvin());
    if most <= from {
        return out;
    }
    let place = |value: f64| ENDS.0 + (ENDS.1 - ENDS.0) * (value - from) / (most - from);
    let text = figure_text::comparison(compared);
    let over = !compared.holds();
    let height = if (place(limit) - place(allowed)).abs() > 0.5 { HEIGHT.1 } else { HEIGHT.0 };
    out.raw("<svg class=\"drawing gauge\" aria-hidden=\"true\" viewBox=\"0 0 ").at(WIDTH).raw(" ").at(height);
    out.raw("\">\n");
    let (c, a, l) = (place(carried), place(allowed), place(limit));
    svg::stroke(&mut out, "hair", &[(ENDS.0, SCALE), (ENDS.1 + 6.0, SCALE)]);
    svg::rect(&mut out, "track", (ENDS.0, SCALE - 7.0), (c.min(a) - ENDS.0, 14.0));
    svg::rect(&mut out, "fill enough", (ENDS.0, SCALE - 7.0), (c.min(a) - ENDS.0, 14.0));
    if over {
        svg::rect(&mut out, "fill over", (a, SCALE - 7.0), (c - a, 14.0));
    }
    svg::stroke(&mut out, "bold", &[(a, SCALE - 16.0), (a, SCALE + 20.0)]);
    if (l - a).abs() > 0.5 {
        svg::stroke(&mut out, "dash", &[(l, SCALE - 10.0), (l, SCALE + 38.0)]);
    }
    svg::stroke(&mut out, "thin", &[(c, 14.0), (c, SCALE + 10.0)]);
    let label = |out: &mut Markup, x: f64, y: f64, class: &'static str, said: &str| {
        // To the side on which there is room; where there is none on either, along the edge.
        let wide = svg::width(said, SMALL);
        let (left, right) = (x - 5.0 - wide >= 0.0, x + 5.0 + wide <= WIDTH);
        let (at, anchor) = match (left, right) {
            (true, true) if x < 0.5 * WIDTH => (x + 5.0, Anchor::Start),
            (false, true) => (x + 5.0, Anchor::Start),
            (true, _) => (x - 5.0, Anchor::End),
            (false, false) => (WIDTH, Anchor::End),
        };
        Label::small(WIDTH).class(class).anchored(anchor).put(out, (at, y), said);
    };
    let headroom = &text.headroom;
    let class = if over { "s over" } else { "s" };
    label(&mut out, c, 12.0, class, &format!("carried {}: {headroom}", text.carried));
    let policy = text.policy.as_ref().map_or_else(String::new, |policy| format!(" ({policy})"));
    label(&mut out, a, SCALE + 22.0, "s", &format!("allowed {}{policy}", text.allowed));
    if (l - a).abs() > 0.5 {
        label(&mut out, l, SCALE + 40.0, "s", &format!("limit {}", text.limit));
    }
    // The distance, as a drawing is dimensioned.
    let (from, to) = (a.min(c), a.max(c));
    if to - from > 12.0 {
        let y = 26.0;
        svg::stroke(&mut out, "thin", &[(from, y), (to, y)]);
        svg::stroke(&mut out, "thin", &[(a, y - 5.0), (a, SCALE - 16.0)]);
        for (x, way) in [(from, 1.0), (to, -1.0)] {
            svg::shape(&mut out, "arrow", &[(x, y), (x + 7.0 * way, y - 2.6), (x + 7.0 * way, y + 2.6)]);
        }
    }
    out.raw("</svg>\n");
    out
}
