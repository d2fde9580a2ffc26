//! Whether a short circuit is off before the device has had enough.

use crate::{Law, Time, Voltage};

/// Law of [`reaction`].
pub static REACTION: Law = Law {
    name: "time from a short circuit until it is off",
    formula: "t = t_blank + t_filter + t_prop + t_off",
    validity: "each at its longest; a soft or two-level turn-off is part of t_off, and the blanking lasts no less than the turn-on",
    source: "sequence of a desaturation protection",
};

/// Law of [`at_voltage`].
pub static AT_VOLTAGE: Law = Law {
    name: "withstand time of a short circuit at another bus voltage",
    formula: "t = t_0·min(1, V_0/V)",
    validity: "estimate: the same energy at a saturated current that does not depend on the voltage; up to 1.25·V_0, at most at the junction temperature and the gate voltage that t_0 holds at",
    source: "Lutz, Schlangenotto, Scheuermann, De Doncker, Semiconductor Power Devices, 2nd ed., 2018 (critical energy of a short circuit)",
};

/// Share of the voltage that a withstand time holds at, up to which the estimate of [`at_voltage`] goes.
pub const VOLTAGE_REACH: f64 = 1.25;

/// Withstand time at a voltage other than the one that it is stated at: never more than stated, and not a number beyond
/// [`VOLTAGE_REACH`]. See [`AT_VOLTAGE`].
#[must_use]
pub fn at_voltage(withstand: Time, stated_at: Voltage, bus: Voltage) -> Time {
    let share = bus / stated_at;
    if share > VOLTAGE_REACH || share.is_nan() {
        return Time::new(f64::NAN);
    }
    withstand / share.max(1.0)
}

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

/// Time that a short circuit may last, by a share of what the device withstands.
///
/// `t = k·t_sc`. Valid: withstand time at the bus and the gate voltage in use and at the hottest start; k is a policy,
/// 0.7 to 0.8 by habit of the trade. Source: data sheet of the device.
#[must_use]
pub fn allowed(withstand: Time, share: f64) -> Time {
    withstand * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_voltage_leaves_less_time_and_far_more_is_not_known() {
        let micro = |us: f64| Time::new(1e-6 * us);
        let at = |volts: f64| at_voltage(micro(8.0), Voltage::new(800.0), Voltage::new(volts));
        assert!((at(400.0) - micro(8.0)).si().abs() < 1e-15, "less voltage is not counted");
        // 8 µs at 800 V and at 1000 V the same energy.
        assert!((at(1000.0) - micro(6.4)).si().abs() < 1e-15);
        assert!(at(1001.0).si().is_nan() && at(f64::NAN).si().is_nan());
    }

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
