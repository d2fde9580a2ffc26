//! Buses that are stated to stand in another domain than theirs.

use super::{FORWARDER, GROOMER, SHUTTLE, after_in, one, reviewed};
use crate::descriptions::changed;

#[test]
fn the_bus_of_the_controls_among_what_hurts_is_one_finding() {
    // Its domain is left without a bus, and stays a circuit for the controllers that stand there.
    let moved = ("board_net: { domain: low_voltage", "board_net: { domain: traction");
    for text in [SHUTTLE, FORWARDER] {
        let found = one("barrier-crossing", "no-barrier", "isolation.traction to low_voltage");
        assert_eq!(after_in(text, &[moved]), found);
    }
    let moved = (
        "domain: low_voltage, negative_rail: chassis_minus",
        "domain: traction, negative_rail: chassis_minus",
    );
    let found = one("barrier-crossing", "no-barrier", "isolation.traction to low_voltage");
    assert_eq!(after_in(GROOMER, &[moved]), found);
}

#[test]
fn a_bus_that_hurts_among_the_controls_is_one_finding() {
    let moved = ("  link:\n    domain: traction", "  link:\n    domain: low_voltage");
    assert_eq!(
        after_in(SHUTTLE, &[moved]),
        one("barrier-crossing", "touched", "isolation.domains.low_voltage")
    );
    let review = reviewed(&changed(SHUTTLE, moved.0, moved.1));
    let told = review.findings.iter().find(|one| one.defect == "touched").expect("a bus that hurts");
    let left = "no bus stands in `traction`, from which barriers keep it apart";
    assert!(told.facts.iter().any(|fact| fact == left), "{:#?}", told.facts);
    // Behind a boost its own rail joins both domains.
    let merged = one("barrier-crossing", "merged", "isolation.traction to low_voltage");
    assert_eq!(after_in(FORWARDER, &[moved]), merged);
    let low = ("cell_bus: { domain: traction", "cell_bus: { domain: low_voltage");
    assert_eq!(after_in(GROOMER, &[low]), merged);
}
