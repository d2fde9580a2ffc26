//! Distances, edges and leakage through whole descriptions: reference cases, rows, altitudes, what lies above the tables.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Grade;
use loadworthy_unit::Solved;
use serde_json::Value;

use crate::descriptions::{changed, failing, holding, unit};
use crate::stand_ins::{listed, reviewed_with};

const CASES: &str = include_str!("../../../tests/reference/insulation_and_gate.json");
const GATES: &str = "isolation.barriers.gate_isolation";

/// A figure of the first duty point, by its path.
fn figure(text: &str, path: &str) -> Option<f64> {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let place = (0..variant.tables.figures().len())
        .find(|&place| variant.tables.figure_path(loadworthy_unit::FigureId::new(place)) == path)
        .unwrap_or_else(|| panic!("no figure {path}"));
    solved.figure(loadworthy_unit::FigureId::new(place), variant.lane_ids().next()?)
}

/// The highland loader with another barrier: what is changed, as pairs of texts.
fn with(changes: &[(&str, String)]) -> String {
    changes.iter().fold(holding("barrier-distance").to_owned(), |text, (from, to)| changed(&text, from, to))
}

fn close(got: f64, expected: f64, within: f64) -> bool {
    (got - expected).abs() <= within * expected.abs()
}

fn cases(topic: &str) -> Vec<Value> {
    let all: Value = serde_json::from_str(CASES).expect("reference cases");
    all["cases"]
        .as_array()
        .expect("a list of cases")
        .iter()
        .filter(|case| case["topic"] == topic)
        .cloned()
        .collect()
}

#[test]
fn clearances_of_the_reference_cases_come_through_a_description() {
    let mut tried = 0;
    for case in cases("clearance") {
        let inputs = &case["inputs"];
        // Battery circuits are read along the line between two rows.
        if inputs["interpolate_1"] != 1 {
            continue;
        }
        let text = with(&[
            ("impulse: 2500 V", format!("impulse: {} V", inputs["impulse_V"])),
            ("altitude: 4000 m", format!("altitude: {} m", inputs["altitude_m"])),
            ("pollution_degree: 2", format!("pollution_degree: {}", inputs["pollution_degree_1"])),
            ("kind: reinforced", format!("kind: {}", inputs["insulation"].as_str().unwrap())),
        ]);
        let got = figure(&text, &format!("{GATES}.required_clearance")).unwrap();
        let expected = case["expected"]["clearance_m"].as_f64().unwrap();
        assert!(close(got, expected, 1e-6), "{}: {got} for {expected}", case["name"]);
        tried += 1;
    }
    assert!(tried >= 7, "{tried}");
}

#[test]
fn creepage_distances_of_the_reference_cases_come_through_a_description() {
    let mut tried = 0;
    for case in cases("creepage") {
        let inputs = &case["inputs"];
        let volts = inputs["rms_V"].as_f64().unwrap();
        // The bus is never below its voltage in the duty point.
        if inputs["interpolate_1"] != 1 || volts < 350.0 {
            continue;
        }
        let group = match inputs["material_group"].as_str().unwrap() {
            "III" => "IIIa",
            other => other,
        };
        let printed = inputs["printed_wiring_1"] == 1;
        let text = with(&[
            ("highest: 450 V", format!("highest: {volts} V")),
            ("impulse: 2500 V", "impulse: 500 V".to_owned()),
            ("pollution_degree: 2", format!("pollution_degree: {}", inputs["pollution_degree_1"])),
            ("kind: reinforced", format!("kind: {}", inputs["insulation"].as_str().unwrap())),
            ("material_group: IIIa", format!("material_group: {group}\n      printed: {printed}")),
        ]);
        let got = figure(&text, &format!("{GATES}.required_creepage")).unwrap();
        let expected = case["expected"]["creepage_m"].as_f64().unwrap();
        assert!(close(got, expected, 1e-6), "{}: {got} for {expected}", case["name"]);
        tried += 1;
    }
    assert!(tried >= 5, "{tried}");
}

#[test]
fn mains_bring_their_impulse_and_take_the_next_row() {
    for case in cases("rated_impulse") {
        let inputs = &case["inputs"];
        let mains = format!(
            "impulse: 50 V, mains: {{ line_to_neutral: {} V rms, overvoltage_category: {} }}",
            inputs["line_neutral_V"],
            inputs["overvoltage_category"].as_str().unwrap()
        );
        let text = with(&[("impulse: 2500 V", mains)]);
        let got = figure(&text, &format!("{GATES}.largest_impulse")).unwrap();
        assert!(close(got, case["expected"]["impulse_V"].as_f64().unwrap(), 1e-9), "{}", case["name"]);
    }
    // 3 kV that mains bring lie on no row of theirs; between rows 2.5 and 4 kV a battery circuit is read along the line.
    let battery = with(&[
        ("impulse: 2500 V", "impulse: 3500 V".to_owned()),
        ("kind: reinforced", "kind: basic".to_owned()),
        ("altitude: 4000 m", "altitude: 0 m".to_owned()),
    ]);
    let by_mains = changed(
        &battery,
        "impulse: 3500 V",
        "impulse: 3500 V, mains: { line_to_neutral: 120 V rms, overvoltage_category: II }",
    );
    let clearance = |text: &str| figure(text, &format!("{GATES}.required_clearance")).unwrap();
    assert!(close(clearance(&battery), 2.5e-3, 1e-9) && close(clearance(&by_mains), 3e-3, 1e-9));
}

#[test]
fn leakage_and_energy_of_the_reference_cases_come_through_a_description() {
    let own = changed(holding("leakage-paths"), "highest: 450 V", "highest: 800 V");
    let beside = changed(
        &own,
        "isolation_resistance: 2 Mohm,",
        "isolation_resistance: 2 Mohm, beside: [2 Mohm, 5 Mohm],",
    );
    let [iso] = &cases("isolation_resistance")[..] else { panic!("one case") };
    let domain = "isolation.domains.traction";
    let together = figure(&beside, &format!("{domain}.isolation_resistance")).unwrap();
    let least = figure(&beside, &format!("{domain}.least_isolation_resistance")).unwrap();
    assert!(close(together, iso["expected"]["total_ohm"].as_f64().unwrap(), 1e-9));
    assert!(close(least, iso["expected"]["required_ohm"].as_f64().unwrap(), 1e-9));
    let [poles] = &cases("y_energy")[..] else { panic!("one case") };
    let capacitor = "capacitors:\n  y: { kind: suppression, from: link.plus, to: chassis, capacitance: 540 nF, class: Y2 }\n\ndevices:";
    let held = figure(&changed(&own, "devices:", capacitor), "link.plus.energy_to_chassis").unwrap();
    assert!(close(held, poles["expected"]["energy_J"].as_f64().unwrap(), 1e-9), "{held}");
}

#[test]
fn an_edge_drives_its_current_through_all_that_hangs_on_a_leg() {
    let [case] = &cases("common_mode")[..] else { panic!("one case") };
    let own = changed(holding("barrier-immunity"), "edge: 15 kV/us", "edge: 50 kV/us");
    // Supply 4 pF, transducer 2 pF, driver 9 pF.
    let text = changed(&own, "    coupling: 2 pF\n", "    coupling: 9 pF\n");
    let got = figure(&text, "slew_bridge.high_side.u.coupling_current").unwrap();
    assert!(close(got, case["expected"]["current_A"].as_f64().unwrap(), 1e-9), "{got}");
    let review = reviewed_with(&[listed("barrier-immunity")], &text);
    let found: Vec<_> = review.findings.iter().map(|one| (one.defect, one.grade)).collect();
    // 50 kV/µs are all that the transducer stands; the drivers stand twice that.
    assert!(
        found.contains(&("edge", Grade::Major)) && found.contains(&("coupling", Grade::Note)),
        "{found:?}"
    );
    // What a nanofarad and more lead upsets whatever is read there.
    let more = changed(&own, "    coupling: 2 pF\n", "    coupling: 4 nF\n");
    let review = reviewed_with(&[listed("barrier-immunity")], &more);
    assert!(review.findings.iter().any(|one| (one.defect, one.grade) == ("coupling", Grade::Minor)), "4 nF");
}

/// A clamp of which nobody says where it stands may jump with the drain of the main switch: what its driver and its sensors must
/// stand is open, and is not passed over.
#[test]
fn what_rides_on_a_clamp_is_open_until_its_side_is_stated() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    let unsaid: String = groomer.lines().filter(|line| !line.starts_with("    clamp: high_side")).fold(
        String::new(),
        |mut text, line| {
            text.push_str(line);
            text.push('\n');
            text
        },
    );
    let of = |text: &str| reviewed_with(&[listed("barrier-immunity")], text);
    let (stated, open) = (of(groomer), of(&unsaid));
    assert!(stated.not_judged.is_empty() && stated.findings.is_empty(), "{:?}", stated.not_judged);
    let [lacks] = open.not_judged.as_slice() else { panic!("{:?}", open.not_judged) };
    assert_eq!(lacks.missing, "stages.auxiliary.clamp is not stated");
    assert_eq!(lacks.parts, ["auxiliary_drivers", "auxiliary_temperature"]);
    assert!(open.findings.is_empty());
}

#[test]
fn how_the_bus_lies_to_the_chassis_decides_its_working_voltage() {
    let volts = |earthing: &str| {
        let text = with(&[(
            "traction: { touchable: false, impulse",
            format!("traction: {{ touchable: false, earthing: {earthing}, impulse"),
        )]);
        figure(&text, &format!("{GATES}.working_voltage")).unwrap()
    };
    let all = ["floating", "negative_rail", "midpoint"].map(volts);
    assert!(
        close(all[0], 450.0, 1e-12) && close(all[1], 450.0, 1e-12) && close(all[2], 225.0, 1e-12),
        "{all:?}"
    );
    // Of two buses nobody says whose midpoint it is; with the lower one at rest the higher stands all above it.
    let two = with(&[
        ("traction: { touchable: false, impulse", "traction: { touchable: false, earthing: midpoint, impulse".to_owned()),
        ("buses:\n", "buses:\n  pack_bus: { domain: traction, negative_rail: hv_minus, nominal: 200 V, highest: 250 V }\n".to_owned()),
    ]);
    assert!(close(figure(&two, &format!("{GATES}.working_voltage")).unwrap(), 450.0, 1e-12));
}

#[test]
fn a_pole_holds_what_its_earthing_leaves() {
    let held = |earthing: &str, pole: &str| {
        let text = changed(
            holding("leakage-paths"),
            "traction: { touchable: false,",
            &format!("traction: {{ touchable: false, earthing: {earthing},"),
        );
        let capacitor = format!(
            "capacitors:\n  y: {{ kind: suppression, from: link.{pole}, to: chassis, capacitance: 940 nF, class: Y2 }}\n\ndevices:"
        );
        figure(&changed(&text, "devices:", &capacitor), &format!("link.{pole}.energy_to_chassis")).unwrap()
    };
    // 1 µF at 450 V with what cables add.
    let whole = 0.5e-6 * 450.0 * 450.0;
    for (earthing, plus, minus) in
        [("floating", 1.0, 1.0), ("negative_rail", 1.0, 0.0), ("midpoint", 0.25, 0.25)]
    {
        let got = [held(earthing, "plus"), held(earthing, "minus")];
        assert!(
            close(got[0], plus * whole, 1e-9) && (got[1] - minus * whole).abs() < 1e-9,
            "{earthing}: {got:?}"
        );
    }
}

#[test]
fn the_recurring_peak_is_the_spike_that_devices_are_held_against() {
    let text = failing("turn-off-overshoot");
    let isolation = "isolation:
  domains:
    traction: { touchable: false, impulse: 2500 V }
    chassis: { kind: metal, touchable: true, bonded: true, bonding_resistance: 20 mohm }
  barriers:
    bases: { between: [traction, chassis], kind: basic, clearance: 9 mm, creepage: 9 mm, material_group: II }

devices:\n";
    let text = changed(text, "devices:\n", isolation);
    let text = changed(&text, "  link:\n", "  link:\n    domain: traction\n");
    let peak = |text: &str| {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        let lane = variant.lane_ids().next().unwrap();
        let spikes = variant.plan.turn_offs.iter().map(|one| solved.figure(one.highest(), lane).unwrap());
        (figure(text, "isolation.barriers.bases.recurring_peak").unwrap(), spikes.fold(0.0, f64::max))
    };
    let (gate_holds_the_slope, plateau) = peak(&text);
    assert!(
        close(gate_holds_the_slope, plateau, 1e-12) && plateau > 450.0,
        "{gate_holds_the_slope} {plateau}"
    );
    // One that leaves the loop ringing comes to the bound without damping, with every turn-off.
    let conducts = "      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.00 V, 1.45 V] }\n        - { junction: 150 degC, current: [75 A, 300 A], voltage: [1.02 V, 1.65 V] }\n      energies:\n        { voltage: 300 V, junction: 150 degC, current: [150 A, 300 A], turn_on";
    let channel = "      on_resistance: [{ junction: 25 degC, resistance: 3 mohm }]\n      energies:\n        { voltage: 300 V, junction: 150 degC, current: [150 A, 300 A], turn_on";
    let rings = changed(&changed(&text, "kind: igbt", "kind: mosfet"), conducts, channel);
    let (ringing, bound) = peak(&rings);
    assert!(
        close(ringing, bound, 1e-12) && close(bound - 400.0, 2.0 * (plateau - 400.0), 1e-9),
        "{ringing} {bound}"
    );
}

/// Where neither a loop nor a fall time is stated no spike is reckoned: the bus alone is enough to fail, and not to hold.
#[test]
fn a_peak_without_its_spikes_is_not_judged() {
    let made_for = |volts: &str| {
        let peak = format!("material_group: IIIa\n      recurring_peak: {volts}");
        reviewed_with(&[listed("barrier-distance")], &with(&[("material_group: IIIa", peak)]))
    };
    let review = made_for("500 V");
    let waits: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(waits, ["loop_inductance.bars of link is not stated"]);
    let review = made_for("440 V");
    let found: Vec<&str> = review.findings.iter().map(|one| one.defect).collect();
    assert!(found.contains(&"recurring-peak") && review.not_judged.is_empty(), "{found:?}");
    // Who does not say what a barrier is made for is not asked.
    assert!(reviewed_with(&[listed("barrier-distance")], holding("barrier-distance")).not_judged.is_empty());
}

#[test]
fn gate_circuits_of_one_leg_keep_apart_all_of_the_bus() {
    let text = with(&[(
        "  barriers:\n",
        "  barriers:
    between_gates:
      { between: [slew_bridge.high_side.u, slew_bridge.low_side.u], kind: functional, clearance: 0.1 mm, creepage: 5 mm,
        material_group: IIIa }
"
        .to_owned(),
    )]);
    let path = "isolation.barriers.between_gates";
    assert!(close(figure(&text, &format!("{path}.working_voltage")).unwrap(), 450.0, 1e-12));
    // The recurring peak is the impulse across that gap: 0.2 mm in degree 2, at 4000 m.
    assert!(close(figure(&text, &format!("{path}.required_clearance")).unwrap(), 0.258e-3, 1e-9));
    let review = reviewed_with(&[listed("barrier-distance")], &text);
    let found: Vec<_> = review.findings.iter().map(|one| (one.part.as_str(), one.defect)).collect();
    assert_eq!(found, [(path, "clearance")]);
    assert!(reviewed_with(&[listed("barrier-crossing")], &text).findings.is_empty());
}

#[test]
fn above_a_table_nothing_is_judged_and_nothing_extrapolated() {
    let judged = |changes: &[(&str, String)]| reviewed_with(&[listed("barrier-distance")], &with(changes));
    let waits = |review: &Review| format!("{:?}", review.not_judged);
    let mains = |volts: &str| format!("mains: {{ line_to_neutral: {volts} rms, overvoltage_category: III }}");
    // What is above, which table it is above, and where that ends.
    for (from, to, says) in [
        (
            "altitude: 4000 m",
            "altitude: 21000 m".to_owned(),
            "its altitude of 21 km is above 20 km, where the table ends (IEC 60664-1, Table A.2",
        ),
        (
            "impulse: 2500 V",
            "impulse: 110 kV".to_owned(),
            "is above 100 kV, where the table ends (IEC 60664-1, Table F.2",
        ),
        (
            "impulse: 2500 V",
            mains("1200 V"),
            "its voltage from line to neutral of 1.2 kV is above 1 kV, where the table ends (IEC 60664-1, Table F.1); \
             nothing is extrapolated",
        ),
        (
            "pollution_degree: 2",
            "pollution_degree: 4".to_owned(),
            "the tables of distances have degrees 1 to 3",
        ),
    ] {
        let review = judged(&[(from, to)]);
        let distances = review.findings.iter().filter(|one| one.defect != "partial-discharge").count();
        assert!(review.counts.not_judged > 0 && distances == 0, "{from}");
        assert!(waits(&review).contains(says), "{}", waits(&review));
    }
    for (from, missing) in [
        ("impulse: 2500 V, ", "isolation.domains.traction.impulse"),
        (", altitude: 4000 m", "surroundings.altitude"),
        (", pollution_degree: 2", "surroundings.pollution_degree"),
        ("      material_group: IIIa\n", "isolation.barriers.gate_isolation.material_group"),
    ] {
        let review = judged(&[(from, String::new())]);
        assert!(waits(&review).contains(missing), "{missing}: {}", waits(&review));
    }
}

#[test]
fn without_distances_a_barrier_says_what_to_provide() {
    let text =
        with(&[("      clearance: 5.5 mm\n", String::new()), ("      creepage: 9 mm\n", String::new())]);
    let review = reviewed_with(&[listed("barrier-distance")], &text);
    let [finding] = &review.findings[..] else { panic!("{:#?}", review.findings) };
    assert_eq!((finding.defect, finding.grade), ("undeclared", Grade::Note));
    assert!(
        finding.saying.contains("provide at least 3.87 mm through air and 9 mm along surfaces"),
        "{}",
        finding.saying
    );
}

#[test]
fn what_a_barrier_is_made_for_is_held_against_what_stands_across_it() {
    let rated = |line: &str| {
        let text = with(&[("      kind: reinforced\n", format!("      kind: reinforced\n      {line}\n"))]);
        let review = reviewed_with(&[listed("barrier-distance")], &text);
        review.findings.iter().map(|one| one.defect).collect::<Vec<_>>()
    };
    assert_eq!(rated("working_voltage: 450 V rms"), Vec::<&str>::new());
    assert_eq!(rated("working_voltage: 400 V rms"), ["working-voltage"]);
    assert_eq!(rated("recurring_peak: 400 V"), ["recurring-peak"]);
    // Reinforced: raised from 2.5 kV to the next preferred value.
    assert_eq!(rated("impulse: 3900 V"), ["impulse"]);
    assert_eq!(rated("impulse: 4000 V"), Vec::<&str>::new());
    assert_eq!(rated("pollution_degree: 1"), ["degree-by-word"]);
}

#[test]
fn a_peak_above_700_volts_wants_a_test() {
    let text = with(&[
        ("highest: 450 V", "highest: 720 V".to_owned()),
        ("creepage: 9 mm", "creepage: 15 mm".to_owned()),
        ("creepage: 5 mm", "creepage: 6 mm".to_owned()),
    ]);
    let review = reviewed_with(&[listed("barrier-distance")], &text);
    let found: Vec<_> =
        review.findings.iter().map(|one| (one.part.as_str(), one.defect, one.grade)).collect();
    // One bus brings it to both barriers.
    assert_eq!(found, [(GATES, "partial-discharge", Grade::Note)]);
    assert_eq!(review.findings[0].also, ["isolation.barriers.module_bases"]);
}

#[test]
fn a_figure_from_memory_says_so() {
    // 10 kV, raised to 16 kV for reinforced insulation, lies between rows that are not sure.
    let text = with(&[("impulse: 2500 V", "impulse: 10 kV".to_owned())]);
    let review = reviewed_with(&[listed("barrier-distance")], &text);
    let remarks: Vec<String> =
        review.findings.iter().flat_map(|one| &one.estimate).map(|one| format!("{one:?}")).collect();
    assert!(
        remarks.iter().any(|remark| remark.contains("FromMemory") || remark.contains("from memory")),
        "{remarks:#?}"
    );
}

#[test]
fn the_form_of_the_regulations_makes_a_pole_a_minor_matter() {
    let own = holding("leakage-paths");
    let with = |nano: &str| {
        let capacitor = format!(
            "capacitors:\n  y: {{ kind: suppression, from: link.plus, to: chassis, capacitance: {nano} nF, class: Y2 }}\n  other: {{ kind: suppression, from: link.minus, to: chassis, capacitance: 1800 nF, class: Y2 }}\n\ndevices:"
        );
        let review = reviewed_with(&[listed("leakage-paths")], &changed(own, "devices:", &capacitor));
        review.findings.iter().map(|one| (one.defect, one.grade)).collect::<Vec<_>>()
    };
    // 60 nF of the cables beside it; 0.2 J at 450 V are 1975 nF in all, above 60 V 2011 nF.
    assert_eq!(with("1900"), []);
    assert_eq!(with("1930"), [("pole-energy", Grade::Minor)]);
    assert_eq!(with("1960"), [("pole-energy", Grade::Major)]);
}

#[test]
fn bonding_and_a_monitor_are_asked_for() {
    let found = |from: &str, to: &str| {
        let review = reviewed_with(&[listed("leakage-paths")], &changed(holding("leakage-paths"), from, to));
        (
            review.findings.iter().map(|one| (one.defect, one.grade)).collect::<Vec<_>>(),
            review.counts.not_judged,
        )
    };
    assert_eq!(found("20 mohm", "120 mohm"), (vec![("bonding", Grade::Major)], 0));
    assert_eq!(found(", bonding_resistance: 20 mohm", ""), (vec![], 1));
    assert_eq!(found("measures: isolation", "measures: voltage"), (vec![("unwatched", Grade::Minor)], 0));
    assert_eq!(found("isolation_resistance: 2 Mohm, ", ""), (vec![], 1));
    // A net on a route that is kept has its bonding as second means.
    let net = "low_voltage: { touchable: true, bonded: true";
    let by_route = |ohms: &str| found(net, &format!("{net}, bonding_route: true{ohms}"));
    assert_eq!(by_route(", bonding_resistance: 100 mohm"), (vec![], 0));
    assert_eq!(by_route(", bonding_resistance: 500 mohm"), (vec![("bonding", Grade::Major)], 0));
    assert_eq!(by_route(""), (vec![], 1));
    let strictest = changed(failing("leakage-paths"), ", application: mobile_machinery", "");
    let review = reviewed_with(&[listed("leakage-paths")], &strictest);
    assert!(
        format!("{:?}", review.findings[0].estimate).contains("strictest"),
        "{:?}",
        review.findings[0].estimate
    );
}

/// The highland loader with two layers around a screen, for lines of its own.
fn layered(screen: &str, inner: &str) -> String {
    with(&[
        ("low_voltage: { touchable: true, bonded: true }", {
            format!("low_voltage: {{ touchable: true, bonded: true, impulse: 500 V }}\n    screen: {screen}")
        }),
        (
            "  barriers:\n",
            format!(
                "  barriers:
    inner: {{ between: [traction, screen], kind: {inner}, clearance: 9 mm, creepage: 9 mm, material_group: II }}
    outer: {{ between: [screen, low_voltage], kind: supplementary, clearance: 0.9 mm, creepage: 1.2 mm, material_group: II }}
"
            ),
        ),
    ])
}

#[test]
fn a_layer_beside_a_screen_that_floats_is_made_for_the_voltage_of_both() {
    let outer =
        |text: &str, figure_name: &str| figure(text, &format!("isolation.barriers.outer.{figure_name}"));
    let floats = layered("{ kind: metal, touchable: false }", "basic");
    // 2.5 kV of the traction circuit ask for 1.5 mm, at 4000 m for 1.29 times that; 450 V rms in group II for 3.2 mm.
    assert!(close(outer(&floats, "required_clearance").unwrap(), 1.5e-3 * 1.29, 1e-3));
    assert!(close(outer(&floats, "required_creepage").unwrap(), 3.2e-3, 1e-3));
    let review = reviewed_with(&[listed("barrier-distance")], &floats);
    let found: Vec<_> = review.findings.iter().map(|one| (one.part.as_str(), one.defect)).collect();
    let outer_part = "isolation.barriers.outer";
    assert_eq!(found, [(outer_part, "creepage"), (outer_part, "clearance")]);
    let beyond = "`screen` floats: once a layer beyond it fails, `traction` stands here";
    assert!(review.findings.iter().all(|one| one.facts.iter().any(|fact| fact == beyond)), "{review:#?}");
    // Without distances of its own it is asked for them all the same.
    let bare =
        changed(&floats, "clearance: 0.9 mm, creepage: 1.2 mm, material_group: II", "material_group: II");
    let review = reviewed_with(&[listed("barrier-distance")], &bare);
    assert_eq!(review.findings[0].defect, "undeclared");
    // A screen that is bonded keeps the voltage away, and so does reinforced insulation, which does not fail at once.
    let bonded = "{ kind: metal, touchable: false, bonded: true, bonding_resistance: 20 mohm }";
    for held in [layered(bonded, "basic"), layered("{ kind: metal, touchable: false }", "reinforced")] {
        assert!(close(outer(&held, "required_clearance").unwrap(), 0.2e-3 * 1.29, 1e-3));
    }
}
