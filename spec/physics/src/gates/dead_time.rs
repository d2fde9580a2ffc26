//! How long both switches of a leg must be off.

use crate::{Law, Time};

/// Law of [`needed`].
pub static NEEDED: Law = Law {
    name: "dead time that a leg needs",
    formula: "t = k·(t_d,off + t_f − t_d,on + t_skew), delays off at their longest and on at their shortest",
    validity: "delays at the load, the temperature and the gate resistors in use; at light load the pole moves more slowly, by its capacitance. k is a margin, 1.2 by habit of the trade",
    source: "Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015 (interlock time)",
};

/// Delays of a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delays {
    /// Longest delay of turning off.
    pub off: Time,
    /// Longest fall of the current.
    pub fall: Time,
    /// Shortest delay of turning on.
    pub on: Time,
    /// Largest difference between the driver's channels.
    pub skew: Time,
}

/// Dead time that a leg needs, with a factor of margin. See [`NEEDED`].
#[must_use]
pub fn needed(delays: &Delays, factor: f64) -> Time {
    (delays.off + delays.fall - delays.on + delays.skew) * factor
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_switch_that_turns_on_late_needs_less() {
        let nano = |ns: f64| Time::new(1e-9 * ns);
        let delays = Delays { off: nano(250.0), fall: nano(60.0), on: nano(40.0), skew: nano(50.0) };
        assert!((needed(&delays, 1.2) - nano(384.0)).si().abs() < 1e-15);
        assert!(needed(&Delays { on: nano(90.0), ..delays }, 1.2) < needed(&delays, 1.2));
    }
}
