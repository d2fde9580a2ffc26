//! Every cell against a copy by columns, and against the patterns that run through a table.

use super::*;

fn column<const N: usize>(table: &[Row<N>], k: usize) -> Vec<f64> {
    table.iter().map(|row| row.cells[k].figure).collect()
}

/// A column as it was typed a second time, top to bottom.
fn typed(text: &str) -> Vec<f64> {
    text.split_whitespace().map(|figure| figure.parse().expect("a number")).collect()
}

#[track_caller]
fn same<const N: usize>(table: &[Row<N>], rows: &str, columns: [&str; N]) {
    assert_eq!(table.iter().map(|row| row.at).collect::<Vec<_>>(), typed(rows));
    for (k, text) in columns.iter().enumerate() {
        assert_eq!(column(table, k), typed(text), "column {k}");
    }
}

#[test]
fn every_cell_is_that_of_a_copy_by_columns() {
    same(
        &RATED_IMPULSE,
        "50 100 150 300 600 1000",
        [
            "330 500 800 1500 2500 4000",
            "500 800 1500 2500 4000 6000",
            "800 1500 2500 4000 6000 8000",
            "1500 2500 4000 6000 8000 12000",
        ],
    );
    let wide = "1 1.5 2 3 4 5.5 8 11 14 18 25 33 40 60 75 90 130 170";
    same(
        &CLEARANCE,
        "330 400 500 600 800 1e3 1.2e3 1.5e3 2e3 2.5e3 3e3 4e3 5e3 6e3 8e3 10e3 12e3 15e3 20e3 25e3 30e3 40e3 50e3 60e3 80e3 100e3",
        [
            &format!(".01 .02 .04 .06 .1 .15 .25 .5 {wide}"),
            &format!(".2 .2 .2 .2 .2 .2 .25 .5 {wide}"),
            &format!(".8 .8 .8 .8 .8 .8 .8 .8 {wide}"),
        ],
    );
    same(
        &ALTITUDE,
        "2e3 3e3 4e3 5e3 6e3 7e3 8e3 9e3 10e3 15e3 20e3",
        ["80 70 62 54 47 41 35.5 30.5 26.5 12 5.5", "1 1.14 1.29 1.48 1.7 1.95 2.25 2.62 3.02 6.67 14.5"],
    );
}

#[test]
fn every_creepage_cell_is_that_of_a_copy_by_columns() {
    let to_1000 = "10 12.5 16 20 25 32 40 50 63 80 100 125 160 200 250 320 400 500 630 800 1000";
    same(
        &CREEPAGE_OF_PRINTED_WIRING,
        to_1000,
        [
            ".025 .025 .025 .025 .025 .025 .025 .025 .04 .063 .1 .16 .25 .4 .56 .75 1 1.3 1.8 2.4 3.2",
            ".04 .04 .04 .04 .04 .04 .04 .04 .063 .1 .16 .25 .4 .63 1 1.6 2 2.5 3.2 4 5",
        ],
    );
    same(
        &CREEPAGE,
        &format!("{to_1000} 1250 1600 2000 2500 3200 4000 5000 6300 8000 10000"),
        [
            ".08 .09 .1 .11 .125 .14 .16 .18 .2 .22 .25 .28 .32 .42 .56 .75 1 1.3 1.8 2.4 3.2 4.2 5.6 7.5 10 12.5 16 20 25 32 40",
            ".4 .42 .45 .48 .5 .53 .56 .6 .63 .67 .71 .75 .8 1 1.25 1.6 2 2.5 3.2 4 5 6.3 8 10 12.5 16 20 25 32 40 50",
            ".4 .42 .45 .48 .5 .53 .8 .85 .9 .95 1 1.05 1.1 1.4 1.8 2.2 2.8 3.6 4.5 5.6 7.1 9 11 14 18 22 28 36 45 56 71",
            ".4 .42 .45 .48 .5 .53 1.1 1.2 1.25 1.3 1.4 1.5 1.6 2 2.5 3.2 4 5 6.3 8 10 12.5 16 20 25 32 40 50 63 80 100",
            "1 1.05 1.1 1.2 1.25 1.3 1.4 1.5 1.6 1.7 1.8 1.9 2 2.5 3.2 4 5 6.3 8 10 12.5 16 20 25 32 40 50 63 80 100 125",
            "1 1.05 1.1 1.2 1.25 1.3 1.6 1.7 1.8 1.9 2 2.1 2.2 2.8 3.6 4.5 5.6 7.1 9 11 14 18 22 28 36 45 56 71 90 110 140",
            "1 1.05 1.1 1.2 1.25 1.3 1.8 1.9 2 2.1 2.2 2.4 2.5 3.2 4 5 6.3 8 10 12.5 16 20 25 32 40 50 63 80 100 125 160",
        ],
    );
}

fn grows<const N: usize>(table: &[Row<N>], strictly_from: usize) {
    for (one, next) in table.iter().zip(&table[1..]) {
        assert!(one.at < next.at);
        for k in strictly_from..N {
            assert!(one.cells[k].figure <= next.cells[k].figure, "column {k} at {}", next.at);
        }
    }
}

#[test]
fn more_volts_never_ask_for_less_and_neither_does_more_dirt_or_worse_material() {
    grows(&RATED_IMPULSE, 0);
    grows(&CLEARANCE, 0);
    grows(&CREEPAGE, 0);
    grows(&CREEPAGE_OF_PRINTED_WIRING, 0);
    for row in &CREEPAGE {
        let [one, two_1, two_2, two_3, three_1, three_2, three_3] = row.cells.map(|cell| cell.figure);
        assert!(one < two_1 && two_1 <= two_2 && two_2 <= two_3 && two_1 < three_1);
        assert!(three_1 <= three_2 && three_2 <= three_3 && two_3 <= three_1);
    }
    for row in &CLEARANCE {
        let [one, two, three] = row.cells.map(|cell| cell.figure);
        assert!(one <= two && two <= three);
    }
}

#[test]
fn one_category_up_is_one_row_up_and_all_are_preferred_values() {
    for (row, next) in RATED_IMPULSE.iter().zip(&RATED_IMPULSE[1..]) {
        for k in 0..3 {
            assert_eq!(row.cells[k + 1].figure.to_bits(), next.cells[k].figure.to_bits());
        }
    }
    for cell in RATED_IMPULSE.iter().flat_map(|row| row.cells) {
        assert!(PREFERRED_IMPULSES.contains(&cell.figure));
    }
    // The ladder itself is the first column and then the last row.
    let ladder: Vec<f64> = column(&RATED_IMPULSE, 0)
        .into_iter()
        .chain(RATED_IMPULSE[5].cells[1..].iter().map(|c| c.figure))
        .collect();
    assert_eq!(ladder, PREFERRED_IMPULSES);
}

#[test]
fn the_factor_of_an_altitude_is_80_kilopascal_over_its_pressure() {
    for row in &ALTITUDE {
        let [pressure, factor] = row.cells.map(|cell| cell.figure);
        assert!((factor * pressure / 80.0 - 1.0).abs() < 0.005, "{} m", row.at);
        // The pressure is that of the standard atmosphere, held against its own formula.
        let standard = if row.at <= 11_000.0 {
            101.325 * libm::pow(1.0 - 2.25577e-5 * row.at, 5.25588)
        } else {
            22.632 * libm::exp(-(row.at - 11_000.0) / 6341.62)
        };
        assert!((pressure / standard - 1.0).abs() < 0.015, "{} m: {standard}", row.at);
    }
}

#[test]
fn creepage_runs_in_preferred_numbers_from_200_volts() {
    let figures = |at: f64| {
        let row = CREEPAGE.iter().find(|row| (row.at - at).abs() < 1e-9).expect("a row");
        row.cells.map(|cell| cell.figure)
    };
    let from = CREEPAGE.iter().position(|row| row.at >= 200.0).expect("a row");
    let rows = &CREEPAGE[from..];
    for (k, row) in rows.iter().enumerate() {
        let [_, two_1, two_2, two_3, three_1, three_2, three_3] = row.cells.map(|cell| cell.figure);
        // Degree 2, group III: a hundredth of a millimetre for each volt; group I half of that, within a preferred step.
        assert!((two_3 - row.at / 100.0).abs() < 1e-9, "{}", row.at);
        assert!((two_3 / two_1 - 2.0).abs() < 0.04 && (two_2 / two_1 - 1.41).abs() < 0.05, "{}", row.at);
        // Degree 3 is degree 2 some rows up.
        let up = |rows_up: usize, column: usize| rows.get(k + rows_up).map(|row| row.cells[column].figure);
        assert!(up(1, 3).is_none_or(|figure| (figure - three_1).abs() < 1e-9), "{}", row.at);
        assert!(up(3, 2).is_none_or(|figure| (figure - three_2).abs() < 1e-9), "{}", row.at);
        assert!(up(2, 3).is_none_or(|figure| (figure - three_3).abs() < 1e-9), "{}", row.at);
        // A decade of volts is a decade of millimetres; degree 1 bends and does so only from 2500 V.
        if row.at <= 1000.0 {
            for (one, ten) in row.cells[1..].iter().zip(&figures(10.0 * row.at)[1..]) {
                assert!((ten / one.figure - 10.0).abs() < 1e-9, "{}", row.at);
            }
        }
        if row.at >= 2500.0 {
            assert!((row.cells[0].figure - rows[k - 1].cells[1].figure).abs() < 1e-9, "{}", row.at);
        }
    }
    for row in &CREEPAGE {
        // Degree 3 is two and a half times degree 2 in group I, rounded.
        assert!((row.cells[4].figure / row.cells[1].figure - 2.5).abs() < 0.07, "{}", row.at);
    }
}

#[test]
fn printed_wiring_gains_nothing_from_its_columns_where_they_meet_the_others() {
    for (printed, open) in CREEPAGE_OF_PRINTED_WIRING.iter().zip(&CREEPAGE) {
        assert_eq!(printed.at.to_bits(), open.at.to_bits());
        let ([one, two], [of_one, of_two, ..]) =
            (printed.cells.map(|cell| cell.figure), open.cells.map(|cell| cell.figure));
        assert!(one <= of_one && two <= of_two);
        // From 250 V in degree 1 and from 320 V in degree 2 they are the same figures.
        assert!(printed.at < 250.0 || (one - of_one).abs() < 1e-9);
        assert!(printed.at < 320.0 || (two - of_two).abs() < 1e-9);
    }
}

#[test]
fn a_clearance_grows_faster_than_its_voltage() {
    for column_of in 0..3 {
        let millimetres = column(&CLEARANCE, column_of);
        let slopes: Vec<f64> = millimetres.iter().zip(&CLEARANCE).map(|(mm, row)| mm / row.at).collect();
        // The columns of degrees 2 and 3 begin with a floor.
        let from = [0, 7, 8][column_of];
        assert!(slopes[from..].windows(2).all(|pair| pair[1] >= pair[0]), "{slopes:?}");
        assert!(millimetres[..from].iter().all(|mm| (mm - millimetres[0]).abs() <= 0.05));
    }
}
