//! What lies between two ends: what the description states a tolerance of, and defaults with a usual range.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Assumption, Dimension, Edit, InputId, Origin, Variant};

use crate::verdict::Verdict;

/// A value that may lie elsewhere.
#[derive(Clone, Debug)]
pub struct Varied {
    /// Its path in the description, or that of the first value that a default stands in for.
    pub path: String,
    /// What it is of.
    pub dimension: Dimension,
    /// The value that is reckoned with.
    pub value: f64,
    /// Its lowest and highest value.
    pub ends: (f64, f64),
    /// Who says how far it may lie off.
    pub by: By,
    /// The default that stands in for it, where one does.
    pub default: Option<&'static Assumption>,
    /// Paths of all values that it stands in for, each once; the one path of any other.
    pub places: Vec<String>,
    /// What is put in place for each end.
    pub(super) edits: [Vec<Edit>; 2],
}

/// Who says how far a value may lie off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The description.
    Stated,
    /// The usual range of a default of the edition, for the value or for its tolerance.
    Default,
}

const TOLERANCE: &str = ".tolerance";
/// Between an element of the coolant and what it cools.
const COOLS: &str = ".cools.";
const HIGHEST: &str = "internal_resistance.highest";
const LOWEST: &str = "internal_resistance.lowest";

/// Everything of a variant that lies between two ends, in the order of the tables.
///
/// A limit is no value of a part: a default that is one is a choice of the reader. A part within its tolerance is one part: where a check allows for the tolerance by itself, the varied part has none left.
#[must_use]
pub fn varied(variant: &Variant, verdicts: &[Verdict]) -> Vec<Varied> {
    let mut by_path: BTreeMap<&str, Vec<InputId>> = BTreeMap::new();
    for (place, input) in variant.tables.inputs().iter().enumerate() {
        by_path.entry(&input.path).or_default().push(InputId::new(place));
    }
    let mut all = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for input in variant.tables.inputs() {
        let path = input.path.as_str();
        if seen.contains(&path) {
            continue;
        }
        let found = if path.ends_with(TOLERANCE) {
            seen.push(path);
            of_tolerance(variant, &by_path, path)
        } else if path.ends_with(LOWEST) {
            seen.push(path);
            of_span(variant, &by_path, path)
        } else {
            None
        };
        all.extend(found);
    }
    all.extend(defaults(variant, &limits(verdicts)));
    all
}

/// The one value of an input, where it has one for all duty points.
fn single(variant: &Variant, id: InputId) -> Option<(f64, Origin)> {
    match variant.tables.input_of(id).values.as_slice() {
        [one] if one.value.is_finite() => Some((one.value, one.origin)),
        _ => None,
    }
}

fn put(inputs: &[InputId], value: f64) -> impl Iterator<Item = Edit> + '_ {
    inputs.iter().map(move |&input| Edit { input, value })
}

/// The inductance or capacitance beside a tolerance.
fn of_tolerance(variant: &Variant, by_path: &BTreeMap<&str, Vec<InputId>>, path: &str) -> Option<Varied> {
    let tolerances = by_path.get(path)?;
    let (share, origin) = single(variant, *tolerances.first()?)?;
    let entry = path.strip_suffix(TOLERANCE)?;
    if entry.contains(COOLS) {
        return of_faces(variant, by_path, entry, (share, origin));
    }
    let beside = ["capacitance", "inductance"].map(|key| format!("{entry}.{key}"));
    let own = beside.iter().find(|own| by_path.contains_key(own.as_str()))?;
    let inputs = by_path.get(own.as_str())?;
    let (value, _) = single(variant, *inputs.first()?)?;
    let end = |sign: f64| {
        let value = value * (1.0 + sign * share);
        put(inputs, value).chain(put(tolerances, 0.0)).collect::<Vec<_>>()
    };
    (share > 0.0).then(|| Varied {
        path: own.clone(),
        dimension: variant.tables.input_of(inputs[0]).dimension,
        value,
        ends: (value * (1.0 - share), value * (1.0 + share)),
        by: if origin.is_written() { By::Stated } else { By::Default },
        default: None,
        places: vec![own.clone()],
        edits: [end(-1.0), end(1.0)],
    })
}

/// The resistances of the faces of what an element cools: one interface, put on in one way.
fn of_faces(
    variant: &Variant,
    by_path: &BTreeMap<&str, Vec<InputId>>,
    entry: &str,
    (share, origin): (f64, Origin),
) -> Option<Varied> {
    let faces = ["face_a", "face_b"].map(|key| format!("{entry}.{key}"));
    let places: Vec<String> = faces.into_iter().filter(|face| by_path.contains_key(face.as_str())).collect();
    let inputs: Vec<InputId> =
        places.iter().flat_map(|place| by_path[place.as_str()].iter().copied()).collect();
    let value = |&input: &InputId| Some((input, single(variant, input)?.0));
    let stated: Vec<(InputId, f64)> = inputs.iter().filter_map(value).collect();
    let &(first, value) = stated.first()?;
    let end = |sign: f64| -> Vec<Edit> {
        let edit = |&(input, value): &(InputId, f64)| Edit { input, value: value * (1.0 + sign * share) };
        stated.iter().map(edit).collect()
    };
    (share > 0.0).then(|| Varied {
        path: places[0].clone(),
        dimension: variant.tables.input_of(first).dimension,
        value,
        ends: (value * (1.0 - share), value * (1.0 + share)),
        by: if origin.is_written() { By::Stated } else { By::Default },
        default: None,
        places,
        edits: [end(-1.0), end(1.0)],
    })
}

/// The resistance of a source, reckoned with at its highest.
fn of_span(variant: &Variant, by_path: &BTreeMap<&str, Vec<InputId>>, path: &str) -> Option<Varied> {
    let (lowest, _) = single(variant, *by_path.get(path)?.first()?)?;
    let own = path.replace(LOWEST, HIGHEST);
    let inputs = by_path.get(own.as_str())?;
    let (highest, _) = single(variant, *inputs.first()?)?;
    let path = own.trim_end_matches(".highest").to_owned();
    (lowest < highest).then(|| Varied {
        places: vec![path.clone()],
        path,
        dimension: Dimension::Resistance,
        value: highest,
        ends: (lowest, highest),
        by: By::Stated,
        default: None,
        edits: [put(inputs, lowest).collect(), Vec::new()],
    })
}

/// Inputs that something is held against.
fn limits(verdicts: &[Verdict]) -> BTreeSet<InputId> {
    let limits = verdicts.iter().filter_map(|verdict| match verdict.comparison()?.limit_from? {
        Operand::Input(id) => Some(id),
        Operand::Figure(_) | Operand::Curve(_) => None,
    });
    limits.collect()
}

/// Defaults with a usual range, each moved wherever it stands in: it is one thing that is not known.
fn defaults(variant: &Variant, limits: &BTreeSet<InputId>) -> Vec<Varied> {
    let mut used: BTreeMap<&str, (Varied, Vec<InputId>)> = BTreeMap::new();
    for (place, input) in variant.tables.inputs().iter().enumerate() {
        let [stated] = input.values.as_slice() else { continue };
        if limits.contains(&InputId::new(place)) {
            continue;
        }
        let Origin::Assumed { assumption, .. } = stated.origin else { continue };
        let (low, high) = assumption.usual;
        // A tolerance moves the part that it belongs to; a choice has no values in between.
        if low >= high || input.dimension != assumption.dimension || input.path.ends_with(TOLERANCE) {
            continue;
        }
        let one = used.entry(assumption.id).or_insert_with(|| {
            let varied = Varied {
                path: input.path.clone(),
                dimension: assumption.dimension,
                value: stated.value,
                ends: assumption.usual,
                by: By::Default,
                default: Some(assumption),
                places: Vec::new(),
                edits: [Vec::new(), Vec::new()],
            };
            (varied, Vec::new())
        });
        if !one.0.places.contains(&input.path) {
            one.0.places.push(input.path.clone());
        }
        one.1.push(InputId::new(place));
    }
    let finish = |(varied, inputs): (Varied, Vec<InputId>)| {
        let edits = [varied.ends.0, varied.ends.1].map(|end| put(&inputs, end).collect());
        Varied { edits, ..varied }
    };
    used.into_values().map(finish).collect()
}
