//! The mean square of a current with a memory that fades, as that of a body which warms with one time constant.

use crate::{Current, SquaredCurrent, Time};

/// The mean square after a current has flowed for a time.
///
/// `I_rms² = I² + (I_rms,before² − I²)·exp(−t/τ)`. Valid: a current that stands still for the time t; what warms with
/// the time constant τ, or slower. Source: Joule heat; a body with one time constant.
#[inline]
#[must_use]
pub fn after(before: SquaredCurrent, current: Current, lasts: Time, memory: Time) -> SquaredCurrent {
    let now = (current * current).si();
    SquaredCurrent::new(now + (before.si() - now) * libm::exp(-(lasts.si() / memory.si())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_comes_to_the_mean_of_the_squares_over_quick_pulses_and_to_the_current_over_slow_ones() {
        let memory = Time::new(300.0);
        let mut square = SquaredCurrent::new(0.0);
        for _ in 0..1000 {
            square = after(square, Current::new(284.0), Time::new(29.0), memory);
            square = after(square, Current::new(181.0), Time::new(1.0), memory);
        }
        // √((284²·29 + 181²)/30) = 281.2.
        assert!((square.si().sqrt() - 281.2).abs() < 0.5);
        let held = after(square, Current::new(100.0), Time::new(3000.0), memory);
        assert!((held.si().sqrt() - 100.0).abs() < 0.1);
        // Two thirds of the way in one time constant: 1 − 1/e.
        let warming = after(SquaredCurrent::new(0.0), Current::new(100.0), memory, memory);
        assert!((warming.si() / 1e4 - 0.632_120_558_8).abs() < 1e-9);
        assert!(after(square, Current::new(f64::NAN), memory, memory).si().is_nan());
    }
}
