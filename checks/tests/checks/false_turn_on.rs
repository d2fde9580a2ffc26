//! Gates that are held off while the other switch of their leg turns on.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Comparison, Grade};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed};

const NAME: &str = "false-turn-on";

/// The unit without its clamp, held off at −8 V through a small resistor.
fn fan(changes: &[(&str, &str)]) -> Review {
    let strong =
        [("drive_off: 0 V, tol", "drive_off: -8 V, tol"), ("off_resistor: 6.8 ohm", "off_resistor: 3.3 ohm")];
    let all = strong.iter().chain(changes);
    let text = all.fold(failing(NAME).to_owned(), |text, (from, to)| changed(&text, from, to));
    reviewed(&text)
}

fn compared(review: &Review) -> Comparison {
    let mut own = review.verdicts.iter().flatten();
    own.find(|one| one.check == NAME).expect("a verdict").comparison().copied().expect("a comparison")
}

/// The lift of a gate, stepped through the edge: `C_iss·dv/dt = C_gd·s − v/R`.
fn stepped(ohms: f64, reverse: f64, input: f64, edge: f64, bus: f64) -> f64 {
    let steps = 200_000;
    let step = bus / edge / f64::from(steps);
    let mut volts = 0.0;
    for _ in 0..steps {
        let slope = |volts: f64| (reverse * edge - volts / ohms) / input;
        let half = volts + 0.5 * step * slope(volts);
        volts += step * slope(half);
    }
    volts
}

#[test]
fn the_lift_is_that_of_the_gate_circuit_stepped_through_the_edge() {
    let failing = compared(&reviewed(failing(NAME)));
    let lift = stepped(7.8, 220e-12, 19e-9, 9e9, 400.0);
    assert!((failing.carried_value - lift).abs() < 1e-6, "{} {lift}", failing.carried_value);
    let strong = compared(&fan(&[]));
    let lift = stepped(4.3, 220e-12, 19e-9, 9e9, 400.0);
    assert!((strong.carried_value - lift).abs() < 1e-6, "{} {lift}", strong.carried_value);
    // From −8 V, 5 % weaker, to 3.6 V.
    assert!((strong.limit - 11.2).abs() < 1e-9 && (strong.allowed - 8.96).abs() < 1e-9);
}

#[test]
fn a_clamp_bypasses_the_resistor_and_not_what_is_inside() {
    let clamped = compared(&reviewed(holding(NAME)));
    let lift = stepped(1.5, 220e-12, 19e-9, 9e9, 400.0);
    assert!((clamped.carried_value - lift).abs() < 1e-6, "{}", clamped.carried_value);
}

#[test]
fn a_resistor_that_devices_share_counts_for_each() {
    let shared = compared(&fan(&[
        ("parallel: 1", "parallel: 2"),
        ("resistor_for_each: true", "resistor_for_each: false"),
    ]));
    let lift = stepped(1.0 + 2.0 * 3.3, 220e-12, 19e-9, 9e9, 400.0);
    assert!((shared.carried_value - lift).abs() < 1e-6, "{}", shared.carried_value);
}

#[test]
fn the_threshold_itself_is_major_and_the_margin_minor() {
    let review = reviewed(failing(NAME));
    assert_eq!(finding(&review, "lifted").grade, Grade::Major);
    assert!(finding(&review, "lifted").worked.iter().any(|line| line.starts_with("bounds: 15.4 V")));
    assert!(!finding(&review, "lifted").proposals.is_empty());
    // 3.34 V of the 3.6 V.
    let within = fan(&[("drive_off: -8 V, tol", "drive_off: 0 V, tol"), ("edge: 9 kV/us", "edge: 8 kV/us")]);
    let within_lift = compared(&within);
    assert!(within_lift.carried_value < 3.6 && within_lift.carried_value > 2.88, "{within_lift:?}");
    assert_eq!(finding(&within, "lifted").grade, Grade::Minor);
}

#[test]
fn edges_at_their_ends_come_to_both_bounds() {
    let sudden = compared(&fan(&[("edge: 9 kV/us", "edge: 1e9 kV/us")]));
    assert!((sudden.carried_value - 400.0 * 0.22 / 19.0).abs() < 1e-3, "{}", sudden.carried_value);
    // As slow an edge takes more of its energy than it had.
    let energy = ("turn_on: [3.0 mJ, 6.5 mJ]", "turn_on: [30 mJ, 65 mJ]");
    let slow = compared(&fan(&[("edge: 9 kV/us", "edge: 1 kV/us"), energy]));
    assert!((slow.carried_value - 4.3 * 220e-12 * 1e9).abs() < 1e-2, "{}", slow.carried_value);
    let tight = fan(&[
        ("turn_off_resistor: 3.3 ohm", "turn_off_resistor: 0 ohm"),
        ("peak_current: 8 A", "peak_current: 30 A"),
    ]);
    assert_eq!(defects(&tight), []);
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, named) in [
        ("        least_threshold: 3.6 V\n", "gate.least_threshold"),
        ("        input_capacitance: 19 nF\n", "gate.input_capacitance"),
        ("        reverse_capacitance: 220 pF\n", "gate.reverse_capacitance"),
        ("        internal_resistance: 1 ohm\n", "gate.internal_resistance"),
        ("        edge: 9 kV/us\n", "gate.edge"),
        ("    turn_off_resistor: 3.3 ohm\n", "fan_drivers.turn_off_resistor"),
        ("    highest: 400 V\n", "link.highest"),
    ] {
        let review = fan(&[(from, "")]);
        assert_eq!(defects(&review), [], "{named}");
        let told =
            review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named));
        assert!(told, "{named}: {:?}", review.not_judged);
    }
}
