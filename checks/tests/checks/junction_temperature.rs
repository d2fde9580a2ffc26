//! Junctions of every kind of stage, and what is proposed for them.

use loadworthy_checks::review::Finding;
use loadworthy_checks::{Review, review};

use crate::core_saturation::{figure, uneven};
use crate::descriptions::{changed, defects, failing, finding, holding, reviewed, trencher, unit};

fn says(one: &Finding) -> Vec<&str> {
    one.proposals.iter().map(|held| held.say.as_str()).collect()
}

fn too_hot(review: &Review) -> &Finding {
    finding(review, "too-hot")
}

#[test]
fn a_boost_is_cooled_by_devices_carrier_faces_or_flow_and_never_by_legs() {
    let text = changed(trencher(), "step_up: { face_a: 0.06 K/W }", "step_up: { face_a: 1.4 K/W }");
    let review = reviewed(&text);
    let one = too_hot(&review);
    assert!(one.part.starts_with("step_up."), "{}", one.part);
    let says = says(one);
    for what in ["parallel: 1 -> ", "carrier frequency: 16 kHz -> ", "case to coolant: 1.4 K/W -> "] {
        assert!(says.iter().any(|say| say.starts_with(what)), "{what}: {says:?}");
    }
    assert!(says.iter().all(|say| !say.contains("legs")), "{says:?}");
    // A slower carrier makes more ripple in the choke, and that is said.
    let slower = one.proposals.iter().find(|held| held.say.starts_with("carrier")).expect("a slower carrier");
    assert!(slower.side_effects.iter().any(|line| line.starts_with("choke ripple of step_up")), "{slower:?}");
    assert!(one.because.iter().any(|place| place.label.contains("N m at")), "{:?}", one.because);
}

#[test]
fn a_coolant_that_gets_hotter_than_it_is_known_is_not_judged_wherever_it_does() {
    let at = |inlet: &str| {
        let review =
            reviewed(&changed(holding("junction-temperature"), "inlet: 60 degC", &format!("inlet: {inlet}")));
        let missing: Vec<String> = review.not_judged.iter().map(|one| one.missing.clone()).collect();
        (defects(&review), missing)
    };
    for inlet in ["99.7 degC", "101 degC"] {
        let (found, missing) = at(inlet);
        assert!(found.iter().all(|(check, _)| *check != "junction-temperature"), "{inlet}: {found:?}");
        let said = missing.iter().filter(|one| one.contains("known") && one.contains("100 °C"));
        assert_eq!(said.count(), 1, "{inlet}: {missing:?}");
    }
    let (found, missing) = at("97 degC");
    // How near its wall is to boiling there is for the passage to say.
    let of_passage = |one: &String| one.contains("passage.bore");
    assert!(found.is_empty() && missing.iter().all(of_passage), "{found:?} {missing:?}");
}

#[test]
fn the_lower_end_of_a_range_is_told_where_it_is_nothing() {
    let water = changed(holding("junction-temperature"), "kind: water_glycol, glycol: 50 %", "kind: water");
    let review = reviewed(&changed(&water, "inlet: 60 degC", "inlet: -6 degC"));
    let said = "is known from 0 °C to 100 °C";
    assert!(review.not_judged.iter().any(|one| one.missing.contains(said)), "{:?}", review.not_judged);
}

#[test]
fn a_rectifier_names_the_load_behind_it() {
    let text = changed(trencher(), "auxiliary: { face_a: 0.5 K/W }", "auxiliary: { face_a: 40 K/W }");
    let review = reviewed(&text);
    let one = too_hot(&review);
    assert!(one.part.starts_with("auxiliary."), "{}", one.part);
    assert!(one.because.iter().any(|place| place.label == "1.2 kW asked"), "{:?}", one.because);
}

#[test]
fn where_the_coolant_states_how_many_devices_it_takes_no_more_are_proposed() {
    let text = changed(
        trencher(),
        "auxiliary: { face_a: 0.5 K/W }",
        "auxiliary.rectifier: { face_a: 70 K/W, devices: 1 }\n        auxiliary.bridge_high: { face_a: 0.5 K/W }\n        auxiliary.bridge_low: { face_a: 0.5 K/W }",
    );
    let text =
        changed(&text, "rectifier: { fitted: mos150_3m }", "rectifier: { fitted: mos150_3m, parallel: 2 }");
    let text = changed(
        &text,
        "cools: { step_up: { face_a: 0.06 K/W }",
        "cools: { auxiliary.rectifier: { face_a: 70 K/W, devices: 1 }, step_up: { face_a: 0.06 K/W }",
    );
    let review = reviewed(&text);
    let one = too_hot(&review);
    assert!(one.part.starts_with("auxiliary.rectifier"), "{}", one.part);
    assert!(says(one).iter().all(|say| !say.starts_with("parallel")), "{:?}", says(one));
    assert!(says(one).iter().any(|say| say.starts_with("case to coolant")), "{:?}", says(one));
}

#[test]
fn each_stage_stands_in_its_own_finding() {
    let text = changed(trencher(), "step_up: { face_a: 0.06 K/W }", "step_up: { face_a: 1.4 K/W }");
    let text = changed(&text, "chain_bridge: { face_a: 0.06 K/W }", "chain_bridge: { face_a: 1.4 K/W }");
    let review = reviewed(&text);
    let hot: Vec<_> =
        review.findings.iter().filter(|one| one.defect == "too-hot").map(|one| &one.part).collect();
    assert_eq!(hot.len(), 2, "{hot:?}");
    assert!(defects(&review).contains(&("junction-temperature", "too-hot")));
}

#[test]
fn energies_stated_far_above_the_voltage_are_held_and_said_to_read_high() {
    let recovery = |volts: &str| {
        let stated = "{ voltage: 100 V, junction: 150 degC, current: [37.5 A, 150 A], recovery:";
        changed(trencher(), stated, &stated.replace("100 V", volts))
    };
    let remarked = |review: &Review| {
        let all = review.verdicts.iter().flatten().filter(|one| one.check == "junction-temperature");
        let remarks = all.flat_map(|one| one.remarks.iter().map(ToString::to_string));
        remarks.filter(|remark| remark.contains("switching energies count as at half")).collect::<Vec<_>>()
    };
    let near = reviewed(trencher());
    assert_eq!(remarked(&near), Vec::<String>::new());
    for volts in ["300 V", "650 V"] {
        let far = reviewed(&recovery(volts));
        assert_eq!(far.counts.not_judged, near.counts.not_judged, "{volts}: {:?}", far.not_judged);
        let remarks = remarked(&far);
        assert!(
            !remarks.is_empty() && remarks.iter().all(|one| one.starts_with("reads high: at ")),
            "{remarks:?}"
        );
        assert!(remarks.iter().all(|one| one.contains(&format!("the {volts} that"))), "{remarks:?}");
    }
    // One and a half times the stated voltage is as far as they go upwards.
    let beyond = reviewed(&recovery("40 V"));
    assert!(
        beyond
            .not_judged
            .iter()
            .any(|one| one.missing.contains("its curves cover a voltage of at most 60 V")),
        "{:?}",
        beyond.not_judged
    );
}

#[test]
fn the_freewheel_of_a_forward_converter_switches_another_voltage_than_its_forward_rectifier() {
    // At a duty of about a third the rectifier in series blocks about half of what the freewheel does.
    let stated = "voltage: 28 V, junction: 150 degC, current: [37.5 A, 150 A], recovery";
    let unit = unit(&changed(trencher(), stated, &stated.replace("28 V", "60 V")));
    let all = review(&unit).verdicts.into_iter().flatten();
    let held = all.filter(|one| {
        let mut remarks = one.remarks.iter().map(ToString::to_string);
        one.check == "junction-temperature"
            && remarks.any(|remark| remark.contains("count as at half the 60 V"))
    });
    let held: Vec<_> = held.map(|one| unit.variants[0].path(one.part).to_owned()).collect();
    assert_eq!(held, ["sensor_supply.forward.transistor"]);
}

const SWITCH: &str = "lamp_buck.high_side.1.transistor";

/// Kelvins of a junction above the coolant that leaves its plate.
fn above_the_coolant(text: &str, junction: &str) -> f64 {
    figure(text, &format!("{SWITCH}.{junction}")) - figure(text, "cooling.outlet")
}

#[test]
fn the_leg_that_carries_most_is_as_hot_as_if_all_legs_carried_so_much() {
    let even = uneven("    leg_imbalance: 0 %\n");
    let mean = figure(&even, "lamp_buck.leg_current");
    // More lamps, until every leg carries 8 % more than the mean of before.
    let asked = |watts: f64| changed(&even, "power: 450 W", &format!("power: {watts} W"));
    let mut watts = 450.0 * 1.08;
    for _ in 0..4 {
        watts *= 1.08 * mean / figure(&asked(watts), "lamp_buck.leg_current");
    }
    for chip in ["junction_temperature", "mean_junction_temperature"] {
        let all = above_the_coolant(&asked(watts), chip);
        let one = above_the_coolant(&uneven("    leg_imbalance: 8 %\n"), "uneven_junction_temperature");
        let same = above_the_coolant(&even, chip);
        assert!(one / same > 1.08, "{one} against {same}");
        // All legs together pull the duty of the stage a little further.
        assert!((one / all - 1.0).abs() < 4e-3, "{one} against {all}");
    }
    // Where all are alike it is the junction that was solved, and with next to nothing more it is next to that.
    let settled = |share: &str, name: &str| figure(&uneven(share), &format!("{SWITCH}.{name}"));
    let alike = "    leg_imbalance: 0 %\n";
    let own = settled(alike, "junction_temperature");
    assert_eq!(settled(alike, "uneven_junction_temperature").to_bits(), own.to_bits());
    let next = "    leg_imbalance: 0.0001 %\n";
    let (one, same) = (settled(next, "uneven_junction_temperature"), settled(next, "junction_temperature"));
    assert!(one > same && one - same < 1e-3, "{one} {same}");
    assert!((settled(next, "uneven_rated_current") / settled(next, "rated_current") - 1.0).abs() < 1e-5);
    // A case above the temperature of the rating leaves less of it, and that of this leg is hotter.
    let hot = changed(&uneven("    leg_imbalance: 8 %\n"), "at_case: 100 degC", "at_case: 50 degC");
    let rated = |name: &str| figure(&hot, &format!("{SWITCH}.{name}"));
    assert!(rated("uneven_rated_current") < rated("rated_current") && rated("rated_current") < 100.0);
}

#[test]
fn a_junction_that_holds_in_even_legs_may_fail_in_the_one_that_carries_most() {
    let even = uneven("    leg_imbalance: 0 %\n");
    let hot = figure(&even, &format!("{SWITCH}.junction_temperature"));
    let keep = 175.0 - hot - 0.3;
    let kept =
        |text: &str| changed(text, "junction: { keep: 20 K }", &format!("junction: {{ keep: {keep:.3} K }}"));
    assert!(!defects(&reviewed(&kept(&even))).contains(&("junction-temperature", "too-hot")));
    let review = reviewed(&kept(&uneven("    leg_imbalance: 8 %\n")));
    let one = too_hot(&review);
    let label = "one leg carries 8 % more than the mean";
    assert!(one.because.iter().any(|place| place.label == label), "{:?}", one.because);
    // What nobody states is assumed, and named where it decides.
    let silent = reviewed(&kept(&uneven("")));
    let decides = silent.assumed.iter().find(|one| one.id == "leg-imbalance").expect("assumed");
    assert!(!decides.decides.is_empty(), "{decides:?}");
}

#[test]
fn over_time_it_lies_as_far_above_the_others_as_once_settled() {
    let two = |share: &str| {
        let text = uneven(share);
        changed(
            &text,
            "policy:\n",
            "  flash:\n    lasts: 300 ms\n    starts_from: night_shift\n    coolant: { inlet: 65 degC }\n    buses: { link: 72 V }\n    loads: { lamps: { power: 700 W } }\n\npolicy:\n",
        )
    };
    let text = two("    leg_imbalance: 8 %\n");
    let built = unit(&text);
    let solved = loadworthy_unit::Solved::new(&built.variants[0]);
    let at = |name: &str| {
        let lane =
            solved.variant.lane_ids().find(|&lane| solved.variant.duty_of(lane).name == "flash").expect("it");
        let path = format!("{SWITCH}.{name}");
        let tables = &solved.variant.tables;
        let place = (0..tables.figures().len()).map(loadworthy_unit::FigureId::new);
        let id = place.into_iter().find(|&id| tables.figure_path(id) == path).expect("a figure");
        solved.figure(id, lane).expect("a number")
    };
    let (even, hottest) = (at("hottest_junction_temperature"), at("uneven_hottest_junction_temperature"));
    let apart = at("uneven_junction_temperature") - at("junction_temperature");
    assert!(apart > 0.0 && (hottest - even - apart).abs() < 1e-9, "{hottest} {even} {apart}");
}

/// How the junctions of a description are judged that asks for a current at 0 Hz, at another frequency.
fn at_frequency(text: &str, hertz: &str) -> Review {
    let turns = format!("175 A rms, line_voltage: 5 V rms, power_factor: 0.95, frequency: {hertz}");
    reviewed(&changed(text, "175 A rms, frequency: 0 Hz", &turns))
}

#[test]
fn a_case_that_follows_a_slow_turn_is_held_against_standstill() {
    const NAME: &str = "junction-temperature";
    // One module in each leg holds at the mean of a turn and not with the rotor held: nobody knows.
    let creeps = at_frequency(failing(NAME), "0.02 Hz");
    assert!(creeps.findings.iter().all(|one| one.defect != "too-hot"));
    let says = |one: &str| {
        one.starts_with("`lift_bridge` turns at ") && one.contains("its cases follow each half wave")
    };
    assert!(creeps.not_judged.iter().any(|one| says(&one.missing)), "{:#?}", creeps.not_judged);
    // Two stand it with the rotor held, and so at any speed.
    let stands = at_frequency(holding(NAME), "0.02 Hz");
    let own = stands.verdicts[0].iter().filter(|one| one.defect == "too-hot");
    let mut most = f64::MIN;
    for verdict in own {
        assert!(crate::descriptions::holds(verdict), "{verdict:?}");
        most = most.max(verdict.comparison().expect("a comparison").carried_value);
    }
    let held = reviewed(holding(NAME));
    let at_rest = held.verdicts[0].iter().filter(|one| one.defect == "too-hot");
    let at_rest = at_rest.filter_map(|one| Some(one.comparison()?.carried_value)).fold(f64::MIN, f64::max);
    assert!((most - at_rest).abs() < 1.0, "{most} °C against {at_rest} °C");
    // So are currents against what the hottest case leaves of their rating, here one that is stated for a cool case.
    let cool = |text: &str| changed(text, "at_case: 80 degC", "at_case: 40 degC");
    let rating = |review: Review| {
        let own = review.verdicts[0].iter().filter(|one| one.defect == "continuous-current");
        own.filter_map(|one| Some(one.comparison()?.limit)).fold(f64::MAX, f64::min)
    };
    let text = cool(holding(NAME));
    let (creeping, at_rest) = (rating(at_frequency(&text, "0.02 Hz")), rating(reviewed(&text)));
    assert!((creeping - at_rest).abs() < 1.0, "{creeping} A against {at_rest} A");
    assert!(creeping < rating(at_frequency(&text, "5 Hz")) - 5.0);
    // At speed the case stands at the mean.
    let turns = at_frequency(failing(NAME), "5 Hz");
    assert!(turns.not_judged.iter().all(|one| !says(&one.missing)));
}

#[test]
fn a_transistor_hotter_than_its_only_curve_is_not_judged_by_it() {
    let text = holding("junction-temperature");
    let cold = "        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.00 V, 1.45 V] }\n";
    let hot = "        - { junction: 150 degC, current: [75 A, 300 A], voltage: [1.02 V, 1.65 V] }\n";
    let own = |text: &str| {
        let review = reviewed(text);
        let open = review.not_judged.iter().filter(|one| one.checks.contains(&"junction-temperature"));
        open.map(|one| one.missing.clone()).collect::<Vec<_>>()
    };
    assert!(own(text).is_empty());
    // The hot curve alone reads high at less; the cold one says nothing of what is hotter.
    assert!(own(&changed(text, cold, "")).is_empty());
    let open = own(&changed(text, hot, ""));
    assert!(
        open.iter().all(|said| said.contains("covers a junction temperature of at most 25 °C")),
        "{open:?}"
    );
    assert!(!open.is_empty());
}

/// A stage that has no steady temperature in one duty point is told of that, and with it of what gets too hot in the others.
#[test]
fn what_gets_too_hot_beside_a_duty_point_without_a_steady_temperature_is_told_with_it() {
    const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
    let start = FORWARDER.find("  heavy:\n").expect("the other variant");
    let end = start + FORWARDER[start..].find("\npolicy:").expect("what follows");
    let alone = format!("{}{}", &FORWARDER[..start], &FORWARDER[end..]);
    let cooled = "cools: { traction_bridge: { face_a: 0.026 K/W } }";
    let hot = reviewed(&changed(&alone, cooled, "cools: { traction_bridge: { face_a: 0.3 K/W } }"));
    let own = hot.findings.iter().filter(|one| one.check == "junction-temperature").collect::<Vec<_>>();
    assert_eq!(own.len(), 1, "{own:#?}");
    assert_eq!((own[0].defect, own[0].duty.as_deref()), ("no-steady-temperature", Some("hold_on_slope")));
    let beside = own[0].facts.iter().filter(|fact| fact.starts_with("too hot in loaded_climb: ")).count();
    assert_eq!(beside, 1, "{:?}", own[0].facts);
}
