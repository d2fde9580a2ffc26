//! Ripple of a three-phase bridge at its carrier: the lines of its link current, what two synchronised bridges have in
//! common, and the ripple of the link voltage.
//!
//! Within a carrier period the references stand still. Each upper switch is then on for a share d of the period about its
//! middle, so that the link current is even in time and each line a sum of three cosines.

use core::f64::consts::{FRAC_PI_3, PI, TAU};

use crate::bounds::cosine;
use crate::{Capacitance, Current, Frequency, Law, Modulation, Voltage};

const SOURCE: &str = "own Fourier sum over the pulses of three legs; compared with sampled waveforms";

/// Law of [`in_common`].
pub static IN_COMMON: Law = Law {
    name: "ripple current of synchronised bridges",
    formula: "I² = I_1² + I_2² + Σ_k mean(a_1k·a_2k)·cos(k·φ), a_k = Σ_legs i·2/(k·π)·sin(k·π·d)",
    validity: "one carrier frequency, 12 lines; outputs that turn alike in the worst angle of one against the other, others over all angles",
    source: SOURCE,
};

/// Law of [`voltage_ripple`].
pub static VOLTAGE_RIPPLE: Law = Law {
    name: "ripple of the link voltage from a bridge, peak to peak",
    formula: "ΔV = max over θ of max|q_k|/(C·f), q_1 = I_dc·(1 − d_1), q_2 = q_1 + (I_dc − i_1)·(d_1 − d_2), q_3 = I_dc·d_3, d_1 ≥ d_2 ≥ d_3",
    validity: "source without ripple; 0.8 % against sampled waveforms at 201 carrier periods a turn from M = 0.3, 5.4 % at 21; resistance and inductance of the capacitor come on top",
    source: SOURCE,
};

/// Lines that are summed; what lies above carries less than 2 % of the mean square.
const LINES: usize = 12;
/// Angles over a third of a turn, after which the lines repeat.
const ANGLES: usize = 24;
/// Angles over a turn at which the ripple of the voltage is looked for.
const SCAN: usize = 60;

/// Lines of the link current of one bridge: for each angle of its output, the amplitude of each multiple of the carrier.
#[derive(Clone, Debug, PartialEq)]
pub struct Lines([[f64; LINES]; ANGLES]);

/// Shares of the period and currents of the three legs at an angle of the voltage, for a crest of one.
fn legs(m: f64, cos_phi: f64, modulation: Modulation, angle: f64) -> [(f64, f64); 3] {
    let phi = libm::acos(cosine(cos_phi));
    [0.0, 1.0, 2.0].map(|leg| {
        let at = angle - leg * 2.0 * FRAC_PI_3;
        let share = 0.5 * (1.0 + modulation.reference(m, at));
        let share = if share < 0.0 {
            0.0
        } else if share > 1.0 {
            1.0
        } else {
            share
        };
        (share, libm::cos(at - phi))
    })
}

impl Lines {
    /// Lines of a bridge.
    ///
    /// `peak` is the crest of the phase current, `m` the modulation index at the poles, `cos_phi` the power factor with its
    /// sign.
    #[must_use]
    pub fn of(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> Self {
        let mut lines = [[0.0; LINES]; ANGLES];
        for (place, of_angle) in lines.iter_mut().enumerate() {
            let legs = legs(m, cos_phi, modulation, place_angle(place));
            for (k, line) in of_angle.iter_mut().enumerate() {
                let order = k as f64 + 1.0;
                let pulses = legs.iter().map(|(share, amps)| amps * libm::sin(order * PI * share));
                *line = peak.si() * 2.0 / (order * PI) * pulses.sum::<f64>();
            }
        }
        Self(lines)
    }

    /// RMS current of all lines together.
    #[must_use]
    pub fn rms(&self) -> Current {
        let squares = self.0.iter().flatten().map(|line| 0.5 * line * line).sum::<f64>();
        Current::new((squares / ANGLES as f64).sqrt())
    }
}

fn place_angle(place: usize) -> f64 {
    2.0 * FRAC_PI_3 * (place as f64 + 0.5) / ANGLES as f64
}

/// Twice the mean product of the ripple of two bridges, in A²: what their sum has beyond the sum of their squares.
///
/// `shift` is the angle by which the second carrier lags, `alike` whether both outputs turn at one frequency; the angle
/// between them is then the worst one. See [`IN_COMMON`].
#[must_use]
pub fn in_common(one: &Lines, other: &Lines, shift: f64, alike: bool) -> f64 {
    let weight: [f64; LINES] = core::array::from_fn(|k| libm::cos((k as f64 + 1.0) * shift));
    let product = |a: &[f64; LINES], b: &[f64; LINES]| -> f64 {
        a.iter().zip(b).zip(&weight).map(|((a, b), weight)| a * b * weight).sum()
    };
    if alike {
        let at = |offset: usize| -> f64 {
            let pairs = (0..ANGLES).map(|place| product(&one.0[place], &other.0[(place + offset) % ANGLES]));
            pairs.sum::<f64>() / ANGLES as f64
        };
        return (1..ANGLES)
            .map(at)
            .fold(at(0), |worst, one| if one > worst { one } else { worst + 0.0 * one });
    }
    let mean = |lines: &Lines| -> [f64; LINES] {
        core::array::from_fn(|k| lines.0.iter().map(|line| line[k]).sum::<f64>() / ANGLES as f64)
    };
    product(&mean(one), &mean(other))
}

/// Ripple of the link voltage from a bridge, peak to peak within a carrier period. See [`VOLTAGE_RIPPLE`].
#[must_use]
pub fn voltage_ripple(
    peak: Current,
    m: f64,
    cos_phi: f64,
    modulation: Modulation,
    capacitance: Capacitance,
    carrier: Frequency,
) -> Voltage {
    let mut most = 0.0;
    for place in 0..SCAN {
        let mut legs = legs(m, cos_phi, modulation, TAU * place as f64 / SCAN as f64);
        let mean: f64 = legs.iter().map(|(share, amps)| share * amps).sum();
        legs.sort_by(|one, other| other.0.total_cmp(&one.0));
        let [(first, amps), (second, _), (third, _)] = legs;
        let before = mean * (1.0 - first);
        for charge in [before, before + (mean - amps) * (first - second), mean * third] {
            if charge.abs() > most {
                most = charge.abs();
            }
        }
    }
    // What is missing is lost in the comparisons and comes back here.
    let known = 0.0 * m * cos_phi;
    Voltage::new(peak.si() * (most + known) / (capacitance.si() * carrier.si()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link_ripple;

    #[test]
    fn the_lines_together_are_the_ripple_of_the_closed_form() {
        for (m, cos_phi) in [(0.8, 0.92), (0.6, -0.8), (1.05, 0.92), (0.9, 0.0), (0.4, 0.85)] {
            let lines = Lines::of(Current::new(2f64.sqrt()), m, cos_phi, Modulation::SpaceVector).rms().si();
            let closed = link_ripple::capacitor_rms(Current::new(1.0), m, cos_phi).si();
            assert!((lines / closed - 1.0).abs() < 0.015, "{m} {cos_phi}: {lines} against {closed}");
        }
    }

    #[test]
    fn in_phase_twins_double_and_a_quarter_period_cancels_the_second_line() {
        let lines = Lines::of(Current::new(100.0), 0.8, 0.92, Modulation::SpaceVector);
        let square = 2.0 * lines.rms().si() * lines.rms().si();
        let over = |shift: f64| ((square + in_common(&lines, &lines, shift, true)) / square).sqrt();
        assert!((over(0.0) - 2f64.sqrt()).abs() < 1e-9, "{}", over(0.0));
        assert!(over(0.5 * PI) < 0.75, "{}", over(0.5 * PI));
        // Where the outputs turn apart less is in common.
        assert!(in_common(&lines, &lines, 0.0, false) < in_common(&lines, &lines, 0.0, true));
    }

    #[test]
    fn voltage_ripple_at_unity_power_factor_is_the_simple_form() {
        // (3/8)·M·(1 − 0.75·M) of Î/(C·f) with space vectors.
        let (m, amps) = (0.5, Current::new(100.0));
        let farad = Capacitance::new(1e-3);
        let volts = voltage_ripple(amps, m, 1.0, Modulation::SpaceVector, farad, Frequency::new(1e4)).si();
        assert!((volts / (0.375 * m * (1.0 - 0.75 * m) * 10.0) - 1.0).abs() < 0.02, "{volts}");
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let nothing = f64::NAN;
        let farad = Capacitance::new(1e-3);
        let ripple = |m, cos_phi| {
            let (amps, carrier) = (Current::new(1.0), Frequency::new(1e4));
            voltage_ripple(amps, m, cos_phi, Modulation::Sinusoidal, farad, carrier).si()
        };
        assert!(ripple(nothing, 0.9).is_nan() && ripple(0.9, nothing).is_nan());
        assert!(Lines::of(Current::new(nothing), 0.8, 0.9, Modulation::Sinusoidal).rms().si().is_nan());
    }
}
