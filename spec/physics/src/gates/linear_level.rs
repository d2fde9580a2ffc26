//! The gate voltage above which a transistor is fully on.

use crate::{Current, Law, Transconductance, Voltage};

/// Law of [`voltage`].
pub static VOLTAGE: Law = Law {
    name: "gate voltage below which the channel limits the current",
    formula: "V = V_th + 2·I/g",
    validity: "square law with the slope g at about this current; threshold and slope as the data sheet has them at 25 °C, the hotter the less of either",
    source: "Baliga, Fundamentals of Power Semiconductor Devices, 2nd ed., 2019 (transfer characteristic in saturation)",
};

/// Gate voltage that a current needs: below it the channel saturates, and the device takes current and voltage at once.
/// See [`VOLTAGE`].
#[must_use]
pub fn voltage(threshold: Voltage, current: Current, slope: Transconductance) -> Voltage {
    threshold + Voltage::new(2.0 * current.abs().si() / slope.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slope_at_the_current_gives_back_the_square_law() {
        // k = 10 A/V², 2 V above the threshold: 40 A with a slope of 2·k·2 V = 40 A/V.
        let needed = voltage(Voltage::new(3.0), Current::new(40.0), Transconductance::new(40.0));
        assert!((needed.si() - 5.0).abs() < 1e-12);
        assert!(
            (voltage(Voltage::new(3.0), Current::new(-40.0), Transconductance::new(40.0)) - needed)
                .si()
                .abs()
                < 1e-12
        );
    }
}
