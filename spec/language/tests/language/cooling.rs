//! What the language says about coolant loops and duty points that are wrong.

use crate::workshop::table;

const UNIT: &str = "\
stages:
  bridge: { topology: three_phase_bridge, switches: { high_side: { fitted: m, parallel: 3 }, low_side: { fitted: m, parallel: 3 } } }
magnetics: { coil: { kind: choke } }
devices: { m: { package: { circuit: half_bridge } } }
";

fn loops(cases: &[&str]) -> String {
    let cases = cases.iter().map(|case| format!("{UNIT}cooling: {{ {case} }}")).collect::<Vec<_>>();
    table(&cases.iter().map(String::as_str).collect::<Vec<_>>()).replace(UNIT, "")
}

#[test]
fn pumps_and_pressure() {
    insta::assert_snapshot!(loops(&[
        "pump: { flow: 8 L/min, curve: { flow: [0 L/min, 8 L/min, 16 L/min], pressure: [40 kPa, 30 kPa, 0 kPa] } }",
        "pump: { curve: { flow: [2 L/min, 8 L/min], pressure: [40 kPa, 45 kPa] } }",
        "pump: { curve: { flow: [0 L/min, 8 L/min, 8 L/min], pressure: [40 kPa, 30 kPa] } }",
        "elements: { a: { pressure_drop: { flow: 8 L/min, pressure: 4 kPa } }, b: { pressure_drop: { flow: [8 L/min, 4 L/min], pressure: [4 kPa, 2 kPa] } } }",
        "elements: { a: { pressure_drop: { flow: [4 L/min, 6 L/min, 8 L/min], pressure: 4 kPa } }, b: { pressure_drop: { flow: 0 L/min, pressure: 0 kPa } } }",
        "elements: { a: { pressure_drop: 4 kPa }, b: { elevation: { in: 0 mm, to: 5 mm } } }",
    ]));
}

#[test]
fn divided_flow() {
    insta::assert_snapshot!(loops(&[
        // All of this is right.
        "path: [a, s], elements: { a: {}, s: { split: { left: [b], right: [c, d] } }, b: {}, c: {}, d: { split: { e: [e], f: [f] } }, e: {}, f: {} }",
        "path: [a, s], elements: { a: {}, s: { split: { left: [a], right: [b] } }, b: {} }",
        "path: [s], elements: { s: { split: { left: [s], right: [r] } } }",
        "path: [s], elements: { s: { split: { left: [b] }, cools: { bridge: {} } }, b: {} }",
        "path: [s], elements: { s: { split: { left: [], right: [b] } }, b: {} }",
    ]));
}

#[test]
fn what_is_cooled() {
    insta::assert_snapshot!(loops(&[
        // All of this is right.
        "elements: { a: { cools: { bridge: { face_a: 1 K/W, devices: 2 }, coil: { face_a: 1 K/W } } }, b: { cools: { bridge: { face_a: 1 K/W, devices: 1 } } } }",
        "elements: { a: { cools: { bridge.high_side: {}, bridge.low_side: {} } } }",
        "elements: { a: { cools: { bridge.top: {}, brige.high_side: {}, bridge.high_side.u: {}, coill: {} } } }",
        "elements: { a: { cools: { bridge: { face_a: 1 K/W, devices: 2 } } } }",
        "elements: { a: { cools: { bridge: { devices: 2 } } }, b: { cools: { bridge.low_side: { devices: 1 }, bridge.high_side: { devices: 1 } } } }",
        "elements: { a: { cools: { bridge: { devices: 2 } } }, b: { cools: { bridge.low_side: { devices: 2 } } } }",
        "elements: { a: { cools: { bridge: { face_a: 1 K/W, devices: 2 } } }, b: { cools: { bridge: { face_a: 1 K/W } } } }",
        "elements: { a: { cools: { bridge: { face_a: 1 K/W } } }, b: { cools: { bridge.low_side: { face_a: 1 K/W } } } }",
        "elements: { a: { cools: { coil: { devices: 1 } } } }",
        "elements: { a: { resistance: { value: 4 mK/W, flow: 8 L/min }, cools: { bridge: { face_a: 1 K/W, flow: 8 L/min } } } }",
    ]));
}

#[test]
fn shafts_and_shares() {
    let unit = "buses: { link: {} }\nloads: { cab: { bus: link } }\nsources: { cell: { kind: fuel_cell }, pack: { kind: battery } }\n\
                machines: { motor: { kind: permanent_magnet }, pump: { kind: induction } }\n";
    let point = |text: &str| format!("{unit}duty: {{ climb: {{ {text} }} }}");
    let cases = [
        // All of this is right; constants that lack are named where they are needed.
        "loads: { motor: { torque: -90 N m, speed: 3600 1/min }, cab: { current: 40 A } }",
        "loads: { motor: { torque: 90 N m, shaft_power: 20 kW, speed: 3600 1/min } }",
        "loads: { motor: { shaft_power: 20 kW, speed: 0 1/min } }",
        "loads: { motor: { torque: 90 N m, speed: 3600 1/min, phase_current: 260 A rms } }",
        "loads: { pump: { torque: 90 N m, speed: 3600 1/min } }",
        "loads: { motor: { current: 90 A } }",
        "loads: { cab: { power: 1 kW, current: 40 A } }",
        "loads: { cab: { torque: 5 N m } }",
        "loads: { motor: { torque: 90 J, speed: 60 Hz } }",
        "sources: { cell: { power: 20 kW, current: 50 A, open_circuit: 400 V } }",
        "sources: { cell: { open_circuit: 400 V }, pack: { open_circuit: 400 V, current: 50 A } }",
    ];
    let cases = cases.map(point);
    let cases = cases.iter().map(String::as_str).collect::<Vec<_>>();
    insta::assert_snapshot!(table(&cases).replace(unit, ""));
}
