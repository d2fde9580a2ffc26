//! A half-sine loss in a thermal network, periodic and exact: what the closed form of the crest is held
//! against.

use std::f64::consts::PI;

use libm::{cos, exp, sin};
use loadworthy_physics::{Frequency, LossSlope, Power, ThermalResistance, Time, junction_ripple};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// Rise of the junction, `time` into the loss, of `peak`·sin in the first half of each period.
fn rise(peak: f64, network: &[(f64, f64)], output: f64, time: f64) -> f64 {
    let w = 2.0 * PI * output;
    network
        .iter()
        .map(|&(r, tau)| {
            let q = w * tau;
            let left = 1.0 - exp(-1.0 / (2.0 * output * tau));
            peak * r / (1.0 + q * q) * (sin(w * time) - q * cos(w * time) + q * exp(-time / tau) / left)
        })
        .sum()
}

/// Largest rise within the half period in which there is loss; the elements are added up before it is sought.
pub(crate) fn peak_rise(peak: f64, network: &[(f64, f64)], output: f64) -> f64 {
    let at = |share: f64| rise(peak, network, output, share / (2.0 * output));
    let steps = 400;
    let share = |step: i32| f64::from(step) / f64::from(steps);
    let best = (0..=steps).fold(0, |best, step| if at(share(step)) > at(share(best)) { step } else { best });
    let (mut low, mut high) = (share(best - 1), share(best + 1));
    for _ in 0..60 {
        let (third, two_thirds) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if at(third) < at(two_thirds) { low = third } else { high = two_thirds }
    }
    at(0.5 * (low + high))
}

proptest! {
    #![proptest_config(repeatable(300))]

    #[test]
    fn crest_of_one_element_is_met_within_three_percent_from_above(
        tau in 1e-3..1.0f64, log_f in -1.5..3.0f64,
    ) {
        let f = libm::pow(10.0, log_f);
        let exact = peak_rise(PI, &[(0.1, tau)], f);
        let closed = junction_ripple::peak_rise(
            Power::new(1.0), &[(ThermalResistance::new(0.1), Time::new(tau))], Frequency::new(f)).si();
        prop_assert!(closed >= exact * (1.0 - 1e-6) && closed <= exact * 1.025, "{closed} against {exact}");
    }

    #[test]
    fn crest_of_a_chain_is_never_low(
        network in prop::collection::vec((0.005..0.1f64, -3.0..0.3f64), 1..6), log_f in -1.0..2.5f64,
    ) {
        let network: Vec<_> = network.into_iter().map(|(r, log_tau)| (r, libm::pow(10.0, log_tau))).collect();
        let f = libm::pow(10.0, log_f);
        let exact = peak_rise(100.0 * PI, &network, f);
        let typed: Vec<_> =
            network.iter().map(|&(r, tau)| (ThermalResistance::new(r), Time::new(tau))).collect();
        let closed = junction_ripple::peak_rise(Power::new(100.0), &typed, Frequency::new(f)).si();
        prop_assert!(closed >= exact * (1.0 - 1e-6) && closed <= exact * 1.15, "{closed} against {exact}");
    }
}

/// Largest rise of a junction over a case at rest, stepped: the loss is half a sine in part and its square in part, and grows
/// with the junction as it swings.
fn stepped(network: &[(f64, f64)], (loss, squared, growth): (f64, f64, f64), output: f64) -> f64 {
    const STEPS: u32 = 600;
    let mean: f64 = network.iter().map(|&(r, _)| r * loss).sum();
    let step = 1.0 / (output * f64::from(STEPS));
    let mut rises: Vec<f64> = network.iter().map(|&(r, _)| r * loss).collect();
    let slowest = network.iter().fold(0.0, |slowest: f64, &(_, tau)| slowest.max(tau));
    let turns = (0_u32..).take_while(|&turns| f64::from(turns) < 9.0 + 10.0 * slowest * output).count();
    let mut most = 0.0_f64;
    for turn in 0..turns {
        for place in 0..STEPS {
            let current = sin(2.0 * PI * (f64::from(place) + 0.5) / f64::from(STEPS)).max(0.0);
            let shape = PI * current * (loss - squared) + 4.0 * current * current * squared;
            let now = shape * (1.0 + growth / loss * (rises.iter().sum::<f64>() - mean));
            for (rise, &(r, tau)) in rises.iter_mut().zip(network) {
                let left = exp(-step / tau);
                *rise = *rise * left + r * now * (1.0 - left);
            }
            if turn + 1 == turns {
                most = most.max(rises.iter().sum());
            }
        }
    }
    most
}

#[test]
fn a_crest_over_a_case_at_rest_is_met_from_above_with_a_loss_that_grows() {
    let networks: [&[(f64, f64)]; 3] = [
        &[(0.012, 0.002), (0.03, 0.02), (0.05, 0.08), (0.018, 0.3)],
        &[(0.022, 0.008), (0.050, 0.090)],
        &[(0.1, 0.001), (0.25, 0.01), (0.15, 0.05)],
    ];
    let mut seen = 0;
    for network in networks {
        let path: f64 = network.iter().map(|&(r, _)| r).sum();
        let typed: Vec<_> =
            network.iter().map(|&(r, tau)| (ThermalResistance::new(r), Time::new(tau))).collect();
        for (rise, share, grows) in
            [(15.0, 0.0, 0.0), (15.0, 0.6, 0.004), (35.0, 0.3, 0.002), (35.0, 0.6, 0.004)]
        {
            let loss = rise / path;
            for output in [1.0, 2.0, 5.0, 20.0, 100.0] {
                let exact = stepped(network, (loss, share * loss, grows * loss), output);
                if exact > 110.0 {
                    continue;
                }
                let half_waves = junction_ripple::HalfWaves {
                    loss: Power::new(loss),
                    squared: Power::new(share * loss),
                    per_kelvin: LossSlope::new(grows * loss),
                };
                let extra = junction_ripple::extra_rise(&half_waves, &typed, Frequency::new(output)).si();
                let closed = rise + extra;
                assert!(
                    closed >= 0.995 * exact && closed <= 1.12 * exact,
                    "{closed} against {exact} at {output} Hz"
                );
                seen += 1;
            }
        }
    }
    assert!(seen > 40, "{seen}");
}
