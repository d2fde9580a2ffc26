//! The kinds of value that a key may ask for, and how text becomes one.

use std::borrow::Cow;

use super::decimal::Decimal;
use super::dimension::Dimension;
use super::fault::{Fault, split_word};
use super::unit_text::{self, Unit};

/// A quantity as a key asks for it: its dimension, and the word that must or may stand beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum QuantityKind {
    /// A number and a unit. A voltage or a current may carry the word `DC`.
    Plain(Dimension),
    /// An alternating current; `rms` or `peak` must be said.
    RmsCurrent,
    /// An alternating voltage; `rms` or `peak` must be said.
    RmsVoltage,
    /// The crest of a voltage, whatever its shape; `peak` may be said.
    PeakVoltage,
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
    ("peak-voltage", QuantityKind::PeakVoltage),
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
            Self::PeakVoltage => "a peak voltage",
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
            Self::PeakVoltage => "1000 V peak",
            // Within the range of nearly every key that asks for one.
            Self::Ratio => "50 %",
            Self::SignedRatio => "0.88",
            Self::Margin => "20 K",
            Self::TimeOrContinuous => "20 s",
        }
    }

    /// Whether a number without a unit may stand.
    pub const fn is_dimensionless(self) -> bool {
        matches!(self, Self::Ratio | Self::SignedRatio)
    }

    pub(super) const fn dimension(self) -> Option<Dimension> {
        match self {
            Self::Plain(dimension) => Some(dimension),
            Self::RmsCurrent => Some(Dimension::Current),
            Self::RmsVoltage | Self::PeakVoltage => Some(Dimension::Voltage),
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

    /// Whether a text is read as this kind, without saying why not.
    pub(crate) fn fits(self, text: &str) -> bool {
        (self == Self::TimeOrContinuous && text == CONTINUOUS) || self.quantity(text).is_ok()
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
        if let Some(prefix) = unit_text::squared_prefix(unit) {
            return Err(Fault::SquaredPrefix(prefix.to_owned()));
        }
        let unit = match (unit, self.is_dimensionless()) {
            ("", true) => Unit::ONE,
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

    /// Whether the word beside the value says that it is a crest of what is held as an RMS value.
    fn word(self, word: Option<&str>) -> Result<bool, Fault> {
        match (self, word) {
            (Self::RmsCurrent | Self::RmsVoltage, Some("rms")) => Ok(false),
            (Self::RmsCurrent | Self::RmsVoltage, Some("peak")) => Ok(true),
            (Self::RmsCurrent | Self::RmsVoltage, _) => Err(Fault::RmsOrPeak),
            // As it is: there is no shape by which a crest would follow from another number.
            (Self::PeakVoltage, Some("peak" | "DC")) => Ok(false),
            (Self::PeakVoltage, Some(_)) => Err(Fault::Peak),
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
        | D::HeatCapacity
        | D::ContactResistance
        | D::VolumeFlow
        | D::Volume
        | D::Area
        | D::Mass
        | D::LossDensity
        | D::SlewRate
        | D::CurrentSlope
        | D::SquaredCurrentTime => Some(0.0),
        D::Temperature => Some(-273.15),
        _ => None,
    }
}

fn found_dimension(unit: Unit) -> Option<Dimension> {
    match Dimension::of(unit.exponents) {
        _ if unit.celsius => Some(Dimension::Temperature),
        Some(Dimension::Energy) if unit.force => Some(Dimension::Torque),
        found => found,
    }
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
