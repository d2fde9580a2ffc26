//! Why a text is no quantity, in the words of a message.

use std::borrow::Cow;

use super::decimal::Decimal;
use super::dimension::Dimension;
use super::kind::{NotRead, QuantityKind};
use super::unit_text::{self, UnitFault};

/// The unit, and one of the words that make an electrical value exact.
pub(super) fn split_word(text: &str) -> (&str, Option<&str>) {
    for word in ["rms", "peak", "DC", "AC", "RMS", "dc", "ac", "pk", "eff"] {
        if let Some(unit) = text.strip_suffix(word)
            && unit.ends_with(' ')
        {
            return (unit.trim_end(), Some(word));
        }
    }
    (text.trim_end(), None)
}

/// What is wrong with a text, before it is told.
#[derive(Debug)]
pub(super) enum Fault {
    NoNumber,
    NoUnit,
    Absurd,
    Unknown(String),
    CelsiusInside(String),
    Ambiguous(String),
    SquaredPrefix(String),
    Malformed(String),
    Other(Option<Dimension>),
    RmsOrPeak,
    Peak,
    Word(String),
    Percent,
    Negative,
    Range(&'static str),
}

impl Fault {
    pub(super) fn of_unit(text: &str, fault: UnitFault) -> Self {
        match fault {
            UnitFault::Unknown(symbol) => Self::Unknown(symbol),
            UnitFault::CelsiusInside => Self::CelsiusInside(text.to_owned()),
            UnitFault::Ambiguous => Self::Ambiguous(text.to_owned()),
            UnitFault::Malformed => Self::Malformed(text.to_owned()),
        }
    }

    pub(super) fn told(self, kind: QuantityKind, text: &str) -> NotRead {
        let shown = shown(text);
        let clean = unit_text::one_spelling(text.trim());
        let number = Decimal::leading(&clean).map(|(_, rest)| clean[..clean.len() - rest.len()].to_owned());
        let with = |unit: &str| number.as_ref().map(|number| format!("write `{number} {unit}`"));
        let mut expected = kind.expected();
        let example = || Some(format!("write e.g. `{}`", kind.example()));
        let (found, way_out) = match self {
            Self::NoNumber => (shown, example()),
            Self::NoUnit => {
                let own = usual_unit(kind, &clean).and_then(with);
                let out = own.unwrap_or_else(|| format!("write the unit, as in `{}`", kind.example()));
                (format!("{shown}, a number without a unit"), Some(out))
            }
            Self::Absurd => (format!("{shown}, which is beyond any quantity"), None),
            Self::Unknown(symbol) if is_decimal_comma(&symbol, &clean) => {
                (shown, Some(format!("write `{}`", clean.replacen(',', ".", 1))))
            }
            Self::Unknown(symbol) => {
                // A unit of something else was not meant, however near its letters are.
                let fits = |meant: &String| {
                    let unit = unit_text::read(meant).ok();
                    unit.is_some_and(|unit| {
                        kind.dimension().is_none_or(|of| of.exponents() == unit.exponents)
                    })
                };
                let meant = unit_text::meant(&symbol).filter(fits).or_else(|| parted(kind, &symbol));
                let out = meant.and_then(|meant| with(&meant)).or_else(example);
                (format!("{shown}, where `{}` is no unit", loadworthy_source::escape_text(&symbol)), out)
            }
            Self::CelsiusInside(unit) => {
                let kelvin = unit.replace("degC", "K").replace("°C", "K");
                (format!("{shown}; only differences can be divided, and they are in K"), with(&kelvin))
            }
            Self::Ambiguous(unit) => {
                let (above, below) = unit.split_once('/').unwrap_or((&unit, ""));
                (format!("{shown}, which can be read in two ways"), with(&format!("{above}/({below})")))
            }
            Self::SquaredPrefix(prefix) => {
                (format!("{shown}, which can be read in two ways"), squared(number.as_deref(), &prefix))
            }
            Self::Malformed(_) if decimal_comma(&clean).is_some() => (shown, decimal_comma(&clean)),
            Self::Malformed(unit) => match raised(&unit) {
                Some(unit) => match unit_text::squared_prefix(&unit) {
                    Some(prefix) => (shown, squared(number.as_deref(), prefix)),
                    None => (shown, with(&unit)),
                },
                None => (shown, example()),
            },
            Self::Other(None) if kind.dimension() == Some(Dimension::Temperature) => {
                // `deg C` reads as an angle times a charge.
                let celsius = clean.trim_end().ends_with('C');
                (shown, if celsius { with("degC") } else { example() })
            }
            Self::Other(found) => {
                let out = other_meant(kind, text, found, &with).or_else(example);
                match found {
                    Some(dimension) => (format!("{shown}, {}", dimension.with_article()), out),
                    None => (shown, out),
                }
            }
            Self::RmsOrPeak => {
                let bare = split_word(&clean).0.to_owned();
                (shown, Some(format!("say `rms` or `peak`: `{bare} rms`")))
            }
            Self::Peak => (shown, Some(format!("write the peak, as in `{}`", kind.example()))),
            Self::Word(word) => {
                let bare = split_word(&clean).0.to_owned();
                (format!("{shown}; `{word}` has no place here"), Some(format!("write `{bare}`")))
            }
            Self::Percent => (shown, with("%")),
            Self::Negative => {
                expected = Cow::Owned(format!("{}, which is not negative", bare_expected(kind)));
                (shown, None)
            }
            Self::Range(what) => {
                expected = Cow::Borrowed(what);
                (shown, None)
            }
        };
        NotRead { expected, found, way_out }
    }
}

/// The text as a message shows it: short, and with nothing invisible in it.
pub(crate) fn shown(text: &str) -> String {
    const MOST: usize = 60;
    let mut short: String = text.chars().take(MOST).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    format!("`{}`", loadworthy_source::escape_text(&short))
}

fn bare_expected(kind: QuantityKind) -> &'static str {
    match kind {
        QuantityKind::RmsCurrent => "a current",
        QuantityKind::RmsVoltage => "a voltage",
        QuantityKind::PeakVoltage => "a peak voltage",
        QuantityKind::TimeOrContinuous => "a time",
        QuantityKind::Margin => "a margin",
        QuantityKind::Ratio | QuantityKind::SignedRatio => "a share",
        QuantityKind::Plain(dimension) => dimension.with_article(),
    }
}

/// The unit of the example, where a number is of its size. Of another size it was meant in another unit, and which one it does not say;
/// nor does it of what is written with many prefixes.
fn usual_unit(kind: QuantityKind, text: &str) -> Option<&'static str> {
    use Dimension as Of;
    let spans_decades = matches!(
        kind,
        QuantityKind::Plain(
            Of::Power
                | Of::Energy
                | Of::Resistance
                | Of::Inductance
                | Of::Capacitance
                | Of::Charge
                | Of::Time
        )
    );
    if spans_decades {
        return None;
    }
    let (example, unit) = kind.example().split_once(' ')?;
    let ratio = text.trim().parse::<f64>().ok()? / example.parse::<f64>().ok()?;
    (0.02..=50.0).contains(&ratio.abs()).then_some(unit)
}

/// `Arms` and `Vpk` with the blank that they lack, where such a word has its place.
fn parted(kind: QuantityKind, symbol: &str) -> Option<String> {
    let unit = match kind {
        QuantityKind::RmsCurrent => "A",
        QuantityKind::RmsVoltage | QuantityKind::PeakVoltage => "V",
        _ => return None,
    };
    let word = match symbol.strip_prefix(unit)?.to_lowercase().as_str() {
        "rms" | "eff" if kind != QuantityKind::PeakVoltage => "rms",
        "peak" | "pk" => "peak",
        _ => return None,
    };
    Some(format!("{unit} {word}"))
}

/// What a person meant whose unit reads as another one.
fn other_meant(
    kind: QuantityKind,
    text: &str,
    found: Option<Dimension>,
    with: &dyn Fn(&str) -> Option<String>,
) -> Option<String> {
    match (kind.dimension(), found?) {
        (Some(Dimension::Temperature), Dimension::Charge) => {
            with("degC").map(|out| format!("`C` is the coulomb: {out}"))
        }
        (Some(Dimension::Temperature), Dimension::TemperatureDifference) => {
            Some("`K` states a difference; a temperature is in `degC`".to_owned())
        }
        (Some(Dimension::TemperatureDifference) | None, Dimension::Temperature) => {
            with("K").map(|out| format!("a difference is in kelvin: {out}"))
        }
        (Some(Dimension::Time), Dimension::Conductance) => {
            with("s").map(|_| "`S` is the siemens; a second is `s`".to_owned())
        }
        (Some(Dimension::Time), Dimension::Inductance) => {
            with("h").map(|out| format!("`H` is the henry: {out}"))
        }
        (Some(Dimension::Inductance), Dimension::Time) => {
            with("H").map(|_| "`h` is the hour; a henry is `H`".to_owned())
        }
        (Some(Dimension::Temperature), Dimension::Angle) => {
            with("degC").map(|out| format!("`deg` is an angle: {out}"))
        }
        (Some(Dimension::Frequency), Dimension::Speed) => with("Hz"),
        // Turns and cycles are counted alike; radians are not.
        (Some(Dimension::Speed), Dimension::Frequency) if text.contains("Hz") => with("1/s"),
        (Some(Dimension::Torque), Dimension::Energy) => with("N m"),
        (Some(Dimension::Resistance), Dimension::ThermalResistance) => with("mohm"),
        _ => None,
    }
}

/// Both readings of `48 kA^2 s`.
fn squared(number: Option<&str>, prefix: &str) -> Option<String> {
    let number = number.filter(|number| !number.contains(['e', 'E']))?;
    let ten = unit_text::power_of_ten(prefix)?;
    Some(format!("write `{number}e{ten} A^2 s`, or `{number} ({prefix}A)^2 s` where the square was meant"))
}

/// `1,5 V` as a person from most of Europe writes it.
fn decimal_comma(text: &str) -> Option<String> {
    let (before, after) = text.split_once(',')?;
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    (digit(before.chars().last()) && digit(after.chars().next())).then(|| format!("write `{before}.{after}`"))
}

fn is_decimal_comma(symbol: &str, text: &str) -> bool {
    symbol.is_empty() && decimal_comma(text).is_some()
}

/// `mm2` with the caret it lacks.
fn raised(unit: &str) -> Option<String> {
    let at = unit.find(|c: char| ('2'..='4').contains(&c))?;
    let before = unit[..at].chars().last()?;
    before.is_alphabetic().then(|| format!("{}^{}", &unit[..at], &unit[at..]))
}
