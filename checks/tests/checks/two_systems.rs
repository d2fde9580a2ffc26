//! Two systems that hurt and float, with a stage between them: what its transformer lifts, what holds which, what joins them.

use loadworthy_checks::Review;
use loadworthy_checks::faults::{Effect, Kind, walk};
use loadworthy_checks::review::{findings_on, review};
use loadworthy_unit::{FigureId, Solved};

use crate::descriptions::{changed, unit};

const HAULER: &str = include_str!("hauler.yaml");

fn reviewed(changes: &[(&str, &str)]) -> Review {
    findings_on(&unit(&text(changes)), None)
}

fn text(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(HAULER.to_owned(), |text, (from, to)| changed(&text, from, to))
}

/// What is found beside the note that the unit is left with: check, defect and part.
fn found(review: &Review) -> Vec<(&'static str, &'static str, &str)> {
    let all = review.findings.iter().filter(|one| one.defect != "stops-together");
    all.map(|one| (one.check, one.defect, one.part.as_str())).collect()
}

/// What is missing, a line each.
fn waits(review: &Review) -> Vec<&str> {
    review.not_judged.iter().map(|one| one.missing.as_str()).collect()
}

/// A figure of the first duty point, by its path.
fn figure(text: &str, path: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let figures = 0..variant.tables.figures().len();
    let place = figures
        .map(FigureId::new)
        .find(|&place| variant.tables.figure_path(place) == path)
        .unwrap_or_else(|| panic!("no figure {path}"));
    solved.figure(place, variant.lane_ids().next().expect("a lane")).expect("a value")
}

/// The effect of a fault of the first variant.
fn effect(text: &str, kind: Kind, part: &str) -> Effect {
    let faults = walk(&unit(text)).swap_remove(0).faults;
    let is_it = |one: &loadworthy_checks::faults::Fault| {
        one.causes.iter().any(|(own, names)| *own == kind && names.iter().any(|name| name == part))
    };
    let found = faults.into_iter().find(is_it);
    found.unwrap_or_else(|| panic!("no {} of {part}", kind.words())).effect
}

fn near(got: f64, expected: f64, within: f64) -> bool {
    (got - expected).abs() <= within * expected.abs()
}

#[test]
fn all_of_it_holds() {
    let review = reviewed(&[]);
    assert_eq!(found(&review), []);
    assert_eq!(waits(&review), [] as [&str; 0]);
}

/// The nodes behind a transformer swing to what it makes of the other system, and ring beyond that: 740 V over 1.1, and 30 %.
#[test]
fn nodes_behind_a_transformer_count_across_barriers() {
    let plateau = 740.0 / 1.1;
    // A node of the doubler is high for as long as its choke needs to make 210 V on average.
    let high = 210.0 / plateau;
    let square = |k: usize| {
        let ring = 0.3 * libm::cos(libm::fmod(k as f64 * 0.01, 1.0) * core::f64::consts::TAU);
        let volts: f64 = plateau * (1.0 + ring);
        volts * volts
    };
    let mean = (0..1000).map(square).sum::<f64>() / 1000.0;
    let rms = figure(HAULER, "isolation.barriers.work_bases.working_voltage");
    assert!(near(rms, (high * mean).sqrt(), 1e-6), "{rms}");
    let peak = figure(HAULER, "isolation.barriers.work_bases.recurring_peak");
    assert!(near(peak, 1.3 * plateau, 1e-9), "{peak}");
    // Between the two systems it is added to what recurs on the other side.
    let both = figure(HAULER, "isolation.barriers.transfer_isolation.recurring_peak");
    let other = figure(HAULER, "isolation.barriers.traction_bases.recurring_peak");
    assert!(near(both, peak + other, 1e-9), "{both} of {peak} and {other}");
    let weak = "clearance: 5 mm\n      creepage: 6 mm\n      material_group: II\n      recurring_peak: 400 V";
    let review = reviewed(&[(
        "clearance: 5 mm\n      creepage: 6 mm\n      material_group: II\n      recurring_peak: 1500 V",
        weak,
    )]);
    assert_eq!(found(&review), [("barrier-distance", "recurring-peak", "isolation.barriers.work_bases")]);
    let fact = "the node of transfer.rectifier swings to 875 V";
    assert!(review.findings[0].facts.iter().any(|one| one == fact), "{:#?}", review.findings[0].facts);
}

/// Windings for the gates of both systems on one core lie between them, with nothing but their own insulation there.
#[test]
fn gates_of_two_systems_on_one_core_want_a_barrier_between_them() {
    let moved = ("transformer: work_lower_transformer", "transformer: drive_lower_transformer");
    let listed = "work_upper_transformer, work_lower_transformer,";
    let review = reviewed(&[moved, (listed, "work_upper_transformer, drive_lower_transformer,")]);
    let alone = |review: &Review| -> Vec<(&'static str, String)> {
        let of_isolation = found(review).into_iter().filter(|one| one.0 == "barrier-crossing");
        of_isolation.map(|(_, defect, part)| (defect, part.to_owned())).collect()
    };
    assert_eq!(alone(&review), [("no-barrier", "isolation.traction to work".to_owned())]);
    assert!(review.findings[0].at.label.contains("a core whose other windings"), "{:#?}", review.findings[0]);
    // One that its own barrier does not list is told of that alone.
    let review = reviewed(&[moved, (listed, "work_upper_transformer,")]);
    assert_eq!(alone(&review), [("no-barrier", "isolation.work to low_voltage".to_owned())]);
}

/// A driver at the gates of another stage is one slip: two on these gates, none on its own, and of neither its values count.
#[test]
fn a_driver_at_the_gates_of_another_stage_is_one_finding() {
    let review = reviewed(&[(
        "drives: [work_bridge.high_side, work_bridge.low_side]",
        "drives: [drive_bridge.high_side, drive_bridge.low_side]",
    )]);
    assert_eq!(found(&review), [("control-cover", "two-drivers", "drive_bridge")]);
    let told = &review.findings.iter().find(|one| one.defect == "two-drivers").expect("it is found").saying;
    assert!(told.ends_with("and no driver drives work_bridge"), "{told}");
    assert_eq!(waits(&review), [] as [&str; 0]);
}

/// An output that feeds gates of both systems shorts them, whatever barrier lists it.
#[test]
fn an_output_for_gates_of_two_systems_is_one_finding() {
    let review = reviewed(&[
        ("feeds: [drive_bridge.low_side]", "feeds: [drive_bridge.low_side, work_bridge.low_side]"),
        (
            "  work_lowers:\n    { feeds: [work_bridge.low_side], power: 5 W, drive_on: 15 V, drive_off: -8 V, tolerance: 5 %,\n      transformer: work_lower_transformer, from: board_net }\n",
            "",
        ),
        (" work_lower_transformer,", ""),
    ]);
    assert_eq!(found(&review), [("floating-supplies", "shared", "drive_lowers")]);
}

/// The winding of a forward converter swings to both sides of the rail that its other end stands on.
#[test]
fn the_winding_of_a_forward_converter_counts_against_the_farther_rail() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    let bases = "  barriers:\n    net_bases:\n      { between: [low_voltage, chassis], kind: functional, clearance: 2 mm, \
                 creepage: 3 mm, material_group: II }\n";
    let text = changed(groomer, "  barriers:\n", bases);
    let undamped =
        "rectifier_lead: return\n    rectifier_overshoot: 0 %\n    transformer: auxiliary_transformer";
    let text = changed(&text, "rectifier_lead: return\n    transformer: auxiliary_transformer", undamped);
    let driven = figure(&text, "auxiliary.freewheel.blocked_voltage");
    let reset = figure(&text, "auxiliary.forward.blocked_voltage");
    // What it takes while it is driven it gives back while its core is reset.
    let duty = reset / (driven + reset);
    let square = |volts: f64| volts * volts;
    let mean = duty * square(32.0 - driven) + (1.0 - duty) * square(32.0 + reset);
    let rms = figure(&text, "isolation.barriers.net_bases.working_voltage");
    assert!(near(rms, mean.sqrt(), 1e-9), "{rms} of {driven} and {reset}");
    let peak = figure(&text, "isolation.barriers.net_bases.recurring_peak");
    assert!(near(peak, driven.max(32.0 + reset), 1e-9), "{peak} of {driven} and {reset}");
}

/// A stage that gives to a bus holds it without the source there.
#[test]
fn a_source_is_lost_and_a_stage_holds_its_bus() {
    for (kind, part) in
        [(Kind::Source, "work_pack"), (Kind::Fuse, "work_fuse"), (Kind::ContactorOpen, "work_contactor")]
    {
        let lost = effect(HAULER, kind, part);
        assert_eq!(lost.cut_off, ["work_pack"]);
        assert_eq!(
            (lost.stops.len(), lost.dead.len(), lost.not_served.len()),
            (0, 0, 0),
            "{part}: {lost:#?}"
        );
        assert!(lost.is_solved, "{part}");
    }
    // What it is fed from has nothing else.
    let lost = effect(HAULER, Kind::Source, "drive_pack");
    assert_eq!(lost.dead, ["link"]);
    assert_eq!(lost.stops, ["drive_bridge", "transfer"]);
}

/// What holds the output drives through a choke and a shorted rectifier until its fuse clears.
#[test]
fn a_shorted_rectifier_shorts_a_live_output() {
    let short = effect(HAULER, Kind::Short, "transfer.rectifier");
    let says = short.says.iter().find(|said| said.contains("shorts the secondary")).expect("said");
    assert!(says.contains("and shorts work_bus through its choke until work_fuse clears"), "{says}");
    assert_eq!(short.cut_off, ["work_pack"]);
}

/// Two systems that float are joined at any of their rails; what stands on bonded metal stays where it is.
#[test]
fn what_is_joined_spans_both_voltages() {
    let bridged = effect(HAULER, Kind::Barrier, "transfer_isolation");
    for said in [
        "drive_isolation to low_voltage stands against 950 V instead of 740 V",
        "work_isolation_barrier to low_voltage stands against 950 V instead of 210 V",
    ] {
        assert!(bridged.says.iter().any(|one| one == said), "{said}: {:#?}", bridged.says);
    }
    let bases = effect(HAULER, Kind::Barrier, "traction_bases");
    assert!(bases.says.iter().all(|one| !one.contains("stands against")), "{:#?}", bases.says);
}

/// The command of a gate that rides on a node comes from a rail, in whichever domain.
#[test]
fn a_driver_within_one_domain_stands_the_edges_of_its_node() {
    let own = "drives: [work_bridge.high_side, work_bridge.low_side], transient_immunity: 100 kV/us";
    let review = reviewed(&[(
        own,
        "drives: [work_bridge.high_side, work_bridge.low_side], transient_immunity: 1 kV/us",
    )]);
    assert_eq!(found(&review), [("barrier-immunity", "edge", "work_drivers")]);
    let review = reviewed(&[(own, "drives: [work_bridge.high_side, work_bridge.low_side]")]);
    assert_eq!(waits(&review), ["drivers.work_drivers.transient_immunity is not stated"]);
    // A transducer that is read there is asked where it says what it stands.
    let read = "of: [work_bridge.u, work_bridge.v], read_by: [work_controller]";
    let review = reviewed(&[(read, &format!("{read}, transient_immunity: 1 kV/us"))]);
    assert_eq!(found(&review), [("barrier-immunity", "edge", "work_currents")]);
}

/// A discharge whose control lives in another domain joins the two, and is listed as the discharge of its bus.
#[test]
fn a_discharge_that_lives_elsewhere_passes_a_barrier() {
    let lives = ("active: { power: 600 W, from: link }", "active: { power: 600 W, from: board_net }");
    let review = reviewed(&[lives]);
    assert_eq!(found(&review), [("one-cause", "one-key", "link")]);
    let mut facts = review.findings.iter().flat_map(|one| &one.facts);
    assert!(
        facts.any(|fact| fact.starts_with("barrier-crossing: `link.discharge` joins")),
        "{:#?}",
        review.findings
    );
    let listed = ("[drive_drivers, transfer_drivers,", "[link.discharge, drive_drivers, transfer_drivers,");
    let review = reviewed(&[lives, listed]);
    assert!(!found(&review).iter().any(|one| one.0 == "barrier-crossing"), "{:?}", found(&review));
}

/// What a bridge takes goes back by a conductor of its own, and through its fuse.
#[test]
fn a_fuse_in_the_way_back_of_a_bridge_carries_its_current() {
    let back = "branches:\n  back: { from: drive_bridge, to: hv_minus, through: [back_fuse] }\n";
    let fuse = "conductors:\n  back_fuse:\n    { kind: fuse, voltage: 60 V DC, current: 20 A, melting: 60e3 A^2 s, \
                clearing: 210e3 A^2 s, breaking: 30 kA, least_breaking: 2 kA, resistance: 0.25 mohm }\n";
    let changes = [("branches:\n", back), ("conductors:\n", fuse)];
    let text = text(&changes);
    let (amps, bridge) = (figure(&text, "back_fuse.current"), figure(&text, "drive_bridge.dc_current"));
    assert!(near(amps, bridge, 1e-9) && amps > 100.0, "{amps} of {bridge}");
    let review = reviewed(&changes);
    for defect in ["overloaded", "voltage"] {
        let is_it = |one: &(&str, &str, &str)| *one == ("fuse-coordination", defect, "back_fuse");
        assert!(found(&review).iter().any(is_it), "{defect}: {:?}", found(&review));
    }
}

/// What is left out: what is found of it, and the lines of what is not judged.
type Gap = (
    &'static [(&'static str, &'static str)],
    &'static [(&'static str, &'static str)],
    &'static [&'static str],
);

#[test]
fn what_is_not_stated_is_one_line_and_nothing_is_concluded_from_it() {
    let cases: [Gap; 10] = [
        (&[("kind: bank, bus: work_bus,", "kind: bank,")], &[], &["bus of work_bank is not stated"]),
        (
            &[(", of: [cooling], read_by: [drive_controller]", ", of: [cooling]")],
            &[],
            &["read_by of coolant_temperature is not stated"],
        ),
        (&[("    domain: traction\n", "")], &[], &["domain of link is not stated"]),
        (
            &[("{ measures: position, of: [drive_motor]", "{ of: [drive_motor]")],
            &[("control-cover", "unmeasured")],
            &[],
        ),
        (
            &[("    transformer: transfer_transformer\n", "")],
            &[],
            &["stages.transfer.transformer is not stated"],
        ),
        (&[("    from: link\n", "")], &[], &["stages.transfer.from is not stated"]),
        (&[("    dc_bus: link\n", "")], &[], &["stages.drive_bridge.dc_bus is not stated"]),
        (&[("    feeds: drive_motor\n", "")], &[], &["stages.drive_bridge.feeds is not stated"]),
        (&[("    dead_time: 150 ns\n", "")], &[], &["stages.transfer.dead_time is not stated"]),
        (
            &[(
                "    switches: { high_side: { fitted: hb1200_300, parallel: 2 }, low_side: { fitted: hb1200_300, parallel: 2 } }\n",
                "",
            )],
            &[],
            &["stages.drive_bridge: switches.high_side.fitted and switches.low_side.fitted are not stated"],
        ),
    ];
    for (changes, expected, lines) in cases {
        let review = reviewed(changes);
        let said: Vec<(&str, &str)> =
            found(&review).into_iter().map(|(check, defect, _)| (check, defect)).collect();
        assert_eq!(said, *expected, "{changes:?}");
        assert_eq!(waits(&review), *lines, "{changes:?}");
    }
}

/// One primary has one bus: what an output that says another would join is told with that.
#[test]
fn an_output_of_one_primary_that_says_another_bus_is_told_once() {
    let own = "tolerance: 5 %,\n      transformer: drive_upper_transformer, from: board_net }\n  drive_v:";
    let review = reviewed(&[(own, &own.replace("from: board_net", "from: work_bus"))]);
    assert_eq!(found(&review), [("one-cause", "one-key", "drive_u")]);
}

/// Metal that nobody bonds is one finding, whatever stands on it; as long as it floats it takes the potential of either system.
#[test]
fn metal_that_nobody_bonds_is_one_finding() {
    let loose = ("touchable: true, bonded: true, bonding_resistance", "touchable: true, bonding_resistance");
    let review = review(&unit(&text(&[loose])));
    assert_eq!(found(&review), [("barrier-crossing", "weak", "isolation.barriers.traction_bases")]);
    let held: Vec<&str> = review.findings[0].proposals.iter().map(|one| one.say.as_str()).collect();
    assert_eq!(held, ["`bonded: true` at chassis"]);
}

#[test]
fn a_sensor_that_is_gone_is_told_once() {
    let sensor = "  transfer_output:\n    { measures: voltage, of: [work_bus], read_by: [transfer_controller], transient_immunity: 100 kV/us, coupling: 2 pF }\n";
    assert_eq!(found(&reviewed(&[(sensor, "")])), [("control-cover", "unread", "work_bus")]);
}
