//! How far apart two parts must be along a surface.

use core::fmt;

use super::clearance::Clearance;
use super::material::MaterialGroup;
use super::protection::Insulation;
use super::rows::{self, Cell, Reading};
use super::{Between, Certainty, NotGiven, PollutionDegree, Rows, tables};
use crate::{Law, Length, OutOfRange, Voltage};

const TABLE: &str = "IEC 60664-1, Table F.5 (F.4 of the second edition)";

/// Law of [`creepage`].
pub static CREEPAGE: Law = Law {
    name: "creepage distance",
    formula: "the distance of the table at the rms voltage, twice that for reinforced or double insulation, at least the clearance within it",
    validity: "pollution degrees 1 to 3, up to 10 kV; group IIIb in degree 3 up to 630 V; direct voltage by its own value. Printed wiring has columns of its own for degrees 1 and 2 to 1000 V, and the others beyond",
    source: TABLE,
};

/// Highest voltage for material of group IIIb in pollution degree 3.
pub const OF_GROUP_III_B: f64 = 630.0;

/// What a creepage distance is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CreepageAsked {
    /// Working voltage, rms, or direct.
    pub rms: Voltage,
    /// What may settle there.
    pub degree: PollutionDegree,
    /// Material of the surface.
    pub group: MaterialGroup,
    /// What the insulation is to be.
    pub insulation: Insulation,
    /// Whether both parts are printed wiring.
    pub printed_wiring: bool,
    /// Between rows of voltage.
    pub between_rows: Between,
}

/// The column that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Pollution degree.
    pub degree: PollutionDegree,
    /// Material group, where the column has one.
    pub group: Option<MaterialGroup>,
    /// Whether it is that of printed wiring.
    pub printed_wiring: bool,
}

impl fmt::Display for Column {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let printed = if self.printed_wiring { "printed wiring, " } else { "" };
        let degree = match self.degree {
            PollutionDegree::One => 1,
            PollutionDegree::Two => 2,
            PollutionDegree::Three => 3,
            PollutionDegree::Four => 4,
        };
        write!(out, "{printed}pollution degree {degree}")?;
        match self.group {
            None => Ok(()),
            Some(MaterialGroup::I) => out.write_str(", material group I"),
            Some(MaterialGroup::II) => out.write_str(", material group II"),
            Some(MaterialGroup::IIIa | MaterialGroup::IIIb) => out.write_str(", material group III"),
        }
    }
}

/// A creepage distance and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Creepage {
    /// The least distance.
    pub required: Length,
    /// Distance of the table, before it was doubled or held against the clearance.
    pub of_table: Length,
    /// The row or rows.
    pub rows: Rows,
    /// The column.
    pub column: Column,
    /// Whether it was doubled for reinforced or double insulation.
    pub doubled: bool,
    /// Whether the clearance decides, being longer.
    pub by_clearance: bool,
    /// The least sure of the cells and rules that decide it.
    pub certainty: Certainty,
}

/// Least distance along a surface that holds a clearance. See [`CREEPAGE`].
///
/// # Errors
/// The voltage is missing or outside the table; pollution degree 4, and material of group IIIb in degree 3 above 630 V.
pub fn creepage(asked: &CreepageAsked, clearance: Option<&Clearance>) -> Result<Creepage, NotGiven> {
    let (read, column) = distance(asked)?;
    let doubled = asked.insulation.is_double();
    let of_table = Length::new(1e-3 * read.figure);
    let along = if doubled { of_table * 2.0 } else { of_table };
    let rule = if doubled || column.printed_wiring { Certainty::OnePlace } else { Certainty::TwoPlaces };
    let (required, by_clearance, certainty) = match clearance {
        Some(through) if through.required > along => (through.required, true, through.certainty),
        _ => (along, false, read.certainty.worst(rule)),
    };
    let rows = Rows { table: TABLE, lower: Voltage::new(read.lower), upper: Voltage::new(read.upper) };
    Ok(Creepage { required, of_table, rows, column, doubled, by_clearance, certainty })
}

fn distance(asked: &CreepageAsked) -> Result<(Reading, Column), NotGiven> {
    let CreepageAsked { rms, degree, group, between_rows, .. } = *asked;
    let volts = ("working voltage", rms.si(), "V rms");
    let pick: fn(&[Cell; 7]) -> Cell = match (degree, group) {
        (PollutionDegree::One, _) => |[cell, ..]| *cell,
        (PollutionDegree::Two, MaterialGroup::I) => |[_, cell, ..]| *cell,
        (PollutionDegree::Two, MaterialGroup::II) => |[_, _, cell, ..]| *cell,
        (PollutionDegree::Two, _) => |[_, _, _, cell, ..]| *cell,
        (PollutionDegree::Three, MaterialGroup::I) => |[.., cell, _, _]| *cell,
        (PollutionDegree::Three, MaterialGroup::II) => |[.., cell, _]| *cell,
        (PollutionDegree::Three, _) => |[.., cell]| *cell,
        (PollutionDegree::Four, _) => return Err(NotGiven::PollutionDegreeFour),
    };
    if degree == PollutionDegree::Three && group == MaterialGroup::IIIb && rms.si() > OF_GROUP_III_B {
        let outside =
            OutOfRange { quantity: volts.0, value: volts.1, low: 0.0, high: OF_GROUP_III_B, unit: volts.2 };
        return Err(NotGiven::GroupThreeB(outside));
    }
    let printed: Option<fn(&[Cell; 2]) -> Cell> = match (degree, group) {
        _ if !asked.printed_wiring => None,
        (PollutionDegree::One, _) => Some(|[one, _]| *one),
        (PollutionDegree::Two, MaterialGroup::I | MaterialGroup::II | MaterialGroup::IIIa) => {
            Some(|[_, two]| *two)
        }
        _ => None,
    };
    if let Some(pick) = printed {
        match rows::read(&tables::CREEPAGE_OF_PRINTED_WIRING, pick, volts, between_rows) {
            Ok(read) => return Ok((read, Column { degree, group: None, printed_wiring: true })),
            Err(above) if above.is_above_table() => {}
            Err(other) => return Err(other),
        }
    }
    let read = rows::read(&tables::CREEPAGE, pick, volts, between_rows)?;
    let group = (degree != PollutionDegree::One).then_some(group);
    Ok((read, Column { degree, group, printed_wiring: false }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use MaterialGroup::{I, II, IIIa, IIIb};

    fn asked(volts: f64, degree: u8, group: MaterialGroup) -> CreepageAsked {
        CreepageAsked {
            rms: Voltage::new(volts),
            degree: PollutionDegree::of(degree).unwrap(),
            group,
            insulation: Insulation::Basic,
            printed_wiring: false,
            between_rows: Between::Interpolate,
        }
    }

    fn millimetres(asked: &CreepageAsked) -> f64 {
        creepage(asked, None).unwrap().required.si() * 1e3
    }

    #[test]
    fn each_degree_and_group_reads_its_own_column() {
        let at_800 = [(1, I), (1, IIIb), (2, I), (2, II), (2, IIIa), (2, IIIb), (3, I), (3, II), (3, IIIa)]
            .map(|(degree, group)| millimetres(&asked(800.0, degree, group)));
        for (got, expected) in at_800.iter().zip([2.4, 2.4, 4.0, 5.6, 8.0, 8.0, 10.0, 11.0, 12.5]) {
            assert!((got - expected).abs() < 1e-12, "{at_800:?}");
        }
    }

    #[test]
    fn printed_wiring_goes_over_to_the_other_columns_where_its_own_end() {
        let printed = |volts, degree, group| {
            let answer =
                creepage(&CreepageAsked { printed_wiring: true, ..asked(volts, degree, group) }, None)
                    .unwrap();
            (answer.column.printed_wiring, (answer.required.si() * 1e5).round() / 1e2)
        };
        assert_eq!(printed(1000.0, 2, IIIa), (true, 5.0));
        assert!(!printed(1000.1, 2, IIIa).0);
        assert_eq!(printed(1250.0, 2, IIIa), (false, 12.5));
        assert_eq!(printed(400.0, 2, IIIb), (false, 4.0));
        assert_eq!(printed(400.0, 3, I), (false, 5.0));
        assert_eq!(printed(400.0, 1, IIIb), (true, 1.0));
    }

    #[test]
    fn reinforced_insulation_doubles_and_the_clearance_comes_last() {
        use crate::insulation::clearance::{ClearanceAsked, clearance};
        let reinforced = CreepageAsked { insulation: Insulation::Reinforced, ..asked(100.0, 2, I) };
        assert!((millimetres(&reinforced) - 1.42).abs() < 1e-12);
        let through = clearance(&ClearanceAsked {
            impulse: Voltage::new(10e3),
            degree: PollutionDegree::Two,
            insulation: Insulation::Basic,
            altitude: Length::new(3000.0),
            printed_wiring: false,
            between_rows: Between::Interpolate,
            between_altitudes: Between::Interpolate,
        });
        let held = creepage(&reinforced, Some(&through.unwrap())).unwrap();
        assert!(held.by_clearance && (held.required.si() * 1e3 - 11.0 * 1.14).abs() < 1e-12);
        assert_eq!(held.certainty, Certainty::FromMemory);
        assert!((held.of_table.si() * 1e3 - 0.71).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_given_is_told() {
        let fault = |asked: CreepageAsked| creepage(&asked, None).unwrap_err();
        assert_eq!(fault(asked(400.0, 4, I)), NotGiven::PollutionDegreeFour);
        assert!(creepage(&asked(630.0, 3, IIIb), None).is_ok());
        assert!(matches!(fault(asked(631.0, 3, IIIb)), NotGiven::GroupThreeB(_)));
        assert!(creepage(&asked(631.0, 2, IIIb), None).is_ok());
        assert!(fault(asked(10_001.0, 2, I)).is_above_table());
        assert!(fault(asked(f64::NAN, 3, IIIb)).is_missing());
        let printed = CreepageAsked { printed_wiring: true, ..asked(f64::NAN, 2, I) };
        assert!(fault(printed).is_missing());
        assert_eq!(
            fault(asked(800.0, 3, IIIb)).to_string(),
            "material of group IIIb is not for pollution degree 3 here: working voltage is 800 V rms, known from 0 to 630 V rms"
        );
    }

    #[test]
    fn a_column_names_itself() {
        let of = |asked| creepage(&asked, None).unwrap().column.to_string();
        assert_eq!(of(asked(800.0, 3, IIIa)), "pollution degree 3, material group III");
        assert_eq!(
            of(CreepageAsked { printed_wiring: true, ..asked(400.0, 2, II) }),
            "printed wiring, pollution degree 2"
        );
    }
}
