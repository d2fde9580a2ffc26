//! Results for programs: JSON in which every string is what stands in the description.
//!
//! Characters that a reader would not see are written as JSON escapes, so that a result may be printed as it is.

pub(crate) mod balance;
pub(crate) mod capability;
pub(crate) mod compare;
pub(crate) mod figures;
pub(crate) mod mission;
mod permit;
pub(crate) mod review;
pub(crate) mod schemas;
pub(crate) mod size;
pub(crate) mod stress;
pub(crate) mod tolerance;

use std::io;

use loadworthy_source::refused_in_identifier;
use loadworthy_unit::Dimension;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};

/// A value as indented JSON.
pub(crate) fn text<T: Serialize>(value: &T) -> String {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Visible(PrettyFormatter::new()));
    // What is shown here is made of text, finite numbers, lists and structures; none of these can fail.
    let _ = value.serialize(&mut serializer);
    String::from_utf8(bytes).unwrap_or_default()
}

/// A number with its unit; absent where it is no number, which JSON cannot hold.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Quantity {
    /// The number.
    value: f64,
    /// Its unit, `1` for a ratio.
    unit: &'static str,
}

/// A number of a dimension with its unit.
pub(crate) fn quantity(value: f64, dimension: Dimension) -> Option<Quantity> {
    value.is_finite().then(|| Quantity { value, unit: unit(dimension) })
}

/// The unit that a number in memory is of; `1` for a ratio.
pub(crate) const fn unit(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Ratio => "1",
        other => other.unit(),
    }
}

/// Indents like the formatter within, and leaves no hidden character as it is.
struct Visible<'i>(PrettyFormatter<'i>);

impl Formatter for Visible<'_> {
    fn write_string_fragment<W: io::Write + ?Sized>(
        &mut self,
        writer: &mut W,
        fragment: &str,
    ) -> io::Result<()> {
        let mut from = 0;
        for (place, character) in fragment.char_indices() {
            if character == ' ' || !refused_in_identifier(character) {
                continue;
            }
            writer.write_all(&fragment.as_bytes()[from..place])?;
            for unit in character.encode_utf16(&mut [0; 2]) {
                write!(writer, "\\u{unit:04x}")?;
            }
            from = place + character.len_utf8();
        }
        writer.write_all(&fragment.as_bytes()[from..])
    }

    fn begin_array<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: io::Write + ?Sized>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: io::Write + ?Sized>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: io::Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hidden_characters_are_escaped_and_come_back() {
        let hostile = "a\u{1b}[31m\u{9b}\u{202E}\u{E0041}\u{7f}\u{2028} \"µ\\\n";
        let shown = text(&hostile);
        assert!(!shown.chars().any(|c| c != ' ' && c != '\n' && refused_in_identifier(c)), "{shown}");
        assert_eq!(serde_json::from_str::<String>(&shown).ok().as_deref(), Some(hostile));
    }

    #[test]
    fn what_is_no_number_is_absent() {
        assert!(
            quantity(f64::NAN, Dimension::Power).is_none()
                && quantity(f64::INFINITY, Dimension::Ratio).is_none()
        );
        assert_eq!(text(&quantity(0.5, Dimension::Ratio)), "{\n  \"value\": 0.5,\n  \"unit\": \"1\"\n}");
    }
}
