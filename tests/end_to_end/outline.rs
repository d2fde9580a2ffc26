//! The description to start from is a description, and names everything that the language has.

use serde_json::Value;

use super::program::{Folder, assert_shown, run, run_in};

/// What may be asked for, each alone.
const SECTIONS: [&str; 14] = [
    "branches",
    "conductors",
    "capacitors",
    "capacitor_types",
    "magnetics",
    "gate_supplies",
    "drivers",
    "controllers",
    "sensors",
    "signals",
    "isolation",
    "missions",
    "variants",
    "permits",
];

fn outline(sections: &[&str]) -> String {
    let with = if sections.is_empty() { &[][..] } else { &["--with"] };
    let ran = run(&[&["outline"], with, sections].concat());
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{sections:?}");
    ran.out
}

fn schema() -> Value {
    serde_json::from_str(&run(&["schema"]).out).expect("JSON")
}

#[test]
fn the_outline() {
    assert_shown!("outline", outline(&[]));
}

#[test]
fn all_of_it() {
    assert_shown!("outline_everything", outline(&["everything"]));
}

#[test]
fn no_line_is_too_wide() {
    for text in [outline(&[]), outline(&["everything"])] {
        let wide = text.lines().filter(|line| line.chars().count() > 110).collect::<Vec<_>>();
        assert!(wide.is_empty(), "{wide:#?}");
    }
}

#[test]
fn it_names_every_section_in_the_order_of_the_schema() {
    let schema = schema();
    let sections = schema["properties"].as_object().expect("the sections");
    for outline in [outline(&[]), outline(&["everything"])] {
        let place = |name: &String| {
            let begins = |line: &str| line.trim_start_matches("# ").starts_with(&format!("{name}:"));
            let top = |line: &&str| !line.starts_with(' ') && !line.starts_with("#  ");
            outline.lines().filter(top).position(begins).unwrap_or_else(|| panic!("{name} is not named"))
        };
        let places = sections.keys().map(place).collect::<Vec<_>>();
        assert!(places.is_sorted(), "{places:?}");
    }
}

#[test]
fn it_shows_entries_of_every_section_and_of_every_kind_of_conductor() {
    let (schema, outline) = (schema(), outline(&["everything"]));
    let sections = schema["properties"].as_object().expect("the sections").keys();
    // Parts are files of their own.
    for section in sections.filter(|section| *section != "parts") {
        assert!(outline.contains(&format!("\n{section}:")), "{section}");
    }
    let kinds = |name: &str, tag: &str| -> Vec<String> {
        let kinds = schema["$defs"][name]["oneOf"].as_array().expect("kinds");
        let word = |kind: &Value| kind["properties"][tag]["const"].as_str().expect("its word").to_owned();
        kinds.iter().map(word).collect()
    };
    for kind in kinds("Conductor", "kind") {
        assert!(outline.contains(&format!(" kind: {kind}")), "{kind}");
    }
    for (name, tag) in [("Stage", "topology"), ("Source", "kind"), ("Machine", "kind"), ("Magnetic", "kind")]
    {
        for kind in kinds(name, tag) {
            assert!(outline.contains(&kind), "{kind}");
        }
    }
}

#[test]
fn what_is_asked_for_is_written_and_nothing_fails() {
    let folder = Folder::new();
    let each = SECTIONS.iter().map(|section| vec![*section]);
    for asked in [vec![], vec!["everything"]].into_iter().chain(each) {
        let text = outline(&asked);
        for section in asked.iter().filter(|section| **section != "everything") {
            assert!(text.contains(&format!("\n{section}:\n")), "{section}: {text}");
        }
        folder.put("outline.yaml", &text);
        // What a part of the unit lacks without the others may be a minor finding, and so is its permit, which shows how one
        // is written and accepts nothing.
        let ran = run_in(&folder, &["review", "outline.yaml"]);
        assert!(matches!(ran.code, Some(0 | 3)), "{asked:?}: {}", ran.out);
        assert!(!ran.out.contains(" problem") && !ran.out.contains(" major"), "{asked:?}: {}", ran.out);
    }
}

#[test]
fn the_whole_unit_is_read_judged_and_resolved() {
    let folder = Folder::new();
    folder.put("outline.yaml", outline(&["everything"]));
    assert_eq!(run_in(&folder, &["resolve", "outline.yaml", "--variant", "standard"]).code, Some(0));
    // A day on which its permit is in force.
    let ran = run_in(&folder, &["review", "outline.yaml", "--on", "2026-11-02"]);
    assert_shown!("outline_review", ran.out);
}

#[test]
fn what_is_taken_along_is_told() {
    let text = outline(&["signals", "branches"]);
    let head = text.split("\n\n").next().expect("a head");
    assert!(head.contains("\n# `conductors` is written with `branches`."), "{head}");
    assert!(head.contains("`isolation` is written with `signals`."), "{head}");
    assert!(text.contains("\nconductors:\n") && text.contains("\nisolation:\n"));
}

#[test]
fn a_section_that_cannot_be_written_is_told() {
    let ran = run(&["outline", "--with", "permitz"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert_eq!(ran.err, "loadworthy: there is no section to write `permitz`; is it `permits`?\n");
}
