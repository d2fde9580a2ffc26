//! A current over a whole period as straight pieces, and its harmonics.

use core::f64::consts::{FRAC_1_SQRT_2, PI, TAU};

use crate::link_lines::LINES;
use crate::link_ring::Edges;
use crate::{Current, SquaredCurrent};

/// Most pieces of a wave.
const MOST: usize = 8;
/// Harmonics that are told apart.
pub const HARMONICS: usize = 32;
/// Octaves above them.
pub const ABOVE: usize = 6;
/// The harmonic that each octave counts with, where a resistance that rises with the root of the frequency has its mean
/// over it; the last one goes on without end.
pub const OCTAVES: [f64; ABOVE] = [43.5, 87.0, 174.0, 348.0, 696.0, 4096.0];

/// A straight piece: the share of the period that it lasts, and the current at its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    share: f64,
    from: f64,
    to: f64,
}

/// A periodic current of straight pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wave {
    pieces: [Piece; MOST],
    count: usize,
    /// Whether the pieces are one half of the period, and the other half the same with the other sign.
    is_mirrored: bool,
}

impl Wave {
    /// No current at all.
    pub const NONE: Self =
        Self { pieces: [Piece { share: 0.0, from: 0.0, to: 0.0 }; MOST], count: 0, is_mirrored: false };

    /// With one piece more. There is room for eight.
    #[must_use]
    #[inline]
    pub fn then(mut self, share: f64, from: Current, to: Current) -> Self {
        if let Some(piece) = self.pieces.get_mut(self.count) {
            *piece = Piece { share, from: from.si(), to: to.si() };
            self.count += 1;
        }
        self
    }

    /// These pieces as one half of a period, and the same with the other sign as its other half.
    #[must_use]
    #[inline]
    pub fn mirrored(mut self) -> Self {
        for piece in &mut self.pieces {
            piece.share *= 0.5;
        }
        Self { is_mirrored: true, ..self }
    }

    /// A current that rises by a ripple about a mean for a share of the period and falls for the rest.
    #[must_use]
    #[inline]
    pub fn triangle(mean: Current, ripple: Current, duty: f64) -> Self {
        let (low, high) = (mean - ripple * 0.5, mean + ripple * 0.5);
        Self::NONE.then(duty, low, high).then(1.0 - duty, high, low)
    }

    #[inline]
    fn pieces(&self) -> &[Piece] {
        &self.pieces[..self.count]
    }

    /// Mean.
    pub fn mean(&self) -> Current {
        let half: f64 = self.pieces().iter().map(|piece| piece.share * 0.5 * (piece.from + piece.to)).sum();
        Current::new(if self.is_mirrored { 0.0 * half } else { half })
    }

    /// Mean square.
    pub fn square(&self) -> SquaredCurrent {
        let of = |piece: &Piece| {
            piece.share * (piece.from * piece.from + piece.from * piece.to + piece.to * piece.to)
        };
        let sum: f64 = self.pieces().iter().map(of).sum();
        SquaredCurrent::new(if self.is_mirrored { 2.0 * sum } else { sum } / 3.0)
    }

    /// Mean square of each harmonic, the first at the frequency of the wave.
    ///
    /// `I_n² = 2·|Σ ∫ i·e^(−j·2π·n·x) dx|² over the pieces, n up to 32; what lies above by octaves, falling with 1/n²
    /// up to 1/(√2·π·x) of the shortest edge x, with 1/n⁴ from there`. Valid: exact for straight pieces up to the 32nd;
    /// above it within 1 % of the whole loss of a winding. Source: Fourier series.
    pub fn harmonics(&self) -> [SquaredCurrent; HARMONICS] {
        let (mut jumps, mut bends) = (Lines::NONE, Lines::NONE);
        // The other half adds the same to odd harmonics, and takes even ones away.
        let (each, halves) = if self.is_mirrored { (2, 2.0) } else { (1, 1.0) };
        for corner in self.corners().iter().take(self.count) {
            let (sine, cosine) = libm::sincos(TAU * corner.at);
            let turn = (cosine, -sine);
            let on = if self.is_mirrored { times(turn, turn) } else { turn };
            if corner.jump != 0.0 {
                jumps.add(corner.jump, turn, on, HARMONICS / each);
            }
            if corner.bend != 0.0 {
                bends.add(corner.bend, turn, on, HARMONICS / each);
            }
        }
        let paces = if self.is_mirrored { &ODD_PACES } else { &PACES };
        let squares: [f64; HARMONICS] =
            core::array::from_fn(|k| halves * halves * square(&jumps, &bends, k, paces[k]));
        let mut harmonics = [SquaredCurrent::ZERO; HARMONICS];
        for (harmonic, square) in harmonics.iter_mut().step_by(each).zip(squares) {
            *harmonic = SquaredCurrent::new(square);
        }
        harmonics
    }

    /// How what lies above the harmonics that are told apart divides among octaves.
    #[must_use]
    pub fn above(&self) -> [f64; ABOVE] {
        let edges =
            self.pieces().iter().filter(|piece| piece.share > 0.0 && (piece.from - piece.to).abs() > 0.0);
        let shortest =
            edges.map(|piece| piece.share).fold(1.0, |one, other| if other < one { other } else { one });
        let is_upright =
            self.corners().iter().take(self.count).any(|corner| corner.jump.abs() > 1e-9 * self.size());
        let bend = if is_upright { f64::INFINITY } else { FRAC_1_SQRT_2 / (PI * shortest) };
        // Sum of 1/n² from there on, with 1/n⁴ beyond the bend.
        let beyond =
            |n: f64| if n < bend { 1.0 / n - 2.0 / (3.0 * bend) } else { bend * bend / (3.0 * n * n * n) };
        let whole = beyond(HARMONICS as f64);
        core::array::from_fn(|place| {
            let from = (HARMONICS << place) as f64;
            let more = if place + 1 == ABOVE { 0.0 } else { beyond(2.0 * from) };
            (beyond(from) - more) / whole
        })
    }

    /// Largest magnitude at the ends of its pieces.
    fn size(&self) -> f64 {
        let ends = self.pieces().iter().flat_map(|piece| [piece.from.abs(), piece.to.abs()]);
        ends.fold(0.0, |one, other| if other > one { other } else { one })
    }

    /// From its lowest to its highest current. Evenly shifted over the period, so many of these currents that rise once and
    /// fall once swing by no more together.
    #[must_use]
    pub fn swing(&self) -> Current {
        let (mut low, mut high, mut known) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        for piece in self.pieces() {
            known += 0.0 * (piece.share + piece.from + piece.to);
            if piece.share <= 0.0 {
                continue;
            }
            for end in [piece.from, piece.to] {
                low = if end < low { end } else { low };
                high = if end > high { end } else { high };
            }
        }
        if self.is_mirrored {
            (low, high) = (if -high < low { -high } else { low }, if -low > high { -low } else { high });
        }
        Current::new(if high < low { known } else { high - low + known })
    }

    /// Edges of so many of these currents, evenly shifted, within a period of their first line.
    #[must_use]
    pub fn edges(&self, legs: f64) -> Edges {
        let halves = if self.is_mirrored { 2.0 } else { 1.0 };
        let (mut jumps, mut bends) = (0.0, 0.0);
        for corner in self.corners().iter().take(self.count) {
            jumps += halves * corner.jump.abs();
            bends += halves * corner.bend.abs() / legs;
        }
        Edges { jumps: Current::new(jumps), bends: Current::new(bends) }
    }

    /// Mean square of each line of so many of these currents together, evenly shifted over the period; the first lies
    /// at their number times the frequency of the wave, which is stated in whole.
    ///
    /// `I_h² = 2·n²·|Σ ∫ i·e^(−j·2π·n·h·x) dx|² over the pieces of one of n legs, h up to 12; of others than the n-th
    /// nothing is left`. Valid: exact for straight pieces, legs equal and evenly shifted; what lies above counts with
    /// the 7th to 12th. Source: Fourier series.
    #[must_use]
    pub fn interleaved(&self, legs: f64) -> [SquaredCurrent; LINES] {
        let (mut jumps, mut bends) = (Lines::NONE, Lines::NONE);
        for corner in self.corners().iter().take(self.count) {
            let turns = legs * corner.at;
            let (sine, cosine) = libm::sincos(TAU * (turns - turns.floor()));
            let turn = (cosine, -sine);
            if corner.jump != 0.0 {
                jumps.add(corner.jump, turn, turn, LINES);
            }
            if corner.bend != 0.0 {
                bends.add(corner.bend, turn, turn, LINES);
            }
        }
        core::array::from_fn(|k| {
            SquaredCurrent::new(legs * legs * square(&jumps, &bends, k, PACES[k] / legs))
        })
    }

    /// What of it passes while its first pieces last; of a mirrored wave over half a period, as a bridge turns its other
    /// half over.
    #[must_use]
    pub fn passing(mut self, pieces: usize) -> Self {
        let times = if self.is_mirrored { 2.0 } else { 1.0 };
        for (place, piece) in self.pieces.iter_mut().enumerate() {
            piece.share *= times;
            if place >= pieces {
                (piece.from, piece.to) = (0.0, 0.0);
            }
        }
        Self { is_mirrored: false, ..self }
    }

    /// Where the pieces meet: the last with the first of the next period, or of the other half.
    fn corners(&self) -> [Corner; MOST] {
        let mut corners = [Corner::default(); MOST];
        let mut at = 0.0;
        for (place, piece) in self.pieces().iter().enumerate() {
            corners[place].at = at;
            at += piece.share;
            // An upright edge lasts no time: what stands before and behind it makes the jump.
            if piece.share <= 0.0 {
                continue;
            }
            let slope = (piece.to - piece.from) / piece.share;
            corners[place].jump += piece.from;
            corners[place].bend += slope;
            let is_last = place + 1 == self.count;
            let sign = if is_last && self.is_mirrored { -1.0 } else { 1.0 };
            let next = &mut corners[if is_last { 0 } else { place + 1 }];
            next.jump -= sign * piece.to;
            next.bend -= sign * slope;
        }
        corners
    }
}

/// Mean square of a line from the sums over the corners, `pace` its period over a full angle.
#[inline]
fn square(jumps: &Lines, bends: &Lines, k: usize, pace: f64) -> f64 {
    // ∫ i·e^(−j·w·x) dx = [j·i·e/w + i'·e/w²] between the corners, summed corner by corner.
    let real = pace * (jumps.imaginary[k] - pace * bends.real[k]);
    let imaginary = pace * (-jumps.real[k] - pace * bends.imaginary[k]);
    2.0 * (real * real + imaginary * imaginary)
}

/// Where two pieces meet.
#[derive(Clone, Copy, Default)]
struct Corner {
    /// How far into the period.
    at: f64,
    /// By how much the current jumps there, and by how much its slope changes.
    jump: f64,
    bend: f64,
}

/// The period of each harmonic over a full angle, and of each odd one.
const PACES: [f64; HARMONICS] = paces(1);
const ODD_PACES: [f64; HARMONICS] = paces(2);

const fn paces(step: usize) -> [f64; HARMONICS] {
    let mut paces = [0.0; HARMONICS];
    let mut k = 0;
    while k < HARMONICS {
        paces[k] = 1.0 / (TAU * (step * k + 1) as f64);
        k += 1;
    }
    paces
}

/// Harmonics that are reckoned side by side.
const ABREAST: usize = 4;

/// A sum over corners for each harmonic.
struct Lines {
    real: [f64; HARMONICS],
    imaginary: [f64; HARMONICS],
}

impl Lines {
    const NONE: Self = Self { real: [0.0; HARMONICS], imaginary: [0.0; HARMONICS] };

    /// Adds a weight times `turn`, `turn·on`, `turn·on²` and so on to the first so many sums.
    #[inline]
    fn add(&mut self, weight: f64, turn: (f64, f64), on: (f64, f64), many: usize) {
        let (mut real, mut imaginary) = ([0.0; ABREAST], [0.0; ABREAST]);
        let mut at = (weight * turn.0, weight * turn.1);
        for k in 0..ABREAST {
            (real[k], imaginary[k]) = at;
            at = times(at, on);
        }
        let twice = times(on, on);
        let leap = times(twice, twice);
        let sums = self.real.chunks_exact_mut(ABREAST).zip(self.imaginary.chunks_exact_mut(ABREAST));
        for (of_real, of_imaginary) in sums.take(many / ABREAST) {
            for k in 0..ABREAST {
                of_real[k] += real[k];
                of_imaginary[k] += imaginary[k];
                (real[k], imaginary[k]) = times((real[k], imaginary[k]), leap);
            }
        }
    }
}

/// The product of two complex numbers.
#[inline]
fn times(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0 * other.0 - one.1 * other.1, one.0 * other.1 + one.1 * other.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_triangle_has_the_harmonics_of_its_series() {
        // b_n = ΔI·sin(n·π·D)/(π²·n²·D·(1 − D)) as crest.
        let (ripple, duty) = (10.0, 0.3);
        let wave = Wave::triangle(Current::new(70.0), Current::new(ripple), duty);
        let pi = core::f64::consts::PI;
        for (place, found) in wave.harmonics().iter().enumerate() {
            let n = (place + 1) as f64;
            let crest = ripple * libm::sin(n * pi * duty) / (pi * pi * n * n * duty * (1.0 - duty));
            assert!((found.si() - 0.5 * crest * crest).abs() < 1e-12, "{n}");
        }
        assert!((wave.mean().si() - 70.0).abs() < 1e-12);
        assert!((wave.square().si() - (4900.0 + 100.0 / 12.0)).abs() < 1e-9);
    }

    #[test]
    fn a_square_is_a_wave_with_upright_edges() {
        let half = Wave::NONE.then(0.0, Current::new(-3.0), Current::new(3.0)).then(
            1.0,
            Current::new(3.0),
            Current::new(3.0),
        );
        let harmonics = half.mirrored().harmonics();
        for (place, found) in harmonics.iter().enumerate() {
            let n = (place + 1) as f64;
            let crest = if place % 2 == 0 { 12.0 / (core::f64::consts::PI * n) } else { 0.0 };
            assert!((found.si() - 0.5 * crest * crest).abs() < 1e-12, "{n}: {found:?}");
        }
    }

    #[test]
    fn interleaved_lines_hold_the_ripple_of_the_closed_forms() {
        use crate::converters::boost;
        let (leg, ripple) = (Current::new(60.0), Current::new(25.0));
        for legs in [1.0, 2.0, 3.0] {
            for duty in [0.21, 0.44, 0.83] {
                let (low, high) = (leg - ripple * 0.5, leg + ripple * 0.5);
                let sent = Wave::NONE.then(1.0 - duty, high, low).then(duty, Current::ZERO, Current::ZERO);
                let waves = [
                    (Wave::triangle(leg, ripple, duty), boost::low_side_ripple_rms(legs, duty, ripple)),
                    (sent, boost::high_side_ripple_rms(legs, leg, duty, ripple)),
                ];
                for (wave, all) in waves {
                    let lines: f64 = wave.interleaved(legs).iter().map(|line| line.si()).sum();
                    let share = lines / (all * all).si();
                    assert!(share < 1.0 + 1e-9 && share > 0.9, "{legs} {duty}: {share}");
                }
                // The triangle leaves next to nothing above.
                let (wave, all) = waves[0];
                let lines: f64 = wave.interleaved(legs).iter().map(|line| line.si()).sum();
                assert!(lines / (all * all).si() > 0.998);
            }
        }
    }

    #[test]
    fn what_lies_above_is_weighed_as_every_harmonic_would_be() {
        // A trapezoid with edges from a hundredth to a thousandth of the period, its harmonics summed one by one.
        let pi = core::f64::consts::PI;
        for edge in [0.03, 0.01, 0.003, 0.001] {
            let amps = Current::new(10.0);
            let wave = Wave::NONE.then(2.0 * edge, -amps, amps).then(1.0 - 2.0 * edge, amps, amps).mirrored();
            let (mut above, mut weighed) = (0.0, 0.0);
            for k in (33..400_001).step_by(2) {
                let n = f64::from(k);
                let crest = 40.0 / (pi * n) * libm::sin(pi * n * edge) / (pi * n * edge);
                above += 0.5 * crest * crest;
                weighed += 0.5 * crest * crest * n.sqrt();
            }
            let mean: f64 = wave.above().iter().zip(OCTAVES).map(|(share, n)| share * n.sqrt()).sum();
            assert!((wave.above().iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!(
                (mean * above / weighed - 1.0).abs() < 0.25,
                "{edge}: {mean} against {}",
                weighed / above
            );
            let told: f64 = wave.harmonics().iter().map(|square| square.si()).sum();
            assert!(((wave.square().si() - told) / above - 1.0).abs() < 0.01);
        }
    }

    #[test]
    fn a_bridge_passes_the_first_pieces_twice_a_period() {
        let half = Wave::NONE.then(0.3, Current::new(-2.0), Current::new(5.0)).then(
            0.7,
            Current::new(5.0),
            Current::new(2.0),
        );
        let passed = half.mirrored().passing(1);
        assert!((passed.mean().si() - 0.45).abs() < 1e-12);
        assert!((passed.square().si() - 0.3 * (4.0 - 10.0 + 25.0) / 3.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let wave = Wave::triangle(Current::new(f64::NAN), Current::new(1.0), 0.4);
        assert!(wave.square().si().is_nan() && wave.harmonics()[4].si().is_nan());
        assert!(Wave::triangle(Current::new(1.0), Current::new(1.0), f64::NAN).harmonics()[0].si().is_nan());
    }
}
