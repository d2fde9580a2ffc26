//! Whether a short circuit is off before the device has had enough.

use crate::{Law, Time};

/// Law of [`reaction`].
pub static REACTION: Law = Law {
    name: "time from a short circuit until it is off",
    formula: "t = t_blank + t_filter + t_prop + t_off",
    validity: "each at its longest; a soft or two-level turn-off is part of t_off, and the blanking lasts no less than the turn-on",
    source: "sequence of a desaturation protection",
};

/// Law of [`allowed`].
pub static ALLOWED: Law = Law {
    name: "time that a short circuit may last",
    formula: "t = k·t_sc",
    validity: "withstand time at the bus and the gate voltage in use and at the hottest start; k is a policy, 0.7 to 0.8 by habit of the trade",
    source: "data sheet of the device",
};

/// Times of a protection.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reaction {
    /// Blanking after the turn-on.
    pub blanking: Time,
    /// Filter of the fault.
    pub filter: Time,
    /// From the fault to the driver's output.
    pub propagation: Time,
    /// Until the current is gone.
    pub turn_off: Time,
}

/// Time until a short circuit is off. See [`REACTION`].
#[must_use]
pub fn reaction(times: &Reaction) -> Time {
    times.blanking + times.filter + times.propagation + times.turn_off
}

/// Time that a short circuit may last, by a share of what the device withstands. See [`ALLOWED`].
#[must_use]
pub fn allowed(withstand: Time, share: f64) -> Time {
    withstand * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_microseconds_are_soon_spent() {
        let micro = |us: f64| Time::new(1e-6 * us);
        let times = Reaction {
            blanking: micro(0.8),
            filter: micro(0.2),
            propagation: micro(0.15),
            turn_off: micro(0.6),
        };
        assert!((reaction(&times) - micro(1.75)).si().abs() < 1e-15);
        assert!(reaction(&times) > allowed(micro(2.0), 0.8) && reaction(&times) < allowed(micro(3.0), 0.8));
    }
}
