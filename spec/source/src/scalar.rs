//! What a scalar means by the core schema of YAML 1.2.

/// The text of a key or value that is neither a map nor a list.
#[derive(Copy, Clone, Eq, PartialEq, Debug)]
pub struct Scalar<'t> {
    /// The text with escapes and folding resolved; empty where nothing is written.
    pub text: &'t str,
    /// Whether it was written without quotes, so that it may mean null, a truth value or a number.
    pub plain: bool,
}

/// What a scalar means by the core schema.
#[derive(Copy, Clone, Eq, PartialEq, Hash, Debug)]
pub enum ScalarKind {
    /// Nothing, `~` or `null`.
    Null,
    /// `true` or `false`.
    Truth,
    /// A whole number: `12`, `-3`, `0o17`, `0x1F`.
    Whole,
    /// Another number: `1.5`, `1e-6`, `.inf`, `.nan`.
    Fraction,
    /// Anything else, and everything in quotes.
    Text,
}

impl<'t> Scalar<'t> {
    /// What it means.
    #[must_use]
    pub fn kind(self) -> ScalarKind {
        if self.is_null() {
            ScalarKind::Null
        } else if !self.plain {
            ScalarKind::Text
        } else if self.as_bool().is_some() {
            ScalarKind::Truth
        } else if whole(self.text).is_some() {
            ScalarKind::Whole
        } else if fraction(self.text).is_some() {
            ScalarKind::Fraction
        } else {
            ScalarKind::Text
        }
    }

    /// Whether it means that there is no value.
    #[must_use]
    pub fn is_null(self) -> bool {
        self.plain && matches!(self.text, "" | "~" | "null" | "Null" | "NULL")
    }

    /// The truth value, if it is one. `yes`, `no`, `on` and `off` are text.
    #[must_use]
    pub fn as_bool(self) -> Option<bool> {
        match self.text {
            "true" | "True" | "TRUE" if self.plain => Some(true),
            "false" | "False" | "FALSE" if self.plain => Some(false),
            _ => None,
        }
    }

    /// The whole number, if it is written as one and fits.
    #[must_use]
    pub fn as_i64(self) -> Option<i64> {
        let (digits, radix) = whole(self.text).filter(|_| self.plain)?;
        i64::from_str_radix(digits, radix).ok()
    }

    /// The number, whole or not, nearest to what is written: `1e999` and `.inf` are infinite.
    #[must_use]
    pub fn as_f64(self) -> Option<f64> {
        if !self.plain {
            return None;
        }
        match whole(self.text) {
            Some((digits, 10)) => digits.parse().ok(),
            Some((digits, radix)) => Some(digits.chars().fold(0.0, |sum, digit| {
                sum * f64::from(radix) + f64::from(digit.to_digit(radix).unwrap_or(0))
            })),
            None => fraction(self.text),
        }
    }

    /// The text, if it is text and nothing else.
    #[must_use]
    pub fn as_text(self) -> Option<&'t str> {
        (self.kind() == ScalarKind::Text).then_some(self.text)
    }
}

/// Digits, with the sign of a decimal number, and the radix.
fn whole(text: &str) -> Option<(&str, u32)> {
    let (digits, radix) = if let Some(octal) = text.strip_prefix("0o") {
        (octal, 8)
    } else if let Some(hexadecimal) = text.strip_prefix("0x") {
        (hexadecimal, 16)
    } else {
        (text.strip_prefix(['+', '-']).unwrap_or(text), 10)
    };
    let proper = !digits.is_empty() && digits.chars().all(|digit| digit.is_digit(radix));
    proper.then_some((if radix == 10 { text } else { digits }, radix))
}

/// `[-+]? ( \. [0-9]+ | [0-9]+ ( \. [0-9]* )? ) ( [eE] [-+]? [0-9]+ )?`, `[-+]?.inf` or `.nan`.
fn fraction(text: &str) -> Option<f64> {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let negative = text.starts_with('-');
    match unsigned {
        ".inf" | ".Inf" | ".INF" => return Some(if negative { f64::NEG_INFINITY } else { f64::INFINITY }),
        ".nan" | ".NaN" | ".NAN" if unsigned.len() == text.len() => return Some(f64::NAN),
        _ => {}
    }
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent.strip_prefix(['+', '-']).unwrap_or(exponent))),
        None => (unsigned, None),
    };
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let (before, after) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let proper = digits(before)
        && digits(after)
        && !(before.is_empty() && after.is_empty())
        && exponent.is_none_or(|exponent| !exponent.is_empty() && digits(exponent));
    if !proper {
        return None;
    }
    text.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::{Scalar, ScalarKind};

    fn plain(text: &str) -> Scalar<'_> {
        Scalar { text, plain: true }
    }

    #[test]
    fn kinds_follow_the_core_schema() {
        let cases = [
            ("", ScalarKind::Null),
            ("~", ScalarKind::Null),
            ("null", ScalarKind::Null),
            ("nULL", ScalarKind::Text),
            ("true", ScalarKind::Truth),
            ("FALSE", ScalarKind::Truth),
            ("tRUE", ScalarKind::Text),
            ("yes", ScalarKind::Text),
            ("no", ScalarKind::Text),
            ("on", ScalarKind::Text),
            ("off", ScalarKind::Text),
            ("0", ScalarKind::Whole),
            ("007", ScalarKind::Whole),
            ("-12", ScalarKind::Whole),
            ("+12", ScalarKind::Whole),
            ("0o17", ScalarKind::Whole),
            ("0o18", ScalarKind::Text),
            ("0x1F", ScalarKind::Whole),
            ("0x", ScalarKind::Text),
            ("-0x1F", ScalarKind::Text),
            ("0b11", ScalarKind::Text),
            ("1_000", ScalarKind::Text),
            ("1e-6", ScalarKind::Fraction),
            ("1E6", ScalarKind::Fraction),
            ("1.", ScalarKind::Fraction),
            (".5", ScalarKind::Fraction),
            ("-.5e+3", ScalarKind::Fraction),
            (".", ScalarKind::Text),
            ("-", ScalarKind::Text),
            ("1e", ScalarKind::Text),
            ("1e+", ScalarKind::Text),
            ("e5", ScalarKind::Text),
            ("1.2.3", ScalarKind::Text),
            (".inf", ScalarKind::Fraction),
            ("-.INF", ScalarKind::Fraction),
            (".nan", ScalarKind::Fraction),
            ("-.nan", ScalarKind::Text),
            ("inf", ScalarKind::Text),
            ("NaN", ScalarKind::Text),
            ("infinity", ScalarKind::Text),
            ("12:30", ScalarKind::Text),
            ("5 A", ScalarKind::Text),
            ("٣", ScalarKind::Text),
        ];
        for (text, kind) in cases {
            assert_eq!(plain(text).kind(), kind, "{text:?}");
            assert_eq!(Scalar { text, plain: false }.kind(), ScalarKind::Text, "quoted {text:?}");
        }
    }

    #[test]
    fn values_follow_the_core_schema() {
        assert_eq!(plain("-12").as_i64(), Some(-12));
        assert_eq!(plain("+12").as_i64(), Some(12));
        assert_eq!(plain("0o17").as_i64(), Some(15));
        assert_eq!(plain("0x1F").as_i64(), Some(31));
        assert_eq!(plain("0x+1").as_i64(), None);
        assert_eq!(plain("9223372036854775808").as_i64(), None);
        assert_eq!(plain("9223372036854775808").as_f64(), Some(9_223_372_036_854_775_808.0));
        assert_eq!(plain("0x1F").as_f64(), Some(31.0));
        assert_eq!(plain("1e-6").as_f64(), Some(1e-6));
        assert_eq!(plain(".5").as_f64(), Some(0.5));
        assert_eq!(plain("1.").as_f64(), Some(1.0));
        assert_eq!(plain("1e999").as_f64(), Some(f64::INFINITY));
        assert_eq!(plain("-.inf").as_f64(), Some(f64::NEG_INFINITY));
        assert!(plain(".nan").as_f64().is_some_and(f64::is_nan));
        assert_eq!(plain("0b11").as_f64(), None);
        assert_eq!(Scalar { text: "5", plain: false }.as_f64(), None);
        assert_eq!(Scalar { text: "5", plain: false }.as_text(), Some("5"));
        assert_eq!(plain("5").as_text(), None);
        assert_eq!(plain("on").as_bool(), None);
    }
}
