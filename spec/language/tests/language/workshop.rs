//! A vocabulary, files in memory, and problems in the form in which tests look at them.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_language::{Files, Input, PolicyForm, PolicyItem, Reading, read};
use loadworthy_source::{Problem, Tree};

/// Two items, one of each form.
pub(crate) const VOCABULARY: &[&PolicyItem] = &[
    &PolicyItem {
        name: "device_peak_current",
        help: "How much of its repetitive peak current a device carries.",
        form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 0.9) },
        since: 2026,
    },
    &PolicyItem {
        name: "junction",
        help: "How far a junction stays below its highest temperature.",
        form: PolicyForm::Keep {
            dimension: Dimension::TemperatureDifference,
            default: 20.0,
            usual: (10.0, 30.0),
        },
        since: 2026,
    },
];

pub(crate) const FORWARDER: &str = include_str!("../../../../tests/schema/valid/timber_forwarder.yaml");

/// A unit with every section.
pub(crate) const WHOLE: &str = include_str!("../../../../tests/schema/valid/log_forwarder.yaml");

/// A unit with the topologies and kinds that the other one has not.
pub(crate) const OTHER: &str = include_str!("../../../../tests/schema/valid/orchard_sprayer.yaml");

/// Files by their relative path.
#[derive(Default)]
pub(crate) struct InMemory(pub(crate) BTreeMap<&'static str, &'static str>);

impl Files for InMemory {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        self.0
            .get(relative)
            .map(|text| text.as_bytes().to_vec())
            .ok_or_else(|| "there is no such file".to_owned())
    }
}

pub(crate) fn reading(text: &str) -> Reading {
    reading_with(text, &[], &mut InMemory::default())
}

pub(crate) fn reading_with(text: &str, overrides: &[(&str, &str)], files: &mut InMemory) -> Reading {
    let overrides =
        overrides.iter().map(|(path, value)| ((*path).to_owned(), (*value).to_owned())).collect::<Vec<_>>();
    let input = Input {
        name: "unit.yaml",
        bytes: text.as_bytes(),
        written: &[],
        overrides: &overrides,
        vocabulary: VOCABULARY,
    };
    read(input, files)
}

/// Every problem as a few lines: place, marked text, message, way out, variants.
pub(crate) fn told(reading: &Reading) -> String {
    reading.problems.iter().map(|problem| one(&reading.tree, problem)).collect::<Vec<_>>().join("\n")
}

fn one(tree: &Tree, problem: &Problem) -> String {
    let file = tree.file(problem.at.file);
    let place = file.place(problem.at.start);
    let marked = tree.text_of(problem.at).lines().next().unwrap_or_default();
    let mut told = format!(
        "{}:{}:{} {} [{marked}]\n    {}",
        file.name, place.line, place.column, problem.kind, problem.message
    );
    if !problem.label.is_empty() {
        told += &format!("\n    ^ {}", problem.label);
    }
    for (at, label) in &problem.also {
        let line = tree.file(at.file).place(at.start).line;
        told += &format!(
            "\n    also line {line} [{}] {label}",
            tree.text_of(*at).lines().next().unwrap_or_default()
        );
    }
    if let Some(way_out) = &problem.way_out {
        told += &format!("\n    > {way_out}");
    }
    if !problem.variants.is_empty() {
        told += &format!("\n    in {}", problem.variants.join(", "));
    }
    told
}

/// Says of each text what is wrong with it.
pub(crate) fn table(cases: &[&str]) -> String {
    let told = cases.iter().map(|text| {
        let text = format!("edition: 2026\n{text}");
        format!("{}\n----\n{}\n", text.trim_end(), told(&reading(&text)))
    });
    told.collect::<Vec<_>>().join("\n====\n")
}
