//! Branches, what stands in them, and stages that they lead to.

use loadworthy_checks::review::findings_on;

use super::{
    FORWARDER, GROOMER, HARVESTER, New, SHUTTLE, after, after_in, missing, one, reviewed, said, without,
    without_each,
};
use crate::descriptions::{changed, problems, unit, unit_despite_problems};

#[test]
fn each_branch_that_is_gone_and_nothing_waits_for_is_one_finding() {
    for (name, check) in
        [("pack_precharge", "stored-energy"), ("supply_line", "unused-parts"), ("board_feed", "unused-parts")]
    {
        let all = without_each(SHUTTLE, "branches");
        let (_, text) = all.into_iter().find(|(own, _)| own == name).expect("the branch");
        let review = reviewed(&text);
        let new: Vec<_> = said(&review).difference(&said(&reviewed(SHUTTLE))).cloned().collect();
        assert!(new.len() == 1 && new[0].0 == check, "{name}: {new:#?}");
        assert!(review.not_judged.is_empty(), "{name}: {:#?}", review.not_judged);
    }
}

#[test]
fn a_precharge_that_nothing_opens_keeps_the_bus_on_its_source() {
    let (new, missing) = after("[precharge_contactor, precharge_resistor]", "[precharge_resistor]");
    assert_eq!(new, [("stored-energy", "open-bypass", "pack_precharge".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn a_contactor_makes_what_its_pre_charge_lets_through() {
    // 756 V behind 68 Ω are 11 A; behind 6.8 Ω ten times that.
    let small = ("resistance: 68 ohm", "resistance: 6.8 ohm");
    assert_eq!(after_in(SHUTTLE, &[small]), one("stored-energy", "precharge-inrush", "precharge_contactor"));
    // What it breaks it makes as well; whether it makes more nobody says.
    let unsaid = ("      makes: 30 A, resistance", "      resistance");
    assert_eq!(after_in(SHUTTLE, &[unsaid]), New::default());
    assert_eq!(
        after_in(SHUTTLE, &[unsaid, small]),
        missing("conductors.precharge_contactor.makes is not stated")
    );
}

#[test]
fn a_cell_that_drives_more_than_its_branch_carries_needs_its_fuse() {
    let fuse = ("through: [cell_fuse, cell_contactor,", "through: [cell_contactor,");
    let found = one("fuse-coordination", "unfused", "cell_feed");
    // A contactor that breaks less than the cell drives.
    let breaks =
        ("breaks: { voltage: 450 V, current: 1500 A }", "breaks: { voltage: 450 V, current: 800 A }");
    let (new, lacks) = after_in(GROOMER, &[fuse, breaks]);
    assert!(new.contains(&found.0[0]) && lacks.is_empty(), "{new:?} {lacks:?}");
    // 350 A for good is less than the 400 A of the contactor and the plug.
    let weak = [fuse, breaks, ("highest: 1400 A", "highest: 350 A")];
    let (new, _) = after_in(GROOMER, &weak);
    assert!(new.iter().all(|one| one.1 != "unfused"), "{new:?}");
}

#[test]
fn what_parts_a_source_from_a_bus_that_hurts_says_what_it_breaks() {
    let own = "current: { continuous: 450 A, at: 85 degC }, breaks: { voltage: 900 V, current: 1600 A },";
    assert_eq!(
        after(own, "current: { continuous: 450 A, at: 85 degC },"),
        missing("breaks of main_contactor is not stated")
    );
    // That of a pre-charge opens against the same bus.
    let own = "breaks: { voltage: 900 V, current: 30 A },\n      makes: 30 A";
    assert_eq!(after(own, "makes: 30 A"), missing("breaks of precharge_contactor is not stated"));
}

#[test]
fn the_only_way_from_a_source_is_one_finding_with_all_that_it_leaves_over() {
    let text = without(HARVESTER, "branches:\n", "conductors:\n");
    let review = reviewed(&text);
    let new: Vec<_> = said(&review).difference(&said(&reviewed(HARVESTER))).cloned().collect();
    assert_eq!(new, [("power-balance", "unfed", "link".to_owned())]);
    assert_eq!(review.not_judged, []);
    let told = review.findings.iter().find(|one| one.defect == "unfed").expect("the bus");
    let says = |fact: &str| told.facts.iter().any(|own| own == fact);
    assert!(says("described and in no branch: `pack_fuse`, `pack_contactor`"), "{:#?}", told.facts);
    assert!(says("sources: `pack`, which feeds no bus"), "{:#?}", told.facts);
    // What stands between two buses that nothing feeds hangs on both, and is named once.
    let review = reviewed(&without(FORWARDER, "branches:\n", "conductors:\n"));
    let told = review.findings.iter().find(|one| one.defect == "unfed").expect("the bus");
    let on_it = told.facts.iter().find_map(|fact| fact.strip_prefix("on it: ")).expect("what hangs on it");
    assert_eq!(on_it.matches("`step_up`").count(), 1, "{on_it}");
}

#[test]
fn a_feed_that_its_pre_charge_still_names_is_one_problem_and_nothing_is_concluded_from_it() {
    for (text, feed) in [(GROOMER, "cell_feed"), (GROOMER, "pack_feed"), (SHUTTLE, "pack_feed")] {
        let all = without_each(text, "branches");
        let (_, without) = all.into_iter().find(|(name, _)| name == feed).expect("the branch");
        let review = findings_on(&unit_despite_problems(&without), None);
        let new: Vec<_> = said(&review).difference(&said(&reviewed(text))).cloned().collect();
        assert_eq!(new, [], "{feed}");
        // All of it waits for the branch that could not be read.
        assert_eq!(review.not_judged.len(), 1, "{feed}: {:#?}", review.not_judged);
    }
}

#[test]
fn a_branch_from_a_source_that_could_not_be_read_waits_for_it_and_is_stated() {
    let text = changed(SHUTTLE, "kind: battery", "kind: batery");
    let review = findings_on(&unit_despite_problems(&text), None);
    let waits: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(waits.iter().all(|one| !one.contains("pack_feed is not stated")), "{waits:?}");
}

#[test]
fn a_stage_that_is_named_and_gone_may_take_what_seems_left_over() {
    let all = without_each(GROOMER, "stages");
    let (_, without) = all.into_iter().find(|(name, _)| name == "step_up").expect("the stage");
    let review = findings_on(&unit_despite_problems(&without), None);
    assert!(review.findings.iter().all(|one| one.check != "power-balance"), "{:#?}", said(&review));
    assert_eq!(review.not_judged.len(), 1, "{:#?}", review.not_judged);
}

#[test]
fn a_conductor_that_leaves_no_voltage_is_found_itself() {
    // 48 kW through 68 Ω from 640 V: no more than 1.5 kW can pass.
    let stray = [
        ("through: [front_bar]", "through: [front_bar, stray]"),
        ("conductors:\n", "conductors:\n  stray: { kind: resistor, resistance: 68 ohm, energy: 500 J }\n"),
    ];
    let (new, _) = after_in(SHUTTLE, &stray);
    assert!(new.contains(&("power-balance", "beyond-line", "stray".to_owned())), "{new:#?}");
    assert!(new.iter().all(|(check, ..)| *check != "junction-temperature"), "{new:#?}");
}

/// Problems of a text, what is new, and what could not be judged.
fn despite_problems(text: &str, before: &str) -> (Vec<String>, usize, usize) {
    let review = findings_on(&unit_despite_problems(text), None);
    let known = said(&reviewed(before));
    let new = said(&review).difference(&known).count();
    (problems(text), new, review.not_judged.len())
}

#[test]
fn a_stage_that_stands_elsewhere_than_its_branch_says_is_one_problem() {
    let text =
        changed(SHUTTLE, "dc_bus: link\n    feeds: front_motor", "dc_bus: board_net\n    feeds: front_motor");
    let said = "the branch joins `link` and `front_bridge`, which stands on `board_net`";
    assert_eq!(despite_problems(&text, SHUTTLE), (vec![said.to_owned()], 0, 1));
    let text = changed(SHUTTLE, "{ from: auxiliary, to: board_net,", "{ from: front_bridge, to: board_net,");
    let said = "the branch joins `board_net` and `front_bridge`, which stands on `link`";
    assert_eq!(problems(&text), [said]);
}

#[test]
fn a_machine_that_two_stages_feed_is_one_problem_with_the_one_that_none_feeds() {
    for (text, feeds) in [
        (SHUTTLE, ["    feeds: front_motor", "    feeds: rear_motor"]),
        (FORWARDER, ["    feeds: pump_motor", "    feeds: traction_motor"]),
    ] {
        for [own, other] in [feeds, [feeds[1], feeds[0]]] {
            let (problems, new, lines) = despite_problems(&changed(text, own, other), text);
            assert_eq!((problems.len(), new, lines), (1, 0, 1), "{own} as {other}: {problems:#?}");
        }
    }
}

#[test]
fn what_waits_for_a_bus_that_is_gone_is_one_line() {
    let text = without(SHUTTLE, "  link:\n    domain: traction", "  board_net: { domain");
    let (problems, new, lines) = despite_problems(&text, SHUTTLE);
    assert_eq!((problems.len(), new, lines), (1, 0, 1), "{problems:#?}");
}

#[test]
fn a_battery_that_no_contactor_parts_from_its_link_is_found() {
    let own = ("[pack_fuse, main_contactor, pack_plug,", "[pack_fuse, pack_plug,");
    let around = (
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n",
        "",
    );
    // What was meant for it is told with it.
    assert_eq!(after_in(SHUTTLE, &[own, around]), one("stored-energy", "no-disconnect", "pack_feed"));
    let within = ("pack_sensor, pack_bar] }", "pack_sensor, pack_bar], parted_by: main_contactor }");
    // One within it parts it, and closes on its bank.
    assert_eq!(
        after_in(SHUTTLE, &[own, around, within]),
        one("stored-energy", "no-precharge", "main_contactor")
    );
    // One that stands in another circuit parts nothing here.
    let elsewhere = ("supply_fuse, supply_cable]", "supply_fuse, main_contactor, supply_cable]");
    let (new, _) = after_in(SHUTTLE, &[own, around, within, elsewhere]);
    assert!(new.contains(&("stored-energy", "no-disconnect", "pack_feed".to_owned())), "{new:?}");
    // On the way back it parts as well.
    let back = (
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n",
        "  pack_back: { from: hv_minus, to: pack, through: [main_contactor] }\n",
    );
    let (new, _) = after_in(SHUTTLE, &[own, back]);
    assert!(new.iter().all(|(_, defect, _)| *defect != "no-disconnect"), "{new:?}");
}

#[test]
fn a_pre_charge_or_a_feed_that_leads_through_nothing_is_none() {
    let leads = ", through: [precharge_contactor, precharge_resistor]";
    assert_eq!(after_in(SHUTTLE, &[(leads, "")]), one("stored-energy", "no-precharge", "pack_precharge"));
    let feed = ", through: [pack_fuse, main_contactor, pack_plug, pack_sensor, pack_bar]";
    let around =
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n";
    let (new, _) = after_in(SHUTTLE, &[(feed, ""), (around, "")]);
    assert_eq!(new, one("fuse-coordination", "unfused", "pack_feed").0);
}

#[test]
fn a_branch_without_its_fuse_is_one_finding() {
    let gone = ("through: [supply_fuse, supply_cable]", "through: [supply_cable]");
    assert_eq!(after_in(SHUTTLE, &[gone]), one("fuse-coordination", "let-through", "supply_cable"));
    let review = reviewed(&changed(SHUTTLE, gone.0, gone.1));
    let told = review.findings.iter().find(|one| one.defect == "let-through").expect("a cable");
    let says = |start: &str| told.facts.iter().any(|fact| fact.starts_with(start));
    assert!(says("nothing ends an overload of up to 420 A either"), "{:#?}", told.facts);
    assert!(says("described and in no branch: supply_fuse"), "{:#?}", told.facts);
}

/// A feed that leads through nothing lacks fuse and contactor at once: one finding says both.
#[test]
fn a_feed_through_nothing_is_one_finding() {
    let line = "  pack_feed: { from: pack, to: pack_bus, through: [pack_fuse, main_contactor, pack_plug, pack_sensor, pack_bar] }\n  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n";
    let bare = "  pack_feed: { from: pack, to: pack_bus }\n";
    assert_eq!(after_in(FORWARDER, &[(line, bare)]), one("fuse-coordination", "unfused", "pack_feed"));
    let review = reviewed(&changed(FORWARDER, line, bare));
    let told = review.findings.iter().find(|one| one.defect == "unfused").expect("told");
    assert!(told.saying.contains("no fuse and no contactor"), "{}", told.saying);
    assert!(told.facts[0].starts_with("nothing parts the bus from its source"), "{:?}", told.facts);
}

/// A conductor in a branch that leads from a node back to the rail of its bus.
const RETURN_BAR: &str = "\nconductors:\n  return_bar: { kind: busbar, width: 30 mm, thickness: 4 mm, length: 160 mm, current: { continuous: 500 A, at: 85 degC } }\n";

fn returning(branches: &str, conductors: &str) -> String {
    changed(
        FORWARDER,
        "\nconductors:\n",
        &format!("{branches}\n{RETURN_BAR}{conductors}").replace("\n\nconductors", "\nconductors"),
    )
}

/// What a pack gives comes back to it: a bar in the way back carries the current of the bar in the feed.
#[test]
fn a_way_back_to_a_source_carries_its_current() {
    let review =
        reviewed(&returning("  pack_return: { from: hv_minus, to: pack, through: [return_bar] }\n", ""));
    assert!(review.not_judged.is_empty(), "{:#?}", review.not_judged);
    let unit = unit(&returning("  pack_return: { from: hv_minus, to: pack, through: [return_bar] }\n", ""));
    let variant = &unit.variants[0];
    let solved = loadworthy_unit::Solved::new(variant);
    let amps = |name: &str| {
        let own = variant.plan.conductors.iter().find(|one| variant.path(one.part) == name).expect("there");
        variant.lane_ids().map(|lane| solved.figure(own.current, lane).expect("solved")).collect::<Vec<_>>()
    };
    assert_eq!(amps("return_bar"), amps("pack_bar"));
    assert!(amps("return_bar").iter().all(|amps| 1.0 < *amps));
}

/// What two ways back divide, and what a boost leads back, is not reckoned, and that is said of bars and fuses alike.
#[test]
fn what_ways_back_divide_is_told_as_not_judged() {
    let missing = |branches: &str, conductors: &str| {
        let review = reviewed(&returning(branches, conductors));
        review.not_judged.into_iter().map(|one| (one.missing, one.checks)).collect::<Vec<_>>()
    };
    let of = |stage: &str, branch: &str, check: &'static str| {
        vec![(
            format!("the share of `{stage}` in the current of branches.{branch} is not stated"),
            vec![check],
        )]
    };
    let boost = "  step_up_return: { from: step_up, to: hv_minus, through: [return_bar] }\n";
    assert_eq!(missing(boost, ""), of("step_up", "step_up_return", "current-headroom"));
    let fuse = "  return_fuse: { kind: fuse, voltage: 500 V DC, current: 10 A, melting: 100 A^2 s, clearing: 300 A^2 s, breaking: 20 kA, least_breaking: 20 A }\n";
    let fused = "  traction_return: { from: traction_bridge, to: hv_minus, through: [return_bar] }\n  step_up_return: { from: step_up, to: hv_minus, through: [return_fuse] }\n";
    assert_eq!(missing(fused, fuse), of("step_up", "step_up_return", "fuse-coordination"));
    let second = "  return_bar_2: { kind: busbar, width: 30 mm, thickness: 4 mm, length: 160 mm, current: { continuous: 500 A, at: 85 degC } }\n";
    let twice = "  first: { from: traction_bridge, to: hv_minus, through: [return_bar] }\n  second: { from: hv_minus, to: traction_bridge, through: [return_bar_2] }\n";
    assert_eq!(missing(twice, second), of("traction_bridge", "second", "current-headroom"));
}

/// The fuse of the feed and the contactor of its pre-charge, exchanged: all that comes of it is one slip.
#[test]
fn a_fuse_and_a_contactor_exchanged_between_feed_and_precharge_are_told_together() {
    let changes = [
        ("through: [pack_fuse, main_contactor,", "through: [precharge_contactor, main_contactor,"),
        ("through: [precharge_contactor, precharge_resistor]", "through: [pack_fuse, precharge_resistor]"),
    ];
    let (new, missing) = after_in(SHUTTLE, &changes);
    let found: Vec<_> = new.iter().map(|one| (one.0, one.1, one.2.as_str())).collect();
    assert_eq!(found, [("one-cause", "exchanged", "pack_feed")], "{missing:#?}");
    let text = changes.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "exchanged").expect("one slip");
    assert!(
        ["pack_fuse", "precharge_contactor"].iter().all(|name| told.saying.contains(name)),
        "{}",
        told.saying
    );
}

/// A load behind a thin cable: without the fuse of its branch a fault at its end is too little for that of the source, melts it late, and
/// goes through the contactor meanwhile.
#[test]
fn the_fuse_of_a_load_that_is_gone_is_one_finding_whatever_the_fault_behind_it_does() {
    let fuse = "kind: fuse, voltage: 500 V DC, current: 16 A, melting: 160 A^2 s, clearing: 620 A^2 s, breaking: 30 kA, least_breaking: 20 A, resistance: 8 mohm";
    let with = |length: &str, through: &str| {
        let text = changed(
            FORWARDER,
            "\nbranches:\n",
            &format!("\nbranches:\n  valve_feed: {{ from: pack_bus, to: valves, through: [{through}] }}\n"),
        );
        let parts = format!(
            "\nconductors:\n  valve_fuse: {{ {fuse} }}\n  valve_cable: {{ kind: cable, section: 2.5 mm^2, length: {length}, current: {{ continuous: 25 A, at: 85 degC }} }}\n"
        );
        let text = changed(&text, "\nconductors:\n", &parts);
        let text =
            changed(&text, "\nloads:\n  cab_supply", "\nloads:\n  valves: { bus: pack_bus }\n  cab_supply");
        text.replace("cab_supply: { power: ", "valves: { power: 200 W }\n      cab_supply: { power: ")
    };
    for length in ["4 m", "14 m"] {
        let whole = reviewed(&with(length, "valve_fuse, valve_cable"));
        assert_eq!(said(&whole), said(&reviewed(FORWARDER)), "{length}");
        let gone = reviewed(&with(length, "valve_cable"));
        let new: Vec<_> = said(&gone).difference(&said(&whole)).cloned().collect();
        assert_eq!(new, [("fuse-coordination", "let-through", "valve_cable".to_owned())], "{length}");
        let told = gone.findings.iter().find(|one| one.part == "valve_cable").expect("the cable");
        assert!(told.also.iter().any(|one| one.contains("main_contactor")), "{:#?}", told.also);
    }
}
