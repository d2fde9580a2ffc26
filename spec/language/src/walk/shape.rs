//! The schema in a form that can be walked without looking anything up by name twice.
//!
//! Generating the schema takes longer than reading a description, so its shapes stand in a table, which a test holds in
//! step with it. Only the names of the policy, which belong to the checks, are added when a description is read.

use std::borrow::Cow;

use crate::policy::{PolicyForm, PolicyItem};
use crate::quantity::{Dimension, QuantityKind};

/// Place of a shape in [`Shapes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ShapeId(pub(super) u32);

/// What may stand at a place.
#[derive(Debug)]
pub(super) enum Shape {
    /// A map with known keys.
    Map(Map),
    /// A map whose key names its kind, and the map of each kind.
    Tagged(&'static str, &'static [(&'static str, ShapeId)]),
    /// A map from names to values of one shape; whether a name may be that of a switch position, with a dot in it.
    Named(ShapeId, Dots),
    /// A list of values of one shape, and how few and how many there may be.
    List(ShapeId, usize, usize),
    /// A list with a place for each shape.
    Tuple(&'static [ShapeId]),
    /// Text.
    Text,
    /// A day of the calendar.
    Day,
    /// One of these words.
    Words(&'static [&'static str]),
    /// A whole number.
    Whole(WholeRange),
    /// A number between two others.
    Number(f64, f64),
    /// A quantity.
    Quantity(QuantityKind),
    /// A quantity, or a list of them; how few there may be, from two on a list alone.
    Points(QuantityKind, usize),
    /// `true` or `false`.
    Truth,
    /// Whatever stands there.
    Anything,
}

/// Whether the keys of a map may be names of two parts with a dot between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dots {
    /// Plain names.
    Refused,
    /// `auxiliary.rectifier` as well.
    Allowed,
}

/// A map with known keys.
#[derive(Debug)]
pub(super) struct Map {
    /// Keys in the order in which they are documented.
    pub(super) fields: Cow<'static, [(&'static str, ShapeId)]>,
    /// One bit for each field that must be there.
    pub(super) required: u64,
}

impl Map {
    /// The place and the shape of a field.
    pub(super) fn field(&self, key: &str) -> Option<(usize, ShapeId)> {
        // A handful of short keys: comparing lengths first beats hashing.
        let place = self.fields.iter().position(|(name, _)| *name == key)?;
        self.fields.get(place).map(|(_, shape)| (place, *shape))
    }
}

/// Which whole numbers may stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct WholeRange {
    pub(super) low: i64,
    pub(super) high: i64,
    pub(super) only: &'static [i64],
}

impl WholeRange {
    pub(super) fn holds(&self, value: i64) -> bool {
        (self.low..=self.high).contains(&value) && (self.only.is_empty() || self.only.contains(&value))
    }

    pub(super) fn told(&self) -> String {
        match self.only {
            [] => format!("a whole number from {} to {}", self.low, self.high),
            only => only.iter().map(|one| format!("`{one}`")).collect::<Vec<_>>().join(" or "),
        }
    }
}

/// A map with one way to write it.
const fn map(fields: &'static [(&'static str, ShapeId)], required: u64) -> Shape {
    Shape::Map(Map { fields: Cow::Borrowed(fields), required })
}

include!("shapes.in");

/// The shapes of a description whose policy has a vocabulary.
#[derive(Debug)]
pub(crate) struct Shapes {
    /// Those of the policy, numbered behind the ones that are the same for all.
    policy: Vec<Shape>,
}

impl Shapes {
    /// The shapes of a description whose policy has this vocabulary.
    pub(crate) fn of(vocabulary: &[&PolicyItem]) -> Self {
        let mut policy = Vec::with_capacity(2 * vocabulary.len() + 1);
        let mut add = |shape| {
            policy.push(shape);
            ShapeId((SHAPES.len() + policy.len() - 1) as u32)
        };
        let items = vocabulary.iter().map(|item| {
            let kind = match item.form {
                PolicyForm::UseAtMost { .. } => QuantityKind::Ratio,
                PolicyForm::Keep { dimension, .. } => QuantityKind::Plain(dimension),
            };
            let left = add(Shape::Quantity(kind));
            let entry = Map { fields: Cow::Owned(vec![(item.form.key(), left)]), required: 1 };
            (item.name, add(Shape::Map(entry)))
        });
        let items: Vec<_> = items.collect();
        add(Shape::Map(Map { fields: Cow::Owned(items), required: 0 }));
        Self { policy }
    }

    pub(super) fn get(&self, id: ShapeId) -> &Shape {
        let place = id.0 as usize;
        let shape = SHAPES.get(place).or_else(|| self.policy.get(place - SHAPES.len()));
        shape.unwrap_or(&Shape::Anything)
    }

    /// Whether two shapes take the same values; of lists and choices that is not asked.
    pub(super) fn are_alike(&self, one: ShapeId, other: ShapeId) -> bool {
        match (self.get(one), self.get(other)) {
            (Shape::Quantity(one), Shape::Quantity(other))
            | (Shape::Points(one, _), Shape::Points(other, _)) => one == other,
            (Shape::Words(one), Shape::Words(other)) => one == other,
            (Shape::Text, Shape::Text) | (Shape::Truth, Shape::Truth) => true,
            (Shape::Map(one), Shape::Map(other)) => {
                let fields = || one.fields.iter().zip(other.fields.iter());
                one.required == other.required
                    && one.fields.len() == other.fields.len()
                    && fields().all(|(one, other)| one.0 == other.0 && self.are_alike(one.1, other.1))
            }
            _ => false,
        }
    }

    /// The shape of a section.
    pub(crate) fn top(&self, key: &str) -> Option<ShapeId> {
        if key == "policy" {
            return Some(ShapeId((SHAPES.len() + self.policy.len() - 1) as u32));
        }
        TOP.iter().find(|(name, _)| *name == key).map(|(_, shape)| *shape)
    }

    /// The shape of one entry of a section with named entries.
    pub(crate) fn each(&self, key: &str) -> Option<ShapeId> {
        match self.get(self.top(key)?) {
            Shape::Named(each, _) | Shape::List(each, ..) => Some(*each),
            _ => None,
        }
    }

    /// The shape of the entry with that name, where every entry has one of its own.
    pub(crate) fn member(&self, key: &str, name: &str) -> Option<ShapeId> {
        match self.get(self.top(key)?) {
            Shape::Map(map) => map.field(name).map(|(_, shape)| shape),
            _ => None,
        }
    }

    /// The keys that a description may have.
    pub(crate) fn top_keys(&self) -> impl Iterator<Item = &str> + Clone {
        TOP.iter().map(|(key, _)| *key)
    }

    /// The names of a section whose entries are all known.
    pub(crate) fn member_names(&self, key: &str) -> Vec<&str> {
        match self.top(key).map(|shape| self.get(shape)) {
            Some(Shape::Map(map)) => map.fields.iter().map(|(name, _)| *name).collect(),
            _ => Vec::new(),
        }
    }
}
