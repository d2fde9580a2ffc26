//! Carrier periods in one of the output.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Outcome, Verdict};
use proptest::prelude::*;

use crate::descriptions::{changed, defects, failing, finding, holding, repeatable, reviewed};

const CHECK: &str = "carrier-ratio";

fn own(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|verdict| verdict.check == CHECK).collect()
}

#[test]
fn few_periods_are_minor_and_very_few_major() {
    let review = reviewed(failing(CHECK));
    assert_eq!(defects(&review), [(CHECK, "few-periods")]);
    let one = finding(&review, "few-periods");
    assert_eq!((one.part.as_str(), one.grade.word()), ("fan_bridge", "minor"));
    assert!(one.saying.contains("11.4 carrier periods, 24 % fewer than 15"), "{}", one.saying);
    let review = reviewed(&changed(failing(CHECK), "frequency: 8 kHz", "frequency: 6 kHz"));
    let one = finding(&review, "too-few-periods");
    assert_eq!(one.grade.word(), "major");
    assert!(one.saying.contains("8.57 carrier periods, 4.8 % fewer than 9"), "{}", one.saying);
    let because: Vec<_> = one.because.iter().map(|place| place.label.as_str()).collect();
    assert_eq!(because, ["an output of 700 Hz"]);
    assert_eq!(one.at.label, "8.57 carrier periods in one of the output");
}

#[test]
fn the_carrier_that_is_proposed_gives_fifteen_periods() {
    for carrier in ["8 kHz", "6 kHz"] {
        let review = reviewed(&changed(failing(CHECK), "frequency: 8 kHz", &format!("frequency: {carrier}")));
        let one = review.findings.iter().find(|one| one.check == CHECK).expect("a finding");
        assert_eq!(one.proposals[0].say, format!("carrier frequency: {carrier} -> 10.5 kHz"));
        assert!(
            one.proposals[0].side_effects.iter().any(|effect| effect.contains("loss of fan_bridge")),
            "{one:#?}"
        );
    }
}

#[test]
fn standstill_and_rest_make_no_turn() {
    let still = changed(
        failing(CHECK),
        "{ electrical_power: 24 kW, line_voltage: 200 V rms, power_factor: 0.9, frequency: 700 Hz }",
        "{ phase_current: 60 A rms, frequency: 0 Hz }",
    );
    assert!(own(&reviewed(&still)).is_empty());
    let rest = changed(
        failing(CHECK),
        "    loads:\n      fan_motor: { electrical_power: 24 kW, line_voltage: 200 V rms, power_factor: 0.9, frequency: 700 Hz }\n",
        "",
    );
    assert!(own(&reviewed(&rest)).is_empty());
}

#[test]
fn a_carrier_or_a_frequency_that_is_not_stated_is_named() {
    for (from, to, missing) in [
        ("    carrier: { frequency: 8 kHz }\n", "", "stages.fan_bridge.carrier.frequency is not stated"),
        (", frequency: 700 Hz }", " }", "duty.spraying.loads.fan_motor.frequency is not stated"),
    ] {
        let review = reviewed(&changed(failing(CHECK), from, to));
        let open: Vec<_> = review.not_judged.iter().filter(|one| one.checks.contains(&CHECK)).collect();
        assert!(open.iter().any(|one| one.missing == missing), "{open:#?}");
    }
}

#[test]
fn a_speed_is_pointed_at_where_it_makes_the_frequency() {
    let text = changed(
        failing(CHECK),
        "{ electrical_power: 24 kW, line_voltage: 200 V rms, power_factor: 0.9, frequency: 700 Hz }",
        "{ torque: 8 N m, speed: 10500 1/min }",
    );
    let text = changed(
        &text,
        "phase_resistance: 12 mohm,",
        "pole_pairs: 4, flux_linkage: 0.025 V s, phase_resistance: 12 mohm,",
    );
    let one_of = |review: &Review| review.findings.iter().find(|one| one.check == CHECK).cloned();
    let one = one_of(&reviewed(&text)).expect("a finding");
    assert!(one.saying.contains("11.4 carrier periods"), "{}", one.saying);
    assert_eq!(one.because[0].label, "an output of 700 Hz");
}

proptest! {
    #![proptest_config(repeatable(100))]

    #[test]
    fn the_verdict_follows_the_ratio(ratio in 3.0..40.0_f64, frequency in 20.0..900.0_f64) {
        prop_assume!((ratio - 9.0).abs() > 1e-6 && (ratio - 15.0).abs() > 1e-6);
        let text = changed(holding(CHECK), "frequency: 12 kHz", &format!("frequency: {} Hz", ratio * frequency));
        let text = changed(&text, "frequency: 700 Hz", &format!("frequency: {frequency} Hz"));
        let review = reviewed(&text);
        let verdicts = own(&review);
        prop_assert_eq!(verdicts.len(), 1);
        let said = (verdicts[0].defect, matches!(verdicts[0].outcome, Outcome::Holds(_)));
        let expected = match ratio {
            ratio if ratio < 9.0 => ("too-few-periods", false),
            ratio if ratio < 15.0 => ("few-periods", false),
            _ => ("few-periods", true),
        };
        prop_assert_eq!(said, expected);
    }
}

#[test]
fn the_own_examples_show_this_defect_alone_and_hold_without_a_gap() {
    let fails = reviewed(failing(CHECK));
    assert_eq!(defects(&fails), [(CHECK, "few-periods")]);
    assert_eq!(fails.findings.len(), 1);
    let holds = reviewed(holding(CHECK));
    assert!(holds.verdicts.iter().flatten().all(crate::descriptions::holds), "{:#?}", holds.not_judged);
    assert!(holds.verdicts.iter().flatten().any(|verdict| verdict.check == CHECK));
}

#[test]
fn a_duty_point_without_a_solution_asks_for_its_periods_all_the_same() {
    // At 20 Hz the ripple leaves no steady state of any junction.
    let slow = changed(failing(CHECK), "frequency: 8 kHz", "frequency: 20 Hz");
    let review = reviewed(&slow);
    let one = finding(&review, "too-few-periods");
    assert!(one.saying.contains("0.0286 carrier periods"), "{}", one.saying);
    assert!(own(&review).iter().all(|verdict| !matches!(verdict.outcome, Outcome::NotJudged(_))));
}
