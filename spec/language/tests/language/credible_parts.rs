//! Magnitudes of drivers, gates, banks, fuses and lines that no part has, and what some part has.

use crate::workshop::{reading, table};

#[test]
fn magnitudes_of_parts_that_none_has() {
    let gate = |kind: &str, gate: &str| {
        format!("devices: {{ a: {{ transistor: {{ kind: {kind}, gate: {{ {gate} }} }} }} }}")
    };
    let conductor = |what: &str| format!("conductors: {{ a: {{ {what} }} }}");
    let bank = |path: &str| {
        format!(
            "buses: {{ link: {{ nominal: 400 V }} }}\ncapacitors: {{ a: {{ kind: bank, bus: link, path: {{ {path} }} }} }}"
        )
    };
    let bus = |more: &str| format!("buses: {{ link: {{ nominal: 400 V, {more} }} }}");
    let domain = |impulse: &str| {
        format!(
            "isolation: {{ domains: {{ hv: {{ impulse: {impulse} }} }} }}\nbuses: {{ link: {{ domain: hv, nominal: 400 V, highest: 460 V }} }}"
        )
    };
    let cases = [
        gate("mosfet", "turn_off_delay: 35 us"),
        gate("igbt", "turn_off_delay: 0.35 ms"),
        gate("mosfet", "input_capacitance: 28 uF"),
        gate("mosfet", "input_capacitance: 28 nF, reverse_capacitance: 0.1 pF"),
        gate("mosfet", "charge: 2.4 uC, drive_on: 15 V, drive_off: -5 V, input_capacitance: 2.8 nF"),
        bank("inductance: 10 uH"),
        bank("resistance: 0.4 ohm"),
        bus("discharge: { active: { power: 60 kW } }"),
        bus("overvoltage_trip: { voltage: 460 V, tolerance: 0.002 % }"),
        "capacitor_types: { a: { capacitance: 1 mF, tolerance: 0.02 % } }".to_owned(),
        conductor("kind: fuse, current: 50 A, resistance: 12 ohm"),
        conductor("kind: fuse, cyclic_load: 0.07 %"),
        conductor("kind: laminated_busbar, length: 120 m"),
        conductor("kind: cable, length: 1.2 km"),
        conductor("kind: contactor, current: { continuous: 400 A }, resistance: 47 ohm"),
        "drivers: { a: { peak_current: 8 kA } }".to_owned(),
        "drivers: { a: { coupling: 1 uF } }".to_owned(),
        domain("450 V"),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        gate("mosfet", "turn_off_delay: 350 ns, input_capacitance: 28 nF, reverse_capacitance: 90 pF"),
        gate("igbt", "turn_off_delay: 9 us, input_capacitance: 680 nF, reverse_capacitance: 4 nF"),
        gate("mosfet", "charge: 2.4 uC, drive_on: 15 V, drive_off: -5 V, input_capacitance: 28 nF"),
        bank("inductance: 300 nH, resistance: 5 mohm"),
        bus("discharge: { active: { power: 5 kW } }"),
        bus("overvoltage_trip: { voltage: 460 V, tolerance: 0.2 % }"),
        bus("overvoltage_trip: { voltage: 460 V, tolerance: 0 % }"),
        "capacitor_types: { a: { capacitance: 1 mF, tolerance: 1 % } }".to_owned(),
        conductor("kind: fuse, current: 2 A, resistance: 0.4 ohm, cyclic_load: 60 %"),
        conductor("kind: laminated_busbar, length: 1.2 m"),
        conductor("kind: cable, length: 60 m"),
        conductor("kind: contactor, current: { continuous: 10 A }, resistance: 20 mohm"),
        conductor("kind: resistor, resistance: 15 ohm"),
        "drivers: { a: { peak_current: 30 A, turn_on_resistor: 33 ohm, coupling: 10 pF } }".to_owned(),
        domain("1500 V"),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}
