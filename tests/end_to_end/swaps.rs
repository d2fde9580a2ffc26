//! One thing of a unit exchanged, moved, left out or added, and exactly what is found beside what was found before.

use std::collections::BTreeSet;

use serde_json::Value;

use super::program::{Folder, run_in, text_of};

/// One change to an example.
struct Swap {
    unit: &'static str,
    what: &'static str,
    /// Passages that stand once, and what is put in their place.
    change: &'static [(&'static str, &'static str)],
    /// Findings that come, `+ check part defect`, and that go.
    found: &'static [&'static str],
    /// What is missing, each named once; what a finding says is missing is not said again.
    missing: &'static [&'static str],
}

const SHUTTLE: &str = "harbour-shuttle";
const HARVESTER: &str = "peat-harvester";
const GROOMER: &str = "snow-groomer";
const FORWARDER: &str = "timber-forwarder";
const CARRIER: &str = "vineyard-carrier";

const SUPPLIES: &[Swap] = &[
    Swap {
        unit: SHUTTLE,
        what: "the output of one gate left out",
        change: &[(
            "  front_u:\n    { feeds: [front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      transformer: front_upper_transformer, from: board_net }\n",
            "",
        )],
        found: &["+ floating-supplies front_bridge.high_side.u missing"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "outputs of two legs exchanged: each floats, and may float on the other leg as well",
        change: &[
            ("[front_bridge.high_side.u]", "[front_bridge.high_side.x]"),
            ("[front_bridge.high_side.v]", "[front_bridge.high_side.u]"),
            ("[front_bridge.high_side.x]", "[front_bridge.high_side.v]"),
        ],
        found: &[],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "outputs of two bridges exchanged: either transformer now serves both, by one slip",
        change: &[
            ("[front_bridge.high_side.u]", "[front_bridge.high_side.x]"),
            ("[rear_bridge.high_side.u]", "[front_bridge.high_side.u]"),
            ("[front_bridge.high_side.x]", "[rear_bridge.high_side.u]"),
        ],
        found: &["+ floating-supplies front_upper_transformer one-transformer"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "lower sides on the transformer of the upper ones",
        change: &[
            (
                "tolerance: 5 %,\n      transformer: front_lower_transformer",
                "tolerance: 5 %,\n      transformer: front_upper_transformer",
            ),
            ("        - front_lower_transformer\n", ""),
        ],
        found: &["+ floating-supplies front_upper_transformer one-transformer"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the same, and the name of their own left in the list of a barrier",
        change: &[(
            "tolerance: 5 %,\n      transformer: front_lower_transformer",
            "tolerance: 5 %,\n      transformer: front_upper_transformer",
        )],
        found: &["+ floating-supplies front_upper_transformer one-transformer"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "one output for two legs beside that of the second",
        change: &[(
            "feeds: [front_bridge.high_side.u]",
            "feeds: [front_bridge.high_side.u, front_bridge.high_side.v]",
        )],
        found: &["+ floating-supplies front_u doubled"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "one output more for the lower gates of both bridges: one slip, though it doubles six gates",
        change: &[(
            "gate_supplies:",
            "gate_supplies:\n  spare:\n    { feeds: [front_bridge.low_side, rear_bridge.low_side], rail: hv_minus, from: link, power: 4 W, drive_on: 18 V, drive_off: -4 V,\n      tolerance: 5 % }",
        )],
        found: &["+ floating-supplies spare doubled"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "two outputs more in one bridge: two slips",
        change: &[(
            "\ndrivers:",
            "  more_lowers: { feeds: [front_bridge.low_side], rail: hv_minus, from: link }\n  more_u: { feeds: [front_bridge.high_side.u], from: link }\n\ndrivers:",
        )],
        found: &["+ floating-supplies more_lowers doubled", "+ floating-supplies more_u doubled"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the circuit of the link within reach",
        change: &[("{ touchable: false, impulse: 4000 V", "{ touchable: true, impulse: 4000 V")],
        found: &["+ barrier-crossing isolation.domains.traction touched"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "a controller of the low voltage that takes its power from the link",
        change: &[(
            "rear_controller: { domain: low_voltage, from: board_net,",
            "rear_controller: { domain: low_voltage, from: link,",
        )],
        found: &["+ barrier-crossing isolation.traction to low_voltage no-barrier"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "an upper output tied to the rail",
        change: &[(
            "[front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      transformer: front_upper_transformer",
            "[front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      rail: hv_minus",
        )],
        found: &["+ floating-supplies front_u tied"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "rectifiers in the other lead, off the rail that their output is tied to",
        change: &[("rectifier_lead: return", "rectifier_lead: positive")],
        found: &["+ floating-supplies auxiliary_rectifiers tied"],
        missing: &[],
    },
    Swap {
        unit: CARRIER,
        what: "a bootstrap charged from the other stage",
        change: &[("bootstrap_from: lamp_low", "bootstrap_from: track_lowers")],
        found: &["+ floating-supplies lamp_high bootstrap"],
        missing: &[],
    },
    Swap {
        unit: GROOMER,
        what: "switches in place of diodes: now they have gates",
        change: &[
            ("high_side: { fitted: sbd1200_80,", "high_side: { fitted: sic1200_16m,"),
            ("drives: [step_up.low_side]", "drives: [step_up.high_side, step_up.low_side]"),
        ],
        found: &["+ floating-supplies step_up.high_side.1 missing"],
        missing: &[],
    },
    Swap {
        unit: GROOMER,
        what: "diodes fed like gates",
        change: &[("feeds: [step_up.low_side]", "feeds: [step_up.low_side, step_up.high_side]")],
        found: &["+ floating-supplies step_up_lowers idle"],
        missing: &[],
    },
];

const LEFT_OUT: &[Swap] = &[
    Swap {
        unit: SHUTTLE,
        what: "the only output on a transformer that a barrier goes on listing: one slip",
        change: &[(
            "  front_lowers:\n    { feeds: [front_bridge.low_side], power: 4 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      transformer: front_lower_transformer, from: board_net }\n",
            "",
        )],
        found: &["+ floating-supplies front_bridge.low_side.u missing"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "one output of a transformer that takes its power from another bus than the others",
        change: &[(
            "[front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      transformer: front_upper_transformer, from: board_net",
            "[front_bridge.high_side.u], power: 1.5 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,\n      transformer: front_upper_transformer, from: link",
        )],
        found: &["+ floating-supplies front_upper_transformer one-primary"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the currents of an axle, and the name left in the list of a barrier",
        change: &[(
            "  front_currents:\n    { measures: current, of: [front_bridge.u, front_bridge.v], read_by: [front_controller],\n      transient_immunity: 100 kV/us, coupling: 2 pF }\n",
            "",
        )],
        found: &["+ control-cover front_bridge blind-trip"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the voltage of the link, which both axles work from and its trip watches",
        change: &[(
            "  link_voltage:\n    { measures: voltage, of: [link], read_by: [front_controller, rear_controller, auxiliary_controller],\n      transient_immunity: 100 kV/us, coupling: 2 pF }\n",
            "",
        )],
        found: &["+ control-cover link blind-trip"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "a controller that does not read the voltage that it works from",
        change: &[(
            "[front_controller, rear_controller, auxiliary_controller]",
            "[front_controller, auxiliary_controller]",
        )],
        found: &["+ control-cover link unread"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "a sensor in the list of a barrier between others: told with what passes none now",
        change: &[
            ("        - front_currents\n", ""),
            (
                "spanned_by: [front_bridge, rear_bridge, auxiliary, auxiliary_transformer]",
                "spanned_by: [front_bridge, rear_bridge, auxiliary, auxiliary_transformer, front_currents]",
            ),
        ],
        found: &["+ barrier-crossing isolation.traction to low_voltage no-barrier"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "a name in the list of a barrier misspelt: told with what passes no barrier now",
        change: &[("        - link_voltage\n", "        - link_votlage\n")],
        found: &["+ barrier-crossing isolation.traction to low_voltage no-barrier"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the creepage distance of a barrier: what it must be is said, whether it is cannot be judged",
        change: &[("      creepage: 14 mm\n", "")],
        found: &["+ barrier-distance isolation.barriers.gate_isolation undeclared"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "the coupling of a barrier that no output states of its own",
        change: &[(
            "      coupling: 4 pF                          # of each output of the transformers\n",
            "",
        )],
        found: &[],
        missing: &["isolation.barriers.gate_isolation.coupling is not stated"],
    },
    Swap {
        unit: GROOMER,
        what: "a discharge too weak for the two buses that it empties",
        change: &[("resistor: 47 kohm", "resistor: 940 kohm")],
        found: &["+ stored-energy link passive-discharge"],
        missing: &[],
    },
];

const DEVICES_AND_PARTS: &[Swap] = &[
    Swap {
        unit: CARRIER,
        what: "seven devices in place of six",
        change: &[
            (
                "high_side: { fitted: mos150_4m, parallel: 6 }",
                "high_side: { fitted: mos150_4m, parallel: 7 }",
            ),
            ("low_side: { fitted: mos150_4m, parallel: 6 }", "low_side: { fitted: mos150_4m, parallel: 7 }"),
        ],
        found: &["- parallel-sharing track_bridge.high_side.u.transistor too-hot"],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "slow devices at 20 kHz in one axle",
        change: &[(
            "feeds: front_motor\n    on_fault: gates_off                       # the diodes feed the link then\n    modulation: space_vector\n    overmodulation: excluded                  # torque ripple would show in the load's swing\n    field_weakening: 92 %\n    carrier: { frequency: 20 kHz }\n    dead_time: 500 ns\n    trip: 290 A\n    current_sensing: { range: 400 A, trip_tolerance: 4 %, trip_delay: 3 us }\n    switches:\n      high_side: { fitted: sic1200_6m, parallel: 1 }\n      low_side: { fitted: sic1200_6m, parallel: 1 }",
            "feeds: front_motor\n    on_fault: gates_off\n    modulation: space_vector\n    overmodulation: excluded\n    field_weakening: 92 %\n    carrier: { frequency: 20 kHz }\n    dead_time: 500 ns\n    trip: 290 A\n    current_sensing: { range: 400 A, trip_tolerance: 4 %, trip_delay: 3 us }\n    switches:\n      high_side: { fitted: hb1200_450, parallel: 1 }\n      low_side: { fitted: hb1200_450, parallel: 1 }",
        )],
        found: &[
            "+ back-emf front_bridge.high_side charging-current",
            "+ coolant-state cooling.front_plate boils",
            "+ coolant-supply cooling.axles.front warms-too-much",
            "+ current-headroom front_bridge.high_side.u.transistor continuous-current",
            "+ dead-time front_bridge too-short",
            "+ gate-drive-power front_bridge.low_side power",
            "+ junction-temperature front_bridge.high_side.u.diode too-hot",
            "+ short-circuit-response front_bridge.high_side.u early-look",
        ],
        missing: &[
            "devices.hb1200_450.transistor.short_circuit_at.drive_on covers a gate voltage of at most 15 V, not 18 V",
        ],
    },
    Swap {
        unit: SHUTTLE,
        what: "two bars exchanged that are alike but for their length",
        change: &[
            ("through: [front_bar]", "through: [x_bar]"),
            ("through: [rear_bar]", "through: [front_bar]"),
            ("through: [x_bar]", "through: [rear_bar]"),
        ],
        found: &[],
        missing: &[],
    },
    Swap {
        unit: SHUTTLE,
        what: "a bar that its branch no longer names",
        change: &[(", pack_sensor, pack_bar]", ", pack_sensor]")],
        found: &["+ unused-parts pack_bar unused"],
        missing: &[],
    },
    Swap {
        unit: HARVESTER,
        what: "plates exchanged, which leaves no 3 K more or less",
        change: &[("path: [track_plate, drum_plate]", "path: [drum_plate, track_plate]")],
        found: &[],
        missing: &[],
    },
];

const HEAT_OF_FORWARDER: &[&str] = &["- junction-temperature traction_bridge.high_side.u.diode too-hot"];

const MISSING: &[Swap] = &[
    Swap {
        unit: FORWARDER,
        what: "no path from a case to the coolant: what waits for its losses waits for it alone",
        change: &[("auxiliary: { face_a: 0.9 K/W }", "auxiliary: {}")],
        found: HEAT_OF_FORWARDER,
        missing: &["cooling.elements.lower_plate.cools.auxiliary.face_a is not stated"],
    },
    Swap {
        unit: FORWARDER,
        what: "no inlet in the duty point that another one starts from",
        change: &[(
            "  loaded_climb:\n    lasts: continuous\n    coolant: { inlet: 70 degC }\n",
            "  loaded_climb:\n    lasts: continuous\n",
        )],
        found: &["- junction-temperature traction_bridge.high_side.u.diode too-hot"],
        missing: &["duty.loaded_climb.coolant.inlet is not stated"],
    },
    Swap {
        unit: FORWARDER,
        what: "no carrier of a bridge that rests in one duty point",
        change: &[("    carrier: { frequency: 8 kHz }\n", "")],
        found: HEAT_OF_FORWARDER,
        missing: &["stages.pump_bridge.carrier.frequency is not stated"],
    },
    Swap {
        unit: FORWARDER,
        what: "no pump",
        change: &[("  pump: { flow: 14 L/min }\n", "")],
        found: HEAT_OF_FORWARDER,
        missing: &["cooling.pump.flow is not stated"],
    },
    Swap {
        unit: SHUTTLE,
        what: "an output that does not say what it feeds",
        change: &[("{ feeds: [front_bridge.high_side.u], power", "{ power")],
        found: &[],
        missing: &["gate_supplies.front_u.feeds is not stated"],
    },
];

#[test]
fn supplies() {
    check(SUPPLIES);
}

#[test]
fn what_is_left_out_is_found_once() {
    check(LEFT_OUT);
}

#[test]
fn devices_and_parts() {
    check(DEVICES_AND_PARTS);
}

#[test]
fn a_missing_value_is_named_once() {
    check(MISSING);
}

fn check(swaps: &[Swap]) {
    let folder = Folder::new();
    for parts in ["parts/semiconductors.yaml", "parts/capacitors.yaml"] {
        folder.put(parts, text_of(&format!("examples/{parts}")));
    }
    let mut wrong = Vec::new();
    for swap in swaps {
        let described = text_of(&format!("examples/{}.yaml", swap.unit));
        let mut changed = described.clone();
        for &(from, to) in swap.change {
            assert_eq!(changed.matches(from).count(), 1, "{}: `{from}`", swap.what);
            changed = changed.replace(from, to);
        }
        let (before, _) = review(&folder, &described);
        let (after, missing) = review(&folder, &changed);
        let comes = after.difference(&before).map(|finding| format!("+ {finding}"));
        let goes = before.difference(&after).map(|finding| format!("- {finding}"));
        let found: BTreeSet<String> = comes.chain(goes).collect();
        let expected: BTreeSet<String> = swap.found.iter().map(|&one| one.to_owned()).collect();
        if found != expected || missing != swap.missing {
            wrong.push(format!("{}, {}:\n  {found:?}\n  {missing:?}", swap.unit, swap.what));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Findings as check, part and defect, and what is missing.
fn review(folder: &Folder, text: &str) -> (BTreeSet<String>, Vec<String>) {
    folder.put("unit.yaml", text);
    let ran = run_in(folder, &["review", "--format", "json", "unit.yaml"]);
    let run: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
    let review = &run["reviews"][0];
    assert_eq!(review["problems"].as_array().map(Vec::len), Some(0), "{}", review["problems"]);
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let all = |key: &str| review[key].as_array().cloned().unwrap_or_default();
    let findings: Vec<String> = all("findings")
        .iter()
        .map(|one| format!("{} {} {}", word(&one["check"]), word(&one["part"]), word(&one["defect"])))
        .collect();
    let once: BTreeSet<String> = findings.iter().cloned().collect();
    assert_eq!(once.len(), findings.len(), "a finding twice: {findings:?}");
    (once, all("not_judged").iter().map(|one| word(&one["missing"])).collect())
}
