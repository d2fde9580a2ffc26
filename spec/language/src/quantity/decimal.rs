//! Decimal text to a number, exactly.
//!
//! 100 × 1e-9 is not 1e-7 in binary arithmetic. A unit's power of ten is therefore added to the exponent of the
//! written digits before they become a number, and the result is rounded once.

/// More digits than anyone means.
const MOST_DIGITS: usize = 40;
/// Exponents beyond this are slips or hostile; every quantity in here fits well inside.
const LARGEST_EXPONENT: i32 = 40;
/// No quantity of a power control unit comes near these in SI units.
const LARGEST: f64 = 1e24;
const SMALLEST: f64 = 1e-24;
/// Integers up to this are exact in a double.
const EXACT: u64 = 1 << 53;

/// A number as it was written: sign, digits without the point, and a power of ten.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Decimal<'t> {
    negative: bool,
    whole: &'t str,
    fraction: &'t str,
    exponent: i32,
}

/// A factor `numerator / denominator × 10^exponent`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Factor {
    pub(super) numerator: u64,
    pub(super) denominator: u64,
    pub(super) exponent: i32,
}

impl Factor {
    pub(super) const ONE: Self = Self { numerator: 1, denominator: 1, exponent: 0 };

    /// The product with `other` to a whole power, unless it leaves what can be held exactly.
    pub(super) fn times(self, other: Self, power: i32) -> Option<Self> {
        let magnitude = power.unsigned_abs();
        let up = other.numerator.checked_pow(magnitude)?;
        let down = other.denominator.checked_pow(magnitude)?;
        let (up, down) = if power < 0 { (down, up) } else { (up, down) };
        Some(Self {
            numerator: self.numerator.checked_mul(up)?,
            denominator: self.denominator.checked_mul(down)?,
            exponent: self.exponent.checked_add(other.exponent.checked_mul(power)?)?,
        })
    }
}

impl<'t> Decimal<'t> {
    /// The number that `text` begins with, and what follows it. `None` where it begins with none.
    pub(super) fn leading(text: &'t str) -> Option<(Self, &'t str)> {
        let (negative, unsigned) = match text.chars().next()? {
            '-' => (true, &text[1..]),
            // The minus sign of typeset data sheets.
            '\u{2212}' => (true, &text['\u{2212}'.len_utf8()..]),
            '+' => (false, &text[1..]),
            _ => (false, text),
        };
        let (whole, rest) = digits(unsigned);
        let (fraction, rest) = match rest.strip_prefix('.') {
            Some(after) => digits(after),
            None => ("", rest),
        };
        if whole.is_empty() && fraction.is_empty() {
            return None;
        }
        let (exponent, rest) = exponent(rest).unwrap_or((0, rest));
        Some((Self { negative, whole, fraction, exponent }, rest))
    }

    /// Whether the digits or the exponent are beyond anything a quantity can mean.
    pub(super) fn is_absurd(&self) -> bool {
        self.whole.len() + self.fraction.len() > MOST_DIGITS || self.exponent.abs() > LARGEST_EXPONENT
    }

    /// The number times a factor, rounded once wherever digits and factor are exact in a double.
    pub(super) fn times(&self, factor: Factor) -> Option<f64> {
        if self.is_absurd() {
            return None;
        }
        let exponent = self.exponent.checked_add(factor.exponent)?;
        let value = if factor.numerator == 1 && factor.denominator == 1 {
            self.unsigned(exponent)?
        } else {
            self.scaled(factor, exponent)?
        };
        let within = value <= 0.0 || (SMALLEST..=LARGEST).contains(&value);
        within.then_some(if self.negative { -value } else { value })
    }

    fn unsigned(&self, exponent: i32) -> Option<f64> {
        let shifted = exponent.checked_sub(i32::try_from(self.fraction.len()).ok()?)?;
        // Whole digits and a power of ten that are both exact: one rounding, and nothing to write first.
        let exact = self.digits().filter(|digits| *digits <= EXACT).zip(power_of_ten(shifted.unsigned_abs()));
        match exact {
            Some((digits, ten)) if shifted < 0 => Some(digits as f64 / ten),
            Some((digits, ten)) => Some(digits as f64 * ten),
            None => format!("{}{}e{shifted}", self.whole, self.fraction).parse().ok(),
        }
    }

    fn scaled(&self, factor: Factor, exponent: i32) -> Option<f64> {
        let shifted = exponent.checked_sub(i32::try_from(self.fraction.len()).ok()?)?;
        let ten = 10_u64.checked_pow(shifted.unsigned_abs());
        let ratio = self.digits().zip(ten).and_then(|(digits, ten)| {
            let above = digits.checked_mul(factor.numerator)?;
            let (up, down) = if shifted < 0 {
                (above, factor.denominator.checked_mul(ten)?)
            } else {
                (above.checked_mul(ten)?, factor.denominator)
            };
            (up <= EXACT && down <= EXACT).then_some((up, down))
        });
        Some(match ratio {
            // Both exact: one rounding, in the division.
            Some((up, down)) => up as f64 / down as f64,
            None => self.unsigned(exponent)? * (factor.numerator as f64 / factor.denominator as f64),
        })
    }

    /// All digits as one whole number.
    fn digits(&self) -> Option<u64> {
        let digits = self.whole.bytes().chain(self.fraction.bytes());
        digits
            .map(|digit| u64::from(digit - b'0'))
            .try_fold(0_u64, |sum, digit| sum.checked_mul(10)?.checked_add(digit))
    }
}

/// Powers of ten up to the last one that a double holds exactly.
fn power_of_ten(power: u32) -> Option<f64> {
    const LAST: u32 = 22;
    (power <= LAST).then(|| (0..power).fold(1.0, |ten, _| ten * 10.0))
}

fn digits(text: &str) -> (&str, &str) {
    let end = text.bytes().take_while(u8::is_ascii_digit).count();
    text.split_at(end)
}

/// `e-9` at the start of `text`; without digits behind it the `e` belongs to what follows.
fn exponent(text: &str) -> Option<(i32, &str)> {
    let after = text.strip_prefix(['e', 'E'])?;
    let (sign, after) = match after.as_bytes().first()? {
        b'-' => (-1, &after[1..]),
        b'+' => (1, &after[1..]),
        _ => (1, after),
    };
    let (written, rest) = digits(after);
    if written.is_empty() {
        return None;
    }
    // Too long for the type is far beyond what is accepted as well.
    Some((sign * written.parse::<i32>().unwrap_or(i32::MAX), rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, factor: Factor) -> Option<f64> {
        let (decimal, rest) = Decimal::leading(text)?;
        rest.is_empty().then(|| decimal.times(factor))?
    }

    #[test]
    fn a_power_of_ten_is_added_to_the_exponent() {
        let nano = Factor { exponent: -9, ..Factor::ONE };
        assert_eq!(read("100", nano).map(f64::to_bits), Some(100e-9_f64.to_bits()));
        assert_eq!(read("0.35", nano).map(f64::to_bits), Some(0.35e-9_f64.to_bits()));
        assert_eq!(read("-2.5e1", nano).map(f64::to_bits), Some((-25e-9_f64).to_bits()));
    }

    #[test]
    fn minutes_are_divided_once() {
        let litre_a_minute = Factor { numerator: 1, denominator: 60, exponent: -3 };
        assert_eq!(read("8", litre_a_minute).map(f64::to_bits), Some((8.0_f64 / 60_000.0).to_bits()));
    }

    #[test]
    fn what_is_no_number_or_absurd_is_refused() {
        for text in ["", "-", ".", "NaN", "inf", "1e999", "1e-999", "1e99999999999", "1,5", "0x10", "1_000"] {
            assert_eq!(read(text, Factor::ONE), None, "{text}");
        }
        assert_eq!(read(&"9".repeat(400), Factor::ONE), None);
    }
}
