//! A current that runs in a straight line from one value to another, which is what every interval of a
//! switched converter is made of.

use core::ops::{Add, Mul};

use crate::bounds::at_least_zero;
use crate::{Current, SquaredCurrent};

/// Mean of the square of a current that runs in a straight line.
///
/// `i² = (x² + x·y + y²)/3`. Valid: exact for a straight line from x to y, signs included. Source: integral of a
/// squared line.
#[inline]
pub fn mean_square(from: Current, to: Current) -> SquaredCurrent {
    (from * from + from * to + to * to) / 3.0
}

/// Mean of a current that runs in a straight line.
#[inline]
pub fn mean(from: Current, to: Current) -> Current {
    (from + to) * 0.5
}

/// A position's current, parted by its sign: what the transistor carries and what the diode beside it
/// carries.
///
/// All four figures are zero or positive. Multiply by the share of the period that the interval lasts, and
/// add the intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// Mean of the positive part.
    pub forward_mean: Current,
    /// Mean square of the positive part.
    pub forward_square: SquaredCurrent,
    /// Mean of the negative part, without its sign.
    pub backward_mean: Current,
    /// Mean square of the negative part.
    pub backward_square: SquaredCurrent,
}

impl Split {
    /// No current at all.
    pub const NONE: Self = Self {
        forward_mean: Current::ZERO,
        forward_square: SquaredCurrent::ZERO,
        backward_mean: Current::ZERO,
        backward_square: SquaredCurrent::ZERO,
    };

    /// Parts of a current that runs in a straight line.
    ///
    /// `y > 0 > x: i₊ = y²/(2·(y − x)), i₊² = y³/(3·(y − x)); i₋ = x²/(2·(y − x)), i₋² = −x³/(3·(y − x))`. Valid: exact
    /// for a straight line from x to y. Source: integral of a line and of its square up to where it crosses zero.
    #[inline]
    pub fn of_ramp(from: Current, to: Current) -> Self {
        let (forward_mean, forward_square) = positive_part(from, to);
        let (backward_mean, backward_square) = positive_part(-from, -to);
        Self { forward_mean, forward_square, backward_mean, backward_square }
    }

    /// RMS value of the positive part.
    #[inline]
    pub fn forward_rms(self) -> Current {
        self.forward_square.root()
    }

    /// RMS value of the negative part.
    #[inline]
    pub fn backward_rms(self) -> Current {
        self.backward_square.root()
    }

    /// Mean of the whole, the sign kept.
    #[inline]
    pub fn mean(self) -> Current {
        self.forward_mean - self.backward_mean
    }

    /// RMS value of the whole: of a position whose channel carries both directions.
    #[inline]
    pub fn rms(self) -> Current {
        (self.forward_square + self.backward_square).root()
    }

    /// The same current counted in the other direction.
    #[inline]
    #[must_use]
    pub fn reversed(self) -> Self {
        Self {
            forward_mean: self.backward_mean,
            forward_square: self.backward_square,
            backward_mean: self.forward_mean,
            backward_square: self.forward_square,
        }
    }
}

/// Mean and mean square of the part of a ramp that lies above zero.
#[inline]
fn positive_part(from: Current, to: Current) -> (Current, SquaredCurrent) {
    let (low, high) = if from < to { (from, to) } else { (to, from) };
    if low >= Current::ZERO || high.si().is_nan() || low.si().is_nan() {
        // A missing end makes both figures missing.
        return (mean(from, to), mean_square(from, to));
    }
    if high <= Current::ZERO {
        return (Current::ZERO, SquaredCurrent::ZERO);
    }
    // Share of the time above zero, in which the current is a ramp from zero.
    let share = high / (high - low);
    (high * (0.5 * share), high * high * (share / 3.0))
}

impl Mul<f64> for Split {
    type Output = Self;
    #[inline]
    fn mul(self, share: f64) -> Self {
        Self {
            forward_mean: self.forward_mean * share,
            forward_square: self.forward_square * share,
            backward_mean: self.backward_mean * share,
            backward_square: self.backward_square * share,
        }
    }
}

impl Add for Split {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self {
            forward_mean: self.forward_mean + other.forward_mean,
            forward_square: self.forward_square + other.forward_square,
            backward_mean: self.backward_mean + other.backward_mean,
            backward_square: self.backward_square + other.backward_square,
        }
    }
}

/// The current, or none where it runs the other way.
#[inline]
pub(crate) fn part_forward(current: Current) -> Current {
    Current::new(at_least_zero(current.si()))
}

/// Mean square of the sum of `legs` equal currents that are shifted evenly over the period.
///
/// `wave` gives one leg's current over its phase 0 … 1; it may bend or jump at `bends` and nowhere else.
/// The sum repeats with every shift, so one shift is enough; between the bends it is a straight line.
pub(crate) fn interleaved_mean_square<const N: usize>(
    legs: f64,
    bends: [f64; N],
    wave: impl Fn(f64) -> f64,
) -> f64 {
    // Counts that nobody builds are refused rather than summed for hours.
    if !(1.0..=1024.0).contains(&legs) || bends.iter().any(|bend| bend.is_nan()) {
        return f64::NAN;
    }
    let legs = legs.floor();
    let mut edges = bends.map(|bend| {
        let turns = bend * legs;
        turns - turns.floor()
    });
    edges.sort_unstable_by(f64::total_cmp);
    let at = |place: f64| {
        let (mut sum, mut leg) = (0.0, 0.0);
        while leg < legs {
            let phase = (place + leg) / legs;
            sum += wave(phase - phase.floor());
            leg += 1.0;
        }
        sum
    };
    let (mut whole, mut from) = (0.0, 0.0);
    for to in edges.into_iter().chain([1.0]) {
        let length = to - from;
        if length > 0.0 {
            // The line's ends, from two places within: at the ends themselves it may jump.
            let (early, late) = (at(from + 0.25 * length), at(from + 0.75 * length));
            let (x, y) = (1.5 * early - 0.5 * late, 1.5 * late - 0.5 * early);
            whole += length * (x * x + x * y + y * y) / 3.0;
        }
        from = to;
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_make_up_the_whole() {
        for (from, to) in [(-30.0, 50.0), (50.0, -30.0), (10.0, 20.0), (-20.0, -10.0), (0.0, 0.0)] {
            let (from, to) = (Current::new(from), Current::new(to));
            let split = Split::of_ramp(from, to);
            assert!((split.mean() - mean(from, to)).si().abs() < 1e-12);
            let square = split.forward_square + split.backward_square;
            assert!((square - mean_square(from, to)).si().abs() < 1e-9);
            assert_eq!(Split::of_ramp(-from, -to), split.reversed());
        }
    }

    #[test]
    fn a_missing_end_is_a_missing_split() {
        for (from, to) in [(f64::NAN, 1.0), (1.0, f64::NAN), (f64::NAN, -1.0), (-1.0, f64::NAN)] {
            let split = Split::of_ramp(Current::new(from), Current::new(to));
            assert!(split.forward_mean.si().is_nan() && split.backward_square.si().is_nan());
        }
    }

    #[test]
    fn two_saws_in_opposition_make_one_of_double_frequency() {
        // Two ramps 0 … 1, half a period apart: a ramp 0.5 … 1.5.
        let square = interleaved_mean_square(2.0, [0.0], |phase| phase);
        assert!((square - (0.25 + 0.75 + 2.25) / 3.0).abs() < 1e-14);
        assert!((interleaved_mean_square(1.0, [0.0], |phase| phase) - 1.0 / 3.0).abs() < 1e-14);
        assert!(interleaved_mean_square(f64::NAN, [0.0], |phase| phase).is_nan());
    }
}
