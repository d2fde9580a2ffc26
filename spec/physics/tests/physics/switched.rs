//! Tools for circuits with switches in time: integrals over straight pieces of current, and a search for the
//! state that repeats.
//!
//! Nothing here shares code or a formula with the crate.

/// Integrals of `N` currents over the pieces of a period in which each of them runs in a straight line.
#[derive(Clone, Debug)]
pub(crate) struct Meter<const N: usize> {
    time: f64,
    sums: [f64; N],
    squares: [f64; N],
    highest: [f64; N],
    lowest: [f64; N],
}

impl<const N: usize> Meter<N> {
    pub(crate) fn new() -> Self {
        Self {
            time: 0.0,
            sums: [0.0; N],
            squares: [0.0; N],
            highest: [f64::NEG_INFINITY; N],
            lowest: [f64::INFINITY; N],
        }
    }

    /// A piece of the duration `time` in which each current runs straight from one value to the other.
    pub(crate) fn piece(&mut self, time: f64, from: [f64; N], to: [f64; N]) {
        self.time += time;
        for k in 0..N {
            let (x, y) = (from[k], to[k]);
            self.sums[k] += time * 0.5 * (x + y);
            self.squares[k] += time * (x * x + x * y + y * y) / 3.0;
            self.highest[k] = self.highest[k].max(x).max(y);
            self.lowest[k] = self.lowest[k].min(x).min(y);
        }
    }

    pub(crate) fn mean(&self, k: usize) -> f64 {
        self.sums[k] / self.time
    }

    pub(crate) fn rms(&self, k: usize) -> f64 {
        (self.squares[k] / self.time).sqrt()
    }

    /// RMS value of what is not the mean.
    pub(crate) fn alternating(&self, k: usize) -> f64 {
        (self.squares[k] / self.time - self.mean(k) * self.mean(k)).max(0.0).sqrt()
    }

    pub(crate) fn highest(&self, k: usize) -> f64 {
        self.highest[k]
    }

    pub(crate) fn lowest(&self, k: usize) -> f64 {
        self.lowest[k]
    }
}

/// Unknowns at which all of `misses` vanish: Newton's steps with slopes from small changes.
///
/// `scales` says what a small change of each unknown is measured by.
pub(crate) fn balanced<const N: usize>(
    guess: [f64; N],
    scales: [f64; N],
    misses: impl Fn([f64; N]) -> [f64; N],
) -> [f64; N] {
    let mut at = guess;
    for _ in 0..60 {
        let here = misses(at);
        let mut system = [[0.0; N]; N];
        for k in 0..N {
            let mut aside = at;
            aside[k] += 1e-6 * scales[k];
            let there = misses(aside);
            for row in 0..N {
                system[row][k] = (there[row] - here[row]) / 1e-6;
            }
        }
        let steps = eliminated(system, here);
        let mut largest = 0.0_f64;
        for k in 0..N {
            // Steps in shares of the scale; a long one is cut, so that the circuit keeps its order of events.
            let step = steps[k].clamp(-0.2, 0.2);
            at[k] -= step * scales[k];
            largest = largest.max(step.abs());
        }
        if largest < 1e-12 {
            break;
        }
    }
    let left = misses(at);
    let size = left.iter().fold(0.0_f64, |most, miss| most.max(miss.abs()));
    assert!(size < 1e-6, "no state that repeats: {left:?} at {at:?}");
    at
}

/// Solution of a linear system by elimination with the largest pivot.
pub(crate) fn eliminated<const N: usize>(mut system: [[f64; N]; N], mut right: [f64; N]) -> [f64; N] {
    for k in 0..N {
        let pivot =
            (k..N).max_by(|&a, &b| system[a][k].abs().total_cmp(&system[b][k].abs())).expect("a row is left");
        system.swap(k, pivot);
        right.swap(k, pivot);
        let (above, right_above) = (system[k], right[k]);
        for row in k + 1..N {
            let factor = system[row][k] / above[k];
            for (cell, above) in system[row].iter_mut().zip(above).skip(k) {
                *cell -= factor * above;
            }
            right[row] -= factor * right_above;
        }
    }
    for k in (0..N).rev() {
        for column in k + 1..N {
            right[k] -= system[k][column] * right[column];
        }
        right[k] /= system[k][k];
    }
    right
}

/// Positive and negative part.
pub(crate) fn parts(current: f64) -> (f64, f64) {
    (current.max(0.0), (-current).max(0.0))
}

/// Says what differs by more than `tolerance` of the measured figure; `floor` is what counts as nothing.
pub(crate) fn compare(
    what: &str,
    closed: f64,
    measured: f64,
    tolerance: f64,
    floor: f64,
) -> Result<(), String> {
    if (closed - measured).abs() <= tolerance * measured.abs() + floor {
        Ok(())
    } else {
        Err(format!("{what}: {closed} by formula, {measured} in time"))
    }
}
