//! What lies before a fuse, on the way back to a source, and around its other pole; what nobody is said to read or to hold.

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit};

const HAULER: &str = include_str!("hauler.yaml");
const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");
const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");

/// What is new after a change: check, defect and part, and what is missing.
fn after(text: &str, from: &str, to: &str) -> (Vec<(&'static str, &'static str, String)>, Vec<String>) {
    let said = |review: &Review| -> BTreeSet<_> {
        review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
    };
    let before = findings_on(&unit(text), None);
    let after = findings_on(&unit(&changed(text, from, to)), None);
    let new = said(&after).difference(&said(&before)).cloned().collect();
    (new, after.not_judged.iter().map(|one| one.missing.clone()).collect())
}

fn is_one(text: &str, from: &str, to: &str, found: (&'static str, &'static str, &str)) {
    let (check, defect, part) = found;
    assert_eq!(after(text, from, to), (vec![(check, defect, part.to_owned())], Vec::new()));
}

#[test]
fn a_cable_between_a_bus_and_its_own_fuse_meets_what_the_fuse_of_the_source_lets_through() {
    let turned = "through: [supply_cable, supply_fuse] }";
    let found = ("fuse-coordination", "let-through", "supply_cable");
    is_one(SHUTTLE, "through: [supply_fuse, supply_cable] }", turned, found);
}

#[test]
fn what_leads_back_to_a_source_breaks_its_voltage_and_stands_its_fault() {
    let minus = "  drive_minus_contactor:\n    { kind: contactor, altitude: 3000 m, current: { continuous: 320 A, at: 85 degC }, breaks: { voltage: 800 V, current: 1000 A },\n      opens: { above: 290 A, after: 60 s }, withstands: 1.4e6 A^2 s,";
    let low = minus.replace("voltage: 800 V", "voltage: 100 V");
    is_one(HAULER, minus, &low, ("current-headroom", "breaking-voltage", "drive_minus_contactor"));
    let weak = minus.replace("1.4e6", "1e3");
    is_one(HAULER, minus, &weak, ("fuse-coordination", "let-through", "drive_minus_contactor"));
}

#[test]
fn a_pre_charge_around_the_other_pole_is_one_as_well() {
    let other = after(HAULER, "around: drive_contactor", "around: drive_minus_contactor");
    assert_eq!(other, (Vec::new(), Vec::new()));
    let weak = changed(HAULER, "around: drive_contactor", "around: drive_minus_contactor");
    let (found, _) = after(&weak, "resistance: 60 ohm, energy: 400 J", "resistance: 6 ohm, energy: 100 J");
    let defects: Vec<&str> = found.iter().map(|one| one.1).collect();
    assert_eq!(defects, ["precharge-energy", "precharge-inrush"], "{found:?}");
}

#[test]
fn a_trip_whose_currents_nobody_is_said_to_read_is_not_judged() {
    let of = "of: [front_bridge.u, front_bridge.v], read_by: [front_controller],";
    let (found, missing) = after(SHUTTLE, of, "of: [front_bridge.u, front_bridge.v],");
    assert_eq!((found.len(), missing), (0, vec!["read_by of front_currents is not stated".to_owned()]));
}

#[test]
fn a_fuel_cell_with_nothing_in_its_branch_is_not_judged() {
    let feed = "to: cell_bus, through: [cell_fuse, cell_contactor, cell_plug, cell_bar] }\n  cell_precharge: { around: cell_contactor, through: [cell_precharge_contactor, cell_precharge_resistor] }";
    let (_, missing) = after(GROOMER, feed, "to: cell_bus }");
    assert!(missing.iter().any(|one| one.starts_with("branches.cell_feed.through")), "{missing:?}");
}

#[test]
fn a_contactor_held_by_whoever_does_not_read_what_stands_behind_it_is_found() {
    let main = "coil: { from: board_net, controller: drive_controller } }    # opens with either";
    let other = main.replace("drive_controller", "pump_controller");
    is_one(FORWARDER, main, &other, ("control-cover", "blind-contactor", "main_contactor"));
}
