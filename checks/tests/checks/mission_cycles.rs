//! Cycles of junctions over a mission, against a count over the temperatures that every row settles at.

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{CHUNK, Judge, Tally};
use loadworthy_physics::rainflow::{Cycle, Rainflow};
use loadworthy_unit::mission::{BANDS, Chunk, Rows};
use loadworthy_unit::{DutyId, Solved};

use crate::descriptions::{changed, holding, unit};

/// Points of the curve: swings in K, and how many of each are stood.
const LIFE: [(f64, f64); 3] = [(15.0, 2e7), (40.0, 5e5), (80.0, 2e4)];

fn lift(life: &str) -> String {
    let package = "package: { circuit: half_bridge, cooled_faces: 1";
    changed(holding("junction-temperature"), package, &format!("{package}{life}"))
}

const STATED: &str =
    ", power_cycling: { swing: [15 K, 40 K, 80 K], cycles: [2e7, 5e5, 2e4], up_to: 160 degC }";

/// Inlets in °C of rows that last so long that everything settles.
fn inlets() -> Vec<f64> {
    let mut seed = 99_u64;
    let mut random = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as f64 / (1_u64 << 31) as f64
    };
    (0..300).map(|_| 10.0 + 58.0 * random()).collect()
}

fn rows(inlets: &[f64]) -> Vec<Rows> {
    let of = |some: &[f64]| Rows {
        duties: vec![DutyId::new(0); some.len()],
        lasts: vec![3600.0; some.len()],
        values: some.to_vec(),
    };
    inlets.chunks(CHUNK).map(of).collect()
}

fn driven(text: &str, inlets: &[f64]) -> Tally {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("coolant.inlet").expect("the inlet")];
    let mut judge = Judge::new(CHECKS, variant, &columns, None, 2);
    judge.take(&rows(inlets));
    judge.end()
}

/// Where each chip settles in each row, in half kelvins.
fn settled(text: &str, inlets: &[f64]) -> Vec<Vec<f64>> {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("coolant.inlet").expect("the inlet")];
    let mut chunk = Chunk::new(variant, &columns);
    let mut all = vec![Vec::new(); variant.plan.chips.len()];
    for rows in rows(inlets) {
        chunk.solve(&rows);
        for row in 0..rows.len() {
            for (chip, course) in variant.plan.chips.iter().zip(&mut all) {
                let celsius = chunk.raw(chip.figures.mean_junction_temperature, row);
                course.push((celsius / 0.5).round() * 0.5);
            }
        }
    }
    all
}

/// Swings of a course that repeats; the counter itself is held against a count by hand where it stands.
fn swings(course: &[f64]) -> Vec<f64> {
    let (mut flow, mut found) = (Rainflow::new(0.5), Vec::new());
    let mut closed = |cycle: Cycle| found.push(cycle.swing);
    course.iter().for_each(|&celsius| flow.take(celsius, &mut closed));
    flow.repeat(&mut closed);
    found
}

#[test]
fn cycles_and_the_life_that_they_use_are_those_of_the_settled_rows() {
    let (text, inlets) = (lift(STATED), inlets());
    let tally = driven(&text, &inlets);
    let courses = settled(&text, &inlets);
    assert_eq!((tally.swings.len(), tally.uncounted), (4, 0), "transistor and diode of two positions");
    let unit = unit(&text);
    let plan = &unit.variants[0].plan;
    for one in &tally.swings {
        let chip = plan.chips.iter().position(|chip| chip.part == one.part).expect("a chip");
        let own = swings(&courses[chip]);
        let mut bands = [0; BANDS.len()];
        let (mut used, mut below) = (0.0, 0);
        for &swing in &own {
            if let Some(band) = (0..BANDS.len()).rev().find(|&band| BANDS[band] <= swing) {
                bands[band] += 1;
            }
            // A power of the swing between the points.
            let pair = LIFE.windows(2).find(|pair| pair[0].0 <= swing && swing <= pair[1].0);
            match pair {
                Some(&[(x, y), (next_x, next_y)]) => {
                    let power = libm::log(next_y / y) / libm::log(next_x / x);
                    used += 1.0 / (y * libm::pow(swing / x, power));
                }
                _ => below += 1,
            }
        }
        assert_eq!((one.counted.bands, one.counted.below, one.counted.beyond), (bands, below, 0));
        let largest = own.iter().copied().fold(0.0, f64::max);
        assert!((one.counted.largest - largest).abs() < 1e-9 && largest > 40.0, "{largest}");
        assert!(used > 0.0 && (one.counted.used / used - 1.0).abs() < 1e-9, "{used} {:?}", one.counted);
        assert!((one.runs().expect("known") * used - 1.0).abs() < 1e-9);
    }
}

#[test]
fn what_no_curve_knows_is_not_judged() {
    let inlets = inlets();
    let silent = driven(&lift(""), &inlets);
    assert!(silent.swings.iter().all(|one| one.used().is_none() && one.counted.largest > 40.0));
    let hotter = driven(&lift(&STATED.replace("160 degC", "90 degC")), &inlets);
    let beyond: u64 = hotter.swings.iter().map(|one| one.counted.beyond).sum();
    assert!(beyond > 0 && hotter.swings.iter().any(|one| one.used().is_none()));
    // One that never moves uses nothing.
    let still = driven(&lift(STATED), &[40.0; 50]);
    assert!(
        still.swings.iter().all(|one| one.runs().is_none() && one.used().is_some_and(|used| used <= 0.0))
    );
}

#[test]
fn a_curve_that_rises_is_refused() {
    for (from, to) in [("[2e7, 5e5, 2e4]", "[2e7, 5e5, 6e5]"), ("[15 K, 40 K, 80 K]", "[15 K, 80 K, 40 K]")] {
        let said = crate::descriptions::problems(&lift(&STATED.replace(from, to)));
        assert!(!said.is_empty(), "{to}");
    }
}

#[test]
fn the_swing_from_what_a_mission_starts_from_is_one_of_its_cycles() {
    let unit = unit(&lift(STATED));
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("coolant.inlet").expect("the inlet")];
    let largest = |from: Option<DutyId>| {
        let mut judge = Judge::new(CHECKS, variant, &columns, from, 2);
        judge.take(&rows(&[12.0]));
        let tally = judge.end();
        tally.swings.iter().map(|one| one.counted.largest).fold(0.0, f64::max)
    };
    let solved = Solved::new(variant);
    let before = variant.lane_ids().next().expect("a lane");
    let course = settled(&lift(STATED), &[12.0]);
    let falls = variant.plan.chips.iter().zip(&course).map(|(chip, row)| {
        solved.figure(chip.figures.mean_junction_temperature, before).expect("a junction") - row[0]
    });
    let expected = falls.fold(0.0, f64::max);
    let (alone, found) = (largest(None), largest(Some(DutyId::new(0))));
    assert!(expected > 20.0 && (found - expected).abs() <= 1.0, "{found} against {expected}");
    assert!(alone < 1.0, "one row alone comes and goes by nothing: {alone}");
}
