//! The spike of a turn-off, against what the device blocks in the cold.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Outcome, Verdict};

use crate::descriptions::{changed, defects, failing, holding, reviewed};

const NAME: &str = "turn-off-overshoot";
/// A trip at 450 A, 3 % late, and 2 µs more of 400 V over 240 µH.
const AMPS: f64 = 450.0 * 1.03 + 400.0 / 240e-6 * 2e-6;
/// 80 % of it in 90 ns.
const SLOPE: f64 = 0.8 * AMPS / 90e-9;

fn sweeper(from: &str, to: &str) -> Review {
    reviewed(&changed(holding(NAME), from, to))
}

fn high_side(review: &Review) -> &Verdict {
    review.verdicts.iter().flatten().find(|one| one.check == NAME).expect("a verdict")
}

/// Volts across the position and volts that its device blocks.
fn volts(review: &Review) -> (f64, f64) {
    let compared = high_side(review).comparison().copied().expect("a comparison");
    (compared.carried_value, compared.limit)
}

#[test]
fn bars_bank_and_package_make_the_loop() {
    let (carried, limit) = volts(&reviewed(holding(NAME)));
    // 6 nH, 4 nH + 20 nH/5, 14 nH; what the trip lets through, of which 80 % fall in 90 ns.
    assert!((carried - (400.0 + 28e-9 * SLOPE)).abs() < 1e-6, "{carried}");
    // 0.1 % a kelvin from 25 °C down to −25 °C.
    assert!((limit - 617.5).abs() < 1e-9, "{limit}");
    let (carried, _) = volts(&reviewed(failing(NAME)));
    assert!((carried - (400.0 + 47e-9 * SLOPE)).abs() < 1e-6, "{carried}");
}

#[test]
fn packages_of_one_switch_are_crossed_twice_and_those_in_parallel_share() {
    let (carried, _) = volts(&sweeper("circuit: half_bridge", "circuit: single"));
    assert!((carried - (400.0 + 42e-9 * SLOPE)).abs() < 1e-6, "{carried}");
    let text = changed(
        holding(NAME),
        "high_side: { fitted: hb650_300, parallel: 1 }",
        "high_side: { fitted: hb650_300, parallel: 2 }",
    );
    let text = changed(
        &text,
        "low_side: { fitted: hb650_300, parallel: 1 }",
        "low_side: { fitted: hb650_300, parallel: 2 }",
    );
    let (carried, _) = volts(&reviewed(&text));
    assert!((carried - (400.0 + 21e-9 * SLOPE)).abs() < 1e-6, "{carried}");
}

#[test]
fn without_a_trip_the_crest_with_its_ripple_counts_and_the_verdict_says_so() {
    // Nor does anything read the phases, that a trip could come of.
    let bare = changed(holding(NAME), "    trip: 450 A\n", "");
    let review = reviewed(&changed(
        &bare,
        "    current_sensing: { range: 600 A, trip_tolerance: 3 %, trip_delay: 2 us }\n",
        "",
    ));
    let verdict = high_side(&review);
    let (carried, _) = volts(&review);
    let amps = (carried - 400.0) / 28e-9 * 90e-9 / 0.8;
    // 35 kW at 165 V and 0.9: 136 A RMS, a crest of 192 A, some 6 A of ripple on top.
    let crest = 35e3 / (3f64.sqrt() * 165.0 * 0.9) * 2f64.sqrt();
    assert!(amps > crest && amps < crest * 1.06, "{amps} A over {crest} A");
    assert!(verdict.remarks.iter().any(|remark| remark.to_string().contains("no `trip` is stated")));
    assert!(high_side(&reviewed(holding(NAME))).remarks.is_empty());
}

#[test]
fn without_a_trip_that_the_unit_should_have_nothing_holds() {
    let review = sweeper("    trip: 450 A\n", "");
    let found = review.findings.iter().find(|one| one.defect == "no-trip").expect("no trip");
    assert_eq!(found.part, "sweeper_bridge");
    let waits = found.facts.iter().find(|fact| fact.starts_with("not judged for want of it: "));
    assert!(waits.is_some_and(|waits| waits.contains(NAME)), "{:?}", found.facts);
}

#[test]
fn a_field_effect_transistor_is_held_against_the_ring_as_well() {
    let text = changed(holding(NAME), "kind: igbt", "kind: mosfet");
    let text = changed(
        &text,
        "      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.00 V, 1.45 V] }\n        - { junction: 150 degC, current: [75 A, 300 A], voltage: [1.02 V, 1.65 V] }\n      energies:\n        { voltage: 300 V, junction: 150 degC, current: [150 A, 300 A], turn_on",
        "      output_capacitance: 1 nF\n      on_resistance: [{ junction: 25 degC, resistance: 3 mohm }]\n      energies:\n        { voltage: 300 V, junction: 150 degC, current: [150 A, 300 A], turn_on",
    );
    let review = reviewed(&text);
    let (carried, _) = volts(&review);
    // The plateau of 516 V holds; twice what it adds does not.
    assert!((carried - (400.0 + 2.0 * 28e-9 * SLOPE)).abs() < 1e-6, "{carried}");
    let Outcome::Fails { grade, .. } = &high_side(&review).outcome else {
        panic!("{:?}", high_side(&review))
    };
    assert_eq!(grade.word(), "minor");
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, to, named) in [
        ("coldest: -25 degC, ", "", "surroundings.coldest"),
        ("      current_fall_time: 90 ns\n", "", "current_fall_time"),
        (", inductance: 14 nH", "", "package.inductance"),
        (
            "path: { inductance: 4 nH, resistance: 0.2 mohm }",
            "path: { resistance: 0.2 mohm }",
            "path.inductance",
        ),
        ("    highest: 400 V\n", "", "highest"),
        ("    loop_inductance: { bars: 6 nH }\n", "", "loop_inductance.bars"),
    ] {
        let review = sweeper(from, to);
        assert_eq!(defects(&review), [], "{named}");
        assert!(
            matches!(high_side(&review).outcome, Outcome::NotJudged(_)),
            "{named}: {:?}",
            high_side(&review)
        );
        let told =
            review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named));
        assert!(told, "{named}: {:?}", review.not_judged);
    }
}

#[test]
fn a_bus_without_a_bank_names_it() {
    let text = holding(NAME);
    let (start, end) =
        (text.find("capacitors:\n").expect("a bank"), text.find("capacitor_types:\n").expect("types"));
    let bare = format!("{}{}", &text[..start], &text[end..]);
    // Where a bus is discharged, that it has no bank is found, and this is told with it.
    let discharge = "    discharge: { resistor: 120 kohm, resistor_power: 3 W, passively_within: 120 s }\n";
    let bare = changed(&bare, discharge, "");
    // A fall time alone is enough to ask what the current falls against.
    for text in [&bare, &changed(&bare, "    loop_inductance: { bars: 6 nH }\n", "")] {
        let review = reviewed(text);
        let told = review.not_judged.iter().any(|one| one.missing.contains("a bank on link"));
        assert!(told, "{:?}", review.not_judged);
    }
}

#[test]
fn who_speaks_of_no_loop_is_not_asked() {
    let review = reviewed(holding("fuse-coordination"));
    assert!(review.verdicts.iter().flatten().all(|one| one.check != NAME));
}

#[test]
fn without_its_delay_a_trip_counts_with_its_tolerance_and_what_holds_by_that_is_not_judged() {
    let amps = |text: &str| {
        assert!(matches!(high_side(&reviewed(text)).outcome, Outcome::NotJudged(_)));
        crate::core_saturation::figure(text, "high_side.turn_off_current")
    };
    let sensing = "    current_sensing: { range: 600 A, trip_tolerance: 3 %, trip_delay: 2 us }\n";
    let late = amps(&changed(holding(NAME), ", trip_delay: 2 us", ""));
    assert!((late - 450.0 * 1.03).abs() < 1e-6, "{late}");
    // 5 % where nothing is said.
    let assumed = amps(&changed(holding(NAME), sensing, ""));
    assert!((assumed - 450.0 * 1.05).abs() < 1e-6, "{assumed}");
    // What fails by the level alone fails.
    let high = changed(&changed(holding(NAME), ", trip_delay: 2 us", ""), "trip: 450 A", "trip: 900 A");
    assert!(matches!(high_side(&reviewed(&high)).outcome, Outcome::Fails { .. }));
}

/// What is told of loop and fall holds when it is written, and a little more, or sooner, does not.
#[test]
fn a_loop_and_a_fall_that_would_hold_are_told_and_no_device_of_another_kind_is_proposed() {
    let review = reviewed(failing(NAME));
    let [finding] = review.findings.as_slice() else { panic!("{:#?}", review.findings) };
    let fact =
        finding.facts.iter().find(|fact| fact.starts_with("it would hold with a loop of at most 37.5 nH"));
    assert!(fact.is_some_and(|fact| fact.contains("at least 113 ns to fall")), "{:#?}", finding.facts);
    let found = |from: &str, to: &str| defects(&reviewed(&changed(failing(NAME), from, to)));
    // 22 nH of it are bank and package.
    assert_eq!(found("bars: 25 nH", "bars: 15.5 nH"), []);
    assert_eq!(found("bars: 25 nH", "bars: 15.6 nH"), [(NAME, "spike")]);
    assert_eq!(found("fall_time: 90 ns", "fall_time: 113 ns"), []);
    assert_eq!(found("fall_time: 90 ns", "fall_time: 112 ns"), [(NAME, "spike")]);
    // Nothing between 650 V and half as much again blocks what 300 V more ask for.
    let review = reviewed(&changed(failing(NAME), "bars: 25 nH", "bars: 110 nH"));
    let finding = review.findings.iter().find(|one| one.check == NAME).expect("the spike");
    assert!(finding.proposals.iter().all(|one| !one.say.contains("device")), "{:#?}", finding.proposals);
}
