//! What stands between the sources of two gates that share a return.

use crate::{Current, CurrentSlope, Inductance, Law, Time, Voltage};

/// Law of [`voltage`].
pub static VOLTAGE: Law = Law {
    name: "voltage along a return that gates share",
    formula: "V = L·di/dt",
    validity: "inductance of the power path between the sources that one output drives",
    source: "induction",
};

/// Voltage between two sources on one rail during an edge of the current. See [`VOLTAGE`].
#[inline]
#[must_use]
pub fn voltage(between: Inductance, edge: CurrentSlope) -> Voltage {
    between * edge
}

/// How steeply a current falls that is turned off: `fall` is its time from 90 to 10 %, of a straight fall.
#[inline]
#[must_use]
pub fn edge(current: Current, fall: Time) -> CurrentSlope {
    CurrentSlope::new(0.8 * current.si() / fall.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_nanohenries_are_16_volts_at_2_amperes_a_nanosecond() {
        assert!((voltage(Inductance::new(8e-9), CurrentSlope::new(2e9)).si() - 16.0).abs() < 1e-12);
    }

    #[test]
    fn a_current_falls_by_four_fifths_in_its_fall_time() {
        // 450 A: from 405 A to 45 A in 90 ns.
        let slope = edge(Current::new(450.0), Time::new(90e-9)).si();
        assert!((slope / ((405.0 - 45.0) / 90e-9) - 1.0).abs() < 1e-12);
        assert!(edge(Current::new(450.0), Time::new(f64::NAN)).si().is_nan());
    }
}
