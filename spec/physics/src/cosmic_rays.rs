//! How much more often a blocking device is burnt out by cosmic rays high up than at sea level.
//!
//! The rate itself hangs on device data and climbs steeply with the voltage; only the maker knows it.

use crate::{Length, OutOfRange};

/// Above it the rays come to their maximum and no longer grow with the air that is left above.
const HIGHEST: f64 = 12_000.0;

/// Failure rate over that at sea level.
///
/// `k = e^((1 − (1 − h/44 300 m)^5.26)/0.143)`. Valid: 0 to 12 000 m; a ratio alone, voltage and temperature the same.
/// The rate is the maker's. Source: Kaminski, application note on failure rates by cosmic rays, 2004; absorption in the
/// standard atmosphere.
///
/// # Errors
/// The altitude is missing, below the sea or above 12 000 m.
pub fn altitude_factor(altitude: Length) -> Result<f64, OutOfRange> {
    OutOfRange::check("altitude", altitude.si(), 0.0, HIGHEST, "m")?;
    let pressure = libm::pow(1.0 - altitude.si() / 44_300.0, 5.26);
    Ok(libm::exp((1.0 - pressure) / 0.143))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(metres: f64) -> Option<f64> {
        altitude_factor(Length::new(metres)).ok()
    }

    #[test]
    fn a_mountain_pass_has_four_times_the_rate_and_an_airliner_some_hundreds() {
        // Published with the formula: 4.5 at 2000 m, 26 at 5000 m; neutron monitors count 100 to 500 times as much in flight.
        assert!((at(0.0).unwrap() - 1.0).abs() < 1e-12);
        assert!((at(2000.0).unwrap() - 4.5).abs() < 0.05);
        assert!((at(5000.0).unwrap() - 26.0).abs() < 0.5);
        assert!((100.0..500.0).contains(&at(12_000.0).unwrap()));
    }

    #[test]
    fn nothing_is_said_of_the_stratosphere() {
        assert_eq!([at(12_001.0), at(-1.0), at(f64::NAN)], [None; 3]);
    }
}
