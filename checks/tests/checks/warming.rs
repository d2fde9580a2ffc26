//! Conductors, windings and cores in duty points that end before everything has settled, against small explicit steps.

use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Grade, Outcome, Verdict};
use loadworthy_physics::conductors::copper::{growth, section_resistance};
use loadworthy_physics::conductors::free_air::{Air, Bar, Position, leaving, pressure_share};
use loadworthy_physics::{Area, Length, Temperature};
use loadworthy_unit::mission::{Chunk, Heat, Rows};
use loadworthy_unit::{DutyId, FigureId, LaneId, Solved, Variant};

use crate::descriptions::{after_a_roll, changed, failing, reviewed, unit};

/// A ramp of this long after a slow roll, in the unit of the check on conductors.
fn ramp(says: &str) -> String {
    after_a_roll(failing("conductor-loading"), says)
}

/// A shift of this long after a quiet hour, in the unit of the check on windings, with heat capacities.
fn shift(says: &str) -> String {
    let quiet = "  quiet:
    lasts: continuous
    coolant: { inlet: 65 degC }
    buses: { link: 72 V }
    loads:
      lamps: { power: 60 W }
";
    let to = format!("{quiet}  night_shift:\n    {says}\n    starts_from: quiet\n");
    let text = changed(failing("winding-loading"), "  night_shift:\n    lasts: continuous\n", &to);
    changed(&text, "      to_case: 3 K/W\n", "      to_case: 3 K/W\n      heat_capacity: 18 J/K\n")
}

fn figure(variant: &Variant, path: &str) -> FigureId {
    let mut all = (0..variant.tables.figures().len()).map(FigureId::new);
    all.find(|&id| variant.tables.figure_path(id) == path).unwrap_or_else(|| panic!("no figure `{path}`"))
}

fn value(solved: &Solved<'_>, lane: LaneId, path: &str) -> f64 {
    solved.figure(figure(solved.variant, path), lane).unwrap_or_else(|| panic!("`{path}` is missing"))
}

fn lane(variant: &Variant, duty: &str) -> LaneId {
    variant.lane_ids().find(|&lane| variant.duty_of(lane).name == duty).expect("a lane")
}

/// The bar of 15 by 1.5 mm in air of 70 °C at 500 m.
fn steps_of_bar(amps: f64, mut now: f64, lasts: f64) -> f64 {
    let (width, thickness, length) = (Length::new(15e-3), Length::new(1.5e-3), Length::new(0.12));
    let bar = Bar { width, thickness, length, position: Position::Flat, emissivity: 0.2 };
    let still =
        Air { temperature: Temperature::celsius(70.0), pressure_share: pressure_share(Length::new(500.0)) };
    // 8930 kg/m³ and 386 J/(kg·K).
    let capacity = 8930.0 * 386.0 * 15e-3 * 1.5e-3 * 0.12;
    let step = 0.05;
    for _ in 0..(lasts / step).round() as usize {
        let copper = Temperature::celsius(now);
        let ohms = section_resistance(Area::new(15e-3 * 1.5e-3), length, Temperature::celsius(20.0)).si();
        let into = amps * amps * ohms * growth(copper);
        now += step * (into - leaving(&bar, &still, copper).si()) / capacity;
    }
    now
}

#[test]
fn a_bar_warms_as_small_steps_say() {
    for lasts in [20.0, 120.0, 900.0] {
        let unit = unit(&ramp(&format!("lasts: {lasts} s")));
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        let (from, on) = (lane(variant, "roll"), lane(variant, "ramp"));
        let begins = value(&solved, from, "bridge_bar.temperature");
        let amps = value(&solved, on, "bridge_bar.heating_current");
        let found = value(&solved, on, "bridge_bar.hottest_temperature");
        let expected = steps_of_bar(amps, begins, lasts);
        assert!(solved.is_warmed(on));
        assert!((found - expected).abs() < 0.3, "{lasts} s: {found} against {expected}");
        let settles = value(&solved, on, "bridge_bar.temperature");
        assert!(begins < found && found <= settles, "{begins}, {found}, {settles}");
    }
}

#[test]
fn a_bar_that_is_loaded_again_and_again_starts_warmer() {
    let unit = unit(&ramp("lasts: 60 s\n    every: 300 s"));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (from, on) = (lane(variant, "roll"), lane(variant, "ramp"));
    let amps = |lane| value(&solved, lane, "bridge_bar.heating_current");
    let mut now = value(&solved, from, "bridge_bar.temperature");
    let mut expected = now;
    for _ in 0..12 {
        expected = steps_of_bar(amps(on), now, 60.0);
        now = steps_of_bar(amps(from), expected, 240.0);
    }
    let found = value(&solved, on, "bridge_bar.hottest_temperature");
    assert!((found - expected).abs() < 0.3, "{found} against {expected}");
}

#[test]
fn a_winding_warms_as_small_steps_say() {
    let unit = unit(&shift("lasts: 40 s"));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (from, on) = (lane(variant, "quiet"), lane(variant, "night_shift"));
    let of = |lane, name: &str| value(&solved, lane, &format!("lamp_buck.lamp_choke.{name}"));
    let grows = of(on, "winding_loss_per_kelvin");
    let at_zero = of(on, "winding_loss") - grows * of(on, "mean_winding_temperature");
    // Core: 2.5 MJ/(m³·K) in 8 cm³. What the place offers is where the case settles without its own heat.
    let (winding_holds, core_holds) = (18.0, 20.0);
    let core_loss = of(on, "core_loss");
    let reference = of(on, "case_temperature") - 1.2 * of(on, "loss");
    let (mut winding, mut core) = (of(from, "mean_winding_temperature"), of(from, "core_temperature"));
    let step = 1e-3;
    for _ in 0..40_000 {
        let flows = winding / 3.0 + core / 2.0;
        let case = (reference + 1.2 * flows) / (1.0 + 1.2 * (1.0 / 3.0 + 0.5));
        winding += step * (at_zero + grows * winding - (winding - case) / 3.0) / winding_holds;
        core += step * (core_loss - (core - case) / 2.0) / core_holds;
    }
    let (found, found_core) = (of(on, "hottest_winding_temperature"), of(on, "hottest_core_temperature"));
    assert!((found - 10.0 - winding).abs() < 0.05, "{found} against {winding}");
    assert!((found_core - core).abs() < 0.05, "{found_core} against {core}");
    assert!(found < of(on, "winding_temperature") - 5.0, "it would have settled");
}

#[test]
fn a_core_is_hottest_after_the_load_has_ended_and_a_plate_without_capacity_follows() {
    // A winding that warms a core: most of the heat is in it when the load ends.
    let text = changed(
        &shift("lasts: 30 s\n    every: 120 s"),
        "plate: { referred_to: outlet,",
        "plate: { resistance: { value: 0.15 K/W, flow: 4 L/min }, referred_to: outlet,",
    );
    let text = changed(&text, "core:\n", "core:\n      heat_capacity: 60 J/K\n");
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (from, on) = (lane(variant, "quiet"), lane(variant, "night_shift"));
    let of = |lane, name: &str| value(&solved, lane, &format!("lamp_buck.lamp_choke.{name}"));
    // Loss of the winding at 0 °C and its growth, loss of the core, and what the plate settles at.
    let drives = |lane| {
        let grows = of(lane, "winding_loss_per_kelvin");
        let at_zero = of(lane, "winding_loss") - grows * of(lane, "mean_winding_temperature");
        let plate = of(lane, "case_temperature") - 1.2 * of(lane, "loss");
        (at_zero, grows, of(lane, "core_loss"), plate)
    };
    let (load, rest) = (drives(on), drives(from));
    assert!(load.3 > rest.3 + 2.5, "the plate follows: {} and {}", load.3, rest.3);
    let (mut winding, mut core) = (rest.3, rest.3);
    let (mut most_winding, mut most_core, mut core_at_end) = (0.0_f64, 0.0_f64, 0.0);
    let step = 1e-2;
    for _ in 0..20 {
        (most_winding, most_core) = (0.0, 0.0);
        for k in 0..12_000 {
            let (at_zero, grows, core_loss, plate) = if k < 3_000 { load } else { rest };
            let case = (plate + 1.2 * (winding / 3.0 + core / 2.0)) / (1.0 + 1.2 * (1.0 / 3.0 + 0.5));
            winding += step * (at_zero + grows * winding - (winding - case) / 3.0) / 18.0;
            core += step * (core_loss - (core - case) / 2.0) / 60.0;
            (most_winding, most_core) = (most_winding.max(winding), most_core.max(core));
            if k == 3_000 {
                core_at_end = core;
            }
        }
    }
    let (found, found_core) =
        (of(on, "hottest_winding_temperature") - 10.0, of(on, "hottest_core_temperature"));
    assert!((found - most_winding).abs() < 0.2, "{found} against {most_winding}");
    assert!((found_core - most_core).abs() < 0.2, "{found_core} against {most_core}");
    assert!(most_core > core_at_end, "{most_core} after {core_at_end}");
}

#[test]
fn what_a_short_duty_point_reaches_decides() {
    let hot = reviewed(&ramp("lasts: 900 s"));
    let finding: &Finding = hot.findings.iter().find(|one| one.check == "conductor-loading").expect("one");
    assert_eq!(finding.grade.word(), "major");
    assert!(finding.saying.contains("within 15 min from `roll`"), "{}", finding.saying);
    let cool = reviewed(&ramp("lasts: 20 s"));
    assert!(cool.findings.iter().all(|one| one.check != "conductor-loading"), "{:#?}", cool.findings);
    let over_shift = reviewed(&shift("lasts: 20 s"));
    assert!(over_shift.findings.iter().all(|one| one.check != "winding-loading"));
}

fn of_contacts(text: &str) -> Vec<Verdict> {
    let review = reviewed(text);
    let all = review.verdicts.into_iter().flatten();
    all.filter(|one| one.check == "conductor-loading" && one.lane() == Some(LaneId::new(1))).collect()
}

#[test]
fn contacts_state_what_they_hold_or_count_as_settled() {
    let with_plug = |capacity: &str| {
        let plug = format!(
            "  bridge_plug: {{ kind: connector, resistance: 0.3 mohm, thermal_resistance: 8 K/W, hottest: 110 degC{capacity} }}\n  bridge_bar:\n"
        );
        let text =
            changed(&ramp("lasts: 30 s"), "through: [bridge_bar]", "through: [bridge_plug, bridge_bar]");
        changed(&text, "  bridge_bar:\n", &plug)
    };
    let plug = |all: &[Verdict]| {
        all.iter().find(|one| one.comparison().is_some_and(|c| (c.limit - 110.0).abs() < 1e-9)).cloned()
    };
    let settled = plug(&of_contacts(&with_plug(""))).expect("a verdict");
    assert!(settled.remarks.iter().any(|one| one.to_string().contains("no `heat_capacity` is stated")));
    assert!(matches!(settled.outcome, Outcome::Fails { grade: Grade::Minor, .. }), "{:?}", settled.outcome);
    let held = plug(&of_contacts(&with_plug(", heat_capacity: 60 J/K"))).expect("a verdict");
    let (one, other) = (settled.comparison().expect("one"), held.comparison().expect("one"));
    assert!(other.carried_value < one.carried_value - 10.0, "{other:?}, {one:?}");
}

#[test]
fn rows_of_a_mission_hand_on_how_warm_everything_is() {
    let text = ramp("lasts: 900 s");
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (from, on) = (lane(variant, "roll"), lane(variant, "ramp"));
    let mut chunk = Chunk::new(variant, &[]);
    let mut heat = Heat::new(variant, Some(variant.lane(from).duty));
    let pattern = [(on, 45.0), (from, 30.0), (on, 15.0)];
    let all: Vec<(LaneId, f64)> = (0..8).flat_map(|_| pattern).collect();
    let rows = Rows {
        duties: all.iter().map(|&(lane, _)| variant.lane(lane).duty).collect(),
        lasts: all.iter().map(|&(_, lasts)| lasts).collect(),
        values: Vec::new(),
    };
    chunk.solve(&rows);
    heat.follow(&mut chunk, &rows);
    let hottest = figure(variant, "bridge_bar.hottest_temperature");
    let mut now = value(&solved, from, "bridge_bar.temperature");
    for (row, &(lane, lasts)) in all.iter().enumerate() {
        let begins = now;
        now = steps_of_bar(value(&solved, lane, "bridge_bar.heating_current"), now, lasts);
        let expected = if begins > now { begins } else { now };
        let found = chunk.raw(hottest, row);
        assert!((found - expected).abs() < 0.4, "row {row}: {found} against {expected}");
    }
}

/// A row of a mission that has no solution.
const UNSOLVED: usize = 4;

#[test]
fn after_a_row_without_a_solution_a_bar_is_not_judged_until_it_is_known_again() {
    let text = ramp("lasts: 900 s");
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (from, on) = (lane(variant, "roll"), lane(variant, "ramp"));
    let columns = [variant.duty_input("sources.pack.open_circuit").expect("a column")];
    let all: Vec<(LaneId, f64)> =
        (0..120).map(|k| if k % 2 == 0 { (on, 45.0) } else { (from, 30.0) }).collect();
    let rows = Rows {
        duties: all.iter().map(|&(lane, _)| variant.lane(lane).duty).collect(),
        lasts: all.iter().map(|&(_, lasts)| lasts).collect(),
        // Ten volts drive no such power.
        values: (0..all.len()).map(|row| if row == UNSOLVED { 10.0 } else { 320.0 }).collect(),
    };
    let mut chunk = Chunk::new(variant, &columns);
    let mut heat = Heat::new(variant, Some(variant.lane(from).duty));
    chunk.solve(&rows);
    heat.follow(&mut chunk, &rows);
    assert!(!chunk.is_solved(UNSOLVED));
    let hottest = figure(variant, "bridge_bar.hottest_temperature");
    let open = (UNSOLVED + 1..all.len()).take_while(|&row| chunk.raw(hottest, row).is_nan()).count();
    assert!((5..100).contains(&open), "{open} rows");
    // As warm as a bar that began with any temperature: what it began with has faded.
    let mut now = value(&solved, from, "bridge_bar.temperature");
    for (row, &(lane, lasts)) in all.iter().enumerate() {
        let begins = now;
        now = steps_of_bar(value(&solved, lane, "bridge_bar.heating_current"), now, lasts);
        let found = chunk.raw(hottest, row);
        if row > UNSOLVED + open {
            assert!((found - begins.max(now)).abs() < 0.5, "row {row}: {found} against {now}");
        }
    }
    assert!(heat.lost > open && heat.lost < 110, "{} rows", heat.lost);
}

#[test]
fn what_starts_from_a_duty_point_that_lacks_something_is_not_judged_as_if_it_began_settled() {
    let quiet = "    buses: { link: 72 V }\n    loads:\n      lamps: { power: 60 W }\n";
    let lacks =
        |says: &str| changed(&shift(says), quiet, "    buses: { link: 72 V }\n    loads:\n      lamps: {}\n");
    for says in ["lasts: 300 s", "lasts: 30 s\n    every: 300 s"] {
        let holds = |text: &str| {
            let review = reviewed(text);
            let all = review.verdicts.iter().flatten();
            let warm = |one: &&Verdict| matches!(one.check, "winding-loading" | "junction-temperature");
            let own = all.filter(warm).filter(|one| one.duty() == Some(DutyId::new(1)));
            let held = own.clone().filter(|one| matches!(one.outcome, Outcome::Holds(_))).count();
            (own.count(), held, review.not_judged.iter().map(|one| one.missing.clone()).collect::<Vec<_>>())
        };
        let (all, held, _) = holds(&shift(says));
        assert!(0 < held && 0 < all, "{says}");
        let (all, held, told) = holds(&lacks(says));
        assert_eq!((0 < all, held), (true, 0), "{says}: {told:#?}");
        assert!(told.iter().any(|told| told.contains("loads.lamps")), "{told:#?}");
    }
}
