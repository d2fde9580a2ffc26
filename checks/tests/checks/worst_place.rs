//! The worst place, moment and state of a fault, and what holds only as long as nobody looks there.

use crate::descriptions::{changed, figure, finding, holding, reviewed};
use crate::quietly::{CARRIER, HARVESTER, SHUTTLE, new, one};

/// A delay that is stated too short hides nothing: the current rises until the gates are off.
#[test]
fn a_current_rises_until_its_gates_are_off() {
    let sooner =
        changed(SHUTTLE, "trip_tolerance: 4 %, trip_delay: 3 us", "trip_tolerance: 4 %, trip_delay: 30 ns");
    let needed = figure(&sooner, "front_bridge.command_to_off_time");
    // 290 A and 4 %, and the highest voltage of the link across 260 µH for as long as the gates take.
    let by_hand = 290.0 * 1.04 + figure(&sooner, "link.highest_voltage") / 260e-6 * needed;
    let got = figure(&sooner, "front_bridge.tripped_current");
    assert!((got / by_hand - 1.0).abs() < 1e-9, "{got} {by_hand}");
    // The delay that holds is the one that is stated.
    let by_hand = 290.0 * 1.04 + figure(SHUTTLE, "link.highest_voltage") / 260e-6 * 3e-6;
    let got = figure(SHUTTLE, "front_bridge.tripped_current");
    assert!((got / by_hand - 1.0).abs() < 1e-9, "{got} {by_hand}");
}

#[test]
fn a_driver_that_does_not_say_how_long_it_takes_leaves_a_delay_open() {
    let (found, waits) = new(SHUTTLE, &[("    delay: 90 ns\n", "")]);
    assert_eq!(found, []);
    assert_eq!(waits, ["drivers.axle_drivers.delay is not stated"]);
}

/// What a pre-charge within a source begins with, against its source, its contactor and its fuse.
#[test]
fn a_small_resistor_within_a_source_is_no_pre_charge() {
    let small = ("resistor: 47 ohm", "resistor: 0.6 ohm");
    // What it gives for good says nothing of a moment in which it gives four times as much.
    assert_eq!(new(HARVESTER, &[small]), (vec![], vec!["discharge.peaks of pack is not stated".to_owned()]));
    let stated = "discharge: { continuous: 300 A }";
    let peak = changed(
        HARVESTER,
        stated,
        "discharge: { continuous: 300 A, peaks: [{ current: 600 A, lasts: 10 s }] }",
    );
    assert_eq!(new(&peak, &[small]), one("stored-energy", "precharge-surge", "pack"));
    let told = reviewed(&changed(&peak, small.0, small.1));
    // 720 V over 0.6 Ω.
    let compared = finding(&told, "precharge-surge").comparison.expect("a comparison");
    assert!((compared.carried_value - 1200.0).abs() < 1e-6, "{compared:?}");
    // The whole of it: half of C·V² in 0.6 Ω, less what is left.
    let text = changed(HARVESTER, small.0, small.1);
    let pulse = figure(&text, "pack.precharge_let_through");
    assert!((pulse / (figure(&text, "pack.precharge_energy") / 0.6) - 1.0).abs() < 1e-12);
    // No contact within the source makes more than the one that it leads around.
    let weak = (
        "breaks: { voltage: 850 V, current: 2 kA }",
        "makes: 15 A, breaks: { voltage: 850 V, current: 2 kA }",
    );
    let more = ("resistor: 47 ohm", "resistor: 40 ohm");
    let told = reviewed(&changed(&changed(HARVESTER, weak.0, weak.1), more.0, more.1));
    assert_eq!(finding(&told, "precharge-surge").grade.word(), "major");
}

/// A shunt carries for good what its power and its resistance say, also in an overload.
#[test]
fn a_shunt_is_held_against_overloads() {
    let states = |power: &str| {
        changed(
            CARRIER,
            "range: 600 A, resistance: 0.10 mohm",
            &format!("range: 600 A, resistance: 0.10 mohm, power: {power}"),
        )
    };
    // √(16 W/0.1 mΩ) = 400 A, √(9 W/0.1 mΩ) = 300 A.
    assert!((figure(&states("16 W"), "pack_shunt.continuous_capacity") - 400.0).abs() < 1e-9);
    assert!((figure(&states("9 W"), "pack_shunt.continuous_capacity") - 300.0).abs() < 1e-9);
}

#[test]
fn a_resistor_that_is_asked_for_and_not_there_is_as_grave_as_none() {
    let all = "    discharge: { resistor: 47 kohm, resistor_power: 25 W, passively_within: 120 s }\n";
    let grade = |then: &str| {
        let told = reviewed(&changed(HARVESTER, all, then));
        finding(&told, "no-discharge").grade.word()
    };
    assert_eq!(grade("    discharge: { active: { power: 300 W } }\n"), "minor");
    assert_eq!(grade("    discharge: { active: { power: 300 W }, passively_within: 120 s }\n"), "major");
}

/// A machine may be at its fastest while its battery is empty.
#[test]
fn a_bus_is_charged_at_the_least_that_its_battery_has() {
    let low = changed(SHUTTLE, "lowest: 540 V", "lowest: 500 V");
    assert!((figure(SHUTTLE, "link.coasting_lowest_voltage") - 540.0).abs() < 1e-9);
    assert!((figure(&low, "link.coasting_lowest_voltage") - 500.0).abs() < 1e-9);
    assert!(figure(&low, "link.coasting_current") > figure(SHUTTLE, "link.coasting_current"));
    assert_eq!(
        new(SHUTTLE, &[("lowest: 540 V", "lowest: 500 V")]),
        one("back-emf", "charging-current", "pack")
    );
}

/// What holds a bus and trips at less than comes at once lets it fall until all is off.
#[test]
fn a_stage_that_trips_below_a_step_holds_no_bus() {
    let text = holding("supply-voltage");
    // 450 W at 6 V are 75 A, and 75 A less 3 % trip.
    let lower = ("lamps: { lowest: 12 V }", "lamps: { lowest: 6 V }");
    assert_eq!(new(text, &[lower]), one("supply-voltage", "held-short", "lamps"));
    assert!((figure(&changed(text, lower.0, lower.1), "lamps.held_up_current") - 72.75).abs() < 1e-9);
    assert_eq!(new(text, &[("lamps: { lowest: 12 V }", "lamps: { lowest: 7 V }")]).0, []);
}
