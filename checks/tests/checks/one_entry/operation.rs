//! Values that a duty point or a device asks too much by.

use super::{GROOMER, HARVESTER, SHUTTLE, after_in, missing, one, reviewed, said};
use crate::descriptions::changed;

/// A dead time ten times too long is one finding of the bridge that no longer reaches its output, and a shorter one mends it.
#[test]
fn a_dead_time_that_takes_the_voltage_is_told_with_the_output_that_it_costs() {
    let (from, to) = ("    carrier: { frequency: 8 kHz }\n    dead_time: 2.5 us", "dead_time: 25 us");
    let text = changed(HARVESTER, from, &from.replace("dead_time: 2.5 us", to));
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

#[test]
fn a_voltage_below_what_stages_reach_is_found_at_them_and_nothing_else_waits() {
    // The pack may be as low: nothing beside it speaks against that.
    let span = "open_circuit: { lowest: 560 V, nominal: 625 V";
    let may = (span, &*span.replace("560 V", "350 V"));
    let low = "pack: { open_circuit: 620 V } }\n    loads:\n      left_track: { electrical_power: 50 kW";
    let (new, missing) = after_in(GROOMER, &[may, (low, &low.replace("620 V", "350 V"))]);
    let beyond = |part: &str| ("output-reach", "out-of-reach", part.to_owned());
    // Machines at their fastest charge a pack as low as that.
    let charged = ("back-emf", "charging-current", "pack".to_owned());
    let stages = ["auxiliary", "left_bridge", "right_bridge", "tiller_bridge"].map(beyond);
    let expected = core::iter::once(charged).chain(stages).collect();
    assert_eq!((new, missing), (expected, Vec::new()));
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
