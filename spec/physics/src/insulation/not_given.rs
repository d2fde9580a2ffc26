//! Why a table gives no figure.

use core::fmt;

use crate::OutOfRange;

/// Why there is no figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotGiven {
    /// An input is missing, negative, or beyond the last row of the table.
    OutOfRange(OutOfRange),
    /// Pollution degree 4 bridges every surface: no creepage distance holds, and the table of clearances has no column.
    PollutionDegreeFour,
    /// Material of group IIIb in pollution degree 3 above 630 V.
    GroupThreeB(OutOfRange),
}

impl From<OutOfRange> for NotGiven {
    fn from(outside: OutOfRange) -> Self {
        Self::OutOfRange(outside)
    }
}

impl NotGiven {
    /// Whether an input is known and lies above the last row.
    #[must_use]
    pub fn is_above_table(&self) -> bool {
        matches!(self, Self::OutOfRange(outside) if outside.value > outside.high)
    }

    /// Whether an input is not known.
    #[cfg(test)]
    pub(crate) fn is_missing(&self) -> bool {
        matches!(self, Self::OutOfRange(outside) if outside.value.is_nan())
    }
}

impl fmt::Display for NotGiven {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange(outside) => outside.fmt(out),
            Self::PollutionDegreeFour => out.write_str("no distance can be given in pollution degree 4"),
            Self::GroupThreeB(outside) => {
                write!(out, "material of group IIIb is not for pollution degree 3 here: {outside}")
            }
        }
    }
}

impl core::error::Error for NotGiven {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn above_a_table_is_told_from_missing() {
        let outside =
            |value| NotGiven::from(OutOfRange { quantity: "x", value, low: 0.0, high: 1.0, unit: "V" });
        assert!(outside(2.0).is_above_table() && !outside(2.0).is_missing());
        assert!(outside(f64::NAN).is_missing() && !outside(f64::NAN).is_above_table());
        assert!(!outside(-1.0).is_above_table());
        assert_eq!(outside(2.0).to_string(), "x is 2 V, known from 0 to 1 V");
    }
}
