//! How far apart two parts must be through air.

use super::altitude::{AltitudeFactor, altitude_factor};
use super::protection::Insulation;
use super::rows::{self, Cell};
use super::{Between, Certainty, NotGiven, PollutionDegree, Rows, tables};
use crate::{Law, Length, Voltage};

const TABLE: &str = "IEC 60664-1, Table F.2, case A";

/// Law of [`reinforced_impulse`].
pub static REINFORCED_IMPULSE: Law = Law {
    name: "impulse voltage that reinforced insulation is measured by",
    formula: "the next of 330, 500, 800, 1500, 2500, 4000, 6000, 8000, 12 000 V where the impulse is one of them, else 1.6 times it",
    validity: "clearances; 12 000 V has no next and takes the factor",
    source: "IEC 60664-1, clearances of reinforced insulation",
};

/// Law of [`clearance`].
pub static CLEARANCE: Law = Law {
    name: "clearance",
    formula: "the distance of the table at the impulse voltage, times the factor of the altitude",
    validity: "case A, inhomogeneous field; pollution degrees 1 to 3, up to 100 kV and 20 000 m. Steady and recurring voltages and frequencies above 30 kHz may ask for more",
    source: TABLE,
};

/// Least clearance of printed wiring in pollution degrees 1 and 2, which else has the column of degree 1.
const LEAST_OF_PRINTED_WIRING: f64 = 0.04;

/// What a clearance is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearanceAsked {
    /// Crest of the largest impulse across it: the rated impulse voltage, or the largest transient declared.
    pub impulse: Voltage,
    /// What may settle there.
    pub degree: PollutionDegree,
    /// What the insulation is to be.
    pub insulation: Insulation,
    /// Highest place of use.
    pub altitude: Length,
    /// Whether both parts are printed wiring. Degree 3 gains nothing from it.
    pub printed_wiring: bool,
    /// Between rows of voltage; mains circuits take the next row.
    pub between_rows: Between,
    /// Between rows of altitude.
    pub between_altitudes: Between,
}

/// How the impulse was raised for reinforced insulation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Raised {
    /// It was not: functional, basic or supplementary insulation.
    No,
    /// To the next preferred value.
    NextPreferred,
    /// To 160 %.
    ByShare,
}

/// A clearance and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    /// The least distance.
    pub required: Length,
    /// Impulse voltage that the table was read at.
    pub read_at: Voltage,
    /// How it was raised for reinforced insulation.
    pub raised: Raised,
    /// The row or rows.
    pub rows: Rows,
    /// Distance of the table, up to 2000 m.
    pub up_to_2000_m: Length,
    /// Factor of the altitude.
    pub altitude: AltitudeFactor,
    /// The least sure of the cells and rules that went into it.
    pub certainty: Certainty,
}

/// Impulse voltage that reinforced insulation is measured by, and how it was found. See [`REINFORCED_IMPULSE`].
#[must_use]
pub fn reinforced_impulse(basic: Voltage) -> (Voltage, Raised) {
    let series = tables::PREFERRED_IMPULSES;
    let mut steps = series.iter().zip(&series[1..]);
    match steps.find(|(step, _)| (*step - basic.si()).abs() <= 1e-9 * *step) {
        Some((_, next)) => (Voltage::new(*next), Raised::NextPreferred),
        None => (basic * 1.6, Raised::ByShare),
    }
}

/// Least distance through air. See [`CLEARANCE`].
///
/// # Errors
/// An input is missing or outside the tables; pollution degree 4 has no column.
pub fn clearance(asked: &ClearanceAsked) -> Result<Clearance, NotGiven> {
    let (read_at, raised) = if asked.insulation.is_double() {
        reinforced_impulse(asked.impulse)
    } else {
        (asked.impulse, Raised::No)
    };
    let printed = asked.printed_wiring && asked.degree <= PollutionDegree::Two;
    let pick: fn(&[Cell; 3]) -> Cell = match asked.degree {
        _ if printed => |[one, _, _]| *one,
        PollutionDegree::One => |[one, _, _]| *one,
        PollutionDegree::Two => |[_, two, _]| *two,
        PollutionDegree::Three => |[_, _, three]| *three,
        PollutionDegree::Four => return Err(NotGiven::PollutionDegreeFour),
    };
    let read =
        rows::read(&tables::CLEARANCE, pick, ("impulse voltage", read_at.si(), "V"), asked.between_rows)?;
    let altitude = altitude_factor(asked.altitude, asked.between_altitudes)?;
    let least = if printed { LEAST_OF_PRINTED_WIRING } else { 0.0 };
    let millimetres = if read.figure < least { least } else { read.figure };
    let rule = if printed || raised == Raised::ByShare { Certainty::OnePlace } else { Certainty::TwoPlaces };
    let up_to_2000_m = Length::new(1e-3 * millimetres);
    Ok(Clearance {
        required: up_to_2000_m * altitude.factor,
        read_at,
        raised,
        rows: Rows { table: TABLE, lower: Voltage::new(read.lower), upper: Voltage::new(read.upper) },
        up_to_2000_m,
        altitude,
        certainty: read.certainty.worst(altitude.certainty).worst(rule),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use Insulation::{Basic, Double, Functional, Reinforced, Supplementary};

    fn asked(volts: f64, degree: u8, insulation: Insulation) -> ClearanceAsked {
        ClearanceAsked {
            impulse: Voltage::new(volts),
            degree: PollutionDegree::of(degree).unwrap(),
            insulation,
            altitude: Length::ZERO,
            printed_wiring: false,
            between_rows: Between::Interpolate,
            between_altitudes: Between::Interpolate,
        }
    }

    fn millimetres(asked: &ClearanceAsked) -> f64 {
        clearance(asked).unwrap().required.si() * 1e3
    }

    #[test]
    fn reinforced_insulation_takes_the_next_step_before_it_takes_the_share() {
        // 6 kV becomes 8 kV and not 9.6 kV; 5 kV is no step; 12 kV has none above.
        for (volts, at, expected) in [(6e3, 8e3, 8.0), (5e3, 8e3, 8.0), (12e3, 19.2e3, 23.88)] {
            let answer = clearance(&asked(volts, 2, Reinforced)).unwrap();
            assert!(
                (answer.read_at.si() - at).abs() < 1e-9
                    && (answer.required.si() * 1e3 - expected).abs() < 1e-9
            );
        }
        assert_eq!(reinforced_impulse(Voltage::new(6e3)).1, Raised::NextPreferred);
        assert_eq!(reinforced_impulse(Voltage::new(12e3)).1, Raised::ByShare);
        assert!(reinforced_impulse(Voltage::new(f64::NAN)).0.si().is_nan());
        let by_kind = [Functional, Basic, Supplementary, Double, Reinforced]
            .map(|kind| millimetres(&asked(4e3, 2, kind)));
        for (got, expected) in by_kind.iter().zip([3.0, 3.0, 3.0, 5.5, 5.5]) {
            assert!((got - expected).abs() < 1e-12, "{by_kind:?}");
        }
    }

    #[test]
    fn the_column_in_use_is_interpolated_and_not_its_neighbour() {
        // Between 1.5 kV (0.8 mm) and 2 kV (1.0 mm); the column of degree 1, raised to 0.8 mm, would give 0.8.
        assert!((millimetres(&asked(1750.0, 3, Basic)) - 0.9).abs() < 1e-12);
    }

    #[test]
    fn printed_wiring_is_clean_to_degree_2() {
        let printed = |volts, degree| {
            millimetres(&ClearanceAsked { printed_wiring: true, ..asked(volts, degree, Basic) })
        };
        assert!((printed(330.0, 2) - 0.04).abs() < 1e-12);
        assert!((printed(800.0, 2) - 0.1).abs() < 1e-12);
        assert!((printed(800.0, 3) - 0.8).abs() < 1e-12);
    }

    #[test]
    fn what_is_from_memory_says_so() {
        assert_eq!(clearance(&asked(10e3, 2, Basic)).unwrap().certainty, Certainty::FromMemory);
        assert_eq!(clearance(&asked(4e3, 2, Reinforced)).unwrap().certainty, Certainty::TwoPlaces);
        assert_eq!(clearance(&asked(4.5e3, 2, Basic)).unwrap().certainty, Certainty::OnePlace);
        assert_eq!(clearance(&asked(12e3, 2, Reinforced)).unwrap().certainty, Certainty::FromMemory);
        let answer = clearance(&asked(3.5e3, 2, Basic)).unwrap();
        assert_eq!(answer.rows.to_string(), "IEC 60664-1, Table F.2, case A, between rows 3000 V and 4000 V");
    }

    #[test]
    fn outside_the_tables_there_is_no_distance() {
        assert!(clearance(&asked(100e3, 2, Basic)).is_ok());
        assert!(clearance(&asked(100.1e3, 2, Basic)).unwrap_err().is_above_table());
        assert!(clearance(&asked(80e3, 2, Reinforced)).unwrap_err().is_above_table());
        assert_eq!(clearance(&asked(4e3, 4, Basic)), Err(NotGiven::PollutionDegreeFour));
        assert!(clearance(&asked(f64::NAN, 2, Basic)).unwrap_err().is_missing());
        let unknown = ClearanceAsked { altitude: Length::new(f64::NAN), ..asked(4e3, 2, Basic) };
        assert!(clearance(&unknown).unwrap_err().is_missing());
    }
}
