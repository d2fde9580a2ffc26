//! The examples are reviewed as a user would, and what is said about them stands beside these tests.

use std::collections::BTreeSet;

use serde_json::Value;

use super::program::{Ran, assert_shown, program, run, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";
const CARRIER: &str = "examples/vineyard-carrier.yaml";
const JUNCTION: &str = "drum_bridge.high_side.u.transistor.junction_temperature";

fn shown(ran: &Ran) -> String {
    assert_eq!(ran.err, "");
    format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1))
}

#[test]
fn the_unit_that_holds() {
    assert_shown!("review-vineyard-carrier", shown(&run(&["review", CARRIER])));
    assert_shown!("review-vineyard-carrier-all", shown(&run(&["review", CARRIER, "--all"])));
}

#[test]
fn the_unit_with_findings() {
    assert_shown!("review-peat-harvester", shown(&run(&["review", HARVESTER])));
    assert_shown!("review-peat-harvester-all", shown(&run(&["review", HARVESTER, "--all"])));
}

#[test]
fn the_other_units() {
    for example in ["harbour-shuttle", "snow-groomer", "timber-forwarder"] {
        let file = format!("examples/{example}.yaml");
        assert_shown!(format!("review-{example}"), shown(&run(&["review", &file])));
    }
}

#[test]
fn stress_and_balance_of_whole_units() {
    for example in ["harbour-shuttle", "snow-groomer", "timber-forwarder", "vineyard-carrier"] {
        let file = format!("examples/{example}.yaml");
        assert_shown!(format!("stress-{example}"), shown(&run(&["stress", &file])));
        assert_shown!(format!("balance-{example}"), shown(&run(&["balance", &file])));
    }
}

#[test]
fn the_finding_that_the_readme_shows_is_the_one_that_is_printed() {
    let readme = std::fs::read_to_string("README.md").expect("it is here");
    let (_, from) = readme.split_once("```\nmajor  output-reach").expect("a finding");
    let (shown, _) = from.split_once("\n```").expect("its end");
    let printed = run(&["review", HARVESTER]).out;
    for line in shown.lines().skip(1).filter(|line| line.trim() != "…") {
        assert!(printed.lines().any(|other| other == line), "not printed: {line}");
    }
}

#[test]
fn what_is_proposed_holds_when_it_is_tried() {
    let more = ["--with", "stages.drum_bridge.switches.high_side.parallel=2"];
    let both = [more[0], more[1], "--with", "stages.drum_bridge.switches.low_side.parallel=2"];
    let other = ["--with", "stages.track_bridge.modulation=space_vector"];
    let ran = run(&[&["review", HARVESTER, "--grade", "note"], &both[..], &other[..]].concat());
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains(" 0 fail   0 not judged"), "{}", ran.out);
}

#[test]
fn figures_of_an_example() {
    let ran = run(&["derive", CARRIER]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_shown!("derive-vineyard-carrier", ran.out);
}

#[test]
fn how_a_figure_comes_about() {
    assert_shown!("derive-junction", shown(&run(&["derive", HARVESTER, JUNCTION, "--duty", "drum_jammed"])));
    let wide = ["derive", HARVESTER, "drum_bridge.phase_current", "--variant", "wide", "--duty", "harvest"];
    let ran = run(&wide);
    assert!(ran.out.contains("instead of `75 kW`"), "a patched input names what it replaced: {}", ran.out);
}

#[test]
fn figures_for_a_spreadsheet() {
    let ran = run(&["derive", HARVESTER, "link.voltage", "--format", "csv"]);
    assert_eq!(ran.code, Some(0));
    let mut lines = ran.out.lines();
    assert_eq!(lines.next(), Some("variant,duty_point,corner,figure,value,unit"));
    // Two variants, two duty points that turn and one that holds the rotor in six corners.
    assert_eq!(lines.clone().count(), 2 * (1 + 1 + 6));
    for line in lines {
        let fields = line.split(',').collect::<Vec<_>>();
        let [_, _, _, figure, value, unit] = fields[..] else { panic!("{line}") };
        assert_eq!((figure, unit), ("link.voltage", "V"));
        let volts = value.parse::<f64>().expect("a number");
        assert!(500.0 < volts && volts < 640.0, "{line}");
    }
}

#[test]
fn the_schema_is_the_published_one_with_the_policy_of_all_checks() {
    let ran = run(&["schema"]);
    assert_eq!(ran.code, Some(0));
    let printed: Value = serde_json::from_str(&ran.out).expect("the schema is JSON");
    let published: Value = serde_json::from_str(&text_of("spec/loadworthy.schema.json")).expect("JSON");
    let items = printed["properties"]["policy"]["properties"].as_object().expect("policy items");
    let known = items.keys().map(String::as_str).collect::<BTreeSet<_>>();
    let declared = loadworthy_checks::list::policy_vocabulary();
    assert_eq!(known, declared.iter().map(|item| item.name).collect::<BTreeSet<_>>());
    // An editor tells a permit for a check that there is none of.
    let check = &printed["$defs"]["Permit"]["properties"]["check"];
    let offered = check["enum"].as_array().expect("names of checks");
    let names = loadworthy_checks::list::CHECKS.iter().map(|check| check.about().name);
    assert!(names.eq(offered.iter().filter_map(Value::as_str)), "{check}");
    assert!(check.get("pattern").is_none(), "{check}");
    assert!(
        printed == published,
        "spec/loadworthy.schema.json is out of step: write the output of `loadworthy schema` there"
    );
}

#[test]
fn the_same_on_every_run() {
    for arguments in [["review", HARVESTER, "--all"], ["derive", HARVESTER, "--format=json"]] {
        assert_eq!(run(&arguments).out, run(&arguments).out);
    }
}

#[test]
fn no_line_is_wider_than_a_terminal() {
    let lines = [
        run(&["review", HARVESTER, "--all"]),
        run(&["derive", HARVESTER, JUNCTION]),
        run(&["derive", CARRIER]),
    ];
    for line in lines.iter().flat_map(|ran| ran.out.lines()) {
        let caution = line.starts_with("A concept-stage aid.");
        assert!(line.chars().count() <= 80 || caution, "{} columns: {line}", line.chars().count());
    }
}

#[test]
fn colours_only_where_a_person_reads() {
    let ran: Ran =
        program().args(["review", HARVESTER]).env("CLICOLOR_FORCE", "1").output().expect("starts").into();
    assert!(!ran.out.contains('\u{1b}'));
    let mut coloured = Vec::new();
    let arguments = ["loadworthy", "review", &format!("{}/{HARVESTER}", env!("CARGO_MANIFEST_DIR"))];
    loadworthy::run(
        arguments.map(Into::into),
        loadworthy::Surroundings {
            input: &mut std::io::empty(),
            output: &mut coloured,
            errors: &mut Vec::new(),
            colored: true,
        },
    );
    let coloured = String::from_utf8(coloured).expect("UTF-8");
    assert!(coloured.contains("\u{1b}[1;31mmajor\u{1b}[0m"), "{coloured}");
}
