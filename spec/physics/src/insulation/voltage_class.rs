//! Whether a circuit's voltage is one that hurts.

use crate::stored_energy::HARMLESS;
use crate::{OutOfRange, Voltage};

/// Voltage class (ISO 6469-3).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum VoltageClass {
    /// Up to 60 V direct and 30 V rms alternating.
    A,
    /// Above.
    B,
}

/// Upper limits of the classes, direct and alternating.
const OF_A: (Voltage, Voltage) = (HARMLESS, Voltage::new(30.0));
const OF_B: (Voltage, Voltage) = (Voltage::new(1500.0), Voltage::new(1000.0));

/// Voltage class of a circuit by the largest direct and the largest alternating (rms) voltage anywhere in it; zero for
/// what it does not have. A bus of 54 V is of class A and its machine, at √(2/3) of that between phases, of class B.
///
/// `A: up to 60 V of direct and 30 V rms of alternating voltage; B: above, up to 1500 V and 1000 V rms`. Valid: largest
/// voltages that can occur, limits included; one side above its limit makes the circuit class B. Source: ISO 6469-3,
/// voltage classes.
///
/// # Errors
/// A voltage is missing, negative, or above class B.
pub fn voltage_class(direct: Voltage, alternating: Voltage) -> Result<VoltageClass, OutOfRange> {
    OutOfRange::check("direct voltage", direct.si(), 0.0, OF_B.0.si(), "V")?;
    OutOfRange::check("alternating voltage", alternating.si(), 0.0, OF_B.1.si(), "V rms")?;
    Ok(if direct <= OF_A.0 && alternating <= OF_A.1 { VoltageClass::A } else { VoltageClass::B })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_inside_and_either_side_decides() {
        let of = |direct, alternating| voltage_class(Voltage::new(direct), Voltage::new(alternating)).ok();
        assert_eq!(of(60.0, 30.0), Some(VoltageClass::A));
        assert_eq!(of(60.1, 0.0), Some(VoltageClass::B));
        assert_eq!(of(54.0, 44.0), Some(VoltageClass::B));
        assert_eq!(of(1500.0, 1000.0), Some(VoltageClass::B));
        assert_eq!(of(1501.0, 0.0), None);
        assert_eq!(of(0.0, 1001.0), None);
        assert_eq!(of(f64::NAN, 0.0), None);
        assert_eq!(of(48.0, f64::NAN), None);
    }
}
