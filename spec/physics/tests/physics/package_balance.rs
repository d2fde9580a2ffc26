//! Packages with random chips: no heat is lost, and every chip obeys its own path.

use loadworthy_physics::package::{Chip, ChipLoss, loop_gain, reduce_one_face, reduce_two_faces};
use loadworthy_physics::{LossSlope, Power, Temperature, ThermalResistance};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

fn chips() -> impl Strategy<Value = Vec<Chip>> {
    let chip = (0.0..400.0f64, -0.1..1.0f64, 0.02..0.4f64).prop_map(|(constant, per_kelvin, to_case)| Chip {
        loss: ChipLoss { constant: Power::new(constant), per_kelvin: LossSlope::new(per_kelvin) },
        to_case: ThermalResistance::new(to_case),
    });
    prop::collection::vec(chip, 1..7)
}

proptest! {
    #![proptest_config(repeatable(300))]

    #[test]
    fn one_face_balances(chips in chips(), path in 0.0..0.3f64, reference in -30.0..90.0f64) {
        let (path, reference) = (ThermalResistance::new(path), Temperature::celsius(reference));
        let reduced = reduce_one_face(&chips, path);
        prop_assume!(reduced.gain < 0.95);
        let heat = reduced.heat(reference);
        let case = reference + heat * path;
        let mut losses = Power::ZERO;
        for chip in &chips {
            let t = chip.temperature(case);
            let loss = chip.loss.at(t);
            prop_assert!((case + loss * chip.to_case - t).si().abs() < 1e-7);
            losses = losses + loss;
        }
        prop_assert!((losses - heat).si().abs() < 1e-6 * (1.0 + heat.si().abs()));
    }

    #[test]
    fn two_faces_balance(
        chips in chips(),
        (path_a, path_b) in (0.0..0.4f64, 0.0..0.4f64),
        (at_a, at_b) in (-30.0..90.0f64, -30.0..90.0f64),
    ) {
        let (path_a, path_b) = (ThermalResistance::new(path_a), ThermalResistance::new(path_b));
        let (at_a, at_b) = (Temperature::celsius(at_a), Temperature::celsius(at_b));
        let reduced = reduce_two_faces(&chips, path_a, path_b);
        prop_assume!(reduced.total.gain < 0.95);
        let faces = reduced.heats(at_a, at_b);
        let (mut into_a, mut into_b) = (Power::ZERO, Power::ZERO);
        for chip in &chips {
            let t = chip.temperature(faces.case());
            let (to_face, loss) = (chip.to_case * 2.0, chip.loss.at(t));
            let (to_a, to_b) = ((t - faces.case_a) / to_face, (t - faces.case_b) / to_face);
            prop_assert!((to_a + to_b - loss).si().abs() < 1e-6 * (1.0 + loss.si().abs()));
            into_a = into_a + to_a;
            into_b = into_b + to_b;
        }
        let scale = 1.0 + faces.heat_a.si().abs() + faces.heat_b.si().abs();
        prop_assert!((into_a - faces.heat_a).si().abs() < 1e-6 * scale);
        prop_assert!((into_b - faces.heat_b).si().abs() < 1e-6 * scale);
        // Exchanging the faces exchanges the heats.
        let exchanged = reduce_two_faces(&chips, path_b, path_a).heats(at_b, at_a);
        prop_assert!((exchanged.heat_a - faces.heat_b).si().abs() < 1e-6 * scale);
    }

    #[test]
    fn steadiness_is_judged_alike_by_both_gains(chips in chips(), path in 0.0..1.0f64) {
        let mut rising = chips;
        rising.retain(|chip| chip.loss.per_kelvin > LossSlope::ZERO);
        prop_assume!(!rising.is_empty());
        let path = ThermalResistance::new(path);
        prop_assert_eq!(reduce_one_face(&rising, path).gain < 1.0, loop_gain(&rising, path) < 1.0);
    }
}
