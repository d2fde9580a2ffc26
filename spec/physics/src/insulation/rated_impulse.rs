//! Which transients a circuit that is fed from mains must bear.

use super::rows::{self, Between};
use super::{Certainty, NotGiven, Rows, tables};
use crate::{Law, Voltage};

pub(super) const TABLE: &str = "IEC 60664-1, Table F.1";

/// Law of [`rated_impulse`].
pub static RATED_IMPULSE: Law = Law {
    name: "rated impulse voltage of a circuit fed from mains",
    formula: "the row of the voltage from line to neutral, or the next, in the column of the overvoltage category",
    validity: "circuits that mains feed, up to 1000 V, never between rows; a battery has no overvoltage category, its largest transient is declared",
    source: TABLE,
};

/// How near to the source of a mains a circuit is (IEC 60664-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum OvervoltageCategory {
    /// Behind what limits transients.
    I,
    /// Equipment on a socket.
    II,
    /// Part of a fixed installation.
    III,
    /// At the origin of an installation.
    IV,
}

/// A rated impulse voltage and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatedImpulse {
    /// Crest of the impulse.
    pub voltage: Voltage,
    /// The row.
    pub rows: Rows,
    /// How sure its cell is.
    pub certainty: Certainty,
}

/// Rated impulse voltage by the voltage from line to neutral, rms or direct. See [`RATED_IMPULSE`].
///
/// # Errors
/// The voltage is missing, negative or above 1000 V.
pub fn rated_impulse(
    line_to_neutral: Voltage,
    category: OvervoltageCategory,
) -> Result<RatedImpulse, NotGiven> {
    let asked = ("voltage from line to neutral", line_to_neutral.si(), "V");
    let read = rows::read(
        &tables::RATED_IMPULSE,
        |[one, two, three, four]| match category {
            OvervoltageCategory::I => *one,
            OvervoltageCategory::II => *two,
            OvervoltageCategory::III => *three,
            OvervoltageCategory::IV => *four,
        },
        asked,
        Between::NextRow,
    )?;
    let row = Voltage::new(read.upper);
    Ok(RatedImpulse {
        voltage: Voltage::new(read.figure),
        rows: Rows { table: TABLE, lower: row, upper: row },
        certainty: read.certainty,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_two_rows_the_next_one_holds() {
        let of = |volts, category| rated_impulse(Voltage::new(volts), category).map(|it| it.voltage.si());
        assert_eq!(of(300.0, OvervoltageCategory::II), Ok(2500.0));
        assert_eq!(of(301.0, OvervoltageCategory::II), Ok(4000.0));
        assert_eq!(of(1000.0, OvervoltageCategory::IV), Ok(12_000.0));
        assert!(of(1000.1, OvervoltageCategory::I).unwrap_err().is_above_table());
        assert!(of(f64::NAN, OvervoltageCategory::I).unwrap_err().is_missing());
    }

    #[test]
    fn an_answer_names_its_row() {
        let asked = rated_impulse(Voltage::new(80.0), OvervoltageCategory::III).unwrap();
        assert_eq!(asked.rows.to_string(), "IEC 60664-1, Table F.1, row 100 V");
        assert_eq!(asked.certainty, Certainty::OnePlace);
    }
}
