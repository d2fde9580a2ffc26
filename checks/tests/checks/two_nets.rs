//! What follows from names in a unit of two nets, a battery and a generator: what stays live, what stops together, what nobody watches.

use loadworthy_checks::faults::Kind;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit};
use crate::fault_walk::{effect, faults};

const CLEANER: &str = include_str!("cleaner.yaml");

/// Checks, defects and parts that fail.
fn failing(text: &str) -> Vec<(&'static str, &'static str, String)> {
    let review = findings_on(&unit(text), None);
    review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
}

#[test]
fn a_net_that_a_bridge_makes_alternating_voltage_of_is_touched_at_less() {
    // A bridge makes up to 0.816 of its bus between two phases: 30 V rms of 36.7 V.
    let net = |highest: &str, feeds: &str| {
        format!(
            "edition: 2026\nbuses: {{ link: {{ domain: net, nominal: 24 V, highest: {highest} }} }}\nstages: {{ drive: {{ topology: three_phase_bridge, dc_bus: link{feeds} }} }}\nmachines: {{ motor: {{ kind: permanent_magnet }} }}\nisolation:\n  domains: {{ net: {{ touchable: true }} }}\n"
        )
    };
    let is_touched = |text: &str| failing(text).iter().any(|one| one.1 == "touched");
    assert!(is_touched(&net("37 V", ", feeds: motor")));
    assert!(!is_touched(&net("36 V", ", feeds: motor")));
    // Without a machine nothing alternates, and 60 V direct are the limit.
    assert!(!is_touched(&net("60 V", "")));
    assert!(is_touched(&net("61 V", "")));
}

#[test]
fn stages_are_not_independent_through_the_converter_that_makes_a_bus() {
    let of =
        |text: &str| failing(text).into_iter().filter(|one| one.1 == "not-independent").collect::<Vec<_>>();
    assert_eq!(of(CLEANER), []);
    // What commands the walking bridge lives on a net whose converter then lives on the other one.
    let own = "field_controller: { domain: field, from: field_net }";
    let text = changed(CLEANER, own, "field_controller: { domain: field, from: board_net }");
    assert_eq!(of(&text), [("control-cover", "not-independent", "cut_bridge".to_owned())]);
}

#[test]
fn a_source_without_a_contactor_keeps_its_bus_live() {
    let lost = effect(&faults(CLEANER), Kind::Source, "pack").clone();
    let says = |text: &str| lost.says.iter().any(|said| said.contains(text));
    assert!(says("genset stays at link: it is live, and nothing holds its voltage"), "{:#?}", lost.says);
    assert_eq!(lost.cut_off, ["pack"]);
    // With the generator alone lost, the pack holds its bus.
    let lost = effect(&faults(CLEANER), Kind::Source, "genset").clone();
    assert!(lost.dead.is_empty() && lost.stops.is_empty(), "{lost:#?}");
}

#[test]
fn a_capacitor_to_a_screen_that_nobody_bonds_drives_no_current() {
    let layers = "    screen_film: { between: [traction, screen], kind: basic, clearance: 8 mm, creepage: 15 mm, material_group: II, recurring_peak: 1500 V, frequency: 150 kHz }\n    screen_outer: { between: [screen, low_voltage], kind: supplementary, clearance: 8 mm, creepage: 15 mm, material_group: II, recurring_peak: 1500 V, frequency: 150 kHz }\n    module_bases:";
    let text = changed(CLEANER, "    module_bases:", layers);
    let capacitor = "  y_cable: { kind: suppression, from: link.minus, to: screen, capacitance: 10 nF, class: Y2 }\n  y_plus:";
    let text = changed(&text, "  y_plus:", capacitor);
    let loose =
        changed(&text, "    chassis: {", "    screen: { kind: metal, touchable: false }\n    chassis: {");
    let shorted = |text: &str| effect(&faults(text), Kind::Suppression, "y_cable").says.join("; ");
    let says = shorted(&loose);
    assert!(says.contains("nothing leads from screen to the chassis: no current flows"), "{says}");
    // Bonded, it is the fault of a pole to the chassis.
    let bonded = changed(
        &text,
        "    chassis: {",
        "    screen: { kind: metal, touchable: false, bonded: true }\n    chassis: {",
    );
    let says = shorted(&bonded);
    assert!(!says.contains("no current flows"), "{says}");
}

#[test]
fn what_protects_a_source_without_a_branch_is_not_judged() {
    let branch = "  gen_feed: { from: genset, to: link, through: [gen_fuse, gen_plug, gen_cable] }\n";
    let bare = changed(
        &changed(CLEANER, branch, ""),
        "  genset:\n    kind: generator\n",
        "  genset:\n    kind: generator\n    bus: link\n",
    );
    let waits = |text: &str| {
        let review = findings_on(&unit(text), None);
        review.not_judged.iter().map(|one| one.missing.clone()).collect::<Vec<_>>()
    };
    assert_eq!(waits(CLEANER), [""; 0]);
    assert_eq!(waits(&bare), ["a branch from genset is not stated"]);
}
