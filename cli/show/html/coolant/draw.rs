//! The drawing of the coolant: three lanes over one another, what it passes, its temperature, its height.

use loadworthy_checks::figure_text::{value, with_digits};
use loadworthy_unit::Dimension;

use super::super::markup::Markup;
use super::super::svg::{self, Anchor, Label, NAME, SMALL};
use super::super::used::{Standing, Used};
use super::Station;

/// Room for what the lanes are called.
const LEFT: f64 = 92.0;
const GAP: f64 = 26.0;
const NARROWEST: f64 = 150.0;
const WIDEST: f64 = 280.0;
const PAD: f64 = 9.0;
const LINE: f64 = 17.0;
/// Top of the boxes, below the names of the branches.
const BOXES: f64 = 44.0;
/// Height of the lanes of temperature and of height, with what is written there.
const WARMTH: f64 = 66.0;
const CLIMB: f64 = 70.0;

/// The drawing.
pub(crate) fn drawing(stations: &[Station<'_>], id: &str, title: &str) -> Markup {
    let mut out = Markup::new();
    let widths: Vec<f64> = stations.iter().map(width).collect();
    let mut lefts = Vec::new();
    let mut x = LEFT;
    for width in &widths {
        lefts.push(x);
        x += width + GAP;
    }
    let box_height = stations.iter().map(height).fold(0.0, f64::max);
    let warmth = BOXES + box_height + 34.0;
    let climb = warmth + WARMTH + 58.0;
    let has_heights = stations.iter().flat_map(|one| one.heights).any(|height| height.is_some());
    let bottom = if has_heights { climb + CLIMB + 26.0 } else { warmth + WARMTH + 26.0 };
    svg::open(&mut out, (x - GAP + 4.0, bottom), id, title);
    let columns: Vec<(f64, f64)> = lefts.iter().copied().zip(widths.iter().copied()).collect();
    boxes(&mut out, stations, &columns);
    branches(&mut out, stations, &columns, bottom);
    let lane = |out: &mut Markup, y: f64, name: &str, below: &str| {
        Label::name(LEFT - 8.0).put(out, (0.0, y), name);
        Label::small(LEFT - 8.0).class("s soft").put(out, (0.0, y + 16.0), below);
    };
    lane(&mut out, BOXES + 18.0, "passes", "in order");
    lane(&mut out, warmth + 0.5 * WARMTH, "coolant", "temperature");
    let warm: Vec<[Option<f64>; 2]> = stations.iter().map(|one| [one.coolant_in, one.coolant_out]).collect();
    let tell = |kelvin: f64| with_digits(kelvin, Dimension::Temperature, 3);
    curve(&mut out, stations, &columns, &warm, (warmth, WARMTH), ("bold", 2.0), &tell);
    if has_heights {
        lane(&mut out, climb + 0.5 * CLIMB, "height", "of passage");
        let heights: Vec<[Option<f64>; 2]> = stations.iter().map(|one| one.heights).collect();
        let tell = |metres: f64| value(metres, Dimension::Length);
        let places = curve(&mut out, stations, &columns, &heights, (climb, CLIMB), ("pipe", 0.01), &tell);
        traps(&mut out, stations, &columns, &places);
    }
    svg::close(&mut out);
    out
}

fn width(station: &Station<'_>) -> f64 {
    let lines = lines(station);
    let lines =
        lines.iter().map(|line| svg::width(line, SMALL)).fold(svg::width(station.name, NAME), f64::max);
    let used = station
        .hottest
        .as_ref()
        .map_or(0.0, |used| svg::width(&heat_says(used), SMALL).max(svg::width(&used.within, SMALL)));
    let own = own(station).map_or(0.0, |used| svg::width(&own_says(used), SMALL));
    (lines.max(used).max(own) + 2.0 * PAD).clamp(NARROWEST, WIDEST)
}

fn height(station: &Station<'_>) -> f64 {
    let head = 2.0 * PAD + LINE * (1.0 + lines(station).len() as f64);
    head + if station.hottest.is_some() { 42.0 } else { 0.0 } + own(station).map_or(0.0, |_| LINE)
}

/// What is said of the element itself, where little or nothing is left.
fn own<'s>(station: &'s Station<'_>) -> Option<&'s Used> {
    station.used.as_ref().filter(|used| used.standing != Standing::Enough)
}

fn lines(station: &Station<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    if station.cools.is_empty() {
        lines.push("cools nothing".to_owned());
    } else {
        lines.push(format!("cools {}", station.cools.join(", ")));
    }
    let heat = station.heat.map(|heat| value(heat, Dimension::Power));
    let flow = station.flow.map(|flow| value(flow, Dimension::VolumeFlow));
    let figures: Vec<String> = heat.into_iter().chain(flow).collect();
    if !figures.is_empty() {
        lines.push(figures.join(", "));
    }
    lines
}

fn own_says(used: &Used) -> String {
    format!("{} {}", used.short(), used.figure)
}

/// Temperature and what is left.
fn heat_says(used: &Used) -> String {
    format!("{} {}, {}", used.standing.mark(), used.carried, used.says)
}

fn boxes(out: &mut Markup, stations: &[Station<'_>], columns: &[(f64, f64)]) {
    for (place, (station, (x, w))) in stations.iter().zip(columns).enumerate() {
        let h = height(station);
        let y = BOXES;
        let is_over = station.hottest.iter().chain(&station.used);
        let is_over = is_over.clone().any(|used| used.standing == Standing::Over);
        let next = stations.get(place + 1).filter(|next| next.branch == station.branch);
        if next.is_some() {
            let from = x + w;
            svg::stroke(out, "bold", &[(from, y + 22.0), (from + GAP, y + 22.0)]);
            svg::shape(
                out,
                "arrow",
                &[(from + GAP, y + 22.0), (from + GAP - 8.0, y + 17.0), (from + GAP - 8.0, y + 27.0)],
            );
        }
        svg::rect(out, if is_over { "box over" } else { "box" }, (*x, y), (*w, h));
        let room = w - 2.0 * PAD;
        let mut base = y + PAD + 11.0;
        Label::name(room).put(out, (x + PAD, base), station.name);
        for line in lines(station) {
            base += LINE;
            Label::small(room).put(out, (x + PAD, base), &line);
        }
        if let Some(used) = &station.hottest {
            let top = base + 8.0;
            bar(out, used, (x + PAD, top), room);
            let class = class(used);
            Label::small(room).class(class).put(out, (x + PAD, top + 21.0), &heat_says(used));
            Label::small(room).class("s soft").put(out, (x + PAD, top + 36.0), &used.within);
            base = top + 36.0;
        }
        if let Some(used) = own(station) {
            base += LINE;
            Label::small(room).class(class(used)).put(out, (x + PAD, base), &own_says(used));
        }
        let numbers = station.hottest.iter().flat_map(|used| &used.numbers);
        let numbers = numbers.chain(station.used.iter().flat_map(|used| &used.numbers));
        for (k, number) in numbers.take(4).enumerate() {
            svg::ring(out, (x + w - 10.0 - 24.0 * k as f64, y - 12.0), number.0);
        }
    }
}

fn class(used: &Used) -> &'static str {
    match used.standing {
        Standing::Over => "s over",
        Standing::Little => "s little",
        Standing::Open | Standing::Enough => "s",
    }
}

fn bar(out: &mut Markup, used: &Used, (x, y): (f64, f64), width: f64) {
    svg::rect(out, "track", (x, y), (width, 7.0));
    let class = match used.standing {
        Standing::Over => "fill over",
        Standing::Little => "fill little",
        Standing::Open | Standing::Enough => "fill enough",
    };
    svg::rect(out, class, (x, y), (width * used.share.unwrap_or(0.0).clamp(0.0, 1.0), 7.0));
}

/// Names of branches above what stands in them, with a bracket over it.
fn branches(out: &mut Markup, stations: &[Station<'_>], columns: &[(f64, f64)], bottom: f64) {
    let mut place = 0;
    while let Some(first) = stations.get(place) {
        let count = stations[place..].iter().take_while(|one| one.branch == first.branch).count();
        let (from, (last, wide)) = (columns[place].0, columns[place + count - 1]);
        if !first.branch.is_empty() {
            svg::stroke(out, "thin", &[(from, 38.0), (from, 20.0), (last + wide, 20.0), (last + wide, 38.0)]);
            let label = Label::small(last + wide - from);
            label.put(out, (from + 2.0, 14.0), &format!("branch {}", first.branch));
        }
        if place > 0 {
            let x = from - 0.5 * GAP;
            svg::stroke(out, "hair", &[(x, 4.0), (x, bottom - 4.0)]);
        }
        place += count;
    }
}

/// A line through all stations: what each has where the coolant enters and leaves; gives where both lie. Lines are broken
/// between branches, and where something is not known.
fn curve(
    out: &mut Markup,
    stations: &[Station<'_>],
    columns: &[(f64, f64)],
    values: &[[Option<f64>; 2]],
    (top, tall): (f64, f64),
    (class, least): (&'static str, f64),
    tell: &dyn Fn(f64) -> String,
) -> Vec<[Option<f64>; 2]> {
    let known = || values.iter().flatten().flatten().copied();
    let (low, high) = known().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let span = (high - low).max(least);
    let place = |value: f64| top + tall * (1.0 - (value - low) / span);
    svg::stroke(
        out,
        "hair",
        &[(LEFT, top + tall), (columns.last().map_or(LEFT, |(x, w)| x + w), top + tall)],
    );
    let mut points: Vec<(f64, f64)> = Vec::new();
    let flush = |out: &mut Markup, points: &mut Vec<(f64, f64)>| {
        if points.len() > 1 {
            svg::stroke(out, class, points);
        }
        points.clear();
    };
    let mut places = Vec::new();
    for (k, ((station, (x, w)), [enters, leaves])) in stations.iter().zip(columns).zip(values).enumerate() {
        if k > 0 && stations[k - 1].branch != station.branch {
            flush(out, &mut points);
        }
        for (value, at) in [(enters, *x), (leaves, x + w)] {
            match value {
                Some(value) => points.push((at, place(*value))),
                None => flush(out, &mut points),
            }
        }
        places.push([enters.map(place), leaves.map(place)]);
        // Where it enters is where the one before was left, unless they lie apart.
        let before = k.checked_sub(1).filter(|&k| stations[k].branch == station.branch);
        let before = before.and_then(|k| values[k][1]);
        let room = 0.5 * w - 2.0;
        // Beside the line, on the side that it does not go to.
        let rises = enters.zip(*leaves).is_some_and(|(enters, leaves)| leaves > enters + 0.12 * span);
        let falls = enters.zip(*leaves).is_some_and(|(enters, leaves)| leaves < enters - 0.12 * span);
        if let Some(enters) = enters
            && before.is_none_or(|before| tell(before) != tell(*enters))
        {
            let dy = if rises { 17.0 } else { -8.0 };
            Label::small(room).put(out, (x + 1.0, place(*enters) + dy), &tell(*enters));
        }
        if let Some(leaves) = leaves {
            let label = Label::small(room).anchored(Anchor::End);
            let dy = if falls { 17.0 } else { -8.0 };
            label.put(out, (x + w - 1.0, place(*leaves) + dy), &tell(*leaves));
        }
    }
    flush(out, &mut points);
    places
}

/// Where air gathers, and where it can leave.
fn traps(out: &mut Markup, stations: &[Station<'_>], columns: &[(f64, f64)], places: &[[Option<f64>; 2]]) {
    for ((station, (x, w)), places) in stations.iter().zip(columns).zip(places) {
        for (end, at) in [(0, *x), (1, x + w)] {
            let Some(y) = places[end].filter(|_| station.traps[end]) else { continue };
            svg::shape(out, "warn", &[(at, y - 36.0), (at + 7.0, y - 24.0), (at - 7.0, y - 24.0)]);
            let (anchor, dx) = if end == 0 { (Anchor::Start, 10.0) } else { (Anchor::End, -10.0) };
            let label = Label::small(w - 12.0).class("s little").anchored(anchor);
            label.put(out, (at + dx, y - 26.0), "air gathers");
        }
        if station.is_vented
            && let Some(y) = places.iter().flatten().copied().reduce(f64::min)
        {
            svg::circle(out, "ring", (x + 0.5 * w, y), 5.0);
            let label = Label::small(0.5 * w).anchored(Anchor::Middle);
            label.put(out, (x + 0.5 * w, y - 9.0), "vent");
        }
    }
}
