//! A trial of a value is the same as a description that states it.

use loadworthy_unit::{Edit, FigureId, Solved};

use crate::bench::{IGBT, MOSFET, TWO_FACES, changed, input, unit};

/// Compares all figures of a trial with those of a description; returns those that differ.
fn differing(text: &str, path: &str, value: f64, changes: &[(&str, &str)]) -> Vec<String> {
    let (as_is, as_written) = (unit(text), unit(&changed(text, changes)));
    let (variant, other) = (&as_is.variants[0], &as_written.variants[0]);
    let trial = &Solved::with(variant, &[vec![Edit { input: input(variant, path), value }]])[0];
    let written = Solved::new(other);
    let mut out = Vec::new();
    for lane in variant.lane_ids() {
        for k in 0..variant.tables.figures().len() {
            let id = FigureId::new(k);
            let (a, b) = (trial.raw(id, lane), written.raw(id, lane));
            if a.to_bits() != b.to_bits() {
                out.push(format!(
                    "{} in {}: {a} tried, {b} written",
                    variant.tables.figure_path(id),
                    variant.duty_of(lane).name
                ));
            }
        }
    }
    out
}

#[test]
fn a_trial_gives_the_bits_of_a_description_with_that_value() {
    for (text, path, value, changes) in [
        (IGBT, "stages.drive.carrier.frequency", 6000.0, [("8 kHz", "6 kHz")]),
        (IGBT, "stages.drive.dead_time", 3e-6, [("2 us", "3 us")]),
        (IGBT, "sources.pack.internal_resistance.highest", 0.125, [("80 mohm", "125 mohm")]),
        (IGBT, "cooling.elements.stack.cools.drive.face_a", 0.04, [("0.06 K/W", "0.04 K/W")]),
        (IGBT, "machines.motor.phase_resistance", 20e-3, [("14 mohm", "20 mohm")]),
        (IGBT, "machines.motor.inductance.d", 300e-6, [("210 uH", "300 uH")]),
        (IGBT, "duty.*.coolant.inlet", 70.0, [("65 degC", "70 degC")]),
        (
            IGBT,
            "devices.module.transistor.current.at_case",
            90.0,
            [(
                "current: { continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }\n      junction_limit",
                "current: { continuous: 450 A, at_case: 90 degC, repetitive_peak: 900 A }\n      junction_limit",
            )],
        ),
        (
            MOSFET,
            "cooling.elements.plate.resistance.value",
            0.008,
            [("value: 0.004 K/W", "value: 0.008 K/W")],
        ),
        (MOSFET, "cooling.elements.plate.referred_to", 1.0, [("referred_to: mean", "referred_to: outlet")]),
        (MOSFET, "stages.drive.modulation", 2.0, [("third_harmonic", "space_vector")]),
        (
            TWO_FACES,
            "cooling.elements.lower.cools.drive.face_b",
            0.05,
            [("face_b: 0.08 K/W", "face_b: 0.05 K/W")],
        ),
    ] {
        assert_eq!(differing(text, path, value, &changes), Vec::<String>::new(), "{path}");
    }
}

#[test]
fn a_trial_of_a_thermal_resistance_stretches_its_elements_alike() {
    let path = "devices.module.transistor.thermal_impedance";
    let changes = [("[[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]", "[[0.010 K/W, 5 ms], [0.023 K/W, 80 ms]]")];
    assert_eq!(differing(IGBT, path, 0.033, &changes), Vec::<String>::new());
}
