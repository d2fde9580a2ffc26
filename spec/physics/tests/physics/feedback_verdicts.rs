//! Whether a loss comes to rest, and where: closed forms against a scan that knows nothing but the loss
//! itself.

use loadworthy_physics::loss_feedback::{self, Feedback, QuadraticResistance};
use loadworthy_physics::{Current, Power, Resistance, Temperature, TemperatureDifference, ThermalResistance};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// The lowest temperature above the coolant at which `loss` is carried away, found by steps and halving.
fn scanned(coolant: f64, path: f64, loss: impl Fn(f64) -> f64) -> Option<f64> {
    let excess = |t: f64| t - coolant - path * loss(t);
    let step = 0.25;
    let above = (1..8000).map(|k| coolant + step * f64::from(k)).find(|&t| excess(t) >= 0.0)?;
    let (mut low, mut high) = (above - step, above);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) >= 0.0 { high = middle } else { low = middle }
    }
    Some(high)
}

fn agree(closed: Feedback, scanned: Option<f64>) -> Result<(), TestCaseError> {
    match (closed, scanned) {
        (Feedback::Steady { temperature, loop_gain }, Some(t)) => {
            // A root where the gain is close to one is flat, and a scan cannot place it better.
            let tolerance = 1e-6 / (1.0 - loop_gain).max(1e-6);
            prop_assert!((temperature.in_celsius() - t).abs() < tolerance, "{temperature} against {t} °C");
        }
        // A scan may step over a pair of roots closer than its step, and ends at some temperature.
        (Feedback::Steady { temperature, loop_gain }, None) => {
            prop_assert!(loop_gain > 0.97, "{temperature} was not found by the scan");
        }
        (Feedback::NoSteadyState { .. }, None) => {}
        (Feedback::NoSteadyState { .. }, Some(t)) => prop_assert!(false, "{t} °C holds after all"),
        (Feedback::NotJudged, _) => prop_assert!(false, "every input is given"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(repeatable(200))]

    #[test]
    fn growing_resistance(
        coolant in -40.0..110.0f64, path in 0.02..1.0f64, rms in 1.0..300.0f64, milliohm in 0.5..20.0f64,
        per_kelvin in 0.0..0.008f64, per_square_kelvin in 1e-6..3e-5f64,
    ) {
        let at_25 = Resistance::new(milliohm * 1e-3);
        let resistance = QuadraticResistance { at_25, per_kelvin, per_square_kelvin };
        let closed = loss_feedback::quadratic_resistance(
            Temperature::celsius(coolant), ThermalResistance::new(path), Current::new(rms), resistance);
        let loss = |t: f64| {
            let x = t - 25.0;
            rms * rms * milliohm * 1e-3 * (1.0 + per_kelvin * x + per_square_kelvin * x * x)
        };
        prop_assume!(loss(coolant) > 0.0);
        if let Feedback::Steady { temperature, .. } = closed {
            // The scan ends 2000 K above the coolant.
            prop_assume!(temperature.in_celsius() < 1900.0);
        }
        agree(closed, scanned(coolant, path, loss))?;
    }

    #[test]
    fn growing_leakage(
        coolant in -40.0..110.0f64, path in 0.02..1.5f64, constant in 0.0..300.0f64, leak in 0.01..30.0f64,
        reference in 25.0..150.0f64, fold in 8.0..50.0f64,
    ) {
        let closed = loss_feedback::leakage(
            Temperature::celsius(coolant),
            ThermalResistance::new(path),
            Power::new(constant),
            Power::new(leak),
            Temperature::celsius(reference),
            TemperatureDifference::new(fold),
        );
        let loss = |t: f64| constant + leak * libm::exp((t - reference) / fold);
        agree(closed, scanned(coolant, path, loss))?;
    }
}
