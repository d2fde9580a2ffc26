//! One entry of a whole unit taken away: it is found, once, and nothing else is said.

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit};

fn reviewed(text: &str) -> Review {
    findings_on(&unit(text), None)
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start().len()
}

/// Names of the entries below a key, and the text without each; none of them is broken across its indentation.
fn without_each(text: &str, key: &str) -> Vec<(String, String)> {
    let lines: Vec<&str> = text.lines().collect();
    let from =
        lines.iter().position(|line| line.trim_start().starts_with(&format!("{key}:"))).expect("the key");
    let own = indent(lines[from]);
    let within = lines[from + 1..].iter().take_while(|line| line.trim().is_empty() || own < indent(line));
    let end = from + 1 + within.count();
    let depth =
        lines[from + 1..end].iter().filter(|line| !line.trim().is_empty()).map(|line| indent(line)).min();
    let depth = depth.expect("entries");
    let heads: Vec<usize> = (from + 1..end)
        .filter(|&k| {
            indent(lines[k]) == depth && !lines[k].trim().is_empty() && !lines[k].trim().starts_with('#')
        })
        .collect();
    let until = |place: usize| heads.get(place + 1).copied().unwrap_or(end);
    let entry = |(place, &head): (usize, &usize)| {
        let name = lines[head].trim().split(':').next().unwrap_or_default().to_owned();
        let kept = lines[..head].iter().chain(&lines[until(place)..]);
        (name, kept.map(|line| format!("{line}\n")).collect::<String>())
    };
    heads.iter().enumerate().map(entry).collect()
}

fn said(review: &Review) -> BTreeSet<(&'static str, &'static str, String)> {
    review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
}

/// Takes away each entry of a section and holds what is new against one finding of a check.
fn each_is_found(text: &str, section: &str, checks: &[&str]) {
    let before = reviewed(text);
    assert!(before.not_judged.is_empty(), "{:#?}", before.not_judged);
    let known = said(&before);
    let all = without_each(text, section);
    assert!(2 < all.len(), "{section}: {}", all.len());
    for (name, text) in all {
        let review = reviewed(&text);
        let new: Vec<_> = said(&review).difference(&known).cloned().collect();
        assert!(new.len() == 1 && checks.contains(&new[0].0), "{section}.{name}: {new:#?}");
        assert!(review.not_judged.is_empty(), "{section}.{name}: {:#?}", review.not_judged);
    }
}

const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");

#[test]
fn each_output_that_is_gone_is_one_finding() {
    for text in [SHUTTLE, GROOMER] {
        each_is_found(text, "gate_supplies", &["floating-supplies"]);
    }
}

#[test]
fn each_driver_that_is_gone_is_one_finding() {
    for text in [SHUTTLE, GROOMER] {
        each_is_found(text, "drivers", &["control-cover"]);
    }
}

#[test]
fn each_barrier_that_is_gone_is_one_finding() {
    for text in [SHUTTLE, GROOMER] {
        each_is_found(text, "barriers", &["barrier-crossing"]);
    }
}

#[test]
fn each_sensor_of_the_shuttle_that_is_gone_is_one_finding() {
    each_is_found(SHUTTLE, "sensors", &["control-cover", "leakage-paths"]);
}

#[test]
fn each_sensor_of_the_groomer_that_is_gone_is_one_finding_shared_ones_included() {
    each_is_found(GROOMER, "sensors", &["control-cover", "leakage-paths"]);
    let all = without_each(GROOMER, "sensors");
    let (_, text) = all.into_iter().find(|(name, _)| name == "track_currents").expect("a shared sensor");
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "blind-trip").expect("trips that are blind");
    assert_eq!(
        told.saying,
        "the trips of `left_bridge`, `right_bridge` are blind: nothing measures 2 of 2 phase currents of \
         left_bridge, nothing measures 2 of 2 phase currents of right_bridge"
    );
}

#[test]
fn each_branch_that_is_gone_and_nothing_waits_for_is_one_finding() {
    for (name, check) in
        [("pack_precharge", "stored-energy"), ("supply_line", "unused-parts"), ("board_feed", "unused-parts")]
    {
        let all = without_each(SHUTTLE, "branches");
        let (_, text) = all.into_iter().find(|(own, _)| own == name).expect("the branch");
        let review = reviewed(&text);
        let new: Vec<_> = said(&review).difference(&said(&reviewed(SHUTTLE))).cloned().collect();
        assert!(new.len() == 1 && new[0].0 == check, "{name}: {new:#?}");
        assert!(review.not_judged.is_empty(), "{name}: {:#?}", review.not_judged);
    }
}

#[test]
fn a_creepage_below_its_clearance_is_found_and_the_rest_is_judged() {
    let gate = "clearance: 8 mm\n      creepage: 14 mm\n      material_group: II";
    let (new, missing) = after(gate, "clearance: 16 mm\n      creepage: 14 mm\n      material_group: II");
    let below =
        ("barrier-distance", "creepage-below-clearance", "isolation.barriers.gate_isolation".to_owned());
    assert_eq!((new, missing), (vec![below], Vec::new()));
    // One that is too short as well is told by what it lacks.
    let (new, missing) = after(gate, "clearance: 8 mm\n      creepage: 7 mm\n      material_group: II");
    let short = ("barrier-distance", "creepage", "isolation.barriers.gate_isolation".to_owned());
    assert_eq!((new, missing), (vec![short], Vec::new()));
}

#[test]
fn what_waits_for_an_output_is_told_with_it_and_counted() {
    let (name, text) = without_each(SHUTTLE, "gate_supplies").swap_remove(0);
    assert_eq!(name, "front_u");
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "missing").expect("an output that lacks");
    let waits =
        "not judged for want of it: dead-time, false-turn-on, gate-drive-power, short-circuit-response";
    assert!(told.facts.iter().any(|fact| fact == waits), "{:#?}", told.facts);
    assert!(review.counts.not_judged > 0);
}

/// What is new after one change of the shuttle: check, defect and part of each finding, and what is missing.
fn after(from: &str, to: &str) -> (Vec<(&'static str, &'static str, String)>, Vec<String>) {
    let known = said(&reviewed(SHUTTLE));
    let review = reviewed(&changed(SHUTTLE, from, to));
    let new = said(&review).difference(&known).cloned().collect();
    (new, review.not_judged.iter().map(|one| one.missing.clone()).collect())
}

#[test]
fn a_bus_without_its_bank_is_found_where_banks_are_described() {
    let bank = "  board_bank:\n    { kind: bank, bus: board_net, parts: 6, each: elyte50_2m2, path: { inductance: 10 nH, resistance: 0.3 mohm } }\n";
    let (new, missing) = after(bank, "");
    assert_eq!(new, [("link-ripple", "no-bank", "board_net".to_owned())]);
    assert_eq!(missing, [""; 0]);
    // A bank that does not say where it stands may stand there.
    let (new, missing) = after("kind: bank, bus: board_net,", "kind: bank,");
    assert_eq!((new.len(), missing), (0, vec!["bus of board_bank is not stated".to_owned()]));
}

#[test]
fn a_temperature_belongs_to_the_controller_of_its_stage() {
    let own = "of: [front_bridge], read_by: [front_controller]";
    let (new, missing) = after(own, "of: [front_bridge], read_by: [rear_controller]");
    assert_eq!(new, [("control-cover", "unmeasured", "front_bridge".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn what_a_controller_lives_on_is_asked_where_others_say_it() {
    let own = "auxiliary_controller: { domain: low_voltage, from: board_net }";
    let (new, missing) = after(own, "auxiliary_controller: { domain: low_voltage }");
    assert_eq!((new.len(), missing), (0, vec!["from of auxiliary_controller is not stated".to_owned()]));
}

#[test]
fn a_precharge_that_nothing_opens_keeps_the_bus_on_its_source() {
    let (new, missing) = after("[precharge_contactor, precharge_resistor]", "[precharge_resistor]");
    assert_eq!(new, [("stored-energy", "open-bypass", "pack_precharge".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn a_driver_that_several_stages_share_is_one_cause() {
    let (new, missing) = after(
        "skew: 20 ns\n    undervoltage: 13.5 V\n    short_circuit: { blanking: 600 ns, filter: 150 ns, delay: 100 ns, turn_off: 700 ns }\n  auxiliary",
        "skew: 600 ns\n    undervoltage: 13.5 V\n    short_circuit: { blanking: 600 ns, filter: 150 ns, delay: 100 ns, turn_off: 700 ns }\n  auxiliary",
    );
    assert_eq!(new, [("dead-time", "too-short", "front_bridge".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn metal_that_nobody_bonds_may_be_bonded_or_better_insulated() {
    let loose = changed(
        crate::descriptions::holding("barrier-crossing"),
        "chassis: { kind: metal, touchable: true, bonded: true,",
        "chassis: { kind: metal, touchable: true,",
    );
    let review = crate::descriptions::reviewed(&loose);
    let weak = review.findings.iter().find(|one| one.defect == "weak").expect("a weak way");
    let says: Vec<&str> = weak.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(says, ["`bonded: true` at chassis", "kind of module_bases: reinforced"]);
}

#[test]
fn a_unit_that_says_nothing_of_isolation_drivers_or_controllers_is_told_so() {
    let review = crate::descriptions::reviewed(crate::descriptions::holding("link-ripple"));
    let left_out = review.left_out.expect("a high voltage");
    assert_eq!(left_out.sections, ["isolation", "drivers", "controllers"]);
    assert!(left_out.voltage > 60.0);
    assert_eq!(reviewed(SHUTTLE).left_out, None);
}
