//! Walks a tree along the shapes of the schema and collects everything that does not fit.
//!
//! One pass finds all problems of a value; a tagged union is entered by its tag, so that only the keys of the
//! kind that was meant are asked for.

#[cfg(test)]
mod compile;
mod cut_number;
mod day;
mod gaps;
mod meant;
mod merges;
mod messages;
mod names;
mod shape;

use loadworthy_source::{Content, Entry, NodeId, Scalar, ScalarKind, Span, Tree};

use crate::ledger::Ledger;
use shape::{Map, Shape};

pub(crate) use gaps::gaps;
pub(crate) use meant::{may_be_section, section_meant};
pub(crate) use merges::merges;
use names::check_key;
pub(crate) use names::{check_name, check_place};
pub(crate) use shape::{ShapeId, Shapes};

/// What a value is called in messages, and what is marked when something is missing in it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Subject {
    /// The key it stands under; an item of a list has the key of the list.
    pub(crate) key: NodeId,
    /// Its place in a list, from 1; 0 outside lists.
    item: usize,
    /// The unit in which it is mostly written, where that is not the one of its kind.
    unit: Option<&'static str>,
}

impl Subject {
    /// The value under a key.
    pub(crate) fn under(key: NodeId) -> Self {
        Self { key, item: 0, unit: None }
    }

    /// An item of the list under a key.
    pub(crate) fn item(self, place: usize) -> Self {
        Self { item: place + 1, ..self }
    }
}

/// The kinds of a tagged union.
#[derive(Debug, Clone, Copy)]
struct Kinds<'s> {
    tag: &'s str,
    /// The kind that a patch replaced by another.
    replaced: Option<&'s str>,
    branches: &'s [(&'s str, ShapeId)],
}

/// Holds values against shapes.
pub(crate) struct Walker<'t> {
    pub(crate) tree: &'t Tree,
    pub(crate) shapes: &'t Shapes,
    pub(crate) ledger: &'t mut Ledger,
    /// The `variants` section, to know what a patch changed by its place.
    pub(crate) patches: Option<Span>,
}

impl Walker<'_> {
    /// Notes everything in a value that does not fit its shape.
    pub(crate) fn value(&mut self, shape: ShapeId, node: NodeId, subject: Subject) {
        let content = self.tree.content(node);
        let shapes = self.shapes;
        let shape = shapes.get(shape);
        if let Content::Scalar(scalar) = content
            && scalar.is_null()
        {
            return self.no_value(node, subject);
        }
        match (shape, content) {
            (Shape::Quantity(kind), Content::Scalar(scalar)) => self.quantity(*kind, scalar, node, subject),
            (Shape::Points(kind, 0 | 1), Content::Scalar(scalar)) => {
                self.quantity(*kind, scalar, node, subject);
            }
            (Shape::Points(kind, least), Content::List(items)) => {
                if items.is_empty() {
                    self.empty_list(node, subject);
                } else if items.len() < *least {
                    self.too_few(*least, items.len(), node, subject);
                }
                for (place, &item) in items.iter().enumerate() {
                    match self.tree.content(item) {
                        Content::Scalar(scalar) if scalar.is_null() => {
                            self.no_value(item, subject.item(place))
                        }
                        Content::Scalar(scalar) => self.quantity(*kind, scalar, item, subject.item(place)),
                        found => self.wrong_type(shape, found, item, subject.item(place)),
                    }
                }
            }
            (Shape::Map(map), Content::Map(entries)) => {
                let none = Kinds { tag: "", replaced: None, branches: &[] };
                self.map(map, entries, none, node, subject);
            }
            (Shape::Tagged(tag, branches), Content::Map(entries)) => {
                self.tagged(tag, branches, entries, node, subject);
            }
            (Shape::Named(each, dots), Content::Map(entries)) => {
                for entry in entries {
                    // What stands under a name that is none may be anything.
                    if check_key(self.tree, entry.key, *dots, self.ledger) {
                        self.value(*each, entry.value, Subject::under(entry.key));
                    }
                }
            }
            (Shape::List(each, least, most), Content::List(items)) => {
                if items.is_empty() && *least > 0 {
                    self.empty_list(node, subject);
                } else if items.len() < *least || *most < items.len() {
                    self.wrong_length(*least, items.len(), node, subject);
                }
                for (place, &item) in items.iter().enumerate() {
                    self.value(*each, item, subject.item(place));
                }
            }
            (Shape::Tuple(each), Content::List(items)) => {
                if items.len() != each.len() {
                    self.wrong_length(each.len(), items.len(), node, subject);
                }
                for (&each, &item) in each.iter().zip(items) {
                    self.value(each, item, subject);
                }
            }
            (Shape::Words(words), Content::Scalar(scalar)) => {
                if !words.contains(&scalar.text) {
                    self.unknown_word(words, scalar, node, subject);
                }
            }
            (Shape::Text, Content::Scalar(scalar)) if scalar.kind() == ScalarKind::Text => {
                self.text(scalar, node, subject);
            }
            (Shape::Day, Content::Scalar(scalar)) => {
                if !day::is_day(scalar.text) {
                    self.no_day(scalar, node, subject);
                }
            }
            (Shape::Whole(range), Content::Scalar(scalar)) if scalar.kind() == ScalarKind::Whole => {
                let value = scalar.as_i64();
                if value.is_none_or(|value| !range.holds(value)) {
                    let unsigned = scalar.text.strip_prefix('-');
                    let is_held = |text: &&str| text.parse().is_ok_and(|value| range.holds(value));
                    self.out_of_range((&range.told(), unsigned.filter(is_held)), scalar, node, subject);
                }
            }
            (Shape::Number(low, high), Content::Scalar(scalar)) if scalar.as_f64().is_some() => {
                let value = scalar.as_f64().unwrap_or(f64::NAN);
                if !(*low <= value && value <= *high && value.is_finite()) {
                    let range = format!("a number from {low} to {high}");
                    self.out_of_range((&range, None), scalar, node, subject);
                }
            }
            (Shape::Truth, Content::Scalar(scalar)) if scalar.kind() == ScalarKind::Truth => {}
            (Shape::Anything, _) => {}
            (_, found) => self.wrong_type(shape, found, node, subject),
        }
    }

    fn text(&mut self, scalar: Scalar<'_>, node: NodeId, subject: Subject) {
        if scalar.text.is_empty() {
            self.no_value(node, subject);
        }
    }

    /// `others` are the kinds of a tagged union, each of which may know a key that this one does not.
    fn map(&mut self, map: &Map, entries: &[Entry], others: Kinds<'_>, node: NodeId, subject: Subject) {
        let mut present = 0_u64;
        let mut unknown = 0_usize;
        let halves = self.cut_numbers(map, entries);
        let is_half = |place: usize| halves.binary_search(&place).is_ok();
        for (place, entry) in entries.iter().enumerate() {
            match map.field(self.tree.key_text(entry.key)) {
                Some((field, shape)) => {
                    present |= 1 << field;
                    if !is_half(place + 1) {
                        let unit = meant::usual_unit(map, self.tree.key_text(entry.key));
                        self.value(shape, entry.value, Subject { unit, ..Subject::under(entry.key) });
                    }
                }
                None if is_half(place) => {}
                None => unknown += 1,
            }
        }
        let missing = map.required & !present;
        if unknown > 0 || missing != 0 {
            let is_own = |(place, entry): (usize, &Entry)| (!is_half(place)).then_some(*entry);
            let own: Vec<Entry> = entries.iter().enumerate().filter_map(is_own).collect();
            self.keys(map, &own, present, others, node, subject);
        }
    }

    fn tagged(
        &mut self,
        tag: &str,
        branches: &[(&str, ShapeId)],
        entries: &[Entry],
        node: NodeId,
        subject: Subject,
    ) {
        let Some(entry) = entries.iter().find(|entry| self.tree.key_text(entry.key) == tag) else {
            // Its kind may stand in the map that is merged.
            if entries.iter().filter(|entry| merges(self.tree, entry.key, self.ledger)).count() == 0 {
                self.no_tag(tag, branches, entries, node, subject);
            }
            return self.of_any_kind(tag, branches, entries);
        };
        let content = self.tree.content(entry.value);
        let Content::Scalar(word) = content else {
            self.wrong_type(&Shape::Text, content, entry.value, Subject::under(entry.key));
            return self.of_any_kind(tag, branches, entries);
        };
        if word.is_null() {
            self.no_value(entry.value, Subject::under(entry.key));
            return self.of_any_kind(tag, branches, entries);
        }
        match branches.iter().find(|(name, _)| *name == word.text) {
            Some((_, shape)) => {
                if let Shape::Map(map) = self.shapes.get(*shape) {
                    let replaced =
                        self.tree.replaced(entry.value).and_then(|before| self.tree.scalar(before));
                    let replaced = replaced.map(|before| before.text).filter(|before| *before != word.text);
                    if replaced.is_none()
                        && let Some((other, keys, own)) =
                            meant::kind(self.tree, self.shapes, map, branches, (tag, entries))
                    {
                        // One slip, however many keys do not belong to it.
                        self.other_kind(tag, (other, &keys, &own), entry.value, subject);
                        return self.of_any_kind(tag, branches, entries);
                    }
                    self.map(map, entries, Kinds { tag, replaced, branches }, node, subject);
                }
            }
            None => {
                let words = branches.iter().map(|(name, _)| *name).collect::<Vec<_>>();
                self.unknown_word(&words, word, entry.value, Subject::under(entry.key));
                // A kind that is misspelt hides no other slip of its entry.
                let meant = meant::word(word.text, words.iter().copied());
                let meant = branches.iter().find(|(name, _)| Some(*name) == meant);
                match meant.map(|(_, shape)| self.shapes.get(*shape)) {
                    Some(Shape::Map(map)) => {
                        self.map(map, entries, Kinds { tag, replaced: None, branches }, node, subject);
                    }
                    _ => self.of_any_kind(tag, branches, entries),
                }
            }
        }
    }

    /// What every kind of a tagged union reads alike; the rest cannot be judged before the kind is known.
    fn of_any_kind(&mut self, tag: &str, branches: &[(&str, ShapeId)], entries: &[Entry]) {
        let shapes = self.shapes;
        for entry in entries.iter().filter(|entry| self.tree.key_text(entry.key) != tag) {
            let key = self.tree.key_text(entry.key);
            let mut known = branches.iter().filter_map(|(_, shape)| match shapes.get(*shape) {
                Shape::Map(map) => map.field(key).map(|(_, shape)| shape),
                _ => None,
            });
            if let Some(first) = known.next()
                && known.all(|other| shapes.are_alike(first, other))
            {
                self.value(first, entry.value, Subject::under(entry.key));
            }
        }
    }
}
