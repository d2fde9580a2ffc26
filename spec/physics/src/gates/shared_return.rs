//! What stands between the sources of two gates that share a return.

use crate::{CurrentSlope, Inductance, Law, Voltage};

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_nanohenries_are_16_volts_at_2_amperes_a_nanosecond() {
        assert!((voltage(Inductance::new(8e-9), CurrentSlope::new(2e9)).si() - 16.0).abs() < 1e-12);
    }
}
