//! One entry of a whole unit taken away: it is found, once, and nothing else is said.

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit, unit_despite_problems};

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
const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
const HARVESTER: &str = include_str!("../../../examples/peat-harvester.yaml");

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

/// What is new: check, defect and part of each finding, and what is missing.
type New = (Vec<(&'static str, &'static str, String)>, Vec<String>);

/// What is new after some changes of a unit of which everything is judged.
fn after_in(text: &str, changes: &[(&str, &str)]) -> New {
    let known = said(&reviewed(text));
    let text = changes.iter().fold(text.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let new = said(&review).difference(&known).cloned().collect();
    (new, review.not_judged.iter().map(|one| one.missing.clone()).collect())
}

/// What is new after one change of the shuttle.
fn after(from: &str, to: &str) -> New {
    after_in(SHUTTLE, &[(from, to)])
}

fn one(check: &'static str, defect: &'static str, part: &str) -> New {
    (vec![(check, defect, part.to_owned())], Vec::new())
}

fn missing(what: &str) -> New {
    (Vec::new(), vec![what.to_owned()])
}

#[test]
fn a_bus_without_its_bank_is_found_where_banks_are_described() {
    let bank = "  board_bank:\n    { kind: bank, bus: board_net, parts: 6, each: elyte50_2m2, path: { inductance: 10 nH, resistance: 0.3 mohm } }\n";
    let (new, missing) = after(bank, "");
    assert_eq!(new, [("link-ripple", "no-bank", "board_net".to_owned())]);
    assert_eq!(missing, [""; 0]);
    // A source gives no pulses, and what waits for the bank is told with it.
    let link = "  link_bank: { kind: bank, bus: link, parts: 12, each: film900_60u, path: { inductance: 2 nH, resistance: 0.15 mohm } }\n";
    assert_eq!(after(link, ""), one("link-ripple", "no-bank", "link"));
    // A bank that does not say where it stands may stand there.
    let (new, missing) = after("kind: bank, bus: board_net,", "kind: bank,");
    assert_eq!((new.len(), missing), (0, vec!["bus of board_bank is not stated".to_owned()]));
}

#[test]
fn a_pre_charge_that_has_no_bank_to_charge_is_found() {
    let bank = "  cell_bank:\n    { kind: bank, bus: cell_bus, parts: 1, each: film500_150u, path: { inductance: 12 nH, resistance: 0.3 mohm } }\n";
    assert_eq!(after_in(GROOMER, &[(bank, "")]), one("link-ripple", "no-bank", "cell_bus"));
    // Without one the cell itself takes what the four legs leave.
    let precharge = "  cell_precharge: { around: cell_contactor, through: [cell_precharge_contactor, cell_precharge_resistor] }\n";
    let (new, missing) = after_in(GROOMER, &[(bank, ""), (precharge, "")]);
    assert!(new.iter().all(|(check, ..)| *check != "link-ripple"), "{new:#?}");
    assert_eq!(missing, [""; 0]);
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

#[test]
fn a_bus_that_is_discharged_has_a_bank() {
    let text = crate::descriptions::holding("stored-energy");
    let from = text.find("capacitors:").expect("a bank");
    let types = text.find("capacitor_types:").expect("its type");
    let bare = format!("{}{}", &text[..from], &text[types..]);
    let says = |text: &str| said(&crate::descriptions::reviewed(text));
    assert!(says(&bare).contains(&("link-ripple", "no-bank", "link".to_owned())), "{:?}", says(&bare));
    // Of a bus of which nothing is said that banks are about, they lie outside the concept.
    let discharge = "    discharge: { resistor: 120 kohm, resistor_power: 3 W, passively_within: 120 s }\n";
    let silent = says(&changed(&bare, discharge, ""));
    assert!(silent.iter().all(|(_, defect, _)| *defect != "no-bank"), "{silent:?}");
}

#[test]
fn what_measures_the_current_of_a_leg_rides_on_it_whatever_stands_above() {
    // Above the legs of this boost stand diodes, which have no gate.
    let own = "of: [step_up.1, step_up.2, step_up.3, step_up.4], read_by: [cell_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}5 kV/us"));
    assert_eq!(after_in(GROOMER, &[(&from, &to)]), one("barrier-immunity", "edge", "step_up_currents"));
    // The current of a whole bridge is that of its legs.
    let own = "read_by: [front_controller],\n      transient_immunity: ";
    let from = format!("of: [front_bridge.u, front_bridge.v], {own}100 kV/us");
    let whole = |immunity: &str| after(&from, &format!("of: [front_bridge], {own}{immunity}"));
    assert_eq!(whole("100 kV/us"), New::default());
    assert_eq!(whole("5 kV/us"), one("barrier-immunity", "edge", "front_currents"));
}

#[test]
fn a_contactor_makes_what_its_pre_charge_lets_through() {
    // 756 V behind 68 Ω are 11 A; behind 6.8 Ω ten times that.
    let small = ("resistance: 68 ohm", "resistance: 6.8 ohm");
    assert_eq!(after_in(SHUTTLE, &[small]), one("stored-energy", "precharge-inrush", "precharge_contactor"));
    // What it breaks it makes as well; whether it makes more nobody says.
    let unsaid = ("      makes: 30 A, resistance", "      resistance");
    assert_eq!(after_in(SHUTTLE, &[unsaid]), New::default());
    assert_eq!(
        after_in(SHUTTLE, &[unsaid, small]),
        missing("conductors.precharge_contactor.makes is not stated")
    );
}

#[test]
fn the_name_of_a_transformer_left_in_a_list_is_no_second_slip() {
    // What feeds an output and by which transformer is one entry.
    let own = ",\n      transformer: front_lower_transformer, from: board_net";
    assert_eq!(after(own, ""), missing("from of front_lowers is not stated"));
}

#[test]
fn a_soft_edge_waits_for_its_switch_no_longer_than_the_current_flows() {
    assert_eq!(after("dead_time: 150 ns", "dead_time: 1.5 us"), one("dead-time", "wasteful", "auxiliary"));
}

#[test]
fn each_of_several_devices_has_its_gate_resistor() {
    // Two modules in each leg of the traction bridge of one variant; one driver serves the boost as well.
    let own = "resistor_for_each: true\n    peak_current: 30 A";
    let shared = changed(own, "true", "false");
    assert_eq!(
        after_in(FORWARDER, &[(own, &shared)]),
        one("parallel-sharing", "one-gate-resistor", "traction_bridge.high_side.u")
    );
}

#[test]
fn the_voltage_that_a_boost_works_from_is_measured() {
    let trip =
        ",\n      overvoltage_trip: { voltage: 410 V, tolerance: 1.5 %, delay: 20 us, sensor_range: 550 V }";
    let sensor = "  pack_voltage:\n    { measures: voltage, of: [pack_bus], read_by: [drive_controller, auxiliary_controller],\n      transient_immunity: 50 kV/us, coupling: 2 pF }\n";
    let (new, _) = after_in(FORWARDER, &[(trip, ""), (sensor, ""), ("        - pack_voltage\n", "")]);
    assert_eq!(new, one("control-cover", "unmeasured", "pack_bus").0);
}

#[test]
fn an_output_says_what_keeps_it_apart_where_others_do() {
    // Within one domain nothing else asks for it.
    let own = "{ feeds: [lamp_buck.low_side], power: 0.8 W, drive_on: 12 V, drive_off: 0 V, tolerance: 5 %,\n      ";
    let (from, to) = (format!("{own}rail: pack_minus, from"), format!("{own}from"));
    let carrier = include_str!("../../../examples/vineyard-carrier.yaml");
    let (new, lacks) = after_in(carrier, &[(&from, &to)]);
    assert_eq!((new.len(), lacks), (0, vec!["transformer or rail of lamp_low is not stated".to_owned()]));
    // What feeds it and by which transformer is one entry; the name of the transformer, left in a list, is no second slip.
    let own = ",\n      transformer: front_lower_transformer, from: board_net";
    assert_eq!(after(own, ""), missing("from of front_lowers is not stated"));
    // Across a barrier it is asked which one it passes.
    let own = "transformer: front_lower_transformer, from: board_net";
    assert_eq!(
        after(own, "from: board_net"),
        one("barrier-crossing", "no-barrier", "isolation.traction to low_voltage")
    );
}

#[test]
fn a_time_that_only_a_switched_discharge_can_keep_is_held_against_what_is_there() {
    let active = ", active: { power: 800 W, from: link }, within: 5 s";
    assert_eq!(after(active, ", within: 5 s"), one("stored-energy", "active-discharge", "link"));
    // Who asks for no shorter time has none.
    assert_eq!(after(active, ""), New::default());
}

#[test]
fn a_cell_that_drives_more_than_its_branch_carries_needs_its_fuse() {
    let fuse = ("through: [cell_fuse, cell_contactor,", "through: [cell_contactor,");
    let found = one("fuse-coordination", "unfused", "cell_feed");
    let (new, lacks) = after_in(GROOMER, &[fuse]);
    assert!(new.contains(&found.0[0]) && lacks.is_empty(), "{new:?} {lacks:?}");
    // 350 A for good is less than the 400 A of the contactor and the plug.
    let weak = [fuse, ("highest: 1400 A", "highest: 350 A")];
    let (new, _) = after_in(GROOMER, &weak);
    assert!(new.iter().all(|one| one.1 != "unfused"), "{new:?}");
}

#[test]
fn who_may_touch_a_circuit_that_hurts_is_said() {
    assert_eq!(
        after("      { touchable: false, impulse: 4000 V,", "      { impulse: 4000 V,"),
        missing("touchable of isolation.domains.traction is not stated")
    );
    // A harmless circuit may be touched by anybody.
    assert_eq!(
        after("low_voltage: { touchable: true, bonded: true }", "low_voltage: { bonded: true }"),
        New::default()
    );
}

#[test]
fn what_parts_a_source_from_a_bus_that_hurts_says_what_it_breaks() {
    let own = "current: { continuous: 450 A, at: 85 degC }, breaks: { voltage: 900 V, current: 1200 A },";
    assert_eq!(
        after(own, "current: { continuous: 450 A, at: 85 degC },"),
        missing("breaks of main_contactor is not stated")
    );
    // That of a pre-charge opens against the same bus.
    let own = "breaks: { voltage: 900 V, current: 30 A },\n      makes: 30 A";
    assert_eq!(after(own, "makes: 30 A"), missing("breaks of precharge_contactor is not stated"));
}

/// A dead time ten times too long is one finding of the bridge that no longer reaches its output, and a shorter one mends it.
#[test]
fn a_dead_time_that_takes_the_voltage_is_told_with_the_output_that_it_costs() {
    let harvester = include_str!("../../../examples/peat-harvester.yaml");
    let (from, to) = ("    carrier: { frequency: 8 kHz }\n    dead_time: 2.5 us", "dead_time: 25 us");
    let text = changed(harvester, from, &from.replace("dead_time: 2.5 us", to));
    let review = crate::descriptions::reviewed(&text);
    let of_drum = |one: &&loadworthy_checks::review::Finding| {
        one.part == "drum_bridge" && ["dead-time", "output-reach"].contains(&one.check)
    };
    let told: Vec<_> = review.findings.iter().filter(of_drum).collect();
    assert!(told.iter().all(|one| one.check == "output-reach") && !told.is_empty(), "{told:#?}");
    let places = told.iter().flat_map(|one| &one.because);
    assert!(
        places.clone().any(|place| place.label == "takes 20 % of each carrier period, more than 3 %"),
        "{told:#?}"
    );
    let held = told.iter().flat_map(|one| &one.proposals);
    assert!(held.clone().any(|held| held.say.starts_with("dead time: 25 µs -> ")), "{told:#?}");
}

/// The text without a passage from one line to before another.
fn without(text: &str, from: &str, until: &str) -> String {
    let start = text.find(from).expect("where it begins");
    let end = start + text[start..].find(until).expect("where it ends");
    format!("{}{}", &text[..start], &text[end..])
}

#[test]
fn the_only_way_from_a_source_is_one_finding_with_all_that_it_leaves_over() {
    let text = without(HARVESTER, "branches:\n", "conductors:\n");
    let review = reviewed(&text);
    let new: Vec<_> = said(&review).difference(&said(&reviewed(HARVESTER))).cloned().collect();
    assert_eq!(new, [("power-balance", "unfed", "link".to_owned())]);
    assert_eq!(review.not_judged, []);
    let told = review.findings.iter().find(|one| one.defect == "unfed").expect("the bus");
    let says = |fact: &str| told.facts.iter().any(|own| own == fact);
    assert!(says("described and in no branch: `pack_fuse`, `pack_contactor`"), "{:#?}", told.facts);
    assert!(says("sources: `pack`, which feeds no bus"), "{:#?}", told.facts);
    // What stands between two buses that nothing feeds hangs on both, and is named once.
    let review = reviewed(&without(FORWARDER, "branches:\n", "conductors:\n"));
    let told = review.findings.iter().find(|one| one.defect == "unfed").expect("the bus");
    let on_it = told.facts.iter().find_map(|fact| fact.strip_prefix("on it: ")).expect("what hangs on it");
    assert_eq!(on_it.matches("`step_up`").count(), 1, "{on_it}");
}

#[test]
fn a_feed_that_its_pre_charge_still_names_is_one_problem_and_nothing_is_concluded_from_it() {
    for (text, feed) in [(GROOMER, "cell_feed"), (GROOMER, "pack_feed"), (SHUTTLE, "pack_feed")] {
        let all = without_each(text, "branches");
        let (_, without) = all.into_iter().find(|(name, _)| name == feed).expect("the branch");
        let review = findings_on(&unit_despite_problems(&without), None);
        let new: Vec<_> = said(&review).difference(&said(&reviewed(text))).cloned().collect();
        assert_eq!(new, [], "{feed}");
        // All of it waits for the branch that could not be read.
        assert_eq!(review.not_judged.len(), 1, "{feed}: {:#?}", review.not_judged);
    }
}

#[test]
fn a_branch_from_a_source_that_could_not_be_read_waits_for_it_and_is_stated() {
    let text = changed(SHUTTLE, "kind: battery", "kind: batery");
    let review = findings_on(&unit_despite_problems(&text), None);
    let waits: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(waits.iter().all(|one| !one.contains("pack_feed is not stated")), "{waits:?}");
}

#[test]
fn a_stage_that_is_named_and_gone_may_take_what_seems_left_over() {
    let all = without_each(GROOMER, "stages");
    let (_, without) = all.into_iter().find(|(name, _)| name == "step_up").expect("the stage");
    let review = findings_on(&unit_despite_problems(&without), None);
    assert!(review.findings.iter().all(|one| one.check != "power-balance"), "{:#?}", said(&review));
    assert_eq!(review.not_judged.len(), 1, "{:#?}", review.not_judged);
}

#[test]
fn what_moved_to_the_list_of_another_barrier_passes_none_and_is_told_once() {
    let other = "spanned_by: [front_bridge, rear_bridge, auxiliary]";
    let moved = [
        ("        - front_currents\n", ""),
        (other, "spanned_by: [front_bridge, rear_bridge, auxiliary, front_currents]"),
    ];
    let bare = one("barrier-crossing", "no-barrier", "isolation.traction to low_voltage");
    assert_eq!(after_in(SHUTTLE, &moved), bare);
    let text = moved.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "no-barrier").expect("what passes none");
    let fact = "`module_bases`, which stands between `traction` and `chassis`, lists `front_currents`";
    assert!(told.facts.iter().any(|own| own == fact), "{:#?}", told.facts);
}

#[test]
fn a_voltage_below_what_stages_reach_is_found_at_them_and_nothing_else_waits() {
    let low = "pack: { open_circuit: 620 V } }\n    loads:\n      left_track: { electrical_power: 50 kW";
    let (new, missing) = after_in(GROOMER, &[(low, &low.replace("620 V", "350 V"))]);
    let beyond = |part: &str| ("output-reach", "out-of-reach", part.to_owned());
    let mut expected = ["auxiliary", "left_bridge", "right_bridge", "tiller_bridge"].map(beyond).to_vec();
    expected.push(("source-limits", "outside-span", "pack".to_owned()));
    assert_eq!((new, missing), (expected, Vec::new()));
}

#[test]
fn a_conductor_that_leaves_no_voltage_is_found_itself() {
    // 48 kW through 68 Ω from 640 V: no more than 1.5 kW can pass.
    let stray = [
        ("through: [front_bar]", "through: [front_bar, stray]"),
        ("conductors:\n", "conductors:\n  stray: { kind: resistor, resistance: 68 ohm, energy: 500 J }\n"),
    ];
    let (new, _) = after_in(SHUTTLE, &stray);
    assert!(new.contains(&("power-balance", "beyond-line", "stray".to_owned())), "{new:#?}");
    assert!(new.iter().all(|(check, ..)| *check != "junction-temperature"), "{new:#?}");
}

#[test]
fn curves_that_end_before_what_their_device_is_found_for_are_told_with_that() {
    let high = "high_side: { fitted: sic1200_6m";
    let place = SHUTTLE.find(high).expect("the first bridge");
    let text =
        format!("{}high_side: {{ fitted: sic1200_40m{}", &SHUTTLE[..place], &SHUTTLE[place + high.len()..]);
    let review = reviewed(&text);
    assert!(said(&review).iter().any(|(_, defect, _)| *defect == "repetitive-peak"), "{:#?}", said(&review));
    assert!(
        review.not_judged.iter().all(|one| !one.missing.contains("its curves")),
        "{:#?}",
        review.not_judged
    );
    // Where none fails for it, one line of each device says how far the furthest lies out.
    let stray = [
        ("through: [step_up_bar]", "through: [step_up_bar, stray]"),
        ("conductors:\n", "conductors:\n  stray: { kind: resistor, resistance: 60 ohm, energy: 500 J }\n"),
    ];
    let (_, lines) = after_in(GROOMER, &stray);
    let cover = |line: &&String| line.contains("its curves cover a voltage of at most 1.2 kV, not 7.41 kV");
    assert_eq!(lines.iter().filter(cover).count(), 2, "{lines:#?}");
    assert_eq!(lines.iter().filter(|line| line.contains("its curves")).count(), 2, "{lines:#?}");
}

#[test]
fn what_the_coolant_is_and_where_it_flows_is_each_one_line() {
    assert_eq!(
        after_in(GROOMER, &[("  coolant: { kind: water_glycol, glycol: 50 % }\n", "")]),
        missing("cooling.coolant is not stated")
    );
    assert_eq!(
        after_in(GROOMER, &[("  path: [lower_plate, riser, drives]\n", "")]).1,
        missing("cooling.path is not stated").1
    );
}

#[test]
fn windings_that_fail_together_are_mended_together() {
    let hot = |text: &str, from: &str, to: &str| changed(text, from, to);
    let text = hot(GROOMER, "to_case: 1.3 K/W", "to_case: 60 K/W");
    let text = hot(&text, "to_case: 1.1 K/W", "to_case: 60 K/W");
    let review = crate::descriptions::reviewed(&text);
    let of = |one: &&loadworthy_checks::review::Finding| one.defect == "hot-winding";
    let told = review.findings.iter().find(of).expect("hot windings");
    let says: Vec<&str> = told.proposals.iter().map(|held| held.say.as_str()).collect();
    assert!(
        says.iter().any(|say| say.contains(" and ") && say.contains("to case")),
        "{says:#?} {:?}",
        told.no_proposal
    );
}

#[test]
fn a_cell_asked_for_more_than_its_curve_gives_is_found_itself() {
    // 360 A at 228 V are 82.1 kW.
    let beyond = ("sources: { cell: { power: 62 kW }", "sources: { cell: { power: 85 kW }");
    assert_eq!(after_in(GROOMER, &[beyond]), one("source-limits", "beyond-curve", "cell"));
    let text = changed(GROOMER, beyond.0, beyond.1);
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "beyond-curve").expect("the cell");
    assert_eq!(
        told.saying,
        "`cell` is to give 85 kW in `grooming_uphill`, and its polarisation curve ends at 82.1 kW"
    );
}

#[test]
fn a_stage_that_obeys_the_controller_of_another_is_one_finding() {
    // Both axles, exchanged: currents and temperature are measured, and read by the other controller.
    let exchanged = [
        ("    controller: front_controller", "    controller: x_controller"),
        ("    controller: rear_controller", "    controller: front_controller"),
        ("    controller: x_controller", "    controller: rear_controller"),
    ];
    let blind = |part: &str| ("control-cover", "blind-trip", part.to_owned());
    assert_eq!(
        after_in(SHUTTLE, &exchanged),
        (vec![blind("front_bridge"), blind("rear_bridge")], Vec::new())
    );
}

#[test]
fn a_voltage_too_low_for_the_driver_is_not_told_of_the_level_as_well() {
    let own = "{ feeds: [front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V";
    let low = own.replace("18 V", "12 V");
    assert_eq!(after(own, &low), one("gate-drive-power", "locked-out", "front_bridge.high_side.u"));
}

#[test]
fn a_device_below_the_voltage_of_its_bus_is_told_by_that_alone() {
    // 200 V on a bus of up to 820 V: whatever else the bus comes to is beyond it as well.
    let high = "high_side: { fitted: sic1200_6m";
    let place = SHUTTLE.find(high).expect("the first bridge");
    let (before, after) = (&SHUTTLE[..place], &SHUTTLE[place + high.len()..]);
    let review = reviewed(&format!("{before}high_side: {{ fitted: mos200_5m{after}"));
    let new: Vec<_> = said(&review).difference(&said(&reviewed(SHUTTLE))).cloned().collect();
    let of_voltage: Vec<&str> = new
        .iter()
        .map(|(_, defect, _)| *defect)
        .filter(|defect| {
            ["blocked-voltage", "too-late", "open-bus-voltage", "bus-rise", "spike"].contains(defect)
        })
        .collect();
    assert_eq!(of_voltage, ["blocked-voltage"], "{new:#?}");
}

#[test]
fn a_battery_that_no_contactor_parts_from_its_link_is_found() {
    let own = ("[pack_fuse, main_contactor, pack_plug,", "[pack_fuse, pack_plug,");
    let around = (
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n",
        "",
    );
    // What was meant for it is told with it.
    assert_eq!(after_in(SHUTTLE, &[own, around]), one("stored-energy", "no-disconnect", "pack_feed"));
    let within = ("pack_sensor, pack_bar] }", "pack_sensor, pack_bar], parted_by: main_contactor }");
    let (new, _) = after_in(SHUTTLE, &[own, around, within]);
    assert!(new.iter().all(|(_, defect, _)| *defect == "unused"), "{new:?}");
    // One that stands in another circuit parts nothing here.
    let elsewhere = ("supply_fuse, supply_cable]", "supply_fuse, main_contactor, supply_cable]");
    let (new, _) = after_in(SHUTTLE, &[own, around, within, elsewhere]);
    assert!(new.contains(&("stored-energy", "no-disconnect", "pack_feed".to_owned())), "{new:?}");
    // On the way back it parts as well.
    let back = (
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n",
        "  pack_back: { from: hv_minus, to: pack, through: [main_contactor] }\n",
    );
    let (new, _) = after_in(SHUTTLE, &[own, back]);
    assert!(new.iter().all(|(_, defect, _)| *defect != "no-disconnect"), "{new:?}");
}

#[test]
fn a_branch_without_its_fuse_is_one_finding() {
    let gone = ("through: [supply_fuse, supply_cable]", "through: [supply_cable]");
    assert_eq!(after_in(SHUTTLE, &[gone]), one("fuse-coordination", "let-through", "supply_cable"));
    let review = reviewed(&changed(SHUTTLE, gone.0, gone.1));
    let told = review.findings.iter().find(|one| one.defect == "let-through").expect("a cable");
    let says = |start: &str| told.facts.iter().any(|fact| fact.starts_with(start));
    assert!(says("nothing ends an overload of up to 420 A either"), "{:#?}", told.facts);
    assert!(says("described and in no branch: supply_fuse"), "{:#?}", told.facts);
}

#[test]
fn the_section_of_the_controllers_gone_is_one_cause() {
    let review = findings_on(&unit_despite_problems(&without(SHUTTLE, "controllers:\n", "sensors:\n")), None);
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["controllers is part of an entry that could not be read"]);
}

#[test]
fn a_bus_without_a_domain_is_asked_for_it_alone() {
    assert_eq!(
        after("  link:\n    domain: traction\n", "  link:\n"),
        missing("domain of link is not stated")
    );
}

#[test]
fn what_feels_the_temperature_of_a_stage_lies_beside_its_edges() {
    let own = "of: [front_bridge], read_by: [front_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}5 kV/us"));
    assert_eq!(after(&from, &to), one("barrier-immunity", "edge", "front_temperature"));
    let from = format!("{own}100 kV/us, coupling: 2 pF");
    let to = own.replace(",\n      transient_immunity: ", "");
    assert_eq!(after(&from, &to), missing("sensors.front_temperature.transient_immunity is not stated"));
    // Of a converter with a transformer those of the side that it stands on.
    let own = "domain: traction, read_by: [auxiliary_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}50 kV/us"));
    assert_eq!(after(&from, &to), one("barrier-immunity", "edge", "auxiliary_temperature"));
}

#[test]
fn voltages_that_recur_fast_ask_what_a_barrier_is_proven_for() {
    let fast = ", frequency: 150 kHz, spanned_by: [auxiliary_transformer]";
    let (new, lacks) = after(fast, ", spanned_by: [auxiliary_transformer]");
    assert!(new.is_empty() && lacks.len() == 1, "{new:?} {lacks:?}");
    assert!(lacks[0].starts_with("voltages recur at 100 kHz across barriers"), "{lacks:?}");
    let slower = fast.replace("150", "80");
    assert_eq!(
        after(fast, &slower),
        one("barrier-distance", "frequency", "isolation.barriers.supply_isolation")
    );
}

#[test]
fn a_creepage_that_its_clearance_rules_is_told_with_it() {
    let (new, lacks) = after("impulse: 4000 V", "impulse: 13 kV");
    assert!(new.iter().all(|(_, defect, _)| *defect == "clearance") && new.len() == 3, "{new:?}");
    assert_eq!(lacks, [""; 0]);
}

#[test]
fn a_pollution_degree_without_a_column_is_told_once() {
    let (new, lacks) = after("pollution_degree: 2", "pollution_degree: 4");
    assert!(new.is_empty() && lacks.len() == 1, "{new:?} {lacks:?}");
    assert!(
        lacks[0].starts_with(
            "surroundings.pollution_degree is 4, and the tables of distances have degrees 1 to 3"
        ),
        "{lacks:?}"
    );
}
