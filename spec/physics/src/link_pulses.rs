//! Pulses that a three-phase bridge takes from its link: what two synchronised bridges have in common.
//!
//! Within a carrier period the references stand still. Each upper switch is then on for a share d of the period about its
//! middle, and while it is on the link carries the current of its leg.

use core::f64::consts::FRAC_PI_3;
use std::sync::LazyLock;

use crate::bounds::cosine;
use crate::{Current, Law, Modulation};

/// Law of [`in_common`].
pub static IN_COMMON: Law = Law {
    name: "ripple current of synchronised bridges",
    formula: "I² = I_1² + I_2² + 2·mean(i_1·i_2 − Ī_1·Ī_2), i_1·i_2 from the overlap of the pulses of both, shifted by φ",
    validity: "one carrier frequency; outputs that turn alike in the worst angle of one against the other, others over all angles",
    source: "own sum over the pulses of three legs; compared with sampled waveforms",
};

/// Angles over a third of a turn, after which the pulses repeat from another leg.
const ANGLES: usize = 24;
/// A third of a turn.
const THIRD: f64 = 2.0 * FRAC_PI_3;

/// An angle of the voltage, with sine and cosine for each leg.
pub(crate) type Turn = (f64, [(f64, f64); 3]);

/// The angles that pulses are summed at, in the middles of their shares of the turn.
static SUMMED: LazyLock<[Turn; ANGLES]> =
    LazyLock::new(|| core::array::from_fn(|place| turn((place as f64 + 0.5) / ANGLES as f64)));

/// An angle as a share of a third of a turn.
pub(crate) fn turn(share: f64) -> Turn {
    let angle = THIRD * share;
    (angle, [0.0, 1.0, 2.0].map(|leg| libm::sincos(angle - leg * THIRD)))
}

/// Pulses of one bridge: share of the period and current of each leg, at each angle of its output.
#[derive(Clone, Debug, PartialEq)]
pub struct Pulses {
    shares: [[f64; ANGLES]; 3],
    amps: [[f64; ANGLES]; 3],
}

/// Shares of the period and currents of the three legs at an angle of the voltage, for a crest of one.
pub(crate) fn legs(m: f64, cos_phi: f64, modulation: Modulation, &(angle, turns): &Turn) -> [(f64, f64); 3] {
    let cos_phi = cosine(cos_phi);
    let sin_phi = (1.0 - cos_phi * cos_phi).sqrt();
    let common = modulation.zero_sequence(m, angle, turns.map(|(_, cosine)| cosine));
    turns.map(|(sine, cosine)| {
        let share = (0.5 * (1.0 + m * cosine + common)).clamp(0.0, 1.0);
        (share, cosine * cos_phi + sine * sin_phi)
    })
}

impl Pulses {
    /// Pulses of a bridge.
    ///
    /// `peak` is the crest of the phase current, `m` the modulation index at the poles, `cos_phi` the power factor with its
    /// sign.
    #[must_use]
    pub fn of(peak: Current, m: f64, cos_phi: f64, modulation: Modulation) -> Self {
        let mut this = Self { shares: [[0.0; ANGLES]; 3], amps: [[0.0; ANGLES]; 3] };
        for (place, turn) in SUMMED.iter().enumerate() {
            for (leg, (share, amps)) in legs(m, cos_phi, modulation, turn).into_iter().enumerate() {
                this.shares[leg][place] = share;
                this.amps[leg][place] = peak.si() * amps;
            }
        }
        this
    }

    /// RMS of the alternating part.
    #[must_use]
    pub fn rms(&self) -> Current {
        let squares = beside(self, self, 0, 0.0);
        Current::new(if squares < 0.0 { 0.0 } else { squares.sqrt() })
    }

    /// Every pulse, with its share of the period.
    fn all(&self) -> impl Iterator<Item = (f64, f64)> {
        self.shares.as_flattened().iter().copied().zip(self.amps.as_flattened().iter().copied())
    }

    /// Mean current at an angle.
    fn mean(&self, place: usize) -> f64 {
        (0..3).map(|leg| self.shares[leg][place] * self.amps[leg][place]).sum()
    }
}

/// Mean product of the alternating parts of two link currents, the second with its carrier `lag` of a period behind and
/// its output so many places ahead.
fn beside(one: &Pulses, other: &Pulses, offset: usize, lag: f64) -> f64 {
    let mut products = [0.0; ANGLES];
    for (place, product) in products.iter_mut().enumerate() {
        *product = -one.mean(place) * other.mean((place + offset) % ANGLES);
    }
    for (first, amps) in one.shares.iter().zip(&one.amps) {
        for (second, beside) in other.shares.iter().zip(&other.amps) {
            let mut ahead = [(0.0, 0.0); ANGLES];
            for (place, ahead) in ahead.iter_mut().enumerate() {
                let there = (place + offset) % ANGLES;
                *ahead = (second[there], beside[there]);
            }
            for place in 0..ANGLES {
                let (second, beside) = ahead[place];
                products[place] += amps[place] * beside * overlap(first[place], second, lag);
            }
        }
    }
    products.iter().sum::<f64>() / ANGLES as f64
}

/// Share of a period in which two pulses overlap, each about its middle, the middles `lag` of at most half a period apart.
#[inline]
fn overlap(one: f64, other: f64, lag: f64) -> f64 {
    let (shorter, reach) = (if other < one { other } else { one }, 0.5 * (one + other));
    let apart = |middles: f64| {
        let width = reach - middles;
        let width = if shorter < width { shorter } else { width };
        if width < 0.0 { 0.0 } else { width }
    };
    apart(lag) + apart(1.0 - lag)
}

/// The current of a bridge over a carrier period, as a mean over all angles of its output: a staircase about the middles
/// of its pulses, gathered from there on.
struct Gathered {
    /// Half the share of each pulse, the shortest first, with what pulses up to it gather in all and what those beyond it
    /// carry.
    stairs: [(f64, f64, f64); 3 * ANGLES],
    /// What all carry, and what they gather in half a period.
    carried: f64,
    half: f64,
}

/// Bits that say which of all pulses one is.
const PLACE: u64 = 127;

impl Gathered {
    fn of(pulses: &Pulses) -> Self {
        // Shares are not negative, so that their bits have their order; the lowest of them say whose they are.
        let mut order = [0; 3 * ANGLES];
        for (place, (key, share)) in order.iter_mut().zip(pulses.shares.as_flattened()).enumerate() {
            *key = share.to_bits() & !PLACE | place as u64;
        }
        order.sort_unstable();
        let stair = |key: u64| {
            let place = (key & PLACE) as usize;
            let (share, amps) = (pulses.shares.as_flattened()[place], pulses.amps.as_flattened()[place]);
            (0.5 * share, amps / ANGLES as f64, 0.0)
        };
        let mut stairs = order.map(stair);
        let carried: f64 = stairs.iter().map(|stair| stair.1).sum();
        let (mut half, mut beyond) = (0.0, carried);
        for (width, gathered, carries) in &mut stairs {
            beyond -= *gathered;
            half += *width * *gathered;
            (*gathered, *carries) = (half, beyond);
        }
        Self { stairs, carried, half }
    }

    /// What it gathers from the middle of its pulses until so much of the period later; at most half a period earlier or a
    /// whole one later.
    fn until(&self, later: f64) -> f64 {
        let (way, sign, before) = if later > 0.5 {
            (1.0 - later, -1.0, 2.0 * self.half)
        } else if later < 0.0 {
            (-later, -1.0, 0.0)
        } else {
            (later, 1.0, 0.0)
        };
        let ended = self.stairs.partition_point(|stair| stair.0 <= way);
        let (gathered, beyond) = match ended.checked_sub(1).and_then(|last| self.stairs.get(last)) {
            Some(&(_, gathered, beyond)) => (gathered, beyond),
            None => (0.0, self.carried),
        };
        before + sign * (gathered + way * beyond)
    }
}

/// Mean product of the alternating parts of two link currents over all angles of one output against the other.
fn apart(one: &Pulses, other: &Pulses, lag: f64) -> f64 {
    let other = Gathered::of(other);
    let (mut product, mut mean) = (0.0, 0.0);
    for (share, amps) in one.all() {
        // Its pulse begins half its share before the middle and ends as much behind; to the other both come later.
        product += amps * (other.until(0.5 * share + lag) + other.until(0.5 * share - lag));
        mean += amps * share;
    }
    (product - mean * 2.0 * other.half) / ANGLES as f64
}

/// Twice the mean product of the ripple of two bridges, in A²: what their sum has beyond the sum of their squares.
///
/// `shift` is the share of a period by which the second carrier lags, `alike` whether both outputs turn at one frequency;
/// the angle between them is then the worst one. See [`IN_COMMON`].
#[must_use]
pub fn in_common(one: &Pulses, other: &Pulses, shift: f64, alike: bool) -> f64 {
    let lag = shift - libm::floor(shift);
    let lag = if lag > 0.5 { 1.0 - lag } else { lag };
    if !alike {
        return 2.0 * apart(one, other, lag);
    }
    let mut worst = f64::NEG_INFINITY;
    for offset in 0..ANGLES {
        let mean = 2.0 * beside(one, other, offset, lag);
        // What is not known stays unknown.
        if mean > worst || mean.is_nan() {
            worst = mean;
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link_ripple;

    #[test]
    fn the_pulses_have_the_ripple_of_the_closed_form() {
        for (m, cos_phi) in [(0.8, 0.92), (0.6, -0.8), (1.05, 0.92), (0.9, 0.0), (0.4, 0.85)] {
            let pulses =
                Pulses::of(Current::new(2f64.sqrt()), m, cos_phi, Modulation::SpaceVector).rms().si();
            let closed = link_ripple::capacitor_rms(Current::new(1.0), m, cos_phi).si();
            assert!((pulses / closed - 1.0).abs() < 0.004, "{m} {cos_phi}: {pulses} against {closed}");
        }
    }

    #[test]
    fn in_phase_twins_double_and_a_quarter_period_cancels_the_second_line() {
        let pulses = Pulses::of(Current::new(100.0), 0.8, 0.92, Modulation::SpaceVector);
        let square = 2.0 * pulses.rms().si() * pulses.rms().si();
        let over = |shift: f64| ((square + in_common(&pulses, &pulses, shift, true)) / square).sqrt();
        assert!((over(0.0) - 2f64.sqrt()).abs() < 1e-9, "{}", over(0.0));
        assert!(over(0.25) < 0.75, "{}", over(0.25));
        // Where the outputs turn apart less is in common.
        assert!(in_common(&pulses, &pulses, 0.0, false) < in_common(&pulses, &pulses, 0.0, true));
    }

    #[test]
    fn outputs_that_turn_apart_meet_at_every_angle() {
        let one = Pulses::of(Current::new(100.0), 0.8, 0.92, Modulation::SpaceVector);
        for (m, cos_phi, modulation) in
            [(1.0, -0.4, Modulation::Sinusoidal), (0.3, 0.7, Modulation::ThirdHarmonic)]
        {
            let other = Pulses::of(Current::new(70.0), m, cos_phi, modulation);
            for lag in [0.0, 0.01, 0.25, 0.4, 0.5] {
                let by_angle = (0..ANGLES).map(|offset| beside(&one, &other, offset, lag)).sum::<f64>();
                let (mean, all) = (by_angle / ANGLES as f64, apart(&one, &other, lag));
                assert!((all - mean).abs() < 1e-9, "{m} {lag}: {all} against {mean}");
            }
        }
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let nothing = f64::NAN;
        assert!(Pulses::of(Current::new(nothing), 0.8, 0.9, Modulation::Sinusoidal).rms().si().is_nan());
    }
}
