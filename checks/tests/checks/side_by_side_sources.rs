//! Several sources on one bus: what they drive through one another, and whether they have its voltage at all.

use loadworthy_checks::review::Finding;

use crate::descriptions::reviewed;

/// Two packs and a load on one bus, with spans of their resistances in mohm and open-circuit voltages in V.
fn packs((lowest, highest): (f64, f64), (one, two): (f64, f64), kilowatts: f64) -> String {
    let pack = |name: &str| {
        format!(
            "  {name}: {{ kind: battery, bus: link, internal_resistance: {{ lowest: {lowest} mohm, highest: {highest} mohm }},\n    discharge: {{ continuous: 200 A }}, charge: {{ continuous: 120 A }} }}\n"
        )
    };
    format!(
        "edition: 2026\nsources:\n{}{}buses: {{ link: {{ nominal: 345 V }} }}\nloads: {{ winch: {{ bus: link }} }}
duty:
  idle:
    sources: {{ one: {{ open_circuit: {one} V }}, two: {{ open_circuit: {two} V }} }}
    loads: {{ winch: {{ power: {kilowatts} kW }} }}\n",
        pack("one"),
        pack("two")
    )
}

/// A fuel cell with a share beside a pack that takes the rest; the curve has 430, 385, 350 V at 0, 30, 120 A.
fn cell(share: &str, open_circuit: f64) -> String {
    format!(
        "edition: 2026
sources:
  cell:
    {{ kind: fuel_cell, bus: link, discharge: {{ continuous: 300 A }},
      polarisation: {{ current: [0 A, 30 A, 120 A, 250 A], voltage: [430 V, 385 V, 350 V, 312 V] }} }}
  pack:
    {{ kind: battery, bus: link, internal_resistance: {{ lowest: 1 mohm, highest: 1 mohm }},
      discharge: {{ continuous: 500 A }}, charge: {{ continuous: 500 A }} }}
buses: {{ link: {{ nominal: 345 V }} }}
loads: {{ winch: {{ bus: link }} }}
duty:
  pull:
    sources: {{ cell: {{ {share} }}, pack: {{ open_circuit: {open_circuit} V }} }}
    loads: {{ winch: {{ power: 10 kW }} }}
"
    )
}

fn found(text: &str) -> Vec<Finding> {
    let findings = reviewed(text).findings;
    findings.into_iter().filter(|one| one.check == "source-limits").collect()
}

#[test]
fn packs_of_unlike_voltage_are_held_to_what_their_lowest_resistances_let_through() {
    // 15 V around 2 × 75 mohm are 100 A; around 2 × 20 mohm 375 A, whatever the load adds.
    assert!(found(&packs((75.0, 75.0), (360.0, 345.0), 0.0)).is_empty());
    let both = found(&packs((20.0, 75.0), (360.0, 345.0), 0.0));
    let mut said: Vec<_> = both.iter().map(|one| (one.part.as_str(), one.defect)).collect();
    said.sort_unstable();
    assert_eq!(said, [("one", "discharge-current"), ("two", "charge-current")]);
    assert!(both.iter().all(|one| one.saying.contains("375 A")), "{both:#?}");
}

#[test]
fn a_pack_carries_most_where_its_own_resistance_is_low_and_that_of_the_other_is_high() {
    // 100 kW from 350 V: alike they give half of some 288 A each; at 20 beside 75 mohm one gives 75/95 of it.
    let most = found(&packs((20.0, 75.0), (350.0, 350.0), 100.0));
    assert_eq!(most.len(), 2, "either may be the low one: {most:#?}");
    // v·(350 − v)/(20·75/95 mohm) = 100 kW has v = 345.4 V, so (350 − 345.4)/20 mohm = 229 A.
    assert!(most.iter().all(|one| one.saying.contains("229 A")), "{most:#?}");
}

#[test]
fn a_lowest_resistance_that_nobody_states_is_missing_between_packs_alone() {
    let text = packs((20.0, 75.0), (360.0, 345.0), 0.0).replace("lowest: 20 mohm, ", "");
    let review = reviewed(&text);
    let missing: Vec<_> = review.not_judged.iter().map(|open| open.missing.as_str()).collect();
    assert!(missing.iter().any(|said| said.contains("internal_resistance.lowest")), "{missing:?}");
}

#[test]
fn a_share_beside_a_pack_needs_the_voltage_of_the_bus() {
    // At 120 A the curve has 350 V: the pack may hold the bus between 333 and 368 V.
    assert!(found(&cell("current: 120 A", 345.0)).is_empty());
    let one = found(&cell("current: 120 A", 385.0));
    assert_eq!(one.len(), 1, "{one:#?}");
    assert_eq!((one[0].part.as_str(), one[0].defect), ("cell", "other-voltage"));
    assert!(one[0].saying.contains("has 350 V at its terminals"), "{}", one[0].saying);
    // What gives nothing may be switched off.
    assert!(found(&cell("power: 0 kW", 345.0)).is_empty());
}

#[test]
fn two_shares_of_unlike_voltage_on_a_bus_are_found_in_either_order() {
    // By their curves 60 A stand at 373 V and 250 A at 312 V.
    let curve = "polarisation: { current: [0 A, 30 A, 120 A, 250 A], voltage: [430 V, 385 V, 350 V, 312 V] }";
    let of = |first: &str, second: &str| {
        format!(
            "edition: 2026
sources:
  {first}: {{ kind: fuel_cell, bus: low, {curve}, discharge: {{ continuous: 300 A }} }}
  {second}: {{ kind: fuel_cell, bus: low, {curve}, discharge: {{ continuous: 300 A }} }}
buses: {{ low: {{ nominal: 345 V }} }}
loads: {{ winch: {{ bus: low }} }}
duty:
  pull:
    sources: {{ small: {{ current: 60 A }}, large: {{ current: 250 A }} }}
    loads: {{ winch: {{ power: 10 kW }} }}
"
        )
    };
    for (first, second) in [("small", "large"), ("large", "small")] {
        let found = found(&of(first, second));
        let said: Vec<_> = found.iter().map(|one| (one.part.as_str(), one.defect)).collect();
        assert_eq!(said, [(second, "other-voltage")]);
    }
}
