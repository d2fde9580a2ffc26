//! Small changes to documents, good and bad.

use proptest::prelude::*;
use serde_json::{Value, json};

/// One change to a document.
#[derive(Debug, Clone)]
pub(crate) struct Mutation {
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
    "legs",
    "devices",
    "bridge.low_side",
    "face_a",
    "current",
    "rectifier",
    "absorbs",
    "touchable",
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
        json!(false),
        json!("no"),
        json!("yes"),
        json!("90 N m"),
        json!("90 deg"),
        json!("90 1/min"),
        json!("48 kA^2s"),
        json!("48 A^2 s"),
        json!("1.3 T"),
        json!("boost"),
        json!("buck"),
        json!("busbar"),
        json!("generator"),
        json!("IIIa"),
        json!(["link.plus", 5]),
        json!({ "a.b": {}, "a.b.c": {}, ".x": {} }),
        json!({ "continuous": "5 A" }),
        json!({ "left": ["a"], "right": [] }),
        json!({ "flow": "8 L/min", "pressure": ["4 kPa"] }),
        json!("1e999 V"),
        json!("inlet"),
        json!("single"),
        json!({ "kind": "igbt" }),
        json!({ "keep": "20 K" }),
        json!({ "power": "5 kW" }),
        json!([{ "junction": "25 degC" }]),
    ]
}

pub(crate) fn mutation() -> impl Strategy<Value = Mutation> {
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

pub(crate) fn mutate(document: &mut Value, mutation: &Mutation) {
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
