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
use proptest::test_runner::RngSeed;
use serde_json::{Map, Value, json};

use crate::mutations::{mutate, mutation};
use crate::workshop::{FORWARDER, OTHER, VOCABULARY, WHOLE, reading};

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
    options.build(&schema(VOCABULARY, &[])).unwrap()
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
    walk(&schema(VOCABULARY, &[]), &mut found);
    assert!(found > 80);
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

static UNITS: LazyLock<[Value; 3]> = LazyLock::new(|| {
    [FORWARDER, WHOLE, OTHER].map(|text| {
        let mut document = document(text);
        document.as_object_mut().unwrap().shift_remove("variants");
        document
    })
});

proptest! {
    #![proptest_config(ProptestConfig {cases: 600, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn they_agree_on_mutated_descriptions(
        unit in 0..UNITS.len(),
        mutations in prop::collection::vec(mutation(), 1..4),
    ) {
        let mut document = UNITS[unit].clone();
        mutations.iter().for_each(|mutation| mutate(&mut document, mutation));
        let found = structure(&document, None);
        prop_assert_eq!(schema_accepts(&document), found.is_empty(), "{:?}\n{}", found, document);
    }

    #[test]
    fn they_agree_on_patched_descriptions(
        (unit, mut patch) in prop::sample::select(patches()),
        mutations in prop::collection::vec(mutation(), 0..3),
    ) {
        mutations.iter().for_each(|mutation| mutate(&mut patch, mutation));
        let base = UNITS[unit].clone();
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

/// Patches, each of one of the units.
fn patches() -> Vec<(usize, Value)> {
    let units = [of_the_forwarder(), of_the_whole(), of_the_other()].into_iter().enumerate();
    units.flat_map(|(unit, patches)| patches.into_iter().map(move |patch| (unit, patch))).collect()
}

fn of_the_whole() -> Vec<Value> {
    vec![
        json!({ "sources": { "range_extender": { "kind": "fuel_cell" } }, "isolation": null }),
        json!({ "stages": { "step_up": { "topology": "buck", "low_bus": null, "high_bus": null, "from": "link", "to": "pack_bus" } } }),
        json!({ "conductors": { "pack_bar": { "kind": "cable", "width": null, "thickness": null }, "cab_cable": null } }),
        json!({ "cooling": { "elements": { "base_plate": { "cools": { "cab_converter.bridge_low": { "face_a": "1 K/W" } }, "fixed": false } } } }),
        json!({ "magnetics": { "boost_choke": { "core": { "saturation": { "at": "100 degC" } } } }, "gate_supplies": { "lowers": { "feeds": ["step_up.low_side"] } } }),
        json!({ "capacitors": { "y_plus": { "class": "Y1" } }, "branches": { "pack_feed": { "through": ["pack_fuse"] } }, "controllers": { "drive_controller": { "domain": "traction" } } }),
    ]
}

fn of_the_other() -> Vec<Value> {
    vec![
        json!({ "sources": { "cell": { "kind": "battery", "polarisation": null, "power": null } } }),
        json!({ "stages": { "board_supply": { "clamp": "low_side", "switches": { "clamp": { "parallel": 2 } } } } }),
        json!({ "machines": { "fan": { "kind": "permanent_magnet", "leakage_inductance": null } }, "duty": { "spraying": { "loads": { "fan": { "frequency": "60 Hz" } } } } }),
    ]
}

fn of_the_forwarder() -> Vec<Value> {
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
        let mut document = UNITS[1].clone();
        mutate(&mut document, &mutation);
        accepted += usize::from(schema_accepts(&document));
    }
    assert!((30..270).contains(&accepted), "{accepted} of 300");
}

#[test]
fn they_agree_on_a_tab_before_a_unit_and_on_days() {
    let of = |volts: &str, until: &str| {
        let permit = json!([{ "check": "link-ripple", "part": "link", "reason": "a trial", "accepted_by": "the team", "until": until }]);
        json!({ "edition": 2026, "buses": { "link": { "highest": volts } }, "permits": permit })
    };
    for (volts, until, good) in [
        ("700 V", "2027-03-31", true),
        ("700\tV", "2027-03-31", true),
        ("700 V", "20270331", false),
        ("700 V", "31.03.2027", false),
    ] {
        let document = of(volts, until);
        assert_eq!(schema_accepts(&document), good, "{document}");
        assert_eq!(structure(&document, None).is_empty(), good, "{document}");
    }
}
