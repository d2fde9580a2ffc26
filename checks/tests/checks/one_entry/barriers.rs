//! Barriers, their lists, and what domains say.

use super::{FORWARDER, GROOMER, New, SHUTTLE, after, after_in, each_is_found, missing, one, reviewed, said};
use crate::descriptions::changed;

#[test]
fn each_barrier_that_is_gone_is_one_finding() {
    for text in [SHUTTLE, GROOMER] {
        each_is_found(text, "barriers", &["barrier-crossing"]);
    }
}

#[test]
fn a_creepage_below_its_clearance_is_found_and_the_rest_is_judged() {
    let gate = "clearance: 8 mm\n      creepage: 14 mm\n      material_group: II";
    let (new, missing) = after(gate, "clearance: 16 mm\n      creepage: 14 mm\n      material_group: II");
    let below =
        ("barrier-distance", "creepage-below-clearance", "isolation.barriers.gate_isolation".to_owned());
    assert_eq!((new, missing), (vec![below], Vec::new()));
    // One that is too short as well is told by what it lacks.
    let (new, missing) = after(gate, "clearance: 8 mm\n      creepage: 7 mm\n      material_group: II");
    let short = ("barrier-distance", "creepage", "isolation.barriers.gate_isolation".to_owned());
    assert_eq!((new, missing), (vec![short], Vec::new()));
}

#[test]
fn metal_that_nobody_bonds_may_be_bonded_or_better_insulated() {
    let loose = changed(
        crate::descriptions::holding("barrier-crossing"),
        "chassis: { kind: metal, touchable: true, bonded: true,",
        "chassis: { kind: metal, touchable: true,",
    );
    let review = crate::descriptions::reviewed(&loose);
    let weak = review.findings.iter().find(|one| one.defect == "weak").expect("a weak way");
    let says: Vec<&str> = weak.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(says, ["`bonded: true` at chassis", "kind of module_bases: reinforced"]);
}

#[test]
fn a_unit_that_says_nothing_of_isolation_drivers_or_controllers_is_told_so() {
    let review = crate::descriptions::reviewed(crate::descriptions::holding("link-ripple"));
    let left_out = review.left_out.expect("a high voltage");
    assert_eq!(left_out.sections, ["isolation", "drivers", "controllers"]);
    assert!(left_out.voltage > 60.0);
    assert_eq!(reviewed(SHUTTLE).left_out, None);
}

#[test]
fn who_may_touch_a_circuit_that_hurts_is_said() {
    assert_eq!(
        after("      { touchable: false, impulse: 4000 V,", "      { impulse: 4000 V,"),
        missing("touchable of isolation.domains.traction is not stated")
    );
    // A harmless circuit may be touched by anybody.
    assert_eq!(
        after("low_voltage: { touchable: true, bonded: true }", "low_voltage: { bonded: true }"),
        New::default()
    );
}

#[test]
fn what_moved_to_the_list_of_another_barrier_passes_none_and_is_told_once() {
    let other = "spanned_by: [front_bridge, rear_bridge, auxiliary, auxiliary_transformer]";
    let moved = [
        ("        - front_currents\n", ""),
        (other, "spanned_by: [front_bridge, rear_bridge, auxiliary, auxiliary_transformer, front_currents]"),
    ];
    let bare = one("barrier-crossing", "no-barrier", "isolation.traction to low_voltage");
    assert_eq!(after_in(SHUTTLE, &moved), bare);
    let text = moved.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "no-barrier").expect("what passes none");
    let fact = "`module_bases`, which stands between `traction` and `chassis`, lists `front_currents`";
    assert!(told.facts.iter().any(|own| own == fact), "{:#?}", told.facts);
}

#[test]
fn what_a_moved_stage_leaves_in_the_lists_of_barriers_is_one_finding() {
    // No branch leads to this bridge, so that nothing but the barriers says where it stood.
    let moved =
        ("    dc_bus: link\n    feeds: tiller_motor", "    dc_bus: board_net\n    feeds: tiller_motor");
    assert_eq!(after_in(GROOMER, &[moved]), one("one-cause", "one-key", "tiller_bridge"));
    // What its lists are left with is told once all the same: with that word, or where a permit takes the rest, by itself.
    let review = reviewed(&changed(GROOMER, moved.0, moved.1));
    let told = review.findings.iter().find(|one| one.check == "one-cause").expect("the bus");
    let lists: Vec<&String> =
        told.facts.iter().filter(|fact| fact.starts_with("barrier-crossing: ")).collect();
    assert_eq!(lists.len(), 1, "{:#?}", told.facts);
    for name in
        ["tiller_currents", "tiller_temperature", "tiller_upper_transformer", "tiller_lower_transformer"]
    {
        assert!(lists[0].contains(name), "{lists:#?}");
    }
}

#[test]
fn a_bus_without_a_domain_is_asked_for_it_alone() {
    assert_eq!(
        after("  link:\n    domain: traction\n", "  link:\n"),
        missing("domain of link is not stated")
    );
}

#[test]
fn voltages_that_recur_fast_ask_what_a_barrier_is_proven_for() {
    let fast = ", frequency: 150 kHz, spanned_by: [auxiliary_transformer]";
    let (new, lacks) = after(fast, ", spanned_by: [auxiliary_transformer]");
    assert!(new.is_empty() && lacks.len() == 1, "{new:?} {lacks:?}");
    assert!(lacks[0].starts_with("voltages recur at 100 kHz across barriers"), "{lacks:?}");
    let slower = fast.replace("150", "80");
    assert_eq!(
        after(fast, &slower),
        one("barrier-distance", "frequency", "isolation.barriers.supply_isolation")
    );
}

#[test]
fn a_creepage_that_its_clearance_rules_is_told_with_it() {
    let (new, lacks) = after("impulse: 4000 V", "impulse: 8 kV");
    // Three barriers are too short for one impulse.
    assert_eq!(new, one("barrier-distance", "clearance", "isolation.barriers.gate_isolation").0);
    assert_eq!(lacks, [""; 0]);
}

/// An impulse that no series rates is one slip, whatever barriers lie beside it.
#[test]
fn an_impulse_beyond_all_rated_ones_is_one_finding() {
    let (new, lacks) = after("impulse: 4000 V", "impulse: 13 kV");
    assert_eq!(new, one("barrier-distance", "clearance", "isolation.barriers.gate_isolation").0);
    assert_eq!(lacks, [""; 0]);
}

#[test]
fn a_pollution_degree_without_a_column_is_told_once() {
    let (new, lacks) = after("pollution_degree: 2", "pollution_degree: 4");
    assert!(new.is_empty() && lacks.len() == 1, "{new:?} {lacks:?}");
    assert!(
        lacks[0].starts_with(
            "surroundings.pollution_degree is 4, and the tables of distances have degrees 1 to 3"
        ),
        "{lacks:?}"
    );
}

#[test]
fn what_one_bus_comes_to_is_one_finding_however_many_barriers_and_parts_stand_against_it() {
    let peaks = SHUTTLE.replace("recurring_peak: 1200 V", "recurring_peak: 600 V");
    let before = said(&reviewed(SHUTTLE));
    let new = |text: &str| -> Vec<_> { said(&reviewed(text)).difference(&before).cloned().collect() };
    assert_eq!(peaks.matches("recurring_peak: 600 V").count(), 3);
    let found = ("barrier-distance", "recurring-peak", "isolation.barriers.gate_isolation".to_owned());
    assert_eq!(new(&peaks), core::slice::from_ref(&found));
    let review = crate::descriptions::reviewed(&peaks);
    let told = review.findings.iter().find(|one| one.defect == found.1).expect("a peak");
    assert_eq!(told.also_parts, 2, "{told:#?}");
    // What mends it mends all of them.
    let says = &told.proposals.first().expect("a higher rating").say;
    assert_eq!(says.matches("recurring peak of ").count(), 3, "{says}");
    // A machine that turns too fast, against all that stands across the link, and while its pack holds it.
    let fast = SHUTTLE.replace("highest_speed: 4000 1/min", "highest_speed: 12000 1/min");
    let all: Vec<_> = new(&fast).into_iter().filter(|one| one.0 == "back-emf").collect();
    let defects: Vec<_> = all.iter().map(|one| one.1).collect();
    assert_eq!(defects, ["charging-current", "open-bus-voltage"], "{all:?}");
    // Barriers that declare nothing are one piece of work, and each is told what to provide.
    let bare = SHUTTLE
        .replace("      creepage: 14 mm\n", "")
        .replace(", creepage: 14 mm", "")
        .replace(", creepage: 10 mm", "");
    assert_eq!(
        new(&bare),
        [("barrier-distance", "undeclared", "isolation.barriers.gate_isolation".to_owned())]
    );
    let review = reviewed(&bare);
    assert!(review.not_judged.is_empty(), "{:#?}", review.not_judged);
    let told = review.findings.iter().find(|one| one.defect == "undeclared").expect("distances to provide");
    let lists = |name: &str| {
        told.facts.iter().any(|fact| fact.starts_with(&format!("`{name}` declares no creepage: ")))
    };
    assert!(lists("supply_isolation") && lists("module_bases"), "{:#?}", told.facts);
}

#[test]
fn a_divider_across_insulation_is_of_several_resistors_and_bounds_the_current() {
    let own = "{ measures: voltage, of: [link], read_by: [front_controller, rear_controller, auxiliary_controller],";
    let with = |more: &str| after(own, &format!("{own} resistance: 4 Mohm,{more}"));
    assert_eq!(with(""), missing("sensors.link_voltage.resistors is not stated"));
    assert_eq!(with(" resistors: 1,"), one("leakage-paths", "divider", "link_voltage"));
    assert_eq!(with(" resistors: 4,"), missing("sensors.link_voltage.touch_current is not stated"));
    // 820 V across three of four times 1 Mohm are 0.27 mA.
    assert_eq!(with(" resistors: 4, touch_current: 0.3 mA,"), (Vec::new(), Vec::new()));
    let much = with(" resistors: 4, touch_current: 0.2 mA,");
    assert_eq!(much, one("leakage-paths", "divider", "link_voltage"));
    // Of two one is left, and twice as much of the current.
    assert_eq!(with(" resistors: 2, touch_current: 0.3 mA,"), much);
}

/// A bus in the wrong domain makes two of them one, and brings its voltage where people touch and the chassis is: one slip.
#[test]
fn a_bus_in_the_wrong_domain_is_one_finding() {
    let (new, _) =
        after_in(FORWARDER, &[("  link:\n    domain: traction", "  link:\n    domain: low_voltage")]);
    assert_eq!(new, one("barrier-crossing", "merged", "isolation.traction to low_voltage").0);
    let review =
        reviewed(&changed(FORWARDER, "  link:\n    domain: traction", "  link:\n    domain: low_voltage"));
    let told = review.findings.iter().find(|one| one.defect == "merged").expect("told");
    let brings = "`link` alone brings up to 700 V into `low_voltage`, which a person can touch and which stands on the chassis";
    assert!(told.facts.iter().any(|fact| fact == brings), "{:?}", told.facts);
}

/// An impulse beyond the tables is beyond them for every barrier of the domain: one line, of the one that asks most.
#[test]
fn an_impulse_beyond_the_tables_is_one_line_for_all_barriers() {
    let (new, missing) =
        after_in(FORWARDER, &[("touchable: false, impulse: 2500 V,", "touchable: false, impulse: 150 kV,")]);
    assert_eq!((new.len(), missing.len()), (0, 1), "{missing:?}");
    assert!(missing[0].contains("its impulse voltage of 240 kV is above 100 kV"), "{missing:?}");
}

/// A stray capacitance that is too large hangs on both poles of its domain, and is one entry.
#[test]
fn a_stray_capacitance_is_one_finding_for_both_poles() {
    let (new, missing) = after_in(FORWARDER, &[("stray_capacitance: 80 nF", "stray_capacitance: 1200 nF")]);
    assert_eq!((new.len(), missing.len()), (1, 0), "{new:?}");
    assert_eq!((new[0].0, new[0].1), ("leakage-paths", "pole-energy"));
}

/// What a signal says of the edges that it stands is asked as of a sensor of the rails: of rails that no capacitors hold.
#[test]
fn a_signal_is_asked_for_the_edges_that_it_says_to_stand() {
    let loose: String = SHUTTLE
        .lines()
        .filter(|line| {
            !line.trim_start().starts_with("y_plus:") && !line.trim_start().starts_with("y_minus:")
        })
        .map(|line| format!("{line}\n"))
        .collect();
    let edges = |immunity: &str| {
        let signal = format!(
            "\nsignals:\n  service_port:\n    {{ joins: [traction, low_voltage], crosses: gate_isolation, transient_immunity: {immunity} }}\n\nisolation:\n"
        );
        let review = reviewed(&changed(&loose, "\nisolation:\n", &signal));
        review.findings.iter().any(|one| one.defect == "edge" && one.part == "service_port")
    };
    assert!(edges("1 kV/us"));
    assert!(!edges("300 kV/us"));
}

/// A rail that belongs to another domain joins the two, and that the boost has one minus is no second slip.
#[test]
fn a_rail_of_another_domain_is_one_finding() {
    let own = "  link:\n    domain: traction\n    negative_rail: hv_minus";
    let (new, _) =
        after_in(FORWARDER, &[(own, "  link:\n    domain: traction\n    negative_rail: chassis_minus")]);
    assert_eq!(new, one("barrier-crossing", "merged", "isolation.traction to low_voltage").0);
}
