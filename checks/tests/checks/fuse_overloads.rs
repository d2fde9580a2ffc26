//! What fuses leave of an overload for good, and what ends it.

use loadworthy_checks::verdict::{Fault, Outcome};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{LaneId, Solved};

use crate::descriptions::{self, changed, defects, holding, reviewed, unit};
use crate::fuse_coordination::{one, verdicts};

const NAME: &str = "fuse-coordination";

/// The tug with a contactor that carries 180 A in its branch.
fn with_contactor(more: &str) -> String {
    descriptions::with_contactor(holding(NAME), 180, more)
}

#[test]
fn a_conductor_behind_a_fuse_carries_what_the_fuse_lets_pass_for_good() {
    let text = with_contactor("");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [(NAME, "unended-overload")]);
    let finding = one(&review);
    let compared = finding.comparison.expect("a comparison");
    // 200 A in air of 60 °C, the element at 140 °C; 1.6 times that melts it, 1.45 times what a conductor carries it stands.
    let by_hand = 200.0 * (80.0_f64 / 115.0).sqrt() * 1.6 / 1.45;
    assert!((compared.carried_value / by_hand - 1.0).abs() < 1e-9, "{compared:?}");
    assert_eq!((finding.part.as_str(), finding.grade.word()), ("pack_contactor", "minor"));
    assert!(finding.saying.contains("nothing else is said to end it"), "{}", finding.saying);
    let says: Vec<&str> = finding.proposals.iter().map(|one| one.say.as_str()).collect();
    assert!(says.iter().any(|say| say.contains("pack_contactor rated 200 A")), "{says:?}");
    // One that melts at less asks for its rated current alone.
    let sooner = changed(&text, "conventional_fusing: 160 %", "conventional_fusing: 140 %");
    assert_eq!(defects(&reviewed(&sooner)), []);
}

#[test]
fn what_is_carried_for_a_while_says_nothing_of_an_overload_that_lasts() {
    // 60 kW for ten seconds of each minute: 190 A and more, where the contactor carries 180 A for good.
    let pull = "\n  pull:
    lasts: 10 s
    every: 60 s
    coolant: { inlet: 60 degC }
    sources: { pack: { open_circuit: 320 V } }
    loads:
      tug_motor: { electrical_power: 60 kW, line_voltage: 165 V rms, power_factor: 0.9, frequency: 90 Hz }

policy:\n";
    let review = reviewed(&changed(&with_contactor(""), "\npolicy:\n", pull));
    assert!(verdicts(&review, "unended-overload").iter().any(|one| one.fails()), "{:?}", defects(&review));
}

#[test]
fn a_generator_is_held_against_the_voltage_of_its_bus() {
    let battery = "    kind: battery
    open_circuit: { lowest: 280 V, highest: 360 V }
    internal_resistance: { lowest: 40 mohm, highest: 90 mohm }\n";
    let text = changed(
        holding(NAME),
        battery,
        "    kind: generator\n    short_circuit: { lowest: 900 A, highest: 2 kA }\n",
    );
    let text = changed(&text, "    charge: { continuous: 60 A }\n", "");
    let text = changed(&text, "pack: { open_circuit: 320 V }", "pack: { terminal: 320 V }");
    let review = reviewed(&text);
    let waits: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(waits.iter().all(|one| !one.contains("open_circuit")), "{waits:?}");
    // Without it, that of the bus is what lacks: a generator has no key for one.
    let review = reviewed(&changed(&text, "nominal: 320 V, highest: 400 V", "nominal: 320 V"));
    let waits: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(waits.iter().any(|one| one.contains("buses.link.highest")), "{waits:?}");
}

#[test]
fn an_overload_is_ended_by_a_contactor_that_opens_or_by_the_trips_of_all_that_hangs_there() {
    let opens = with_contactor("opens: { above: 175 A, after: 10 s }, ");
    assert_eq!(defects(&reviewed(&opens)), []);
    let too_late = changed(&opens, "above: 175 A", "above: 182 A");
    assert_eq!(defects(&reviewed(&too_late)), [(NAME, "unended-overload")]);
    // One that waits for hours opens when all is as hot as if it had not.
    let hours = reviewed(&changed(&opens, "after: 10 s", "after: 2 h"));
    assert!(defects(&hours).contains(&(NAME, "unended-overload")), "{:?}", defects(&hours));
    let told = hours.findings.iter().find(|one| one.defect == "unended-overload").expect("it is found");
    let fact = told.facts.iter().find(|fact| fact.starts_with("`pack_contactor` opens after"));
    assert!(fact.is_some(), "{:?}", told.facts);
    let in_service = changed(&opens, "above: 175 A", "above: 100 A");
    assert_eq!(defects(&reviewed(&in_service)), [("current-headroom", "opens-in-service")]);
    // A bridge that trips at 170 A, 5 % late, draws no more than 3/π of that.
    let trips =
        changed(&with_contactor(""), "    dead_time: 2 us\n", "    dead_time: 2 us\n    trip: 170 A\n");
    let review = reviewed(&trips);
    let held = verdicts(&review, "unended-overload");
    let compared = held.iter().find_map(|one| one.comparison()).expect("a comparison");
    assert!((compared.carried_value / (170.0 * 1.05 * 3.0 / std::f64::consts::PI) - 1.0).abs() < 1e-9);
    assert!(held.iter().all(|one| !one.fails()), "{held:?}");
}

#[test]
fn an_overload_that_no_control_holds_back_is_major() {
    let loads = "loads:\n  lamps: { bus: link }\n\nduty:\n";
    let text = changed(&with_contactor(""), "duty:\n", loads);
    let text = changed(
        &text,
        "    loads:\n      tug_motor",
        "    loads:\n      lamps: { power: 1 kW }\n      tug_motor",
    );
    let review = reviewed(&text);
    assert_eq!(defects(&review), [(NAME, "unended-overload")]);
    assert_eq!(one(&review).grade.word(), "major");
}

#[test]
fn a_conductor_that_states_no_current_carries_what_brings_it_to_its_highest_temperature() {
    let unit = unit(&with_contactor(""));
    let solved = Solved::new(&unit.variants[0]);
    let (plan, lane) = (&solved.variant.plan, LaneId::new(0));
    let value = |operand| match operand {
        Operand::Input(id) => solved.input(id, lane).unwrap_or(f64::NAN),
        Operand::Figure(id) => solved.figure(id, lane).unwrap_or(f64::NAN),
        Operand::Curve(_) => f64::NAN,
    };
    let mut held = 0;
    for one in &plan.overloads {
        let conductor = &plan.conductors[one.conductor];
        let (Some(capacity), Some(heat)) = (one.capacity, &conductor.heat) else { continue };
        let carries = solved.figure(capacity, lane).expect("a current");
        let settles = heat.temperature(conductor, carries, value);
        assert!((settles - solved.input(heat.hottest, lane).expect("stated")).abs() < 0.01, "{settles}");
        held += 1;
    }
    assert_eq!(held, 1, "the cable");
}

#[test]
fn no_foil_is_known_to_carry_what_its_law_does_not_reach() {
    let foil = |thickness: &str| {
        let text = changed(
            &with_contactor(""),
            "conductors:\n",
            &format!(
                "conductors:\n  pack_foil: {{ kind: foil, width: 100 mm, thickness: {thickness}, length: 80 mm, layer: outer, hottest: 105 degC }}\n"
            ),
        );
        let text = changed(&text, "through: [pack_fuse, ", "through: [pack_fuse, pack_foil, ");
        // A load of some 12 A behind a fuse that lets 37 A pass for good.
        let text = changed(&text, "electrical_power: 35 kW", "electrical_power: 3 kW");
        changed(&text, "    current: 200 A\n", "    current: 40 A\n")
    };
    let of = |text: &str| {
        let review = reviewed(text);
        let own = verdicts(&review, "unended-overload").into_iter();
        let unit = unit(text);
        let mut own = own.filter(|one| unit.variants[0].path(one.part) == "pack_foil");
        let outcome = own.next().expect("judged").outcome.clone();
        (outcome, review.not_judged.iter().map(|one| one.missing.clone()).collect::<Vec<_>>())
    };
    // 55 A by the formula, of which the chart knows 35.
    let (outcome, missing) = of(&foil("105 um"));
    assert!(matches!(outcome, Outcome::NotJudged(_)), "{outcome:?}");
    assert!(missing.iter().any(|one| one.contains("35 A")), "{missing:?}");
    assert!(matches!(of(&foil("1 mm")).0, Outcome::NotJudged(_)));
    let small = changed(&foil("105 um"), "    current: 40 A\n", "    current: 32 A\n");
    assert!(matches!(of(&small).0, Outcome::Holds(_)));
}

#[test]
fn what_a_stage_with_a_transformer_delivers_is_not_held_against_overloads() {
    let unit = unit(include_str!("../../../examples/snow-groomer.yaml"));
    let variant = &unit.variants[0];
    let all: Vec<&str> = variant
        .plan
        .overloads
        .iter()
        .map(|one| variant.path(variant.plan.conductors[one.conductor].part))
        .collect();
    assert!(all.contains(&"step_up_bar") && !all.contains(&"board_bar"), "{all:?}");
}

/// The forwarder whose cab hangs on its net by a cable that carries so much, and no fuse.
fn cab(amps: &str) -> String {
    let forwarder = include_str!("../../../examples/timber-forwarder.yaml");
    let line = "branches:\n  cab_line: { from: board_net, to: cab_supply, through: [cab_cable] }\n";
    let cable = format!(
        "  cab_cable: {{ kind: cable, section: 16 mm^2, length: 2 m, current: {{ continuous: {amps}, at: 85 degC }} }}\n"
    );
    let text = changed(forwarder, "branches:\n", line);
    changed(&text, "conductors:\n", &format!("conductors:\n{cable}"))
}

#[test]
fn behind_converters_a_cable_without_a_fuse_carries_what_they_deliver_or_is_found() {
    let of = |text: &str| {
        let review = reviewed(text);
        let unit = unit(text);
        let own = verdicts(&review, "unended-overload").into_iter();
        let mut own = own.filter(|one| unit.variants[0].path(one.part) == "cab_cable");
        own.next().expect("judged").outcome.clone()
    };
    // Two chokes that trip at 37 A each.
    assert!(matches!(of(&cab("74 A")), Outcome::Holds(_)));
    let Outcome::Fails { fault, .. } = of(&cab("70 A")) else { panic!("70 A hold 74 A") };
    let Fault::Exceeds(compared) = fault else { panic!("{fault:?}") };
    assert!((compared.carried_value - 74.0).abs() < 1e-9, "{compared:?}");
    let untold = changed(&cab("70 A"), "    trip: 37 A\n", "");
    assert!(matches!(of(&untold), Outcome::NotJudged(_)));
}
