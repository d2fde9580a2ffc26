//! Values that no part has: they are refused, and what some part has is not.

use crate::workshop::{reading, table};

/// What no part has: a prefix or a sign slipped. Beside each the same with a value that some part has, which is no problem.
#[test]
fn values_that_no_part_has() {
    let device =
        |transistor: &str| format!("devices: {{ a: {{ transistor: {{ kind: mosfet, {transistor} }} }} }}");
    let energies = |more: &str| {
        format!(
            "blocking_voltage: 1200 V, junction_limit: 175 degC, energies: {{ voltage: 600 V, junction: 150 degC, current: [10 A, 20 A], turn_on: [1 mJ, 2 mJ], turn_off: [1 mJ, 2 mJ] }}{more}"
        )
    };
    let falls = energies("").replace("turn_on: [1 mJ, 2 mJ]", "turn_on: [2 mJ, 1 mJ]");
    let hot = energies("").replace("junction: 150 degC", "junction: 400 degC");
    let high = energies("").replace("voltage: 600 V", "voltage: 6 kV");
    let choke = |resistance: &str| {
        format!(
            "magnetics: {{ a: {{ kind: choke, turns: 26, core: {{ area: 8 cm^2 }}, winding: {{ area: 20 mm^2, resistance: {resistance} }} }} }}"
        )
    };
    let cases = [
        device("junction_limit: 1750 degC"),
        device("short_circuit_withstand: 6 ms"),
        device("blocking_temperature_coefficient: -0.001 1/K"),
        device("thermal_impedance: [[0.05 K/W, 8 s]]"),
        device("thermal_impedance: [[0.02 mK/W, 8 ms]]"),
        device("on_resistance: [{ junction: 25 degC, resistance: 14 mohm }, { junction: 175 degC, resistance: 7 mohm }]"),
        device("gate: { charge: 2.4 nC, drive_on: 15 V, drive_off: -8 V, input_capacitance: 28 nF }"),
        device(&falls),
        device(&hot),
        device(&high),
        choke("3.5 uohm"),
        "magnetics: { a: { kind: choke, core: { saturation: { flux_density: 13 T } } } }".to_owned(),
        "buses: { net: {} }\ngate_supplies: { low: { from: net }, high: { bootstrap_from: low, drive_off: -4 V } }".to_owned(),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        device(&energies(", junction_limit: 175 degC").replacen("junction_limit: 175 degC, ", "", 1)),
        device("blocking_temperature_coefficient: 0.001 1/K, short_circuit_withstand: 6 us"),
        device("thermal_impedance: [[0.05 K/W, 0.8 s]]"),
        device(
            "on_resistance: [{ junction: -40 degC, resistance: 9 mohm }, { junction: 25 degC, resistance: 7 mohm }, { junction: 175 degC, resistance: 13 mohm }]",
        ),
        device("gate: { charge: 2.4 uC, drive_on: 15 V, drive_off: -8 V, input_capacitance: 28 nF }"),
        choke("3.5 mohm"),
        "magnetics: { a: { kind: choke, core: { saturation: { flux_density: 2.3 T } } } }".to_owned(),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}
