//! A half-sine loss in a thermal network, periodic and exact: what the closed form of the crest is held
//! against.

use std::f64::consts::PI;

use libm::{cos, exp, sin};
use loadworthy_physics::{Frequency, Power, ThermalResistance, Time, junction_ripple};
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
