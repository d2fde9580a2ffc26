//! Loss in the layers of a winding against the field itself, solved by finite differences, and harmonics against samples.

use std::f64::consts::{PI, TAU};

use loadworthy_physics::converters::forward::{self, Forward};
use loadworthy_physics::converters::full_bridge::{self, FullBridge, Rectifier};
use loadworthy_physics::converters::wave::{HARMONICS, Wave};
use loadworthy_physics::winding_loss::Sheets;
use loadworthy_physics::{Current, Frequency, Inductance, Length, Temperature, Time, Voltage};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

type Complex = (f64, f64);

fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

fn over(a: Complex, b: Complex) -> Complex {
    let square = b.0 * b.0 + b.1 * b.1;
    times(a, (b.0 / square, -b.1 / square))
}

/// Loss of a sheet in which the field rises from `inner` to `outer`, over that of an even current of the same sum, by
/// solving H'' = j·ω·μ·σ·H on a grid. The sheet is `x` skin depths thick; lengths are in skin depths.
fn sheet(x: f64, inner: f64, outer: f64) -> f64 {
    let cells = 1500;
    let step = x / f64::from(cells);
    // H'' = 2j·H in skin depths; tridiagonal, eliminated from the inner face outward.
    let (mut factors, mut rests): (Vec<Complex>, Vec<Complex>) = (vec![(0.0, 0.0)], vec![(inner, 0.0)]);
    for _ in 1..cells {
        let (factor, rest) = (factors[factors.len() - 1], rests[rests.len() - 1]);
        // H_(k−1) = factor·H_k + rest; H_(k−1) − (2 + 2j·s²)·H_k + H_(k+1) = 0.
        let divisor = (2.0 - factor.0, 2.0 * step * step - factor.1);
        factors.push(over((1.0, 0.0), divisor));
        rests.push(over(rest, divisor));
    }
    let mut field = vec![(outer, 0.0)];
    for (factor, rest) in factors.iter().zip(&rests).rev() {
        let above = field[field.len() - 1];
        let product = times(*factor, above);
        field.push((product.0 + rest.0, product.1 + rest.1));
    }
    let density: f64 = field
        .windows(2)
        .map(|pair| {
            let (a, b) = ((pair[0].0 - pair[1].0) / step, (pair[0].1 - pair[1].1) / step);
            (a * a + b * b) * step
        })
        .sum();
    density / ((outer - inner) * (outer - inner) / x)
}

proptest! {
    #![proptest_config(repeatable(24))]

    #[test]
    fn layers_lose_what_their_fields_say(x in 0.02..6.0f64, layers in 1..9_u32, hertz in 1e3..5e5f64, celsius in 0.0..180.0f64) {
        let now = Temperature::celsius(celsius);
        let depth = (1.7241e-8 * (1.0 + 0.00393 * (celsius - 20.0)) / (PI * hertz * 4e-7 * PI)).sqrt();
        let sheets = Sheets::of_foil(Length::new(x * depth), f64::from(layers), 1.0);
        let solved =
            (1..=layers).map(|k| sheet(x, f64::from(k - 1), f64::from(k))).sum::<f64>() / f64::from(layers);
        let ratio = sheets.ratio(Frequency::new(hertz), now);
        prop_assert!((ratio / solved - 1.0).abs() < 1e-4, "{ratio} against {solved}");
    }

    #[test]
    fn waves_have_the_harmonics_of_their_samples(
        corners in prop::collection::vec((0.02..1.0f64, -50.0..50.0f64), 2..8),
    ) {
        let whole: f64 = corners.iter().map(|corner| corner.0).sum();
        let mut wave = Wave::NONE;
        for (k, &(share, from)) in corners.iter().enumerate() {
            let to = corners[(k + 1) % corners.len()].1;
            wave = wave.then(share / whole, Current::new(from), Current::new(to));
        }
        let at = |phase: f64| {
            let mut left = phase * whole;
            for (k, &(share, from)) in corners.iter().enumerate() {
                if left <= share {
                    return from + (corners[(k + 1) % corners.len()].1 - from) * left / share;
                }
                left -= share;
            }
            corners[0].1
        };
        let count = 20_000;
        let samples: Vec<f64> = (0..count).map(|k| at((f64::from(k) + 0.5) / f64::from(count))).collect();
        let square = samples.iter().map(|i| i * i).sum::<f64>() / f64::from(count);
        prop_assert!((wave.square().si() / square - 1.0).abs() < 1e-5);
        let harmonics = wave.harmonics();
        for n in [1, 2, 7, HARMONICS] {
            let turn = |k: usize| TAU * n as f64 * (k as f64 + 0.5) / f64::from(count);
            let real = samples.iter().enumerate().map(|(k, i)| i * libm::cos(turn(k))).sum::<f64>();
            let imaginary = samples.iter().enumerate().map(|(k, i)| i * libm::sin(turn(k))).sum::<f64>();
            let found = 2.0 * (real * real + imaginary * imaginary) / f64::from(count) / f64::from(count);
            prop_assert!((harmonics[n - 1].si() - found).abs() < 1e-5 * square, "{n}");
        }
    }

    #[test]
    fn waves_of_transformers_carry_their_rms_currents(
        duty in 0.2..0.7f64, turns in 4.0..15.0f64, load in 40.0..150.0f64, share in 0.001..0.01f64,
    ) {
        let (input, frequency) = (Voltage::new(400.0), Frequency::new(1e5));
        let (magnetising, output) = (Inductance::new(1.5e-3), Inductance::new(5e-6));
        let leakage = magnetising * share;
        let volts = Voltage::new(400.0 * duty / turns);
        for kind in [Rectifier::CentreTap, Rectifier::CurrentDoubler] {
            let volts = if kind == Rectifier::CentreTap { volts } else { volts * 0.5 };
            let point = full_bridge::solve(kind, &FullBridge {
                input, output: volts, load: Current::new(load), turns, leakage, magnetising,
                output_inductance: output, frequency, switch_capacitance: None,
            });
            prop_assume!(point.check().is_ok());
            let close = |wave: &Wave, rms: Current| (wave.square().root() / rms - 1.0).abs() < 1e-9;
            prop_assert!(close(&point.primary_wave, point.primary_rms));
            prop_assert!(close(&point.rectifier_wave, point.rectifier_rms));
            prop_assert!(close(&point.inductor_wave, point.inductor_rms));
            prop_assert!(point.primary_wave.mean().si().abs() < 1e-9);
            prop_assert!((point.rectifier_wave.mean() / point.rectifier_mean - 1.0).abs() < 1e-9);
        }
        let point = forward::solve(&Forward {
            input, output: volts, load: Current::new(load), turns, leakage, magnetising,
            output_inductance: output, frequency,
        });
        prop_assume!(point.check().is_ok());
        let primary = point.main.forward_square + point.main.backward_square
            + point.clamp.forward_square + point.clamp.backward_square;
        prop_assert!((point.primary_wave.square() / primary - 1.0).abs() < 1e-9);
        prop_assert!((point.forward_wave.square().root() / point.forward_rms - 1.0).abs() < 1e-9);
        prop_assert!((point.inductor_wave.square().root() / point.inductor_rms - 1.0).abs() < 1e-9);
        // What the flux rises by while driven it falls by against the clamp, of which the leakage takes its part.
        let fallen = (point.clamp_voltage * Time::new(point.resetting / frequency.si())).si() / (1.0 + share);
        prop_assert!((fallen / point.volt_seconds.si() - 1.0).abs() < 1e-9);
    }
}
