//! Figures as a person writes them: SI prefixes, three or four significant digits, `°C`.
//!
//! Rounding happens here and nowhere else. Where two figures would read alike although one exceeds the other, more
//! digits are shown.

use loadworthy_unit::{Dimension, PolicyForm};

use crate::verdict::Comparison;

/// Digits of a figure in running text.
const DIGITS: usize = 3;
/// More digits than this tell nobody anything.
const MOST_DIGITS: usize = 9;

/// A figure with its unit, to three significant digits, such as `6.25 kHz` or `186 °C`.
#[must_use]
pub fn value(value: f64, dimension: Dimension) -> String {
    with_digits(value, dimension, DIGITS)
}

/// A figure with its unit, to so many significant digits.
#[must_use]
pub fn with_digits(value: f64, dimension: Dimension, digits: usize) -> String {
    let (scaled, unit) = scaled(value, dimension, digits);
    let number = number(scaled, digits);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// A figure to three significant digits and no lower, as what is needed reads: who provides what is shown must hold.
#[must_use]
pub fn at_least(figure: f64, dimension: Dimension) -> String {
    up_to_digits(figure, dimension, DIGITS)
}

fn up_to_digits(figure: f64, dimension: Dimension, digits: usize) -> String {
    if !figure.is_finite() || figure <= 0.0 {
        return with_digits(figure, dimension, digits);
    }
    let places = i32::try_from(digits).unwrap_or(i32::MAX) - 1;
    let step = libm::pow(10.0, libm::floor(libm::log10(figure)) - f64::from(places));
    with_digits((figure / step * (1.0 - 1e-9)).ceil() * step, dimension, digits)
}

/// Kelvins beyond the last curve and the limit of a device from which on a temperature is no figure, but a failure.
const FAR: f64 = 50.0;

/// The end of all that is known of a temperature that lies far beyond it.
fn known_end(compared: &Comparison) -> Option<f64> {
    let end = f64::from(compared.known_up_to?).max(compared.limit);
    (end + FAR < compared.carried_value).then_some(end)
}

/// A figure as it is written in a description, such as `5.6 kHz`, `150 degC` or `35 mohm`.
#[must_use]
pub fn written(figure: f64, dimension: Dimension) -> String {
    value(figure, dimension).replace("°C", "degC").replace('Ω', "ohm").replace('µ', "u")
}

/// A share in per cent, such as `14 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    // What rounding leaves of nothing is nothing.
    let share = if share.abs() < 1e-9 { 0.0 } else { share };
    format!("{} %", number(share * 100.0, if share.abs() < 1.0 { 2 } else { DIGITS }))
}

/// Headroom with its unit, such as `14 %`, `29 K` or `-31 K`.
#[must_use]
pub fn headroom(comparison: &Comparison) -> String {
    if comparison.headroom == f64::NEG_INFINITY {
        "none: nothing is allowed".to_owned()
    } else {
        amount(comparison.headroom, comparison)
    }
}

fn amount(headroom: f64, comparison: &Comparison) -> String {
    if comparison.is_in_kelvin() { kelvins(headroom) } else { percent(headroom) }
}

/// A temperature difference: a tenth of a kelvin more or less decides nothing.
#[must_use]
pub fn kelvins(difference: f64) -> String {
    with_digits(
        difference,
        Dimension::TemperatureDifference,
        if difference.abs() < 99.5 { 2 } else { DIGITS },
    )
}

/// So many times what is allowed over it, and a number of times reads better than per cents.
const MANY: f64 = 10.0;

/// Headroom as a sentence needs it: `14 % left`, `31 K over`, `exactly used up`.
#[must_use]
pub fn left_or_over(comparison: &Comparison) -> String {
    if let Some(excess) = excess(comparison) {
        format!("{excess} over")
    } else if comparison.is_used_up() {
        "exactly used up".to_owned()
    } else if comparison.holds() {
        format!("{} left", amount(comparison.headroom.abs(), comparison))
    } else {
        // Beyond that nobody reads per cents.
        format!("{} what is allowed", times(comparison))
    }
}

/// By how much more is carried than is allowed, such as `31 K`; none where it is not, or is so many times as much.
pub(crate) fn excess(comparison: &Comparison) -> Option<String> {
    if comparison.headroom == f64::NEG_INFINITY {
        return Some("all of it".to_owned());
    }
    if let Some(end) = known_end(comparison) {
        return Some(format!("more than {}", kelvins(end - comparison.allowed)));
    }
    let is_over = !comparison.is_used_up() && !comparison.holds();
    let is_amount = comparison.is_in_kelvin() || -comparison.headroom < MANY;
    (is_over && is_amount).then(|| amount(comparison.headroom.abs(), comparison))
}

/// How many times what is allowed is carried, such as `14.8 times`.
pub(crate) fn times(comparison: &Comparison) -> String {
    format!("{} times", number(1.0 - comparison.headroom, DIGITS))
}

/// The four numbers of a comparison.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ComparisonText {
    /// What is carried.
    pub carried: String,
    /// What the limit is.
    pub limit: String,
    /// What is allowed of it.
    pub allowed: String,
    /// The policy that makes the difference, such as `keeps 20 K`; absent where none does.
    pub policy: Option<String>,
    /// Headroom as a sentence needs it.
    pub headroom: String,
}

/// A comparison in text, with enough digits to tell carried from allowed.
#[must_use]
pub fn comparison(compared: &Comparison) -> ComparisonText {
    let digits = digits_to_tell(compared.carried_value, compared.allowed, compared.dimension);
    let text = |figure: f64| with_digits(figure, compared.dimension, digits);
    let carried = match (known_end(compared), compared.dimension) {
        (Some(end), _) => format!("more than {}", text(end)),
        // A length that is compared is one that is needed.
        (None, Dimension::Length) => up_to_digits(compared.carried_value, compared.dimension, digits),
        (None, _) => text(compared.carried_value),
    };
    ComparisonText {
        carried,
        limit: value(compared.limit, compared.dimension),
        allowed: text(compared.allowed),
        policy: policy_text(compared),
        headroom: left_or_over(compared),
    }
}

/// Digits with which two figures read differently, unless they are equal.
#[must_use]
pub fn digits_to_tell(one: f64, other: f64, dimension: Dimension) -> usize {
    let close = crate::verdict::EQUAL_WITHIN * one.abs().max(other.abs());
    if (one - other).abs() <= close {
        return DIGITS;
    }
    let differ =
        |digits: &usize| with_digits(one, dimension, *digits) != with_digits(other, dimension, *digits);
    (DIGITS..MOST_DIGITS).find(differ).unwrap_or(MOST_DIGITS)
}

fn policy_text(compared: &Comparison) -> Option<String> {
    let item = compared.policy?;
    match item.form {
        PolicyForm::UseAtMost { .. } if compared.limit > 0.0 => {
            let share = compared.allowed / compared.limit;
            ((share - 1.0).abs() > crate::verdict::EQUAL_WITHIN)
                .then(|| format!("uses at most {}", percent(share)))
        }
        PolicyForm::UseAtMost { .. } => None,
        PolicyForm::Keep { dimension, .. } => {
            let kept = compared.limit - compared.allowed;
            (kept.abs() > 0.0).then(|| format!("keeps {}", value(kept, dimension)))
        }
    }
}

/// The unit that a dimension is shown in, with its factor, and whether it takes prefixes.
fn unit(dimension: Dimension) -> (&'static str, f64, bool) {
    match dimension {
        Dimension::Ratio => ("", 1.0, false),
        Dimension::Temperature => ("°C", 1.0, false),
        Dimension::TemperatureDifference => ("K", 1.0, false),
        Dimension::VolumeFlow => ("L/min", 60_000.0, false),
        Dimension::Volume => ("L", 1_000.0, false),
        Dimension::Speed => ("1/min", 60.0, false),
        Dimension::Area => ("mm²", 1e6, false),
        Dimension::SquaredCurrentTime => ("A²s", 1.0, true),
        Dimension::SlewRate => ("kV/µs", 1e-9, false),
        Dimension::CurrentSlope => ("A/ns", 1e-9, false),
        Dimension::CurrentDensity => ("A/mm²", 1e-6, false),
        Dimension::LossDensity => ("W/m³", 1.0, true),
        Dimension::Voltage
        | Dimension::Current
        | Dimension::Power
        | Dimension::Energy
        | Dimension::Resistance
        | Dimension::Inductance
        | Dimension::Capacitance
        | Dimension::Conductance
        | Dimension::Charge
        | Dimension::Frequency
        | Dimension::Time
        | Dimension::Length
        | Dimension::Pressure => (dimension.unit(), 1.0, true),
        _ => (dimension.unit(), 1.0, false),
    }
}

/// Nobody says kiloseconds.
const CLOCK: [(f64, &str); 2] = [(3600.0, "h"), (60.0, "min")];

const PREFIXES: [(&str, f64); 9] = [
    ("p", 1e-12),
    ("n", 1e-9),
    ("µ", 1e-6),
    ("m", 1e-3),
    ("", 1.0),
    ("k", 1e3),
    ("M", 1e6),
    ("G", 1e9),
    ("T", 1e12),
];

fn scaled(value: f64, dimension: Dimension, digits: usize) -> (f64, String) {
    if dimension == Dimension::Time
        && let Some((scale, unit)) = CLOCK.iter().find(|(scale, _)| value.abs() >= 10.0 * scale)
    {
        return (value / scale, (*unit).to_owned());
    }
    let (unit, factor, prefixed) = unit(dimension);
    let shown = value * factor;
    if !prefixed || shown.abs() <= 0.0 || !shown.is_finite() {
        return (shown, unit.to_owned());
    }
    // Rounded first, so that 999.96 V becomes 1 kV and not 1000 V.
    let size = rounded(shown.abs(), digits);
    // Of capacitances alone less than a thousand millionth is common.
    let least = match dimension {
        Dimension::Capacitance => 0,
        // Nobody says millihertz.
        Dimension::Frequency => 4,
        _ => 1,
    };
    let places = PREFIXES[least..].iter().rev().find(|(_, scale)| size >= scale * (1.0 - 1e-12));
    let (prefix, scale) = places.copied().unwrap_or(PREFIXES[least]);
    (shown / scale, format!("{prefix}{unit}"))
}

/// To so many significant digits.
fn rounded(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits.saturating_sub(1)).parse().unwrap_or(value)
}

/// A plain number to so many significant digits, without needless zeros; whole digits are never lost.
fn number(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let value = rounded(value, digits);
    if value.abs() <= 0.0 {
        return "0".to_owned();
    }
    if value.abs() < 1e-4 || value.abs() >= 1e9 {
        return format!("{value:e}");
    }
    let scientific = format!("{value:e}");
    let magnitude: i32 = scientific.split('e').nth(1).and_then(|text| text.parse().ok()).unwrap_or(0);
    let wanted = i32::try_from(digits).unwrap_or(i32::MAX) - 1 - magnitude;
    let decimals = usize::try_from(wanted).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_a_person_writes_them() {
        assert_eq!(value(186.34, Dimension::Temperature), "186 °C");
        assert_eq!(value(5600.0, Dimension::Frequency), "5.6 kHz");
        assert_eq!(value(0.5, Dimension::Frequency), "0.5 Hz");
        assert_eq!(value(0.0185, Dimension::Energy), "18.5 mJ");
        assert_eq!(value(2e-6, Dimension::Time), "2 µs");
        assert_eq!(value(11e-12, Dimension::Capacitance), "11 pF");
        assert_eq!(value(0.47e-9, Dimension::Inductance), "0.47 nH");
        assert_eq!(value(300.0, Dimension::Time), "300 s");
        assert_eq!(value(1200.0, Dimension::Time), "20 min");
        assert_eq!(value(0.09, Dimension::ThermalResistance), "0.09 K/W");
        assert_eq!(value(8.0 / 60_000.0, Dimension::VolumeFlow), "8 L/min");
        assert_eq!(value(-0.4, Dimension::TemperatureDifference), "-0.4 K");
        assert_eq!(value(0.0, Dimension::Power), "0 W");
        assert_eq!(value(999.96, Dimension::Voltage), "1 kV");
        assert_eq!(value(1.1547, Dimension::Ratio), "1.15");
        assert_eq!(value(450.0, Dimension::Current), "450 A");
        assert_eq!(written(0.035, Dimension::Resistance), "35 mohm");
        assert_eq!(written(150.0, Dimension::Temperature), "150 degC");
        assert_eq!(percent(0.142), "14 %");
        assert_eq!(percent(-0.004), "-0.4 %");
    }

    #[test]
    fn what_is_needed_is_never_rounded_down() {
        assert_eq!(at_least(0.02514, Dimension::Length), "25.2 mm");
        assert_eq!(at_least(0.006_431, Dimension::Length), "6.44 mm");
        assert_eq!(at_least(0.0064, Dimension::Length), "6.4 mm");
        assert_eq!(at_least(499_100.0, Dimension::Resistance), "500 kΩ");
        assert_eq!(at_least(0.0, Dimension::Length), "0 m");
    }

    #[test]
    fn what_is_no_number_does_not_look_like_one() {
        assert_eq!(value(f64::NAN, Dimension::Power), "not a number W");
        assert_eq!(number(f64::INFINITY, 3), "not a number");
    }

    #[test]
    fn more_digits_where_two_figures_would_read_alike() {
        assert_eq!(digits_to_tell(155.2, 155.0, Dimension::Temperature), 4);
        assert_eq!(digits_to_tell(155.0, 155.0, Dimension::Temperature), 3);
        assert_eq!(digits_to_tell(186.0, 155.0, Dimension::Temperature), 3);
    }
}
