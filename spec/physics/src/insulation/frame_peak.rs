//! What recurs between the windings of a machine and its frame.

use crate::{Law, Voltage};

/// Law of [`frame_peak`].
pub static FRAME_PEAK: Law = Law {
    name: "recurring peak between a terminal of a machine and its frame",
    formula: "V = s·V_bus,max + ΔV_off + k·V_bus,max, s 1 of a bus that floats or is earthed at a rail, 1/2 of one with an earthed midpoint, ΔV_off what a turn-off adds, k what reflections along the cable add to an edge",
    validity: "a floating bus with a first fault at the other rail; all of it at once, which reads high; k from 0 of a cable that is short against the edge to 1 of a long one; edges that follow one another within the ringing of the cable may come to more",
    source: "IEC 60034-18-41: peak to frame of converter-fed windings; reflection of a travelling wave at an open end",
};

/// Recurring peak in V, from the highest voltage of the bus, the share of it that may stand between a phase and the chassis, what
/// a turn-off adds, and the share by which reflections lift an edge. See [`FRAME_PEAK`].
#[inline]
#[must_use]
pub fn frame_peak(bus: Voltage, share: f64, spike: Voltage, reflected: f64) -> Voltage {
    bus * (share + reflected) + spike
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Highest voltage at the open end of a line of many sections of L and C, lossless, each with a delay of one, after an edge of
    /// 1 V that takes `rise` times the delay of the whole line; stepped.
    fn at_open_end(rise: f64) -> f64 {
        const SECTIONS: u32 = 400;
        const STEPS: u32 = 4;
        let dt = 1.0 / f64::from(STEPS);
        // Current into each section, and voltage behind it.
        let mut line: Vec<(f64, f64)> = (0..SECTIONS).map(|_| (0.0, 0.0)).collect();
        let mut highest: f64 = 0.0;
        for step in 0..16 * SECTIONS * STEPS {
            let time = f64::from(step) * dt / f64::from(SECTIONS);
            let mut before = if time < rise { time / rise } else { 1.0 };
            for (amps, volts) in &mut line {
                *amps += (before - *volts) * dt;
                before = *volts;
            }
            let mut next = 0.0;
            for (amps, volts) in line.iter_mut().rev() {
                *volts += (*amps - next) * dt;
                next = *amps;
                highest = highest.max(*volts);
            }
        }
        highest
    }

    #[test]
    fn a_long_cable_doubles_an_edge_and_a_short_one_leaves_it() {
        // An edge shorter than twice the delay comes to twice its height; one of seven delays to little more than its own.
        let long = at_open_end(0.5);
        assert!((long - 2.0).abs() < 0.03, "{long}");
        let short = at_open_end(7.0);
        assert!(short < 1.3, "{short}");
        for reached in [long, short] {
            let peak = frame_peak(Voltage::new(600.0), 1.0, Voltage::ZERO, reached - 1.0);
            assert!((peak.si() - 600.0 * reached).abs() < 1e-9, "an edge from the rail that the frame is on");
        }
    }

    #[test]
    fn an_earthed_midpoint_leaves_half_and_what_is_missing_stays_missing() {
        let peak = |share, spike: f64| frame_peak(Voltage::new(800.0), share, Voltage::new(spike), 0.25).si();
        assert!((peak(0.5, 60.0) - 660.0).abs() < 1e-9 && (peak(1.0, 60.0) - 1060.0).abs() < 1e-9);
        assert!(peak(1.0, f64::NAN).is_nan());
    }
}
