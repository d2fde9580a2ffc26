//! What of an entry can still be read where some of its values cannot.
//!
//! A number that cannot be read says nothing of the rest of its entry: while a person writes it, or mends it, the rest
//! counts. Whatever asks for that number learns that it could not be read, and takes neither a default for it nor its
//! absence.

use loadworthy_source::{Entry, Gaps, NodeId, Span, Tree};

use super::meant;
use super::shape::{Map, Shape, ShapeId, Shapes};

/// Keys of numbers of which nothing in a unit takes the absence for an answer, in order. Others say something by being left
/// out, such as a conductor without `inductance`, or decide what a part is reckoned as: without one of these an entry is not
/// what it was meant to be.
const APART: &[&str] = &[
    "above",
    "after",
    "alone",
    "altitude",
    "at",
    "at_case",
    "bars",
    "below",
    "blanking",
    "blocking_voltage",
    "bonding_resistance",
    "breaking",
    "capacitance",
    "clearing",
    "coldest",
    "continuous",
    "conventional_fusing",
    "coupling",
    "cyclic_load",
    "dead_time",
    "delay",
    "demagnetising_current",
    "density",
    "diameter",
    "diode_drop",
    "drive_off",
    "drive_on",
    "element",
    "emissivity",
    "energy",
    "face_b",
    "fall",
    "field_weakening",
    "filling",
    "filter",
    "flow",
    "flux_density",
    "flux_exponent",
    "flux_walking",
    "frequency_exponent",
    "gap",
    "glycol",
    "highest_torque",
    "hot_spot",
    "hottest",
    "immunity_current",
    "impulse",
    "in",
    "isolation_resistance",
    "junction",
    "junction_limit",
    "largest_duty",
    "leakage",
    "leakage_inductance",
    "least_breaking",
    "link",
    "loss",
    "magnetising_inductance",
    "makes",
    "melting",
    "nominal",
    "out",
    "output_capacitance",
    "passively_within",
    "peak_current",
    "phase_resistance",
    "pressure",
    "range",
    "recurring_peak",
    "repetitive_peak",
    "resistance",
    "resistor",
    "resistor_power",
    "section",
    "sensor_range",
    "skew",
    "stray_capacitance",
    "temperature_coefficient",
    "thickness",
    "time_constant",
    "tolerance",
    "transient_immunity",
    "trip_tolerance",
    "turn_off",
    "turn_off_resistor",
    "turn_on_resistor",
    "turns_ratio",
    "undervoltage",
    "voltage",
    "voltage_exponent",
    "volume",
    "width",
    "within",
    "withstands",
];

/// Keys of what a duty point asks or states: a duty point is what it is without one of these values, and asks what is not known.
const ASKED: &[&str] = &[
    // That of a bus, under its name.
    "",
    "current",
    "electrical_power",
    "flow",
    "frequency",
    "inlet",
    "line_voltage",
    "open_circuit",
    "phase_current",
    "power",
    "power_factor",
    "shaft_power",
    "speed",
    "terminal",
    "torque",
];

/// The gaps of an entry with problems at these places; nothing where one of them is about something else than a number.
pub(crate) fn gaps(
    tree: &Tree,
    shapes: &Shapes,
    (section, shape): (&str, ShapeId),
    entry: NodeId,
    places: &[Span],
) -> Option<Gaps> {
    let is_duty = section == "duty";
    let mut search =
        Search { tree, shapes, apart: if is_duty { ASKED } else { APART }, gaps: Gaps::default() };
    search.below(shape, entry, places)?;
    Some(search.gaps)
}

struct Search<'s> {
    tree: &'s Tree,
    shapes: &'s Shapes,
    /// Keys of numbers that may be gaps, in order.
    apart: &'static [&'static str],
    gaps: Gaps,
}

impl<'s> Search<'s> {
    fn below(&mut self, shape: ShapeId, node: NodeId, places: &[Span]) -> Option<()> {
        let tree = self.tree;
        let entries = tree.entries(node);
        let mut explained = 0;
        for (place, &entry) in entries.iter().enumerate() {
            let half = entries.get(place + 1).filter(|next| is_half(tree, next));
            let own: Vec<Span> = places.iter().copied().filter(|at| holds(tree, entry, half, *at)).collect();
            if own.is_empty() {
                continue;
            }
            explained += own.len();
            let (key, shape) = match self.shapes.get(shape) {
                Shape::Named(each, _) => ("", *each),
                _ => self.field(self.map(shape, node)?, entries, entry)?,
            };
            match self.shapes.get(shape) {
                Shape::Quantity(_) | Shape::Points(..) | Shape::Number(..) => {
                    self.apart.binary_search(&key).ok()?;
                    self.gaps.values.push(entry.value);
                    self.gaps.no_keys.extend(half.map(|half| half.key));
                }
                _ => self.below(shape, entry.value, &own)?,
            }
        }
        (explained == places.len() && explained > 0).then_some(())
    }

    /// The keys of a node, of its kind where there are several.
    fn map(&self, shape: ShapeId, node: NodeId) -> Option<&'s Map> {
        match self.shapes.get(shape) {
            Shape::Map(map) => Some(map),
            Shape::Tagged(tag, branches) => {
                let word = self.tree.scalar(self.tree.value_at(node, &[tag])?)?;
                let (_, branch) = branches.iter().find(|(name, _)| *name == word.text)?;
                self.map(*branch, node)
            }
            _ => None,
        }
    }

    /// A key, or the one that was meant, and the shape of what stands under it.
    fn field<'k>(&mut self, map: &'k Map, entries: &[Entry], entry: Entry) -> Option<(&'k str, ShapeId)> {
        let tree = self.tree;
        let key = tree.key_text(entry.key);
        if let Some((place, shape)) = map.field(key) {
            return map.fields.get(place).map(|(key, _)| (*key, shape));
        }
        let is_absent = |name: &&str| entries.iter().all(|entry| tree.key_text(entry.key) != *name);
        let meant = meant::word(key, map.fields.iter().map(|(name, _)| *name).filter(is_absent))?;
        self.gaps.meant.push((entry.key, meant.to_owned()));
        map.field(meant).map(|(_, shape)| (meant, shape))
    }
}

/// Whether a key without a value may be the second half of a number that a comma cut in two.
fn is_half(tree: &Tree, entry: &Entry) -> bool {
    let is_empty = tree.scalar(entry.value).is_some_and(|scalar| scalar.is_null());
    is_empty && tree.key_text(entry.key).starts_with(|c: char| c.is_ascii_digit())
}

/// Whether a problem is about an entry of a map, or about what stands in it.
fn holds(tree: &Tree, entry: Entry, half: Option<&Entry>, at: Span) -> bool {
    let inside = |outer: Span| outer.file == at.file && outer.start <= at.start && at.end <= outer.end;
    let (key, value) = (tree.span(entry.key), tree.span(entry.value));
    let end = half.map_or(value, |half| tree.span(half.key)).end;
    inside(key) || inside(value) || (key.file == value.file && inside(Span { end, ..key }))
}
