//! Compiles the schema to shapes, and holds the table of shapes in step with it.

use core::fmt::Write as _;

use serde_json::Value;

use super::shape::{Dots, Map, Shape, ShapeId, WholeRange};
use crate::quantity::QuantityKind;
use crate::schema::{self, DAY_PATTERN, PLACE_PATTERN};

/// The table of the schema, as it is written.
fn current() -> String {
    let schema = schema::walked(&[]);
    let mut compiler = Compiler { root: &schema, shapes: Vec::new(), known: Vec::new() };
    let properties = schema.get("properties").and_then(Value::as_object);
    let fields = properties.into_iter().flatten();
    let top: Vec<_> = fields.map(|(key, value)| (text(key), compiler.shape(value))).collect();
    table(&top, &compiler.shapes)
}

fn table(top: &[(&str, ShapeId)], shapes: &[Shape]) -> String {
    let mut all =
        String::from("// Written by the test in `compile.rs`; `LOADWORTHY_ACCEPT=1` writes it anew.\n\n");
    all.push_str("/// The keys of a description.\n#[rustfmt::skip]\n");
    let _ = writeln!(all, "static TOP: &[(&str, ShapeId)] = &{top:?};\n");
    all.push_str(
        "/// Every shape but those of the policy.\n#[rustfmt::skip]\nstatic SHAPES: &[Shape] = &[\n",
    );
    for shape in shapes {
        let _ = writeln!(all, "    {},", source(shape));
    }
    all.push_str("];\n");
    all
}

fn source(shape: &Shape) -> String {
    let quantity = |kind: &QuantityKind| match kind {
        QuantityKind::Plain(dimension) => format!("QuantityKind::Plain(Dimension::{dimension:?})"),
        other => format!("QuantityKind::{other:?}"),
    };
    let number = |value: f64| match value {
        f64::INFINITY => "f64::INFINITY".to_owned(),
        f64::NEG_INFINITY => "f64::NEG_INFINITY".to_owned(),
        value => format!("{value:?}"),
    };
    let most = |most: usize| if most == usize::MAX { "usize::MAX".to_owned() } else { most.to_string() };
    match shape {
        Shape::Map(of) => format!("map(&{:?}, {})", of.fields, of.required),
        Shape::Tagged(tag, branches) => format!("Shape::Tagged({tag:?}, &{branches:?})"),
        Shape::Named(each, dots) => format!("Shape::Named({each:?}, Dots::{dots:?})"),
        Shape::List(each, least, high) => format!("Shape::List({each:?}, {least}, {})", most(*high)),
        Shape::Tuple(each) => format!("Shape::Tuple(&{each:?})"),
        Shape::Words(words) => format!("Shape::Words(&{words:?})"),
        Shape::Whole(WholeRange { low, high, only }) => {
            format!("Shape::Whole(WholeRange {{ low: {low}, high: {high}, only: &{only:?} }})")
        }
        Shape::Number(low, high) => format!("Shape::Number({}, {})", number(*low), number(*high)),
        Shape::Quantity(kind) => format!("Shape::Quantity({})", quantity(kind)),
        Shape::Points(kind, least) => format!("Shape::Points({}, {least})", quantity(kind)),
        Shape::Text | Shape::Day | Shape::Truth | Shape::Anything => format!("Shape::{shape:?}"),
    }
}

/// What is compiled lasts as long as what stands in the table.
fn text(text: &str) -> &'static str {
    text.to_owned().leak()
}

fn many<T>(all: impl Iterator<Item = T>) -> &'static [T] {
    all.collect::<Vec<_>>().leak()
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
            let least =
                schema.get("minItems").and_then(Value::as_u64).and_then(|least| least.try_into().ok());
            return if types.contains(&"array") {
                Shape::Points(kind, least.unwrap_or(1))
            } else {
                Shape::Quantity(kind)
            };
        }
        if let Some(Value::Array(branches)) = schema.get("oneOf") {
            return self.tagged(branches).unwrap_or(Shape::Anything);
        }
        match types.as_slice() {
            ["object"] => self.object(schema),
            ["array"] => self.list(schema),
            ["string"] => match schema.get("enum") {
                Some(Value::Array(words)) => {
                    Shape::Words(many(words.iter().filter_map(Value::as_str).map(text)))
                }
                _ if schema.get("pattern").and_then(Value::as_str) == Some(DAY_PATTERN) => Shape::Day,
                _ => Shape::Text,
            },
            ["integer"] => Shape::Whole(WholeRange {
                low: number(schema, "minimum").map_or(i64::MIN, |low| low as i64),
                high: number(schema, "maximum").map_or(i64::MAX, |high| high as i64),
                only: many(
                    schema
                        .get("enum")
                        .and_then(Value::as_array)
                        .into_iter()
                        .flatten()
                        .filter_map(Value::as_i64),
                ),
            }),
            ["boolean"] => Shape::Truth,
            ["number"] => Shape::Number(
                number(schema, "minimum").unwrap_or(f64::NEG_INFINITY),
                number(schema, "maximum").unwrap_or(f64::INFINITY),
            ),
            [] => Shape::Anything,
            other => panic!("no shape is known for {other:?}"),
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
            properties.into_iter().map(|(key, value)| (text(key), self.shape(value))).collect::<Vec<_>>();
        let required = schema.get("required").and_then(Value::as_array).into_iter().flatten();
        let required = required
            .filter_map(Value::as_str)
            .filter_map(|key| fields.iter().position(|(name, _)| *name == key))
            .fold(0, |bits, place| bits | 1_u64 << place);
        Shape::Map(Map { fields: fields.into(), required })
    }

    fn list(&mut self, schema: &'s Value) -> Shape {
        if let Some(Value::Array(each)) = schema.get("prefixItems") {
            return Shape::Tuple(many(each.iter().map(|each| self.shape(each))));
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
            tag.get_or_insert(text(key));
            let map = self.object(branch);
            read.push((text(word), self.add(map)));
        }
        Some(Shape::Tagged(tag?, many(read.into_iter())))
    }
}

fn number(schema: &Value, key: &str) -> Option<f64> {
    schema.get(key).and_then(Value::as_f64)
}

#[cfg(test)]
mod tests {
    const TABLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/walk/shapes.in");

    /// `LOADWORTHY_ACCEPT=1` writes it anew.
    #[test]
    fn the_table_of_shapes_is_that_of_the_schema() {
        let current = super::current();
        if std::env::var_os("LOADWORTHY_ACCEPT").is_some() {
            std::fs::write(TABLE, &current).unwrap();
        } else {
            let known = std::fs::read_to_string(TABLE).unwrap_or_default();
            assert!(
                known == current,
                "spec/language/src/walk/shapes.in is out of step: run with LOADWORTHY_ACCEPT=1"
            );
        }
    }
}
