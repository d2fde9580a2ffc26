//! What is declared and used by nothing.

use loadworthy_checks::Review;
use loadworthy_checks::review::{Finding, JudgedBy};
use loadworthy_checks::verdict::Grade;

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed};

const CHECK: &str = "unused-parts";

fn found(review: &Review) -> Vec<&Finding> {
    review.findings.iter().filter(|one| one.check == CHECK).collect()
}

#[test]
fn a_cable_in_no_branch_is_a_note() {
    let review = reviewed(failing(CHECK));
    let one = finding(&review, "unused");
    assert_eq!((one.part.as_str(), one.grade), ("deck_cable", Grade::Note));
    assert_eq!(one.saying, "`deck_cable` is declared and used by nothing: it stands in no branch");
    assert!(one.duty.is_none() && one.comparison.is_none());
    assert!(matches!(one.proposals[0].judged_by, JudgedBy::OwnCheck(_)));
    assert!(found(&reviewed(holding(CHECK))).is_empty());
}

#[test]
fn each_entry_that_nothing_uses_is_a_finding_of_its_own() {
    let text = holding(CHECK);
    for (section, entry, why) in [
        ("buses:\n", "  spare: { nominal: 24 V }\n", "nothing feeds it and nothing hangs on it"),
        ("machines:\n", "  spare: { kind: permanent_magnet }\n", "no stage feeds it"),
        ("devices:\n", "  spare: { package: { circuit: single } }\n", "it is fitted nowhere"),
        ("  elements:\n", "    spare: { referred_to: mean }\n", "the coolant path does not visit it"),
        ("machines:\n", "  spare: { kind: permanent_magnet }\n", "no stage feeds it"),
        ("unit:", "magnetics: { spare: { kind: choke } }\n", "no stage names it"),
        ("unit:", "controllers: { spare: {} }\n", "it commands no stage"),
        (
            "unit:",
            "sources: { spare: { kind: battery }, pack: { kind: battery, bus: link } }\n",
            "it feeds no bus",
        ),
    ] {
        let with = if section == "unit:" { format!("{entry}{section}") } else { format!("{section}{entry}") };
        let review = reviewed(&changed(text, section, &with));
        let all = found(&review);
        assert_eq!(all.len(), 1, "{entry}: {all:#?}");
        assert_eq!((all[0].part.as_str(), all[0].defect), ("spare", "unused"), "{entry}");
        assert!(all[0].saying.ends_with(why), "{}", all[0].saying);
    }
}

#[test]
fn a_source_on_no_bus_of_which_a_duty_point_counts_on_a_share_is_major() {
    let text = changed(
        holding(CHECK),
        "unit:",
        "sources: { cell: { kind: fuel_cell }, pack: { kind: battery, bus: link } }\nunit:",
    );
    let text = changed(
        &text,
        "    buses: { link: 300 V }",
        "    sources: { cell: { power: 60 kW } }\n    buses: { link: 300 V }",
    );
    let review = reviewed(&text);
    let one = finding(&review, "unused");
    assert_eq!((one.part.as_str(), one.grade), ("cell", Grade::Major));
    assert!(
        one.saying.starts_with("`cell` feeds no bus, and a duty point states what it gives"),
        "{}",
        one.saying
    );
    assert!(one.proposals.is_empty() && one.no_proposal.is_some());
}

#[test]
fn a_source_on_no_bus_is_told_with_the_bus_that_has_none() {
    let text = changed(holding(CHECK), "unit:", "sources: { cell: { kind: fuel_cell } }\nunit:");
    let review = reviewed(&text);
    assert!(found(&review).is_empty(), "{:#?}", found(&review));
    let one = finding(&review, "unfed");
    assert!(one.facts.iter().any(|fact| fact == "sources: `cell`, which feeds no bus"), "{:#?}", one.facts);
}

#[test]
fn an_element_off_the_path_that_cools_something_is_a_dead_end() {
    let text = changed(
        holding(CHECK),
        "    cold_plate: { referred_to: outlet, cools: { winch_bridge: { face_a: 0.060 K/W } }, passage: { heat_concentration: 2 } }",
        "    cold_plate: { referred_to: outlet }\n    rear_plate: { referred_to: outlet, cools: { winch_bridge: { face_a: 0.060 K/W } } }",
    );
    let review = reviewed(&text);
    let one = finding(&review, "dead-end");
    assert_eq!((one.part.as_str(), one.grade), ("rear_plate", Grade::Minor));
    assert!(one.proposals.is_empty());
    assert!(
        one.no_proposal.as_deref().is_some_and(|why| why.contains("name `rear_plate` in `cooling.path`")),
        "{one:?}"
    );
    assert_eq!(found(&review).len(), 1);
}

#[test]
fn what_one_variant_uses_is_in_use() {
    let variants = "\nvariants:\n  short: {}\n  long: { branches: { winch_feed: { through: [deck_cable, winch_cable] } } }\n";
    let review = reviewed(&format!("{}{variants}", failing(CHECK)));
    assert!(found(&review).is_empty(), "{:#?}", found(&review));
}

#[test]
fn what_no_variant_uses_is_one_finding() {
    let variants = "\nvariants:\n  short: {}\n  slow: { stages: { winch_bridge: { dead_time: 3 us } } }\n";
    let review = reviewed(&format!("{}{variants}", failing(CHECK)));
    let all = found(&review);
    assert_eq!(all.len(), 1, "{all:#?}");
    assert_eq!(all[0].part, "deck_cable");
    assert_eq!(all[0].also_in, ["variant slow"]);
}

#[test]
fn what_a_variant_adds_for_itself_is_judged_in_it() {
    let variants = "\nvariants:\n  short: {}\n  long: { conductors: { bow_cable: { kind: cable, resistance: 1 mohm } } }\n";
    let review = reviewed(&format!("{}{variants}", holding(CHECK)));
    let all = found(&review);
    assert_eq!(all.len(), 1, "{all:#?}");
    assert_eq!((all[0].part.as_str(), all[0].variant_name.as_deref()), ("bow_cable", Some("long")));
}

#[test]
fn the_worked_reason_of_the_page_is_what_the_solver_says() {
    let unit = crate::descriptions::unit(holding(CHECK));
    let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
    let tables = &solved.variant.tables;
    let of = |path: &str| {
        let mut ids = (0..tables.figures().len()).map(loadworthy_unit::FigureId::new);
        let id = ids.find(|&id| tables.figure_path(id) == path).unwrap_or_else(|| panic!("no {path}"));
        solved.figure(id, loadworthy_unit::LaneId::new(0)).expect("a value")
    };
    assert!((of("winch_bridge.dc_current") - 108.5).abs() < 0.1);
    assert!((of("link.voltage") - of("winch_bridge.dc_voltage") - 0.217).abs() < 0.001);
    let page = loadworthy_checks::list::by_name(CHECK).expect(CHECK).about().page;
    for text in ["At 108 A", "217 mV", "87 mV", "14.1 W"] {
        assert!(page.contains(text), "{text}");
    }
}

#[test]
fn the_own_examples_show_this_defect_alone_and_hold_without_a_gap() {
    let fails = reviewed(failing(CHECK));
    assert_eq!(defects(&fails), [(CHECK, "unused")]);
    assert_eq!(fails.findings.len(), 1);
    let holds = reviewed(holding(CHECK));
    assert!(holds.verdicts.iter().flatten().all(crate::descriptions::holds), "{:#?}", holds.not_judged);
    assert!(holds.verdicts.iter().flatten().any(|verdict| verdict.check == CHECK));
}

#[test]
fn a_load_that_no_duty_point_asks_anything_for_is_told() {
    let text = |asked: &str| {
        format!(
            "edition: 2026
sources: {{ pack: {{ kind: battery, bus: net }} }}
buses: {{ net: {{ nominal: 24 V }} }}
loads: {{ lamps: {{ bus: net }}, heater: {{ bus: net }} }}
duty: {{ run: {{ buses: {{ net: 24 V }}, loads: {{ lamps: {{ power: 10 W }}{asked} }} }} }}
"
        )
    };
    let of = |text: &str| {
        let found = reviewed(text).findings;
        found.into_iter().filter(|one| one.check == "unused-parts").map(|one| one.saying).collect::<Vec<_>>()
    };
    assert!(of(&text(", heater: { power: 0 W }")).is_empty());
    assert_eq!(
        of(&text("")),
        ["`heater` is declared and used by nothing: no duty point asks anything for it"]
    );
}

/// The energy of such a load would be in no balance, and everything before it would be judged too light.
#[test]
fn a_load_on_no_bus_of_which_something_is_asked_is_a_major_finding() {
    let text = |load: &str, branches: &str| {
        format!(
            "edition: 2026
sources: {{ pack: {{ kind: battery, bus: net }} }}
buses: {{ net: {{ nominal: 24 V }} }}
conductors: {{ lead: {{ kind: cable, resistance: 10 mohm }} }}
branches: {{ {branches} }}
loads: {{ heater: {{ {load} }} }}
duty: {{ run: {{ buses: {{ net: 24 V }}, loads: {{ heater: {{ power: 10 W }} }} }} }}
"
        )
    };
    let of = |text: &str| {
        let found = reviewed(text).findings;
        let own = found.into_iter().filter(|one| one.check == "unused-parts" && one.part == "heater");
        own.map(|one| (one.grade, one.saying)).collect::<Vec<_>>()
    };
    let lead = "heat: { from: net, to: heater, through: [lead] }";
    assert_eq!(of(&text("bus: net", "")), []);
    assert_eq!(of(&text("", lead)), []);
    assert_eq!(
        of(&text("", "")),
        [(
            Grade::Major,
            "`heater` hangs on no bus, and a duty point states what it takes: nothing gives it".to_owned()
        )]
    );
}
