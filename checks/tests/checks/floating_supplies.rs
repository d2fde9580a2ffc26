//! What feeds the gates: each defect by itself, with its words and what would be in order.

use loadworthy_checks::Review;
use loadworthy_checks::review::{Finding, JudgedBy};
use loadworthy_checks::verdict::{Grade, Outcome};

use crate::descriptions::{changed, failing, finding, holding};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "floating-supplies";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn found(review: &Review) -> Vec<(&str, &'static str, Grade)> {
    review.findings.iter().map(|one| (one.part.as_str(), one.defect, one.grade)).collect()
}

/// A boost of two legs and a bridge on one rail, an auxiliary supply with its rectifiers on the board net, and these gate
/// supplies.
fn three_stages(supplies: &str) -> String {
    format!(
        "edition: 2026
buses:
  pack_bus: {{ negative_rail: hv_minus }}
  link: {{ negative_rail: hv_minus }}
  board_net: {{ negative_rail: chassis_minus }}
stages:
  step_up:
    topology: boost
    low_bus: pack_bus
    high_bus: link
    legs: 2
    switches: {{ high_side: {{ fitted: m }}, low_side: {{ fitted: m }} }}
  swing_bridge:
    topology: three_phase_bridge
    dc_bus: link
    feeds: swing_motor
    switches: {{ high_side: {{ fitted: m }}, low_side: {{ fitted: m }} }}
  auxiliary:
    topology: active_clamp_forward
    from: pack_bus
    to: board_net
    clamp: high_side
    switches: {{ main: {{ fitted: m }}, clamp: {{ fitted: m }}, forward: {{ fitted: m }}, freewheel: {{ fitted: d }} }}
machines:
  swing_motor: {{ kind: permanent_magnet }}
devices:
  m: {{ package: {{ circuit: single }}, transistor: {{ kind: mosfet }} }}
  d: {{ package: {{ circuit: single }}, diode: {{}} }}
{supplies}"
    )
}

const IN_ORDER: &str = "gate_supplies:
  step_up_1: { feeds: [step_up.high_side.1] }
  step_up_2: { feeds: [step_up.high_side.2] }
  step_up_low: { feeds: [step_up.low_side] }
  swing_u: { feeds: [swing_bridge.high_side.u] }
  swing_v: { feeds: [swing_bridge.high_side.v] }
  swing_w: { feeds: [swing_bridge.high_side.w] }
  swing_low: { feeds: [swing_bridge.low_side] }
  main: { feeds: [auxiliary.main] }
  clamp: { feeds: [auxiliary.clamp] }
  board: { feeds: [auxiliary.forward], rail: chassis_minus }
";

#[test]
fn a_supply_for_each_potential_is_in_order() {
    let review = reviewed(&three_stages(IN_ORDER));
    assert_eq!(found(&review), []);
    // Thirteen gates and ten outputs.
    assert_eq!((review.counts.hold, review.counts.not_judged), (23, 0));
}

#[test]
fn two_legs_on_one_output_are_shorted() {
    let supplies = changed(
        IN_ORDER,
        "  step_up_1: { feeds: [step_up.high_side.1] }\n  step_up_2: { feeds: [step_up.high_side.2] }\n",
        "  step_up_high: { feeds: [step_up.high_side] }\n",
    );
    let review = reviewed(&three_stages(&supplies));
    assert_eq!(found(&review), [("step_up_high", "shared", Grade::Major)]);
    let one = finding(&review, "shared");
    assert_eq!(one.facts[0], "2 potentials on `step_up_high`, which it would short: step_up.1, .2");
    // The rectifier on the board net needs no isolated output, as that is tied to its rail; three stages stand on hv_minus.
    assert_eq!(
        one.facts[1..],
        [
            "isolated outputs in the unit: 7 needed for 8 potentials, 9 where no two stages share one; 8 declared"
        ]
    );
    assert_eq!(proposals(one), ["an output of its own for step_up.high_side.2"]);
    assert_eq!(one.worked.len(), 2);
}

#[test]
fn two_outputs_on_one_gate_drive_against_each_other() {
    let supplies =
        changed(IN_ORDER, "feeds: [swing_bridge.high_side.v]", "feeds: [swing_bridge.high_side.u]");
    let review = reviewed(&three_stages(&supplies));
    // The gate that is left without one is the other end of the same slip.
    assert_eq!(found(&review), [("swing_v", "doubled", Grade::Major)]);
    let one = finding(&review, "doubled");
    assert_eq!(
        one.facts,
        [
            "fed by `swing_v` and `swing_u`: swing_bridge.high_side.u",
            "driven from swing_bridge.u",
            "without an output: swing_bridge.high_side.v"
        ]
    );
    assert_eq!(proposals(one), ["let `swing_v` or `swing_u` feed swing_bridge.high_side.v instead"]);

    // One output more than there are gates leaves none without.
    let more = format!("{IN_ORDER}  spare: {{ feeds: [swing_bridge.high_side.u] }}\n");
    let review = reviewed(&three_stages(&more));
    assert_eq!(found(&review), [("spare", "doubled", Grade::Major)]);
    assert_eq!(
        proposals(finding(&review, "doubled")),
        ["leave `spare` out, or name the gate that it is meant for"]
    );
}

#[test]
fn an_output_for_a_diode_is_idle() {
    let supplies =
        changed(IN_ORDER, "feeds: [auxiliary.forward]", "feeds: [auxiliary.forward, auxiliary.freewheel]");
    let review = reviewed(&three_stages(&supplies));
    assert_eq!(found(&review), [("board", "idle", Grade::Note)]);
    let one = finding(&review, "idle");
    assert_eq!(one.facts, ["positions without a gate on `board`: auxiliary.freewheel"]);
}

fn proposals(one: &Finding) -> Vec<&str> {
    assert!(one.proposals.iter().all(|held| held.judged_by != JudgedBy::AllChecks && held.set.is_empty()));
    one.proposals.iter().map(|held| held.say.as_str()).collect()
}

#[test]
fn a_gate_without_an_output_is_told_with_the_output_of_its_potential() {
    let supplies = changed(IN_ORDER, "feeds: [swing_bridge.low_side]", "feeds: [swing_bridge.low_side.u]");
    let review = reviewed(&three_stages(&supplies));
    assert_eq!(found(&review), [("swing_bridge.low_side.v", "missing", Grade::Major)]);
    let one = finding(&review, "missing");
    assert_eq!((one.also.as_slice(), one.also_parts), (["low_side.w".to_owned()].as_slice(), 1));
    assert_eq!(one.facts[0], "2 without an output: swing_bridge.low_side.v, .low_side.w");
    assert_eq!(proposals(one), ["swing_bridge.low_side.v, .low_side.w to `feeds` of swing_low"]);
}

#[test]
fn a_gate_on_a_potential_of_its_own_asks_for_one_more_output() {
    let review = reviewed(&three_stages(&changed(IN_ORDER, "  clamp: { feeds: [auxiliary.clamp] }\n", "")));
    let one = finding(&review, "missing");
    assert_eq!(proposals(one), ["an output of its own for auxiliary.clamp"]);
    assert_eq!(one.proposals[0].side_effects, ["1 more isolated output"]);
}

#[test]
fn an_output_on_a_rail_serves_that_rail_alone() {
    let supplies = changed(IN_ORDER, "feeds: [auxiliary.clamp]", "feeds: [auxiliary.clamp], rail: hv_minus");
    let review = reviewed(&three_stages(&supplies));
    assert_eq!(found(&review), [("clamp", "tied", Grade::Major)]);
    let one = finding(&review, "tied");
    assert!(one.saying.ends_with("driven from auxiliary.main"));
    // What is wrongly tied does not spare an isolated output.
    assert!(
        one.facts
            .iter()
            .any(|fact| fact.contains("7 needed for 8 potentials") && fact.ends_with("8 declared")),
        "{:?}",
        one.facts
    );
}

#[test]
fn one_output_on_one_rail_for_two_stages_is_worth_knowing() {
    let supplies = changed(
        IN_ORDER,
        "  step_up_low: { feeds: [step_up.low_side] }\n",
        "  step_up_low: { feeds: [step_up.low_side, swing_bridge.low_side, auxiliary.main] }\n",
    );
    let supplies = changed(&supplies, "  swing_low: { feeds: [swing_bridge.low_side] }\n", "");
    let supplies = changed(&supplies, "  main: { feeds: [auxiliary.main] }\n", "");
    let review = reviewed(&three_stages(&supplies));
    assert_eq!(found(&review), [("step_up_low", "across-stages", Grade::Note)]);
    let one = finding(&review, "across-stages");
    assert_eq!(one.facts[0], "3 stages on `step_up_low`: step_up, swing_bridge, auxiliary");
}

#[test]
fn one_transformer_for_several_stages_is_told_once() {
    let wound = IN_ORDER
        .replace("[step_up.high_side.1]", "[step_up.high_side.1], transformer: t1")
        .replace("[step_up.high_side.2]", "[step_up.high_side.2], transformer: t1")
        .replace("[swing_bridge.high_side.u]", "[swing_bridge.high_side.u], transformer: t1")
        .replace("[swing_bridge.high_side.v]", "[swing_bridge.high_side.v], transformer: t2")
        .replace("[swing_bridge.low_side]", "[swing_bridge.low_side], transformer: t2")
        .replace("[auxiliary.clamp]", "[auxiliary.clamp], transformer: t3");
    let review = reviewed(&three_stages(&wound));
    assert_eq!(
        found(&review),
        [("t1", "one-transformer", Grade::Note), ("t2", "one-transformer", Grade::Note)]
    );
    assert_eq!(review.findings[0].facts[0], "lost together: step_up, swing_bridge");
    assert_eq!(review.findings[0].facts[1], "3 windings, 3 insulations between them");
    assert!(review.findings[1].saying.contains("both sides of a leg"), "{}", review.findings[1].saying);
}

#[test]
fn one_output_of_a_transformer_is_told_by_itself() {
    let lone = IN_ORDER
        .replace("  swing_low: { feeds: [swing_bridge.low_side] }\n", "")
        .replace("[step_up.low_side]", "[step_up.low_side, swing_bridge.low_side], transformer: t1");
    let review = reviewed(&three_stages(&lone));
    assert_eq!(found(&review), [("step_up_low", "across-stages", Grade::Note)]);
    // A main switch and its clamp are no leg, on one output or on two.
    let low = three_stages(IN_ORDER).replace("clamp: high_side", "clamp: low_side");
    let one = changed(&low, "[auxiliary.main]", "[auxiliary.main, auxiliary.clamp], transformer: t1");
    let one = changed(&one, "  clamp: { feeds: [auxiliary.clamp] }\n", "");
    assert_eq!(found(&reviewed(&one)), []);
    let two = changed(&low, "[auxiliary.main]", "[auxiliary.main], transformer: t1");
    let two = changed(&two, "[auxiliary.clamp]", "[auxiliary.clamp], transformer: t1");
    assert_eq!(found(&reviewed(&two)), []);
}

#[test]
fn a_stage_without_a_transformer_has_one_minus() {
    let apart = |text: String| {
        changed(&text, "link: { negative_rail: hv_minus }", "link: { negative_rail: link_minus }")
    };
    let review = reviewed(&apart(three_stages(IN_ORDER)));
    assert_eq!(found(&review), [("step_up", "two-names", Grade::Major)]);
    let one = finding(&review, "two-names");
    assert!(one.saying.contains("`hv_minus` and `link_minus`"), "{}", one.saying);
    let labels: Vec<&str> = one.because.iter().map(|place| place.label.as_str()).collect();
    assert_eq!(labels, ["hv_minus on one side of it", "link_minus on one side of it"]);
    // Gates on either name stand on one rail, so that one output may feed them.
    let review = reviewed(&apart(on_one_rail("", "")));
    assert_eq!(
        found(&review),
        [("step_up", "two-names", Grade::Major), ("step_up_low", "across-stages", Grade::Note)]
    );
    // A bus that names no rail has that of the boost, and nothing is assumed of it.
    let unnamed = changed(&on_one_rail("", ""), "link: { negative_rail: hv_minus }", "link: {}");
    let review = reviewed(&unnamed);
    assert_eq!(found(&review), [("step_up_low", "across-stages", Grade::Note)]);
    assert!(
        review.assumed.iter().all(|one| !one.paths.iter().any(|path| path.contains("link.negative_rail"))),
        "{:?}",
        review.assumed
    );
}

#[test]
fn a_bootstrap_is_charged_by_the_low_side_of_its_own_leg() {
    let right = changed(
        IN_ORDER,
        "[swing_bridge.high_side.u]",
        "[swing_bridge.high_side.u], bootstrap_from: swing_low",
    );
    let review = reviewed(&three_stages(&right));
    assert_eq!(found(&review), []);
    let wrong = changed(
        IN_ORDER,
        "[swing_bridge.high_side.u]",
        "[swing_bridge.high_side.u], bootstrap_from: step_up_low",
    );
    let review = reviewed(&three_stages(&wrong));
    assert_eq!(found(&review), [("swing_u", "bootstrap", Grade::Major)]);
    let one = finding(&review, "bootstrap");
    assert_eq!(
        proposals(one),
        [
            "bootstrap_from: swing_low",
            "an isolated output for swing_bridge.high_side.u, without `bootstrap_from`"
        ]
    );
}

/// The lower gates of boost and bridge on one output, with this branch beside them.
fn on_one_rail(conductors: &str, branch: &str) -> String {
    let supplies = changed(IN_ORDER, "[step_up.low_side]", "[step_up.low_side, swing_bridge.low_side]");
    let supplies = changed(&supplies, "  swing_low: { feeds: [swing_bridge.low_side] }\n", "");
    three_stages(&format!("conductors: {{ {conductors} }}\nbranches: {{ {branch} }}\n{supplies}"))
}

#[test]
fn what_splits_a_rail_is_named() {
    // Everything that may open, drop a voltage or hold a current off, and what does neither.
    let kinds = [
        ("sensor, resistance: 50 uohm", Some("shunt")),
        ("line_choke", Some("choke")),
        ("fuse", Some("fuse")),
        ("contactor", Some("contactor")),
        ("cable", Some("cable")),
        ("busbar", None),
        ("sensor", None),
    ];
    for (kind, word) in kinds {
        let conductors = format!("part_way: {{ kind: {kind} }}, bar: {{ kind: busbar }}");
        // Between the rails of two buses.
        let split =
            on_one_rail(&conductors, "minus: { from: hv_minus, to: link_minus, through: [bar, part_way] }");
        let split =
            changed(&split, "link: { negative_rail: hv_minus }", "link: { negative_rail: link_minus }");
        let split = changed(&split, "high_bus: link", "high_bus: pack_bus");
        let split = changed(&split, "low_bus: pack_bus", "low_bus: link");
        // In the return of one stage.
        let back =
            on_one_rail(&conductors, "back: { from: swing_bridge, to: hv_minus, through: [part_way, bar] }");
        for (text, rail) in [(split, "link_minus"), (back, "hv_minus at swing_bridge")] {
            let review = reviewed(&text);
            let Some(word) = word else {
                assert_eq!(found(&review), [("step_up_low", "across-stages", Grade::Note)], "{kind}");
                continue;
            };
            assert_eq!(found(&review), [("step_up_low", "shared", Grade::Major)], "{kind}");
            let one = finding(&review, "shared");
            assert!(one.facts[0].contains(&format!("rail {rail}")), "{:?}", one.facts);
            assert_eq!(one.facts[1], format!("between rail hv_minus and rail {rail}: the {word} `part_way`"));
            let labels: Vec<&str> = one.because.iter().map(|place| place.label.as_str()).collect();
            assert!(labels.contains(&format!("this {word} splits the rail").as_str()), "{labels:?}");
        }
    }
}

#[test]
fn an_output_that_is_tied_behind_a_shunt_is_on_another_potential() {
    let text = changed(
        &three_stages(&changed(
            IN_ORDER,
            "feeds: [swing_bridge.low_side]",
            "feeds: [swing_bridge.low_side], rail: hv_minus",
        )),
        "gate_supplies:",
        "conductors: { sense: { kind: sensor, resistance: 50 uohm } }\nbranches: { back: { from: hv_minus, to: swing_bridge, through: [sense] } }\ngate_supplies:",
    );
    let review = reviewed(&text);
    assert_eq!(found(&review), [("swing_low", "tied", Grade::Major)]);
    let one = finding(&review, "tied");
    assert_eq!(one.facts[1], "between rail hv_minus and rail hv_minus at swing_bridge: the shunt `sense`");
}

fn open(review: &Review) -> Vec<&str> {
    review.not_judged.iter().map(|one| one.missing.as_str()).collect()
}

#[test]
fn nothing_declared_is_one_thing_not_judged() {
    let review = reviewed(&three_stages(""));
    assert_eq!(open(&review), ["gate_supplies is not stated"]);
    assert_eq!((review.counts.not_judged, review.counts.hold, review.counts.fail), (1, 0, 0));
}

#[test]
fn an_output_that_does_not_say_what_it_feeds_leaves_unfed_gates_open() {
    let text =
        three_stages(&changed(IN_ORDER, "clamp: { feeds: [auxiliary.clamp] }", "clamp: { power: 2 W }"));
    let review = reviewed(&text);
    assert_eq!(found(&review), []);
    assert_eq!(open(&review), ["gate_supplies.clamp.feeds is not stated"]);
    // The output, and the one gate that nothing else feeds.
    assert_eq!(review.counts.not_judged, 2);
}

#[test]
fn a_bus_that_is_not_stated_leaves_its_rail_open() {
    let shared = changed(IN_ORDER, "[swing_bridge.low_side]", "[swing_bridge.low_side, auxiliary.main]");
    let shared = changed(&shared, "  main: { feeds: [auxiliary.main] }\n", "");
    let text = changed(&three_stages(&shared), "    dc_bus: link\n", "");
    let review = reviewed(&text);
    assert_eq!(open(&review), ["dc_bus of swing_bridge is not stated"]);
    // Three lower gates of one stage share their rail, whichever it is.
    let text = changed(&three_stages(IN_ORDER), "    dc_bus: link\n", "");
    assert_eq!(open(&reviewed(&text)), Vec::<&str>::new());
}

#[test]
fn the_example_fails_with_what_its_page_works_out() {
    let review = reviewed(failing(NAME));
    assert_eq!(found(&review), [("upper_v", "shared", Grade::Major)]);
    let one = finding(&review, "shared");
    assert!(
        one.facts
            .iter()
            .any(|fact| fact == "isolated outputs in the unit: 4 needed for 4 potentials; 3 declared"),
        "{:?}",
        one.facts
    );
    assert!(reviewed(holding(NAME)).verdicts[0].iter().all(|one| matches!(one.outcome, Outcome::Holds(_))));
}

#[test]
fn a_transformer_has_one_primary() {
    let on = |from: &str, to: &str| {
        let by = "transformer: swing_upper, from: board_net }";
        let text = IN_ORDER
            .replace("[swing_bridge.high_side.u] }", &format!("[swing_bridge.high_side.u], {by}"))
            .replace("[swing_bridge.high_side.v] }", &format!("[swing_bridge.high_side.v], {by}"))
            .replace("[swing_bridge.high_side.w] }", &format!("[swing_bridge.high_side.w], {by}"));
        reviewed(&three_stages(&text.replacen(from, to, 1)))
    };
    assert_eq!(found(&on("board_net", "board_net")), []);
    let review = on("board_net", "link");
    assert_eq!(found(&review), [("swing_upper", "one-primary", Grade::Major)]);
    let one = finding(&review, "one-primary");
    assert_eq!(
        one.saying,
        "`swing_upper` has one primary, and its outputs take their power from `board_net` and `link`"
    );
    assert_eq!(
        one.facts,
        ["one primary, which is driven from `board_net` by swing_v, swing_w, and from `link` by swing_u"]
    );
    assert_eq!(
        proposals(one),
        ["`from: board_net` at swing_u, or a transformer of its own for what hangs on another bus"]
    );
    // What does not say where its power comes from contradicts nothing.
    assert_eq!(found(&on(", from: board_net", "")), []);
}
