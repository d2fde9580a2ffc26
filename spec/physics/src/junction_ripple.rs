//! How far a junction swings above its mean while the phase current turns slowly.
//!
//! The loss of a device comes in half waves. Elements of its thermal network that are slow against the turn
//! see the mean; fast ones follow the crest, which is π times the mean at standstill.

use core::f64::consts::{FRAC_PI_2, PI};

use crate::bounds::at_least_zero;
use crate::{Frequency, Law, LossSlope, Power, TemperatureDifference, ThermalResistance, Time};

/// Law of [`extra_rise`].
pub static EXTRA_RISE: Law = Law {
    name: "crest of the junction above its mean",
    formula: "δT̂ = Σ R_k·((P − P_r)·g_k + P_r·s_k)/(1 − P'·Σ R_k·(G_k + 0.6·h_1)), G_k = g_k and s_k in the shares of P; g_k = π/2·h_1 + 2/3·h_2, at most π − 1; s_k = 16/(3·π)·h_1 + h_2 + 16/(15·π)·h_3, at most 3; h_n = 1/√(1 + (n·ω·τ_k)²)",
    validity: "one half wave a turn, small index; the rise over the case reads 0 to 11 % high against stepped waveforms up to 110 K and growth to 0.4 % a kelvin, 6 % low to 19 % high at any",
    source: "own sum of the harmonics of half a sine and of its square, with the loss that grows as the junction swings; compared with stepped waveforms",
};

/// What a device that conducts in one half wave loses over a turn.
#[derive(Clone, Copy, Debug)]
pub struct HalfWaves {
    /// Mean loss.
    pub loss: Power,
    /// The part of it that goes with the square of the current.
    pub squared: Power,
    /// By how much the loss grows for each kelvin.
    pub per_kelvin: LossSlope,
}

/// Law of cases that stand at the mean of a turn; see [`LEAST_FREQUENCY`].
pub static CASE_AT_REST: Law = Law {
    name: "case at the mean of a turn",
    formula: "T_c = T_coolant + R·P_avg",
    validity: "an output of 1 Hz or more: a module of 100 to 500 J/K on 0.03 to 0.1 K/W takes 5 to 30 s to follow, a discrete package on its pad about 1 s",
    source: "own estimate of what cases hold",
};

/// The slowest output at which a case stands at the mean of a turn; see [`CASE_AT_REST`].
pub const LEAST_FREQUENCY: Frequency = Frequency::new(1.0);

/// Crest of an element's rise over its mean (plain number within 1 … π).
///
/// `time_constant` is τ of the element, `output` the frequency of the phase current; zero is standstill and gives π.
///
/// `k = 1 + (π/2)/√(1 + (ω·τ)²) + (2/3)/√(1 + (2·ω·τ)²), at most π; ω = 2·π·f`. Valid: half waves of a sine; 0 to 2.5 %
/// high for one element, never low. Source: own sum of the half wave's first two harmonics, compared with stepped
/// waveforms.
#[inline]
pub fn peak_factor(time_constant: Time, output: Frequency) -> f64 {
    let turn = 2.0 * PI * (time_constant * output);
    let factor =
        1.0 + FRAC_PI_2 / (1.0 + turn * turn).sqrt() + (2.0 / 3.0) / (1.0 + 4.0 * turn * turn).sqrt();
    if factor > PI { PI } else { factor }
}

/// Mean rise of the junction over the case.
///
/// `elements` are resistance and time constant of each Foster element; none at all is a network that is not
/// known, and the answer is not a number.
///
/// `ΔT = P_avg·Σ R_k`. Valid: steady. Source: definition of the thermal network's elements.
#[inline]
pub fn mean_rise(average: Power, elements: &[(ThermalResistance, Time)]) -> TemperatureDifference {
    weighted(average, elements, |_| 1.0)
}

/// Crest of the junction's rise over the case.
///
/// `average` is the device's mean loss, `elements` are resistance and time constant of each Foster element, `output`
/// the frequency of the phase current. Each element is held at π itself, which is closer than holding only their sum,
/// and still a bound, because the crests of the elements at worst fall together. No elements: not a number.
///
/// `ΔT̂ = P_avg·Σ R_k·k(f, τ_k)`. Valid: loss in half waves of a sine; up to 7 % high for common chains of four
/// elements, 15 % for any, never low. Source: own sum over elements whose crests do not fall together, compared with
/// stepped waveforms.
#[inline]
pub fn peak_rise(
    average: Power,
    elements: &[(ThermalResistance, Time)],
    output: Frequency,
) -> TemperatureDifference {
    weighted(average, elements, |time_constant| peak_factor(time_constant, output))
}

/// Crest of the junction above its mean.
///
/// `elements` are resistance and time constant of each Foster element, `output` the frequency of the phase current. No
/// elements, anything unknown, and a junction that would run away at its crest: not a number. See [`EXTRA_RISE`].
#[inline]
pub fn extra_rise(
    half_waves: &HalfWaves,
    elements: &[(ThermalResistance, Time)],
    output: Frequency,
) -> TemperatureDifference {
    if elements.is_empty() {
        return TemperatureDifference::new(f64::NAN);
    }
    let (loss, squared) = (half_waves.loss.si(), half_waves.squared.si());
    let growth = at_least_zero(half_waves.per_kelvin.si());
    // Growth relative to the loss weighs the swing; without a loss nothing swings.
    let share = if loss > 0.0 { growth / loss } else { 0.0 };
    let (mut swing, mut mean) = (0.0, 0.0);
    for &(resistance, time_constant) in elements {
        let turn = 2.0 * PI * (time_constant * output);
        let left = |n: f64| 1.0 / (1.0 + (n * turn) * (n * turn)).sqrt();
        let sine = peak_factor(time_constant, output) - 1.0;
        let square = 16.0 / (3.0 * PI) * left(1.0) + left(2.0) + 16.0 / (15.0 * PI) * left(3.0);
        let square = if square > 3.0 { 3.0 } else { square };
        swing += resistance.si() * ((loss - squared) * sine + squared * square);
        mean += resistance.si() * MEAN_FOLLOWS * left(1.0);
    }
    let room = 1.0 - share * swing - growth * mean;
    TemperatureDifference::new(if room > 0.0 { swing / room } else { f64::NAN })
}

/// How far the mean loss rises with the first harmonic of the swing; fitted to stepped waveforms.
const MEAN_FOLLOWS: f64 = 0.6;

/// Rise of a loss over the elements, each with its share of it; an unknown network is not a number.
#[inline]
pub(crate) fn weighted(
    average: Power,
    elements: &[(ThermalResistance, Time)],
    factor: impl Fn(Time) -> f64,
) -> TemperatureDifference {
    if elements.is_empty() {
        return TemperatureDifference::new(f64::NAN);
    }
    let path: ThermalResistance =
        elements.iter().map(|&(resistance, time_constant)| resistance * factor(time_constant)).sum();
    average * path
}

#[cfg(test)]
mod tests {
    use super::*;

    const NETWORK: [(ThermalResistance, Time); 2] = [
        (ThermalResistance::new(0.020), Time::new(0.005)),
        (ThermalResistance::new(0.046), Time::new(0.080)),
    ];

    #[test]
    fn standstill_is_pi_times_the_mean_and_fast_turning_is_the_mean() {
        let mean = mean_rise(Power::new(180.0), &NETWORK);
        assert!((mean.si() - 180.0 * 0.066).abs() < 1e-12);
        assert!((peak_rise(Power::new(180.0), &NETWORK, Frequency::ZERO) / mean - PI).abs() < 1e-12);
        assert!((peak_rise(Power::new(180.0), &NETWORK, Frequency::new(1e6)) / mean - 1.0).abs() < 1e-3);
    }

    #[test]
    fn one_element_at_its_own_corner() {
        // ω·τ = 1: 1 + π/(2·√2) + 2/(3·√5) = 2.40887.
        let factor = peak_factor(Time::new(1.0 / (2.0 * PI)), Frequency::new(1.0));
        assert!((factor - 2.408_87).abs() < 1e-5);
    }

    #[test]
    fn extra_and_mean_make_the_crest_of_a_loss_that_does_not_grow() {
        let (p, f) = (Power::new(180.0), Frequency::new(5.0));
        let half_waves = HalfWaves { loss: p, squared: Power::new(0.0), per_kelvin: LossSlope::new(0.0) };
        let sum = mean_rise(p, &NETWORK) + extra_rise(&half_waves, &NETWORK, f);
        assert!((sum - peak_rise(p, &NETWORK, f)).si().abs() < 1e-12);
    }

    #[test]
    fn at_standstill_a_square_stands_at_four_times_its_mean_and_grows_as_it_warms() {
        let still = |squared: f64, growth: f64| {
            let half_waves = HalfWaves {
                loss: Power::new(180.0),
                squared: Power::new(squared),
                per_kelvin: LossSlope::new(growth),
            };
            extra_rise(&half_waves, &NETWORK, Frequency::ZERO).si()
        };
        assert!((still(180.0, 0.0) - 3.0 * 180.0 * 0.066).abs() < 1e-9);
        assert!(still(0.0, 0.5) > still(0.0, 0.0));
        // A crest that feeds itself has no end.
        assert!(still(0.0, 10.0).is_nan());
    }

    #[test]
    fn an_unknown_network_is_not_taken_as_none() {
        assert!(peak_rise(Power::new(180.0), &[], Frequency::new(5.0)).si().is_nan());
        let half_known = [(ThermalResistance::new(0.02), Time::new(f64::NAN))];
        assert!(peak_rise(Power::new(180.0), &half_known, Frequency::new(5.0)).si().is_nan());
    }
}
