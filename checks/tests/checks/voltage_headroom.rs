//! What each position of each topology blocks at the highest bus voltage, and what is asked for where it is not stated.

use loadworthy_checks::review;
use loadworthy_checks::verdict::Outcome;

use crate::descriptions::{
    changed, defects, failing, finding, holding, reviewed, trencher, unit, unit_despite_problems,
};

const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");

/// What a kind of position blocks, from the first verdict on it.
fn blocked(text: &str, part: &str) -> f64 {
    let unit = unit(text);
    let review = review(&unit);
    let mut own = review.verdicts[0].iter().filter(|verdict| verdict.check == "voltage-headroom");
    let verdict = own.find(|verdict| unit.variants[0].path(verdict.part) == part);
    let compared = verdict.and_then(|verdict| verdict.comparison());
    compared.unwrap_or_else(|| panic!("{part} is not compared: {:#?}", review.not_judged)).carried_value
}

/// The trencher with a highest voltage for its pack's bus and for its link, and devices that say what they block.
fn stated() -> String {
    let text = changed(
        trencher(),
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V }",
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V, highest: 410 V }",
    );
    let text = changed(
        &text,
        "link: { negative_rail: hv_minus }",
        "link: { negative_rail: hv_minus, highest: 760 V }",
    );
    let blocks = [
        ("hb1200_300", 1200),
        ("mos650_40m", 650),
        ("mos150_3m", 450),
        ("mos1200_80m", 1200),
        ("mos40_3m", 200),
    ];
    blocks.iter().fold(text, |text, (device, volts)| {
        let (before, behind) = text.split_once(&format!("\n  {device}:\n")).expect(device);
        let behind =
            behind.replacen("kind: mosfet", &format!("kind: mosfet\n      blocking_voltage: {volts} V"), 1);
        format!("{before}\n  {device}:\n{behind}")
    })
}

#[test]
fn legs_block_the_bus_that_their_switches_stand_on() {
    let text = stated();
    for (part, volts) in [
        ("chain_bridge.high_side", 760.0),
        ("chain_bridge.low_side", 760.0),
        // The boost stands on the link with its switches, the buck on the bus that feeds it.
        ("step_up.low_side", 760.0),
        ("lamp_buck.high_side", 410.0),
        ("auxiliary.bridge_high", 410.0),
    ] {
        assert!((blocked(&text, part) - volts).abs() < 1e-9, "{part}");
    }
}

#[test]
fn a_bus_comes_at_least_as_high_as_its_source() {
    let text = changed(&stated(), "highest: 410 V", "highest: 360 V");
    assert!((blocked(&text, "auxiliary.bridge_low") - 400.0).abs() < 1e-9);
}

#[test]
fn rectifiers_of_a_full_bridge_ring_to_twice_their_plateau_unless_damped() {
    // A doubler behind 4 turns to 1: 410 V / 4 = 102.5 V; a centre tap blocks both halves.
    let text = stated();
    assert!((blocked(&text, "auxiliary.rectifier") - 205.0).abs() < 1e-9);
    let damped = changed(
        &text,
        "rectifier: current_doubler",
        "rectifier: current_doubler\n    rectifier_overshoot: 20 %",
    );
    assert!((blocked(&damped, "auxiliary.rectifier") - 123.0).abs() < 1e-9);
    let tap = changed(&damped, "rectifier: current_doubler", "rectifier: centre_tap");
    assert!((blocked(&tap, "auxiliary.rectifier") - 246.0).abs() < 1e-9);
}

#[test]
fn the_clamp_of_a_forward_converter_adds_what_resets_the_transformer() {
    let text = changed(&stated(), "    largest_duty: 65 %\n", "");
    // 12 V and drops behind 10 turns to 1 at 410 V: D close to 0.3, so close to 410 V / 0.7.
    let main = blocked(&text, "sensor_supply.main");
    assert!(410.0 / (1.0 - 0.29) < main && main < 410.0 / (1.0 - 0.34), "{main}");
    // The freewheel blocks V/n, and rings to twice that.
    assert!((blocked(&text, "sensor_supply.freewheel") - 82.0).abs() < 1e-9);
    // The forward rectifier blocks V_out/(1 − D), which is most at the lowest input: at 345 V D is close to 0.36.
    let forward = blocked(&text, "sensor_supply.forward");
    assert!(2.0 * 12.0 / (1.0 - 0.35) < forward && forward < 2.0 * 12.6 / (1.0 - 0.37), "{forward}");
}

/// A bus that is switched off sinks through the lowest input that holds the output, where the duty ends.
#[test]
fn a_forward_converter_that_states_its_largest_duty_is_judged_there() {
    let text = changed(&stated(), "turns_ratio: 10", "turns_ratio: 14");
    let unstated = blocked(&changed(&text, "    largest_duty: 65 %\n", ""), "sensor_supply.main");
    // 12 V and a few tenths behind 14 turns to 1 are driven for 65 % of the period, and the leakage costs a little.
    let by_hand = |volts: f64| 14.0 * volts / (0.65 * 0.35);
    let main = blocked(&text, "sensor_supply.main");
    assert!(by_hand(12.0) < main && main < by_hand(12.6), "{main}");
    assert!(unstated < main - 20.0, "{unstated}");
    // The forward rectifier blocks V_out/(1 − D), and rings to twice that.
    let forward = blocked(&text, "sensor_supply.forward");
    assert!(2.0 * 12.0 / 0.35 < forward && forward < 2.0 * 12.6 / 0.35, "{forward}");
    let low = changed(&text, "blocking_voltage: 1200 V", "blocking_voltage: 900 V");
    let review = reviewed(&low);
    let told = review.findings.iter().find(|one| one.part == "sensor_supply.main").expect("a main switch");
    assert!(told.saying.contains("at its largest duty of 65 %"), "{}", told.saying);
    let says: Vec<&str> = told.proposals.iter().map(|held| held.say.as_str()).collect();
    assert!(
        says.iter().any(|say| say.starts_with("largest duty: 65 % -> ")),
        "{says:?} {:?}",
        told.no_proposal
    );
}

#[test]
fn below_half_the_input_a_forward_converter_is_stressed_most_at_its_lowest_input() {
    // 18 turns to 1 put the duty well above a half at the solved 345 V, and V/(1 − D) falls as the input rises.
    let text = changed(&stated(), "    largest_duty: 65 %\n", "");
    let text = changed(&text, "turns_ratio: 10", "turns_ratio: 18");
    // Energies that were measured high enough for the voltage that is switched then.
    let at_600 = "{ voltage: 600 V, junction: 150 degC, current: [6.25 A, 25 A]";
    let text = changed(&text, at_600, &at_600.replace("600 V", "800 V"));
    let main = blocked(&text, "sensor_supply.main");
    let without_leakage = |volts: f64| volts * volts / (volts - 18.0 * 11.5);
    assert!(main > without_leakage(345.0), "{main}");
    // 30 V more at the upper end are still less than what the lower end makes.
    assert!(without_leakage(440.0) < main);
    let higher = blocked(&changed(&text, "highest: 410 V", "highest: 440 V"), "sensor_supply.main");
    assert!((higher - main).abs() < 1e-9, "the lower end decides: {main} and {higher}");
}

#[test]
fn what_is_missing_is_named_and_no_pass() {
    let only_device = changed(failing("voltage-headroom"), ", highest: 540 V", "");
    let only_bus = changed(failing("voltage-headroom"), "      blocking_voltage: 650 V\n", "");
    for (text, path) in
        [(&only_device, "buses.link.highest"), (&only_bus, "devices.hb650_300.transistor.blocking_voltage")]
    {
        let review = reviewed(text);
        assert!(review.findings.is_empty());
        let own = review.verdicts.iter().flatten().filter(|verdict| verdict.defect == "blocked-voltage");
        assert!(own.clone().all(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_))));
        assert_eq!(own.count(), 2);
        let named = review.not_judged.iter().any(|one| format!("{one:?}").contains(path));
        assert!(named, "{path}: {:#?}", review.not_judged);
    }
    let neither = changed(&only_device, "      blocking_voltage: 650 V\n", "");
    let review = reviewed(&neither);
    let told: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(told.iter().any(|one| one.contains("buses.link.highest is not stated")), "{told:?}");
    assert!(told.iter().any(|one| one.contains("transistor.blocking_voltage is not stated")), "{told:?}");
}

#[test]
fn equal_to_what_the_policy_leaves_holds() {
    let text = changed(failing("voltage-headroom"), "highest: 540 V", "highest: 520 V");
    assert!(defects(&reviewed(&text)).is_empty());
}

#[test]
fn what_the_bus_alone_puts_across_it_is_enough_to_fail() {
    // Beyond its curves nothing of the converter is known but the link at its highest and what resets the transformer there.
    let text = changed(GROOMER, "main: { fitted: sic1700_120m", "main: { fitted: mos200_5m");
    let review = reviewed(&text);
    let told = finding(&review, "blocked-voltage");
    assert_eq!(told.part, "auxiliary.main");
    assert!(
        told.saying.starts_with("`auxiliary.main` blocks 1.23 kV at the highest voltage of `link`, "),
        "{}",
        told.saying
    );
    let why = told.no_proposal.as_deref().unwrap_or_default();
    assert!(told.proposals.is_empty() && why.starts_with("a device that blocks at least 1.54 kV;"), "{why}");
    // What waits for curves up to there is told with it.
    assert!(
        review.not_judged.iter().all(|one| !one.missing.contains("curves cover")),
        "{:#?}",
        review.not_judged
    );
    // Of a bus that does not say how high it comes, what it was solved to.
    let low = changed(failing("voltage-headroom"), ", highest: 540 V", "");
    let low = changed(&low, "blocking_voltage: 650 V", "blocking_voltage: 350 V");
    let review = reviewed(&low);
    let told = finding(&review, "blocked-voltage");
    assert!(told.saying.contains("at least the 300 V of `link`, "), "{}", told.saying);
    // What rectifies blocks at least the bus that it feeds, however high the one behind its transformer comes.
    let text = changed(&stated(), "nominal: 350 V, highest: 410 V", "nominal: 350 V");
    let text = changed(&text, "blocking_voltage: 450 V", "blocking_voltage: 30 V");
    let text = text.replace(
        "{ voltage: 100 V, junction: 150 degC, current: [37.5 A",
        "{ voltage: 25 V, junction: 150 degC, current: [37.5 A",
    );
    let review = reviewed(&text);
    let told = finding(&review, "blocked-voltage");
    assert!(
        told.saying.contains("`auxiliary.rectifier` blocks at least the 28 V of `board_net`, "),
        "{}",
        told.saying
    );
}

#[test]
fn a_bus_beyond_what_a_device_is_tested_at_is_told_with_what_it_blocks() {
    let low =
        "high_side: { fitted: hb650_300, parallel: 1 }\n      low_side: { fitted: hb650_300, parallel: 1 }";
    let own = low.replace("hb650_300", "df1200_300");
    let text = changed(GROOMER, &own, low);
    // It has one cooled face, which is a problem of its own.
    let review = loadworthy_checks::review(&unit_despite_problems(&text));
    assert!(review.findings.iter().any(|one| one.defect == "blocked-voltage"));
    assert!(
        review.not_judged.iter().all(|one| !one.missing.contains("covers a bus voltage")),
        "{:#?}",
        review.not_judged
    );
}

/// The sweeper whose motor says what its windings stand.
fn wound(more: &str) -> String {
    changed(holding("voltage-headroom"), "q: 380 uH } }", &format!("q: 380 uH }}, {more} }}"))
}

#[test]
fn windings_are_held_against_their_frame_where_the_machine_says_what_they_stand() {
    let peak = |text: &str| blocked(text, "wheel_motor");
    // No domain says how the bus lies to the chassis: it counts whole, 510 V at the highest.
    assert!((peak(&wound("recurring_peak: 600 V")) - 510.0).abs() < 1e-9);
    // Along a long cable each edge comes to twice its height.
    let long = wound("recurring_peak: 900 V, terminal_overshoot: 100 %");
    assert!((peak(&long) - 1020.0).abs() < 1e-9);
    let review = reviewed(&long);
    assert_eq!(defects(&review), [("voltage-headroom", "winding-peak")]);
    let told = &review.findings[0];
    assert_eq!((told.part.as_str(), told.grade.word()), ("wheel_motor", "major"));
    assert!(
        told.saying.starts_with("the windings of `wheel_motor` see 1.02 kV to the frame"),
        "{}",
        told.saying
    );
    assert_eq!(told.proposals[0].say, "recurring peak of the windings of `wheel_motor`: 900 V -> 1.1 kV");
    assert_eq!(defects(&reviewed(&wound("recurring_peak: 600 V"))), []);
    // That no cable reflects anything is an assumption, and decides where twice the edge would be too much.
    let assumed = reviewed(&wound("recurring_peak: 600 V"));
    let taken = assumed.assumed.iter().find(|one| one.id == "terminal-overshoot").expect("assumed");
    assert!(!taken.decides.is_empty(), "{taken:?}");
    assert!(
        reviewed(holding("voltage-headroom"))
            .verdicts
            .iter()
            .flatten()
            .all(|one| one.defect != "winding-peak")
    );
}

#[test]
fn an_earthed_midpoint_and_a_turn_off_count_at_the_windings() {
    let shuttle = include_str!("../../../examples/harbour-shuttle.yaml");
    let text = changed(
        shuttle,
        "    inductance: { d: 260 uH, q: 430 uH }\n    highest_speed: 4000 1/min\n  rear",
        "    inductance: { d: 260 uH, q: 430 uH }\n    highest_speed: 4000 1/min\n    recurring_peak: 2 kV\n  rear",
    );
    let floating = blocked(&text, "front_motor");
    let unit = unit(&text);
    let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
    let lane = loadworthy_unit::LaneId::new(0);
    let plan = &unit.variants[0].plan;
    let frame = &plan.frames[0];
    let bus = solved.figure(plan.buses[frame.bus].highest_voltage, lane).expect("a bus");
    // What the device is held against at its turn-off stands at the winding as well.
    let most = frame
        .turn_offs
        .iter()
        .filter_map(|&one| solved.figure(plan.turn_offs[one].highest(), lane))
        .fold(bus, f64::max);
    assert!(bus < most && (floating - most).abs() < 1e-9, "{floating} against {most}");
    let midpoint = changed(
        &text,
        "impulse: 4000 V, isolation_resistance",
        "impulse: 4000 V, earthing: midpoint, isolation_resistance",
    );
    assert!((blocked(&midpoint, "front_motor") - (most - 0.5 * bus)).abs() < 1e-9);
}

#[test]
fn a_bus_comes_to_no_more_than_it_states() {
    let net = |highest: &str, solved: &str| {
        format!(
            "edition: 2026
sources: {{ pack: {{ kind: battery, bus: net, open_circuit: {{ lowest: 20 V, highest: 29 V }}, internal_resistance: {{ highest: 1 mohm }} }} }}
buses: {{ net: {{ nominal: 24 V, highest: {highest} }} }}
loads: {{ lamps: {{ bus: net }} }}
duty: {{ run: {{ {solved}, loads: {{ lamps: {{ power: 1 W }} }} }} }}
"
        )
    };
    let own = |text: &str| {
        let all = defects(&reviewed(text));
        all.into_iter()
            .filter(|(check, _)| *check == "voltage-headroom")
            .map(|(_, defect)| defect)
            .collect::<Vec<_>>()
    };
    assert!(own(&net("29 V", "buses: { net: 24 V }")).is_empty());
    // A duty point that states more, and a source that may bring more.
    assert_eq!(own(&net("29 V", "buses: { net: 48 V }")), ["beyond-highest"]);
    assert_eq!(own(&net("28 V", "buses: { net: 24 V }")), ["beyond-highest"]);
}

#[test]
fn what_resets_a_forward_at_its_highest_input_is_enough_to_fail_where_the_rest_is_not_known() {
    // A main switch of 450 V holds 410 V through some 620 V of reset; one whose energies end far below leaves the duty point open.
    let text = stated();
    let of = |text: &str| {
        let all = defects(&reviewed(text));
        all.iter().filter(|(_, defect)| *defect == "blocked-voltage").count()
    };
    let without_energies = changed(&text, "main: { fitted: mos1200_80m }", "main: { fitted: mos650_40m }");
    assert_eq!(of(&text), 0);
    assert_eq!(of(&without_energies), 1);
}
