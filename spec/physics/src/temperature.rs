//! A temperature is a place on a scale and a temperature difference is a distance on it. Two places cannot
//! be added:
//!
//! ```
//! use loadworthy_physics::{Temperature, TemperatureDifference};
//! let coolant = Temperature::celsius(65.0);
//! let rise: TemperatureDifference = Temperature::celsius(80.0) - coolant;
//! assert_eq!(rise.si(), 15.0);
//! assert_eq!((coolant + rise).in_celsius(), 80.0);
//! ```
//!
//! ```compile_fail
//! use loadworthy_physics::Temperature;
//! let nonsense = Temperature::celsius(65.0) + Temperature::celsius(15.0);
//! ```

use core::fmt;
use core::ops::{Add, Sub};

use crate::TemperatureDifference;

/// A temperature, held in degrees Celsius as it is written and read.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
#[repr(transparent)]
pub struct Temperature(f64);

impl Temperature {
    /// Zero of the Celsius scale in kelvin (definition).
    const ICE_POINT: f64 = 273.15;

    /// From degrees Celsius.
    #[inline]
    pub const fn celsius(value: f64) -> Self {
        Self(value)
    }

    /// In degrees Celsius.
    #[inline]
    pub const fn in_celsius(self) -> f64 {
        self.0
    }

    /// In kelvin, above absolute zero.
    #[inline]
    pub const fn in_kelvin(self) -> f64 {
        self.0 + Self::ICE_POINT
    }
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    #[inline]
    fn sub(self, other: Self) -> TemperatureDifference {
        TemperatureDifference::new(self.0 - other.0)
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Self;
    #[inline]
    fn add(self, rise: TemperatureDifference) -> Self {
        Self(self.0 + rise.si())
    }
}

impl Sub<TemperatureDifference> for Temperature {
    type Output = Self;
    #[inline]
    fn sub(self, fall: TemperatureDifference) -> Self {
        Self(self.0 - fall.si())
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, out)?;
        out.write_str(" °C")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kelvin_and_celsius_share_their_step() {
        assert!((Temperature::celsius(25.0).in_kelvin() - 298.15).abs() < 1e-12);
        assert_eq!(format!("{:.1}", Temperature::celsius(65.0)), "65.0 °C");
    }
}
