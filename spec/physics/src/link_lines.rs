//! Lines of the current that a three-phase bridge takes from its link: how much of its ripple lies at each multiple of
//! the carrier.
//!
//! Within a carrier period the references stand still. The pulse of a leg that is on for a share d of the period about
//! its middle has the lines i·sin(π·h·d)/(π·h); over a turn of the output they spread into bands about h times the
//! carrier, which count with their middle. The current is cos φ parts in phase with the voltage and sin φ parts across,
//! and what both have in common vanishes over a turn, so that each line is two functions of the modulation index alone.

use core::f64::consts::{FRAC_PI_3, PI};
use std::sync::LazyLock;

use crate::bounds::{at_least_zero, cosine};
use crate::modulation::SIX_STEP_LIMIT;
use crate::{Current, Modulation, link_ripple};

/// Lines that are told apart.
pub const LINES: usize = 12;
/// What lies above them is spread over those from here on, so that no single line carries it all into a resonance.
const UPPER: usize = LINES / 2;

/// Steps of the modulation index up to six-step operation; one place more at either end leaves room for the curve
/// through four of them.
const STEPS: usize = 48;
/// Angles over a sixth of a turn, after which everything repeats or is mirrored.
const ANGLES: usize = 16;

/// Mean squares of the lines over that of the phase current, in phase and across.
type Lines = [[f64; LINES]; 2];
type Table = [Lines; STEPS + 3];

static SINUSOIDAL: LazyLock<Table> = LazyLock::new(|| table(Modulation::Sinusoidal));
static THIRD_HARMONIC: LazyLock<Table> = LazyLock::new(|| table(Modulation::ThirdHarmonic));
static SPACE_VECTOR: LazyLock<Table> = LazyLock::new(|| table(Modulation::SpaceVector));

fn table(modulation: Modulation) -> Table {
    // Lines are even functions of the index, so that a place below zero is like its mirror image.
    core::array::from_fn(|place| at((place as f64 - 1.0) * SIX_STEP_LIMIT / STEPS as f64, modulation))
}

fn at(m: f64, modulation: Modulation) -> Lines {
    let mut lines = [[0.0; LINES]; 2];
    for step in 0..ANGLES {
        let angle = FRAC_PI_3 * (step as f64 + 0.5) / ANGLES as f64;
        let turns = [0.0, 2.0, 4.0].map(|leg| libm::sincos(angle - leg * FRAC_PI_3));
        let common = modulation.zero_sequence(m, angle, turns.map(|(_, cosine)| cosine));
        let mut sums = [[0.0; LINES]; 2];
        for (sine, cosine) in turns {
            let share = (0.5 * (1.0 + m * cosine + common)).clamp(0.0, 1.0);
            let (on, along) = libm::sincos(PI * share);
            let (mut real, mut imaginary) = (along, on);
            let [along_current, across] = &mut sums;
            for (line, (along_current, across)) in along_current.iter_mut().zip(across).enumerate() {
                let pulse = imaginary / (PI * (line + 1) as f64);
                *along_current += cosine * pulse;
                *across += sine * pulse;
                (real, imaginary) = (real * along - imaginary * on, real * on + imaginary * along);
            }
        }
        for (lines, sums) in lines.iter_mut().zip(&sums) {
            for (line, sum) in lines.iter_mut().zip(sums) {
                *line += 4.0 * sum * sum / ANGLES as f64;
            }
        }
    }
    lines
}

/// Shares of the ripple of a bridge, as of its square, at each multiple of its carrier; they add up to 1.
///
/// `m` is the modulation index at the poles, `cos_phi` the power factor.
///
/// `I_h² = 4·I²·mean over θ of (Σ i_k·sin(π·h·d_k)/(π·h))², i_k = cos(θ_k − φ), d_k the share of leg k, h up to 12`.
/// Valid: references that stand still within a carrier period; each band counts with its middle, what lies above the
/// 12th line with the 7th to 12th, ripple of the phase currents in proportion; linear modulation: 0.001 of the square
/// against sampled waveforms at 201 carrier periods a turn. Source: Fourier series of the pulses of three legs; method
/// of Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003.
#[must_use]
pub fn shares(m: f64, cos_phi: f64, modulation: Modulation) -> [f64; LINES] {
    let table: &Table = match modulation {
        Modulation::Sinusoidal => &SINUSOIDAL,
        Modulation::ThirdHarmonic => &THIRD_HARMONIC,
        Modulation::SpaceVector => &SPACE_VECTOR,
    };
    let cos_phi = cosine(cos_phi);
    let (along, across) = (cos_phi * cos_phi, 1.0 - cos_phi * cos_phi);
    let place = (m.abs() * (STEPS as f64 / SIX_STEP_LIMIT)).min(STEPS as f64 - 1e-9);
    let before = place.floor();
    let t = place - before;
    // A smooth curve through four places.
    let weights = [
        0.5 * t * (t * (2.0 - t) - 1.0),
        0.5 * (t * t * (3.0 * t - 5.0) + 2.0),
        0.5 * t * (t * (4.0 - 3.0 * t) + 1.0),
        0.5 * t * t * (t - 1.0),
    ];
    let mut lines = [0.0; LINES];
    // What is missing ends at the first place, and stays missing by its weight.
    for (lines_at, weight) in table.iter().skip(before as usize).zip(weights) {
        for (line, (in_phase, beside)) in lines.iter_mut().zip(lines_at[0].iter().zip(&lines_at[1])) {
            *line += weight * (along * in_phase + across * beside);
        }
    }
    let all = link_ripple::capacitor_rms(Current::new(1.0), m, cos_phi).si();
    let known = 0.0 * m * cos_phi;
    completed(lines.map(at_least_zero), all * all + known)
}

/// Shares of a square that lie at each line, from what is told of them and all of it. More told than there is counts as
/// all; what is left lies above.
#[must_use]
pub fn completed(lines: [f64; LINES], all: f64) -> [f64; LINES] {
    let told: f64 = lines.iter().sum();
    let all = if told > all { told } else { all };
    // Without ripple there is nothing to divide; what is missing stays missing.
    let mut shares = if all == 0.0 { [0.0; LINES] } else { lines.map(|line| line / all) };
    let left = 1.0 - shares.iter().sum::<f64>();
    for share in &mut shares[UPPER..] {
        *share += left / (LINES - UPPER) as f64;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    const KINDS: [Modulation; 3] =
        [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector];

    #[test]
    fn the_table_reads_between_its_places() {
        for kind in KINDS {
            for (m, cos_phi) in [(0.013, 0.9), (0.31, 0.2), (0.777, -0.95), (0.99, 0.0), (1.2, 0.8)] {
                let exact = at(m, kind);
                let found = shares(m, cos_phi, kind);
                let of = |line: usize| {
                    cos_phi * cos_phi * exact[0][line] + (1.0 - cos_phi * cos_phi) * exact[1][line]
                };
                let told: f64 = (0..LINES).map(of).sum();
                let all = link_ripple::capacitor_rms(Current::new(1.0), m, cos_phi).si();
                let all = told.max(all * all);
                for (line, share) in found.iter().enumerate().take(UPPER) {
                    assert!((share - of(line) / all).abs() < 2e-3, "{kind:?} {m} {cos_phi}: {line}");
                }
                assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-12);
                assert!(m < 0.3 || 1.0 - told / all < 0.3, "{kind:?} {m}: {} left", 1.0 - told / all);
            }
        }
    }

    #[test]
    fn most_lies_at_twice_the_carrier_and_at_the_carrier_itself_without_power_factor() {
        let driving = shares(0.8, 0.95, Modulation::SpaceVector);
        assert!(driving[1] > 0.5 && driving[1] < 0.9, "{driving:?}");
        let idle = shares(0.9, 0.0, Modulation::SpaceVector);
        assert!(idle[0] > idle[1], "{idle:?}");
    }

    #[test]
    fn what_is_missing_stays_missing_and_nothing_sends_nothing() {
        for (m, cos_phi) in [(f64::NAN, 0.9), (0.9, f64::NAN)] {
            assert!(shares(m, cos_phi, Modulation::Sinusoidal).iter().sum::<f64>().is_nan());
        }
        assert!((shares(0.0, 0.9, Modulation::SpaceVector).iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
