//! Every row, every gap between rows, and what lies above: the tables read once more by other means.
//!
//! The figures are typed a second time, row by row as text, and looked up by a plain walk.

use loadworthy_physics::insulation::clearance::{ClearanceAsked, clearance};
use loadworthy_physics::insulation::creepage::{CreepageAsked, creepage};
use loadworthy_physics::insulation::material::MaterialGroup::{self, I, II, IIIa};
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_physics::insulation::{Between, PollutionDegree};
use loadworthy_physics::{Length, Voltage};

/// Impulse in kV, then clearance in mm in pollution degrees 1, 2 and 3.
const THROUGH_AIR: &str = "0.33 .01 .2 .8|0.4 .02 .2 .8|0.5 .04 .2 .8|0.6 .06 .2 .8|0.8 .1 .2 .8|1 .15 .2 .8|1.2 .25 .25 .8|\
    1.5 .5 .5 .8|2 1 1 1|2.5 1.5 1.5 1.5|3 2 2 2|4 3 3 3|5 4 4 4|6 5.5 5.5 5.5|8 8 8 8|10 11 11 11|12 14 14 14|15 18 18 18|\
    20 25 25 25|25 33 33 33|30 40 40 40|40 60 60 60|50 75 75 75|60 90 90 90|80 130 130 130|100 170 170 170";

/// Altitude in km and factor.
const ALTITUDES: &str = "2 1|3 1.14|4 1.29|5 1.48|6 1.7|7 1.95|8 2.25|9 2.62|10 3.02|15 6.67|20 14.5";

/// Working voltage in V, then creepage in mm: printed wiring in degrees 1 and 2, degree 1, degree 2 in groups I, II and III,
/// degree 3 in the same. Zeros where a column has ended.
const ALONG: &str = "10 .025 .04 .08 .4 .4 .4 1 1 1|12.5 .025 .04 .09 .42 .42 .42 1.05 1.05 1.05|\
    16 .025 .04 .1 .45 .45 .45 1.1 1.1 1.1|20 .025 .04 .11 .48 .48 .48 1.2 1.2 1.2|25 .025 .04 .125 .5 .5 .5 1.25 1.25 1.25|\
    32 .025 .04 .14 .53 .53 .53 1.3 1.3 1.3|40 .025 .04 .16 .56 .8 1.1 1.4 1.6 1.8|50 .025 .04 .18 .6 .85 1.2 1.5 1.7 1.9|\
    63 .04 .063 .2 .63 .9 1.25 1.6 1.8 2|80 .063 .1 .22 .67 .95 1.3 1.7 1.9 2.1|100 .1 .16 .25 .71 1 1.4 1.8 2 2.2|\
    125 .16 .25 .28 .75 1.05 1.5 1.9 2.1 2.4|160 .25 .4 .32 .8 1.1 1.6 2 2.2 2.5|200 .4 .63 .42 1 1.4 2 2.5 2.8 3.2|\
    250 .56 1 .56 1.25 1.8 2.5 3.2 3.6 4|320 .75 1.6 .75 1.6 2.2 3.2 4 4.5 5|400 1 2 1 2 2.8 4 5 5.6 6.3|\
    500 1.3 2.5 1.3 2.5 3.6 5 6.3 7.1 8|630 1.8 3.2 1.8 3.2 4.5 6.3 8 9 10|800 2.4 4 2.4 4 5.6 8 10 11 12.5|\
    1000 3.2 5 3.2 5 7.1 10 12.5 14 16|1250 0 0 4.2 6.3 9 12.5 16 18 20|1600 0 0 5.6 8 11 16 20 22 25|\
    2000 0 0 7.5 10 14 20 25 28 32|2500 0 0 10 12.5 18 25 32 36 40|3200 0 0 12.5 16 22 32 40 45 50|\
    4000 0 0 16 20 28 40 50 56 63|5000 0 0 20 25 36 50 63 71 80|6300 0 0 25 32 45 63 80 90 100|\
    8000 0 0 32 40 56 80 100 110 125|10000 0 0 40 50 71 100 125 140 160";

fn column(text: &str, scale: f64, place: usize) -> Vec<(f64, f64)> {
    let rows = text.split('|').map(|row| -> Vec<f64> {
        row.split_whitespace().map(|figure| figure.parse().expect("a number")).collect()
    });
    rows.map(|row| (row[0] * scale, row[place])).filter(|row| row.1 > 0.0).collect()
}

/// Below the first row the first; above the last none; between two along the straight line, or the upper.
fn looked_up(column: &[(f64, f64)], at: f64, between: Between) -> Option<f64> {
    let upper = column.iter().position(|row| at <= row.0 * (1.0 + 1e-12))?;
    let (there, figure) = column[upper];
    let lower = upper.checked_sub(1).map(|lower| column[lower]);
    Some(match (lower, between) {
        (Some((from, least)), Between::Interpolate) => {
            least + (figure - least) * (at - from) / (there - from)
        }
        _ => figure,
    })
}

fn same(got: Option<f64>, expected: Option<f64>, what: &dyn Fn() -> String) {
    let is_same = match (got, expected) {
        (Some(got), Some(expected)) => (got - expected).abs() <= 1e-9 * expected,
        (got, expected) => got == expected,
    };
    assert!(is_same, "{}: {got:?}, and by hand {expected:?}", what());
}

const DEGREES: [PollutionDegree; 3] = [PollutionDegree::One, PollutionDegree::Two, PollutionDegree::Three];
const WAYS: [Between; 2] = [Between::Interpolate, Between::NextRow];
const STEPS: [f64; 9] = [330.0, 500.0, 800.0, 1500.0, 2500.0, 4000.0, 6000.0, 8000.0, 12_000.0];

#[test]
fn clearances_on_rows_between_them_above_them_and_at_every_altitude() {
    let factors = column(ALTITUDES, 1000.0, 1);
    let altitudes = [
        0.0, 1999.0, 2000.0, 2001.0, 2500.0, 3000.0, 4999.0, 5000.0, 5001.0, 7300.0, 12_000.0, 20_000.0,
        20_001.0,
    ];
    let impulses = (1..2_100_i32).map(|step| f64::from(step) * 50.0).chain(STEPS);
    for impulse in impulses {
        for (degree, &pollution) in DEGREES.iter().enumerate() {
            for (insulation, is_double) in [(Insulation::Basic, false), (Insulation::Reinforced, true)] {
                let read_at = match STEPS.iter().position(|step| (step - impulse).abs() < 1e-6) {
                    _ if !is_double => impulse,
                    Some(step) if step + 1 < STEPS.len() => STEPS[step + 1],
                    _ => 1.6 * impulse,
                };
                for between in WAYS {
                    let distance = looked_up(&column_of(degree), read_at, between);
                    for altitude in altitudes {
                        let expected = distance
                            .zip(looked_up(&factors, altitude, between))
                            .map(|(one, other)| one * other);
                        let got = clearance(&ClearanceAsked {
                            impulse: Voltage::new(impulse),
                            degree: pollution,
                            insulation,
                            altitude: Length::new(altitude),
                            printed_wiring: false,
                            between_rows: between,
                            between_altitudes: between,
                        });
                        let got = got.ok().map(|got| got.required.si() * 1e3);
                        same(got, expected, &|| {
                            format!("{impulse} V, {pollution:?}, {insulation:?}, {altitude} m, {between:?}")
                        });
                    }
                }
            }
        }
    }
}

fn column_of(degree: usize) -> Vec<(f64, f64)> {
    column(THROUGH_AIR, 1000.0, degree + 1)
}

#[test]
fn creepages_on_rows_between_them_and_above_them() {
    // Place of the column, and of that of printed wiring where there is one.
    let columns: [(usize, MaterialGroup, usize, usize); 9] = [
        (0, I, 3, 1),
        (0, II, 3, 1),
        (0, IIIa, 3, 1),
        (1, I, 4, 2),
        (1, II, 5, 2),
        (1, IIIa, 6, 2),
        (2, I, 7, 7),
        (2, II, 8, 8),
        (2, IIIa, 9, 9),
    ];
    for (degree, group, plain, printed) in columns {
        for between in WAYS {
            let (plain, of_printed) = (column(ALONG, 1.0, plain), column(ALONG, 1.0, printed));
            for rms in (1..2_100_i32).map(|step| f64::from(step) * 5.0).chain([12.5, 63.0, 630.0, 1000.1]) {
                for (insulation, times) in [(Insulation::Supplementary, 1.0), (Insulation::Double, 2.0)] {
                    for printed_wiring in [false, true] {
                        let printed = looked_up(&of_printed, rms, between).filter(|_| printed_wiring);
                        let expected =
                            printed.or_else(|| looked_up(&plain, rms, between)).map(|one| times * one);
                        let got = creepage(
                            &CreepageAsked {
                                rms: Voltage::new(rms),
                                degree: DEGREES[degree],
                                group,
                                insulation,
                                printed_wiring,
                                between_rows: between,
                            },
                            None,
                        );
                        let got = got.ok().map(|got| got.required.si() * 1e3);
                        same(got, expected, &|| {
                            format!(
                                "{rms} V, degree {}, {group:?}, {insulation:?}, {printed_wiring}, {between:?}",
                                degree + 1
                            )
                        });
                    }
                }
            }
        }
    }
}
