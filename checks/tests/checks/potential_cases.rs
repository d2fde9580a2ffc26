//! The reference cases that ask which gates share a potential, as descriptions.

use loadworthy_checks::Review;
use serde_json::Value;

use crate::stand_ins::{listed, reviewed_with};

const CASES: &str = include_str!("../../../tests/reference/insulation_and_gate.json");

fn cases(topic: &str) -> Vec<Value> {
    let file: Value = serde_json::from_str(CASES).expect("the file is JSON");
    let cases = file["cases"].as_array().expect("a list of cases");
    cases.iter().filter(|case| case["topic"] == topic).cloned().collect()
}

fn words(list: &Value) -> Vec<&str> {
    list.as_array().expect("a list").iter().map(|word| word.as_str().expect("a word")).collect()
}

fn count(case: &Value, key: &str) -> u64 {
    case["expected"][key].as_u64().expect("a count")
}

/// The stages of a case on one rail, and the return of its secondary side.
fn described(case: &Value, supplies: &str) -> String {
    let fitted = |names: &[&str]| {
        let each: Vec<String> = names.iter().map(|name| format!("{name}: {{ fitted: m }}")).collect();
        format!("switches: {{ {} }}", each.join(", "))
    };
    let mut stages = String::new();
    for stage in words(&case["inputs"]["stages"]) {
        let (name, rest) = stage.split_once(':').expect("a name and a topology");
        let legs = fitted(&["high_side", "low_side"]);
        let body = match rest {
            "three_phase_inverter:neg=N" => {
                format!("topology: three_phase_bridge, dc_bus: link, feeds: machine, {legs}")
            }
            "boost:neg=N" => format!("topology: boost, low_bus: pack_bus, high_bus: link, legs: 1, {legs}"),
            "active_clamp_forward:neg=N:clamp=high_side:sec=L0:rect=common_source" => format!(
                "topology: active_clamp_forward, from: pack_bus, to: board_net, clamp: high_side, rectifier_lead: return, {}",
                fitted(&["main", "clamp", "forward", "freewheel"])
            ),
            other => panic!("no stage `{other}`"),
        };
        stages.push_str(&format!("  {name}: {{ {body} }}\n"));
    }
    let machines =
        if stages.contains("machine") { "machines: { machine: { kind: permanent_magnet } }\n" } else { "" };
    format!(
        "edition: 2026
buses:
  pack_bus: {{ negative_rail: rail }}
  link: {{ negative_rail: rail }}
  board_net: {{ negative_rail: board_return }}
stages:
{stages}{machines}devices: {{ m: {{ package: {{ circuit: single }}, transistor: {{ kind: mosfet }} }} }}
{supplies}"
    )
}

/// A gate of a case, as a path: `INV.high2` is the upper gate of the second leg.
fn gate(name: &str) -> String {
    let (stage, position) = name.split_once('.').expect("a stage and a position");
    let side = if position.starts_with("high") { "high_side" } else { "low_side" };
    let number = position.trim_start_matches(char::is_alphabetic);
    let leg = match (stage, number) {
        ("INV", "1") => "u",
        ("INV", "2") => "v",
        ("INV", "3") => "w",
        _ => number,
    };
    format!("{stage}.{side}.{leg}")
}

fn reviewed(case: &Value, supplies: &str) -> Review {
    let review = reviewed_with(&[listed("floating-supplies")], &described(case, supplies));
    assert_eq!(review.counts.not_judged, 0, "{supplies}");
    review
}

fn told(review: &Review, defect: &str) -> u64 {
    review.findings.iter().filter(|one| one.defect == defect).count() as u64
}

#[test]
fn as_many_outputs_are_needed_as_the_cases_count() {
    let cases = cases("gate_supplies");
    assert_eq!(cases.len(), 3);
    for case in &cases {
        // One output for a lower gate, tied to the net that the supply hangs on, and nothing else.
        let own = words(&case["inputs"]["source_refs"]);
        let supplies = match own[..] {
            [] => {
                let stage = words(&case["inputs"]["stages"])[0].split(':').next().expect("a name").to_owned();
                format!("gate_supplies: {{ one: {{ feeds: [{stage}.low_side] }} }}\n")
            }
            [_] => "gate_supplies: { board: { rail: board_return, feeds: [ACF.forward, ACF.freewheel] } }\n"
                .to_owned(),
            _ => panic!("one net at most"),
        };
        let review = reviewed(case, &supplies);
        let (isolated, nodes) = (count(case, "isolated_outputs_1"), count(case, "distinct_nodes_1"));
        let needed = format!("isolated outputs in the unit: {isolated} needed for {nodes} potentials");
        let apart = format!("{} where no two stages share", count(case, "contained_outputs_1"));
        let facts: Vec<_> = review.findings.iter().flat_map(|one| &one.facts).collect();
        assert!(facts.iter().any(|fact| fact.starts_with(&needed)), "{needed}: {facts:?}");
        let alike = count(case, "contained_outputs_1") == isolated;
        assert!(alike || facts.iter().any(|fact| fact.contains(&apart)), "{apart}: {facts:?}");
    }
}

#[test]
fn two_gates_share_an_output_as_the_cases_say() {
    let cases = cases("share_class");
    assert_eq!(cases.len(), 2);
    for case in &cases {
        let both = ["a", "b"].map(|key| gate(case["inputs"][key].as_str().expect("a gate")));
        let review =
            reviewed(case, &format!("gate_supplies: {{ one: {{ feeds: [{}] }} }}\n", both.join(", ")));
        let class = match (told(&review, "shared"), told(&review, "across-stages")) {
            (0, 0) => "share",
            (0, _) => "conditional",
            _ => "never",
        };
        assert_eq!(case["expected"]["class"], class, "{both:?}");
    }
}

#[test]
fn groups_of_gates_are_judged_as_the_cases_say() {
    let cases = cases("supply_groups");
    assert_eq!(cases.len(), 2);
    for case in &cases {
        let groups: Vec<String> = words(&case["inputs"]["groups"])
            .iter()
            .enumerate()
            .map(|(k, group)| {
                let fed: Vec<String> = group.split(',').map(gate).collect();
                format!("o{k}: {{ feeds: [{}] }}", fed.join(", "))
            })
            .collect();
        let review = reviewed(case, &format!("gate_supplies: {{ {} }}\n", groups.join(", ")));
        assert_eq!(told(&review, "shared"), count(case, "illegal_1"));
        assert_eq!(told(&review, "across-stages"), count(case, "conditional_1"));
        assert_eq!(told(&review, "missing"), count(case, "unsupplied_1"));
        let legal = groups.len() as u64 - count(case, "illegal_1") - count(case, "conditional_1");
        assert_eq!(legal, count(case, "legal_1"));
    }
}
