use super::*;

fn chip(constant: f64, per_kelvin: f64, to_case: f64) -> Chip {
    Chip {
        loss: ChipLoss { constant: Power::new(constant), per_kelvin: LossSlope::new(per_kelvin) },
        to_case: ThermalResistance::new(to_case),
    }
}

/// A transistor, its diode and their neighbours in one half-bridge module.
fn module() -> [Chip; 4] {
    [chip(120.0, 0.31, 0.066), chip(20.0, 0.05, 0.11), chip(118.0, 0.33, 0.064), chip(24.0, -0.02, 0.12)]
}

/// Gauss's elimination with row exchange: the reference of the closed forms.
fn dense<const N: usize>(mut matrix: [[f64; N]; N], mut right: [f64; N]) -> [f64; N] {
    for column in 0..N {
        let pivot =
            (column..N).max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs())).unwrap();
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (leading, first) = (matrix[column], right[column]);
        for (row, right) in matrix.iter_mut().zip(&mut right).skip(column + 1) {
            let factor = row[column] / leading[column];
            row.iter_mut().zip(leading).for_each(|(entry, above)| *entry -= factor * above);
            *right -= factor * first;
        }
    }
    let mut solution = [0.0; N];
    for row in (0..N).rev() {
        let known: f64 = matrix[row].iter().zip(solution).map(|(entry, x)| entry * x).sum();
        solution[row] = (right[row] - known) / matrix[row][row];
    }
    solution
}

#[test]
fn one_face_agrees_with_the_dense_system() {
    let (chips, path, reference) = (module(), 0.045, 71.0);
    // Unknowns: four chips and the case. Node balances in watts.
    let (mut matrix, mut right) = ([[0.0; 5]; 5], [0.0; 5]);
    for (row, chip) in chips.iter().enumerate() {
        let to_case = 1.0 / chip.to_case.si();
        matrix[row][row] = to_case - chip.loss.per_kelvin.si();
        matrix[row][4] = -to_case;
        right[row] = chip.loss.constant.si();
        matrix[4][row] = -to_case;
        matrix[4][4] += to_case;
    }
    matrix[4][4] += 1.0 / path;
    right[4] = reference / path;
    let expected = dense(matrix, right);

    let reference = Temperature::celsius(reference);
    let reduced = reduce_one_face(&chips, ThermalResistance::new(path));
    let heat = reduced.heat(reference);
    let case = reference + heat * ThermalResistance::new(path);
    assert!((case.in_celsius() - expected[4]).abs() < 1e-9);
    let mut losses = Power::ZERO;
    for (chip, expected) in chips.iter().zip(expected) {
        let t = chip.temperature(case);
        assert!((t.in_celsius() - expected).abs() < 1e-9);
        losses = losses + chip.loss.at(t);
    }
    assert!((losses - heat).si().abs() < 1e-9, "all losses leave through the case");
    assert!(reduced.gain > 0.0 && reduced.gain < 1.0);
}

#[test]
fn two_faces_agree_with_the_dense_system() {
    let (chips, path_a, path_b, at_a, at_b) = (module(), 0.05, 0.12, 68.0, 74.5);
    // Unknowns: four chips, face a, face b.
    let (mut matrix, mut right) = ([[0.0; 6]; 6], [0.0; 6]);
    for (row, chip) in chips.iter().enumerate() {
        let to_face = 0.5 / chip.to_case.si();
        matrix[row][row] = 2.0 * to_face - chip.loss.per_kelvin.si();
        right[row] = chip.loss.constant.si();
        for face in [4, 5] {
            matrix[row][face] = -to_face;
            matrix[face][row] = -to_face;
            matrix[face][face] += to_face;
        }
    }
    for (face, path, at) in [(4, path_a, at_a), (5, path_b, at_b)] {
        matrix[face][face] += 1.0 / path;
        right[face] = at / path;
    }
    let expected = dense(matrix, right);

    let reduced = reduce_two_faces(&chips, ThermalResistance::new(path_a), ThermalResistance::new(path_b));
    let heats = reduced.heats(Temperature::celsius(at_a), Temperature::celsius(at_b));
    assert!((heats.case_a.in_celsius() - expected[4]).abs() < 1e-9);
    assert!((heats.case_b.in_celsius() - expected[5]).abs() < 1e-9);
    assert!((heats.heat_a.si() - (expected[4] - at_a) / path_a).abs() < 1e-8);
    assert!((heats.heat_b.si() - (expected[5] - at_b) / path_b).abs() < 1e-8);
    let mut losses = Power::ZERO;
    for (chip, expected) in chips.iter().zip(expected) {
        let t = chip.temperature(heats.case());
        assert!((t.in_celsius() - expected).abs() < 1e-9);
        losses = losses + chip.loss.at(t);
    }
    assert!((losses - heats.heat_a - heats.heat_b).si().abs() < 1e-9, "all losses leave through the faces");
}

#[test]
fn equal_faces_halve_the_path() {
    let both = reduce_two_faces(&module(), ThermalResistance::new(0.08), ThermalResistance::new(0.08));
    let one = reduce_one_face(&module(), ThermalResistance::new(0.04));
    assert!((both.total.alpha - one.alpha).si().abs() < 1e-9);
    assert!((both.total.beta - one.beta).si().abs() < 1e-12);
    assert!((both.share_a - 0.5).abs() < 1e-15);
}

#[test]
fn a_package_that_runs_away_says_so() {
    let reduced = reduce_one_face(&[chip(100.0, 2.0, 0.2)], ThermalResistance::new(0.35));
    assert!(reduced.gain >= 1.0);
    assert!(loop_gain(&[chip(100.0, 2.0, 0.2)], ThermalResistance::new(0.35)) >= 1.0);
}

#[test]
fn loop_gain_of_one_chip_is_its_slope_times_its_path() {
    let gain = loop_gain(&[chip(100.0, 1.5, 0.2)], ThermalResistance::new(0.1));
    assert!((gain - 0.45).abs() < 1e-12);
    assert!((loop_gain(&[chip(100.0, 1.5, 0.2)], ThermalResistance::ZERO) - 0.3).abs() < 1e-12);
    assert!(loop_gain(&[], ThermalResistance::new(0.1)).abs() < 1e-15);
}

#[test]
fn loop_gain_is_the_eigenvalue_of_the_coupled_chips() {
    // Power iteration on [R_ij·b_j], all slopes positive.
    let chips = [chip(1.0, 0.9, 0.10), chip(1.0, 0.4, 0.22), chip(1.0, 0.7, 0.15)];
    let path = 0.08;
    let (mut rise, mut gain) = ([1.0; 3], 0.0);
    for _ in 0..500 {
        let heat: f64 = chips.iter().zip(rise).map(|(chip, t)| chip.loss.per_kelvin.si() * t).sum();
        let mut next = rise;
        for ((next, chip), t) in next.iter_mut().zip(&chips).zip(rise) {
            *next = path * heat + chip.gain() * t;
        }
        gain = next.iter().sum::<f64>() / rise.iter().sum::<f64>();
        rise = next.map(|t| t / gain);
    }
    assert!((loop_gain(&chips, ThermalResistance::new(path)) - gain).abs() < 1e-12);
}

#[test]
fn both_gains_pass_one_together() {
    let chips = [chip(1.0, 0.9, 0.10), chip(1.0, 0.4, 0.22)];
    for step in 0..200 {
        let path = ThermalResistance::new(f64::from(step) * 0.01);
        assert_eq!(reduce_one_face(&chips, path).gain < 1.0, loop_gain(&chips, path) < 1.0, "at {path}");
    }
}

#[test]
fn a_missing_loss_is_a_missing_heat() {
    let chips = [chip(100.0, 0.1, 0.1), chip(f64::NAN, 0.1, 0.1)];
    let reduced = reduce_one_face(&chips, ThermalResistance::new(0.05));
    assert!(reduced.heat(Temperature::celsius(65.0)).si().is_nan());
    assert!(loop_gain(&[chip(1.0, f64::NAN, 0.1)], ThermalResistance::new(0.05)).is_nan());
    assert!(
        reduce_one_face(&[chip(1.0, f64::NAN, 0.1), chip(1.0, 0.1, 0.1)], ThermalResistance::ZERO)
            .gain
            .is_nan()
    );
}
