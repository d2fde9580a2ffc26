//! Whether a duty point has a solution, and where its power comes from.

use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_checks::{Review, review};
use loadworthy_unit::Cause;
use proptest::prelude::*;

use crate::descriptions::{
    changed, defects, failing, finding, holding, keeps_open, repeatable, reviewed, trencher, unit,
};

const CHECK: &str = "power-balance";

/// A pack and a heater on one bus, without anything that loses power.
fn heater(open: f64, ohms: f64, watts: f64) -> String {
    format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: link, internal_resistance: {{ highest: {ohms} ohm }} }}
buses: {{ link: {{ nominal: 300 V }} }}
loads: {{ heater: {{ bus: link }} }}
duty:
  warming:
    sources: {{ pack: {{ open_circuit: {open} V }} }}
    loads: {{ heater: {{ power: {watts} W }} }}
"
    )
}

fn own(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|verdict| verdict.check == CHECK).collect()
}

fn of_check<'r>(review: &'r Review, defect: &str) -> Vec<&'r Finding> {
    review.findings.iter().filter(|one| one.check == CHECK && one.defect == defect).collect()
}

#[test]
fn what_cannot_pass_says_how_much_can_and_where_the_rest_goes() {
    let review = reviewed(failing(CHECK));
    let one = finding(&review, "beyond-source");
    assert_eq!((one.check, one.part.as_str(), one.grade.word()), (CHECK, "pack", "major"));
    // 320²/(4 · 0.75) is 34.1 kW; the bridge takes its losses from that.
    let share = one.largest_share.expect("a share");
    assert!((0.93..0.965).contains(&share), "{share}");
    assert!(one.saying.contains("at most 95 % of what `cold_start` asks"), "{}", one.saying);
    assert!(one.facts[0].starts_with("34.1 kW at most, from 320 V through 750 mΩ"), "{:?}", one.facts);
    assert!(
        one.facts.iter().any(|fact| fact.contains("lost in the source just below it")),
        "{:?}",
        one.facts
    );
    assert!(one.facts.iter().any(|fact| fact.contains("`shunt_bridge` loses most")), "{:?}", one.facts);
    let because: Vec<_> = one.because.iter().map(|place| place.label.as_str()).collect();
    assert_eq!(because, ["320 V without current", "750 mΩ on the way", "35 kW asked"]);
    assert!(one.proposals[0].say.starts_with("pack.internal_resistance.highest: 750 mΩ -> "));
    assert!(holding(CHECK).contains("400 mohm"));
}

#[test]
fn close_to_the_most_is_minor() {
    let review = reviewed(&changed(failing(CHECK), "750 mohm", "660 mohm"));
    let one = finding(&review, "near-limit");
    assert_eq!((one.check, one.part.as_str(), one.grade.word()), (CHECK, "pack", "minor"));
    assert_eq!(defects(&review), [(CHECK, "near-limit")]);
    assert!(one.saying.contains("of the 38.8 kW that can pass 660 mΩ"), "{}", one.saying);
    assert!(!one.proposals.is_empty(), "{one:#?}");
}

proptest! {
    #![proptest_config(repeatable(200))]

    #[test]
    fn the_verdict_is_that_of_the_closed_form(
        open in 40.0..900.0_f64,
        ohms in 0.005..2.0_f64,
        share in 0.01..3.0_f64,
    ) {
        let most = open * open / (4.0 * ohms);
        // At the limits themselves rounding decides.
        prop_assume!((share - 1.0).abs() > 1e-6 && (share - 8.0 / 9.0).abs() > 1e-6);
        let review = reviewed(&heater(open, ohms, share * most));
        let verdicts = own(&review);
        prop_assert_eq!(verdicts.len(), 1);
        let verdict = verdicts[0];
        if share > 1.0 {
            prop_assert_eq!(verdict.defect, "beyond-source");
            let found = of_check(&review, "beyond-source")[0].largest_share.expect("a share");
            prop_assert!((found * share - 1.0).abs() < 1e-5, "{} of {}", found, share);
        } else {
            let near = share > 8.0 / 9.0;
            prop_assert_eq!((verdict.defect, verdict.fails()), (if near { "near-limit" } else { "beyond-source" }, near));
            let compared = verdict.comparison().expect("a comparison");
            prop_assert!((compared.limit / most - 1.0).abs() < 1e-9);
            prop_assert!((compared.carried_value / (share * most) - 1.0).abs() < 1e-9);
            // The rate at which the search converges, from the voltage that is left.
            let left = 0.5 * open * (1.0 + (1.0 - share).sqrt());
            prop_assert_eq!((open - left) / left > 0.5, near);
        }
    }

    #[test]
    fn two_packs_count_as_one_behind_both_resistances(
        left in 250.0..350.0_f64,
        right in 250.0..350.0_f64,
        first in 0.05..0.9_f64,
        second in 0.05..0.9_f64,
        share in 0.05..1.6_f64,
    ) {
        let ohms = 1.0 / (1.0 / first + 1.0 / second);
        let open = (left / first + right / second) * ohms;
        let most = open * open / (4.0 * ohms);
        prop_assume!((share - 1.0).abs() > 1e-6 && (share - 8.0 / 9.0).abs() > 1e-6);
        let text = heater(left, first, share * most);
        let twin = format!("  twin: {{ kind: battery, bus: link, internal_resistance: {{ highest: {second} ohm }} }}\nbuses:");
        let text = changed(&text, "buses:", &twin);
        let text = changed(&text, "sources: { pack:", &format!("sources: {{ twin: {{ open_circuit: {right} V }}, pack:"));
        let review = reviewed(&text);
        let verdicts = own(&review);
        prop_assert_eq!(verdicts.len(), 1);
        prop_assert_eq!(verdicts[0].fails(), share > 8.0 / 9.0);
        prop_assert_eq!(verdicts[0].defect, if share <= 8.0 / 9.0 || share > 1.0 { "beyond-source" } else { "near-limit" });
        if let Some(compared) = verdicts[0].comparison() {
            prop_assert!((compared.limit / most - 1.0).abs() < 1e-9, "{} against {}", compared.limit, most);
        }
    }
}

#[test]
fn conductors_on_the_way_count_with_the_source() {
    let text = changed(
        &heater(300.0, 0.5, 40e3),
        "\nloads:",
        "\nconductors: { feed: { kind: resistor, resistance: 100 mohm } }\nbranches: { pack_feed: { from: pack, to: link, through: [feed] } }\nloads:",
    );
    let text = changed(&text, "kind: battery, bus: link,", "kind: battery,");
    let review = reviewed(&text);
    let one = of_check(&review, "beyond-source")[0];
    assert!(one.facts[0].starts_with("37.5 kW at most, from 300 V through 600 mΩ"), "{:?}", one.facts);
    let said: Vec<_> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert!(said[0].ends_with("(another source)"), "{said:?}");
    // No conductor makes up for the pack itself: 300²/(4 · 0.52) is 43.3 kW, of which 8/9 are 38.5 kW.
    assert_eq!(said.len(), 1, "{said:?}");
}

#[test]
fn taking_power_back_and_a_voltage_that_is_stated_hold() {
    let review = reviewed(&heater(300.0, 0.5, -40e3));
    assert!(own(&review).iter().all(|verdict| verdict.outcome == Outcome::Holds(None)));
    let text = changed(&heater(300.0, 0.5, 400e3), "open_circuit: 300 V", "terminal: 300 V");
    assert!(own(&reviewed(&text)).iter().all(|verdict| verdict.outcome == Outcome::Holds(None)));
}

#[test]
fn a_voltage_that_is_not_stated_is_named() {
    let text = changed(&heater(300.0, 0.5, 10e3), "    sources: { pack: { open_circuit: 300 V } }\n", "");
    let review = reviewed(&text);
    let open: Vec<_> = review.not_judged.iter().filter(|one| one.checks.contains(&CHECK)).collect();
    assert_eq!(open.len(), 1, "{:#?}", review.not_judged);
    assert!(open[0].missing.starts_with("duty.warming.sources.pack.open_circuit"), "{}", open[0].missing);
}

/// Two buses and what joins them.
fn joined(stages: &str, duty: &str) -> String {
    format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: low, internal_resistance: {{ highest: 10 mohm }} }}
buses: {{ low: {{ nominal: 300 V }}, link: {{ nominal: 600 V }} }}
loads: {{ heater: {{ bus: link }} }}
stages:
{stages}
devices:
  half: {{ package: {{ circuit: half_bridge }}, transistor: {{ kind: igbt }} }}
  valve: {{ package: {{ circuit: single }}, diode: {{ current: {{ continuous: 200 A, at_case: 80 degC }} }} }}
duty:
  pull:
    sources: {{ pack: {{ open_circuit: 300 V }} }}
    buses: {{ link: 600 V }}
    loads: {{ heater: {duty} }}
"
    )
}

const BOOST: &str = "topology: boost, low_bus: low, high_bus: link";

#[test]
fn stages_that_close_a_loop_are_one_finding_that_names_them() {
    let review =
        reviewed(&joined(&format!("  first: {{ {BOOST} }}\n  second: {{ {BOOST} }}"), "{ power: 10 kW }"));
    let found = of_check(&review, "loop");
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].part.as_str(), found[0].grade.word()), ("second", "minor"));
    let said =
        "`second` and `first` hold `link` side by side, and how they share what it asks is stated nowhere";
    assert_eq!(found[0].saying, said);
    assert!(found[0].facts.iter().any(|fact| fact.starts_with("what `second` passes is not known")));
    assert!(found[0].no_proposal.as_deref().is_some_and(|why| why.contains("one stage")));
    assert!(found[0].duty.is_none());
    // What passes the second one is then missing, and said to be.
    assert!(
        review.not_judged.iter().any(|one| one.missing.contains("power that `second` passes")),
        "{:#?}",
        review.not_judged
    );
}

#[test]
fn a_bus_that_no_source_reaches_is_told_once_for_its_island() {
    let text = joined(&format!("  lift: {{ {BOOST} }}"), "{ power: 10 kW }");
    assert!(of_check(&reviewed(&text), "unfed").is_empty());
    let apart = changed(&text, "low_bus: low,", "low_bus: other,");
    let apart = changed(&apart, "buses: { low:", "buses: { other: { nominal: 200 V }, low:");
    let review = reviewed(&apart);
    let found = of_check(&review, "unfed");
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].part.as_str(), found[0].grade.word()), ("other", "major"));
    assert!(found[0].saying.starts_with("no source of the unit reaches `other`"), "{}", found[0].saying);
    assert!(found[0].facts.contains(&"behind it as well: `link`".to_owned()), "{:?}", found[0].facts);
    // A unit without any source states its voltages and is fed from elsewhere.
    let none = apart.lines().filter(|line| !line.contains("pack:")).collect::<Vec<_>>().join("\n");
    let none = none.replace("sources:\n", "");
    assert!(of_check(&reviewed(&none), "unfed").is_empty());
}

#[test]
fn an_entry_that_cannot_be_read_may_be_the_source() {
    let apart = changed(
        &joined("  lift: { topology: boost, low_bus: low }", "{ power: 10 kW }"),
        "bus: low,",
        "bus: low, internal: 5,",
    );
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let input = loadworthy_language::Input {
        name: "unit.yaml",
        bytes: apart.as_bytes(),
        written: &[],
        overrides: &[],
        vocabulary: &vocabulary,
    };
    let reading = loadworthy_language::read(input, &mut Nothing);
    assert!(!reading.problems.is_empty());
    let (unit, _) = loadworthy_unit::Unit::build(&reading, &vocabulary);
    assert!(of_check(&review(&unit), "unfed").is_empty());
}

struct Nothing;

impl loadworthy_language::Files for Nothing {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        Err(relative.to_owned())
    }
}

#[test]
fn a_diode_at_the_high_side_passes_nothing_back() {
    let stage = format!(
        "  lift: {{ {BOOST}, switches: {{ high_side: {{ fitted: valve }}, low_side: {{ fitted: half }} }} }}"
    );
    let ways = |watts: &str| {
        let review = reviewed(&joined(&stage, &format!("{{ power: {watts} }}")));
        own(&review).iter().filter(|one| one.defect == "one-way").map(|one| one.fails()).collect::<Vec<_>>()
    };
    assert_eq!((ways("10 kW"), ways("0 W"), ways("-10 kW")), (vec![false], vec![false], vec![true]));
    let review = reviewed(&joined(&stage, "{ power: -10 kW }"));
    let one = of_check(&review, "one-way")[0];
    assert_eq!((one.part.as_str(), one.grade.word()), ("lift", "major"));
    assert!(one.saying.contains("`lift` is to pass 10 kW back in `pull`"), "{}", one.saying);
    assert!(one.saying.contains("`valve` at `high_side` is a diode alone"), "{}", one.saying);
    // What waits for its current is told with it, and nothing is said to be outside its law.
    let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(keeps_open(one), "{:#?}", one.facts);
    let is_told = |one: &&str| one.contains("one way") || one.contains("outside the range");
    assert!(!open.iter().any(is_told), "{open:#?}");
    // With a transistor there it passes both ways, and nothing is to be judged.
    let both = changed(&stage, "fitted: valve", "fitted: half");
    let review = reviewed(&joined(&both, "{ power: -10 kW }"));
    assert!(own(&review).iter().all(|one| one.defect != "one-way"));
}

#[test]
fn a_rectified_output_passes_nothing_back_and_a_buck_the_other_way_round() {
    let bridge = "  aux: { topology: phase_shifted_full_bridge, from: low, to: link, rectifier: centre_tap }";
    let review = reviewed(&joined(bridge, "{ power: -2 kW }"));
    let one = of_check(&review, "one-way")[0];
    assert!(one.saying.contains("its output is rectified"), "{}", one.saying);
    assert!(of_check(&reviewed(&joined(bridge, "{ power: 2 kW }")), "one-way").is_empty());
    // Led from the other end: the pack hangs on what would be the output.
    let turned = changed(bridge, "from: low, to: link", "from: link, to: low");
    assert_eq!(of_check(&reviewed(&joined(&turned, "{ power: 2 kW }")), "one-way").len(), 1);
    assert!(of_check(&reviewed(&joined(&turned, "{ power: -2 kW }")), "one-way").is_empty());
    let buck = "  step: { topology: buck, from: low, to: link, switches: { high_side: { fitted: half }, low_side: { fitted: valve } } }";
    assert!(of_check(&reviewed(&joined(buck, "{ power: 2 kW }")), "one-way").is_empty());
    assert_eq!(of_check(&reviewed(&joined(buck, "{ power: -2 kW }")), "one-way").len(), 1);
}

#[test]
fn what_waits_for_a_rectified_stage_with_power_flowing_back_is_told_with_it() {
    for (stage, from, to) in [
        ("auxiliary", "cab: { power: 1.2 kW }", "cab: { power: -1.2 kW }"),
        ("sensor_supply", "probes: { power: 150 W }", "probes: { power: -150 W }"),
    ] {
        let review = reviewed(&changed(trencher(), from, to));
        let one = of_check(&review, "one-way")[0];
        assert_eq!(one.part, stage);
        assert!(keeps_open(one), "{:#?}", one.facts);
        let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        let is_told = |one: &&str| one.contains("one way") || one.contains("outside the range");
        assert!(!open.iter().any(is_told), "{open:#?}");
    }
}

#[test]
fn the_source_that_takes_what_is_left_over_speaks_for_its_bus_wherever_it_stands() {
    let genset = "sources:\n  genset: { kind: generator, bus: link }\n  pack:";
    let ahead = |watts: f64| {
        let text = changed(&heater(300.0, 0.5, watts), "sources:\n  pack:", genset);
        changed(&text, "sources: { pack:", "sources: { genset: { power: 5 kW }, pack:")
    };
    // 300²/(4·0.5) is 45 kW, beside the 5 kW that the generator gives.
    for (watts, defect) in [(60e3, "beyond-source"), (48e3, "near-limit")] {
        let review = reviewed(&ahead(watts));
        let one = of_check(&review, defect)[0];
        assert_eq!(one.part, "pack", "{}", one.saying);
        assert!(one.saying.starts_with("`pack`"), "{}", one.saying);
    }
    assert!(of_check(&reviewed(&ahead(40e3)), "near-limit").is_empty());
}

#[test]
fn a_second_source_that_says_not_what_it_gives_is_asked_for_it() {
    let text = joined(&format!("  lift: {{ {BOOST} }}"), "{ power: 10 kW }");
    let text = changed(&text, "buses: { low:", "  cell: { kind: fuel_cell, bus: link }\nbuses: { low:");
    let text = changed(&text, "    buses: { link: 600 V }\n", "");
    let review = reviewed(&text);
    let open: Vec<_> = review.not_judged.iter().filter(|one| one.checks.contains(&CHECK)).collect();
    assert!(
        open.iter().any(|one| one.paths.iter().any(|path| path == "duty.pull.sources.cell.power")),
        "{:#?}",
        review.not_judged
    );
    let stated =
        changed(&text, "sources: { pack:", "sources: { cell: { power: 8 kW, terminal: 600 V }, pack:");
    let review = reviewed(&stated);
    assert!(
        !review.not_judged.iter().any(|one| one.missing.contains("sources.cell")),
        "{:#?}",
        review.not_judged
    );
}

#[test]
fn shares_that_do_not_make_what_is_drawn_leave_something_over() {
    let text = |share: &str| {
        let text = changed(
            &heater(300.0, 0.5, 10e3),
            "{ kind: battery, bus: link, internal_resistance: { highest: 0.5 ohm } }",
            "{ kind: generator, bus: link }",
        );
        changed(&text, "{ open_circuit: 300 V }", &format!("{{ terminal: 300 V, power: {share} }}"))
    };
    let review = reviewed(&text("8 kW"));
    let one = of_check(&review, "left-over")[0];
    assert_eq!((one.part.as_str(), one.grade.word()), ("pack", "major"));
    assert_eq!(one.facts, ["given 8 kW", "drawn 10 kW", "2 kW come from nowhere"]);
    let review = reviewed(&text("11 kW"));
    assert_eq!(of_check(&review, "left-over")[0].facts, ["given 11 kW", "drawn 10 kW", "1 kW go nowhere"]);
    assert!(of_check(&reviewed(&text("10.05 kW")), "left-over").is_empty());
}

#[test]
fn a_source_that_would_balance_and_states_a_share_leaves_nobody_to() {
    let text = heater(300.0, 0.5, 10e3);
    let other = "  parked:\n    sources: { pack: { open_circuit: 300 V, power: 9 kW } }\n    loads: { heater: { power: 9 kW } }\n";
    let review = reviewed(&format!("{text}{other}"));
    let one = of_check(&review, "left-over")[0];
    assert_eq!((one.duty.as_deref(), one.grade.word()), (Some("parked"), "major"));
    assert!(one.saying.ends_with("in `parked`: none is left to do it"), "{}", one.saying);
    let waits = "no source holds `link` in parked: see power-balance";
    assert!(review.not_judged.iter().any(|one| one.missing == waits), "{:#?}", review.not_judged);
}

#[test]
fn several_sources_are_named_together() {
    let text = heater(300.0, 0.5, 120e3);
    let twin = "  twin: { kind: battery, bus: link, internal_resistance: { highest: 0.5 ohm } }\nbuses:";
    let text = changed(&text, "buses:", twin);
    let text = changed(&text, "sources: { pack:", "sources: { twin: { open_circuit: 300 V }, pack:");
    let review = reviewed(&text);
    let one = of_check(&review, "beyond-source")[0];
    assert!(
        one.saying.starts_with("`pack` and `twin` cannot give the power: at most 75 %"),
        "{}",
        one.saying
    );
    assert!(one.saying.contains("through their resistances"), "{}", one.saying);
    // Half the resistance of both holds, and no less of it: 300²/(4 · 0.15) is 150 kW, of which 8/9 are 133 kW.
    assert!(
        one.proposals[0].say.starts_with("pack.internal_resistance.highest: 500 mΩ -> 300 mΩ and twin."),
        "{:#?}",
        one.proposals
    );
}

#[test]
fn a_lane_that_fails_elsewhere_leaves_the_sources_open() {
    let text = changed(holding(CHECK), "face_a: 0.060 K/W", "face_a: 3 K/W");
    let unit = unit(&text);
    let review = review(&unit);
    let verdicts = own(&review);
    assert!(
        verdicts.iter().all(|verdict| matches!(
            &verdict.outcome,
            Outcome::NotJudged(missing) if missing.iter().all(|one| matches!(
                one,
                loadworthy_checks::verdict::Missing::Cause(Cause::NoSolution { .. })
            ))
        )),
        "{verdicts:#?}"
    );
}
/// A pack, a boost with a diode at its high side, a link with bridges, and a full bridge to a board net.
fn chain() -> String {
    let valve = "devices:
  valve:
    package: { circuit: single, cooled_faces: 1 }
    diode:
      current: { continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }
      junction_limit: 175 degC
      on_state: [{ junction: 150 degC, current: [100 A, 450 A], voltage: [1.00 V, 1.60 V] }]
      energies: { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], recovery: [11 mJ, 21 mJ] }
      thermal_impedance: [[0.035 K/W, 5 ms], [0.075 K/W, 80 ms]]
";
    let seats = |fitted: &str| {
        format!(
            "      high_side: {{ fitted: {fitted}, parallel: 1 }}\n      low_side: {{ fitted: ig1200_450, parallel: 1 }}\n  traction_bridge"
        )
    };
    let chain = include_str!("../../../spec/unit/tests/chain.yaml");
    changed(&changed(chain, "devices:\n", valve), &seats("ig1200_450"), &seats("valve"))
}

#[test]
fn braking_through_a_diode_is_found_where_its_coolant_leaves_no_loss_known() {
    let review = reviewed(&chain());
    let found = of_check(&review, "one-way");
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].part.as_str(), found[0].duty.as_deref()), ("step_up", Some("downhill")));
    // 60 N m at 3600 1/min are 22.6 kW, of which the winding takes its part.
    assert!(
        found[0].saying.contains("`step_up` is to pass 22.5 kW less the losses back"),
        "{}",
        found[0].saying
    );
    // While it drives the same diode is in order.
    let held = own(&review).iter().filter(|one| one.defect == "one-way" && !one.fails()).count();
    assert_eq!(held, 5, "{:#?}", own(&review));
}

#[test]
fn the_worked_reason_of_the_page_is_what_the_examples_say() {
    let page = loadworthy_checks::list::by_name(CHECK).expect(CHECK).about().page;
    let fails = reviewed(failing(CHECK));
    let one = finding(&fails, "beyond-source");
    assert!(one.facts[0].starts_with("34.1 kW") && page.contains("320²/(4 · 0.75) = 34.1 kW"));
    let unit = unit(holding(CHECK));
    let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
    let bus = &solved.variant.plan.buses[0];
    let lane = loadworthy_unit::LaneId::new(0);
    let (open, ohms) = solved.behind(bus, lane).expect("a resistance");
    assert!((open * open / (4.0 * ohms) - 64e3).abs() < 1.0 && page.contains("With 400 mΩ 64 kW can pass"));
    let volts = solved.figure(bus.voltage, lane).expect("a voltage");
    assert!((volts - 266.0).abs() < 0.5 && page.contains("the link stands at 266 V"), "{volts}");
}

#[test]
fn the_own_examples_show_this_defect_alone_and_hold_without_a_gap() {
    let fails = reviewed(failing(CHECK));
    assert_eq!(defects(&fails), [(CHECK, "beyond-source")]);
    assert_eq!(fails.findings.len(), 1);
    let holds = reviewed(holding(CHECK));
    assert!(holds.verdicts.iter().flatten().all(crate::descriptions::holds), "{:#?}", holds.not_judged);
    assert!(holds.verdicts.iter().flatten().any(|verdict| verdict.check == CHECK));
}

#[test]
fn a_source_told_to_give_nothing_leaves_its_boost_at_rest() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    for (share, none) in [("sources.cell.power", "0 kW"), ("sources.cell.current", "0 A")] {
        let duty = if share.ends_with("power") { "grooming_uphill" } else { "steep_pitch" };
        let changes = [(format!("duty.{duty}.{share}"), none.to_owned())];
        let unit = crate::descriptions::unit_with(groomer, &changes);
        let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
        let lanes = solved.variant.lane_ids().filter(|&lane| solved.variant.duty_of(lane).name == duty);
        for lane in lanes {
            let state = solved.state(lane);
            assert!(matches!(state, loadworthy_unit::LaneState::Solved { .. }), "{duty}: {state:?}");
        }
    }
}
