//! What the language says about descriptions that are wrong: one table a topic, each case with all it says.

use crate::workshop::{FORWARDER, reading, table, told};
use loadworthy_language::sections::devices::Transistor;

#[test]
fn keys() {
    insta::assert_snapshot!(table(&[
        "coling: { pump: { flow: 8 L/min } }",
        "everything: 1",
        "unit: { nam: Loader }",
        "unit: { colour: red }",
        "buses: { link: { nominal: 620 V, highst: 750 V } }",
        // An unknown key close to a missing one is one problem.
        "devices: { a: { diode: { on_state: [{ junctoin: 25 degC, current: [1 A, 2 A], voltage: [1 V, 2 V] }] } } }",
        "devices: { a: { diode: { on_state: [{ current: [1 A, 2 A] }] } } }",
        "devices: { a: { diode: { energies: { voltage: 600 V } } } }",
    ]));
}

#[test]
fn editions() {
    let cases = [
        "unit: { name: Loader }",
        "editon: 2026\nunit: {}",
        "edition: 2031",
        "edition: '2026'",
        "edition: 2026.0",
        "edition:",
    ];
    let told = cases.iter().map(|text| format!("{text}\n----\n{}\n", told(&reading(text))));
    insta::assert_snapshot!(told.collect::<Vec<_>>().join("\n====\n"));
}

#[test]
fn kinds_and_words() {
    insta::assert_snapshot!(table(&[
        "sources: { pack: { bus: link } }",
        "sources: { pack: { kin: battery } }",
        "sources: { pack: { kind: batery } }",
        // Words of the trade, and a part of a word.
        "machines: { drive: { kind: pmsm } }",
        "stages: { a: { topology: inverter } }",
        "stages: { a: { topology: full-bridge } }",
        "sources: { pack: { kind: battery, open_circuit: { min: 300 V, max: 400 V } } }",
        // One value in place of a map, or of a list of maps.
        "stages: { a: { topology: boost, switches: { low_side: hb650 } } }",
        "devices: { a: { transistor: { kind: mosfet, on_resistance: 8 mohm } } }",
        "devices: { a: { transistor: { kind: igbt, on_state: 1.7 V } } }",
        // A word of another kind than the keys are of is one slip, and so is a number in place of a word or a name.
        "sources: { pack: { kind: generator, open_circuit: { lowest: 300 V }, internal_resistance: { highest: 9 mohm } } }",
        "conductors: { main: { kind: fuse, breaks: { voltage: 450 V }, opens: { above: 1 A }, current: { at: 85 degC } } }",
        "conductors: { main: { kind: 7 } }",
        "branches: { feed: { from: pack, to: 3 } }\nsources: { pack: { kind: battery } }",
        // One strange key says nothing of the kind.
        "sources: { pack: { kind: generator, open_circuit: { lowest: 300 V } } }",
        "sources: { pack: { kind: } }",
        "sources: { pack: { kind: [battery] } }",
        "devices: { a: { transistor: { kind: igbt, on_resistance: [] } } }",
        "stages: { bridge: { topology: three_phase_bridge, modulation: svm, overmodulation: yes } }",
        "stages: { bridge: { topology: matrix } }",
        "stages: { step_up: { topology: boost, dc_bus: link, modulation: space_vector } }",
        "conductors: { line: { kind: wire } }",
        "sources: { pack: { kind: battery, absorbs: no } }",
        "cooling: { elements: { a: { fixed: yes, vented: 'true' }, b: { fixed: maybe, vented: 1 } } }",
        "isolation: { domains: { traction: { touchable: Off, bonded: [] } }, barriers: { a: { kind: strong, material_group: III } } }",
    ]));
}

#[test]
fn a_kind_that_is_misspelt_hides_no_other_slip() {
    let kinds = |text: &str| -> Vec<&str> {
        reading(&format!("edition: 2026\n{text}\n")).problems.iter().map(|problem| problem.kind).collect()
    };
    assert_eq!(
        kinds("sources: { pack: { kind: batery, inductance: 4 V, colour: red } }"),
        ["unknown-word", "bad-quantity", "unknown-key"]
    );
    // What all kinds read alike is judged without one.
    assert_eq!(kinds("sources: { pack: { kind: sun, inductance: 4 V } }"), ["unknown-word", "bad-quantity"]);
    assert_eq!(kinds("sources: { pack: { inductance: 4 V } }"), ["missing-key", "bad-quantity"]);
}

#[test]
fn types() {
    insta::assert_snapshot!(table(&[
        "sources: battery",
        "sources: [battery]",
        "cooling: { path: plate }",
        "cooling: { path: [] }",
        "unit: { name: 42, revision: 3 }",
        "unit: { name: [a] }",
        "surroundings: { pollution_degree: 7 }",
        "surroundings: { pollution_degree: two }",
        "surroundings: { pollution_degree: 2.5 }",
        "permits: []",
        "permits: { check: x }",
        "devices: { a: { diode: { thermal_impedance: [[0.1 K/W]] } } }",
        "devices: { a: { diode: { thermal_impedance: [0.1 K/W, 5 ms] } } }",
        "devices: { a: { diode: { energies: { voltage: 600 V, junction: 25 degC, current: 5 A, recovery: 1 mJ, voltage_exponent: 9 } } } }",
    ]));
}

#[test]
fn nothing_stated() {
    insta::assert_snapshot!(table(&[
        "sources:",
        "sources: { pack: }",
        "duty: { climb: { lasts: } }",
        "duty: { climb: { lasts: null } }",
        "unit: { name: '' }",
        "devices: { a: { diode: { on_state: [~] } } }",
    ]));
}

#[test]
fn names() {
    insta::assert_snapshot!(table(&[
        "buses: { link.plus: {} }",
        "buses: { -link: {} }",
        "buses: { 'li nk': {} }",
        "buses: { '': {} }",
        "buses: { \"li\\u202Enk\": {} }",
        "buses: { größe: {} }",
        &format!("buses: {{ {}: {{}} }}", "b".repeat(80)),
        "buses: { link: {} }\nloads: { link: {} }",
        "loads: { cooling: {} }",
    ]));
}

#[test]
fn values_with_units() {
    insta::assert_snapshot!(table(&[
        "buses: { link: { nominal: 620, highest: 750 A } }",
        "surroundings: { inside_air: 65 C }",
        "surroundings: { inside_air: 338 K }",
        "policy: { junction: { keep: 20 degC } }",
        "policy: { device_peak_current: { use_at_most: 80 } }",
        "policy: { device_peak_current: { use_at_most: -5 % } }",
        "policy: { device_peak_current: { keep: 20 A } }",
        "policy: { juncton: { keep: 20 K } }",
        "duty: { climb: { lasts: forever } }",
        "duty: { climb: { lasts: 5 mS } }",
        "duty: { climb: { buses: { link: 1,5 kV } } }",
    ]));
}

#[test]
fn references() {
    insta::assert_snapshot!(table(&[
        "buses: { link: {} }\nsources: { pack: { kind: battery, bus: lnk } }",
        "stages: { bridge: { topology: three_phase_bridge, dc_bus: link, feeds: motor, switches: { high_side: { fitted: ig }, low_side: { fitted: ig } } } }",
        // What is void makes no echo.
        "buses: { link: { nominal: 5 A } }\nloads: { cab: { bus: link } }",
        "buses: 5\nloads: { cab: { bus: link } }",
        "machines: { motor: { kind: permanent_magnet } }\nduty: { climb: { loads: { moter: { power: 5 kW } }, sources: { pack: {} }, buses: { link: 5 V } } }",
        "duty: { a: { starts_from: b }, b: { starts_from: a }, c: { starts_from: a }, d: { starts_from: e } }",
        "cooling: { path: [plate, plat, plate], elements: { plate: { cools: { bridge: {} } } } }",
    ]));
}

#[test]
fn curves() {
    insta::assert_snapshot!(table(&[
        "devices: { a: { diode: { on_state: [{ junction: 25 degC, current: [100 A, 100 A], voltage: [1 V] }] } } }",
        "devices: { a: { diode: { on_state: [{ junction: 25 degC, current: 100 A, voltage: 1 V }] } } }",
        "devices: { a: { diode: { on_state: [{ junction: 25 degC, current: [0 A, 100 A], voltage: [1 V, 0.9 V] }, { junction: 25.0 °C, current: [1 A, 2 A], voltage: [1 V, 2 V] }] } } }",
        "devices: { a: { transistor: { kind: mosfet, on_resistance: [{ junction: 25 degC, resistance: 1 mohm }, { junction: 25 degC, resistance: 2 mohm }] } } }",
        "devices: { a: { diode: { energies: { voltage: 600 V, junction: 25 degC, current: [10 A, 20 A], recovery: 5 mJ } } } }",
        "devices: { a: { transistor: { kind: igbt, junction_limit: 80 degC, current: { at_case: 80 degC, continuous: 0 A } } } }",
        "devices: { a: { diode: { thermal_impedance: [[0 K/W, 5 ms]] } } }",
    ]));
}

#[test]
fn electrical() {
    insta::assert_snapshot!(table(&[
        "buses: { link: { nominal: 700 V, highest: 600 V } }",
        "sources: { pack: { kind: battery, open_circuit: { lowest: 0 V, nominal: 600 V, highest: 500 V }, internal_resistance: { lowest: 5 ohm, highest: 5 mohm } } }",
        "sources: { pack: { kind: battery, discharge: { continuous: 100 A, peaks: [{ current: 50 A, lasts: 5 s }] } } }",
        "stages: { bridge: { topology: three_phase_bridge, carrier: { frequency: 0 Hz } } }",
        "stages: { bridge: { topology: three_phase_bridge, carrier: { frequency: 100 kHz }, dead_time: 5 us } }",
        "devices: { ig: { package: { circuit: half_bridge } } }\nstages: { bridge: { topology: three_phase_bridge, switches: { high_side: { fitted: ig, parallel: 2 }, low_side: { fitted: ig } } } }",
        "cooling: { coolant: { kind: water_glycol, glycol: 40 % } }",
        "stages: { bridge: { topology: three_phase_bridge } }\ncooling: { elements: { a: { cools: { bridge: { face_a: 1 K/W } } }, b: { cools: { bridge: { face_a: 1 K/W, face_b: 1 K/W } } } } }",
    ]));
}

#[test]
fn duty_points() {
    let unit = "buses: { link: {} }\nsources: { pack: { kind: battery, bus: link } }\n\
                machines: { motor: { kind: permanent_magnet } }\nloads: { cab: { bus: link } }\n";
    let cases = [
        "duty: { climb: { sources: { pack: { terminal: 600 V, open_circuit: 620 V } } } }",
        "duty: { climb: { sources: { pack: { terminal: 600 V } }, buses: { link: 620 V } } }",
        "duty: { climb: { loads: { motor: { electrical_power: 5 kW, phase_current: 5 A rms } } } }",
        "duty: { climb: { loads: { motor: { power: 5 kW } } } }",
        "duty: { climb: { loads: { motor: { power: 5 kW, frequency: 50 Hz, line_voltage: 5 V rms } } } }",
        "duty: { climb: { loads: { cab: { electrical_power: 5 kW, frequency: 50 Hz } } } }",
        "duty: { climb: { loads: { motor: { frequency: 0 Hz, phase_current: 5 A rms, line_voltage: 5 V rms } } } }",
        "duty: { climb: { loads: { motor: { electrical_power: 5 kW, power_factor: -0.9 } } } }",
        "duty: { climb: { loads: { motor: { electrical_power: -5 kW, power_factor: -0.9 } } } }",
        "duty: { climb: { loads: { motor: { electrical_power: 5 kW, power_factor: 0 } } } }",
        "duty: { climb: { loads: { motor: { power_factor: 1.2 } } } }",
        "duty: { climb: { lasts: 30 s, every: 20 s } }",
        "duty: { climb: { lasts: continuous, every: 20 s } }",
        "duty: { climb: { lasts: 0 s } }",
        "duty: { climb: { coolant: { flow: 0 L/min } } }",
    ];
    let cases = cases.map(|case| format!("{unit}{case}"));
    let cases = cases.iter().map(String::as_str).collect::<Vec<_>>();
    insta::assert_snapshot!(table(&cases).replace(unit, ""));
}

#[test]
fn permits() {
    let permit = |change: &str| {
        let permit = "permits: [{ check: a, part: b, reason: c, accepted_by: d, until: 2027-03-31 }]";
        let (from, to) = change.split_once(" => ").unwrap_or((change, ""));
        permit.replacen(from, to, 1)
    };
    let cases = [
        "2027-03-31 => 2027-02-30",
        "2027-03-31 => soon",
        "2027-03-31 => 20270331",
        "reason: c, => ",
        "reason: c => reason: c, up_to: much",
    ];
    let cases = cases.map(permit);
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
}

#[test]
fn a_number_that_cannot_be_read_leaves_the_rest_of_its_entry() {
    let text = FORWARDER.replacen("blocking_voltage: 1.2 kV", "blocking_voltage: 1.2 kA", 1);
    let reading = reading(&text);
    insta::assert_snapshot!(told(&reading), @r"
    unit.yaml:61:25 bad-quantity [1.2 kA]
        `blocking_voltage` expects a voltage, found `1.2 kA`, a current
        ^ expected a voltage
        > write e.g. `650 V`
    ");
    let description = &reading.variants[0].description;
    let device = description.devices.entry("ig1200_450").expect("the rest of it");
    let Some(Transistor::Igbt(igbt)) = &device.transistor else { panic!("an IGBT") };
    let volts = igbt.blocking_voltage.expect("a gap");
    assert!(volts.si().is_nan() && igbt.junction_limit.is_some());
    assert_eq!(description.gaps.as_ref(), [volts.at]);
}

#[test]
fn a_broken_entry_voids_itself_and_nothing_else() {
    let reading =
        reading(&FORWARDER.replacen("blocking_voltage: 1.2 kV", "hue: 5\n      blocking_voltage: 1.2 kV", 1));
    assert_eq!(reading.problems.len(), 1);
    let description = &reading.variants[0].description;
    assert!(description.devices["ig1200_450"].read().is_none() && description.gaps.is_empty());
    assert!(description.devices.entry("mos1200_15m").is_some());
    assert!(description.stages.readable().count() == 2 && description.duty.readable().count() == 3);
    assert!(description.cooling.read().is_some());
}

#[test]
fn what_is_void_is_not_absent() {
    let reading = reading("edition: 2026\nsources: 5\ncooling: { pump: 8 L/min }\nunit: { name: Loader }\n");
    let description = &reading.variants[0].description;
    assert!(description.sources.void && description.sources.at.is_some() && description.sources.is_empty());
    assert!(!description.buses.void && description.buses.at.is_none());
    assert!(description.cooling.is_void() && description.cooling.read().is_none());
    assert!(description.surroundings.at().is_none() && !description.surroundings.is_void());
    assert_eq!(
        description.header.read().and_then(|header| header.name.as_deref()).map(String::as_str),
        Some("Loader")
    );
}

#[test]
fn what_is_collected_of_a_file_is_bounded() {
    let entries = (0..5000).map(|number| format!("  b{number}: {{ nominal: {number} A, other: 1 }}\n"));
    let reading = reading(&format!("edition: 2026\nbuses:\n{}", entries.collect::<String>()));
    assert_eq!(reading.problems.len(), 201);
    assert_eq!(reading.problems[200].message, "… and 9800 more problems in this file");
    let void = reading.variants[0].description.buses.values().filter(|entry| entry.read().is_none()).count();
    assert_eq!(void, 5000);
}

#[test]
fn hostile_texts_are_shown_harmlessly() {
    insta::assert_snapshot!(table(&[
        "unit: { name: \"a\\u202Eb\" }\nbuses: { link: { nominal: \"\\u202E5 V\" } }",
        "buses: { \"\\e[31mred\": {} }",
        "stages: { bridge: { topology: \"\\u200Bthree_phase_bridge\" } }",
        "buses: { link: { nominal: 1e999 V } }",
        "buses: { link: { nominal: .nan V } }",
        &format!("buses: {{ link: {{ nominal: {} V }} }}", "9".repeat(400)),
    ]));
}

/// Texts that ask for more work than their size, each as large as is read.
#[test]
fn no_text_takes_much_longer_than_its_size() {
    let many = |count: usize, each: &dyn Fn(usize) -> String| (0..count).map(each).collect::<String>();
    let texts = [
        ("keys", many(200_000, &|number| format!("key{number}: 1\n"))),
        ("keys of a map", format!("unit:\n{}", many(200_000, &|number| format!("  key{number}: 1\n")))),
        (
            "names",
            format!(
                "loads:\n{}",
                many(100_000, &|number| format!("  load{number}: {{ bus: none{number} }}\n"))
            ),
        ),
        ("a chain", {
            let point = |number: usize| format!("  p{number}: {{ starts_from: p{} }}\n", number + 1);
            format!("duty:\n{}  p50000: {{}}\n", many(50_000, &point))
        }),
        ("a circle", {
            let point =
                |number: usize| format!("  p{number}: {{ starts_from: p{} }}\n", (number + 1) % 50_000);
            format!("duty:\n{}", many(50_000, &point))
        }),
        ("temperatures", {
            let point =
                |number: usize| format!("      - {{ junction: {number} degC, resistance: 1 mohm }}\n");
            format!(
                "devices:\n  a:\n    transistor:\n     kind: mosfet\n     on_resistance:\n{}",
                many(50_000, &point)
            )
        }),
        ("branches", {
            let branch = |number: usize| {
                format!("  b{number}: {{ from: s, to: n{number}, through: [c, c{number}] }}\n")
            };
            let source = "sources: { s: { kind: battery } }\nconductors: { c: { kind: fuse } }\n";
            format!("{source}branches:\n{}", many(40_000, &branch))
        }),
        ("ends", {
            let bus = |number: usize| format!("  b{number}: {{}}\n");
            let branch = |number: usize| format!("  x{number}: {{ from: s, to: b{number} }}\n");
            let point = |number: usize| {
                format!(
                    "  p{number}: {{ sources: {{ s: {{ terminal: 5 V }} }}, buses: {{ b{number}: 5 V }} }}\n"
                )
            };
            format!(
                "sources: {{ s: {{ kind: battery }} }}\nbuses:\n{}branches:\n{}duty:\n{}",
                many(20_000, &bus),
                many(20_000, &branch),
                many(20_000, &point)
            )
        }),
        ("kinds", {
            let stage = |number: usize| format!("  s{number}: {{ topology: boost, inductor: t{number} }}\n");
            let transformer = |number: usize| format!("  t{number}: {{ kind: transformer }}\n");
            format!("stages:\n{}magnetics:\n{}", many(40_000, &stage), many(40_000, &transformer))
        }),
        ("gates", {
            let supply =
                |number: usize| format!("  g{number}: {{ feeds: [s.low_side, z{number}.low_side.u] }}\n");
            format!(
                "stages: {{ s: {{ topology: boost, legs: 32 }} }}\ngate_supplies:\n{}",
                many(40_000, &supply)
            )
        }),
        ("divided flow", {
            let element = |number: usize| {
                format!(
                    "    e{number}: {{ split: {{ a: [e{}], b: [x] }}, cools: {{ s{number}.u: {{}} }} }}\n",
                    number + 1
                )
            };
            format!("cooling:\n  path: [e0]\n  elements:\n{}", many(40_000, &element))
        }),
        ("devices", {
            let element = |number: usize| {
                format!(
                    "    e{number}: {{ cools: {{ s: {{ face_a: 1 K/W, devices: 1 }}, t{number}: {{ devices: 1 }} }} }}\n"
                )
            };
            format!(
                "stages: {{ s: {{ topology: boost, switches: {{ low_side: {{ parallel: 64 }} }} }} }}\ncooling:\n  elements:\n{}",
                many(40_000, &element)
            )
        }),
        ("removals", {
            let nulls = many(50_000, &|number| format!("      x{number}: null\n"));
            let buses = many(50_000, &|number| format!("  b{number}: {{}}\n"));
            format!("buses:\n{buses}variants:\n  v:\n    buses:\n{nulls}")
        }),
    ];
    for (name, text) in texts {
        let start = std::time::Instant::now();
        let reading = reading(&format!("edition: 2026\n{text}"));
        let took = start.elapsed();
        // A quadratic way through any of these takes minutes; the bound leaves room for a slow and busy machine.
        assert!(took.as_secs() < 20, "{name}: {took:?} for {} bytes", text.len());
        assert!(reading.problems.len() <= 500, "{name}: {}", reading.problems.len());
    }
}

#[test]
fn a_frequency_without_a_unit_is_proposed_in_the_unit_of_its_key() {
    insta::assert_snapshot!(table(&[
        "machines: { motor: { kind: induction } }\nduty: { run: { loads: { motor: { electrical_power: 20 kW, frequency: 210 } } } }",
        "isolation: { domains: { a: {}, b: {} }, barriers: { gap: { between: [a, b], frequency: 150 } } }",
    ]));
}

#[test]
fn a_decimal_comma_between_braces_is_one_slip() {
    insta::assert_snapshot!(table(&[
        "sources: { pack: { kind: battery, open_circuit: { lowest: 260,5 V, highest: 400 V } } }",
        // Also where it is the last one, and beside another slip.
        "buses: { link: { nominal: 620 V, highst: 700 V, loop_inductance: 12,5 nH } }",
        "buses: { link: { nominal: 620,5 V, highest: 700,25 V, colour: red } }",
        // A blank makes two of it that nobody can be sure of.
        "buses: { link: { nominal: 620, 5 V } }",
        // Nor is a key without a value the half of a number.
        "buses: { link: { nominal: 620 V,5 V } }",
        "buses:\n  link:\n    nominal: 620,5 V",
    ]));
}

#[test]
fn entries_in_another_section() {
    insta::assert_snapshot!(table(&[
        "loads: { pack_fuse: { kind: fuse, voltage: 500 V, current: 700 A } }",
        // It has a key of its own section, and more of it than of another.
        "loads: { cab: { bus: link, power: 2 kW } }\nbuses: { link: {} }",
    ]));
}

#[test]
fn branches_that_no_bus_ends() {
    insta::assert_snapshot!(table(&[
        "sources: { pack: { kind: battery } }\nbuses: { link: {} }\nbranches: { feed: { from: pack, to: drive } }\nstages: { drive: { topology: three_phase_bridge, dc_bus: link } }",
        "sources: { pack: { kind: battery } }\nloads: { winch: {} }\nbranches: { feed: { from: pack, to: winch } }",
    ]));
}

#[test]
fn a_branch_leads_around_a_contactor_alone() {
    insta::assert_snapshot!(table(&[
        "sources: { pack: { kind: battery } }\nbuses: { link: {} }\nbranches: { feed: { from: pack, to: link, through: [fuse] }, precharge: { around: fuse } }\nconductors: { fuse: { kind: fuse } }",
    ]));
}

#[test]
fn a_stage_on_a_bus_that_nobody_knows_contradicts_no_branch() {
    insta::assert_snapshot!(table(&[
        "buses: { low: {}, board: {} }\nbranches: { feed: { from: aux, to: board } }\nstages: { aux: { topology: buck, from: low, to: boardnet } }",
    ]));
}

#[test]
fn ends_that_were_exchanged_are_one_slip() {
    insta::assert_snapshot!(table(&[
        "sources: { pack: { kind: battery, open_circuit: { lowest: 92 V, nominal: 80 V, highest: 66 V } } }",
    ]));
}

#[test]
fn a_face_without_any_resistance_is_a_slip() {
    insta::assert_snapshot!(table(&[
        "cooling: { elements: { plate: { cools: { drive: { face_a: 0 K/W } } } } }",
    ]));
}

#[test]
fn slips_of_a_blank_a_comma_and_a_letter() {
    insta::assert_snapshot!(table(&[
        "stages: { lift: { topology: boost, carrier: {frequency:20 kHz} } }",
        "magnetics:\n  t:\n    kind: transformer\n    turns_ratio: 2,5\n",
        "duty: { run: { loads: { motor: { phase_current: 38 Arms, line_voltage: 54 Vpk } } } }",
        "magnetics: { c: { kind: choke, core: { saturation: { flux_density: [4600 G], at: [25 degC] } } } }",
    ]));
}

/// One of the two may have been meant to have the name that leads nowhere.
#[test]
fn what_an_entry_that_stands_twice_leaves_without_a_name_is_told_with_it() {
    let kinds = |stages: &str| {
        let rest = "sensors: { heat: { measures: temperature, of: [two] } }\ndrivers: { pair: { drives: [two.high_side] } }";
        let all = reading(&format!("edition: 2026\nstages: {{ {stages} }}\n{rest}\n")).problems;
        let is_asked = |kind: &&str| ["duplicate-key", "unknown-name"].contains(kind);
        all.iter().map(|problem| problem.kind).filter(is_asked).collect::<Vec<_>>()
    };
    assert_eq!(kinds("one: { topology: boost }, one: { topology: boost }"), ["duplicate-key"]);
    assert_eq!(kinds("one: { topology: boost }"), ["unknown-name"]);
}
