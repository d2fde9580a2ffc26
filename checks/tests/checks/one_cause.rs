//! Several findings that one word brings: told once, with the word; and what is one finding anyway is told by its check.

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::{findings_on, review};
use loadworthy_checks::verdict::Grade;

use crate::descriptions::{changed, unit};

const HAULER: &str = include_str!("hauler.yaml");
const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
const CLEANER: &str = include_str!("cleaner.yaml");
const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");

/// A text in which two passages stand where the other did.
fn exchanged(text: &str, one: &str, other: &str) -> String {
    let held = changed(text, one, "\u{1}");
    changed(&changed(&held, other, one), "\u{1}", other)
}

/// What is new after a change, with what is missing.
fn new(before: &str, after: &str) -> (Vec<(&'static str, &'static str, String)>, Vec<String>) {
    let said = |review: &Review| -> BTreeSet<_> {
        review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
    };
    let (before, after) = (findings_on(&unit(before), None), findings_on(&unit(after), None));
    let new = said(&after).difference(&said(&before)).cloned().collect();
    (new, after.not_judged.iter().map(|one| one.missing.clone()).collect())
}

fn is_one(before: &str, after: &str, defect: &'static str, part: &str) {
    assert_eq!(new(before, after), (vec![("one-cause", defect, part.to_owned())], Vec::new()), "{part}");
}

#[test]
fn sensors_of_two_domains_that_were_exchanged_are_one_finding() {
    let currents = exchanged(HAULER, "[drive_bridge.u, drive_bridge.v]", "[work_bridge.u, work_bridge.v]");
    is_one(HAULER, &currents, "exchanged", "drive_currents");
    let readers = [
        "of: [drive_bridge], read_by: [drive_controller]",
        "of: [work_bridge], read_by: [work_controller]",
        "of: [drive_bridge], read_by: [work_controller]",
        "of: [work_bridge], read_by: [drive_controller]",
    ];
    let read = changed(&changed(HAULER, readers[0], readers[2]), readers[1], readers[3]);
    is_one(HAULER, &read, "exchanged", "drive_temperature");
    // Two of one domain are told by their check alone, as ever.
    let axles = exchanged(SHUTTLE, "[front_bridge.u, front_bridge.v]", "[rear_bridge.u, rear_bridge.v]");
    let (found, _) = new(SHUTTLE, &axles);
    assert_eq!(found, [("control-cover", "blind-trip", "front_bridge".to_owned())]);
}

#[test]
fn windings_and_a_side_of_a_driver_that_moved_are_one_finding() {
    let wound = ["[drive_bridge.high_side.u], power: 3 W", "[work_bridge.high_side.u], power: 2 W"];
    let with = |k: usize, on: &str| {
        format!("{}, drive_on: 15 V, drive_off: -8 V, tolerance: 5 %,\n      transformer: {on}", wound[k])
    };
    let both = ["drive_upper_transformer", "work_upper_transformer"];
    let text = changed(HAULER, &with(0, both[0]), &with(0, both[1]));
    is_one(HAULER, &changed(&text, &with(1, both[1]), &with(1, both[0])), "exchanged", "drive_u");
    let drives = "drives: [drive_bridge.high_side, drive_bridge.low_side]";
    let moved = changed(HAULER, drives, "drives: [drive_bridge.high_side, work_bridge.low_side]");
    is_one(HAULER, &moved, "one-key", "drive_drivers");
    let review = findings_on(&unit(&moved), None);
    let told = &review.findings[0];
    assert_eq!(told.grade, Grade::Major);
    assert!(
        told.saying.contains("is work_bridge.low_side, and all else fits with drive_bridge.low_side"),
        "{told:#?}"
    );
}

#[test]
fn machines_banks_and_converters_in_one_anothers_place_are_one_finding() {
    let machines = exchanged(HAULER, "feeds: drive_motor", "feeds: work_motor");
    is_one(HAULER, &machines, "exchanged", "drive_bridge");
    let banks = exchanged(SHUTTLE, "kind: bank, bus: link,", "kind: bank, bus: board_net,");
    is_one(SHUTTLE, &banks, "exchanged", "link_bank");
    let moved = changed(HAULER, "kind: bank, bus: work_bus,", "kind: bank, bus: link,");
    is_one(HAULER, &moved, "one-key", "work_bank");
    let turned =
        changed(SHUTTLE, "    from: link\n    to: board_net\n", "    from: board_net\n    to: link\n");
    is_one(SHUTTLE, &turned, "exchanged", "auxiliary");
}

#[test]
fn contactors_exchanged_with_those_of_a_pre_charge_are_one_finding() {
    let feed = "through: [pack_fuse, main_contactor, pack_plug";
    let text = changed(SHUTTLE, feed, "through: [pack_fuse, precharge_contactor, pack_plug");
    let around = "{ around: main_contactor, through: [precharge_contactor,";
    let text = changed(&text, around, "{ around: precharge_contactor, through: [main_contactor,");
    let (found, missing) = new(SHUTTLE, &text);
    assert!(found.contains(&("one-cause", "exchanged", "pack_feed".to_owned())), "{found:?}");
    // That one pole alone is opened was a note before, of the other contactor.
    assert!(found.iter().all(|one| one.0 == "one-cause" || one.1 == "one-pole"), "{found:?}");
    assert_eq!(missing, [""; 0]);
    let led = exchanged(HAULER, "around: drive_contactor", "around: work_contactor");
    is_one(HAULER, &led, "exchanged", "drive_precharge");
    let led = changed(GROOMER, "around: cell_contactor", "around: pack_contactor");
    is_one(GROOMER, &led, "one-key", "cell_precharge");
}

#[test]
fn domains_that_say_other_than_what_stands_in_them_are_one_finding() {
    let metal = "chassis: { kind: metal, touchable: true,";
    for kind in ["circuit", "surface"] {
        let text = changed(SHUTTLE, metal, &metal.replace("metal", kind));
        is_one(SHUTTLE, &text, "one-key", "chassis");
    }
    let work = "    domain: work\n    negative_rail: work_minus";
    is_one(HAULER, &changed(HAULER, work, &work.replace("work\n", "traction\n")), "one-key", "work_bus");
    let own = "drive_controller: { domain: low_voltage,";
    is_one(HAULER, &changed(HAULER, own, "drive_controller: { domain: work,"), "one-key", "drive_controller");
    let from = "active: { power: 600 W, from: link }";
    is_one(HAULER, &changed(HAULER, from, &from.replace("link", "work_bus")), "one-key", "link");
}

#[test]
fn conductors_of_two_branches_that_were_exchanged_are_one_finding() {
    let text = exchanged(GROOMER, "through: [cell_fuse,", "through: [pack_fuse,");
    is_one(GROOMER, &text, "exchanged", "cell_feed");
    let cell = changed(GROOMER, "from: cell, to: cell_bus", "from: pack, to: cell_bus");
    is_one(
        GROOMER,
        &changed(&cell, "from: pack, to: link", "from: cell, to: link"),
        "exchanged",
        "cell_feed",
    );
}

#[test]
fn barriers_with_one_anothers_kinds_and_between_two_others_are_one_finding() {
    let kinds = |text: &str, one: &str, other: &str| {
        let at = |barrier: &str| {
            let of = text.find(&format!("    {barrier}:\n")).expect("the barrier");
            of + text[of..].find("kind: ").expect("its kind")
        };
        let word = |at: usize| text[at..].split([',', '\n']).next().unwrap_or_default();
        let (near, far) = (at(one), at(other));
        let (own, theirs) = (word(near), word(far));
        let middle = &text[near + own.len()..far];
        format!("{}{theirs}{middle}{own}{}", &text[..near], &text[far + theirs.len()..])
    };
    let text = kinds(SHUTTLE, "gate_isolation", "module_bases");
    assert!(text.contains("kind: basic\n      clearance: 8 mm"));
    is_one(SHUTTLE, &text, "exchanged", "gate_isolation");
    is_one(CLEANER, &kinds(CLEANER, "field_isolation", "module_bases"), "exchanged", "field_isolation");
    // A kind that is lower by itself is told by its check.
    let low =
        SHUTTLE.replacen("kind: reinforced\n      clearance: 8 mm", "kind: basic\n      clearance: 8 mm", 1);
    let (found, _) = new(SHUTTLE, &low);
    assert_eq!(found, [("barrier-crossing", "weak", "isolation.barriers.gate_isolation".to_owned())]);
    let line = "data_isolation: { between: [low_voltage, field]";
    let text = changed(CLEANER, line, "data_isolation: { between: [traction, field]");
    is_one(CLEANER, &text, "one-key", "data_isolation");
}

#[test]
fn what_feeds_a_winding_and_what_an_isolation_is_watched_of_are_one_finding() {
    let own = "tolerance: 5 %, transformer: cut_gate_transformer, from: ";
    let text = CLEANER.replacen(&format!("{own}board_net"), &format!("{own}field_net"), 1);
    is_one(CLEANER, &text, "one-key", "cut_u");
    let watched = |bus: &str| format!("link_isolation: {{ measures: isolation, of: [{bus}]");
    is_one(CLEANER, &changed(CLEANER, &watched("link"), &watched("board_net")), "one-key", "link_isolation");
}

#[test]
fn a_converter_turned_round_is_one_finding_where_others_were_found_before() {
    let turned = changed(FORWARDER, "    from: pack_bus   ", "    from: \u{1}   ");
    let turned = changed(&turned, "    to: board_net\n    rectifier", "    to: pack_bus\n    rectifier");
    is_one(FORWARDER, &changed(&turned, "\u{1}", "board_net"), "exchanged", "auxiliary");
}

#[test]
fn windings_named_like_one_anothers_transformers_are_a_note() {
    let text =
        exchanged(SHUTTLE, "transformer: front_lower_transformer,", "transformer: rear_lower_transformer,");
    let (found, missing) = new(SHUTTLE, &text);
    assert_eq!(found, [("floating-supplies", "crossed-names", "rear_lower_transformer".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn what_comes_of_it_is_told_and_what_is_proposed_was_solved_again() {
    let text = exchanged(HAULER, "feeds: drive_motor", "feeds: work_motor");
    let review = review(&unit(&text));
    let told = review.findings.iter().find(|one| one.check == "one-cause").expect("the slip");
    assert!(told.facts.iter().any(|fact| fact.starts_with("output-reach: `work_bridge` needs")), "{told:#?}");
    let held = &told.proposals[0];
    let set: Vec<(&str, &str)> =
        held.set.iter().map(|one| (one.path.as_str(), one.written.as_str())).collect();
    assert_eq!(
        set,
        [("stages.drive_bridge.feeds", "drive_motor"), ("stages.work_bridge.feeds", "work_motor")]
    );
    // All of it still counts as failing.
    assert!(review.verdicts.iter().flatten().any(|one| one.check == "output-reach" && one.fails()));
}

#[test]
fn a_permit_for_what_comes_of_it_stands_and_the_rest_is_told_as_it_is() {
    let text = exchanged(HAULER, "feeds: drive_motor", "feeds: work_motor");
    let day = jiff::civil::date(2027, 1, 15);
    let permit = "permits:\n  - { check: output-reach, part: work_bridge, reason: a trial, accepted_by: the work team, until: 2027-03-31 }\n";
    let review = findings_on(&unit(&format!("{text}{permit}")), Some(day));
    assert!(review.accepted.iter().any(|one| one.check == "output-reach"), "{:#?}", review.accepted);
    let told = review.findings.iter().find(|one| one.check == "one-cause").expect("the slip");
    assert!(told.facts.iter().all(|fact| !fact.starts_with("output-reach")), "{told:#?}");
}

/// What is said of the one new finding after a change.
fn said_of(before: &str, change: (&str, &str)) -> String {
    let text = changed(before, change.0, change.1);
    let (found, missing) = new(before, &text);
    let [(check, _, part)] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!((*check, missing), ("one-cause", Vec::new()));
    let review = findings_on(&unit(&text), None);
    let one = review.findings.iter().find(|one| one.check == *check && one.part == *part);
    one.map(|one| one.saying.split(": ").next().unwrap_or_default().to_owned()).unwrap_or_default()
}

#[test]
fn a_voltage_that_all_beside_it_speaks_against_is_one_finding() {
    let bus = ("nominal: 620 V\n    highest: 700 V", "nominal: 620 V\n    highest: 7000 V");
    assert_eq!(said_of(FORWARDER, bus), "`highest` of `link` is 7000 V, and all else fits with 700 V");
    // No slip of a finger: the round number that its trip leaves.
    let bus = ("highest: 430 V, loop_inductance", "highest: 530 V, loop_inductance");
    assert_eq!(said_of(FORWARDER, bus), "`highest` of `pack_bus` is 530 V, and all else fits with 430 V");
    let low = ("highest: 430 V, loop_inductance", "highest: 380 V, loop_inductance");
    assert_eq!(said_of(FORWARDER, low), "`highest` of `pack_bus` is 380 V, and all else fits with 430 V");
    let source = ("highest: 400 V }", "highest: 4000 V }");
    assert_eq!(
        said_of(FORWARDER, source),
        "`open_circuit.highest` of `pack` is 4000 V, and all else fits with 400 V"
    );
    let empty = ("lowest: 260 V, nominal", "lowest: 26 V, nominal");
    assert_eq!(
        said_of(FORWARDER, empty),
        "`open_circuit.lowest` of `pack` is 26 V, and all else fits with 260 V"
    );
    let trip = ("overvoltage_trip: { voltage: 680 V", "overvoltage_trip: { voltage: 860 V");
    assert_eq!(
        said_of(FORWARDER, trip),
        "`overvoltage_trip.voltage` of `link` is 860 V, and all else fits with 680 V"
    );
}

#[test]
fn a_voltage_of_one_duty_point_that_the_others_speak_against_is_one_finding() {
    let climb = "loaded_climb:\n    lasts: continuous\n    coolant: { inlet: 70 degC }\n    sources: { pack: { open_circuit: 346 V } }\n    buses: { link: ";
    let bus = (&*format!("{climb}620 V }}"), &*format!("{climb}920 V }}"));
    assert_eq!(
        said_of(FORWARDER, bus),
        "`buses.link` of `loaded_climb` is 920 V, and all else fits with 620 V"
    );
    let state = "crane_work:                                 # the machine stands and loads\n    lasts: continuous\n    coolant: { inlet: 65 degC }\n    sources: { pack: { open_circuit: ";
    let source = (&*format!("{state}346 V"), &*format!("{state}436 V"));
    assert_eq!(
        said_of(FORWARDER, source),
        "`sources.pack.open_circuit` of `crane_work` is 436 V, and all else fits with 346 V"
    );
}

/// A bus that is stated with room, and parts of which one alone is too weak for it, are as they are.
#[test]
fn a_part_too_weak_for_a_voltage_that_all_else_fits_is_told_by_its_check() {
    let (found, _) = new(
        FORWARDER,
        &changed(
            FORWARDER,
            "breaks: { voltage: 450 V, current: 2 kA }",
            "breaks: { voltage: 350 V, current: 2 kA }",
        ),
    );
    assert_eq!(found, [("current-headroom", "breaking-voltage", "main_contactor".to_owned())]);
}

#[test]
fn two_buses_whose_domains_were_exchanged_are_one_finding() {
    let link = "  link:\n    domain: traction\n";
    for before in [SHUTTLE, GROOMER] {
        let moved = changed(before, link, &link.replace("traction", "low_voltage"));
        let after = changed(&moved, "board_net: { domain: low_voltage", "board_net: { domain: traction");
        is_one(before, &after, "exchanged", "link");
    }
}

#[test]
fn two_banks_whose_capacitors_were_exchanged_are_one_finding() {
    let after = exchanged(SHUTTLE, "each: film900_60u", "each: elyte50_2m2");
    is_one(SHUTTLE, &after, "exchanged", "link_bank");
    let review = findings_on(&unit(&after), None);
    let one = review.findings.iter().find(|one| one.check == "one-cause").expect("the slip");
    assert!(one.saying.contains("`each`"), "{}", one.saying);
    // Banks on one another's buses are told as that.
    let buses = exchanged(SHUTTLE, "bank, bus: link,", "bank, bus: board_net,");
    let review = findings_on(&unit(&buses), None);
    let one = review.findings.iter().find(|one| one.check == "one-cause").expect("the slip");
    assert!(one.saying.contains("`bus`"), "{}", one.saying);
}

/// A text with two values of two entries exchanged, each named by what stands before it.
fn crossed(text: &str, [one, other]: [(&str, &str); 2]) -> String {
    let held = changed(text, &format!("{}{}", one.0, one.1), &format!("{}\u{1}", one.0));
    let held = changed(&held, &format!("{}{}", other.0, other.1), &format!("{}{}", other.0, one.1));
    changed(&held, "\u{1}", other.1)
}

#[test]
fn outputs_that_feed_the_gates_of_one_another_are_one_finding() {
    let feeds = exchanged(GROOMER, "feeds: [step_up.low_side]", "feeds: [left_bridge.low_side]");
    is_one(GROOMER, &feeds, "exchanged", "step_up_lowers");
    let carrier = include_str!("../../../examples/vineyard-carrier.yaml");
    let feeds = exchanged(carrier, "feeds: [track_bridge.low_side]", "feeds: [lamp_buck.low_side]");
    is_one(carrier, &feeds, "exchanged", "track_lowers");
    let levels = crossed(
        GROOMER,
        [
            ("feeds: [step_up.low_side], power: 3 W, drive_on: ", "18 V"),
            ("feeds: [left_bridge.low_side], power: 5 W, drive_on: ", "15 V"),
        ],
    );
    is_one(GROOMER, &levels, "exchanged", "step_up_lowers");
}

#[test]
fn resistors_of_two_drivers_and_their_lock_outs_in_one_anothers_place_are_one_finding() {
    let resistors = exchanged(SHUTTLE, "turn_on_resistor: 1.8 ohm", "turn_on_resistor: 3.5 ohm");
    is_one(SHUTTLE, &resistors, "exchanged", "axle_drivers");
    let locked =
        crossed(SHUTTLE, [("skew: 20 ns\n    undervoltage: ", "13.5 V"), ("undervoltage: ", "7.5 V")]);
    is_one(SHUTTLE, &locked, "exchanged", "axle_drivers");
}

#[test]
fn sensors_of_unlike_quantities_in_one_anothers_place_are_one_finding() {
    let of = exchanged(SHUTTLE, "of: [front_bridge.u, front_bridge.v]", "of: [board_net]");
    is_one(SHUTTLE, &of, "exchanged", "front_currents");
    let measures = crossed(
        SHUTTLE,
        [("front_currents:\n    { measures: ", "current"), ("link_voltage:\n    { measures: ", "voltage")],
    );
    is_one(SHUTTLE, &measures, "exchanged", "front_currents");
}
