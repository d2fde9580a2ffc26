//! The figures of the tables, each with how sure it is.
//!
//! `A` was seen in two independent public places, or in one and held by an identity that a slip of the pen would break;
//! `B` in one place, or as general trade knowledge that fits the pattern; `C` is from memory and wants comparing. The
//! test beside holds every cell against a copy typed in another order and against the patterns that run through a table.

use super::Certainty;
use super::rows::{Cell, Row};

const A: Certainty = Certainty::TwoPlaces;
const B: Certainty = Certainty::OnePlace;
const C: Certainty = Certainty::FromMemory;

/// A row whose cells are all as sure.
const fn row<const N: usize>(at: f64, certainty: Certainty, figures: [f64; N]) -> Row<N> {
    let mut cells = [Cell { figure: 0.0, certainty }; N];
    let mut k = 0;
    while k < N {
        cells[k].figure = figures[k];
        k += 1;
    }
    Row { at, cells }
}

const fn cell(figure: f64, certainty: Certainty) -> Cell {
    Cell { figure, certainty }
}

/// IEC 60664-1, Table F.1: rated impulse voltage in V by the voltage of the mains from line to neutral in V;
/// overvoltage categories I to IV.
pub(super) static RATED_IMPULSE: [Row<4>; 6] = [
    row(50.0, B, [330.0, 500.0, 800.0, 1500.0]),
    row(100.0, B, [500.0, 800.0, 1500.0, 2500.0]),
    row(150.0, A, [800.0, 1500.0, 2500.0, 4000.0]),
    row(300.0, A, [1500.0, 2500.0, 4000.0, 6000.0]),
    row(600.0, A, [2500.0, 4000.0, 6000.0, 8000.0]),
    row(1000.0, A, [4000.0, 6000.0, 8000.0, 12000.0]),
];

/// The preferred impulse voltages of IEC 60664-1 in V, of which reinforced insulation takes the next.
pub(super) static PREFERRED_IMPULSES: [f64; 9] =
    [330.0, 500.0, 800.0, 1500.0, 2500.0, 4000.0, 6000.0, 8000.0, 12000.0];

/// IEC 60664-1, Table F.2, case A: clearance in mm by impulse voltage in V, up to 2000 m; pollution degrees 1 to 3.
pub(super) static CLEARANCE: [Row<3>; 26] = [
    row(330.0, B, [0.01, 0.2, 0.8]),
    row(400.0, B, [0.02, 0.2, 0.8]),
    row(500.0, B, [0.04, 0.2, 0.8]),
    row(600.0, B, [0.06, 0.2, 0.8]),
    row(800.0, B, [0.1, 0.2, 0.8]),
    Row { at: 1000.0, cells: [cell(0.15, A), cell(0.2, B), cell(0.8, B)] },
    row(1200.0, B, [0.25, 0.25, 0.8]),
    row(1500.0, A, [0.5, 0.5, 0.8]),
    row(2000.0, B, [1.0, 1.0, 1.0]),
    row(2500.0, A, [1.5, 1.5, 1.5]),
    row(3000.0, B, [2.0, 2.0, 2.0]),
    row(4000.0, A, [3.0, 3.0, 3.0]),
    row(5000.0, A, [4.0, 4.0, 4.0]),
    row(6000.0, A, [5.5, 5.5, 5.5]),
    row(8000.0, A, [8.0, 8.0, 8.0]),
    row(10_000.0, C, [11.0, 11.0, 11.0]),
    row(12_000.0, A, [14.0, 14.0, 14.0]),
    row(15_000.0, C, [18.0, 18.0, 18.0]),
    row(20_000.0, C, [25.0, 25.0, 25.0]),
    row(25_000.0, C, [33.0, 33.0, 33.0]),
    row(30_000.0, C, [40.0, 40.0, 40.0]),
    row(40_000.0, C, [60.0, 60.0, 60.0]),
    row(50_000.0, C, [75.0, 75.0, 75.0]),
    row(60_000.0, C, [90.0, 90.0, 90.0]),
    row(80_000.0, B, [130.0, 130.0, 130.0]),
    row(100_000.0, B, [170.0, 170.0, 170.0]),
];

/// IEC 60664-1, Table A.2 of the second edition: pressure of the air in kPa and factor of clearances by altitude in m.
pub(super) static ALTITUDE: [Row<2>; 11] = [
    row(2000.0, A, [80.0, 1.0]),
    row(3000.0, A, [70.0, 1.14]),
    row(4000.0, A, [62.0, 1.29]),
    row(5000.0, A, [54.0, 1.48]),
    row(6000.0, A, [47.0, 1.7]),
    row(7000.0, A, [41.0, 1.95]),
    row(8000.0, A, [35.5, 2.25]),
    row(9000.0, A, [30.5, 2.62]),
    row(10_000.0, A, [26.5, 3.02]),
    row(15_000.0, A, [12.0, 6.67]),
    row(20_000.0, A, [5.5, 14.5]),
];

/// IEC 60664-1, Table F.5 (F.4 of the second edition), printed wiring: creepage distance in mm by working voltage in
/// V rms; pollution degree 1, then 2 without material of group IIIb.
pub(super) static CREEPAGE_OF_PRINTED_WIRING: [Row<2>; 21] = [
    row(10.0, B, [0.025, 0.04]),
    row(12.5, B, [0.025, 0.04]),
    row(16.0, B, [0.025, 0.04]),
    row(20.0, B, [0.025, 0.04]),
    row(25.0, B, [0.025, 0.04]),
    row(32.0, B, [0.025, 0.04]),
    row(40.0, B, [0.025, 0.04]),
    row(50.0, B, [0.025, 0.04]),
    row(63.0, B, [0.04, 0.063]),
    row(80.0, B, [0.063, 0.1]),
    row(100.0, B, [0.1, 0.16]),
    row(125.0, B, [0.16, 0.25]),
    row(160.0, B, [0.25, 0.4]),
    row(200.0, B, [0.4, 0.63]),
    row(250.0, B, [0.56, 1.0]),
    row(320.0, B, [0.75, 1.6]),
    row(400.0, B, [1.0, 2.0]),
    row(500.0, B, [1.3, 2.5]),
    row(630.0, B, [1.8, 3.2]),
    row(800.0, B, [2.4, 4.0]),
    row(1000.0, B, [3.2, 5.0]),
];

/// IEC 60664-1, Table F.5 (F.4 of the second edition): creepage distance in mm by working voltage in V rms; pollution
/// degree 1, then degrees 2 and 3 with material groups I, II and III each.
pub(super) static CREEPAGE: [Row<7>; 31] = [
    row(10.0, B, [0.08, 0.4, 0.4, 0.4, 1.0, 1.0, 1.0]),
    row(12.5, B, [0.09, 0.42, 0.42, 0.42, 1.05, 1.05, 1.05]),
    row(16.0, B, [0.1, 0.45, 0.45, 0.45, 1.1, 1.1, 1.1]),
    row(20.0, B, [0.11, 0.48, 0.48, 0.48, 1.2, 1.2, 1.2]),
    row(25.0, B, [0.125, 0.5, 0.5, 0.5, 1.25, 1.25, 1.25]),
    row(32.0, B, [0.14, 0.53, 0.53, 0.53, 1.3, 1.3, 1.3]),
    row(40.0, B, [0.16, 0.56, 0.8, 1.1, 1.4, 1.6, 1.8]),
    row(50.0, B, [0.18, 0.6, 0.85, 1.2, 1.5, 1.7, 1.9]),
    row(63.0, B, [0.2, 0.63, 0.9, 1.25, 1.6, 1.8, 2.0]),
    row(80.0, B, [0.22, 0.67, 0.95, 1.3, 1.7, 1.9, 2.1]),
    row(100.0, B, [0.25, 0.71, 1.0, 1.4, 1.8, 2.0, 2.2]),
    row(125.0, B, [0.28, 0.75, 1.05, 1.5, 1.9, 2.1, 2.4]),
    row(160.0, B, [0.32, 0.8, 1.1, 1.6, 2.0, 2.2, 2.5]),
    row(200.0, B, [0.42, 1.0, 1.4, 2.0, 2.5, 2.8, 3.2]),
    row(250.0, B, [0.56, 1.25, 1.8, 2.5, 3.2, 3.6, 4.0]),
    row(320.0, B, [0.75, 1.6, 2.2, 3.2, 4.0, 4.5, 5.0]),
    row(400.0, B, [1.0, 2.0, 2.8, 4.0, 5.0, 5.6, 6.3]),
    row(500.0, B, [1.3, 2.5, 3.6, 5.0, 6.3, 7.1, 8.0]),
    row(630.0, A, [1.8, 3.2, 4.5, 6.3, 8.0, 9.0, 10.0]),
    row(800.0, A, [2.4, 4.0, 5.6, 8.0, 10.0, 11.0, 12.5]),
    row(1000.0, A, [3.2, 5.0, 7.1, 10.0, 12.5, 14.0, 16.0]),
    row(1250.0, A, [4.2, 6.3, 9.0, 12.5, 16.0, 18.0, 20.0]),
    row(1600.0, A, [5.6, 8.0, 11.0, 16.0, 20.0, 22.0, 25.0]),
    row(2000.0, A, [7.5, 10.0, 14.0, 20.0, 25.0, 28.0, 32.0]),
    row(2500.0, A, [10.0, 12.5, 18.0, 25.0, 32.0, 36.0, 40.0]),
    row(3200.0, A, [12.5, 16.0, 22.0, 32.0, 40.0, 45.0, 50.0]),
    row(4000.0, A, [16.0, 20.0, 28.0, 40.0, 50.0, 56.0, 63.0]),
    row(5000.0, A, [20.0, 25.0, 36.0, 50.0, 63.0, 71.0, 80.0]),
    row(6300.0, A, [25.0, 32.0, 45.0, 63.0, 80.0, 90.0, 100.0]),
    row(8000.0, A, [32.0, 40.0, 56.0, 80.0, 100.0, 110.0, 125.0]),
    row(10000.0, A, [40.0, 50.0, 71.0, 100.0, 125.0, 140.0, 160.0]),
];

#[cfg(test)]
#[path = "tables_tests.rs"]
mod tests;
