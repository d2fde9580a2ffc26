//! Curves as a drawing: one panel for each variant, with what limits along the curve told by letter, mark and line, not by
//! colour alone. No script, and every text of a description escaped.

mod axis;

use std::fmt::Write;

use loadworthy_checks::capability::Point;
use loadworthy_checks::figure_text::value;
use loadworthy_source::escape_text;
use loadworthy_unit::Dimension;

use crate::described::Described;
use crate::show::layout::{cut, free_text};
use crate::show::terminal::CAUTION;

use super::{Capability, Drawn, letter};
use axis::Axis;

const WIDTH: f64 = 820.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 64.0;
/// Height of the field of a panel.
const FIELD: f64 = 320.0;
/// From the field to the legend.
const BELOW: f64 = 76.0;
const LINE: f64 = 20.0;
/// Characters of a line that fit.
const FITS: usize = 112;
/// Colours that keep apart in print and for colour-blind eyes; letter and mark say the same.
const COLORS: [&str; 6] = ["#1b4f8a", "#a6401b", "#2d6e3e", "#6b3f8c", "#7a6000", "#444444"];
const DASHES: [&str; 4] = ["", "9 4", "3 3", "12 4 3 4"];

/// The drawing.
pub(crate) fn drawing(described: &Described, capability: &Capability<'_>) -> String {
    let mut panels = String::new();
    let mut height = 0.0;
    for drawn in &capability.drawn {
        let _ = write!(panels, "<g transform=\"translate(0 {height})\">\n{}</g>\n", panel(capability, drawn));
        height += TOP + FIELD + BELOW + LINE * notes(drawn).len() as f64 + 16.0;
    }
    let caution = text(LEFT, height + 8.0, "start", "small", CAUTION);
    height += 28.0;
    let title = format!("Largest load of {} over {}: {}", capability.stage, capability.over, described.name);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\">\n\
         <title>{}</title>\n\
         <style>text {{ font-family: sans-serif; font-size: 13px; fill: #1a1a1a }} .head {{ font-size: 15px; font-weight: bold }} .small {{ font-size: 12px; fill: #444444 }}</style>\n\
         <rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#ffffff\"/>\n{panels}{caution}</svg>\n",
        xml(&title)
    )
}

/// What is drawn of a point: its height, in load or as a share of what is asked.
fn height(drawn: &Drawn<'_>, point: &Point) -> Option<f64> {
    point.limit.as_ref()?;
    match drawn.question.demand.sum {
        Some(_) => drawn.load(point).map(|(load, _)| load),
        None => point.factor,
    }
}

fn panel(capability: &Capability<'_>, drawn: &Drawn<'_>) -> String {
    let asked = drawn.question.demand.sum;
    let dimension = asked.map_or(Dimension::Ratio, |(_, dimension)| dimension);
    let at_one = asked.map_or(1.0, |(asked, _)| asked);
    let heights = || drawn.curve.points.iter().filter_map(|point| height(drawn, point));
    let (low, high) =
        heights().chain([at_one, 0.0]).fold((0.0_f64, 0.0_f64), |(l, h), y| (l.min(y), h.max(y)));
    let values = &drawn.question.at;
    let x = Axis::of((values[0], values[values.len() - 1]), (LEFT, WIDTH - RIGHT), drawn.dimension(), false);
    let y = Axis::of((low, high), (TOP + FIELD, TOP), dimension, true);
    let mut out = text(LEFT, 24.0, "start", "head", &cut(&heading(capability, drawn), FITS));
    out += &text(LEFT, 46.0, "start", "small", &cut(&format!("asked: {}", drawn.asked()), FITS));
    out += &grid(&x, &y);
    let name = format!("{} ({})", free_text(&capability.over), x.unit());
    out += &text(0.5 * (LEFT + WIDTH - RIGHT), TOP + FIELD + 44.0, "middle", "", &name);
    let name = if asked.is_some() {
        format!("largest load ({})", y.unit())
    } else {
        "times what is asked".to_owned()
    };
    let middle = TOP + 0.5 * FIELD;
    let _ = writeln!(
        out,
        "<text x=\"22\" y=\"{middle}\" text-anchor=\"middle\" transform=\"rotate(-90 22 {middle})\">{}</text>",
        xml(&name)
    );
    let level = y.place(at_one);
    let _ = writeln!(
        out,
        "<line x1=\"{LEFT}\" y1=\"{level:.1}\" x2=\"{}\" y2=\"{level:.1}\" stroke=\"#666666\" stroke-dasharray=\"2 4\"/>",
        WIDTH - RIGHT
    );
    out += &text(
        WIDTH - RIGHT - 4.0,
        level - 5.0,
        "end",
        "small",
        &format!("asked {}", value(at_one, dimension)),
    );
    out += &curve(drawn, &x, &y);
    for (place, (key, note)) in notes(drawn).iter().enumerate() {
        let base = TOP + FIELD + BELOW + LINE * place as f64;
        if let Some(key) = key {
            let _ =
                writeln!(out, "{}", stroke(&format!("M{LEFT} {0:.1}H{1:.1}", base - 4.0, LEFT + 34.0), *key));
            out += &mark(LEFT + 17.0, base - 4.0, *key);
        }
        out += &text(LEFT + 44.0, base, "start", "", &cut(note, FITS - 6));
    }
    out
}

fn heading(capability: &Capability<'_>, drawn: &Drawn<'_>) -> String {
    let variant =
        drawn.variant.name.as_deref().map_or_else(String::new, |name| format!(", {}", free_text(name)));
    format!("Largest load of {} in {}{variant}", free_text(&capability.stage), free_text(drawn.duty()))
}

fn grid(x: &Axis, y: &Axis) -> String {
    let (right, bottom) = (WIDTH - RIGHT, TOP + FIELD);
    let mut out = String::new();
    for (at, label) in x.ticks() {
        let _ = writeln!(out, "<path d=\"M{at:.1} {TOP}V{bottom}\" stroke=\"#dddddd\"/>");
        out += &text(at, bottom + 20.0, "middle", "", &label);
    }
    for (at, label) in y.ticks() {
        let _ = writeln!(out, "<path d=\"M{LEFT} {at:.1}H{right}\" stroke=\"#dddddd\"/>");
        out += &text(LEFT - 8.0, at + 4.5, "end", "", &label);
    }
    let _ = writeln!(out, "<path d=\"M{LEFT} {TOP}V{bottom}H{right}\" fill=\"none\" stroke=\"#1a1a1a\"/>");
    out
}

/// The curve: a piece for each run of points that one thing limits, from the point before it.
fn curve(drawn: &Drawn<'_>, x: &Axis, y: &Axis) -> String {
    let place = |point: &Point| Some((x.place(point.at), y.place(height(drawn, point)?)));
    let mut out = String::new();
    let mut was: Option<(f64, f64)> = None;
    let mut marks = String::new();
    let mut known = None;
    for point in &drawn.curve.points {
        let key = drawn.key(point);
        let Some(((at, level), own)) = place(point).zip(key) else {
            if point.factor.is_none() {
                let (at, level) = (x.place(point.at), y.place(0.0));
                let _ = writeln!(
                    marks,
                    "<path d=\"M{:.1} {:.1}l8 8m0 -8l-8 8\" stroke=\"#8a1b1b\" stroke-width=\"2\"/>",
                    at - 4.0,
                    level - 4.0
                );
                if let Some(key) = key.filter(|_| key != known) {
                    marks += &text(at, level - 10.0, "middle", "", &letter(key));
                }
            }
            (was, known) = (None, key);
            continue;
        };
        if let Some((from, before)) = was {
            let _ = writeln!(out, "{}", stroke(&format!("M{from:.1} {before:.1}L{at:.1} {level:.1}"), own));
        }
        marks += &mark(at, level, own);
        if known != key {
            marks += &text(at, level - 10.0, "middle", "", &letter(own));
        }
        (was, known) = (Some((at, level)), key);
    }
    out + &marks
}

fn stroke(path: &str, key: usize) -> String {
    let (color, dash) = (COLORS[key % COLORS.len()], DASHES[key % DASHES.len()]);
    let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") };
    format!("<path d=\"{path}\" fill=\"none\" stroke=\"{color}\" stroke-width=\"2\"{dash}/>")
}

/// A mark of a shape of its own for each thing that limits.
fn mark(x: f64, y: f64, key: usize) -> String {
    let color = COLORS[key % COLORS.len()];
    let shape = match key % 5 {
        0 => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\""),
        1 => format!("<rect x=\"{:.1}\" y=\"{:.1}\" width=\"8\" height=\"8\"", x - 4.0, y - 4.0),
        2 => format!("<path d=\"M{x:.1} {:.1}l5 9h-10z\"", y - 5.5),
        3 => format!("<path d=\"M{x:.1} {:.1}l5.5 5.5l-5.5 5.5l-5.5 -5.5z\"", y - 5.5),
        _ => format!("<path d=\"M{x:.1} {:.1}l-5 -9h10z\"", y + 5.5),
    };
    format!("{shape} fill=\"{color}\"/>\n")
}

/// What stands below a panel: what limits, with its letter and where it does, and what is to be known besides.
fn notes(drawn: &Drawn<'_>) -> Vec<(Option<usize>, String)> {
    let limits = drawn.limits.iter().enumerate();
    let mut notes: Vec<(Option<usize>, String)> = limits
        .map(|(key, limit)| {
            let note = format!("{}  {}, at {}", letter(key), drawn.what(limit), drawn.where_it_limits(key));
            (Some(key), note)
        })
        .collect();
    let points = &drawn.curve.points;
    if points.iter().any(|point| point.factor.is_none()) {
        notes.push((None, "×  nothing holds or is judged to hold, not even no load".to_owned()));
    }
    if points.iter().any(|point| point.factor.is_some() && point.limit.is_none()) {
        notes.push((None, "where no point is drawn nothing limits".to_owned()));
    }
    if points.iter().any(|point| point.lighter.is_some()) {
        notes.push((
            None,
            "not everything holds at lighter load: the table says what does not, and where".to_owned(),
        ));
    }
    notes.extend(drawn.anyway().into_iter().map(|said| (None, format!("fails {said}"))));
    notes.extend(drawn.curve.open.iter().map(|why| (None, format!("not judged: {}", free_text(why)))));
    notes
}

fn text(x: f64, y: f64, anchor: &str, class: &str, said: &str) -> String {
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\"{class}>{}</text>\n", xml(said))
}

/// A text in which everything can be seen and nothing is markup.
fn xml(said: &str) -> String {
    let said = escape_text(said);
    said.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::xml;

    #[test]
    fn nothing_of_a_description_is_markup() {
        assert_eq!(xml("<a b=\"c\">&\u{1b}"), "&lt;a b=&quot;c&quot;&gt;&amp;\\u{001B}");
    }
}
