//! What a person meant who wrote a word that is not the language's own, or one value in place of a map.

use loadworthy_source::{Content, Entry, NodeId, Scalar, Tree, clearly_meant, nearest};

use super::shape::{Map, Shape, ShapeId, Shapes};

/// Words of the trade, and what they are called here.
const TRADE_WORDS: &[(&str, &str)] = &[
    ("inverter", "three_phase_bridge"),
    ("three_phase_inverter", "three_phase_bridge"),
    ("b6", "three_phase_bridge"),
    ("step_up", "boost"),
    ("step_down", "buck"),
    ("svpwm", "space_vector"),
    ("svm", "space_vector"),
    ("spwm", "sinusoidal"),
    ("sine", "sinusoidal"),
    ("pmsm", "permanent_magnet"),
    ("ipmsm", "permanent_magnet"),
    ("synchronous", "permanent_magnet"),
    ("asynchronous", "induction"),
    ("sic", "mosfet"),
    ("fet", "mosfet"),
    ("min", "lowest"),
    ("minimum", "lowest"),
    ("max", "highest"),
    ("maximum", "highest"),
    ("typical", "nominal"),
    ("rds_on", "on_resistance"),
    ("vce_sat", "on_state"),
    ("e_on", "turn_on"),
    ("e_off", "turn_off"),
    ("e_rec", "recovery"),
    ("tj_max", "junction_limit"),
    ("rth", "thermal_impedance"),
    ("zth", "thermal_impedance"),
    ("ratio", "turns_ratio"),
    ("rpm", "speed"),
];

/// The word that was meant: one that is spelt nearly so, the language's word for it, or the only one that holds it.
pub(super) fn word<'w>(text: &str, words: impl Iterator<Item = &'w str> + Clone) -> Option<&'w str> {
    let plain = |c: char| if matches!(c, '-' | ' ') { '_' } else { c.to_ascii_lowercase() };
    nearest(text, words.clone()).or_else(|| {
        // Longer than any word is no word; what is longest here bounds what is compared.
        if text.len() > 32 {
            return None;
        }
        let text = text.chars().map(plain).collect::<String>();
        let ours = TRADE_WORDS.iter().find(|(theirs, _)| *theirs == text).map(|(_, ours)| *ours);
        let known = ours.and_then(|ours| words.clone().find(|word| *word == ours));
        known.or_else(|| {
            let mut holding = words.filter(|word| text.len() >= 4 && word.contains(text.as_str()));
            let only = holding.next()?;
            holding.next().is_none().then_some(only)
        })
    })
}

/// The same where no other can have been meant.
pub(super) fn clear_word<'w>(text: &str, words: impl Iterator<Item = &'w str> + Clone) -> Option<&'w str> {
    match nearest(text, words.clone()) {
        Some(_) => clearly_meant(text, words),
        // The language's word for it, or the only one that holds it.
        None => word(text, words),
    }
}

/// A whole number that was meant by a word for it.
pub(super) fn number_word(text: &str) -> Option<&'static str> {
    let number = match text.to_lowercase().as_str() {
        "one" => "1",
        "two" => "2",
        "three" => "3",
        "four" => "4",
        "five" => "5",
        "six" => "6",
        "seven" => "7",
        "eight" => "8",
        "nine" => "9",
        "ten" => "10",
        "eleven" => "11",
        "twelve" => "12",
        _ => return None,
    };
    Some(number)
}

/// How a value stated in place of a map would be written in it, where there is one key that it fits.
pub(super) fn in_map(shapes: &Shapes, map: &Map, scalar: Scalar<'_>) -> Option<String> {
    let only = |fits: &dyn Fn(&Shape) -> bool| {
        let mut fitting = map.fields.iter().enumerate().filter(|(_, (_, shape))| fits(shapes.get(*shape)));
        let (place, _) = fitting.next()?;
        fitting.next().is_none().then_some(place)
    };
    let is_quantity = |shape: &Shape| match shape {
        Shape::Quantity(kind) | Shape::Points(kind, _) => kind.fits(scalar.text),
        _ => false,
    };
    let takes_word = |shape: &Shape| match shape {
        Shape::Text => scalar.as_f64().is_none() && !scalar.text.contains(' '),
        Shape::Words(words) => words.contains(&scalar.text),
        _ => false,
    };
    let place = only(&is_quantity).or_else(|| only(&takes_word))?;
    let fields = map.fields.iter().enumerate().filter_map(|(k, (key, _))| {
        if k == place {
            return Some(format!("{key}: {}", loadworthy_source::escape_text(scalar.text)));
        }
        (map.required >> k & 1 == 1).then(|| format!("{key}: …"))
    });
    Some(format!("{{ {} }}", fields.collect::<Vec<_>>().join(", ")))
}

/// The unit in which a key is mostly written, where that is not the one of its kind: of what a machine is asked for, which
/// turns with a few hundred hertz, where carriers have kilohertz.
pub(super) fn usual_unit(map: &Map, key: &str) -> Option<&'static str> {
    (key == "frequency" && map.field("power_factor").is_some()).then_some("Hz")
}

/// How many keys an entry has at most that is held against other kinds: to compare a million would take minutes.
const MOST_KEYS: usize = 200;

/// The other kind that an entry of a tagged union reads like: it has two or more keys of that kind that its own does not have, and
/// fewer that only its own has. Its name, those keys, and those that only its own kind has and nobody wrote.
pub(super) fn kind<'s>(
    tree: &Tree,
    shapes: &'s Shapes,
    own: &'s Map,
    kinds: &'s [(&'s str, ShapeId)],
    (tag, entries): (&str, &[Entry]),
) -> Option<(&'s str, Vec<NodeId>, Vec<&'s str>)> {
    let has = |map: &Map, entry: &Entry| map.field(tree.key_text(entry.key)).is_some();
    let keys = || entries.iter().filter(|entry| tree.key_text(entry.key) != tag);
    if entries.len() > MOST_KEYS || keys().all(|entry| has(own, entry)) {
        return None;
    }
    let others = kinds.iter().filter_map(|(name, shape)| {
        let Shape::Map(other) = shapes.get(*shape) else { return None };
        let theirs = keys().filter(|entry| !has(own, entry) && has(other, entry)).map(|entry| entry.key);
        let theirs: Vec<NodeId> = theirs.collect();
        let ours = keys().filter(|entry| has(own, entry) && !has(other, entry)).count();
        (theirs.len() >= 2 && ours < theirs.len()).then_some((*name, other, theirs, ours))
    });
    let (name, other, theirs, _) =
        others.min_by_key(|(.., theirs, ours)| (*ours, core::cmp::Reverse(theirs.len())))?;
    let is_written = |key: &str| entries.iter().any(|entry| tree.key_text(entry.key) == key);
    let own = own.fields.iter().map(|(key, _)| *key);
    Some((name, theirs, own.filter(|key| other.field(key).is_none() && !is_written(key)).collect()))
}

/// The one other section that an entry reads like an entry of: it has all its keys, where its own section has few of them.
pub(crate) fn section_meant<'s>(
    tree: &Tree,
    shapes: &'s Shapes,
    own: &str,
    entries: &[Entry],
) -> Option<&'s str> {
    let known = |section: &str| known_keys(tree, shapes, shapes.each(section)?, entries);
    let (of_own, _) = known(own)?;
    if entries.len() < 2 || entries.len() <= 2 * of_own {
        return None;
    }
    let fits =
        |section: &&str| *section != own && known(section).is_some_and(|(all, _)| all == entries.len());
    let fitting: Vec<&str> = shapes.top_keys().filter(fits).collect();
    let tagged = || fitting.iter().filter(|section| known(section).is_some_and(|(_, tagged)| tagged));
    match (fitting.as_slice(), tagged().count()) {
        ([only], _) => Some(*only),
        (_, 1) => tagged().next().copied(),
        _ => None,
    }
}

/// Whether a value under another name may be that section: something in it has a key as its entries have, or has no key at all.
pub(crate) fn may_be_section(tree: &Tree, shapes: &Shapes, section: &str, value: NodeId) -> bool {
    let has_own = |map: &Map, node: NodeId| {
        tree.entries(node).iter().any(|entry| map.field(tree.key_text(entry.key)).is_some())
    };
    let fits = |shape: ShapeId, node: NodeId| match shapes.get(shape) {
        Shape::Map(map) => has_own(map, node),
        Shape::Tagged(tag, branches) => {
            tree.entry(node, tag).is_some()
                || branches.iter().any(|(_, shape)| match shapes.get(*shape) {
                    Shape::Map(map) => has_own(map, node),
                    _ => false,
                })
        }
        _ => false,
    };
    match shapes.each(section) {
        Some(each) => tree.entries(value).iter().any(|entry| {
            let is_empty = matches!(tree.content(entry.value), Content::Map([]));
            is_empty || fits(each, entry.value)
        }),
        None => shapes.top(section).is_some_and(|top| fits(top, value)),
    }
}

/// How many of the keys of an entry a shape has, and whether the entry names its kind among those of the shape.
fn known_keys(tree: &Tree, shapes: &Shapes, shape: ShapeId, entries: &[Entry]) -> Option<(usize, bool)> {
    let (map, tagged) = match shapes.get(shape) {
        Shape::Map(map) => (map, false),
        Shape::Tagged(tag, branches) => {
            let said = entries.iter().find(|entry| tree.key_text(entry.key) == *tag);
            let said = said.and_then(|entry| tree.scalar(entry.value));
            let branch = said.and_then(|word| branches.iter().find(|(name, _)| *name == word.text));
            match branch.map(|(_, shape)| shapes.get(*shape)) {
                Some(Shape::Map(map)) => (map, true),
                _ => return Some((0, false)),
            }
        }
        _ => return None,
    };
    Some((entries.iter().filter(|entry| map.field(tree.key_text(entry.key)).is_some()).count(), tagged))
}
