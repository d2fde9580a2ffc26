//! Reach of every kind of stage: duty, phase shift, torque, and what is certain where the figures are missing.

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_unit::plan::{Isolated, IsolatedKind, Topology};
use proptest::prelude::*;

use crate::descriptions::{changed, defects, keeps_open, repeatable, reviewed, trencher};

fn of_reach<'r>(review: &'r Review, part: &str) -> &'r Finding {
    let found = review.findings.iter().find(|one| one.check == "output-reach" && one.part == part);
    found.unwrap_or_else(|| panic!("nothing on {part} among {:#?}", review.findings))
}

fn with(from: &str, to: &str) -> Review {
    reviewed(&changed(trencher(), from, to))
}

fn remarks(review: &Review, part: usize) -> Vec<String> {
    let of_reach = review.verdicts.iter().flatten().filter(|verdict| verdict.check == "output-reach");
    of_reach
        .filter(|verdict| verdict.part.index() == part)
        .flat_map(|verdict| verdict.remarks.iter().map(ToString::to_string))
        .collect()
}

#[test]
fn a_boost_does_not_step_down_and_a_higher_link_mends_it() {
    let review = with("buses: { link: 600 V }", "buses: { link: 320 V }");
    let one = of_reach(&review, "step_up");
    assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"));
    assert_eq!(one.saying, "`step_up` cannot step down: 345 V at its low bus, 320 V at its high bus");
    let held = one.proposals.first().expect("a proposal");
    assert_eq!(held.set[0].path, "duty.trenching.buses.link");
    assert!(held.say.starts_with("link: 320 V -> "), "{}", held.say);
}

#[test]
fn a_buck_does_not_step_up_and_nothing_is_proposed() {
    let review = with(
        "lamps: { negative_rail: hv_minus, nominal: 150 V",
        "lamps: { negative_rail: hv_minus, nominal: 380 V",
    );
    let one = of_reach(&review, "lamp_buck");
    assert_eq!(one.saying, "`lamp_buck` cannot step up: 380 V asked from 345 V");
    assert!(one.proposals.is_empty());
    assert!(
        one.no_proposal.as_ref().is_some_and(|text| text.contains("another concept")),
        "{:?}",
        one.no_proposal
    );
}

#[test]
fn a_duty_beyond_the_reserve_is_minor() {
    // 345 V of 380 V and the drops: a duty of 0.91.
    let text = changed(
        trencher(),
        "lamps: { negative_rail: hv_minus, nominal: 150 V",
        "lamps: { negative_rail: hv_minus, nominal: 320 V",
    );
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("output-reach", "beyond-duty")]);
    let one = of_reach(&review, "lamp_buck");
    assert_eq!(one.grade.word(), "minor");
    assert!(
        one.saying.contains("above the 0.9 that the policy leaves of the whole period"),
        "{}",
        one.saying
    );
    let all = changed(&text, "  duty: { use_at_most: 90 % }", "  duty: { use_at_most: 100 % }");
    assert_eq!(defects(&reviewed(&all)), []);
}

#[test]
fn a_full_bridge_runs_out_of_phase_shift_and_fewer_turns_mend_it() {
    let review = with("nominal: 28 V", "nominal: 41 V");
    let one = of_reach(&review, "auxiliary");
    assert_eq!((one.defect, one.grade.word()), ("beyond-phase-shift", "minor"));
    assert!(one.saying.contains("needs a phase shift of 0.99"), "{}", one.saying);
    let held = one.proposals.first().expect("a proposal");
    assert_eq!(
        (held.set[0].path.as_str(), held.set[0].written.as_str()),
        ("magnetics.auxiliary_transformer.turns_ratio", "3.8")
    );
}

#[test]
fn an_output_beyond_the_turns_is_told_although_the_figures_of_the_unit_are_missing() {
    let review = with("nominal: 28 V", "nominal: 48 V");
    let one = of_reach(&review, "auxiliary");
    assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"));
    let compared = one.comparison.expect("a comparison");
    // Twice 4·48 V over 345 V, and the drops and the leakage that a phase shift of 0.66 at 28 V tells.
    assert!((1.13..1.18).contains(&compared.carried_value), "{compared:?}");
    assert!(one.proposals.iter().any(|held| held.say == "turns ratio: 4 -> 3.2"), "{:#?}", one.proposals);
    // Everything that waits for its currents waits for one thing, and is told with it.
    let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(keeps_open(one), "{:#?}", one.facts);
    let is_told = |one: &&str| one.contains("does not reach") || one.contains("outside the range");
    assert!(!open.iter().any(is_told), "{open:#?}");
}

/// Checks with a verdict that is neither held nor failed for want of a current in a stage.
fn unknown(review: &Review) -> usize {
    assert_eq!(defects(review), [("output-reach", "out-of-reach")]);
    // What says nothing of currents is judged all the same.
    assert!(review.counts.hold > 0, "{:?}", review.counts);
    review.counts.not_judged
}

#[test]
fn what_a_stage_out_of_reach_would_carry_is_not_judged() {
    let judged = reviewed(trencher()).counts.not_judged;
    // A boost asked to step down, a phase shift of 1.03, a duty of 1.0: all three within what the lossless circuit with
    // its bus at the open-circuit voltage could give, so that the duty itself says it.
    for (from, to) in [
        ("buses: { link: 600 V }", "buses: { link: 320 V }"),
        ("turns_ratio: 4\n", "turns_ratio: 6.1\n"),
        ("turns_ratio: 10\n", "turns_ratio: 27.4\n"),
    ] {
        let review = with(from, to);
        assert!(unknown(&review) > judged + 60, "{to}: {:?}", review.counts);
        assert!(review.findings[0].proposals.len() == 1, "{:#?}", review.findings[0]);
    }
}

#[test]
fn a_core_of_a_known_material_does_not_hide_that_its_stage_is_out_of_reach() {
    // A choke whose flux would fall for less than no time: its core has no loss there.
    let material = "core: { area: 1 cm^2, volume: 8 cm^3, steinmetz: { density: 300 kW/m^3, frequency: 100 kHz, \
                    flux_density: 0.2 T, frequency_exponent: 1.45, flux_exponent: 2.5, reach: 4 } }";
    let choke = format!("inductance: 10 uH, turns: 6, {material}");
    let text = changed(trencher(), "inductance: 10 uH, core: { loss: 1 W }", &choke);
    assert_eq!(defects(&reviewed(&text)), []);
    let review = reviewed(&changed(&text, "turns_ratio: 10\n", "turns_ratio: 40\n"));
    assert_eq!(defects(&review), [("output-reach", "out-of-reach")]);
    let one = of_reach(&review, "sensor_supply");
    assert!(one.saying.contains("above its largest duty") && keeps_open(one), "{one:#?}");
    let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    let is_told = |one: &&str| one.contains("does not reach") || one.contains("outside the range");
    assert!(!open.iter().any(is_told), "{open:#?}");
}

#[test]
fn a_leakage_that_no_phase_shift_makes_up_for_is_out_of_reach() {
    for leakage in ["40 uH", "200 uH", "1 mH"] {
        let of = "turns_ratio: 4\n    magnetising_inductance: 1.2 mH\n    leakage_inductance: ";
        let review = with(&format!("{of}4 uH"), &format!("{of}{leakage}"));
        let one = of_reach(&review, "auxiliary");
        assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"), "{leakage}");
        let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        assert!(!open.iter().any(|one| one.contains("outside the range")), "{open:#?}");
    }
}

#[test]
fn an_output_choke_that_reverses_or_would_rest_is_an_estimate_for_every_check() {
    let told = |review: &Review, text: &str| -> Vec<&'static str> {
        let all = review.verdicts.iter().flatten();
        let remarked =
            all.filter(|verdict| verdict.remarks.iter().any(|remark| remark.to_string().contains(text)));
        let mut checks: Vec<&str> = remarked.map(|verdict| verdict.check).collect();
        checks.dedup();
        checks
    };
    let of_currents = ["current-headroom", "junction-temperature", "output-reach"];
    let reverses = with("probes: { power: 150 W }", "probes: { power: 10 W }");
    assert_eq!(told(&reverses, "the current of the output choke reverses"), of_currents);
    let behind_diodes = "forward: { fitted: diode60 }\n      freewheel: { fitted: diode60 }";
    let synchronous = "forward: { fitted: mos40_3m }\n      freewheel: { fitted: mos40_3m }";
    let diode = "devices:
  diode60:
    package: { circuit: single, cooled_faces: 1 }
    diode:
      current: { continuous: 30 A, at_case: 80 degC, repetitive_peak: 80 A }
      junction_limit: 175 degC
      on_state: [{ junction: 150 degC, current: [5 A, 30 A], voltage: [0.5 V, 0.8 V] }]
      energies: { voltage: 30 V, junction: 150 degC, current: [5 A, 30 A], recovery: [1 uJ, 3 uJ] }
      thermal_impedance: [[0.3 K/W, 5 ms], [0.5 K/W, 80 ms]]
";
    let text = changed(&changed(trencher(), synchronous, behind_diodes), "devices:\n", diode);
    let light = changed(&text, "probes: { power: 150 W }", "probes: { power: 10 W }");
    // Of a forward converter that is counted.
    assert_eq!(told(&reviewed(&light), "rests in each carrier period"), of_currents);
    assert!(told(&reviewed(&light), "would rest in each period").is_empty());
    // Of a doubler it is not.
    let doubler = changed(&text, "rectifier: { fitted: mos150_3m }", "rectifier: { fitted: diode60 }");
    let doubler = changed(&doubler, "cab: { power: 1.2 kW }", "cab: { power: 20 W }");
    let doubler = changed(
        &doubler,
        "energies: { voltage: 30 V, junction: 150 degC, current: [5 A",
        "energies: { voltage: 90 V, junction: 150 degC, current: [5 A",
    );
    let mut of_all = told(&reviewed(&doubler), "would rest in each period");
    of_all.sort_unstable();
    of_all.dedup();
    let [headroom, junction, reach] = of_currents;
    assert_eq!(of_all, ["core-saturation", headroom, junction, reach, "winding-loading"]);
    // A derivation says so as well, and only of such a duty point.
    let validity = |text: &str, kind: IsolatedKind| {
        let unit = crate::descriptions::unit(text);
        let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
        let is_it = |one: &Isolated| one.kind == kind;
        let own = solved.variant.plan.stages.iter().find_map(|stage| match &stage.topology {
            Topology::Isolated(isolated) if is_it(isolated) => Some(isolated.figures.choke_rms),
            _ => None,
        });
        let derived = solved.derivation(loadworthy_unit::LaneId::new(0));
        derived.steps.of(own.expect("one of its kind")).expect("told").law.validity
    };
    let would_rest = "would rest in each period";
    assert!(validity(&doubler, IsolatedKind::CurrentDoubler).contains(would_rest));
    assert!(!validity(&text, IsolatedKind::CurrentDoubler).contains(would_rest));
    assert!(validity(&light, IsolatedKind::Forward).contains("freewheel rectifier a diode"));
    assert!(!validity(&text, IsolatedKind::Forward).contains("freewheel rectifier a diode"));
    assert!(told(&reviewed(trencher()), "output choke").is_empty());
}

#[test]
fn a_forward_converter_ends_at_its_largest_duty() {
    let review = with("largest_duty: 65 %", "largest_duty: 33 %");
    let one = of_reach(&review, "sensor_supply");
    assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"));
    assert!(one.saying.contains("above its largest duty of 0.33"), "{}", one.saying);
    assert!(one.because.iter().any(|place| place.label == "0.33 at most"), "{:?}", one.because);
}

/// A torque and a link voltage; the crest of the current stays within what the devices state.
fn torque(torque: f64, speed: f64, link: f64) -> String {
    let text = changed(
        trencher(),
        "torque: 100 N m, speed: 4000 1/min",
        &format!("torque: {torque} N m, speed: {speed} 1/min"),
    );
    changed(&text, "buses: { link: 600 V }", &format!("buses: {{ link: {link} V }}"))
}

#[test]
fn a_torque_out_of_reach_says_which_share_of_it_is_left() {
    let review = reviewed(&torque(200.0, 9000.0, 400.0));
    let one = of_reach(&review, "chain_bridge");
    assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"));
    let share = one.largest_share.expect("a share");
    assert!(
        one.saying.starts_with("`chain_bridge` cannot give 200 N m at 9000 1/min: at most 89 % of it"),
        "{}",
        one.saying
    );
    // A little less than that share is reached, a little more is not.
    let at = |share: f64| reviewed(&torque(200.0 * share, 9000.0, 400.0));
    let reached = |review: &Review| {
        !review.findings.iter().any(|one| one.part == "chain_bridge" && one.defect == "out-of-reach")
    };
    assert!(reached(&at(share * 0.999)));
    assert!(!reached(&at(share * 1.001)));
    // What waits for it is told with it.
    assert!(keeps_open(one), "{:#?}", one.facts);
    let waits = review.not_judged.iter().filter(|one| one.missing.contains("does not reach the torque"));
    assert_eq!(waits.count(), 0, "{:#?}", review.not_judged);
    assert!(one.proposals.iter().any(|held| held.say.starts_with("link: 400 V -> ")), "{:#?}", one.proposals);
}

#[test]
fn a_torque_out_of_reach_behind_the_resistance_of_a_pack_is_certain_too() {
    let text = changed(&torque(200.0, 9000.0, 600.0), "dc_bus: link", "dc_bus: pack_bus");
    let one_review = reviewed(&text);
    let one = of_reach(&one_review, "chain_bridge");
    // 188 kW alone, without any loss, leave 327 V of 350 V.
    assert!(one.saying.contains("within the voltage that 327 V leave"), "{}", one.saying);
    assert!(one.no_proposal.is_some());
    // So much that no voltage is left for it is no less out of reach.
    let text = changed(&torque(20_000.0, 9000.0, 600.0), "dc_bus: link", "dc_bus: pack_bus");
    let review = reviewed(&text);
    let one = of_reach(&review, "chain_bridge");
    assert_eq!((one.defect, one.grade.word()), ("out-of-reach", "major"));
    assert!(one.saying.contains("within the voltage that 350 V leave"), "{}", one.saying);
}

#[test]
fn what_other_sources_give_lifts_the_bus_by_no_more_than_that() {
    let base = changed(&torque(200.0, 9000.0, 600.0), "dc_bus: link", "dc_bus: pack_bus");
    let cell = "  cab_cell:
    kind: battery
    bus: board_net
    open_circuit: { lowest: 22 V, highest: 28 V }
    internal_resistance: { lowest: 5 mohm, highest: 20 mohm }

buses:
";
    let with = |share: &str| {
        let text = changed(&base, "buses:\n  pack_bus:", &format!("{cell}  pack_bus:"));
        let sources = format!("sources: {{ pack: {{ open_circuit: 350 V }}, cab_cell: {{ {share} }} }}");
        reviewed(&changed(&text, "sources: { pack: { open_circuit: 350 V } }", &sources))
    };
    // One that gives nothing lifts nothing.
    for share in ["terminal: 26 V, current: 0 A", "power: 0 W", "power: -500 W"] {
        let review = with(share);
        assert!(of_reach(&review, "chain_bridge").saying.contains("that 327 V leave"), "{share}");
    }
    // Of 188 kW it gives 40: the pack is left 148 kW behind 40 mohm and its line.
    let review = with("power: 40 kW");
    let saying = &of_reach(&review, "chain_bridge").saying;
    assert!(saying.contains("that 332 V leave"), "{saying}");
}

#[test]
fn a_machine_without_its_resistance_is_not_judged_by_that_name() {
    let review = with("phase_resistance: 14 mohm", "highest_torque: 900 N m");
    let named = review
        .not_judged
        .iter()
        .any(|one| one.missing == "machines.chain_motor.phase_resistance is not stated");
    assert!(named, "{:#?}", review.not_judged);
    assert!(review.findings.is_empty());
}

#[test]
fn a_torque_at_standstill_is_held_at_any_angle() {
    let review = reviewed(&torque(200.0, 0.0, 600.0));
    assert_eq!(defects(&review), [("current-headroom", "standing-current")]);
    let one = &review.findings[0];
    assert!(one.corner.as_ref().is_some_and(|corner| corner.starts_with("rotor held")), "{:?}", one.corner);
    assert!(
        one.because.iter().any(|place| place.label.starts_with("200 N m at standstill: a crest of ")),
        "{:?}",
        one.because
    );
}

#[test]
fn a_diode_lets_the_current_rest_at_light_load_and_the_verdict_says_so() {
    let stage = |review: &Review| {
        let unit = crate::descriptions::unit(trencher());
        let buck = unit.variants[0]
            .plan
            .stages
            .iter()
            .find(|stage| unit.variants[0].path(stage.part) == "lamp_buck");
        remarks(review, buck.expect("the buck").part.index())
    };
    assert!(stage(&reviewed(trencher())).is_empty());
    let light = with("lamp_row: { power: 1 kW }", "lamp_row: { power: 100 W }");
    assert!(stage(&light).iter().any(|remark| remark.starts_with("discontinuous")), "{:?}", stage(&light));
    assert_eq!(defects(&light), []);
}

proptest! {
    #![proptest_config(repeatable(32))]

    /// Whatever a buck is asked, exactly one of the three is said of it: within the reserve, beyond it, out of reach.
    #[test]
    fn a_buck_is_judged_by_its_voltages(out in 60.0..420.0_f64) {
        let review = with("lamps: { negative_rail: hv_minus, nominal: 150 V", &format!("lamps: {{ negative_rail: hv_minus, nominal: {out:.2} V"));
        let unit = crate::descriptions::unit(trencher());
        let buck = unit.variants[0].plan.stages.iter().find(|stage| unit.variants[0].path(stage.part) == "lamp_buck").expect("the buck");
        let of_buck: Vec<_> = review.verdicts[0].iter().filter(|v| v.check == "output-reach" && v.part == buck.part).collect();
        prop_assert_eq!(of_buck.len(), 1);
        // The pack leaves between 340 V and 346 V; the drops of the buck are below 2 V.
        match (of_buck[0].fails(), of_buck[0].defect) {
            (false, "beyond-duty") => prop_assert!(out < 0.9 * 346.0),
            (true, "beyond-duty") => prop_assert!((0.9 * 340.0 - 2.0..346.0).contains(&out)),
            (true, "out-of-reach") => prop_assert!(out > 338.0),
            other => prop_assert!(false, "{:?} at {}", other, out),
        }
    }
}

#[test]
fn beyond_six_step_a_bridge_has_no_currents_and_nothing_that_rests_on_them() {
    let unit = crate::descriptions::unit(&changed(
        crate::descriptions::failing("output-reach"),
        "line_voltage: 182 V rms",
        "line_voltage: 240 V rms",
    ));
    let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
    let tables = &unit.variants[0].tables;
    let lane = unit.variants[0].lane_ids().next().expect("a lane");
    let of = |path: &str| {
        let id = (0..tables.figures().len()).map(loadworthy_unit::FigureId::new);
        let id = id.into_iter().find(|&id| tables.figure_path(id) == path).expect(path);
        solved.figure(id, lane)
    };
    // √(2/3)·240 V over half of 300 V is 1.31, and a square wave makes 4/π.
    assert!(of("wheel_bridge.modulation_index").is_some_and(|index| (1.30..1.38).contains(&index)));
    for path in ["wheel_bridge.loss", "wheel_bridge.high_side.u.transistor.rms_current", "cooling.outlet"] {
        assert_eq!(of(path), None, "{path}");
    }
    let text = changed(
        crate::descriptions::failing("output-reach"),
        "line_voltage: 182 V rms",
        "line_voltage: 240 V rms",
    );
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("output-reach", "out-of-reach")]);
    assert_eq!(of_reach(&review, "wheel_bridge").grade.word(), "major");
    assert!(review.counts.not_judged > 0, "currents and temperatures are open");
    assert!(keeps_open(of_reach(&review, "wheel_bridge")), "for one reason");
    assert_eq!(review.not_judged, []);
}

#[test]
fn a_buck_asked_for_more_than_its_input_is_out_of_reach() {
    let carrier = include_str!("../../../examples/vineyard-carrier.yaml");
    let lifted = [("buses.lamp_net.nominal", "63 V"), ("buses.lamp_net.highest", "64 V")];
    let lifted = lifted.map(|(path, volts)| (path.to_owned(), volts.to_owned()));
    let review = loadworthy_checks::review(&crate::descriptions::unit_with(carrier, &lifted));
    assert_eq!(of_reach(&review, "lamp_buck").defect, "out-of-reach");
    assert!(review.unsolved.is_empty(), "{:?}", review.unsolved);
}
