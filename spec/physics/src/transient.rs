//! How far a junction warms in a limited time.
//!
//! The thermal impedance of a chip is a sum of elements, each a resistance with a time constant. What an element had
//! when a step begins fades by exp(−t/τ), and the loss of the step brings the rest; over a step of constant loss that
//! is exact, however long the step.

use crate::junction_ripple::weighted;
use crate::{HeatCapacity, Law, Power, TemperatureDifference, ThermalResistance, Time};

/// Law of [`remains`].
pub static FADES: Law = Law {
    name: "what a thermal element keeps over a time",
    formula: "θ(t) = θ_0·exp(−t/τ) + R·P·(1 − exp(−t/τ))",
    validity: "constant loss over the step",
    source: "solution of dθ/dt = (R·P − θ)/τ",
};

/// Share of its rise that an element keeps over a time without loss (plain number within 0 … 1).
///
/// No time constant at all is an element without capacity: it keeps nothing. See [`FADES`].
#[inline]
pub fn remains(time: Time, time_constant: Time) -> f64 {
    if time_constant.si() == 0.0 { 0.0 } else { libm::exp(-(time / time_constant)) }
}

/// Time constant of a body of this heat capacity behind this resistance.
#[inline]
pub fn time_constant(resistance: ThermalResistance, capacity: HeatCapacity) -> Time {
    resistance * capacity
}

/// Rise at the end of a single pulse from cold. `elements` are resistance and time constant of each element; none at
/// all is a network that is not known, and the answer is not a number.
///
/// `ΔT = P·Σ R_k·(1 − exp(−t/τ_k))`. Valid: constant loss, from a cold start; case held. Source: IEC 60747-9: transient
/// thermal impedance as a sum of exponentials.
#[inline]
pub fn pulse_rise(loss: Power, elements: &[(ThermalResistance, Time)], lasts: Time) -> TemperatureDifference {
    weighted(loss, elements, |time_constant| 1.0 - remains(lasts, time_constant))
}

/// Rise at the end of each pulse of a settled train: pulses of `on`, one every `period`. A period shorter than its
/// pulse is not a number.
///
/// `ΔT = P·Σ R_k·(1 − exp(−t_on/τ_k))/(1 − exp(−t_period/τ_k)); before the next, each term times exp(−(t_period −
/// t_on)/τ_k)`. Valid: constant loss within the pulses, settled; case held. Source: geometric series of single pulses.
#[inline]
pub fn train_peak(
    loss: Power,
    elements: &[(ThermalResistance, Time)],
    on: Time,
    period: Time,
) -> TemperatureDifference {
    weighted(loss, elements, |time_constant| settled(on, period, time_constant))
}

/// Rise that is left when the next pulse of a settled train begins; otherwise as [`train_peak`].
#[inline]
pub fn train_valley(
    loss: Power,
    elements: &[(ThermalResistance, Time)],
    on: Time,
    period: Time,
) -> TemperatureDifference {
    weighted(loss, elements, |time_constant| {
        settled(on, period, time_constant) * remains(period - on, time_constant)
    })
}

#[inline]
fn settled(on: Time, period: Time, time_constant: Time) -> f64 {
    if period < on {
        return f64::NAN;
    }
    (1.0 - remains(on, time_constant)) / (1.0 - remains(period, time_constant))
}

#[cfg(test)]
mod tests {
    use super::*;

    const NETWORK: [(ThermalResistance, Time); 2] = [
        (ThermalResistance::new(0.020), Time::new(0.005)),
        (ThermalResistance::new(0.046), Time::new(0.080)),
    ];

    #[test]
    fn a_long_pulse_is_the_steady_rise_and_a_short_one_warms_along_a_line() {
        let long = pulse_rise(Power::new(200.0), &NETWORK, Time::new(10.0));
        assert!((long.si() - 200.0 * 0.066).abs() < 1e-9);
        // ΔT ≈ P·t·Σ R/τ: 200 W for 1 µs over 4 + 0.575 K/J make 0.915 mK.
        let short = pulse_rise(Power::new(200.0), &NETWORK, Time::new(1e-6));
        assert!((short.si() - 0.915e-3).abs() < 1e-6);
    }

    #[test]
    fn a_train_without_pauses_is_held_and_one_with_long_pauses_is_a_pulse() {
        let (loss, on) = (Power::new(200.0), Time::new(0.02));
        let held = train_peak(loss, &NETWORK, on, on);
        assert!((held.si() - 200.0 * 0.066).abs() < 1e-9);
        let rare = train_peak(loss, &NETWORK, on, Time::new(100.0));
        assert!((rare - pulse_rise(loss, &NETWORK, on)).si().abs() < 1e-9);
        assert!(train_valley(loss, &NETWORK, on, Time::new(100.0)).si().abs() < 1e-9);
    }

    #[test]
    fn what_makes_no_sense_is_not_a_number() {
        let (loss, on) = (Power::new(200.0), Time::new(0.02));
        assert!(train_peak(loss, &NETWORK, on, Time::new(0.01)).si().is_nan());
        assert!(pulse_rise(loss, &[], on).si().is_nan());
    }
}
