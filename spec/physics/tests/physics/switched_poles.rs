//! Working voltages between circuits of a bridge, against sampled switching patterns.

use core::f64::consts::{FRAC_PI_2, TAU};

use loadworthy_physics::Voltage;
use loadworthy_physics::insulation::working_voltage::{Pair, Poles, working_voltage};

const LINK: f64 = 750.0;

fn rms_of(pair: Pair) -> f64 {
    working_voltage(pair, Voltage::new(LINK), Voltage::ZERO).expect("in range").rms.si()
}

/// The carrier in −1 ..= 1 at a part of its period.
fn triangle(part: f64) -> f64 {
    let part = part - part.floor();
    if part < 0.5 { 4.0 * part - 1.0 } else { 3.0 - 4.0 * part }
}

/// Root mean square of the difference of two poles and of one pole to the negative rail, sampled over one turn.
fn sampled(index: f64, offset: impl Fn([f64; 3]) -> f64, displaced: f64) -> (f64, f64) {
    let (carriers, samples) = (601, 400);
    let (mut between, mut alone, mut count) = (0.0, 0.0, 0.0);
    for period in 0..carriers {
        for sample in 0..samples {
            let part = (f64::from(sample) + 0.5) / f64::from(samples);
            let turn = TAU * (f64::from(period) + part) / f64::from(carriers);
            let sines = [0.0, 1.0, 2.0].map(|k| index * libm::sin(turn - k * TAU / 3.0));
            let common = offset(sines);
            let one = sines[0] + common > triangle(part);
            let other = sines[1] + common > triangle(part + displaced);
            between += if one == other { 0.0 } else { LINK * LINK };
            alone += if one { LINK * LINK } else { 0.0 };
            count += 1.0;
        }
    }
    ((between / count).sqrt(), (alone / count).sqrt())
}

fn middle(sines: [f64; 3]) -> f64 {
    let (low, high) = sines.iter().fold((f64::MAX, f64::MIN), |(low, high), s| (low.min(*s), high.max(*s)));
    -0.5 * (low + high)
}

#[test]
fn two_poles_on_one_carrier_differ_by_the_root_of_the_index() {
    for index in [0.1, 0.5, 0.866, 1.0] {
        let (between, alone) = sampled(index, |_| 0.0, 0.0);
        let told = rms_of(Pair::HighToHigh(Poles::OneCarrier { index }));
        assert!((between / told - 1.0).abs() < 4e-3, "{index}: {between} for {told}");
        let told = rms_of(Pair::LowToHigh { high: Some(0.5) });
        assert!((alone / told - 1.0).abs() < 2e-3, "{index}: {alone} for {told}");
    }
}

#[test]
fn an_offset_of_all_phases_changes_nothing_and_reaches_the_last_index() {
    for index in [0.6, 1.0, 2.0 / 3f64.sqrt()] {
        let (between, _) = sampled(index, middle, 0.0);
        let told = rms_of(Pair::HighToHigh(Poles::OneCarrier { index }));
        assert!((between / told - 1.0).abs() < 4e-3, "{index}: {between} for {told}");
    }
}

#[test]
fn displaced_carriers_go_beyond_the_form_and_never_beyond_the_bound() {
    let (between, _) = sampled(0.3, |_| 0.0, 0.5);
    assert!(between > 1.5 * rms_of(Pair::HighToHigh(Poles::OneCarrier { index: 0.3 })));
    assert!(between < rms_of(Pair::HighToHigh(Poles::Any)));
}

#[test]
fn six_step_poles_differ_for_two_thirds_of_a_turn() {
    let samples = 30_000;
    let mut square = 0.0;
    for sample in 0..samples {
        let turn = TAU * (f64::from(sample) + 0.5) / f64::from(samples) + FRAC_PI_2;
        let [one, other] = [0.0, TAU / 3.0].map(|late| libm::sin(turn - late) > 0.0);
        square += if one == other { 0.0 } else { LINK * LINK / f64::from(samples) };
    }
    assert!((square.sqrt() / rms_of(Pair::HighToHigh(Poles::SixStep)) - 1.0).abs() < 1e-3);
}
