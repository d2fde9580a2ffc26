//! What the language says about gate supplies, controllers and isolation that are wrong.

use crate::workshop::table;

const STAGES: &str = "\
stages:
  bridge: { topology: three_phase_bridge, switches: { high_side: { fitted: module } } }
  step_up: { topology: boost, legs: 2, switches: { high_side: { fitted: rectifier } } }
  supply: { topology: phase_shifted_full_bridge, rectifier: centre_tap }
  small: { topology: active_clamp_forward }
devices: { module: { transistor: { kind: igbt } }, rectifier: { diode: {} } }
";

fn supplies(cases: &[&str]) -> String {
    let cases = cases.iter().map(|case| format!("{STAGES}gate_supplies: {{ {case} }}")).collect::<Vec<_>>();
    table(&cases.iter().map(String::as_str).collect::<Vec<_>>()).replace(STAGES, "")
}

#[test]
fn switch_positions() {
    insta::assert_snapshot!(supplies(&[
        // All of this is right.
        "a: { feeds: [bridge.high_side.u, bridge.high_side.v, bridge.low_side, step_up.low_side.2, supply.bridge_high.a, supply.rectifier.1, small.clamp] }",
        "a: { feeds: [brige.high_side.u] }",
        "a: { feeds: [bridge] }",
        "a: { feeds: [bridge.top.u] }",
        "a: { feeds: [bridge.hihg_side] }",
        "a: { feeds: [bridge.high_side.x, bridge.high_side.u.1] }",
        "a: { feeds: [step_up.low_side.3] }",
        "a: { feeds: [small.main.a] }",
        "a: { feeds: bridge.high_side }",
        "a: { feeds: [] }",
    ]));
}

#[test]
fn gates() {
    insta::assert_snapshot!(supplies(&[
        // Who feeds what is judged by a check, not here.
        "a: { feeds: [bridge.low_side] }, b: { feeds: [bridge.low_side.v, step_up.high_side.1] }",
        "a: { drive_on: 15 V, drive_off: 18 V, power: 0 W, efficiency: 120 % }",
        "a: { transformer: t, bootstrap_from: b }, b: { rail: minus }",
        "a: { bootstrap_from: b, from: link }, b: { bootstrap_from: a }",
    ]));
}

#[test]
fn domains() {
    insta::assert_snapshot!(table(&[
        // A domain is a free word where no isolation is stated.
        "buses: { link: { domain: traction } }\ncontrollers: { brain: { domain: low_voltage } }",
        "buses: { link: { domain: tracton } }\ncontrollers: { brain: { domain: air, from: lnk } }\nisolation: { domains: { traction: {} } }",
        "buses: { link: { domain: body } }\nisolation: { domains: { body: { kind: metal, bonded: true } } }",
        "isolation: { domains: { a: {}, b: {} }, barriers: { x: { between: [a, c] }, y: { between: [a, a] }, z: { between: [a] } } }",
        "isolation: { domains: { a: { impulse: 0 V } }, barriers: { x: { clearance: 8 mm, creepage: 6 mm }, y: { clearance: 0 mm } } }",
        // What is broken makes no echo.
        "buses: { link: { domain: traction } }\nisolation: { domains: { power: {} }, barriers: 5 }",
    ]));
}

/// Drivers, sensors and signals, and where the barriers that they pass are named.
#[test]
fn what_crosses() {
    const ISOLATION: &str =
        "isolation: { domains: { power: {}, low: {} }, barriers: { gap: { between: [power, low] } } }\n";
    let cases = [
        "drivers: { a: { drives: [bridge.high_side.u, step_up.low_side], crosses: gap } }",
        "drivers: { a: { drives: [bridge.high_side.x], crosses: gab, controller: brain } }",
        "drivers: { a: { transient_immunity: 0 kV/us, short_circuit: { turn_off: 0 s } } }",
        "sensors: { a: { measures: current, of: [bridge.u, step_up.2, bridge], crosses: gap } }",
        "sensors: { a: { measures: current, of: [bridge.x], read_by: [brain] }, b: { measures: voltage, of: [lnk] } }",
        "sensors: { a: { measures: amps, of: [step_up.3], redundant: 0 } }",
        "signals: { a: { joins: [power, low], crosses: gap } }",
        "signals: { a: { joins: [power, power] }, b: { joins: [power, lo], crosses: gapp } }",
    ];
    let cases = cases.iter().map(|case| format!("{STAGES}{ISOLATION}{case}")).collect::<Vec<_>>();
    let told = table(&cases.iter().map(String::as_str).collect::<Vec<_>>());
    insta::assert_snapshot!(told.replace(STAGES, "").replace(ISOLATION, ""));
}
