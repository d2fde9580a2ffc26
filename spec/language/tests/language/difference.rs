//! What counts as a change of a description, and what does not.

use std::sync::LazyLock;

use loadworthy_language::difference::{ChangeKind, Described, Difference, difference};
use loadworthy_language::quantity::Dimension;
use loadworthy_language::{Guide, Reading};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::Value;

use crate::mutations::{mutate, mutation};
use crate::workshop::{InMemory, VOCABULARY, WHOLE, reading, reading_with};

fn between(old: &Reading, new: &Reading) -> Difference {
    let stands_in = |path: &str| match path {
        "sensors.link_voltage.redundant" => Some((Dimension::Ratio, 1.0)),
        "stages.crane_bridge.dead_time" | "stages.wheel_bridge.dead_time" => Some((Dimension::Time, 2e-6)),
        _ => None,
    };
    let described = |reading| {
        let Reading { tree, base, .. }: &Reading = reading;
        Described { tree, root: base.unwrap(), stands_in: &stands_in }
    };
    // Making it takes longer than everything else here.
    static GUIDE: LazyLock<Guide> = LazyLock::new(|| Guide::new(VOCABULARY));
    difference(described(old), described(new), &GUIDE)
}

fn texts(old: &str, new: &str) -> Difference {
    let [old, new] = [old, new].map(reading);
    assert!(old.problems.is_empty() && new.problems.is_empty(), "{:?}{:?}", old.problems, new.problems);
    between(&old, &new)
}

/// The whole unit with passages replaced, each of which must be there.
fn with(passages: &[(&str, &str)]) -> String {
    passages.iter().fold(WHOLE.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    })
}

/// What the changes of a passage are, in short: kind, path, from, to.
fn told(difference: &Difference) -> Vec<String> {
    let said = |stated: &Option<loadworthy_language::difference::Stated>| match stated {
        None => "-".to_owned(),
        Some(stated) => stated.written.clone().unwrap_or_else(|| format!("assumed {:?}", stated.amount)),
    };
    let one = |change: &loadworthy_language::difference::Change| match &change.kind {
        ChangeKind::Added => format!("+ {}", change.path),
        ChangeKind::Removed => format!("- {}", change.path),
        ChangeKind::Renamed { from, to } => format!("{} : {from} = {to}", change.path),
        ChangeKind::Items { gained, lost } => format!("{} + {gained:?} - {lost:?}", change.path),
        ChangeKind::Order => format!("{} in order {}", change.path, said(&change.new)),
        ChangeKind::Value | ChangeKind::Stated | ChangeKind::Unstated => {
            format!("{} : {} > {}", change.path, said(&change.old), said(&change.new))
        }
    };
    difference.changes.iter().map(one).collect()
}

fn changes(passages: &[(&str, &str)]) -> Vec<String> {
    told(&texts(WHOLE, &with(passages)))
}

#[test]
fn what_means_the_same_is_no_change() {
    let nothing: [String; 0] = [];
    for (from, to) in [
        // Another unit, spelling, or quotes.
        ("current: 400 A\n", "current: 0.4 kA\n"),
        ("peaks: [{ current: 350 A, lasts: 20 s }]", "peaks: [{ current: 0.35kA, lasts: 20000 ms }]"),
        ("use_at_most: 80 %", "use_at_most: 0.8"),
        ("glycol: 50 %", "glycol: 0.5"),
        ("flow: [4 L/min, 8 L/min]", "flow: [4L/min, 8000 mL/min]"),
        ("kind: battery", "kind: \"battery\""),
        ("absorbs: true", "absorbs: True"),
        ("pole_pairs: 5", "pole_pairs: 0x5"),
        // Order and comments.
        ("low_bus: pack_bus\n    high_bus: link", "high_bus: link # the higher one\n    low_bus: pack_bus"),
        ("of: [wheel_bridge.u, wheel_bridge.v]", "of: [wheel_bridge.v, wheel_bridge.u]"),
        ("between: [traction, low_voltage]", "between: [low_voltage, traction]"),
    ] {
        assert_eq!(changes(&[(from, to)]), nothing, "{from}");
    }
    let aside = with(&[("loads:\n  cab: {}\n", "parts: [loads.yaml]\n")]);
    let mut files = InMemory::default();
    files.0.insert("loads.yaml", "loads:\n  cab: {}\n");
    let aside = reading_with(&aside, &[], &mut files);
    assert!(told(&between(&reading(WHOLE), &aside)).is_empty());
}

#[test]
fn a_value_is_told_as_written_and_as_what_it_comes_to() {
    let difference = texts(WHOLE, &with(&[("frequency: 12 kHz", "frequency: 9500 Hz")]));
    assert_eq!(told(&difference), ["stages.step_up.carrier.frequency : 12 kHz > 9500 Hz"]);
    let change = &difference.changes[0];
    let amount =
        |stated: &Option<loadworthy_language::difference::Stated>| stated.as_ref().and_then(|it| it.amount);
    assert_eq!(amount(&change.old), Some((Dimension::Frequency, 12_000.0)));
    assert_eq!(amount(&change.new), Some((Dimension::Frequency, 9_500.0)));
    assert!(!change.keeps_the_amount());
    let reading = reading(WHOLE);
    let at = change.old.as_ref().and_then(|old| old.at).unwrap();
    assert_eq!(reading.tree.text_of(reading.tree.span(at)), "12 kHz");
}

#[test]
fn a_default_that_is_stated_is_told_with_what_was_taken() {
    let stated = texts(
        WHOLE,
        &with(&[(
            "carrier: { frequency: 8 kHz }\n    switches",
            "carrier: { frequency: 8 kHz }\n    dead_time: 2000 ns\n    switches",
        )]),
    );
    assert_eq!(told(&stated), ["stages.crane_bridge.dead_time : assumed Some((Time, 2e-6)) > 2000 ns"]);
    assert_eq!(stated.changes[0].kind, ChangeKind::Stated);
    assert!(stated.changes[0].keeps_the_amount());
    let silent = texts(WHOLE, &with(&[("    dead_time: 2 us\n", "")]));
    assert_eq!(silent.changes[0].kind, ChangeKind::Unstated);
    assert!(silent.changes[0].keeps_the_amount() && silent.changes[0].new.as_ref().unwrap().is_assumed());
    let counted = texts(WHOLE, &with(&[(", redundant: 2 }", " }")]));
    assert_eq!(told(&counted), ["sensors.link_voltage.redundant : 2 > assumed Some((Ratio, 1.0))"]);
    assert!(!counted.changes[0].keeps_the_amount());
}

#[test]
fn entries_come_and_go_whole_and_values_one_by_one() {
    assert_eq!(
        changes(&[("loads:\n  cab: {}", "loads:\n  cab: {}\n  winch: { bus: board_net }")]),
        ["+ loads.winch"]
    );
    assert_eq!(
        changes(&[(
            "  service_port: {",
            "  workshop_port: { joins: [chassis, service] }\n  service_port: {"
        )]),
        ["+ signals.workshop_port"]
    );
    assert_eq!(
        changes(&[(
            "    undervoltage: 12 V\n    short_circuit: { blanking: 1.5 us, filter: 300 ns, delay: 150 ns, turn_off: 900 ns }\n",
            ""
        )]),
        [
            "drivers.wheel_drivers.undervoltage : 12 V > -",
            "drivers.wheel_drivers.short_circuit.blanking : 1.5 us > -",
            "drivers.wheel_drivers.short_circuit.filter : 300 ns > -",
            "drivers.wheel_drivers.short_circuit.delay : 150 ns > -",
            "drivers.wheel_drivers.short_circuit.turn_off : 900 ns > -",
        ]
    );
}

#[test]
fn lists_are_matched_by_what_their_items_are() {
    // What coolant passes one after another is another loop in another order; what a barrier is spanned by is a set.
    assert_eq!(
        changes(&[("right: [crane_stack, boost_stack]", "right: [boost_stack, crane_stack]")]),
        ["cooling.elements.stacks.split.right in order [boost_stack, crane_stack]"]
    );
    assert_eq!(
        changes(&[(
            "spanned_by: [gate_drivers, gate_transformer_1,",
            "spanned_by: [sensor_supply, gate_drivers,"
        )]),
        ["isolation.barriers.gate_isolation.spanned_by + [\"sensor_supply\"] - [\"gate_transformer_1\"]"]
    );
    // A curve is told apart by its temperature, wherever it stands.
    let colder = "- { junction: 150 degC, current: [90 A, 400 A], voltage: [1.1 V, 1.9 V] }\n        - { junction: 25 °C, current: [90 A, 400 A], voltage: [1.05 V, 1.6 V] }\n        - { junction: -20 degC, current: [90 A, 400 A], voltage: [1 V, 1.5 V] }";
    let curves = "- { junction: 25 degC, current: [90 A, 400 A], voltage: [1.05 V, 1.6 V] }\n        - { junction: 150 degC, current: [90 A, 400 A], voltage: [1.1 V, 1.85 V] }";
    assert_eq!(
        changes(&[(curves, colder)]),
        [
            "devices.half_bridge_400.transistor.on_state[150 degC].voltage : [1.1 V, 1.85 V] > [1.1 V, 1.9 V]",
            "+ devices.half_bridge_400.transistor.on_state[-20 degC]",
        ]
    );
}

#[test]
fn permits_are_matched_by_what_they_are_about() {
    let permit = |part: &str, reason: &str| {
        format!(
            "  - {{ check: output-reach, part: {part}, reason: {reason}, accepted_by: team, until: 2027-03-31 }}\n"
        )
    };
    let unit = |permits: &[&String]| {
        let permits = permits.iter().map(|one| one.as_str()).collect::<String>();
        with(&[("permits:\n", &format!("permits:\n{permits}"))])
    };
    let (wheel, crane) = (permit("wheel_bridge", "slow"), permit("crane_bridge", "rare"));
    let old = unit(&[&wheel, &crane]);
    assert!(told(&texts(&old, &unit(&[&crane, &wheel]))).is_empty());
    assert_eq!(told(&texts(WHOLE, &unit(&[&wheel]))), ["+ permits[output-reach, wheel_bridge]"]);
    assert_eq!(told(&texts(&old, &unit(&[&wheel]))), ["- permits[output-reach, crane_bridge]"]);
    let steep = permit("wheel_bridge", "steep");
    assert_eq!(
        told(&texts(&old, &unit(&[&steep, &crane]))),
        ["permits[output-reach, wheel_bridge].reason : slow > steep"]
    );
}

#[test]
fn variants_are_compared_as_the_patches_that_they_are() {
    let power = "electrical_power: 80 kW } } }";
    assert_eq!(changes(&[(power, "electrical_power: 80e3 W } } }")]), [""; 0]);
    assert_eq!(
        changes(&[(power, "electrical_power: 84 kW, frequency: null } } }")]),
        [
            "variants.heavy.duty.loaded_climb.loads.wheel_motor.electrical_power : 80 kW > 84 kW",
            "variants.heavy.duty.loaded_climb.loads.wheel_motor.frequency : - > null",
        ]
    );
    assert_eq!(changes(&[("  standard: {}\n", "  standard: {}\n  light: {}\n")]), ["+ variants.light"]);
}

#[test]
fn an_entry_under_another_name_is_recognised_and_what_follows_is_no_change() {
    // By what it holds; everything that names it follows.
    assert_eq!(
        changes(&[("wheel_bridge", "drive_bridge")]),
        ["stages.drive_bridge : wheel_bridge = drive_bridge"]
    );
    // A bus holds next to nothing; it is where it was.
    assert_eq!(
        changes(&[("pack_bus: {", "battery_bus: {"), ("pack_bus", "battery_bus")]),
        ["buses.battery_bus : pack_bus = battery_bus"]
    );
    // Neighbours under other names are recognised one by the other.
    assert_eq!(
        changes(&[
            ("gate_isolation", "drive_isolation"),
            ("wheel_drivers", "axle_drivers"),
            ("wheel_motor", "axle_motor")
        ]),
        [
            "machines.axle_motor : wheel_motor = axle_motor",
            "drivers.axle_drivers : wheel_drivers = axle_drivers",
            "isolation.barriers.drive_isolation : gate_isolation = drive_isolation",
        ]
    );
    // Not only the name: it is joined to the same, and most of it is the same.
    assert_eq!(
        changes(&[("step_up", "lift"), ("frequency: 12 kHz", "frequency: 14 kHz")]),
        ["stages.lift : step_up = lift", "stages.lift.carrier.frequency : 12 kHz > 14 kHz"]
    );
}

#[test]
fn another_part_in_the_same_place_is_no_other_name() {
    let device = "  fast_150:\n    package: { form: discrete, circuit: single, cooled_faces: 1 }\n    transistor:\n      kind: mosfet\n      blocking_voltage: 150 V\n      current: { continuous: 150 A, at_case: 100 degC }";
    let other = "  slow_200:\n    package: { form: module, circuit: half_bridge, cooled_faces: 2 }\n    transistor:\n      kind: mosfet\n      blocking_voltage: 200 V\n      current: { continuous: 120 A, at_case: 80 degC }";
    let difference = texts(
        WHOLE,
        &with(&[
            (device, other),
            ("fast_150", "slow_200"),
            ("resistance: 3.2 mohm", "resistance: 5 mohm"),
            (
                "resistance: 6 mohm }]\n      thermal_impedance: [[0.4 K/W",
                "resistance: 9 mohm }]\n      thermal_impedance: [[0.3 K/W",
            ),
        ]),
    );
    assert!(difference.renames.is_empty(), "{:?}", difference.renames);
    assert_eq!(
        told(&difference),
        [
            "stages.cab_converter.switches.rectifier.fitted : fast_150 > slow_200",
            "+ devices.slow_200",
            "- devices.fast_150",
        ]
    );
    // Which of two alike went and which came nobody can say.
    let twins = |one: &str, other: &str| format!("edition: 2026\nbuses: {{ {one}: {{}}, {other}: {{}} }}\n");
    let difference = texts(&twins("a", "b"), &twins("c", "d"));
    assert!(difference.renames.is_empty());
    assert_eq!(told(&difference), ["+ buses.c", "+ buses.d", "- buses.a", "- buses.b"]);
}

/// A difference seen from the other side.
fn mirrored(difference: &Difference) -> Vec<String> {
    let mut all = difference
        .changes
        .iter()
        .map(|change| {
            let kind = match &change.kind {
                ChangeKind::Added => ChangeKind::Removed,
                ChangeKind::Removed => ChangeKind::Added,
                ChangeKind::Stated => ChangeKind::Unstated,
                ChangeKind::Unstated => ChangeKind::Stated,
                ChangeKind::Renamed { from, to } => {
                    ChangeKind::Renamed { from: to.clone(), to: from.clone() }
                }
                ChangeKind::Items { gained, lost } => {
                    ChangeKind::Items { gained: lost.clone(), lost: gained.clone() }
                }
                kind @ (ChangeKind::Value | ChangeKind::Order) => kind.clone(),
            };
            format!("{kind:?} {:?} {:?}", change.new, change.old)
        })
        .collect::<Vec<_>>();
    all.sort();
    all
}

fn plain(difference: &Difference) -> Vec<String> {
    let mut all = difference
        .changes
        .iter()
        .map(|one| format!("{:?} {:?} {:?}", one.kind, one.old, one.new))
        .collect::<Vec<_>>();
    all.sort();
    all
}

proptest! {
    #![proptest_config(ProptestConfig {cases: 96, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn any_description_is_itself_and_a_difference_reads_alike_from_both_sides(
        one in prop::collection::vec(mutation(), 0..4),
        other in prop::collection::vec(mutation(), 0..4),
    ) {
        let whole = whole();
        let texts = [one, other].map(|mutations| {
            let mut document = whole.clone();
            mutations.iter().for_each(|one| mutate(&mut document, one));
            document.to_string()
        });
        let [one, other] = texts.map(|text| reading(&text));
        if let (Some(_), Some(_)) = (one.base, other.base) {
            prop_assert!(told(&between(&one, &one)).is_empty());
            prop_assert_eq!(mirrored(&between(&one, &other)), plain(&between(&other, &one)));
        }
    }
}

/// The whole unit as JSON, which is YAML as well.
fn whole() -> Value {
    let reading = reading(WHOLE);
    reading.tree.deserialize::<Value>(reading.base.unwrap()).unwrap()
}
