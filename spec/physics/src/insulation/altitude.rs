//! How much farther apart parts must be where the air is thin.

use super::rows::{self, Between};
use super::{Certainty, NotGiven, tables};
use crate::{Law, Length, OutOfRange};

/// Law of [`altitude_factor`].
pub static ALTITUDE_FACTOR: Law = Law {
    name: "factor of clearances by altitude",
    formula: "80 kPa over the pressure of the air, by rows of 1000 m",
    validity: "2000 m, for which clearances are stated and below which nothing is gained, to 20 000 m; clearances only, never creepage",
    source: "IEC 60664-1, Table A.2 of the second edition; the third has them in Table F.10, not compared",
};

/// Altitude up to which clearances hold as they stand.
pub const STATED_UP_TO: Length = Length::new(2000.0);

/// A factor of clearances and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AltitudeFactor {
    /// The factor, 1 up to 2000 m.
    pub factor: f64,
    /// The lower row; the same as `upper` where one row decides.
    pub lower: Length,
    /// The upper row.
    pub upper: Length,
    /// How sure its cells are.
    pub certainty: Certainty,
}

/// Factor of clearances at an altitude. See [`ALTITUDE_FACTOR`].
///
/// # Errors
/// The altitude is missing or above 20 000 m.
pub fn altitude_factor(altitude: Length, between: Between) -> Result<AltitudeFactor, NotGiven> {
    // A pit below the sea has denser air.
    let metres = if altitude.si() < 0.0 { 0.0 } else { altitude.si() };
    let read = rows::read(&tables::ALTITUDE, |[_, factor]| *factor, ("altitude", metres, "m"), between);
    let read = read.map_err(|fault| match fault {
        NotGiven::OutOfRange(outside) => NotGiven::OutOfRange(OutOfRange { value: altitude.si(), ..outside }),
        other => other,
    })?;
    // The factor bends upwards, so that a straight line between two rows errs on the safe side.
    let [lower, upper] = [read.lower, read.upper].map(Length::new);
    Ok(AltitudeFactor { factor: read.figure, lower, upper, certainty: read.certainty })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(metres: f64, between: Between) -> Option<f64> {
        altitude_factor(Length::new(metres), between).ok().map(|it| it.factor)
    }

    #[test]
    fn nothing_is_gained_below_2000_metres_and_nothing_known_above_20_000() {
        for low in [-400.0, 0.0, 1999.0, 2000.0] {
            assert_eq!(at(low, Between::Interpolate), Some(1.0));
        }
        assert_eq!(at(20_000.0, Between::Interpolate), Some(14.5));
        assert_eq!(at(20_001.0, Between::Interpolate), None);
        assert_eq!(at(f64::NAN, Between::NextRow), None);
    }

    #[test]
    fn a_band_takes_the_next_row() {
        assert_eq!(at(2001.0, Between::NextRow), Some(1.14));
        assert_eq!(at(4500.0, Between::NextRow), Some(1.48));
        assert!((at(4500.0, Between::Interpolate).unwrap() - 1.385).abs() < 1e-12);
    }
}
