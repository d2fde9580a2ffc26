//! The stress table: the same verdicts as a review, part by part.

use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, run, run_in, template};

const HARVESTER: &str = "examples/peat-harvester.yaml";
const CARRIER: &str = "examples/vineyard-carrier.yaml";
const TWO_SOURCES: &str = "tests/end_to_end/descriptions/two-sources.yaml";

fn shown(ran: &Ran) -> String {
    assert_eq!(ran.err, "");
    format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1))
}

fn json(arguments: &[&str]) -> Value {
    let ran = run(&[arguments, &["--format", "json"][..]].concat());
    serde_json::from_str(&ran.out).expect("JSON")
}

#[test]
fn of_an_example() {
    assert_shown!("stress-peat-harvester", shown(&run(&["stress", HARVESTER])));
}

#[test]
fn with_everything_and_what_is_not_judged() {
    assert_shown!("stress-two-sources-all", shown(&run(&["stress", TWO_SOURCES, "--all"])));
}

#[test]
fn the_verdicts_are_those_of_the_review() {
    let review = json(&["review", HARVESTER]);
    let verdicts = review["reviews"][0]["verdicts"].as_array().expect("verdicts");
    let csv = run(&["stress", HARVESTER, "--format", "csv"]).out;
    assert_eq!(csv.lines().count(), verdicts.len() + 1);
    let table = json(&["stress", HARVESTER]);
    assert_eq!((&table["form"], &table["version"]), (&"loadworthy-stress".into(), &1.into()));
    for row in table["rows"].as_array().expect("rows") {
        // Of all verdicts on the same comparison none is worse.
        let headroom = |of: &Value| of["comparison"]["headroom"]["value"].as_f64();
        let alike =
            verdicts.iter().filter(|one| ["part", "check", "defect"].iter().all(|key| one[key] == row[key]));
        let least = alike.clone().filter_map(headroom).fold(f64::INFINITY, f64::min);
        assert!(alike.clone().any(|one| one["comparison"] == row["comparison"]), "{row}");
        if let Some(own) = headroom(row) {
            assert!((own - least).abs() <= 1e-9 * least.abs().max(1.0), "{row}");
        }
    }
}

#[test]
fn worst_first_and_what_fails_before_all() {
    let table = json(&["stress", HARVESTER]);
    let rows = table["rows"].as_array().expect("rows");
    let fails: Vec<bool> = rows.iter().map(|row| row["verdict"] == "fails").collect();
    assert!(fails.is_sorted_by(|a, b| a >= b) && fails[0] && !fails[rows.len() - 1]);
    let rank = |row: &Value| {
        let headroom = &row["comparison"]["headroom"];
        let scale = if headroom["unit"] == "K" { 0.01 } else { 1.0 };
        headroom["value"].as_f64().map(|value| scale * value)
    };
    let holding = rows.iter().filter(|row| row["verdict"] == "holds").filter_map(rank);
    assert!(holding.collect::<Vec<_>>().is_sorted());
    let out = run(&["stress", HARVESTER]).out;
    let marked = out.lines().filter(|line| line.starts_with("fails ")).count();
    assert!(marked > 0 && marked <= fails.iter().filter(|fails| **fails).count());
}

#[test]
fn legs_that_are_alike_share_a_line() {
    let out = run(&["stress", HARVESTER, "--all"]).out;
    assert!(out.contains("drum_bridge.high_side.u, v, w.diode (also low_side)"), "{out}");
    assert!(!out.contains("high_side.v."), "{out}");
}

#[test]
fn twenty_lines_unless_all_are_asked_for() {
    let short = run(&["stress", "spec/unit/tests/chain.yaml"]).out;
    assert!(short.contains(" more, `--all`\n"), "{short}");
    // Each row begins with its headroom.
    let begins = |line: &&str| {
        let head: String = line.chars().take(17).collect();
        head.contains('%') || head.contains(" K  ")
    };
    let rows = |text: &str| text.lines().filter(begins).count();
    assert_eq!(rows(&short), 20, "{short}");
    let all = run(&["stress", "spec/unit/tests/chain.yaml", "--all"]).out;
    assert!(rows(&all) > 20 && !all.contains("--all"), "{all}");
}

#[test]
fn one_variant_one_duty_point() {
    let out = run(&["stress", HARVESTER, "--duty", "harvest", "--variant", "wide", "--all"]).out;
    assert!(
        out.contains("harvest, wide") && !out.contains(", standard") && !out.contains("drum_jammed"),
        "{out}"
    );
    for (arguments, near) in
        [(["--variant", "wyde"], "is it `wide`?"), (["--duty", "harvst"], "is it `harvest`?")]
    {
        let ran = run(&[&["stress", HARVESTER][..], &arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
        assert!(ran.err.contains(near), "{}", ran.err);
    }
}

#[test]
fn a_value_to_try() {
    let hot = ["--with", "duty.harvest.coolant.inlet=75 degC", "--duty", "harvest"];
    let headroom = |more: &[&str]| {
        let rows = json(&[&["stress", HARVESTER, "--duty", "harvest"][..], more].concat());
        let rows = rows["rows"].as_array().expect("rows").clone();
        let row = rows.iter().find(|row| {
            row["part"] == "drum_bridge.high_side.u.diode" && row["check"] == "junction-temperature"
        });
        row.expect("a junction")["comparison"]["headroom"]["value"].as_f64().expect("a number")
    };
    let (cool, warm) = (headroom(&[]), headroom(&hot[..2]));
    assert!(14.0 < cool - warm && cool - warm < 20.0, "{cool} {warm}");
}

#[test]
fn exit_codes() {
    assert_eq!(run(&["stress", "no-such-file.yaml"]).code, Some(2));
    // It fails, and a table is no judgement.
    let folder = Folder::new();
    let ran = run(&["stress", CARRIER]);
    let waits = ran.out.contains("\nnot judged ");
    assert_eq!(ran.code, Some(if waits { 3 } else { 0 }), "{}", ran.out);
    folder.put("silent.yaml", template("x", "60").replace("  pump: { flow: 8 L/min }\n", ""));
    let ran = run_in(&folder, &["stress", "silent.yaml"]);
    assert_eq!(ran.code, Some(3));
    assert!(ran.out.contains("not judged   cooling.pump.flow is not stated: "), "{}", ran.out);
    folder.put("empty.yaml", "edition: 2026\n");
    let ran = run_in(&folder, &["stress", "empty.yaml"]);
    assert_eq!(ran.code, Some(3));
    assert!(ran.out.contains("not judged   no part in any duty point"), "{}", ran.out);
    folder.put("broken.yaml", template("x", "60") + "colour: green\n");
    assert_eq!(run_in(&folder, &["stress", "broken.yaml"]).code, Some(2));
}

#[test]
fn no_line_is_wider_than_a_terminal() {
    for file in [HARVESTER, TWO_SOURCES, "spec/unit/tests/chain.yaml"] {
        for line in run(&["stress", file, "--all"]).out.lines() {
            assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
        }
    }
}
