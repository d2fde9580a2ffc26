//! Dead times against what turns off slowest, and against the carrier period.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Comparison, Grade};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed, trencher};

const NAME: &str = "dead-time";

fn belt(changes: &[(&str, &str)]) -> Review {
    let text = changes.iter().fold(holding(NAME).to_owned(), |text, (from, to)| changed(&text, from, to));
    reviewed(&text)
}

fn compared(review: &Review, defect: &str) -> Comparison {
    let mut own = review.verdicts.iter().flatten();
    let own = own.find(|one| one.check == NAME && one.defect == defect).expect("a verdict");
    own.comparison().copied().expect("a comparison")
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9 * other.abs()
}

#[test]
fn the_slowest_turn_off_less_the_fastest_turn_on_and_what_channels_lie_apart() {
    let review = reviewed(failing(NAME));
    let short = compared(&review, "too-short");
    assert!(near(short.carried_value, 350e-9 + 90e-9 - 90e-9 + 40e-9), "{short:?}");
    assert!(near(short.limit, 400e-9) && near(short.allowed, 332e-9), "{short:?}");
    let proposals = &finding(&review, "too-short").proposals;
    assert!(proposals.iter().any(|held| held.say == "dead time: 400 ns -> 470 ns"), "{proposals:?}");
}

#[test]
fn the_margin_of_the_edition_is_the_habit_of_the_trade() {
    let silent = belt(&[("  dead_time: { use_at_most: 83 % }\n", "")]);
    assert!(near(compared(&silent, "too-short").allowed, 600e-9 / 1.2));
}

#[test]
fn two_devices_in_a_leg_count_both_ways() {
    // The low side turns off as slowly as before, the high side turns on sooner: that way decides.
    let text = holding(NAME);
    let start = text.find("  hb650_300:\n").expect("a device");
    let end = text.find("\ncooling:\n").expect("the end of the devices");
    let sooner = changed(&text[start..end], "turn_on_delay: 90 ns", "turn_on_delay: 30 ns");
    let sooner = changed(&sooner, "turn_off_delay: 350 ns", "turn_off_delay: 100 ns");
    let other = changed(&sooner, "hb650_300:", "hb650_fast:");
    let text = format!("{}{other}{}", &text[..end], &text[end..]);
    let text = changed(&text, "circuit: half_bridge", "circuit: single");
    let text = changed(&text, "high_side: { fitted: hb650_300", "high_side: { fitted: hb650_fast");
    let review = reviewed(&text);
    assert!(near(compared(&review, "too-short").carried_value, 350e-9 + 90e-9 - 30e-9 + 40e-9));
}

#[test]
fn drivers_of_two_kinds_lie_apart_by_their_delays() {
    let text = changed(
        holding(NAME),
        "    drives: [belt_bridge.high_side, belt_bridge.low_side]\n",
        "    drives: [belt_bridge.high_side]\n",
    );
    let start = text.find("  belt_drivers:\n").expect("drivers");
    let end = text.find("devices:\n").expect("devices");
    let other = changed(&text[start..end - 1], "belt_drivers:", "slow_drivers:");
    let other = changed(&other, "belt_bridge.high_side", "belt_bridge.low_side");
    let other = changed(&other, "delay: 120 ns", "delay: 300 ns");
    let text = format!("{}{other}{}", &text[..end - 1], &text[end - 1..]);
    let review = reviewed(&text);
    // The slow one turns off 300 ns late, the other on after 120 ns less its skew.
    let needed = compared(&review, "too-short").carried_value;
    assert!(near(needed, 350e-9 + 90e-9 - 90e-9 + 40e-9 + 180e-9), "{needed}");
}

#[test]
fn a_dead_time_that_takes_much_of_the_period_is_a_note() {
    let review = belt(&[("dead_time: 600 ns", "dead_time: 4 us")]);
    assert_eq!(defects(&review), [(NAME, "wasteful")]);
    let wasteful = compared(&review, "wasteful");
    assert!(near(wasteful.carried_value, 4e-6 * 8e3) && near(wasteful.allowed, 0.03));
    let told = finding(&review, "wasteful");
    assert_eq!(told.grade, Grade::Note);
    assert!(told.proposals.iter().any(|held| held.say.starts_with("dead time: 4 µs -> 3.7 µs")), "{told:?}");
}

#[test]
fn where_the_turn_off_needs_all_of_it_the_carrier_is_proposed() {
    let review = belt(&[
        ("dead_time: 600 ns", "dead_time: 4 us"),
        ("turn_off_delay: 350 ns", "turn_off_delay: 3.2 us"),
    ]);
    assert_eq!(defects(&review), [(NAME, "wasteful")]);
    let told = finding(&review, "wasteful");
    assert!(told.proposals.iter().all(|held| held.say.starts_with("carrier frequency")), "{told:?}");
    assert!(!told.proposals.is_empty());
}

#[test]
fn no_time_at_all_and_very_much_are_judged() {
    let none = belt(&[("dead_time: 600 ns", "dead_time: 0 ns")]);
    assert_eq!(defects(&none), [(NAME, "too-short")]);
    let quick = belt(&[
        ("turn_off_delay: 350 ns", "turn_off_delay: 0 s"),
        ("turn_on_delay: 90 ns", "turn_on_delay: 340 ns"),
    ]);
    assert!(compared(&quick, "too-short").carried_value < 0.0);
    assert_eq!(defects(&quick), []);
}

#[test]
fn from_no_time_at_all_what_is_needed_is_proposed() {
    let review = reviewed(&changed(failing(NAME), "dead_time: 400 ns", "dead_time: 0 ns"));
    // 390 ns are 83 % of 470 ns.
    let proposals = &finding(&review, "too-short").proposals;
    assert!(proposals.iter().any(|held| held.say == "dead time: 0 s -> 470 ns"), "{proposals:?}");
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, named) in [
        ("        turn_off_delay: 350 ns\n", "gate.turn_off_delay"),
        ("        turn_on_delay: 90 ns\n", "gate.turn_on_delay"),
        ("      current_fall_time: 90 ns\n", "current_fall_time"),
        ("    skew: 40 ns\n", "belt_drivers.skew"),
    ] {
        let review = belt(&[(from, "")]);
        assert_eq!(defects(&review), [], "{named}");
        let told =
            review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named));
        assert!(told, "{named}: {:?}", review.not_judged);
    }
    // A driver of its own delay is not compared with itself.
    assert_eq!(belt(&[("    delay: 120 ns\n", "")]).counts.not_judged, 0);
}

#[test]
fn who_says_nothing_of_gate_drives_is_not_asked() {
    let review = reviewed(trencher());
    assert!(review.verdicts.iter().flatten().all(|one| one.check != NAME));
}

/// The belt drive with a gate resistance that the times of its device hold at; 4.3 ohm are fitted, inside and outside.
fn stated_with(ohms: &str) -> Review {
    let inside = "        internal_resistance: 1 ohm\n";
    belt(&[(inside, &format!("{inside}        resistance: {ohms}\n"))])
}

#[test]
fn delays_go_with_the_resistor_that_is_fitted() {
    // As stated, longer off behind more than stated, sooner on behind less; nothing is earned.
    for (ohms, factor_off, factor_on) in
        [("4.3 ohm", 1.0, 1.0), ("1.72 ohm", 2.5, 1.0), ("8.6 ohm", 1.0, 0.5)]
    {
        let needed = compared(&stated_with(ohms), "too-short").carried_value;
        assert!(near(needed, factor_off * 350e-9 + 90e-9 - factor_on * 90e-9 + 40e-9), "{ohms}: {needed}");
    }
    let slow = stated_with("3 ohm");
    let told = finding(&slow, "too-short");
    let labels: Vec<&str> = told.because.iter().map(|place| place.label.as_str()).collect();
    assert!(labels.contains(&"off after 502 ns behind 4.3 Ω"), "{labels:?}");
    assert!(
        told.proposals.iter().any(|held| held.say.starts_with("turn-off resistor: 3.3 Ω ->")),
        "{told:?}"
    );
}

#[test]
fn behind_ten_times_the_resistance_no_delay_is_known() {
    let review = stated_with("0.42 ohm");
    assert!(!defects(&review).iter().any(|(check, _)| *check == NAME));
    let said: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(said.iter().any(|one| one.contains("turn_off_delay") && one.contains("10·R_0")), "{said:?}");
}

#[test]
fn what_is_usual_keeps_no_switches_apart() {
    let review = belt(&[("    dead_time: 600 ns\n", "")]);
    let waits = |one: &&loadworthy_checks::review::NotJudged| one.checks == [NAME];
    let said = review.not_judged.iter().find(waits).expect("a line");
    assert_eq!(said.missing, "stages.belt_bridge.dead_time is not stated");
    assert!(
        review
            .verdicts
            .iter()
            .flatten()
            .all(|one| { (one.check, one.defect) != (NAME, "too-short") || one.comparison().is_none() })
    );
}
