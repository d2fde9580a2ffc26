//! Sharing while parallel devices switch: the one with the lowest threshold turns on first and off last.

use crate::{Current, Inductance, Law, Time, Transconductance, Voltage};

const OWN: &str =
    "own derivation, compared with a switching simulation of two devices; Forsythe, IEEE-IAS, 1981";

/// Law of [`skew`].
pub static SKEW: Law = Law {
    name: "difference of current at a switching edge",
    formula: "g_m·ΔV_th·τ_g/(τ_g + g_m·L_s) ≤ ΔI ≤ g_m·ΔV_th",
    validity: "a pair with equal drive; equal bounds without common source inductance; never more than the current itself",
    source: OWN,
};

/// Law of [`energy_skew`].
pub static ENERGY_SKEW: Law = Law {
    name: "excess switching energy of the leading device",
    formula: "ΔE/E = ΔI/(2·I)·(1 + w)",
    validity: "a pair, each against the mean; of n devices with one leading n − 1 over n of twice that; 10 % of itself",
    source: OWN,
};

/// Bounds of the difference of two devices' currents at an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skew {
    /// It is at least this.
    pub least: Current,
    /// It is at most this.
    pub most: Current,
}

/// Difference of current between two devices at a switching edge.
///
/// `transconductance` is g_m, `threshold_difference` is ΔV_th, `gate_time` is τ_g, gate resistance times
/// input capacitance, `source_inductance` is L_s of each device's own source that gate and load share. See
/// [`SKEW`].
#[inline]
pub fn skew(
    transconductance: Transconductance,
    threshold_difference: Voltage,
    gate_time: Time,
    source_inductance: Inductance,
) -> Skew {
    let most = (transconductance * threshold_difference).abs();
    // g_m·L_s: volts for each volt at the gate, times the time it lasts.
    let slowed = transconductance.si() * source_inductance.si();
    let share =
        if slowed == 0.0 { 1.0 + 0.0 * gate_time.si() } else { gate_time.si() / (gate_time.si() + slowed) };
    Skew { least: most * share, most }
}

/// Excess of the leading device's switching energy over the mean (plain number).
///
/// `difference` is the difference of the two currents at the edge, `average` the mean of both, `rise_share`
/// the part w of the energy that falls into the rise (or fall) of the current. See [`ENERGY_SKEW`].
#[inline]
pub fn energy_skew(difference: Current, average: Current, rise_share: f64) -> f64 {
    difference / (average * 2.0) * (1.0 + rise_share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn source_inductance_evens_out() {
        let pair = |henry| {
            let (gate, source) = (Time::new(40e-9), Inductance::new(henry));
            skew(Transconductance::new(60.0), Voltage::new(0.3), gate, source)
        };
        assert_eq!(pair(0.0).least, pair(0.0).most);
        assert!((pair(1e-9).least.si() - 18.0 * 0.4).abs() < 1e-9);
        assert!(pair(f64::NAN).least.si().is_nan());
    }
}
