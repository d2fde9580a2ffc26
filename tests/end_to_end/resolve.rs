//! A description as it is understood means what the description means.

use std::ffi::OsString;

use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::RngSeed;
use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, run, run_in, template, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";

/// Whole descriptions of all sorts, by their path.
const FIXTURES: &[&str] = &[
    HARVESTER,
    "examples/vineyard-carrier.yaml",
    "checks/src/current_headroom/fails.yaml",
    "checks/src/junction_temperature/fails.yaml",
    "checks/src/output_reach/fails.yaml",
    "checks/src/output_reach/holds.yaml",
    "spec/unit/tests/igbt.yaml",
    "spec/unit/tests/mosfet.yaml",
    "spec/unit/tests/twin_pack.yaml",
    "spec/unit/tests/two_faces.yaml",
    "tests/schema/valid/smallest.yaml",
    "tests/schema/valid/timber_forwarder.yaml",
    "tests/fuzz/seeds/review/drive.yaml",
    "tests/fuzz/seeds/review/whole.yaml",
];

/// Runs the program within this process, with a text as its standard input, in the project's folder.
fn run_on(arguments: &[&str], input: &str) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = std::iter::once("loadworthy").chain(arguments.iter().copied()).map(OsString::from);
    let code = loadworthy::run(
        arguments,
        loadworthy::Surroundings {
            input: &mut input.as_bytes(),
            output: &mut out,
            errors: &mut err,
            colored: false,
        },
    );
    let text = |bytes| String::from_utf8(bytes).expect("what is printed is UTF-8");
    let code = (0..=3).find(|number| code == std::process::ExitCode::from(*number)).map(i32::from);
    Ran { code, out: text(out), err: text(err) }
}

/// Names of the variants of a description; one without a name where it has none.
fn variants(fixture: &str) -> Vec<Option<String>> {
    let ran = run(&["resolve", fixture, "--format", "json"]);
    assert_eq!(ran.code, Some(0), "{fixture}: {}", ran.err);
    let value: Value = serde_json::from_str(&ran.out).expect("JSON");
    let names = value["variants"].as_array().expect("a list").iter();
    let names = names.map(|name| name.as_str().map(str::to_owned)).collect::<Vec<_>>();
    if names.is_empty() { vec![None] } else { names }
}

/// Every figure, and every verdict, of one variant, in all its digits and without the places in the file.
fn said(arguments: &[&str], variant: Option<&str>, input: &str) -> Vec<Value> {
    let of_variant = variant.map_or(Vec::new(), |name| vec!["--variant", name]);
    let derived = run_on(&[&["derive"], arguments, &of_variant, &["--format=json"]].concat(), input);
    let reviewed = run_on(&[&["review"], arguments, &["--format=json"]].concat(), input);
    assert_ne!(
        reviewed.code,
        Some(2),
        "{arguments:?}: {}",
        run_on(&[&["review"], arguments].concat(), input).out
    );
    let figures: Value = serde_json::from_str(&derived.out)
        .unwrap_or_else(|_| serde_json::json!({ "figures": [], "not_derived": derived.code }));
    let review: Value = serde_json::from_str(&reviewed.out).expect("JSON");
    let lists = [&figures["figures"], &review["reviews"][0]["verdicts"]];
    let mut said = Vec::new();
    for one in lists.into_iter().flat_map(|list| list.as_array().expect("a list")) {
        let of = one["variant"].as_str();
        // Whether anything uses an entry, and the order along the coolant, are judged over all variants together.
        let is_of_all = ["unused-parts", "coolant-order"].iter().any(|check| one["check"] == *check);
        if of == variant && !is_of_all {
            let keys =
                ["figure", "check", "part", "duty_point", "corner", "quantity", "verdict", "comparison"];
            let mut kept = serde_json::Map::new();
            for key in keys {
                kept.insert(key.to_owned(), without_places(&one[key]));
            }
            said.push(Value::Object(kept));
        }
    }
    said
}

fn without_places(value: &Value) -> Value {
    match value {
        Value::Object(map) => {
            let kept = map.iter().filter(|(key, _)| !["at", "limit_at"].contains(&key.as_str()));
            Value::Object(kept.map(|(key, value)| (key.clone(), without_places(value))).collect())
        }
        other => other.clone(),
    }
}

fn without_comments(text: &str) -> Vec<&str> {
    let lines = text.lines().filter(|line| !line.trim_start().starts_with('#'));
    lines.map(|line| line.split("  # ").next().unwrap_or(line)).skip_while(|line| line.is_empty()).collect()
}

/// What is printed is read without problems, means the same in every bit, and is printed alike once more.
fn assert_same(fixture: &str, variant: Option<&str>, tried: &[String]) {
    let tried = tried.iter().flat_map(|change| ["--with", change.as_str()]).collect::<Vec<_>>();
    let of_variant = variant.map_or(Vec::new(), |name| vec!["--variant", name]);
    let what = format!("{fixture} {variant:?} {tried:?}");
    let ran = run_on(&[&["resolve", fixture], &of_variant[..], &tried].concat(), "");
    assert_eq!(ran.code, Some(0), "{what}: {}", ran.err);
    let before = said(&[&[fixture], &tried[..]].concat(), variant, "");
    let after = said(&["-"], None, &ran.out);
    assert!(before == after, "{what}: {}", ran.out);
    let again = run_on(&["resolve", "-"], &ran.out);
    assert_eq!(again.code, Some(0), "{what}: {}", again.err);
    assert_eq!(without_comments(&again.out), without_comments(&ran.out), "{what}");
}

#[test]
fn every_fixture_means_the_same_once_it_is_resolved() {
    let mut figures = 0;
    for fixture in FIXTURES {
        for variant in variants(fixture) {
            assert_same(fixture, variant.as_deref(), &[]);
            figures += said(&[fixture], variant.as_deref(), "").len();
        }
    }
    assert!(figures > 3000, "{figures}");
}

#[test]
fn a_default_that_some_take_and_others_wait_for_is_not_written_down() {
    let carrier = "examples/vineyard-carrier.yaml";
    assert_same(carrier, None, &["surroundings.altitude=null".to_owned()]);
    let ran = run(&["resolve", carrier, "--with", "surroundings.altitude=null"]);
    assert!(ran.out.contains("\nsurroundings:  # assumed: the unit works at sea level;"), "{}", ran.out);
    assert!(!ran.out.contains("\n  altitude:"), "{}", ran.out);
}

/// Paths of all values that are not maps.
fn leaves(value: &Value, above: &str, paths: &mut Vec<String>) {
    for (key, below) in value.as_object().into_iter().flatten() {
        let path = if above.is_empty() { key.clone() } else { format!("{above}.{key}") };
        match below {
            Value::Object(_) => leaves(below, &path, paths),
            _ => paths.push(path),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 96,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    /// Values taken away at random: what is left is refused as a whole, or means the same once it is resolved.
    #[test]
    fn what_is_silent_is_filled_in_without_a_change(
        fixture in any::<Index>(),
        variant in any::<Index>(),
        silent in prop::collection::vec(any::<Index>(), 1..8),
    ) {
        let fixture = *fixture.get(FIXTURES);
        let variant = variant.get(&variants(fixture)).clone();
        let variant = variant.as_deref();
        let ran = run(&["resolve", fixture, "--format", "json"]);
        let whole: Value = serde_json::from_str(&ran.out).expect("JSON");
        let mut paths = Vec::new();
        leaves(&whole["description"], "", &mut paths);
        // A value that stands in for one that is not there cannot be taken away.
        let assumed = whole["assumed"].as_array().expect("a list");
        paths.retain(|path| path != "edition" && assumed.iter().all(|one| one["path"] != path.as_str()));
        let mut tried = silent.iter().map(|place| format!("{}=null", place.get(&paths))).collect::<Vec<_>>();
        tried.sort();
        tried.dedup();
        let with = tried.iter().flat_map(|change| ["--with", change.as_str()]).collect::<Vec<_>>();
        let reviewed = run_on(&[&["review", fixture, "--quiet"], &with[..]].concat(), "");
        if reviewed.code == Some(2) {
            let ran = run_on(&[&["resolve", fixture], &with[..]].concat(), "");
            prop_assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
            prop_assert!(ran.err.contains("problem  "), "{}", ran.err);
        } else {
            assert_same(fixture, variant, &tried);
        }
    }
}

#[test]
fn a_variant_with_a_value_that_is_tried() {
    let tried = "stages.track_bridge.carrier.frequency=6.5 kHz";
    let ran = run(&["resolve", HARVESTER, "--variant", "wide", "--with", tried]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert_shown!("resolve-peat-harvester-wide", ran.out);
}

#[test]
fn defaults_stand_where_the_language_has_them() {
    let folder = Folder::new();
    let silent = template("x", "60").replace("    dead_time: 2 us\n", "");
    folder.put("silent.yaml", silent.replace("    overmodulation: excluded\n", ""));
    let ran = run_in(&folder, &["resolve", "silent.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert_shown!("resolve-silent", ran.out);
    let ran = run_in(&folder, &["resolve", "silent.yaml", "--format", "json"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert_shown!("resolve-silent-json", ran.out);
}

#[test]
fn several_variants_are_named_and_one_is_taken() {
    let base = run(&["resolve", HARVESTER]);
    let head = "# without any of its variants (standard, wide): `--variant NAME` lays one over it\n";
    assert!(base.out.starts_with(head), "{}", base.out);
    assert!(
        base.out.contains("electrical_power: 75 kW\n") && !base.out.contains("\nvariants:"),
        "{}",
        base.out
    );
    let folder = Folder::new();
    let only = "variants:\n  heavy:\n    stages: { track_bridge: { overmodulation: null, dead_time: 1.5 us } }\n\
                permits:\n- &one { check: a, part: b, variant: heavy, reason: r, accepted_by: x, until: 2031-01-01 }\n";
    folder.put("only.yaml", template("x", "60") + only);
    let ran = run_in(&folder, &["resolve", "only.yaml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let head = "# variant heavy\n# without `stages.track_bridge.overmodulation`, which the variant removes\n\nedition";
    assert!(ran.out.starts_with(head), "{}", ran.out);
    assert!(ran.out.contains("    dead_time: 1.5 us  # variant heavy, was 2 us\n"), "{}", ran.out);
    assert!(ran.out.contains("permits:\n- {check: a, part: b, reason: r,"), "{}", ran.out);
}

#[test]
fn problems_are_told_and_nothing_is_printed() {
    let folder = Folder::new();
    folder.put("broken.yaml", template("x", "60").replace("feeds: track_motor", "feeds: trak_motor"));
    let ran = run_in(&folder, &["resolve", "broken.yaml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    for part in ["problem  ", "╭─[broken.yaml:13:", "write `track_motor`", "nothing of it is printed"] {
        assert!(ran.err.contains(part), "{part}: {}", ran.err);
    }
    let ran = run_in(&folder, &["resolve", "missing.yaml"]);
    assert_eq!(ran.err, "loadworthy: cannot read missing.yaml: there is no such file\n");
    let ran = run(&["resolve", HARVESTER, "--variant", "wyde"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert_eq!(ran.err, "loadworthy: there is no variant `wyde`; is it `wide`?\n");
}

#[test]
fn a_base_that_is_no_description_by_itself_asks_for_a_variant() {
    let folder = Folder::new();
    let bare = template("x", "60").replace("{ kind: permanent_magnet, ", "{ ");
    let kind = "machines: { track_motor: { kind: permanent_magnet } }";
    let text = format!("{bare}variants:\n  one: {{ {kind} }}\n  two: {{ {kind} }}\n");
    folder.put("bare.yaml", text);
    assert_eq!(run_in(&folder, &["resolve", "bare.yaml", "--variant", "one"]).code, Some(0));
    let ran = run_in(&folder, &["resolve", "bare.yaml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert!(ran.err.contains("problems without a variant; `--variant` takes one of one, two"), "{}", ran.err);
}

#[test]
fn texts_come_through_whole() {
    let folder = Folder::new();
    for name in [
        "on",
        "0.90",
        "12:30",
        "a: b # c",
        "- x",
        "'\\\"",
        "a\\nb\\n\\n",
        " x ",
        "\\e[31m\\u202eµ\\n::error x::y",
    ] {
        folder.put("unit.yaml", template(name, "60"));
        let ran = run_in(&folder, &["resolve", "unit.yaml"]);
        assert_eq!(ran.code, Some(0), "{name}: {}", ran.err);
        let hidden = ran.out.lines().find(|line| loadworthy_source::escape_text(line) != *line);
        assert!(hidden.is_none(), "{name}: {hidden:?}");
        folder.put("resolved.yaml", &ran.out);
        let names = ["unit.yaml", "resolved.yaml"].map(|file| {
            let ran = run_in(&folder, &["resolve", file, "--format", "json"]);
            let value: Value = serde_json::from_str(&ran.out).expect("JSON");
            (value["description"]["unit"].clone(), value["description"]["buses"].clone())
        });
        assert_eq!(names[0], names[1], "{name}");
    }
}

#[test]
fn numbers_stay_in_the_spelling_of_a_person() {
    let text = text_of("examples/vineyard-carrier.yaml");
    assert!(text.contains("power_factor: 0.90"));
    let ran = run(&["resolve", "examples/vineyard-carrier.yaml"]);
    assert!(ran.out.contains("power_factor: 0.90\n"), "{}", ran.out);
    let ran = run(&["resolve", "examples/vineyard-carrier.yaml", "--format", "json"]);
    assert!(ran.out.contains("\"power_factor\": 0.9,"), "{}", ran.out);
}

/// A stock in parts files is no part of what the description says: what is printed gains no notes of what nothing uses.
#[test]
fn what_is_printed_leaves_the_stock_of_parts_files_out() {
    for unit in ["timber-forwarder", "harbour-shuttle", "peat-harvester"] {
        let file = format!("examples/{unit}.yaml");
        let resolved = run(&["resolve", &file]);
        assert_eq!(resolved.code, Some(0), "{unit}: {}", resolved.err);
        let unused = |ran: &Ran| {
            let value: Value = serde_json::from_str(&ran.out).expect("JSON");
            let findings = value["reviews"][0]["findings"].as_array().expect("a list").clone();
            findings.iter().filter(|one| one["check"] == "unused-parts").count()
        };
        assert_eq!(unused(&run_on(&["review", "-", "--format", "json"], &resolved.out)), 0, "{unit}");
        assert!(!resolved.out.contains("devices: {}"), "{unit}");
    }
}
