//! The schema in a form that can be walked without looking anything up by name twice.

use std::sync::{Arc, Mutex, PoisonError};

use serde_json::Value;

use crate::policy::PolicyItem;
use crate::quantity::QuantityKind;
use crate::schema::{self, PLACE_PATTERN};

/// Place of a shape in [`Shapes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ShapeId(u32);

/// What may stand at a place.
#[derive(Debug)]
pub(super) enum Shape {
    /// A map with known keys.
    Map(Map),
    /// A map whose key names its kind, and the map of each kind.
    Tagged(String, Vec<(String, ShapeId)>),
    /// A map from names to values of one shape; whether a name may be that of a switch position, with a dot in it.
    Named(ShapeId, Dots),
    /// A list of values of one shape, and how few and how many there may be.
    List(ShapeId, usize, usize),
    /// A list with a place for each shape.
    Tuple(Vec<ShapeId>),
    /// Text.
    Text,
    /// Text, or a number that is kept as it was written.
    TextOrNumber,
    /// One of these words.
    Words(Vec<String>),
    /// A whole number.
    Whole(WholeRange),
    /// A number between two others.
    Number(f64, f64),
    /// A quantity.
    Quantity(QuantityKind),
    /// A quantity, or a list of them.
    Points(QuantityKind),
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
    pub(super) fields: Vec<(String, ShapeId)>,
    /// One bit for each field that must be there.
    pub(super) required: u64,
}

impl Map {
    /// The place and the shape of a field.
    pub(super) fn field(&self, key: &str) -> Option<(usize, ShapeId)> {
        // A handful of short keys: comparing lengths first beats hashing.
        let place = self.fields.iter().position(|(name, _)| name == key)?;
        self.fields.get(place).map(|(_, shape)| (place, *shape))
    }
}

/// Which whole numbers may stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct WholeRange {
    low: i64,
    high: i64,
    only: Vec<i64>,
}

impl WholeRange {
    pub(super) fn holds(&self, value: i64) -> bool {
        (self.low..=self.high).contains(&value) && (self.only.is_empty() || self.only.contains(&value))
    }

    pub(super) fn told(&self) -> String {
        match self.only.as_slice() {
            [] => format!("a whole number from {} to {}", self.low, self.high),
            only => only.iter().map(|one| format!("`{one}`")).collect::<Vec<_>>().join(" or "),
        }
    }
}

/// The shapes of a schema.
#[derive(Debug)]
pub(crate) struct Shapes {
    shapes: Vec<Shape>,
    top: Vec<(String, ShapeId)>,
}

/// The shapes that were compiled last, and the vocabulary of their policy. An editor reads a file at every key, and
/// generating the schema takes longer than reading.
static LAST: Mutex<Option<(Vec<PolicyItem>, Arc<Shapes>)>> = Mutex::new(None);

impl Shapes {
    /// The shapes of a description whose policy has this vocabulary.
    pub(crate) fn of(vocabulary: &[&PolicyItem]) -> Arc<Self> {
        let same = |known: &[PolicyItem]| known.iter().eq(vocabulary.iter().copied());
        let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((known, shapes)) = &*last
            && same(known)
        {
            return Arc::clone(shapes);
        }
        let shapes = Arc::new(Self::compile(&schema::walked(vocabulary)));
        *last = Some((vocabulary.iter().copied().copied().collect(), Arc::clone(&shapes)));
        shapes
    }

    /// Compiles a schema as [`crate::schema`] writes it.
    fn compile(schema: &Value) -> Self {
        let mut compiler = Compiler { root: schema, shapes: Vec::new(), known: Vec::new() };
        let properties = schema.get("properties").and_then(Value::as_object);
        let fields = properties.into_iter().flatten();
        let top = fields.map(|(key, value)| (key.clone(), compiler.shape(value))).collect();
        Self { shapes: compiler.shapes, top }
    }

    pub(super) fn get(&self, id: ShapeId) -> &Shape {
        self.shapes.get(id.0 as usize).unwrap_or(&Shape::Anything)
    }

    /// The shape of a section.
    pub(crate) fn top(&self, key: &str) -> Option<ShapeId> {
        self.top.iter().find(|(name, _)| name == key).map(|(_, shape)| *shape)
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
    pub(crate) fn top_keys(&self) -> impl Iterator<Item = &str> {
        self.top.iter().map(|(key, _)| key.as_str())
    }

    /// The names of a section whose entries are all known.
    pub(crate) fn member_names(&self, key: &str) -> Vec<&str> {
        match self.top(key).map(|shape| self.get(shape)) {
            Some(Shape::Map(map)) => map.fields.iter().map(|(name, _)| name.as_str()).collect(),
            _ => Vec::new(),
        }
    }
}

struct Compiler<'s> {
    root: &'s Value,
    shapes: Vec<Shape>,
    /// Definitions that are compiled already.
    known: Vec<(&'s str, ShapeId)>,
}

impl<'s> Compiler<'s> {
    fn shape(&mut self, schema: &'s Value) -> ShapeId {
        let Some(target) = schema.get("$ref").and_then(Value::as_str) else {
            let shape = self.read(schema);
            return self.add(shape);
        };
        if let Some((_, id)) = self.known.iter().find(|(name, _)| *name == target) {
            return *id;
        }
        let pointer = target.strip_prefix('#').and_then(|pointer| self.root.pointer(pointer));
        let shape = pointer.map_or(Shape::Anything, |schema| self.read(schema));
        let id = self.add(shape);
        self.known.push((target, id));
        id
    }

    fn add(&mut self, shape: Shape) -> ShapeId {
        let id = ShapeId(u32::try_from(self.shapes.len()).unwrap_or(u32::MAX));
        self.shapes.push(shape);
        id
    }

    fn read(&mut self, schema: &'s Value) -> Shape {
        let types = match schema.get("type") {
            Some(Value::Array(types)) => types.iter().filter_map(Value::as_str).collect(),
            Some(Value::String(one)) => vec![one.as_str()],
            _ => Vec::new(),
        };
        if let Some(kind) = schema.get("x-quantity").and_then(Value::as_str).and_then(QuantityKind::named) {
            return if types.contains(&"array") { Shape::Points(kind) } else { Shape::Quantity(kind) };
        }
        if let Some(Value::Array(branches)) = schema.get("oneOf") {
            return self.tagged(branches).unwrap_or(Shape::Anything);
        }
        match types.as_slice() {
            ["object"] => self.object(schema),
            ["array"] => self.list(schema),
            ["string"] => match schema.get("enum") {
                Some(Value::Array(words)) => {
                    Shape::Words(words.iter().filter_map(Value::as_str).map(str::to_owned).collect())
                }
                _ => Shape::Text,
            },
            ["string", "number"] => Shape::TextOrNumber,
            ["integer"] => Shape::Whole(WholeRange {
                low: number(schema, "minimum").map_or(i64::MIN, |low| low as i64),
                high: number(schema, "maximum").map_or(i64::MAX, |high| high as i64),
                only: schema
                    .get("enum")
                    .and_then(Value::as_array)
                    .into_iter()
                    .flatten()
                    .filter_map(Value::as_i64)
                    .collect(),
            }),
            ["boolean"] => Shape::Truth,
            ["number"] => Shape::Number(
                number(schema, "minimum").unwrap_or(f64::NEG_INFINITY),
                number(schema, "maximum").unwrap_or(f64::INFINITY),
            ),
            _ => Shape::Anything,
        }
    }

    fn object(&mut self, schema: &'s Value) -> Shape {
        if let Some(each @ Value::Object(_)) = schema.get("additionalProperties") {
            let pattern = schema.pointer("/propertyNames/pattern").and_then(Value::as_str);
            let dots = if pattern == Some(PLACE_PATTERN) { Dots::Allowed } else { Dots::Refused };
            return Shape::Named(self.shape(each), dots);
        }
        let properties = match schema.get("properties") {
            Some(Value::Object(properties)) => properties.iter().collect(),
            _ => Vec::new(),
        };
        let fields =
            properties.into_iter().map(|(key, value)| (key.clone(), self.shape(value))).collect::<Vec<_>>();
        let required = schema.get("required").and_then(Value::as_array).into_iter().flatten();
        let required = required
            .filter_map(Value::as_str)
            .filter_map(|key| fields.iter().position(|(name, _)| name == key))
            .fold(0, |bits, place| bits | 1_u64 << place);
        Shape::Map(Map { fields, required })
    }

    fn list(&mut self, schema: &'s Value) -> Shape {
        if let Some(Value::Array(each)) = schema.get("prefixItems") {
            return Shape::Tuple(each.iter().map(|each| self.shape(each)).collect());
        }
        let least = schema.get("minItems").and_then(Value::as_u64).unwrap_or(0);
        let most = schema.get("maxItems").and_then(Value::as_u64);
        match schema.get("items") {
            Some(each) => Shape::List(
                self.shape(each),
                usize::try_from(least).unwrap_or(0),
                most.and_then(|most| usize::try_from(most).ok()).unwrap_or(usize::MAX),
            ),
            None => Shape::Anything,
        }
    }

    fn tagged(&mut self, branches: &'s [Value]) -> Option<Shape> {
        let mut tag = None;
        let mut read = Vec::new();
        for branch in branches {
            let properties = branch.get("properties")?.as_object()?;
            let (key, value) = properties.iter().find(|(_, value)| value.get("const").is_some())?;
            let word = value.get("const")?.as_str()?;
            tag.get_or_insert(key.clone());
            let map = self.object(branch);
            read.push((word.to_owned(), self.add(map)));
        }
        Some(Shape::Tagged(tag?, read))
    }
}

fn number(schema: &Value, key: &str) -> Option<f64> {
    schema.get(key).and_then(Value::as_f64)
}
