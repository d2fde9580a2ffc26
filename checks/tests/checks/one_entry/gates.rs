//! Outputs, drivers and what they say.

use super::{
    CARRIER, FORWARDER, GROOMER, SHUTTLE, after, after_in, each_is_found, missing, one, reviewed,
    without_each,
};
use crate::descriptions::changed;

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
fn an_output_says_what_keeps_it_apart_where_others_do() {
    // Within one domain nothing else asks for it.
    let own = "{ feeds: [lamp_buck.low_side], power: 0.8 W, drive_on: 12 V, drive_off: 0 V, tolerance: 5 %,\n      ";
    let (from, to) = (format!("{own}rail: pack_minus, from"), format!("{own}from"));
    let (new, lacks) = after_in(CARRIER, &[(&from, &to)]);
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
fn the_name_of_a_transformer_left_in_a_list_is_no_second_slip() {
    // What feeds an output and by which transformer is one entry.
    let own = ",\n      transformer: front_lower_transformer, from: board_net";
    assert_eq!(after(own, ""), missing("from of front_lowers is not stated"));
}

#[test]
fn a_voltage_too_low_for_the_driver_is_not_told_of_the_level_as_well() {
    let own = "{ feeds: [front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V";
    let low = own.replace("18 V", "12 V");
    assert_eq!(after(own, &low), one("gate-drive-power", "locked-out", "front_bridge.high_side.u"));
}

#[test]
fn a_soft_edge_waits_for_its_switch_no_longer_than_the_current_flows() {
    assert_eq!(after("dead_time: 150 ns", "dead_time: 1.5 us"), one("dead-time", "wasteful", "auxiliary"));
}

#[test]
fn outputs_that_were_exchanged_between_two_stages_are_one_finding() {
    let exchanged = [
        ("feeds: [front_bridge.high_side.u]", "feeds: [§]"),
        ("feeds: [rear_bridge.high_side.u]", "feeds: [front_bridge.high_side.u]"),
        ("feeds: [§]", "feeds: [rear_bridge.high_side.u]"),
    ];
    let found = one("floating-supplies", "one-transformer", "front_upper_transformer");
    assert_eq!(after_in(SHUTTLE, &exchanged), found);
    let text = exchanged.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "one-transformer").expect("two transformers");
    assert_eq!(
        told.saying,
        "`front_upper_transformer`, `rear_upper_transformer` each feed gates of front_bridge, rear_bridge: they are lost \
         with any of them"
    );
}

#[test]
fn an_output_that_is_named_at_another_gate_is_one_finding_with_the_gate_that_it_leaves() {
    let named = |from: &str, to: &str| after(&format!("feeds: [{from}]"), &format!("feeds: [{to}]"));
    let doubled = |output| one("floating-supplies", "doubled", output);
    // Another leg, another stage, several gates for one, and another domain with other voltages on a rail of its own.
    assert_eq!(named("front_bridge.high_side.u", "front_bridge.high_side.v"), doubled("front_v"));
    assert_eq!(named("front_bridge.high_side.u", "rear_bridge.high_side.u"), doubled("rear_u"));
    assert_eq!(named("front_bridge.low_side", "front_bridge.high_side.u"), doubled("front_lowers"));
    assert_eq!(named("auxiliary.rectifier", "front_bridge.high_side.u"), doubled("auxiliary_rectifiers"));
    // In the list beside its own gate.
    let both = "front_bridge.high_side.u, rear_bridge.high_side.u";
    assert_eq!(named("front_bridge.high_side.u", both), doubled("front_u"));
    let text = changed(SHUTTLE, "feeds: [front_bridge.low_side]", "feeds: [front_bridge.high_side.u]");
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "doubled").expect("an output that doubles");
    let left = "without an output: front_bridge.low_side.u, .low_side.v, .low_side.w";
    assert!(told.facts.iter().any(|fact| fact == left), "{:#?}", told.facts);
}

#[test]
fn outputs_that_suit_one_another_s_gates_were_exchanged() {
    // The one is tied to the rail of the chassis and gives 10 V, the other floats and passes a barrier that lists it.
    let exchanged = [
        ("feeds: [front_bridge.low_side]", "feeds: [§]"),
        ("feeds: [auxiliary.rectifier]", "feeds: [front_bridge.low_side]"),
        ("feeds: [§]", "feeds: [auxiliary.rectifier]"),
    ];
    assert_eq!(after_in(SHUTTLE, &exchanged), one("floating-supplies", "exchanged", "front_lowers"));
    let text = exchanged.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = crate::descriptions::reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "exchanged").expect("two outputs");
    assert_eq!(
        told.saying,
        "`front_lowers` feeds auxiliary.rectifier.1, .rectifier.2 and `auxiliary_rectifiers` front_bridge.low_side.u, \
         .low_side.v, .low_side.w: each suits the gates of the other"
    );
    assert!(
        told.facts.iter().any(|fact| fact.contains("it is tied to rail chassis_minus")),
        "{:#?}",
        told.facts
    );
    assert_eq!(told.proposals[0].say, "exchange `feeds` of front_lowers and auxiliary_rectifiers");
    assert!(review.counts.not_judged > 0, "what the gates are driven with is not known");
    // Two that give the same, within one circuit, may feed either.
    let alike = [
        ("feeds: [front_bridge.high_side.u]", "feeds: [§]"),
        ("feeds: [front_bridge.high_side.v]", "feeds: [front_bridge.high_side.u]"),
        ("feeds: [§]", "feeds: [front_bridge.high_side.v]"),
    ];
    assert_eq!(after_in(SHUTTLE, &alike), (Vec::new(), Vec::new()));
}

/// The output of a lower side and that of an upper gate, exchanged within one bridge: windings and powers of the others tell.
#[test]
fn an_upper_and_the_lower_output_exchanged_are_one_finding() {
    let changes = [
        ("{ feeds: [traction_bridge.low_side], power", "{ feeds: [traction_bridge.middle.u], power"),
        ("{ feeds: [traction_bridge.high_side.u], power", "{ feeds: [traction_bridge.low_side], power"),
        ("traction_bridge.middle.u", "traction_bridge.high_side.u"),
    ];
    assert_eq!(after_in(FORWARDER, &changes), one("floating-supplies", "exchanged", "traction_u"));
    // Of the same power each suits the gates of the other, and what fails together is all that changes.
    let alike =
        changed(FORWARDER, "traction_bridge.low_side], power: 8 W", "traction_bridge.low_side], power: 9 W");
    let alike = alike.replace("], power: 3 W", "], power: 9 W");
    let (new, missing) = after_in(&alike, &changes);
    assert_eq!(new, one("floating-supplies", "one-transformer", "traction_upper_transformer").0);
    assert_eq!(missing, [""; 0]);
}

/// An upper gate on a bootstrap and the output that charges it, exchanged: the rail and the leg that it is charged in tell.
#[test]
fn the_outputs_of_a_buck_exchanged_are_one_finding() {
    let changes = [
        ("feeds: [lamp_buck.low_side]", "feeds: [lamp_buck.other_side]"),
        ("feeds: [lamp_buck.high_side]", "feeds: [lamp_buck.low_side]"),
        ("lamp_buck.other_side", "lamp_buck.high_side"),
    ];
    let (new, missing) = after_in(CARRIER, &changes);
    let of_buck: Vec<_> = new.iter().filter(|one| one.2 != "track_uppers").collect();
    assert_eq!(of_buck, [&("floating-supplies", "exchanged", "lamp_low".to_owned())], "{missing:#?}");
    let text = changes.iter().fold(CARRIER.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = crate::descriptions::reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "exchanged").expect("two outputs");
    let said = "against `lamp_high` at lamp_buck.low_side.1: what charges it feeds no low side of that leg";
    assert!(told.facts.iter().any(|fact| fact == said), "{:#?}", told.facts);
    assert_eq!(told.proposals[0].say, "exchange `feeds` of lamp_low and lamp_high");
}

/// The text with what two drivers drive exchanged.
fn with_drivers_exchanged(text: &str, one: &str, other: &str) -> String {
    let drives = |name: &str| {
        let entry = text.find(&format!("\n  {name}:\n")).expect("the driver");
        let start = entry + text[entry..].find("drives: [").expect("its gates");
        start..start + text[start..].find(']').expect("their end") + 1
    };
    let (first, second) = (drives(one), drives(other));
    let (first, second) = if first.start < second.start { (first, second) } else { (second, first) };
    format!(
        "{}{}{}{}{}",
        &text[..first.start],
        &text[second.clone()],
        &text[first.end..second.start],
        &text[first],
        &text[second.end..]
    )
}

/// What else is stated tells which gates a driver is meant for: its resistors, its lock-out, its current, the time in which it
/// switches a short circuit off, and the barriers that list it.
#[test]
fn drivers_that_were_exchanged_are_one_finding() {
    let pairs = [
        (SHUTTLE, "axle_drivers", "auxiliary_drivers"),
        (SHUTTLE, "axle_drivers", "rectifier_drivers"),
        (SHUTTLE, "auxiliary_drivers", "rectifier_drivers"),
        (FORWARDER, "drive_drivers", "pump_drivers"),
        (FORWARDER, "drive_drivers", "auxiliary_drivers"),
        (FORWARDER, "drive_drivers", "rectifier_drivers"),
        (FORWARDER, "pump_drivers", "auxiliary_drivers"),
        (FORWARDER, "auxiliary_drivers", "rectifier_drivers"),
        (GROOMER, "step_up_drivers", "track_drivers"),
        (GROOMER, "step_up_drivers", "auxiliary_drivers"),
        (GROOMER, "step_up_drivers", "rectifier_drivers"),
        (GROOMER, "track_drivers", "tiller_drivers"),
        (GROOMER, "tiller_drivers", "rectifier_drivers"),
        (GROOMER, "auxiliary_drivers", "rectifier_drivers"),
    ];
    for (text, first, second) in pairs {
        let known = super::said(&reviewed(text));
        let review = reviewed(&with_drivers_exchanged(text, first, second));
        let new: Vec<_> = super::said(&review).difference(&known).cloned().collect();
        assert_eq!(new, [("control-cover", "exchanged-drivers", first.to_owned())], "{second}");
        assert!(review.not_judged.is_empty(), "{first}, {second}: {:#?}", review.not_judged);
        assert!(review.counts.not_judged > 0, "what they do at the gates is not known");
    }
    let text = with_drivers_exchanged(SHUTTLE, "auxiliary_drivers", "rectifier_drivers");
    let review = crate::descriptions::reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "exchanged-drivers").expect("two drivers");
    assert_eq!(
        told.saying,
        "`auxiliary_drivers` drives auxiliary.rectifier and `rectifier_drivers` auxiliary.bridge_high, auxiliary.bridge_low: \
         each suits the gates of the other"
    );
    assert_eq!(told.proposals[0].say, "exchange `drives` of auxiliary_drivers and rectifier_drivers");
    // One that suits its own gates was not exchanged, whatever is wrong with the other.
    let weak = "undervoltage: 7.5 V";
    let found = one("gate-drive-power", "locked-out", "auxiliary.rectifier");
    assert_eq!(after(weak, "undervoltage: 13.5 V"), found);
}
