//! The kinds of value that a key may ask for, and how text becomes one.

use std::borrow::Cow;

use super::decimal::{Decimal, Factor};
use super::dimension::Dimension;
use super::unit_text::{self, Unit, UnitFault};

/// A quantity as a key asks for it: its dimension, and the word that must or may stand beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum QuantityKind {
    /// A number and a unit. A voltage or a current may carry the word `DC`.
    Plain(Dimension),
    /// An alternating current; `rms` or `peak` must be said.
    RmsCurrent,
    /// An alternating voltage; `rms` or `peak` must be said.
    RmsVoltage,
    /// A share that is not negative: `80 %` or `0.8`.
    Ratio,
    /// A share between -1 and 1.
    SignedRatio,
    /// A distance to a limit, in the unit of the limit.
    Margin,
    /// `continuous`, or a time.
    TimeOrContinuous,
}

/// What a text was read as, in SI units (`degC` for a temperature).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// A number of a dimension.
    Of(Dimension, f64),
    /// The word `continuous`.
    Continuous,
}

/// Why a text is not the quantity asked for, in the words of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotRead {
    /// What was expected, with its article: `a current`.
    pub expected: Cow<'static, str>,
    /// What was found, the text included: `` `40 degC`, a temperature``.
    pub found: String,
    /// What to write instead.
    pub way_out: Option<String>,
}

/// Every dimension that has a name of its own in the schema, and the kinds beside them.
const NAMED: &[(&str, QuantityKind)] = &[
    ("rms-current", QuantityKind::RmsCurrent),
    ("rms-voltage", QuantityKind::RmsVoltage),
    ("ratio", QuantityKind::Ratio),
    ("signed-ratio", QuantityKind::SignedRatio),
    ("margin", QuantityKind::Margin),
    ("time-or-continuous", QuantityKind::TimeOrContinuous),
];

const CONTINUOUS: &str = "continuous";

impl QuantityKind {
    /// The name that the schema carries as `x-quantity`.
    pub fn name(self) -> String {
        match self {
            Self::Plain(dimension) => dimension.name().replace(' ', "-"),
            other => NAMED.iter().find(|(_, kind)| *kind == other).map_or("", |(name, _)| name).to_owned(),
        }
    }

    /// The kind of that name.
    pub fn named(name: &str) -> Option<Self> {
        let own = NAMED.iter().find(|(own, _)| *own == name).map(|(_, kind)| *kind);
        own.or_else(|| {
            let mut all = Dimension::ALL.iter().copied().filter(|d| *d != Dimension::Ratio);
            all.find(|d| d.name().replace(' ', "-") == name).map(Self::Plain)
        })
    }

    /// What is expected, with its article.
    pub fn expected(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Plain(dimension) => dimension.with_article(),
            Self::RmsCurrent => "a current that says `rms` or `peak`",
            Self::RmsVoltage => "a voltage that says `rms` or `peak`",
            Self::Ratio => "a share",
            Self::SignedRatio => "a number from -1 to 1",
            Self::Margin => "a margin with its unit",
            Self::TimeOrContinuous => "`continuous` or a time",
        })
    }

    /// A value as a person would write it.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Plain(dimension) => dimension.example(),
            Self::RmsCurrent => "260 A rms",
            Self::RmsVoltage => "330 V rms",
            Self::Ratio => "80 %",
            Self::SignedRatio => "0.88",
            Self::Margin => "20 K",
            Self::TimeOrContinuous => "20 s",
        }
    }

    /// Whether a number without a unit may stand.
    pub const fn is_dimensionless(self) -> bool {
        matches!(self, Self::Ratio | Self::SignedRatio)
    }

    const fn dimension(self) -> Option<Dimension> {
        match self {
            Self::Plain(dimension) => Some(dimension),
            Self::RmsCurrent => Some(Dimension::Current),
            Self::RmsVoltage => Some(Dimension::Voltage),
            Self::Ratio | Self::SignedRatio => Some(Dimension::Ratio),
            Self::TimeOrContinuous => Some(Dimension::Time),
            Self::Margin => None,
        }
    }

    /// Reads a text as this kind.
    ///
    /// # Errors
    /// [`NotRead`] says what was expected, what was found and what to write.
    pub fn read(self, text: &str) -> Result<Amount, NotRead> {
        if self == Self::TimeOrContinuous && text == CONTINUOUS {
            return Ok(Amount::Continuous);
        }
        self.quantity(text).map_err(|fault| fault.told(self, text))
    }

    fn quantity(self, text: &str) -> Result<Amount, Fault> {
        let clean = if text.is_ascii() && !text.contains(['*', '\t']) {
            Cow::Borrowed(text.trim_matches(' '))
        } else {
            Cow::Owned(unit_text::one_spelling(text).trim_matches(' ').to_owned())
        };
        let (number, rest) = Decimal::leading(&clean).ok_or(Fault::NoNumber)?;
        if number.is_absurd() {
            return Err(Fault::Absurd);
        }
        let (unit, word) = split_word(rest.trim_start());
        let unit = match (unit, self.is_dimensionless()) {
            ("", true) => Unit { exponents: [0; 6], factor: Factor::ONE, celsius: false },
            ("", false) => return Err(Fault::NoUnit),
            (unit, _) => unit_text::read(unit).map_err(|fault| Fault::of_unit(unit, fault))?,
        };
        let found = found_dimension(unit);
        let dimension = self.accepts(unit, found).ok_or(Fault::Other(found))?;
        let peak = self.word(word)?;
        let value = number.times(unit.factor).ok_or(Fault::Absurd)?;
        let value = if peak { value / core::f64::consts::SQRT_2 } else { value };
        self.in_range(dimension, value, rest.is_empty())?;
        Ok(Amount::Of(dimension, value))
    }

    /// The dimension it is read as, if the unit fits.
    fn accepts(self, unit: Unit, found: Option<Dimension>) -> Option<Dimension> {
        let found = found?;
        match self.dimension() {
            Some(wanted) => {
                (wanted == found && (wanted == Dimension::Temperature) == unit.celsius).then_some(wanted)
            }
            None => (found != Dimension::Temperature).then_some(found),
        }
    }

    /// Whether the word beside the value says peak.
    fn word(self, word: Option<&str>) -> Result<bool, Fault> {
        match (self, word) {
            (Self::RmsCurrent | Self::RmsVoltage, Some("rms")) => Ok(false),
            (Self::RmsCurrent | Self::RmsVoltage, Some("peak")) => Ok(true),
            (Self::RmsCurrent | Self::RmsVoltage, _) => Err(Fault::RmsOrPeak),
            (_, None) => Ok(false),
            (Self::Plain(Dimension::Voltage | Dimension::Current), Some("DC")) => Ok(false),
            (_, Some(word)) => Err(Fault::Word(word.to_owned())),
        }
    }

    fn in_range(self, dimension: Dimension, value: f64, bare: bool) -> Result<(), Fault> {
        match self {
            Self::Ratio if bare && value > 1.0 => return Err(Fault::Percent),
            Self::SignedRatio if value.abs() > 1.0 => return Err(Fault::Range("a number from -1 to 1")),
            Self::Ratio | Self::Margin | Self::RmsCurrent | Self::RmsVoltage if value < 0.0 => {
                return Err(Fault::Negative);
            }
            _ => {}
        }
        match lowest(dimension) {
            Some(lowest) if value < lowest => Err(match dimension {
                Dimension::Temperature => Fault::Range("a temperature above absolute zero"),
                _ => Fault::Negative,
            }),
            _ => Ok(()),
        }
    }
}

/// The lowest value that physics permits, where it permits no negative one.
const fn lowest(dimension: Dimension) -> Option<f64> {
    use Dimension as D;
    match dimension {
        D::Resistance
        | D::Inductance
        | D::Capacitance
        | D::Conductance
        | D::Frequency
        | D::Time
        | D::Energy
        | D::ThermalResistance
        | D::ContactResistance
        | D::VolumeFlow
        | D::Volume
        | D::Area
        | D::Mass
        | D::SquaredCurrentTime => Some(0.0),
        D::Temperature => Some(-273.15),
        _ => None,
    }
}

fn found_dimension(unit: Unit) -> Option<Dimension> {
    if unit.celsius { Some(Dimension::Temperature) } else { Dimension::of(unit.exponents) }
}

/// The unit, and one of the words that make an electrical value exact.
fn split_word(text: &str) -> (&str, Option<&str>) {
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
enum Fault {
    NoNumber,
    NoUnit,
    Absurd,
    Unknown(String),
    CelsiusInside(String),
    Ambiguous(String),
    Malformed(String),
    Other(Option<Dimension>),
    RmsOrPeak,
    Word(String),
    Percent,
    Negative,
    Range(&'static str),
}

impl Fault {
    fn of_unit(text: &str, fault: UnitFault) -> Self {
        match fault {
            UnitFault::Unknown(symbol) => Self::Unknown(symbol),
            UnitFault::CelsiusInside => Self::CelsiusInside(text.to_owned()),
            UnitFault::Ambiguous => Self::Ambiguous(text.to_owned()),
            UnitFault::Malformed => Self::Malformed(text.to_owned()),
        }
    }

    fn told(self, kind: QuantityKind, text: &str) -> NotRead {
        let shown = shown(text);
        let clean = unit_text::one_spelling(text.trim());
        let number = Decimal::leading(&clean).map(|(_, rest)| clean[..clean.len() - rest.len()].to_owned());
        let with = |unit: &str| number.as_ref().map(|number| format!("write `{number} {unit}`"));
        let mut expected = kind.expected();
        let example = || Some(format!("write e.g. `{}`", kind.example()));
        let (found, way_out) = match self {
            Self::NoNumber => (shown, example()),
            Self::NoUnit => (format!("{shown}, a number without a unit"), with(unit_of_example(kind))),
            Self::Absurd => (format!("{shown}, which is beyond any quantity"), None),
            Self::Unknown(symbol) if is_decimal_comma(&symbol, &clean) => {
                (shown, Some(format!("write `{}`", clean.replacen(',', ".", 1))))
            }
            Self::Unknown(symbol) => {
                let meant = unit_text::meant(&symbol);
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
            Self::Malformed(_) if decimal_comma(&clean).is_some() => (shown, decimal_comma(&clean)),
            Self::Malformed(unit) => match raised(&unit) {
                Some(unit) => (shown, with(&unit)),
                None => (shown, example()),
            },
            Self::Other(found) => {
                let out = other_meant(kind, found, &with).or_else(example);
                match found {
                    Some(dimension) => (format!("{shown}, {}", dimension.with_article()), out),
                    None => (shown, out),
                }
            }
            Self::RmsOrPeak => {
                let bare = split_word(&clean).0.to_owned();
                (shown, Some(format!("say `rms` or `peak`: `{bare} rms`")))
            }
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
        QuantityKind::TimeOrContinuous => "a time",
        QuantityKind::Margin => "a margin",
        QuantityKind::Ratio | QuantityKind::SignedRatio => "a share",
        QuantityKind::Plain(dimension) => dimension.with_article(),
    }
}

fn unit_of_example(kind: QuantityKind) -> &'static str {
    kind.example().split_once(' ').map_or("", |(_, unit)| unit)
}

/// What a person meant whose unit reads as another one.
fn other_meant(
    kind: QuantityKind,
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
        (Some(Dimension::Frequency), Dimension::Speed) => with("Hz"),
        (Some(Dimension::Resistance), Dimension::ThermalResistance) => with("mohm"),
        _ => None,
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_found_by_its_name_and_reads_its_own_example() {
        let plain =
            Dimension::ALL.iter().copied().filter(|d| *d != Dimension::Ratio).map(QuantityKind::Plain);
        for kind in plain.chain(NAMED.iter().map(|(_, kind)| *kind)) {
            assert_eq!(QuantityKind::named(&kind.name()), Some(kind), "{}", kind.name());
            assert!(kind.read(kind.example()).is_ok(), "{}: {:?}", kind.name(), kind.read(kind.example()));
        }
    }
}
