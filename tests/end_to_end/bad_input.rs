//! Broken descriptions, each with what is said about it.

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;

use super::program::{Folder, assert_shown, project, run, run_in, template, text_of};

const FOLDER: &str = "tests/end_to_end/broken";

#[test]
fn what_is_said_of_broken_descriptions() {
    let folder = fs::read_dir(project().join(FOLDER)).expect("the folder");
    let mut names = folder
        .map(|entry| entry.expect("an entry").file_name().into_string().expect("UTF-8"))
        .collect::<Vec<_>>();
    names.sort();
    assert!(names.len() >= 20, "{names:?}");
    for name in names {
        let path = format!("{FOLDER}/{name}");
        let ran = run(&["review", &path]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(2), ""), "{path}");
        // Only what is wrong: what can be judged all the same is another test's matter.
        let problems = ran
            .out
            .split("\n\n")
            .filter(|block| block.starts_with("problem"))
            .collect::<Vec<_>>()
            .join("\n\n");
        assert!(problems.contains(&format!("[{path}:")), "{path} has a place: {problems}");
        assert_shown!(format!("broken-{}", name.trim_end_matches(".yaml")), problems);
    }
}

#[test]
fn what_is_not_broken_is_judged_all_the_same() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("x", "60") + "policy:\n  junctions: { keep: 20 K }\n");
    let ran = run_in(&folder, &["review", "unit.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("1 problem   43 hold   1 fail   4 not judged"), "{}", ran.out);
}

#[test]
fn figures_of_a_broken_description_do_not_pass_for_whole() {
    let path = format!("{FOLDER}/policy-unknown.yaml");
    let ran = run(&["derive", &path, "lift_bridge.modulation_index"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.starts_with("lift_bridge.modulation_index = "), "{}", ran.out);
    assert!(ran.err.starts_with(&format!("{path}:")) && ran.err.contains("1 problem"), "{}", ran.err);
}

/// What cannot be read is not taken for absent: one slip is one problem, and makes no finding elsewhere.
#[test]
fn a_slip_in_one_entry_makes_no_finding_of_another() {
    let slips = [
        ("examples/harbour-shuttle.yaml", "fitted: sic1200_6m,", "fitted: sic1200_6mx,"),
        ("examples/harbour-shuttle.yaml", "cyclic_load: 70 %", "cyclic_load: 70 qx"),
        ("examples/harbour-shuttle.yaml", "around: main_contactor, ", ""),
        ("examples/snow-groomer.yaml", "around: pack_contactor", "around: pack_contactr"),
        ("examples/snow-groomer.yaml", "[pack_fuse, pack_contactor", "[pack_fuse, pack_contactr"),
        ("examples/snow-groomer.yaml", "{ from: pack, to: link", "{ from: pack, to: lnk"),
        ("examples/snow-groomer.yaml", "lowest: 45 mohm", "lowest: 45 mhom"),
        ("examples/timber-forwarder.yaml", "nominal: 346 V", "nominal: 346 A"),
        ("examples/timber-forwarder.yaml", "nominal: 28 V", "nominal: 28 A"),
        (
            "examples/timber-forwarder.yaml",
            "measures: isolation, of: [link]",
            "measures: isolation, of: [lnk]",
        ),
        ("examples/timber-forwarder.yaml", "pump: { flow: 14 L/min }", "pump: { flow: 14 L }"),
    ];
    let folder = Folder::new();
    for part in ["semiconductors.yaml", "capacitors.yaml"] {
        folder.put(&format!("parts/{part}"), text_of(&format!("examples/parts/{part}")));
    }
    // Check, defect and part of each finding.
    let found = |text: String| {
        folder.put("unit.yaml", text);
        let ran = run_in(&folder, &["review", "unit.yaml", "--format", "json"]);
        let form: Value = serde_json::from_str(&ran.out).expect("JSON");
        let review = form["reviews"][0].clone();
        let list = |key: &str| review[key].as_array().expect("a list").clone();
        let named = |one: &Value| format!("{} {} {}", one["check"], one["defect"], one["part"]);
        (list("problems").len(), list("findings").iter().map(named).collect::<BTreeSet<_>>())
    };
    for (example, sound, slip) in slips {
        let text = text_of(example);
        assert!(text.contains(sound), "{example}: {sound}");
        let (none, described) = found(text.clone());
        let (problems, left) = found(text.replacen(sound, slip, 1));
        assert_eq!((none, problems), (0, 1), "{example}: {slip}");
        let made: Vec<_> = left.difference(&described).collect();
        assert!(made.is_empty(), "{example}: {slip} makes {made:?}");
    }
}
