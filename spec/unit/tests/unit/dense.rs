//! The sweep along the coolant against one linear system of all thermal nodes.

use loadworthy_unit::{FigureId, InputId, LaneId, Solved};

use crate::bench::{MOSFET, SERIES, TWO_FACES, changed, is_solved, unit};

/// A system of linear equations, row by row: coefficients, then the right side.
struct System(Vec<Vec<f64>>);

impl System {
    fn row(&mut self, unknowns: usize, terms: &[(usize, f64)], right: f64) {
        let mut row = vec![0.0; unknowns + 1];
        for &(at, factor) in terms {
            row[at] += factor;
        }
        row[unknowns] = right;
        self.0.push(row);
    }

    /// Elimination with the largest pivot of each column.
    fn solved(mut self) -> Vec<f64> {
        let n = self.0.len();
        for column in 0..n {
            let best =
                (column..n).max_by(|&a, &b| self.0[a][column].abs().total_cmp(&self.0[b][column].abs()));
            self.0.swap(column, best.unwrap());
            let pivot = self.0[column].clone();
            for (place, row) in self.0.iter_mut().enumerate() {
                let share = row[column] / pivot[column];
                if place != column && share != 0.0 {
                    row.iter_mut().zip(&pivot).for_each(|(to, from)| *to -= share * from);
                }
            }
        }
        (0..n).map(|k| self.0[k][n] / self.0[k][k]).collect()
    }
}

/// Compares every temperature of a lane with the dense solution for the same losses; returns how many there are.
fn compare(solved: &Solved<'_>, lane: LaneId) -> usize {
    let plan = &solved.variant.plan;
    let path = plan.coolant.as_ref().unwrap();
    let of = |id: FigureId| solved.figure(id, lane).unwrap();
    let given = |id: InputId| solved.input(id, lane).unwrap();
    // Junctions, then both possible cases of each package, then what each place offers, then where coolant enters.
    let case = |package: usize, face: usize| plan.chips.len() + 2 * package + face;
    let offered = |place: usize| plan.chips.len() + 2 * plan.packages.len() + place;
    let entering = |place: usize| offered(path.places.len()) + place;
    let unknowns = entering(path.places.len());
    let rate = of(path.capacity_rate);
    let mut system = System(Vec::new());
    let mut heats: Vec<Vec<(usize, f64)>> = vec![Vec::new(); path.places.len()];
    let mut expected = vec![f64::NAN; unknowns];
    for (p, package) in plan.packages.iter().enumerate() {
        let faces = package.faces.len();
        for &chip in &package.chips {
            let way = 1.0 / (faces as f64 * given(plan.chips[chip].inputs.junction_to_case));
            let mut terms = vec![(chip, way * faces as f64)];
            terms.extend((0..faces).map(|face| (case(p, face), -way)));
            system.row(unknowns, &terms, of(plan.chips[chip].figures.loss));
            expected[chip] = of(plan.chips[chip].figures.mean_junction_temperature);
        }
        for (f, face) in package.faces.iter().enumerate() {
            let out = 1.0 / given(face.resistance);
            let mut terms = vec![(case(p, f), out), (offered(face.place.unwrap()), -out)];
            for &chip in &package.chips {
                let way = 1.0 / (faces as f64 * given(plan.chips[chip].inputs.junction_to_case));
                terms.extend([(case(p, f), way), (chip, -way)]);
            }
            system.row(unknowns, &terms, 0.0);
            expected[case(p, f)] = of(face.case_temperature);
            let count = given(package.count);
            heats[face.place.unwrap()]
                .extend([(case(p, f), count * out), (offered(face.place.unwrap()), -count * out)]);
        }
        if faces == 1 {
            system.row(unknowns, &[(case(p, 1), 1.0)], 0.0);
        }
    }
    for (k, place) in path.places.iter().enumerate() {
        let plate = place.plate.as_ref().map_or(0.0, |plate| of(plate.resistance_here));
        let behind = given(place.reference) / rate + plate;
        let warmed = |factor: f64| heats[k].iter().map(move |&(at, share)| (at, -share * factor));
        let mut terms = vec![(offered(k), 1.0), (entering(k), -1.0)];
        terms.extend(warmed(behind));
        system.row(unknowns, &terms, 0.0);
        if k == 0 {
            system.row(unknowns, &[(entering(0), 1.0)], given(path.inlet));
        } else {
            let mut terms = vec![(entering(k), 1.0), (entering(k - 1), -1.0)];
            terms.extend(heats[k - 1].iter().map(|&(at, share)| (at, -share / rate)));
            system.row(unknowns, &terms, 0.0);
        }
        expected[offered(k)] =
            of(place.plate.as_ref().map_or(place.reference_temperature, |plate| plate.temperature));
        expected[entering(k)] = of(place.coolant_in);
    }
    let found = system.solved();
    let mut compared = 0;
    for (found, expected) in found.iter().zip(&expected).filter(|(_, expected)| !expected.is_nan()) {
        assert!((found - expected).abs() < 1e-7, "{found} against {expected}");
        compared += 1;
    }
    compared
}

fn all_lanes(text: &str) {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    for lane in solved.variant.lane_ids() {
        assert!(is_solved(&solved, lane));
        assert!(compare(&solved, lane) > 12);
    }
}

#[test]
fn the_bench_units() {
    SERIES.into_iter().for_each(all_lanes);
}

#[test]
fn a_plate_shared_by_all_counted_from_each_place_of_its_coolant() {
    for reference in ["inlet", "mean", "outlet"] {
        all_lanes(&changed(MOSFET, &[("referred_to: mean", &format!("referred_to: {reference}"))]));
    }
}

#[test]
fn faces_at_two_places_of_which_both_have_plates() {
    for reference in ["inlet", "mean", "outlet"] {
        all_lanes(&changed(
            TWO_FACES,
            &[(
                "referred_to: inlet",
                &format!("referred_to: {reference}\n      resistance: {{ value: 0.01 K/W, flow: 8 L/min }}"),
            )],
        ));
    }
}

#[test]
fn packages_of_every_circuit_and_count() {
    for circuit in ["single", "half_bridge", "six_pack"] {
        for count in [1, 3] {
            let fitted = format!("{{ fitted: module, parallel: {count} }}");
            all_lanes(&changed(
                TWO_FACES,
                &[
                    ("circuit: half_bridge", &format!("circuit: {circuit}")),
                    ("{ fitted: module }", &fitted),
                    // Six transistors and six diodes on one small face would be too much.
                    ("face_a: 0.06 K/W", "face_a: 0.02 K/W"),
                ],
            ));
        }
    }
}

#[test]
fn sides_with_different_devices_in_different_numbers() {
    all_lanes(&changed(
        TWO_FACES,
        &[
            ("high_side: { fitted: six, parallel: 2 }", "high_side: { fitted: small, parallel: 4 }"),
            ("low_side: { fitted: six, parallel: 2 }", "low_side: { fitted: module, parallel: 3 }"),
            ("drive: { face_b: 0.08 K/W }", "drive: { face_b: 0.08 K/W }, pump: { face_b: 0.1 K/W }"),
            (
                "  six:\n    package: { circuit: six_pack, cooled_faces: 1 }",
                "  small:\n    package: { circuit: single, cooled_faces: 2 }",
            ),
        ],
    ));
}
