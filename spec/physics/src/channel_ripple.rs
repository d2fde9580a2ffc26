//! How far the junction of a MOSFET swings above its mean while the phase current turns slowly.
//!
//! Its channel conducts in both half waves, so that its loss comes twice a turn and at standstill to twice its mean, where that
//! of a transistor that conducts in one comes to π times its own. A pole that forms a voltage keeps it switched on for longer in
//! one half wave than in the other. What it switches falls into one half wave, what its body diode loses into the other.

use core::f64::consts::{FRAC_PI_2, PI};

use crate::bounds::at_least_zero;
use crate::{Frequency, Law, LossSlope, Power, TemperatureDifference, ThermalResistance, Time};

/// Law of [`extra_rise`].
pub static EXTRA_RISE: Law = Law {
    name: "crest of a MOSFET's junction above its mean",
    formula: "δT̂ = Σ R_k·(P_ch·g_k + s_k)/(1 − P'·Σ R_k·(h_2 + g_k)); g_k = M·√(9·cos²φ + sin²φ)/2·h_1 + h_2 + M/2·h_3; s_k = π/2·|P_sw − P_D|·h_1 + 2/3·(P_sw + P_D)·h_2, at most π·max(P_sw, P_D) − P_sw − P_D; h_n = 1/√(1 + (n·ω·τ_k)²)",
    validity: "sine current, channel on both ways, zero sequence left out; its crest over the coolant reads 3 % low (index near 1 and slow, as the mean itself rises with the swing) to 10 % high against stepped waveforms, 1 % low to 3 % high below an index of 0.1; up to 30 % high where the index is near 1 and cos φ near 0",
    source: "own sum of the harmonics of i²·(1 + m) and of half waves, compared with stepped waveforms",
};

/// What a MOSFET in a bridge loses over a turn, and how its pole is commanded.
#[derive(Clone, Copy, Debug)]
pub struct Losses {
    /// Mean loss of the channel.
    pub channel: Power,
    /// Mean loss of its own edges.
    pub switching: Power,
    /// Mean loss of its body diode, recovery included.
    pub body: Power,
    /// By how much all of it grows for each kelvin.
    pub per_kelvin: LossSlope,
    /// Crest of the pole's fundamental voltage over half the bus voltage.
    pub index: f64,
    /// Cosine of the angle from voltage to current.
    pub power_factor: f64,
}

/// Crest of the junction above its mean.
///
/// `elements` are resistance and time constant of each Foster element, `output` the frequency of the phase current. No
/// elements, anything unknown, and a junction that would run away at its crest: not a number. See [`EXTRA_RISE`].
#[must_use]
pub fn extra_rise(
    losses: &Losses,
    elements: &[(ThermalResistance, Time)],
    output: Frequency,
) -> TemperatureDifference {
    if elements.is_empty() {
        return TemperatureDifference::new(f64::NAN);
    }
    let Losses { channel, switching, body, per_kelvin, index, power_factor } = *losses;
    let (apart, both) = ((switching.si() - body.si()).abs(), switching.si() + body.si());
    let larger = if switching.si() < body.si() { body.si() } else { switching.si() };
    let first = 0.5 * index * (1.0 + 8.0 * power_factor * power_factor).sqrt();
    let (mut swing, mut gain) = (0.0, 0.0);
    for &(resistance, time_constant) in elements {
        let turn = 2.0 * PI * (time_constant * output);
        let left = |n: f64| 1.0 / (1.0 + (n * turn) * (n * turn)).sqrt();
        let of_channel = first * left(1.0) + left(2.0) + 0.5 * index * left(3.0);
        let edges = FRAC_PI_2 * apart * left(1.0) + 2.0 / 3.0 * both * left(2.0);
        let most = PI * larger - both;
        let edges = if edges > most { most } else { edges };
        swing += resistance.si() * (channel.si() * of_channel + edges);
        gain += resistance.si() * (left(2.0) + of_channel);
    }
    let room = 1.0 - gain * at_least_zero(per_kelvin.si());
    TemperatureDifference::new(if room > 0.0 { swing / room } else { f64::NAN })
}

#[cfg(test)]
mod tests {
    use super::*;

    const NETWORK: [(ThermalResistance, Time); 2] =
        [(ThermalResistance::new(0.15), Time::new(2e-3)), (ThermalResistance::new(0.40), Time::new(15e-3))];
    const CHANNEL: Losses = Losses {
        channel: Power::new(34.0),
        switching: Power::new(0.0),
        body: Power::new(0.0),
        per_kelvin: LossSlope::new(0.0),
        index: 0.0,
        power_factor: 1.0,
    };

    #[test]
    fn at_standstill_a_channel_loses_twice_its_mean_and_at_speed_its_mean() {
        let still = extra_rise(&CHANNEL, &NETWORK, Frequency::ZERO);
        assert!((still.si() - 34.0 * 0.55).abs() < 1e-9);
        assert!(extra_rise(&CHANNEL, &NETWORK, Frequency::new(1e6)).si() < 1e-3);
    }

    #[test]
    fn a_full_index_along_the_current_doubles_the_crest() {
        // 2·sin²θ·(1 + sin θ) is 4 at its crest.
        let full = Losses { index: 1.0, ..CHANNEL };
        assert!((extra_rise(&full, &NETWORK, Frequency::ZERO).si() - 3.0 * 34.0 * 0.55).abs() < 1e-9);
    }

    #[test]
    fn edges_alone_swing_to_pi_times_their_mean() {
        let edges = Losses { channel: Power::new(0.0), switching: Power::new(10.0), ..CHANNEL };
        let still = extra_rise(&edges, &NETWORK, Frequency::ZERO);
        assert!((still.si() - 10.0 * 0.55 * (PI - 1.0)).abs() < 1e-9);
    }

    #[test]
    fn a_loss_that_rises_with_temperature_swings_further_until_it_runs_away() {
        // At standstill: R·P/(1 − 2·R·P').
        let warm = Losses { per_kelvin: LossSlope::new(0.15), ..CHANNEL };
        let still = extra_rise(&warm, &NETWORK, Frequency::ZERO).si();
        assert!((still - 34.0 * 0.55 / (1.0 - 2.0 * 0.55 * 0.15)).abs() < 1e-9);
        let away = Losses { per_kelvin: LossSlope::new(1.0), ..CHANNEL };
        assert!(extra_rise(&away, &NETWORK, Frequency::ZERO).si().is_nan());
    }

    #[test]
    fn an_unknown_network_is_not_taken_as_none() {
        assert!(extra_rise(&CHANNEL, &[], Frequency::new(5.0)).si().is_nan());
    }
}
