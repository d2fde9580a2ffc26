//! What the walker says: subject, expected, found, way out.

use loadworthy_source::{
    Content, Entry, MOST_PROBLEMS, NodeId, Problem, Scalar, ScalarKind, Tree, clearly_meant, nearest,
};

use super::shape::{Map, Shape, ShapeId, Shapes};
use super::{Kinds, Subject, Walker, meant, merges};
use crate::quantity::{QuantityKind, shown};

/// How many keys are shown that do not belong to their kind.
const MOST_PLACES: usize = 3;
/// How many keys or words a message lists.
const MOST_LISTED: usize = 14;

impl Walker<'_> {
    pub(super) fn no_value(&mut self, node: NodeId, subject: Subject) {
        let tree = self.tree;
        // Nothing is written: the key is what can be marked.
        let span = tree.span(node);
        let at = if span.is_empty() && subject.item == 0 { tree.span(subject.key) } else { span };
        self.ledger.note("empty-value", at, "", || {
            Problem::new(
                "empty-value",
                at,
                format!("{} has no value", told(tree, subject)),
                "nothing is stated",
            )
            .with_way_out("write a value, or leave the key out")
        });
    }

    pub(super) fn quantity(
        &mut self,
        kind: QuantityKind,
        scalar: Scalar<'_>,
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        if kind.fits(scalar.text) {
            return;
        }
        let at = tree.span(node);
        self.ledger.note("bad-quantity", at, "", || {
            // Read again for its words: most that do not fit are never shown.
            let (expected, found, way_out) = match kind.read(scalar.text) {
                Err(fault) => (fault.expected, fault.found, fault.way_out),
                Ok(_) => (kind.expected(), shown(scalar.text), None),
            };
            let is_bare = scalar.as_f64().is_some();
            let usual =
                subject.unit.filter(|_| is_bare).map(|unit| format!("write `{} {unit}`", scalar.text));
            let way_out = usual.or(way_out);
            let message = format!("{} expects {expected}, found {found}", told(tree, subject));
            // What the unit of a bare number is nobody wrote.
            let meant = way_out.as_deref().and_then(written).filter(|text| !is_bare && kind.fits(text));
            let problem = Problem::new("bad-quantity", at, message, format!("expected {expected}"));
            let problem = problem.with_meant(meant);
            match way_out {
                Some(way_out) => problem.with_way_out(way_out),
                None => problem,
            }
        });
    }

    pub(super) fn wrong_type(&mut self, shape: &Shape, found: Content<'_>, node: NodeId, subject: Subject) {
        let tree = self.tree;
        let at = tree.span(node);
        let expected = expected(shape);
        let shapes = self.shapes;
        self.ledger.note("wrong-type", at, "", || {
            let message =
                format!("{} expects {expected}, found {}", told(tree, subject), found_in_words(found));
            let problem = Problem::new("wrong-type", at, message, format!("expected {expected}"));
            match (shape, found) {
                (Shape::Text, Content::Scalar(scalar)) => {
                    problem.with_way_out(format!("write `\"{}\"`", scalar.text))
                }
                (Shape::Map(map), Content::Scalar(scalar)) => match meant::in_map(shapes, map, scalar) {
                    Some(text) => problem.with_way_out(format!("write `{text}`")),
                    None => {
                        let keys = map.fields.iter().map(|(key, _)| *key).collect::<Vec<_>>();
                        problem.with_way_out(format!("keys here: {}", listed(&keys)))
                    }
                },
                (Shape::Truth, Content::Scalar(scalar)) => match truth_meant(scalar.text) {
                    Some(word) => problem.with_way_out(format!("write `{word}`")).with_meant(Some(word)),
                    None => problem,
                },
                (Shape::List(item, ..), Content::Scalar(scalar)) => {
                    problem.with_way_out(listed_once(shapes, *item, scalar))
                }
                (Shape::Points(..), Content::Scalar(scalar)) => problem
                    .with_way_out(format!("write `[{}, …]`", loadworthy_source::escape_text(scalar.text))),
                (Shape::Tuple(_), Content::Scalar(scalar)) => {
                    problem.with_way_out(format!("write `[{}]`", loadworthy_source::escape_text(scalar.text)))
                }
                (Shape::Whole(_) | Shape::Number(..), Content::Scalar(scalar))
                    if !scalar.plain && (Scalar { plain: true, ..scalar }).as_f64().is_some() =>
                {
                    problem
                        .with_way_out(format!("write `{}` without quotes", scalar.text))
                        .with_meant(Some(scalar.text))
                }
                (Shape::Whole(_), Content::Scalar(scalar)) => match meant::number_word(scalar.text) {
                    Some(number) => {
                        problem.with_way_out(format!("write `{number}`")).with_meant(Some(number))
                    }
                    None => problem,
                },
                (Shape::Number(..), Content::Scalar(scalar)) => match with_a_point(scalar.text) {
                    Some(number) => {
                        problem.with_way_out(format!("write `{number}`")).with_meant(Some(number))
                    }
                    None => problem,
                },
                _ => problem,
            }
        });
    }

    /// `unsigned` is the number without its sign, where that is in the range.
    pub(super) fn out_of_range(
        &mut self,
        (range, unsigned): (&str, Option<&str>),
        scalar: Scalar<'_>,
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("out-of-range", at, "", || {
            let message = format!("{} expects {range}, found {}", told(tree, subject), shown(scalar.text));
            let problem = Problem::new("out-of-range", at, message, format!("expected {range}"));
            match unsigned {
                Some(number) => problem.with_way_out(format!("write `{number}`")).with_meant(Some(number)),
                None => problem,
            }
        });
    }

    pub(super) fn empty_list(&mut self, node: NodeId, subject: Subject) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("empty-value", at, "", || {
            Problem::new("empty-value", at, format!("{} lists nothing", told(tree, subject)), "an empty list")
                .with_way_out("list at least one value, or leave the key out")
        });
    }

    pub(super) fn wrong_length(&mut self, expected: usize, found: usize, node: NodeId, subject: Subject) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("wrong-type", at, "", || {
            let message = format!("{} expects {expected} values, found {found}", told(tree, subject));
            Problem::new("wrong-type", at, message, format!("expected {expected} values"))
        });
    }

    pub(super) fn too_few(&mut self, least: usize, found: usize, node: NodeId, subject: Subject) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("wrong-type", at, "", || {
            let message = format!("{} expects {least} values or more, found {found}", told(tree, subject));
            Problem::new("wrong-type", at, message, format!("expected {least} values or more"))
        });
    }

    pub(super) fn unknown_word(
        &mut self,
        words: &[&str],
        scalar: Scalar<'_>,
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("unknown-word", at, "", || {
            let listed = alternatives(words.iter().copied());
            let message = format!("{} expects {listed}, found {}", told(tree, subject), shown(scalar.text));
            let problem = Problem::new("unknown-word", at, message, "not one of the words");
            let clear = meant::clear_word(scalar.text, words.iter().copied());
            match meant::word(scalar.text, words.iter().copied()) {
                Some(word) => problem.with_way_out(format!("write `{word}`")).with_meant(clear),
                None => problem,
            }
        });
    }

    /// A kind that is a word of the language, of an entry with keys of another one.
    pub(super) fn other_kind(
        &mut self,
        tag: &str,
        (other, keys, own): (&str, &[NodeId], &[&str]),
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        let at = tree.span(node);
        self.ledger.note("unknown-word", at, "", || {
            let word = tree.scalar(node).map_or("", |scalar| scalar.text);
            let names: Vec<&str> = keys.iter().map(|&key| tree.key_text(key)).collect();
            let subject = told(tree, subject);
            let message =
                format!("{subject} says `{tag}: {word}`, and has keys of `{other}`: {}", listed(&names));
            let instead = match own {
                [] => format!("or leave out what `{word}` does not have"),
                own => format!("or what `{word}` has in their place: {}", listed(own)),
            };
            let problem = Problem::new("unknown-word", at, message, "not the kind of its keys")
                .with_way_out(format!("write `{other}`, {instead}"));
            let also =
                keys.iter().take(MOST_PLACES).map(|&key| (tree.span(key), format!("a key of `{other}`")));
            Problem { also: also.collect(), ..problem }
        });
    }

    pub(super) fn no_tag(
        &mut self,
        tag: &str,
        branches: &[(&str, ShapeId)],
        entries: &[Entry],
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        let words = alternatives(branches.iter().map(|(name, _)| *name));
        // A misspelt tag is one problem. Other keys cannot be judged before the kind is known.
        let known = branches.iter().filter_map(|(_, shape)| match self.shapes.get(*shape) {
            Shape::Map(map) => Some(map),
            _ => None,
        });
        let known = known.collect::<Vec<_>>();
        let stray = entries.iter().find(|entry| {
            let key = tree.key_text(entry.key);
            known.iter().all(|map| map.field(key).is_none()) && nearest(key, [tag].into_iter()).is_some()
        });
        let at = tree.span(stray.map_or_else(|| self.mark(node, subject), |entry| entry.key));
        // An entry that a variant alone has may be one that lacks without it, and is named elsewhere.
        let only_patched = subject.item == 0 && stray.is_none() && self.is_patched(subject.key);
        let patched = only_patched.then(|| tree.key_text(subject.key));
        self.ledger.note_patched(patched, "missing-key", at, tag, || {
            let message = match stray {
                Some(entry) => {
                    format!("unknown key {} where `{tag}` is missing", shown(tree.key_text(entry.key)))
                }
                None => format!("{} lacks `{tag}`, which says what it is", told(tree, subject)),
            };
            let example = branches.first().map_or("", |(name, _)| *name);
            let meant = stray.and_then(|entry| clearly_meant(tree.key_text(entry.key), [tag].into_iter()));
            Problem::new("missing-key", at, message, format!("`{tag}` is {words}"))
                .with_way_out(format!("write e.g. `{tag}: {example}`"))
                .with_meant(meant)
        });
    }

    /// Unknown and missing keys of one map; an unknown key that is probably a missing one is one problem.
    pub(super) fn keys(
        &mut self,
        map: &Map,
        entries: &[Entry],
        present: u64,
        others: Kinds<'_>,
        node: NodeId,
        subject: Subject,
    ) {
        let tree = self.tree;
        let mut missing = named(map, map.required & !present);
        let absent = named(map, !present);
        let unknown = entries.iter().filter(|entry| map.field(tree.key_text(entry.key)).is_none());
        let mut unknown = unknown.copied().collect::<Vec<_>>();
        let merged = unknown.extract_if(.., |entry| merges(tree, entry.key, self.ledger)).count();
        if merged > 0 {
            // What it lacks may stand in the other map.
            missing.clear();
        }
        for (place, entry) in unknown.iter().enumerate() {
            if place >= MOST_PROBLEMS {
                // Counted, and never shown: comparing a million strange keys with words would take minutes.
                self.unknown_key(entry.key, (None, None), None, subject);
                continue;
            }
            let key = tree.key_text(entry.key);
            let alone =
                map.fields.len() == 1 || (unknown.len() == 1 && missing.len() == 1 && entries.len() == 1);
            let meant = meant::word(key, missing.iter().copied());
            let meant = meant.or_else(|| missing.first().copied().filter(|_| alone)).map(str::to_owned);
            if let Some(meant) = &meant {
                missing.retain(|name| name != meant);
            }
            let by_replaced = others.branches.iter().filter(|(kind, _)| Some(*kind) == others.replaced);
            let elsewhere =
                by_replaced.chain(others.branches).find(|(_, shape)| match self.shapes.get(*shape) {
                    Shape::Map(other) => other.field(key).is_some(),
                    _ => false,
                });
            let way_out = match (&meant, elsewhere) {
                (Some(meant), _) => Some(format!("write `{meant}`")),
                // A patch that changes the kind leaves the keys of the old one behind, until it removes them.
                (None, Some((kind, _))) if others.replaced == Some(kind) && !self.is_patched(entry.key) => {
                    Some(format!(
                        "`{key}` belongs to `{}: {kind}`: set `{key}: null` in the variant",
                        others.tag
                    ))
                }
                // Other stages are switched off by the current of their choke.
                (None, Some(_)) if key == "trip" && others.tag == "topology" => {
                    Some("write `trip` at its choke, an entry of `magnetics`".to_owned())
                }
                (None, Some(_)) => {
                    let has_it = |shape: ShapeId| match self.shapes.get(shape) {
                        Shape::Map(other) => other.field(key).is_some(),
                        _ => false,
                    };
                    let kinds = others.branches.iter().filter(|(_, shape)| has_it(*shape));
                    let kinds: Vec<String> =
                        kinds.map(|(kind, _)| format!("{}: {kind}", others.tag)).collect();
                    Some(format!("`{key}` belongs to {}", alternatives(kinds.iter().map(String::as_str))))
                }
                (None, None) => match meant::word(key, absent.iter().copied()) {
                    Some(near) => Some(format!("write `{near}`")),
                    None if without_blank(key, map).is_some() => without_blank(key, map),
                    None if absent.is_empty() => {
                        let all = map.fields.iter().map(|(key, _)| *key).collect::<Vec<_>>();
                        Some(format!("keys here: {}", listed(&all)))
                    }
                    None => Some(format!("keys here: {}", listed(&absent))),
                },
            };
            let clear = elsewhere.is_none().then(|| meant::clear_word(key, absent.iter().copied())).flatten();
            let clear = clear.filter(|clear| meant.as_ref().is_none_or(|meant| meant == clear));
            self.unknown_key(entry.key, (meant.as_deref(), clear), way_out, subject);
        }
        if !missing.is_empty() {
            let at = tree.span(self.mark(node, subject));
            self.ledger.note("missing-key", at, "", || {
                let missing = together(&missing);
                let message = format!("{} lacks {missing}", told(tree, subject));
                Problem::new("missing-key", at, message, "not everything is stated")
                    .with_way_out(format!("add {missing}"))
            });
        }
    }

    /// Whether a node stands in the patch of a variant.
    fn is_patched(&self, node: NodeId) -> bool {
        let span = self.tree.span(node);
        self.patches.is_some_and(|outer| {
            outer.file == span.file && outer.start <= span.start && span.end <= outer.end
        })
    }

    /// `meant` is the missing key that was probably meant, and the key that clearly was.
    fn unknown_key(
        &mut self,
        key: NodeId,
        (meant, clear): (Option<&str>, Option<&str>),
        way_out: Option<String>,
        subject: Subject,
    ) {
        let tree = self.tree;
        let at = tree.span(key);
        self.ledger.note("unknown-key", at, "", || {
            let text = tree.key_text(key);
            let message = match meant {
                Some(meant) => format!("unknown key {} where `{meant}` is missing", shown(text)),
                None => format!("{} has no key {}", told(tree, subject), shown(text)),
            };
            let problem = Problem::new("unknown-key", at, message, "not a key here").with_meant(clear);
            match way_out {
                Some(way_out) => problem.with_way_out(way_out),
                None => problem,
            }
        });
    }

    /// What is marked when something is missing in a map: its key, or the first key of an item.
    fn mark(&self, node: NodeId, subject: Subject) -> NodeId {
        match (subject.item, self.tree.entries(node).first()) {
            (0, _) => subject.key,
            (_, Some(first)) => first.key,
            (_, None) => node,
        }
    }
}

/// The subject of a sentence: its key, and its place in a list.
pub(super) fn told(tree: &Tree, subject: Subject) -> String {
    let key = shown(tree.key_text(subject.key));
    match subject.item {
        0 => key,
        place => format!("{key}, item {place},"),
    }
}

fn named(map: &Map, bits: u64) -> Vec<&str> {
    let chosen = map.fields.iter().enumerate().filter(|(place, _)| bits >> place & 1 == 1);
    chosen.map(|(_, (name, _))| *name).collect()
}

fn listed(names: &[&str]) -> String {
    let more = if names.len() > MOST_LISTED { ", …" } else { "" };
    let names = names.iter().take(MOST_LISTED).map(|name| format!("`{name}`")).collect::<Vec<_>>();
    format!("{}{more}", names.join(", "))
}

/// `a`, `b` and `c`.
fn together(names: &[&str]) -> String {
    let (last, before) = match names.split_last() {
        Some((last, [])) => return format!("`{last}`"),
        Some(split) => split,
        None => return String::new(),
    };
    format!("`{}` and `{last}`", before.join("`, `"))
}

/// `a`, `b` or `c`.
pub(super) fn alternatives<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let mut names = names.map(|name| format!("`{name}`")).collect::<Vec<_>>();
    match names.pop() {
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} or {last}", names.join(", ")),
        None => String::new(),
    }
}

/// How a value stated in place of a list would be written as one.
fn listed_once(shapes: &Shapes, item: ShapeId, scalar: Scalar<'_>) -> String {
    let Shape::Map(map) = shapes.get(item) else {
        return format!("write `[{}]`", loadworthy_source::escape_text(scalar.text));
    };
    match meant::in_map(shapes, map, scalar) {
        Some(text) => format!("write `[{text}]`"),
        None => {
            let keys = map.fields.iter().map(|(key, _)| *key).collect::<Vec<_>>();
            format!("write a list of maps; keys in each: {}", listed(&keys))
        }
    }
}

/// What a person meant who wrote a truth value in words of their own.
fn truth_meant(text: &str) -> Option<&'static str> {
    match text.to_lowercase().as_str() {
        "true" | "yes" | "y" | "on" | "1" => Some("true"),
        "false" | "no" | "n" | "off" | "0" => Some("false"),
        _ => None,
    }
}

fn expected(shape: &Shape) -> String {
    match shape {
        Shape::Map(_) | Shape::Tagged(..) => "a map of keys".to_owned(),
        Shape::Named(..) => "a map of named entries".to_owned(),
        Shape::List(..) | Shape::Tuple(_) => "a list".to_owned(),
        Shape::Text | Shape::Anything => "text".to_owned(),
        Shape::Day => "a day of the calendar".to_owned(),
        Shape::Words(words) => alternatives(words.iter().copied()),
        Shape::Whole(range) => range.told(),
        Shape::Number(..) => "a number".to_owned(),
        Shape::Truth => "`true` or `false`".to_owned(),
        Shape::Quantity(kind) => kind.expected().into_owned(),
        Shape::Points(kind, 0 | 1) => format!("{} or a list of them", kind.expected()),
        Shape::Points(kind, least) => format!("a list of {least} or more, each {}", kind.expected()),
    }
}

/// What a way out says to write, where it says nothing else.
fn written(way_out: &str) -> Option<&str> {
    way_out.strip_prefix("write `")?.strip_suffix('`').filter(|text| !text.contains('`'))
}

/// `2,5` as it is written here.
fn with_a_point(text: &str) -> Option<String> {
    let number = text.replacen(',', ".", 1);
    (number != text && number.parse::<f64>().is_ok()).then_some(number)
}

/// A key that took its value in, for want of a blank behind the colon.
fn without_blank(key: &str, map: &Map) -> Option<String> {
    let (name, value) = key.split_once(':')?;
    map.field(name)?;
    let value = loadworthy_source::escape_text(value);
    Some(format!("write `{name}: {value}`, with a blank behind the colon"))
}

fn found_in_words(found: Content<'_>) -> String {
    match found {
        Content::Map(_) => "a map".to_owned(),
        Content::List(_) => "a list".to_owned(),
        Content::Scalar(scalar) => {
            let what = match scalar.kind() {
                ScalarKind::Whole | ScalarKind::Fraction => "the number",
                ScalarKind::Truth => "the truth value",
                ScalarKind::Text | ScalarKind::Null => "the text",
            };
            format!("{what} {}", shown(scalar.text))
        }
    }
}
