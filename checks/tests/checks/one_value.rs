//! Several failures that one value brings: told once, at the value, with what else comes of it.

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit, unit_with};

const CLEANER: &str = include_str!("cleaner.yaml");
const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");

type Found = (&'static str, &'static str, String);

fn said(review: &Review) -> BTreeSet<Found> {
    review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
}

/// The one new finding after a change: what it is, the label of its first place, and its facts.
fn only(before: &str, after: &str) -> (Found, String, Vec<String>) {
    let (was, unit) = (findings_on(&unit(before), None), unit(after));
    let now = findings_on(&unit, None);
    let known = said(&was);
    let new = now.findings.iter();
    let new: Vec<_> = new.filter(|one| !known.contains(&(one.check, one.defect, one.part.clone()))).collect();
    let [one] = new.as_slice() else {
        panic!("{:#?}", new.iter().map(|one| &one.saying).collect::<Vec<_>>())
    };
    let missing: BTreeSet<&String> = was.not_judged.iter().map(|one| &one.missing).collect();
    let waits = now.not_judged.iter().find(|one| !missing.contains(&one.missing));
    assert!(waits.is_none(), "{waits:#?}");
    ((one.check, one.defect, one.part.clone()), one.at.label.clone(), one.facts.clone())
}

fn told(before: &str, change: (&str, &str)) -> (Found, String, Vec<String>) {
    only(before, &changed(before, change.0, change.1))
}

fn is(found: &Found, check: &str, defect: &str, part: &str) {
    assert_eq!((found.0, found.1, found.2.as_str()), (check, defect, part));
}

#[test]
fn a_resistor_that_slows_a_gate_is_told_with_what_it_delays() {
    let (found, at, facts) = told(SHUTTLE, ("turn_on_resistor: 1.8 ohm", "turn_on_resistor: 25 ohm"));
    is(&found, "short-circuit-response", "early-look", "front_bridge.high_side.u");
    assert_eq!(at, "slower behind this");
    assert!(facts.iter().any(|fact| fact.starts_with("with it gate-drive-power: ")), "{facts:#?}");
    let (found, at, facts) = told(SHUTTLE, ("turn_off_resistor: 1.8 ohm", "turn_off_resistor: 25 ohm"));
    is(&found, "dead-time", "too-short", "front_bridge");
    assert_eq!(at, "and it is slower behind this");
    assert!(facts.iter().any(|fact| fact.starts_with("with it gate-drive-power: ")), "{facts:#?}");
    let (found, at, _) = told(SHUTTLE, ("turn_on_resistor: 1.8 ohm", "turn_on_resistor: 0.05 ohm"));
    is(&found, "gate-drive-power", "driver-current", "front_bridge.high_side.u");
    assert_eq!(at, "50 mΩ outside");
}

#[test]
fn a_tolerance_that_is_too_wide_at_both_ends_is_one_finding() {
    let u =
        "cut_u: { feeds: [cut_bridge.high_side.u], power: 3 W, drive_on: 18 V, drive_off: -4 V, tolerance: ";
    let (found, at, facts) = told(CLEANER, (&format!("{u}5 %"), &format!("{u}30 %")));
    is(&found, "gate-drive-power", "locked-out", "cut_bridge.high_side.u");
    assert_eq!(at, "30 % either way");
    assert!(facts.iter().any(|fact| fact.contains("the highest voltage of the gate")), "{facts:#?}");
    let off = |volts: &str| {
        format!("drive_on: 18 V, drive_off: {volts}, tolerance: 5 %, transformer: cut_gate_transformer")
    };
    let text = CLEANER.replacen(&off("-4 V"), &off("0 V"), 1);
    let (found, at, _) = only(CLEANER, &text);
    is(&found, "false-turn-on", "lifted", "cut_bridge.high_side.u");
    assert_eq!(at, "held at 0 V, and others of its device at -4 V");
}

#[test]
fn what_takes_longest_is_the_first_place() {
    let short =
        |off: &str| format!("filter: 150 ns, delay: 100 ns, turn_off: {off} }}\n  field_rect_drivers");
    let (found, at, _) = told(CLEANER, (&short("700 ns"), &short("4 us")));
    is(&found, "short-circuit-response", "too-slow", "field_supply.main");
    assert_eq!(at, "4 µs to turn off");
    let (found, at, _) = only(CLEANER, &CLEANER.replacen("    skew: 20 ns\n", "    skew: 400 ns\n", 1));
    is(&found, "dead-time", "too-short", "cut_bridge");
    assert_eq!(at, "channels 400 ns apart");
}

#[test]
fn the_surroundings_are_one_cause_for_all_that_they_ask_too_much_of() {
    let (found, at, facts) = told(CLEANER, ("altitude: 3200 m, pollution", "altitude: 5200 m, pollution"));
    is(&found, "fuse-coordination", "thin-air", "pack_fuse");
    assert_eq!(at, "at 5.2 km");
    let named =
        |fact: &&String| fact.contains("main_plus up to 3.5 km") && fact.contains("supply_fuse up to 3.5 km");
    assert!(facts.iter().any(|fact| named(&fact)), "{facts:#?}");
    // One that states less by itself is its own matter.
    let (found, at, _) = only(
        CLEANER,
        &CLEANER.replacen("{ kind: contactor, altitude: 3500 m", "{ kind: contactor, altitude: 2500 m", 1),
    );
    is(&found, "current-headroom", "thin-air", "main_plus");
    assert_eq!(at, "up to 2.5 km");
    let (found, at, facts) = told(CLEANER, ("pollution_degree: 2", "pollution_degree: 3"));
    is(&found, "barrier-distance", "creepage", "isolation.barriers.gate_isolation");
    assert_eq!(at, "pollution degree 3");
    let fact = facts.iter().find(|fact| fact.starts_with("too short for it: ")).expect("the barriers");
    for barrier in ["gate_isolation", "contactor_isolation", "field_isolation", "module_bases"] {
        assert!(fact.contains(&format!("`{barrier}` needs ")), "{fact}");
    }
    // A barrier that is short by itself is told by its own.
    let (found, at, _) = only(CLEANER, &CLEANER.replacen("creepage: 14 mm", "creepage: 12 mm", 1));
    is(&found, "barrier-distance", "creepage", "isolation.barriers.gate_isolation");
    assert_eq!(at, "12 mm here");
}

#[test]
fn an_impulse_is_one_cause_of_a_distance_and_of_what_a_barrier_is_made_for() {
    let field = "field: { touchable: true, bonded: true";
    let (found, at, facts) = told(CLEANER, (field, &format!("{field}, impulse: 12000 V")));
    is(&found, "barrier-distance", "clearance", "isolation.barriers.field_isolation");
    assert_eq!(at, "brings 12 kV");
    assert!(facts.iter().any(|fact| fact.contains("must stand an impulse of")), "{facts:#?}");
    // Made for less by itself, it is that.
    let (found, at, _) = told(CLEANER, ("impulse: 6000 V", "impulse: 4000 V"));
    is(&found, "barrier-distance", "impulse", "isolation.barriers.field_isolation");
    assert_eq!(at, "4 kV here");
}

#[test]
fn a_divider_takes_the_isolation_resistance_with_it() {
    let (found, _, facts) = told(CLEANER, ("resistance: 6 Mohm", "resistance: 60 kohm"));
    is(&found, "leakage-paths", "divider", "link_voltage_field");
    assert!(facts.iter().any(|fact| fact.starts_with("with it leakage-paths: ")), "{facts:#?}");
    let (found, ..) = told(CLEANER, ("isolation_resistance: 2 Mohm", "isolation_resistance: 60 kohm"));
    is(&found, "leakage-paths", "isolation-resistance", "isolation.domains.traction");
}

#[test]
fn metal_and_nets_that_nobody_bonds_are_told_at_their_domain() {
    let chassis = "chassis: { kind: metal, touchable: true, bonded: true, bonding_resistance: 20 mohm }";
    let (found, at, facts) = told(CLEANER, (chassis, "chassis: { kind: metal, touchable: true }"));
    is(&found, "barrier-crossing", "weak", "isolation.barriers.module_bases");
    assert_eq!(at, "nothing says that it is bonded");
    assert!(facts.iter().any(|fact| fact.ends_with("`motor_screen` and `interlock`")), "{facts:#?}");
    let net = "low_voltage: { touchable: true, bonded: true }";
    let (found, at, _) = told(CLEANER, (net, "low_voltage: { touchable: true }"));
    is(&found, "barrier-crossing", "no-barrier", "isolation.low_voltage to chassis");
    assert_eq!(at, "nothing says that it is bonded");
}

#[test]
fn what_two_stages_share_is_told_where_one_of_them_says_so() {
    let own = "walk_controller: { domain: field, from: field_net";
    let (found, at, _) = told(CLEANER, (own, "walk_controller: { domain: field, from: board_net"));
    is(&found, "control-cover", "not-independent", "cut_bridge");
    assert_eq!(at, "walk_bridge takes from here what cut_bridge does");
}

#[test]
fn a_pre_charge_that_is_given_up_is_broken_by_its_contactor() {
    let breaks = |amps: &str| format!("breaks: {{ voltage: 900 V, current: {amps} }},\n      makes: 30 A");
    let (found, at, _) = told(CLEANER, (&breaks("30 A"), &breaks("5 A")));
    is(&found, "stored-energy", "given-up", "pre_contactor");
    assert_eq!(at, "breaks 5 A");
    // 690 V behind 60 ohm and what the pack adds drive 11.5 A.
    let text = changed(CLEANER, &breaks("30 A"), &breaks("12 A"));
    assert_eq!(said(&findings_on(&unit(&text), None)), said(&findings_on(&unit(CLEANER), None)));
}

#[test]
fn a_bootstrap_points_at_what_takes_most_of_its_voltage() {
    const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");
    let of = |text: &str| {
        let review = findings_on(&unit(text), None);
        let told = review.findings.iter().find(|one| one.check == "bootstrap-refresh").expect("it runs down");
        (told.at.label.clone(), review.findings.iter().filter(|one| one.check == "gate-drive-power").count())
    };
    let low = changed(CARRIER, "power: 0.8 W, drive_on: 12 V", "power: 0.8 W, drive_on: 9 V");
    assert_eq!(of(&low), ("charged from 9 V".to_owned(), 0));
    assert_eq!(of(&changed(CARRIER, "diode_drop: 0.7 V", "diode_drop: 4 V")).0, "less 4 V");
    let (first, last) = CARRIER.rsplit_once("undervoltage: 8.5 V").expect("the driver of the lamps");
    assert_eq!(of(&format!("{first}undervoltage: 11 V{last}")).0, "blocks below 11 V");
}

const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");
const HARVESTER: &str = include_str!("../../../examples/peat-harvester.yaml");

/// The same of values at paths, those of parts files among them.
fn told_at(before: &str, path: &str, value: &str) -> (Found, Vec<String>) {
    let was = findings_on(&unit(before), None);
    let now = findings_on(&unit_with(before, &[(path.to_owned(), value.to_owned())]), None);
    let known = said(&was);
    let new: Vec<_> = said(&now).difference(&known).cloned().collect();
    let [found] = new.as_slice() else { panic!("{path}: {new:#?}") };
    assert_eq!(was.not_judged.len(), now.not_judged.len(), "{:#?}", now.not_judged);
    let facts =
        now.findings.iter().find(|one| (one.check, one.defect, &one.part) == (found.0, found.1, &found.2));
    (found.clone(), facts.map(|one| one.facts.clone()).unwrap_or_default())
}

#[test]
fn leads_of_a_package_that_are_too_long_are_told_once_for_all_stages_and_barriers() {
    let package = "devices.sic1200_6m.package.inductance";
    for (henry, more) in [("35 nH", "recurring peak"), ("700 nH", "through air")] {
        let (found, facts) = told_at(SHUTTLE, package, henry);
        is(&found, "turn-off-overshoot", "spike", "front_bridge.high_side");
        let is_along = |fact: &String| fact.starts_with("with it barrier-distance: ") && fact.contains(more);
        assert!(facts.iter().any(is_along), "{henry}: {facts:#?}");
    }
    // Bars that are too long are those of the bus.
    let (found, _) = told_at(SHUTTLE, "buses.link.loop_inductance.bars", "40 nH");
    is(&found, "turn-off-overshoot", "spike", "front_bridge.high_side");
    // A barrier that is made for too little without any spike stays a finding of its own.
    let weak = changed(SHUTTLE, "recurring_peak: 1200 V", "recurring_peak: 700 V");
    let review = findings_on(&unit_with(&weak, &[(package.to_owned(), "35 nH".to_owned())]), None);
    let own = review
        .findings
        .iter()
        .filter(|one| (one.check, one.defect) == ("barrier-distance", "recurring-peak"));
    assert_eq!(own.count(), 1);
}

#[test]
fn one_value_of_a_fuse_is_one_finding() {
    let (found, facts) = told_at(GROOMER, "conductors.cell_fuse.clearing", "3100e3 A^2 s");
    is(&found, "fuse-coordination", "let-through", "cell_contactor");
    assert!(facts.iter().any(|fact| fact.contains("`pack_contactor`")), "{facts:#?}");
    let (found, _) = told_at(HARVESTER, "conductors.pack_fuse.least_breaking", "7.2 kA");
    is(&found, "fuse-coordination", "not-cleared", "pack_fuse");
    let (found, _) = told_at(SHUTTLE, "conductors.supply_fuse.current", "1.6 A");
    is(&found, "fuse-coordination", "overloaded", "supply_fuse");
}
