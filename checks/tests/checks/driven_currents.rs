//! What stands the current of an edge rather than its slope: drivers, sensors and signals that say so.

use loadworthy_checks::Review;

use crate::descriptions::{changed, holding};
use crate::stand_ins::{listed, reviewed_with};

const DRIVERS: &str = "drives: [slew_bridge.high_side, slew_bridge.low_side]\n";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed("barrier-immunity")], text)
}

fn found(review: &Review) -> Vec<(&'static str, &str)> {
    review.findings.iter().map(|one| (one.defect, one.part.as_str())).collect()
}

fn waits(review: &Review) -> Vec<&str> {
    review.not_judged.iter().map(|one| one.missing.as_str()).collect()
}

/// The dredger whose drivers state a current in place of an edge, and so much capacitance.
fn dredger(amps: &str, coupling: &str) -> String {
    let text = changed(holding("barrier-immunity"), "    coupling: 2 pF\n", coupling);
    let stated = text
        .lines()
        .find(|line| line.starts_with("    transient_immunity:"))
        .map(|line| format!("{line}\n"))
        .expect("the immunity of the drivers");
    changed(&text, &stated, amps)
}

#[test]
fn a_driver_that_stands_a_current_is_held_against_what_an_edge_drives_through_it() {
    // 15 kV/us through 2 pF are 30 mA: two thirds of 45 mA are a little more, two thirds of 44 mA a little less.
    let coupling = "    coupling: 2 pF\n";
    assert_eq!(found(&reviewed(&dredger("    immunity_current: 45 mA\n", coupling))), []);
    let review = reviewed(&dredger("    immunity_current: 44 mA\n", coupling));
    assert_eq!(found(&review), [("driven-current", "slew_drivers")]);
    assert!(review.not_judged.is_empty(), "{:?}", waits(&review));
    let told = &review.findings[0];
    let compared = told.comparison.expect("a comparison");
    assert!((compared.carried_value - 30e-3).abs() < 1e-12, "{compared:?}");
    assert!((compared.allowed - 0.67 * 44e-3).abs() < 1e-12, "{compared:?}");
    assert!(!told.proposals.is_empty(), "{told:#?}");
    // Half the capacitance passes half the current.
    assert_eq!(found(&reviewed(&dredger("    immunity_current: 44 mA\n", "    coupling: 1 pF\n"))), []);
}

#[test]
fn without_its_capacitance_a_current_is_not_judged_and_without_either_the_edge_is_asked() {
    let review = reviewed(&dredger("    immunity_current: 45 mA\n", ""));
    assert_eq!(found(&review), []);
    assert_eq!(waits(&review), ["drivers.slew_drivers.coupling is not stated"]);
    let review = reviewed(&dredger("", "    coupling: 2 pF\n"));
    assert_eq!(waits(&review), ["drivers.slew_drivers.transient_immunity is not stated"]);
}

#[test]
fn a_barrier_speaks_for_what_says_nothing_of_its_own_and_an_edge_for_its_current() {
    let text = dredger("", "    coupling: 2 pF\n");
    let barrier = |amps: &str| {
        changed(
            &text,
            "      creepage: 9 mm\n",
            &format!("      creepage: 9 mm\n      immunity_current: {amps}\n"),
        )
    };
    assert_eq!(found(&reviewed(&barrier("50 mA"))), []);
    assert_eq!(found(&reviewed(&barrier("20 mA"))), [("driven-current", "slew_drivers")]);
    // What states its own is not held against that of its barrier.
    let own = changed(&barrier("20 mA"), DRIVERS, &format!("{DRIVERS}    immunity_current: 50 mA\n"));
    assert_eq!(found(&reviewed(&own)), []);
    // An edge that is too steep drives too much as well, and is one finding.
    let both = format!("{DRIVERS}    immunity_current: 20 mA\n    transient_immunity: 20 kV/us\n");
    let both = changed(&text, DRIVERS, &both);
    assert_eq!(found(&reviewed(&both)), [("edge", "slew_drivers")]);
}

#[test]
fn a_sensor_beside_the_edges_and_a_signal_are_asked_through_their_own_capacitance() {
    let sensor = |coupling: &str| {
        changed(
            holding("barrier-immunity"),
            "of: [slew_bridge], read_by: [slew_controller], transient_immunity: 50 kV/us",
            &format!(
                "of: [slew_bridge], read_by: [slew_controller], immunity_current: 30 mA, coupling: {coupling}"
            ),
        )
    };
    // 15 mA of 20.1 mA, and 30 mA; its capacitance is not counted to the legs, which would pass 10 pF by it.
    assert_eq!(found(&reviewed(&sensor("1 pF"))), []);
    assert_eq!(found(&reviewed(&sensor("2 pF"))), [("driven-current", "slew_temperature")]);
    let signal = |coupling: &str| {
        let line = format!(
            "\nsignals:\n  interlock: {{ joins: [traction, low_voltage], crosses: gate_isolation, immunity_current: 1 A, coupling: {coupling} }}\n\nisolation:\n"
        );
        changed(holding("barrier-immunity"), "\nisolation:\n", &line)
    };
    assert_eq!(found(&reviewed(&signal("40 pF"))), []);
    assert_eq!(found(&reviewed(&signal("50 pF"))), [("driven-current", "interlock")]);
}
