//! Every reference case of `tests/reference` is run; none is passed over.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::{
    bridge_topics, conductor_topics, converter_topics, flow_and_sharing_topics, heat_topics,
    insulation_topics, magnetic_topics,
};

const ELECTRICAL: &str = include_str!("../../../../tests/reference/electrical.json");
const THERMAL: &str = include_str!("../../../../tests/reference/thermal.json");
const CONDUCTORS: &str = include_str!("../../../../tests/reference/conductors.json");
const CONVERTERS: &str = include_str!("../../../../tests/reference/converters.json");
const FLOW_AND_SHARING: &str = include_str!("../../../../tests/reference/flow_and_sharing.json");
const INSULATION_AND_GATE: &str = include_str!("../../../../tests/reference/insulation_and_gate.json");
const MAGNETICS: &str = include_str!("../../../../tests/reference/magnetics.json");

/// A figure of a case.
#[derive(Debug)]
pub(crate) enum Figure {
    /// A number, or a flag written as 0 or 1.
    Number(f64),
    /// A flag written as a word.
    Flag(bool),
    /// A word.
    Text(&'static str),
    /// Numbers in a row.
    List(Vec<f64>),
}

/// What a topic computes, by the names that the cases use.
pub(crate) type Figures = Vec<(&'static str, Figure)>;

/// A topic and what computes it.
pub(crate) type Topic = (&'static str, fn(&Inputs) -> Figures);

/// Figures that are all numbers.
pub(crate) fn numbers<const N: usize>(figures: [(&'static str, f64); N]) -> Figures {
    figures.into_iter().map(|(key, value)| (key, Figure::Number(value))).collect()
}

/// The inputs of one case, asked for by name.
pub(crate) struct Inputs<'a>(&'a Value);

impl Inputs<'_> {
    /// A figure that the case must state.
    pub(crate) fn number(&self, key: &str) -> f64 {
        self.0[key].as_f64().unwrap_or_else(|| panic!("the case states no number `{key}`"))
    }

    /// A figure that the case may leave out.
    pub(crate) fn number_if_stated(&self, key: &str) -> Option<f64> {
        self.0[key].as_f64()
    }

    /// Figures in a row.
    pub(crate) fn list(&self, key: &str) -> Vec<f64> {
        let list = self.0[key].as_array().unwrap_or_else(|| panic!("the case states no list `{key}`"));
        list.iter().map(|entry| entry.as_f64().expect("a list of numbers")).collect()
    }

    /// Words in a row.
    pub(crate) fn texts(&self, key: &str) -> Vec<&str> {
        let list = self.0[key].as_array().unwrap_or_else(|| panic!("the case states no list `{key}`"));
        list.iter().map(|entry| entry.as_str().expect("a list of words")).collect()
    }

    /// A word.
    pub(crate) fn text(&self, key: &str) -> &str {
        self.0[key].as_str().unwrap_or_else(|| panic!("the case states no text `{key}`"))
    }
}

fn agrees(got: &Figure, expected: &Value, case: &Value) -> bool {
    let tolerance = |key: &str| case[key].as_f64().unwrap_or(0.0);
    let near = |got: f64, expected: f64| {
        (got - expected).abs() <= tolerance("tolerance_abs") + tolerance("tolerance_rel") * expected.abs()
    };
    match (got, expected) {
        (Figure::Number(got), Value::Number(expected)) => near(*got, expected.as_f64().expect("a number")),
        (Figure::Flag(got), Value::Bool(expected)) => got == expected,
        (Figure::Text(got), Value::String(expected)) => got == expected,
        (Figure::List(got), Value::Array(expected)) => {
            got.len() == expected.len()
                && got
                    .iter()
                    .zip(expected)
                    .all(|(got, expected)| near(*got, expected.as_f64().expect("a number")))
        }
        _ => false,
    }
}

/// Runs all cases of a file; returns how many there were of each topic.
fn run(file: &str, topics: &[Topic]) -> BTreeMap<String, usize> {
    run_but(file, topics, &[])
}

/// Runs all cases of a file but those of topics that other tests run.
fn run_but(file: &str, topics: &[Topic], elsewhere: &[&str]) -> BTreeMap<String, usize> {
    let file: Value = serde_json::from_str(file).expect("the file is JSON");
    let (mut counts, mut wrong) = (BTreeMap::new(), Vec::new());
    for case in file["cases"].as_array().expect("a list of cases") {
        let (name, topic) =
            (case["name"].as_str().expect("a name"), case["topic"].as_str().expect("a topic"));
        if elsewhere.contains(&topic) {
            continue;
        }
        let solve = topics.iter().find(|(known, _)| *known == topic);
        let (_, solve) = solve.unwrap_or_else(|| panic!("{name}: nothing computes the topic `{topic}`"));
        let figures = solve(&Inputs(&case["inputs"]));
        let expected = case["expected"].as_object().expect("expected figures by name");
        assert!(!expected.is_empty(), "{name} expects nothing");
        for (key, expected) in expected {
            match figures.iter().find(|(known, _)| known == key) {
                None => wrong.push(format!("{name}: `{key}` is not computed")),
                Some((_, got)) if !agrees(got, expected, case) => {
                    wrong.push(format!("{name}: `{key}` is {got:?}, expected {expected}"));
                }
                Some(_) => {}
            }
        }
        *counts.entry(topic.to_owned()).or_insert(0) += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    counts
}

#[test]
fn electrical_cases_hold() {
    let counts = run(ELECTRICAL, bridge_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 20);
    assert_eq!(counts.len(), bridge_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn thermal_cases_hold() {
    let counts = run(THERMAL, heat_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 17);
    assert_eq!(counts.len(), heat_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn converter_cases_hold() {
    let counts = run(CONVERTERS, converter_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 16);
    assert_eq!(counts.len(), converter_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn flow_and_sharing_cases_hold() {
    let counts = run(FLOW_AND_SHARING, flow_and_sharing_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 17);
    assert_eq!(counts.len(), flow_and_sharing_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn conductor_cases_hold() {
    let counts = run(CONDUCTORS, conductor_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 11);
    assert_eq!(counts.len(), conductor_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn magnetic_cases_hold() {
    let counts = run(MAGNETICS, magnetic_topics::TOPICS);
    assert_eq!(counts.values().sum::<usize>(), 4);
    assert_eq!(counts.len(), magnetic_topics::TOPICS.len(), "a topic is left without a case");
}

#[test]
fn insulation_and_gate_cases_hold() {
    // Seven cases ask which gates share a potential; the tests of the checks run them.
    let counts = run_but(INSULATION_AND_GATE, insulation_topics::TOPICS, insulation_topics::OF_THE_CHECKS);
    assert_eq!(counts.values().sum::<usize>(), 42);
    assert_eq!(counts.len(), insulation_topics::TOPICS.len(), "a topic is left without a case");
}
