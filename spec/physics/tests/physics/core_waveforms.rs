//! Core loss against the integral over the waveform itself.

use std::f64::consts::TAU;

use loadworthy_physics::core_loss::Steinmetz;
use loadworthy_physics::{FluxDensity, Frequency};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// 1/T·∫ k_i·|dB/dt|^α·ΔB^(β − α) dt, the flux given at evenly spaced instants of its period.
fn integrated(core: Steinmetz, frequency: f64, flux: &[f64]) -> f64 {
    let Steinmetz { factor, frequency_exponent: alpha, flux_exponent: beta } = core;
    // k_i is chosen so that a sine gives its measured loss: ∫|cos|^α over a turn, by sampling.
    let samples = 40_000;
    let turn: f64 = (0..samples)
        .map(|k| libm::pow(libm::cos(TAU * (f64::from(k) + 0.5) / f64::from(samples)).abs(), alpha))
        .sum::<f64>()
        * TAU
        / f64::from(samples);
    let scale = factor / (libm::pow(TAU, alpha - 1.0) * turn * libm::pow(2.0, beta - alpha));
    let swing = flux.iter().copied().fold(f64::MIN, f64::max) - flux.iter().copied().fold(f64::MAX, f64::min);
    let count = flux.len();
    let step = 1.0 / (frequency * count as f64);
    let mean =
        (0..count).map(|k| libm::pow(((flux[(k + 1) % count] - flux[k]) / step).abs(), alpha)).sum::<f64>()
            / count as f64;
    scale * libm::pow(swing, beta - alpha) * mean
}

proptest! {
    #![proptest_config(repeatable(30))]

    #[test]
    fn triangles_and_trapezoids(
        alpha in 1.1..2.0f64, beta in 2.0..2.8f64, frequency in 5e3..300e3f64, swing in 0.02..0.4f64,
        hundredths in 5..96_usize,
    ) {
        let core = Steinmetz { factor: 0.5, frequency_exponent: alpha, flux_exponent: beta };
        let (f, db) = (Frequency::new(frequency), FluxDensity::new(swing));
        // So many samples that corners fall on one.
        let count = 2000;
        let duty = hundredths as f64 / 100.0;
        let triangle: Vec<f64> = (0..count)
            .map(|k| {
                let at = k as f64 / count as f64;
                swing * if at < duty { at / duty } else { (1.0 - at) / (1.0 - duty) }
            })
            .collect();
        let measured = integrated(core, frequency, &triangle);
        prop_assert!((core.triangle(f, db, duty).si() / measured - 1.0).abs() < 1e-3);
        let trapezoid: Vec<f64> = (0..count)
            .map(|k| {
                let at = k as f64 / count as f64;
                let (half, sign) = if at < 0.5 { (2.0 * at, 1.0) } else { (2.0 * at - 1.0, -1.0) };
                sign * swing * ((half / duty).min(1.0) - 0.5)
            })
            .collect();
        let measured = integrated(core, frequency, &trapezoid);
        prop_assert!((core.trapezoid(f, db, duty).si() / measured - 1.0).abs() < 1e-3);
        let sine: Vec<f64> =
            (0..count).map(|k| 0.5 * swing * libm::sin(TAU * k as f64 / count as f64)).collect();
        let measured = integrated(core, frequency, &sine);
        prop_assert!((core.sine(f, db * 0.5).si() / measured - 1.0).abs() < 1e-3);
    }

    #[test]
    fn ramps_with_rests_between(
        alpha in 1.1..2.0f64, beta in 2.0..2.8f64, frequency in 5e3..300e3f64, swing in 0.02..0.4f64,
        rising in 5..60_usize, falling in 5..35_usize,
    ) {
        let core = Steinmetz { factor: 0.5, frequency_exponent: alpha, flux_exponent: beta };
        let count = 2000;
        let (up, down) = (rising as f64 / 100.0, falling as f64 / 100.0);
        // Rises, rests at the top for 3 %, falls, and rests at the bottom.
        let flux: Vec<f64> = (0..count)
            .map(|k| {
                let at = k as f64 / count as f64;
                let fallen = ((at - up - 0.03) / down).clamp(0.0, 1.0);
                swing * ((at / up).min(1.0) - fallen)
            })
            .collect();
        let measured = integrated(core, frequency, &flux);
        let found = core.ramps(Frequency::new(frequency), FluxDensity::new(swing), up, down).si();
        prop_assert!((found / measured - 1.0).abs() < 1e-3, "{found} against {measured}");
    }
}
