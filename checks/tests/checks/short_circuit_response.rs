//! How long a short circuit lasts, against what the device stands.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Outcome, Verdict};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed};

const NAME: &str = "short-circuit-response";

fn sweeper(changes: &[(&str, &str)]) -> Review {
    let text = changes.iter().fold(holding(NAME).to_owned(), |text, (from, to)| changed(&text, from, to));
    reviewed(&text)
}

fn verdict<'r>(review: &'r Review, defect: &str) -> &'r Verdict {
    let mut own = review.verdicts.iter().flatten();
    own.find(|one| one.check == NAME && one.defect == defect).expect("a verdict")
}

/// Seconds until it is off, and seconds that the device stands.
fn times(review: &Review) -> (f64, f64) {
    let compared = verdict(review, "too-slow").comparison().copied().expect("a comparison");
    (compared.carried_value, compared.limit)
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9 * other.abs()
}

fn is_missing(review: &Review, named: &str) -> bool {
    review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named))
}

#[test]
fn all_that_passes_stands_against_the_withstand_time_at_the_bus() {
    let review = reviewed(failing(NAME));
    let (carried, limit) = times(&review);
    assert!(near(carried, 4.7e-6) && near(limit, 6e-6 * 360.0 / 400.0), "{carried} {limit}");
    let estimate = "estimate: what the device stands at 360 V is taken to 400 V by its energy";
    assert!(verdict(&review, "too-slow").remarks.iter().any(|remark| remark.to_string() == estimate));
    let told = finding(&review, "too-slow");
    assert!(told.proposals.iter().any(|held| held.say.starts_with("filter: 1.8 µs ->")), "{told:?}");
}

#[test]
fn a_lower_bus_gives_no_more_time_and_is_no_estimate() {
    let review = sweeper(&[("short_circuit_at: { voltage: 360 V", "short_circuit_at: { voltage: 600 V")]);
    assert!(near(times(&review).1, 6e-6));
    assert!(verdict(&review, "too-slow").remarks.is_empty());
}

#[test]
fn beyond_its_data_a_withstand_time_is_not_known() {
    for (from, to, named) in [
        ("{ voltage: 360 V,", "{ voltage: 300 V,", "short_circuit_at.voltage covers a bus voltage"),
        (
            "junction: 175 degC, drive",
            "junction: 60 degC, drive",
            "short_circuit_at.junction covers a junction temperature of at most 60 °C",
        ),
        (
            "drive_on: 15 V }",
            "drive_on: 14 V }",
            "short_circuit_at.drive_on covers a gate voltage of at most 14 V, not 15 V",
        ),
    ] {
        let review = sweeper(&[(from, to)]);
        assert_eq!(defects(&review), [], "{named}");
        assert!(is_missing(&review, named), "{named}: {:?}", review.not_judged);
    }
    // 400 V are 1.25 times 320 V: covered to the last volt.
    let review = sweeper(&[("{ voltage: 360 V,", "{ voltage: 320 V,")]);
    assert!(near(times(&review).1, 4.8e-6));
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, to, named) in [
        ("      short_circuit_withstand: 6 us\n", "", "short_circuit_withstand"),
        ("{ voltage: 360 V, ", "{ ", "short_circuit_at.voltage"),
        ("junction: 175 degC, drive", "drive", "short_circuit_at.junction"),
        (", drive_on: 15 V }\n      gate", " }\n      gate", "short_circuit_at.drive_on"),
        ("filter: 500 ns, ", "", "short_circuit.filter"),
        ("        turn_on_time: 350 ns\n", "", "gate.turn_on_time"),
    ] {
        let review = sweeper(&[(from, to)]);
        assert_eq!(defects(&review), [], "{named}");
        assert!(is_missing(&review, named), "{named}: {:?}", review.not_judged);
    }
}

/// A driver that says how it drives, and nothing of how it notices what its device stands for a moment.
#[test]
fn a_driver_that_notices_nothing_is_found() {
    let short = "    short_circuit: { blanking: 1.5 us, filter: 500 ns, delay: 200 ns, turn_off: 1.2 us }\n";
    let review = sweeper(&[(short, "")]);
    assert_eq!(defects(&review), [(NAME, "unnoticed")]);
    assert!(!is_missing(&review, "short_circuit"), "{:?}", review.not_judged);
    assert_eq!(finding(&review, "unnoticed").grade.word(), "major");
}

#[test]
fn where_neither_device_nor_driver_speaks_of_it_nothing_is_said() {
    let review = sweeper(&[
        ("      short_circuit_withstand: 6 us\n", ""),
        ("    short_circuit: { blanking: 1.5 us, filter: 500 ns, delay: 200 ns, turn_off: 1.2 us }\n", ""),
    ]);
    assert!(review.verdicts.iter().flatten().all(|one| one.check != NAME));
}

#[test]
fn a_look_before_the_device_has_turned_on_trips_every_time() {
    let review = sweeper(&[("blanking: 1.5 us", "blanking: 300 ns")]);
    assert_eq!(defects(&review), [(NAME, "early-look")]);
    let told = finding(&review, "early-look");
    assert!(told.proposals.iter().any(|held| held.say == "blanking: 300 ns -> 350 ns"), "{told:?}");
    // A proposal that mends one thing and breaks the other is not shown.
    let both = sweeper(&[("blanking: 1.5 us", "blanking: 400 ns"), ("turn_off: 1.2 us", "turn_off: 3.6 us")]);
    let told = finding(&both, "too-slow");
    assert!(told.proposals.iter().all(|held| !held.say.starts_with("blanking")), "{told:?}");
}

#[test]
fn a_withstand_that_is_used_up_exactly_holds() {
    // 4.32 µs of 80 % of 5.4 µs.
    let review = sweeper(&[("filter: 500 ns", "filter: 1.42 us")]);
    assert!(matches!(verdict(&review, "too-slow").outcome, Outcome::Holds(_)), "{:?}", times(&review));
}

#[test]
fn a_turn_on_is_slower_behind_a_higher_resistor() {
    let inside = "        internal_resistance: 1 ohm\n";
    let with = |ohms: &str| sweeper(&[(inside, &format!("{inside}        resistance: {ohms}\n"))]);
    let carried =
        |review: &Review| verdict(review, "early-look").comparison().expect("a comparison").carried_value;
    assert!(near(carried(&with("4.3 ohm")), 350e-9) && near(carried(&with("43 ohm")), 350e-9));
    let slow = with("0.86 ohm");
    assert!(near(carried(&slow), 5.0 * 350e-9));
    let told = finding(&slow, "early-look");
    assert!(
        told.because.iter().any(|place| place.label == "on after up to 1.75 µs behind 4.3 Ω"),
        "{told:?}"
    );
}
