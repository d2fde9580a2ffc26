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
    folder.put("unit.yaml", template("x", "60") + "policy:\n  colours: { keep: 20 K }\n");
    let ran = run_in(&folder, &["review", "unit.yaml"]);
    assert_eq!(ran.code, Some(2));
    // Whatever is kept in kelvins may have been meant.
    assert!(ran.out.contains("1 problem   31 hold   1 fail   17 not judged"), "{}", ran.out);
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
        ("examples/harbour-shuttle.yaml", "each: film900_60u", "each: film900_60x"),
        ("examples/harbour-shuttle.yaml", "inside_air: 70 degC", "inside_air: 70 K"),
        (
            "examples/harbour-shuttle.yaml",
            "clearing: 620 A^2 s, breaking: 30 kA",
            "clearing: 620 A^2 s, breaking: 18 A",
        ),
        ("examples/harbour-shuttle.yaml", "  junction: { keep", "  juncton: { keep"),
        ("examples/harbour-shuttle.yaml", "\nconductors:", "\ncondutors:"),
        ("examples/timber-forwarder.yaml", "\nconductors:", "\ncondutors:"),
        ("examples/harbour-shuttle.yaml", "\n  elements:", "\n  elments:"),
        (
            "examples/harbour-shuttle.yaml",
            "\nparts: [parts/semiconductors.yaml, ",
            "\nparts: [parts/semiconductrs.yaml, ",
        ),
        ("examples/harbour-shuttle.yaml", "\nparts: [", "\nprts: ["),
        (
            "examples/harbour-shuttle.yaml",
            "supply_line: { from: link, to: auxiliary",
            "supply_line: { from: link, to: front_bridge",
        ),
    ];
    let folder = with_parts();
    for (example, sound, slip) in slips {
        let text = text_of(example);
        assert!(text.contains(sound), "{example}: {sound}");
        let described = Said::of(&folder, text.clone());
        let left = Said::of(&folder, text.replacen(sound, slip, 1));
        assert_eq!((described.problems, left.problems), (0, 1), "{example}: {slip}");
        let made: Vec<_> = left.findings.difference(&described.findings).collect();
        assert!(made.is_empty(), "{example}: {slip} makes {made:?}");
    }
}

/// What waits for a part that could not be read is not said to lack.
#[test]
fn what_could_not_be_read_is_not_said_to_be_absent() {
    let slips = [
        ("each: film900_60u", "each: film900_60x"),
        ("inside_air: 70 degC", "inside_air: 70 K"),
        ("clearing: 620 A^2 s, breaking: 30 kA", "clearing: 620 A^2 s, breaking: 18 A"),
        ("  junction: { keep", "  juncton: { keep"),
    ];
    let folder = with_parts();
    for (sound, slip) in slips {
        let left = Said::of(&folder, text_of("examples/harbour-shuttle.yaml").replacen(sound, slip, 1));
        assert!(!left.not_judged.is_empty(), "{slip}");
        let absent: Vec<_> = left.not_judged.iter().filter(|one| one.contains("not stated")).collect();
        assert!(absent.is_empty(), "{slip}: {absent:?}");
    }
}

/// An entry under another section is one problem, and what names it waits for it.
#[test]
fn an_entry_in_another_section_is_one_problem() {
    let text = text_of("examples/harbour-shuttle.yaml");
    let from = text.find("  pack_fuse:\n").expect("the fuse");
    let to = text.find("  main_contactor:\n").expect("the contactor");
    let moved = format!("{}{}", &text[..from], &text[to..]);
    let moved = moved.replacen("\nloads:\n", &format!("\nloads:\n{}", &text[from..to]), 1);
    let left = Said::of(&with_parts(), moved);
    assert_eq!(
        (left.problems, left.first.as_str()),
        (1, "`pack_fuse` in `loads` reads like an entry of `conductors`")
    );
}

/// A name that leads to no controller leaves open what hangs on the controller, and no current and no temperature.
#[test]
fn a_slip_in_the_name_of_a_controller_leaves_its_stage_judged() {
    let slips = [
        ("controller: front_controller", "controller: frnt_controller"),
        ("read_by: [front_controller]", "read_by: [frnt_controller]"),
        // The entry is gone, and seven places name it.
        ("  front_controller: { domain: low_voltage, from: board_net, hardware_enable: true }\n", ""),
    ];
    let folder = with_parts();
    let text = text_of("examples/harbour-shuttle.yaml");
    let mut described = Said::of(&folder, text.clone());
    // What starts a bus waits until all controllers could be read.
    described.findings.retain(|one| !one.contains("no-start"));
    for (sound, slip) in slips {
        assert!(text.contains(sound), "{sound}");
        let left = Said::of(&folder, text.replacen(sound, slip, 1));
        let mut found = left.findings.clone();
        found.retain(|one| !one.contains("no-start"));
        assert_eq!((left.problems, &found), (1, &described.findings), "{slip}");
        assert!(left.not_judged.len() <= 1, "{slip}: {:?}", left.not_judged);
        assert!(described.hold - left.hold < 30, "{slip}: {} of {}", left.hold, described.hold);
    }
}

/// What is gone is one problem, however many places name it, and one line on all that waits for it.
#[test]
fn an_entry_that_is_gone_is_one_problem() {
    let gone = [
        ("  rear_motor:", "machines:", "no machine is named `rear_motor`; 7 places name it"),
        ("  front_bridge:", "stages:", "no stage is named `front_bridge`; 12 places name it"),
        ("  board_net:", "buses:", "no bus is named `board_net`; 20 places name it"),
    ];
    let folder = with_parts();
    let text = text_of("examples/harbour-shuttle.yaml");
    let described = Said::of(&folder, text.clone());
    for (entry, section, message) in gone {
        let left = Said::of(&folder, without(&text, section, entry));
        assert_eq!((left.problems, left.first.as_str()), (1, message), "{entry}");
        let made: Vec<_> = left.findings.difference(&described.findings).collect();
        assert!(made.is_empty(), "{entry} makes {made:?}");
        assert!(left.not_judged.len() <= 1, "{entry}: {:?}", left.not_judged);
    }
}

/// The text without an entry of a section: from its line to the next one that is indented no further.
fn without(text: &str, section: &str, entry: &str) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let top = lines.iter().position(|line| *line == section).expect("the section");
    let from = top + lines[top..].iter().position(|line| line.starts_with(entry)).expect("the entry");
    let further = |line: &&&str| line.starts_with("   ") || line.trim().is_empty();
    let until = from + 1 + lines[from + 1..].iter().take_while(further).count();
    lines[..from].iter().chain(&lines[until..]).map(|line| format!("{line}\n")).collect()
}

/// A folder with the parts files of the examples.
fn with_parts() -> Folder {
    let folder = Folder::new();
    for part in ["semiconductors.yaml", "capacitors.yaml"] {
        folder.put(&format!("parts/{part}"), text_of(&format!("examples/parts/{part}")));
    }
    folder
}

/// What a review says of a description.
struct Said {
    problems: usize,
    /// The message of the first problem.
    first: String,
    /// Check, defect and part of each finding.
    findings: BTreeSet<String>,
    /// What is missing.
    not_judged: Vec<String>,
    hold: u64,
}

impl Said {
    fn of(folder: &Folder, text: String) -> Self {
        folder.put("unit.yaml", text);
        let ran = run_in(folder, &["review", "unit.yaml", "--format", "json"]);
        let form: Value = serde_json::from_str(&ran.out).expect("JSON");
        let review = &form["reviews"][0];
        let list = |key: &str| review[key].as_array().expect("a list").clone();
        let named = |one: &Value| format!("{} {} {}", one["check"], one["defect"], one["part"]);
        let text = |one: &Value, key: &str| one[key].as_str().unwrap_or_default().to_owned();
        Self {
            problems: list("problems").len(),
            first: list("problems").first().map(|one| text(one, "message")).unwrap_or_default(),
            findings: list("findings").iter().map(named).collect(),
            not_judged: list("not_judged").iter().map(|one| text(one, "missing")).collect(),
            hold: review["counts"]["hold"].as_u64().expect("a number"),
        }
    }
}
