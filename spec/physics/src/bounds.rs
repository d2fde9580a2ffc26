//! Bounds that leave "not a number" alone, and the error of a law that was asked outside its range.
//!
//! `f64::max` and `f64::min` answer with the other operand when one is not a number, which would turn a
//! missing input into a plausible figure. The comparisons here keep it.

use core::fmt;

/// The value, or zero where it is below.
#[inline]
pub(crate) fn at_least_zero(value: f64) -> f64 {
    if value < 0.0 { 0.0 } else { value }
}

/// The value within `low ..= high`.
#[inline]
pub(crate) fn within(value: f64, low: f64, high: f64) -> f64 {
    if value < low {
        low
    } else if value > high {
        high
    } else {
        value
    }
}

/// A power factor within −1 ..= 1; rounding may have carried it just outside.
#[inline]
pub(crate) fn cosine(cos_phi: f64) -> f64 {
    within(cos_phi, -1.0, 1.0)
}

/// A base of zero or more to a power: by logarithm and exponential, twice as fast as `libm::pow` and right to some
/// 1e-15 times the logarithm of what comes out, far closer than any law that asks for it. A missing operand stays
/// missing, while the standard's power answers one for "anything to the power of zero" and "one to any power".
#[inline]
pub(crate) fn power(base: f64, exponent: f64) -> f64 {
    if exponent == 0.0 {
        return 1.0 + 0.0 * base;
    }
    libm::exp(exponent * libm::log(base))
}

/// A value outside the range for which a law is known to hold; nothing is extrapolated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// What was outside, in words.
    pub quantity: &'static str,
    /// Its value.
    pub value: f64,
    /// Lowest value for which the law holds.
    pub low: f64,
    /// Highest value for which the law holds.
    pub high: f64,
    /// Unit of the three values.
    pub unit: &'static str,
}

impl OutOfRange {
    /// Nothing to say where `value` lies within `low ..= high`, bounds included. A missing value lies
    /// nowhere.
    ///
    /// # Errors
    /// The value lies outside.
    #[inline]
    pub fn check(
        quantity: &'static str,
        value: f64,
        low: f64,
        high: f64,
        unit: &'static str,
    ) -> Result<(), Self> {
        if value >= low && value <= high { Ok(()) } else { Err(Self { quantity, value, low, high, unit }) }
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { quantity, value, low, high, unit } = self;
        let space = if unit.is_empty() { "" } else { " " };
        if high.is_infinite() {
            write!(out, "{quantity} is {value}{space}{unit}, known from {low}{space}{unit} upwards")
        } else {
            write!(out, "{quantity} is {value}{space}{unit}, known from {low} to {high}{space}{unit}")
        }
    }
}

impl core::error::Error for OutOfRange {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_keep_what_is_missing() {
        assert!(at_least_zero(f64::NAN).is_nan());
        assert!(cosine(f64::NAN).is_nan());
        assert!(power(f64::NAN, 0.0).is_nan());
        assert!(power(1.0, f64::NAN).is_nan());
    }

    #[test]
    fn a_bound_itself_is_inside() {
        assert_eq!(OutOfRange::check("coolant", 100.0, -35.0, 100.0, "°C"), Ok(()));
        let outside = OutOfRange::check("coolant", 100.5, -35.0, 100.0, "°C").unwrap_err();
        assert_eq!(outside.to_string(), "coolant is 100.5 °C, known from -35 to 100 °C");
        assert!(OutOfRange::check("coolant", f64::NAN, -35.0, 100.0, "°C").is_err());
    }
}
