//! The reader and the published schema refuse the same documents.
//!
//! An independent validator holds documents against the schema, with the quantity reader behind its own keyword;
//! only what is wrong with the structure counts, since names and rules are beyond a schema.

use std::sync::LazyLock;

use jsonschema::{Keyword, ValidationError, Validator};
use loadworthy_language::quantity::QuantityKind;
use loadworthy_language::schema;
use loadworthy_source::{Content, NodeId, ScalarKind, Tree};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use serde_json::{Map, Value, json};

use crate::workshop::{FORWARDER, VOCABULARY, reading};

/// Kinds of problem that a schema can see as well.
const STRUCTURE: &[&str] = &[
    "unknown-key",
    "missing-key",
    "wrong-type",
    "bad-quantity",
    "empty-value",
    "unknown-word",
    "bad-name",
    "out-of-range",
];

static VALIDATOR: LazyLock<Validator> = LazyLock::new(|| {
    let options = jsonschema::options().with_keyword("x-quantity", |_, name, _| {
        let kind = name.as_str().and_then(QuantityKind::named);
        let kind = kind.ok_or_else(|| ValidationError::schema("no quantity of that name"))?;
        Ok(Box::new(Quantity(kind)) as Box<dyn Keyword>)
    });
    options.build(&schema(VOCABULARY)).unwrap()
});

struct Quantity(QuantityKind);

impl Keyword for Quantity {
    fn validate<'i>(&self, instance: &'i Value) -> Result<(), ValidationError<'i>> {
        if self.is_valid(instance) { Ok(()) } else { Err(ValidationError::custom("not that quantity")) }
    }

    fn is_valid(&self, instance: &Value) -> bool {
        match instance {
            Value::String(text) => self.0.read(text).is_ok(),
            Value::Number(number) => self.0.read(&number.to_string()).is_ok(),
            // Lists are judged item by item, the rest by its type.
            _ => true,
        }
    }
}

/// The document as every reader of YAML 1.2 sees it.
fn as_json(tree: &Tree, node: NodeId) -> Value {
    match tree.content(node) {
        Content::Map(entries) => {
            let pairs =
                entries.iter().map(|entry| (tree.key_text(entry.key).to_owned(), as_json(tree, entry.value)));
            Value::Object(pairs.collect())
        }
        Content::List(items) => items.iter().map(|item| as_json(tree, *item)).collect(),
        Content::Scalar(scalar) => match scalar.kind() {
            ScalarKind::Null => Value::Null,
            ScalarKind::Truth => json!(scalar.as_bool()),
            ScalarKind::Whole => json!(scalar.as_i64()),
            ScalarKind::Fraction => json!(scalar.as_f64()),
            ScalarKind::Text => json!(scalar.text),
        },
    }
}

fn document(text: &str) -> Value {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let root = tree.read("document.yaml", text.as_bytes(), &mut problems).unwrap();
    as_json(&tree, root)
}

fn schema_accepts(document: &Value) -> bool {
    VALIDATOR.is_valid(document)
}

/// What the reader finds wrong with the structure, as far as it concerns the variant of that name.
fn structure(document: &Value, variant: Option<&str>) -> Vec<String> {
    // JSON is YAML, and keeps every type through its quotes.
    let reading = reading(&document.to_string());
    let of_variant = |variants: &[String]| {
        variants.is_empty() || variants.iter().any(|name| Some(name.as_str()) == variant)
    };
    let found = reading.problems.iter().filter(|problem| STRUCTURE.contains(&problem.kind));
    found.filter(|problem| of_variant(&problem.variants)).map(|problem| problem.message.clone()).collect()
}

#[test]
fn they_agree_on_the_examples() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/schema");
    let mut seen = 0;
    for (kind, good) in [("valid", true), ("invalid", false)] {
        for file in std::fs::read_dir(format!("{folder}/{kind}")).unwrap() {
            let path = file.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap();
            let document = document(&text);
            assert_eq!(schema_accepts(&document), good, "{}", path.display());
            let reading = reading(&text);
            let lines = reading
                .problems
                .iter()
                .map(|problem| reading.tree.file(problem.at.file).place(problem.at.start).line as usize);
            let lines = lines.collect::<std::collections::BTreeSet<_>>();
            // Every line that an editor must mark, the reader marks as well, and no other.
            let marked = text.lines().enumerate().filter(|(_, line)| line.contains("# EXPECT"));
            let marked = marked.map(|(place, _)| place + 1).collect();
            assert!(lines.is_superset(&marked), "{}: {lines:?} for {marked:?}", path.display());
            assert_eq!(lines.is_empty(), good, "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen > 12);
}

#[test]
fn every_quantity_of_the_schema_is_one_that_the_reader_knows() {
    fn walk(value: &Value, found: &mut usize) {
        if let Some(name) = value.get("x-quantity") {
            assert!(name.as_str().and_then(QuantityKind::named).is_some(), "{name}");
            *found += 1;
        }
        match value {
            Value::Object(map) => map.values().for_each(|value| walk(value, found)),
            Value::Array(list) => list.iter().for_each(|value| walk(value, found)),
            _ => {}
        }
    }
    let mut found = 0;
    walk(&schema(VOCABULARY), &mut found);
    assert!(found > 80);
}

/// One change to a document.
#[derive(Debug, Clone)]
struct Mutation {
    place: prop::sample::Index,
    act: Act,
}

#[derive(Debug, Clone)]
enum Act {
    Remove,
    Rename(&'static str),
    Replace(Value),
    Insert(&'static str, Value),
}

const KEYS: &[&str] = &[
    "kind",
    "topology",
    "on_state",
    "on_resistance",
    "nominal",
    "frequency",
    "glycol",
    "foo",
    "value",
    "fitted",
    "a.b",
    "",
    "-x",
    "naïve",
    "parallel",
    "power_factor",
    "lasts",
    "junction",
];

fn values() -> Vec<Value> {
    vec![
        json!(null),
        json!(5),
        json!(-1),
        json!(0.5),
        json!(true),
        json!(""),
        json!("x"),
        json!("5 V"),
        json!("5 A"),
        json!("20 s"),
        json!("65 degC"),
        json!("65 C"),
        json!("20 K"),
        json!([]),
        json!({}),
        json!(["5 A"]),
        json!(["5 A", null]),
        json!([["0.1 K/W", "5 ms"]]),
        json!([["0.1 K/W"]]),
        json!("continuous"),
        json!("igbt"),
        json!("mosfet"),
        json!("260 A rms"),
        json!("330 V"),
        json!("50 %"),
        json!("80"),
        json!("0.8"),
        json!("-20 kW"),
        json!("-5 ohm"),
        json!("1e999 V"),
        json!("inlet"),
        json!("single"),
        json!({ "kind": "igbt" }),
        json!({ "keep": "20 K" }),
        json!({ "power": "5 kW" }),
        json!([{ "junction": "25 degC" }]),
    ]
}

fn mutation() -> impl Strategy<Value = Mutation> {
    let value = prop::sample::select(values());
    let key = prop::sample::select(KEYS);
    let act = prop_oneof![
        1 => Just(Act::Remove),
        2 => key.clone().prop_map(Act::Rename),
        4 => value.clone().prop_map(Act::Replace),
        2 => (key, value).prop_map(|(key, value)| Act::Insert(key, value)),
    ];
    (any::<prop::sample::Index>(), act).prop_map(|(place, act)| Mutation { place, act })
}

/// Every place of a document, the root left out.
fn places(value: &Value, here: &mut Vec<String>, all: &mut Vec<Vec<String>>) {
    let children: Vec<(String, &Value)> = match value {
        Value::Object(map) => map.iter().map(|(key, value)| (key.clone(), value)).collect(),
        Value::Array(list) => {
            list.iter().enumerate().map(|(place, value)| (place.to_string(), value)).collect()
        }
        _ => Vec::new(),
    };
    for (key, child) in children {
        here.push(key);
        all.push(here.clone());
        places(child, here, all);
        here.pop();
    }
}

fn mutate(document: &mut Value, mutation: &Mutation) {
    let mut all = Vec::new();
    places(document, &mut Vec::new(), &mut all);
    if all.is_empty() {
        return;
    }
    let path = mutation.place.get(&all);
    let (last, above) = path.split_last().unwrap();
    let pointer = above
        .iter()
        .map(|step| format!("/{}", step.replace('~', "~0").replace('/', "~1")))
        .collect::<String>();
    let Some(parent) = document.pointer_mut(&pointer) else { return };
    match (parent, &mutation.act) {
        (Value::Object(map), Act::Remove) => {
            map.shift_remove(last);
        }
        (Value::Object(map), Act::Rename(key)) => {
            let value = map.shift_remove(last).unwrap_or_default();
            map.insert((*key).to_owned(), value);
        }
        (Value::Object(map), Act::Replace(value)) => {
            map.insert(last.clone(), value.clone());
        }
        (Value::Object(map), Act::Insert(key, value)) => match map.get_mut(last) {
            Some(Value::Object(inner)) => {
                inner.insert((*key).to_owned(), value.clone());
            }
            _ => {
                map.insert((*key).to_owned(), value.clone());
            }
        },
        (Value::Array(list), act) => {
            let place = last.parse::<usize>().unwrap_or(0);
            match act {
                Act::Remove => {
                    list.remove(place);
                }
                Act::Replace(value) => list[place] = value.clone(),
                Act::Insert(key, value) => match &mut list[place] {
                    Value::Object(inner) => {
                        inner.insert((*key).to_owned(), value.clone());
                    }
                    _ => list.insert(place, value.clone()),
                },
                Act::Rename(_) => {}
            }
        }
        _ => {}
    }
}

/// A merge patch as in RFC 7396.
fn patched(target: Value, patch: &Value) -> Value {
    let Value::Object(changes) = patch else { return patch.clone() };
    let mut target = match target {
        Value::Object(map) => map,
        _ => Map::new(),
    };
    for (key, change) in changes {
        if change.is_null() {
            target.shift_remove(key);
        } else {
            let old = target.shift_remove(key).unwrap_or_default();
            target.insert(key.clone(), patched(old, change));
        }
    }
    Value::Object(target)
}

fn without_variants() -> Value {
    let mut document = document(FORWARDER);
    document.as_object_mut().unwrap().shift_remove("variants");
    document
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn they_agree_on_mutated_descriptions(mutations in prop::collection::vec(mutation(), 1..4)) {
        let mut document = without_variants();
        mutations.iter().for_each(|mutation| mutate(&mut document, mutation));
        let found = structure(&document, None);
        prop_assert_eq!(schema_accepts(&document), found.is_empty(), "{:?}\n{}", found, document);
    }

    #[test]
    fn they_agree_on_patched_descriptions(
        mut patch in prop::sample::select(patches()),
        mutations in prop::collection::vec(mutation(), 0..3),
    ) {
        mutations.iter().for_each(|mutation| mutate(&mut patch, mutation));
        let base = without_variants();
        let merged = patched(base.clone(), &patch);
        let mut whole = base;
        whole["variants"] = json!({ "changed": patch });
        let found = structure(&whole, Some("changed"));
        // A patch of the whole document by something else, or of what it may not touch, is refused as such.
        let touches = patch.as_object().is_some_and(|map| ["edition", "variants", "parts", "permits"].iter().all(|key| !map.contains_key(*key)));
        if touches {
            prop_assert_eq!(schema_accepts(&merged), found.is_empty(), "{:?}\n{}", found, patch);
        }
        // What the schema of a patch refuses, the reader never lets through.
        if !schema_accepts(&whole) {
            prop_assert!(!reading(&whole.to_string()).problems.is_empty(), "{}", patch);
        }
    }
}

fn patches() -> Vec<Value> {
    vec![
        json!({ "duty": { "loaded_climb": { "loads": { "traction_motor": { "electrical_power": "84 kW" } } } } }),
        json!({ "stages": { "pump_bridge": { "switches": { "high_side": { "parallel": 3 } }, "dead_time": null } } }),
        json!({ "devices": { "ig1200_450": { "transistor": { "kind": "igbt", "junction_limit": "150 degC" } }, "mos1200_15m": null } }),
        json!({ "cooling": { "coolant": { "kind": "water", "glycol": null }, "path": ["lower_plate"] }, "surroundings": null }),
        json!({ "policy": { "junction": { "keep": "30 K" }, "device_peak_current": null } }),
    ]
}

#[test]
fn mutations_make_both_good_and_bad_descriptions() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut accepted = 0;
    for _ in 0..300 {
        let mutation = mutation().new_tree(&mut runner).unwrap().current();
        let mut document = without_variants();
        mutate(&mut document, &mutation);
        accepted += usize::from(schema_accepts(&document));
    }
    assert!((30..270).contains(&accepted), "{accepted} of 300");
}
