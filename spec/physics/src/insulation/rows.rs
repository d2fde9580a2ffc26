//! Reading a column of a table at a value: the row, the next row, or between two.

use core::fmt;

use super::{Certainty, NotGiven};
use crate::{OutOfRange, Voltage};

/// What holds between two rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Between {
    /// The straight line between them.
    Interpolate,
    /// The next row.
    NextRow,
}

/// What may settle on a surface (IEC 60664-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PollutionDegree {
    /// Nothing, or what is dry and does not conduct: a sealed or potted inside. Shown by tests, not by a word.
    One,
    /// What does not conduct, now and then wet with dew.
    Two,
    /// What conducts, or conducts once dew wets it.
    Three,
    /// What conducts all the time: dust, rain, snow.
    Four,
}

impl PollutionDegree {
    /// The degree of a number from 1 to 4.
    #[must_use]
    pub const fn of(number: u8) -> Option<Self> {
        match number {
            1 => Some(Self::One),
            2 => Some(Self::Two),
            3 => Some(Self::Three),
            4 => Some(Self::Four),
            _ => None,
        }
    }
}

/// The row or the two rows of a table that a figure rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rows {
    /// The table, by its standard and number.
    pub table: &'static str,
    /// The lower row; the same as `upper` where one row decides.
    pub lower: Voltage,
    /// The upper row.
    pub upper: Voltage,
}

impl fmt::Display for Rows {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { table, lower, upper } = self;
        if lower == upper {
            write!(out, "{table}, row {upper}")
        } else {
            write!(out, "{table}, between rows {lower} and {upper}")
        }
    }
}

/// A figure of a table with its certainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cell {
    pub(super) figure: f64,
    pub(super) certainty: Certainty,
}

/// A row: the value up to which it holds, and its cells.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row<const N: usize> {
    pub(super) at: f64,
    pub(super) cells: [Cell; N],
}

/// What a column gives at a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    pub(super) figure: f64,
    pub(super) lower: f64,
    pub(super) upper: f64,
    pub(super) certainty: Certainty,
}

/// Reads a column at a value. Below the first row the first row holds; beyond the last there is no figure.
///
/// That a straight line may be drawn between two rows was itself seen in one place.
///
/// # Errors
/// The value is missing, negative or above the last row.
pub(super) fn read<const N: usize>(
    table: &[Row<N>],
    column: impl Fn(&[Cell; N]) -> Cell,
    (quantity, at, unit): (&'static str, f64, &'static str),
    between: Between,
) -> Result<Reading, NotGiven> {
    let last = table.last().map_or(0.0, |row| row.at);
    let outside = OutOfRange { quantity, value: at, low: 0.0, high: last, unit };
    OutOfRange::check(quantity, at, 0.0, last, unit)?;
    let upper = table.iter().find(|row| at <= row.at).ok_or(outside)?;
    let cell = column(&upper.cells);
    let alone = Reading { figure: cell.figure, lower: upper.at, upper: upper.at, certainty: cell.certainty };
    if between == Between::NextRow || at >= upper.at {
        return Ok(alone);
    }
    let Some(lower) = table.iter().rev().find(|row| row.at < at) else { return Ok(alone) };
    let below = column(&lower.cells);
    let share = (at - lower.at) / (upper.at - lower.at);
    Ok(Reading {
        figure: below.figure + share * (cell.figure - below.figure),
        lower: lower.at,
        upper: upper.at,
        certainty: below.certainty.worst(cell.certainty).worst(Certainty::OnePlace),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use Certainty::{FromMemory, TwoPlaces};

    const fn row(at: f64, figure: f64, certainty: Certainty) -> Row<1> {
        Row { at, cells: [Cell { figure, certainty }] }
    }

    const TABLE: [Row<1>; 3] =
        [row(10.0, 1.0, TwoPlaces), row(20.0, 2.0, TwoPlaces), row(40.0, 6.0, FromMemory)];

    fn at(value: f64, between: Between) -> Result<Reading, NotGiven> {
        read(&TABLE, |[cell]| *cell, ("value", value, "V"), between)
    }

    #[test]
    fn a_row_holds_up_to_its_value_and_a_line_joins_two() {
        let figure = |value, between| at(value, between).map(|reading| (reading.figure, reading.certainty));
        assert_eq!(figure(3.0, Between::Interpolate), Ok((1.0, TwoPlaces)));
        assert_eq!(figure(20.0, Between::Interpolate), Ok((2.0, TwoPlaces)));
        assert_eq!(figure(15.0, Between::Interpolate), Ok((1.5, Certainty::OnePlace)));
        assert_eq!(figure(30.0, Between::Interpolate), Ok((4.0, FromMemory)));
        assert_eq!(figure(15.0, Between::NextRow), Ok((2.0, TwoPlaces)));
    }

    #[test]
    fn beyond_a_table_there_is_nothing() {
        assert!(at(40.1, Between::Interpolate).unwrap_err().is_above_table());
        assert!(at(f64::NAN, Between::NextRow).unwrap_err().is_missing());
        assert!(at(-1.0, Between::NextRow).is_err());
    }
}
