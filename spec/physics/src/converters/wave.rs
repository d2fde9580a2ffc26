//! A current over a whole period as straight pieces, and its harmonics.

use core::f64::consts::TAU;

use crate::{Current, Law, SquaredCurrent};

/// Most pieces of a wave.
const MOST: usize = 8;
/// Harmonics that are told apart; what lies above counts with the last of them.
pub const HARMONICS: usize = 32;

/// Law of [`Wave::harmonics`].
pub static HARMONIC: Law = Law {
    name: "harmonics of a current of straight pieces",
    formula: "I_n² = 2·|Σ ∫ i·e^(−j·2π·n·x) dx|² over the pieces, n up to 32",
    validity: "exact for straight pieces; what lies above counts with the 32nd",
    source: "Fourier series",
};

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
}

impl Wave {
    /// No current at all.
    pub const NONE: Self = Self { pieces: [Piece { share: 0.0, from: 0.0, to: 0.0 }; MOST], count: 0 };

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

    /// These pieces as one half of a period, and the same with the other sign as its other half. There is room for four.
    #[must_use]
    #[inline]
    pub fn mirrored(self) -> Self {
        let mut all = Self::NONE;
        for sign in [1.0, -1.0] {
            for piece in self.pieces() {
                let (from, to) = (Current::new(sign * piece.from), Current::new(sign * piece.to));
                all = all.then(0.5 * piece.share, from, to);
            }
        }
        all
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
        Current::new(self.pieces().iter().map(|piece| piece.share * 0.5 * (piece.from + piece.to)).sum())
    }

    /// Mean square.
    pub fn square(&self) -> SquaredCurrent {
        let of = |piece: &Piece| {
            piece.share * (piece.from * piece.from + piece.from * piece.to + piece.to * piece.to)
        };
        SquaredCurrent::new(self.pieces().iter().map(of).sum::<f64>() / 3.0)
    }

    /// Mean square of each harmonic, the first at the frequency of the wave. See [`HARMONIC`].
    pub fn harmonics(&self) -> [SquaredCurrent; HARMONICS] {
        // e^(−j·2π·x) at the corners, and its powers.
        let mut turns = [(0.0, 0.0); MOST + 1];
        // By how much the current jumps at each corner, and by how much its slope changes.
        let mut changes = [(0.0, 0.0); MOST + 1];
        let mut at = 0.0;
        turns[0] = (1.0, 0.0);
        for (place, piece) in self.pieces().iter().enumerate() {
            at += piece.share;
            let (sine, cosine) = libm::sincos(TAU * at);
            turns[place + 1] = (cosine, -sine);
            changes[place].0 += piece.from;
            changes[place + 1].0 -= piece.to;
            // An upright edge is a jump alone.
            if piece.share <= 0.0 {
                continue;
            }
            let slope = (piece.to - piece.from) / piece.share;
            changes[place].1 += slope;
            changes[place + 1].1 -= slope;
        }
        let once = turns;
        let corners = self.count + 1;
        core::array::from_fn(|n| {
            if n > 0 {
                for (turn, once) in turns[1..corners].iter_mut().zip(&once[1..corners]) {
                    *turn = (turn.0 * once.0 - turn.1 * once.1, turn.0 * once.1 + turn.1 * once.0);
                }
            }
            // ∫ i·e^(−j·w·x) dx = [j·i·e/w + i'·e/w²] between the corners, summed corner by corner.
            let (mut of_jumps, mut of_bends) = ((0.0, 0.0), (0.0, 0.0));
            for ((jump, bend), (real, imaginary)) in changes[..corners].iter().zip(&turns[..corners]) {
                of_jumps = (of_jumps.0 + jump * imaginary, of_jumps.1 - jump * real);
                of_bends = (of_bends.0 - bend * real, of_bends.1 - bend * imaginary);
            }
            let pace = 1.0 / (TAU * (n + 1) as f64);
            let real = pace * (of_jumps.0 + pace * of_bends.0);
            let imaginary = pace * (of_jumps.1 + pace * of_bends.1);
            SquaredCurrent::new(2.0 * (real * real + imaginary * imaginary))
        })
    }
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
    fn what_is_missing_stays_missing() {
        let wave = Wave::triangle(Current::new(f64::NAN), Current::new(1.0), 0.4);
        assert!(wave.square().si().is_nan() && wave.harmonics()[4].si().is_nan());
        assert!(Wave::triangle(Current::new(1.0), Current::new(1.0), f64::NAN).harmonics()[0].si().is_nan());
    }
}
