//! What the language says about sources, branches, stages and their components that are wrong.

use crate::workshop::table;

/// Each case behind the unit that it is about, which is left out of what is shown.
fn about(unit: &str, cases: &[&str]) -> String {
    let cases = cases.iter().map(|case| format!("{unit}{case}")).collect::<Vec<_>>();
    table(&cases.iter().map(String::as_str).collect::<Vec<_>>()).replace(unit, "")
}

#[test]
fn sources() {
    insta::assert_snapshot!(table(&[
        "sources: { cell: { kind: fuel_cell, polarisation: { current: [100 A, 50 A], voltage: [400 V, 410 V] } } }",
        "sources: { cell: { kind: fuel_cell, polarisation: { current: 100 A, voltage: 400 V } } }",
        "sources: { cell: { kind: fuel_cell, polarisation: { current: [-1 A, 50 A, 60 A], voltage: [400 V, 0 V] } } }",
        "sources: { cell: { kind: fuel_cell, polarisation: { current: [0 A, 50 A] } } }",
        "sources: { cell: { kind: fuel_cell, open_circuit: { nominal: 400 V } } }",
        "sources: { cell: { kind: fuel_cell, power: { continuous: 0 kW, peaks: [{ power: 50 kW, lasts: 20 s }] } } }",
        "sources: { dynamo: { kind: generator, power: { continuous: 60 kW, peaks: [{ power: 50 kW, lasts: 20 s }] } } }",
        "sources: { pack: { kind: battery, absorbs: false, charge: { continuous: 20 A } } }",
    ]));
}

#[test]
fn branches() {
    let unit = "sources: { pack: { kind: battery } }\n\
                buses: { link: { negative_rail: hv_minus }, other: { negative_rail: hv_minus } }\n\
                conductors: { fuse: { kind: fuse }, relay: { kind: contactor }, bar: { kind: busbar } }\n";
    insta::assert_snapshot!(about(
        unit,
        &[
            // All of this is right.
            "branches: { feed: { from: pack, to: link, through: [fuse, relay] }, charge: { around: relay, through: [bar] } }",
            "branches: { back: { from: hv_minus, to: pack, through: [relay], protected_by: fuse } }",
            "branches: { feed: { from: pakc, to: link }, back: { from: hv_mins, to: pack } }",
            "branches: { feed: { from: pack, to: link, through: [fuze, bar, fuse, bar] } }",
            "branches: { feed: { from: pack, to: link, through: [bar] }, second: { from: pack, to: other, through: [bar] } }",
            "branches: { feed: { from: pack, to: link, around: relay } }",
            "branches: { feed: {}, half: { from: pack }, turn: { from: link, to: link } }",
            "branches: { feed: { from: pack, to: link, through: [relay] }, charge: { around: fuse, through: [bar] } }",
            "branches: { feed: { from: pack, to: link, protected_by: bar } }",
            // A broken entry says its names as well.
            "branches: { feed: { from: pakc, to: link, through: [fuze], fused: yes } }",
        ]
    ));
}

#[test]
fn branches_beside_one_another() {
    let unit = "sources: { pack: { kind: battery } }\n\
                buses: { low: { nominal: 300 V }, high: { nominal: 600 V }, twin: { nominal: 600 V } }\n\
                conductors: { fuse: { kind: fuse }, bar: { kind: busbar } }\n";
    insta::assert_snapshot!(about(
        unit,
        &[
            "branches: { feed: { from: pack, to: high, through: [fuse] }, bypass: { from: high, to: pack, through: [bar] } }",
            "branches: { tie: { from: low, to: high, through: [bar] } }",
            // Of one voltage, or of which nobody says it, they may be one.
            "branches: { tie: { from: high, to: twin, through: [bar] } }",
        ]
    ));
}

#[test]
fn ends_of_sources_and_loads() {
    let unit = "buses: { link: {}, board: {} }\n";
    insta::assert_snapshot!(about(
        unit,
        &[
            "sources: { pack: { kind: battery, bus: link } }\nbranches: { feed: { from: pack, to: board } }",
            "loads: { cab: { bus: link } }\nbranches: { feed: { from: board, to: cab } }",
            "loads: { cab: { bus: link } }\nbranches: { feed: { from: link, to: cab } }",
            "sources: { pack: { kind: battery } }\nbranches: { feed: { from: pack, to: link } }\nduty: { climb: { sources: { pack: { terminal: 600 V } }, buses: { link: 600 V } } }",
            // A share sets no voltage.
            "sources: { cell: { kind: fuel_cell, bus: link } }\nduty: { climb: { sources: { cell: { power: 20 kW } }, buses: { link: 600 V } } }",
        ]
    ));
}

#[test]
fn names_that_must_differ() {
    insta::assert_snapshot!(table(&[
        "magnetics: { choke: { kind: choke } }\nconductors: { choke: { kind: line_choke } }",
        "controllers: { isolation: {} }",
        "buses: { minus: {}, link: { negative_rail: minus } }",
        // Devices and types of capacitors are no places in the circuit.
        "devices: { film: {} }\ncapacitor_types: { film: {} }",
    ]));
}

#[test]
fn stages() {
    let unit = "buses: { pack_bus: {}, link: {} }\n\
                magnetics: { coil: { kind: choke }, core: { kind: transformer } }\n\
                devices: { module: { package: { circuit: half_bridge }, transistor: { kind: igbt } }, rectifier: { diode: {} } }\n";
    insta::assert_snapshot!(about(
        unit,
        &[
            "stages: { step_up: { topology: boost, low_bus: link, high_bus: link, legs: 0 } }",
            "stages: { step_up: { topology: boost, inductor: core } }",
            "stages: { supply: { topology: active_clamp_forward, transformer: coil, output_inductor: cioil, largest_duty: 120 % } }",
            "stages: { step_up: { topology: boost, carrier: { frequency: 100 kHz, shift: 90 deg }, dead_time: 5 us } }",
            "stages: { a: { topology: boost, carrier: { synchronised_with: b } }, b: { topology: buck, carrier: { synchronised_with: a } }, c: { topology: buck, carrier: { synchronised_with: d } } }",
            "stages: { supply: { topology: phase_shifted_full_bridge, controller: brain } }",
            "stages: { step_up: { topology: boost, switches: { high_side: { fitted: module, parallel: 2 }, low_side: { fitted: module } } } }",
            // A rectifier may be the high side of a boost, and never its low side.
            "stages: { step_up: { topology: boost, switches: { high_side: { fitted: rectifier }, low_side: { fitted: module } } } }",
            "stages: { step_up: { topology: boost, switches: { high_side: { fitted: module }, low_side: { fitted: rectifier } } } }",
            "stages: { step_down: { topology: buck, switches: { high_side: { fitted: rectifier }, low_side: { fitted: rectifier } } } }",
            "stages: { supply: { topology: active_clamp_forward, switches: { main: { fitted: module }, clamp: { fitted: rectifier }, forward: { fitted: rectifier } } } }",
            "stages: { bridge: { topology: three_phase_bridge, field_weakening: 0 % }, other: { topology: three_phase_bridge, switches: { high_side: { fitted: rectifier } } } }",
        ]
    ));
}

#[test]
fn components() {
    insta::assert_snapshot!(table(&[
        "conductors: { fuse: { kind: fuse, voltage: 500 V DC, current: 400 A, melting: 160e3 A^2 s, clearing: 48e3 A^2 s, breaking: 10 A } }",
        "conductors: { relay: { kind: contactor, current: { continuous: 0 A, at: 85 degC }, breaks: { voltage: 0 V } } }",
        "conductors: { relay: { kind: contactor, breaks: { voltage: 450 V, current: 250 A }, opens: { above: 300 A } } }",
        "conductors: { bar: { kind: laminated_busbar, width: 0 mm, gap: 0 mm }, wire: { kind: cable, section: 0 mm^2 }, r: { kind: resistor, resistance: 0 ohm } }",
        "conductors: { bar: { kind: busbar, layer: outer } }",
        "conductors: { plug: { kind: connector, current: 350 A } }",
        "magnetics: { coil: { kind: choke, inductance: 0 H, tolerance: 150 %, turns: 0, core: { area: 0 cm^2, loss: -5 W, saturation: 1.3 T } } }",
        "magnetics: { coil: { kind: choke, inductance: 0 H, tolerance: 150 %, core: { area: 0 cm^2, loss: -5 W, saturation: { flux_density: 0 T } }, winding: { resistance: 0 ohm } } }",
        "magnetics: { core: { kind: transformer, turns_ratio: 0, magnetising_inductance: 5 uH, leakage_inductance: 50 uH, secondary: { resistance: 0 ohm } } }",
        // A path of 20 mm about a section that is 20 mm wide, and one of 20 m; 140 mm is a core.
        "magnetics: { flat: { kind: choke, core: { area: 4 cm^2, volume: 8 cm^3 } }, thin: { kind: choke, core: { area: 4 mm^2, volume: 80 cm^3 } } }",
        "magnetics: { coil: { kind: choke, core: { area: 4 cm^2, volume: 56 cm^3 } } }",
        "machines: { motor: { kind: permanent_magnet, pole_pairs: 0 }, pump: { kind: permanent_magnet, flux_linkage: 0 V s, highest_speed: -1 1/min } }",
        "machines: { motor: { kind: induction, flux_linkage: 0.1 V s, leakage_inductance: 0 H } }",
        "capacitor_types: { thin: { capacitance: 0 F, tolerance: 200 %, ripple_current: 0 A } }",
        "buses: { link: { loop_inductance: { bars: 0 nH }, discharge: { resistor: 0 ohm, active: { power: 600 W, resistor: 2 kohm } } } }",
    ]));
}

#[test]
fn edges() {
    let device = |gate: &str| {
        format!(
            "devices: {{ module: {{ transistor: {{ kind: igbt, gate: {{ {gate} }}, energies: {{ voltage: 800 V, junction: 150 degC, current: [100 A, 300 A], turn_on: [4 mJ, 12 mJ], turn_off: [4 mJ, 12 mJ] }} }} }} }}"
        )
    };
    // 800 V take 1.6 µs at 0.5 kV/µs, 267 ns at 3 kV/µs, which lose 32 mJ at 300 A, and 100 ns at 8 kV/µs, which lose 12 mJ.
    let all = [
        "edge: 0.5 kV/us, turn_on_time: 300 ns",
        "edge: 3 kV/us, turn_on_time: 300 ns",
        "edge: 8.1 kV/us, turn_on_time: 300 ns",
    ];
    let all = all.map(device);
    insta::assert_snapshot!(table(&all.each_ref().map(String::as_str)));
}

#[test]
fn capacitors() {
    let unit = "buses: { link: {} }\ncapacitor_types: { film: { capacitance: 125 uF } }\n";
    insta::assert_snapshot!(about(
        unit,
        &[
            "capacitors: { bank: { kind: bank, bus: link, each: film, parts: 4 }, y: { kind: suppression, from: link.plus, to: chassis } }",
            "capacitors: { bank: { kind: bank, bus: lnk, each: flim, parts: 0 } }",
            "capacitors: { bank: { kind: bank, bus: lnk, each: flim } }",
            "capacitors: { y: { kind: suppression, from: link, class: Y3 }, z: { kind: suppression, from: link.pluss }, x: { kind: suppression, from: lnk.plus } }",
            "capacitors: { y: { kind: suppression, to: chasis } }\nisolation: { domains: { chassis: {} } }",
        ]
    ));
}

#[test]
fn gates_of_devices() {
    insta::assert_snapshot!(table(&[
        "devices: { a: { transistor: { kind: igbt, gate: { drive_on: 15 V, drive_off: 18 V, threshold: 5 V, reverse_capacitance: 5 nF, input_capacitance: 1 nF } } } }",
        "devices: { a: { transistor: { kind: mosfet, gate: { charge: 0 C, transconductance: 0 S }, spread: { on_voltage: 150 %, gate_threshold: -1 V } } } }",
        "devices: { a: { package: { form: brick, isolated: yes, inductance: 0 H }, transistor: { kind: igbt, current_fall_time: 0 s, output_capacitance: 1 nF } } }",
    ]));
}
