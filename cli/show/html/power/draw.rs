//! The drawing of the power.

use super::super::markup::Markup;
use super::super::numbers::Number;
use super::super::svg::{self, Anchor, Label, NAME, SMALL};
use super::super::used::{Standing, Used};
use super::facts::Net;
use super::layout::Layout;
use super::symbol::SIDE;
use super::{Bar, Element, Item, Seat, Through};

/// Room for a current between two things.
const GAP: f64 = 84.0;
/// The same beside a bar, which has room of its own.
const BESIDE: f64 = 44.0;
/// Room for a bar and its name.
const TRACK: f64 = 106.0;
/// Length of a line that says its current in its middle.
const ALONE: f64 = BESIDE + 0.5 * TRACK;
/// Widest box.
const WIDEST: f64 = 250.0;
const NARROWEST: f64 = 128.0;
/// Around what stands in a box.
const PAD: f64 = 9.0;
/// Least height of a row in which a bar begins or ends, so that what is said of it has room.
const ROW: f64 = 132.0;
/// Between the boxes of two rows.
const BETWEEN: f64 = 34.0;
/// Height of a line in a box.
const LINE: f64 = 17.0;
/// Above the first row.
const TOP: f64 = 20.0;
/// How far a bar reaches beyond its first and last line.
const REACH: f64 = 22.0;

/// The drawing of a net, which is turned so that it leads from left to right.
pub(crate) fn drawing(net: &mut Net<'_>, id: &str, title: &str) -> Markup {
    let layout = Layout::of(net);
    let sheet = Sheet::of(net, &layout);
    let mut out = Markup::new();
    svg::open(&mut out, (sheet.width, sheet.height), id, title);
    for (place, item) in net.items.iter().enumerate() {
        sheet.wires(&mut out, place, item);
    }
    for (place, bar) in net.bars.iter().enumerate() {
        sheet.bar(&mut out, place, bar);
    }
    for (place, item) in net.items.iter().enumerate() {
        sheet.boxes(&mut out, place, item);
    }
    svg::close(&mut out);
    out
}

/// Where columns and rows lie.
struct Sheet<'l> {
    layout: &'l Layout,
    /// Left edge and width of the seats of each slot.
    seats: Vec<[(f64, f64); 2]>,
    /// Middle of each bar.
    bars: Vec<f64>,
    /// Middle of each row.
    rows: Vec<f64>,
    width: f64,
    height: f64,
}

impl<'l> Sheet<'l> {
    fn of(net: &Net<'_>, layout: &'l Layout) -> Self {
        let layers = layout.layers.iter().copied().max().map_or(0, |most| most + 1);
        let mut widths = vec![[0.0f64; 2]; layers + 1];
        let mut heights = vec![0.0f64; layout.row_count];
        for (first, last) in layout.spans.iter().flatten() {
            heights[*first] = ROW;
            heights[*last] = heights[*last].max(ROW - 30.0);
        }
        for (place, item) in net.items.iter().enumerate() {
            for (seat, element) in &item.boxes {
                let widest = &mut widths[layout.slots[place]][seat.place()];
                *widest = widest.max(width(element));
                let row = &mut heights[layout.rows[place]];
                *row = row.max(height(element) + BETWEEN);
            }
        }
        let mut tracks = vec![0usize; layers];
        for (place, layer) in layout.layers.iter().enumerate() {
            tracks[*layer] = tracks[*layer].max(layout.tracks[place] + 1);
        }
        let mut x = 2.0;
        let (mut seats, mut first_bar) = (Vec::new(), Vec::new());
        for (slot, widths) in widths.iter().enumerate() {
            let mut places = [(0.0, 0.0); 2];
            if slot > 0 && widths.iter().any(|width| *width > 0.0) {
                x += BESIDE;
            }
            let mut is_first = true;
            for seat in Seat::ALL {
                let width = widths[seat.place()];
                if width > 0.0 {
                    x += if is_first { 0.0 } else { GAP };
                    is_first = false;
                    places[seat.place()] = (x, width);
                    x += width;
                }
            }
            seats.push(places);
            if slot < layers {
                x += if is_first { 0.0 } else { BESIDE };
                first_bar.push(x);
                x += TRACK * tracks[slot] as f64;
            }
        }
        // The last bars may have nothing behind them.
        let width = x + 4.0;
        let bar =
            |(place, layer): (usize, &usize)| first_bar[*layer] + TRACK * (layout.tracks[place] as f64 + 0.5);
        let bars = layout.layers.iter().enumerate().map(bar).collect();
        let mut y = TOP;
        let mut rows = Vec::new();
        for height in &heights {
            rows.push(y + 0.5 * height);
            y += height;
        }
        Self { layout, seats, bars, rows, width, height: y + 4.0 }
    }

    fn bar(&self, out: &mut Markup, place: usize, bar: &Bar<'_>) {
        let x = self.bars[place];
        let Some((first, last)) = self.layout.spans[place] else { return };
        let (top, bottom) = (self.rows[first] - REACH, self.rows[last] + REACH);
        let over = bar.used.as_ref().is_some_and(|used| used.standing == Standing::Over);
        svg::rect(out, if over { "bar over" } else { "bar" }, (x - 3.0, top), (6.0, bottom - top));
        // Names reach beside the bar where no other one stands there.
        let layout = self.layout;
        let beside = layout.layers.iter().zip(&layout.tracks);
        let is_alone =
            beside.filter(|(layer, _)| **layer == layout.layers[place]).all(|(_, track)| *track == 0);
        let room = if is_alone { TRACK + 2.0 * BESIDE - 20.0 } else { TRACK - 6.0 };
        let label = |class| Label { class, size: SMALL, anchor: Anchor::Middle, room };
        Label { size: NAME, ..label("n") }.put(out, (x, top - 20.0), bar.name);
        label("s").put(out, (x, top - 5.0), &bar.voltage);
        if let Some(used) = &bar.used {
            let class = match used.standing {
                Standing::Over => "s over",
                Standing::Little => "s little",
                Standing::Open | Standing::Enough => "s",
            };
            label(class).put(out, (x, bottom + 15.0), &used.short());
            rings(out, (x - 0.5 * TRACK + 14.0, top - 44.0), &used.numbers, 1.0);
        }
    }

    /// The lines of an item from bus to bus, with currents and the way of the power.
    fn wires(&self, out: &mut Markup, place: usize, item: &Item<'_>) {
        let y = self.rows[self.layout.rows[place]];
        let seats = &self.seats[self.layout.slots[place]];
        let mut ends: Vec<(f64, f64)> = Vec::new();
        let mut from = item.left.map(|bus| self.bars[bus]);
        for (seat, element) in &item.boxes {
            let (left, _) = seats[seat.place()];
            ends.push((from.unwrap_or(left), left));
            from = Some(left + width(element));
        }
        if let (Some(bus), Some(from)) = (item.right, from) {
            ends.push((from, self.bars[bus]));
        }
        for ((from, to), wire) in ends.iter().zip(&item.wires).filter(|((from, to), _)| to - from > 1.0) {
            self.line(out, (*from, *to), y, item, wire.weight);
            let (left, right) = self.clear(*from, *to, item);
            let middle = 0.5 * (left + right);
            let label = Label::small(right - left - 6.0).anchored(Anchor::Middle);
            label.put(out, (middle, y - 8.0), &wire.says);
            if wire.way != 0 {
                let way = f64::from(wire.way);
                let tip = (middle + 6.0 * way, y);
                svg::shape(
                    out,
                    "arrow",
                    &[tip, (middle - 5.0 * way, y - 5.0), (middle - 5.0 * way, y + 5.0)],
                );
            }
        }
        for bus in item.left.iter().chain(&item.right) {
            svg::circle(out, "joint", (self.bars[*bus], y), 4.5);
        }
    }

    /// The stretch of a line beside the box, clear of the bars that it passes.
    fn clear(&self, from: f64, to: f64, item: &Item<'_>) -> (f64, f64) {
        let starts_at_bus = item.left.is_some_and(|bus| (self.bars[bus] - from).abs() < 0.1);
        // The current stands beside the box, whichever end of the line that is at.
        if starts_at_bus {
            let left = (to - ALONE).max(from);
            (left, to)
        } else {
            (from, (from + ALONE).min(to))
        }
    }

    /// A level line that leaps over bars that are not its own.
    fn line(&self, out: &mut Markup, (from, to): (f64, f64), y: f64, item: &Item<'_>, weight: f64) {
        let own = |bus: usize| item.left == Some(bus) || item.right == Some(bus);
        let mut crossed: Vec<f64> = Vec::new();
        for (bus, &x) in self.bars.iter().enumerate() {
            let Some((first, last)) = self.layout.spans[bus].filter(|_| !own(bus)) else { continue };
            let is_crossed = self.rows[first] - REACH <= y && y <= self.rows[last] + REACH;
            if from < x && x < to && is_crossed {
                crossed.push(x);
            }
        }
        crossed.sort_by(f64::total_cmp);
        out.raw("<path class=\"wire\" style=\"stroke-width:").at(1.2 + 2.6 * weight).raw("px\" d=\"M");
        out.at(from).raw(" ").at(y);
        for x in crossed {
            out.raw("H").at(x - 8.0).raw("a8 8 0 0 1 16 0");
        }
        out.raw("H").at(to).raw("\"/>\n");
    }

    fn boxes(&self, out: &mut Markup, place: usize, item: &Item<'_>) {
        let y = self.rows[self.layout.rows[place]];
        for (seat, element) in &item.boxes {
            let (x, _) = self.seats[self.layout.slots[place]][seat.place()];
            let (w, h) = (width(element), height(element));
            draw(out, element, (x, y - 0.5 * h), (w, h));
        }
    }
}

/// Whether it is over, itself or one of its rows.
fn is_over(element: &Element<'_>) -> bool {
    let over = |used: &Option<Used>| used.as_ref().is_some_and(|used| used.standing == Standing::Over);
    over(&element.used) || element.conductors.iter().any(|one| over(&one.used))
}

fn width(element: &Element<'_>) -> f64 {
    let lines = [(element.name, NAME), (&element.what, SMALL), (&element.figures, SMALL)];
    let beside = lines.iter().map(|(text, size)| svg::width(text, *size)).fold(0.0, f64::max) + SIDE + PAD;
    let used = element.used.as_ref().map_or(0.0, Used::width);
    let rows = element.conductors.iter().map(|one| {
        let says = one.used.as_ref().map_or(0.0, |used| svg::width(&used.short(), SMALL));
        svg::width(one.name, SMALL) + says + 16.0
    });
    let inner = rows.fold(beside.max(used), f64::max);
    (inner + 2.0 * PAD).clamp(NARROWEST, WIDEST)
}

fn height(element: &Element<'_>) -> f64 {
    let head = 2.0 * PAD + 3.0 * LINE - 4.0;
    let used = element.used.as_ref().map_or(0.0, Used::height);
    let rows = element.conductors.len() as f64;
    head + used + LINE * rows + if rows > 0.0 { 8.0 } else { 0.0 }
}

fn draw(out: &mut Markup, element: &Element<'_>, (x, y): (f64, f64), (w, h): (f64, f64)) {
    svg::rect(out, if is_over(element) { "box over" } else { "box" }, (x, y), (w, h));
    element.symbol.draw(out, (x + PAD, y + PAD + 6.0));
    let (left, room) = (x + 2.0 * PAD + SIDE, w - 3.0 * PAD - SIDE);
    Label::name(room).put(out, (left, y + PAD + 11.0), element.name);
    let lines: Vec<&str> = [element.what.as_str(), element.figures.as_str()]
        .into_iter()
        .filter(|line| !line.is_empty())
        .collect();
    for (place, line) in lines.iter().enumerate() {
        Label::small(room).put(out, (left, y + PAD + 11.0 + LINE * (place as f64 + 1.0)), line);
    }
    let mut numbers: Vec<Number> = Vec::new();
    for used in element.used.iter().chain(element.conductors.iter().filter_map(|one| one.used.as_ref())) {
        numbers.extend(
            used.numbers.iter().filter(|number| !numbers.contains(number)).copied().collect::<Vec<_>>(),
        );
    }
    rings(out, (x + w - 10.0, y - 12.0), &numbers, -1.0);
    let mut below = y + 2.0 * PAD + 3.0 * LINE - 6.0;
    if let Some(used) = &element.used {
        used.draw(out, (x + PAD, below), w - 2.0 * PAD);
        below += used.height();
    }
    if !element.conductors.is_empty() {
        svg::stroke(out, "hair", &[(x, below + 2.0), (x + w, below + 2.0)]);
        below += 6.0;
    }
    for Through { name, used, .. } in &element.conductors {
        let base = below + 12.0;
        let says = used.as_ref().map_or_else(String::new, Used::short);
        let taken = svg::width(&says, SMALL);
        Label::small(w - 2.0 * PAD - taken - 8.0).put(out, (x + PAD, base), name);
        let class = match used.as_ref().map(|used| used.standing) {
            Some(Standing::Over) => "s over",
            Some(Standing::Little) => "s little",
            _ => "s",
        };
        let label = Label::small(taken + 1.0).anchored(Anchor::End).class(class);
        label.put(out, (x + w - PAD, base), &says);
        below += LINE;
    }
}

/// The numbers of findings, side by side.
fn rings(out: &mut Markup, (x, y): (f64, f64), numbers: &[Number], sense: f64) {
    for (place, number) in numbers.iter().take(6).enumerate() {
        svg::ring(out, (x + sense * 24.0 * place as f64, y), number.0);
    }
}
