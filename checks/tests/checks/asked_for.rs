//! Values that are left out and decide: each is asked for by its own name.

use crate::descriptions::{changed, holding, reviewed};
use crate::fault_walk::SHUTTLE;

/// What is missing, with the checks that wait for it.
fn missing(text: &str) -> Vec<(String, Vec<&'static str>)> {
    reviewed(text).not_judged.into_iter().map(|one| (one.missing, one.checks)).collect()
}

/// The core of the choke behind a transformer has to carry what its stage is switched off at, as that of a boost has.
#[test]
fn the_choke_of_a_stage_with_a_transformer_is_asked_for_its_trip() {
    assert_eq!(missing(SHUTTLE), []);
    let untripped = changed(SHUTTLE, "    trip: 105 A\n", "");
    let said = vec![("magnetics.auxiliary_choke.trip is not stated".to_owned(), vec!["core-saturation"])];
    assert_eq!(missing(&untripped), said);
    // A core that does not say where it saturates is asked for that first.
    let silent = "    turns: 5\n    core:\n      area: 2.6 cm^2\n      volume: 28 cm^3\n      saturation: { flux_density: [0.46 T, 0.36 T], at: [25 degC, 100 degC] }\n";
    let bare = "    turns: 5\n    core:\n      area: 2.6 cm^2\n      volume: 28 cm^3\n";
    let all = missing(&changed(&untripped, silent, bare));
    assert!(all.iter().all(|(said, _)| !said.contains("trip")) && !all.is_empty(), "{all:#?}");
}

/// Above 700 V a recurring peak wants a test, and what the barrier was tested with is asked for with that note.
#[test]
fn a_recurring_peak_that_decides_is_asked_for() {
    let supply = "supply_isolation:\n      { between: [traction, low_voltage], kind: reinforced, clearance: 8 mm, creepage: 14 mm, material_group: II,\n        recurring_peak: 1200 V, ";
    let silent = changed(SHUTTLE, supply, &supply.replace("recurring_peak: 1200 V, ", ""));
    let review = reviewed(&silent);
    let told = review.findings.iter().find(|one| one.defect == "partial-discharge").expect("the note");
    assert_eq!(told.part, "isolation.barriers.supply_isolation");
    assert!(told.facts.iter().any(|fact| fact == "not judged for want of it: barrier-distance"), "{told:#?}");
    // It is told with the note, and counts as not judged all the same.
    assert!(review.counts.not_judged > 0 && review.not_judged.is_empty(), "{:#?}", review.not_judged);
}

#[test]
fn a_bus_without_its_discharge_is_found_where_it_says_how_it_opens() {
    let carrier = include_str!("../../../examples/vineyard-carrier.yaml");
    let own = "discharge: { resistor: 1 kohm, resistor_power: 15 W, passively_within: 120 s }";
    let said = |text: &str| missing(text).into_iter().map(|(said, _)| said).collect::<Vec<_>>();
    let bare = changed(carrier, own, "discharge: { passively_within: 120 s }");
    let none = changed(carrier, &format!("    {own}\n"), "");
    for text in [bare, none] {
        assert_eq!(said(&text), Vec::<String>::new());
        let review = reviewed(&text);
        let found = review
            .findings
            .iter()
            .find(|one| one.defect == "no-discharge")
            .expect("a bus that stays charged");
        assert_eq!((found.part.as_str(), found.grade.word()), ("link", "major"));
    }
    assert!(said(holding("stored-energy")).is_empty());
}
