//! Rows of time one after another, against small explicit steps.

use loadworthy_unit::mission::{Chunk, Heat, Rows};
use loadworthy_unit::{BEGINS_UNKNOWN, Cause, DutyId, LaneId, Solved};

use crate::bench::{held, input, lane};
use crate::over_time::{Double, plate_of_900};

#[test]
fn rows_of_a_hold_after_a_press_are_what_explicit_steps_give() {
    let unit = plate_of_900("lasts: 5 s");
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let (press, hold) =
        (variant.lane(lane(variant, "press")).duty, variant.lane(held(variant, "hold", 1)).duty);
    let columns = [input(variant, "duty.*.coolant.inlet")];
    let mut chunk = Chunk::new(variant, &columns);
    let mut heat = Heat::new(variant, Some(press));
    // A press and holds in turn; the coolant stays, so that the double's straight lines hold.
    let pattern: [(DutyId, f64); 3] = [(hold, 0.25), (press, 0.5), (hold, 0.125)];
    let all: Vec<(DutyId, f64)> = (0..20).flat_map(|_| pattern).collect();
    let rows = Rows {
        duties: all.iter().map(|&(duty, _)| duty).collect(),
        lasts: all.iter().map(|&(_, lasts)| lasts).collect(),
        values: vec![60.0; all.len()],
    };
    chunk.solve(&rows);
    heat.follow(&mut chunk, &rows);
    let mut double = Double::new(&solved, lane(variant, "press")).settle();
    let press_lines = double.lines.clone();
    let hold_lines = Double::new(&solved, held(variant, "hold", 1)).lines;
    let chips = &variant.plan.chips;
    let first =
        chips.iter().position(|chip| variant.path(chip.part) == "drive.high_side.u.transistor").unwrap();
    for (row, &(duty, lasts)) in all.iter().enumerate() {
        double.lines = if duty == hold { hold_lines.clone() } else { press_lines.clone() };
        let begins = double.junction(0);
        double.run(lasts);
        let expected = begins.max(double.junction(0));
        let figures = &chips[first].figures;
        let found = chunk.raw(figures.hottest(), row) - chunk.raw(figures.junction_ripple, row);
        assert!((found - expected).abs() < 0.25, "row {row}: {found} against {expected}");
    }
    assert_eq!(heat.lost, 0);
}

/// A row in which nothing is known of the heat.
const UNKNOWN: usize = 10;

#[test]
fn what_comes_after_an_unknown_row_is_unknown_until_nothing_is_left_of_it() {
    let unit = plate_of_900("lasts: 5 s");
    let variant = &unit.variants[0];
    let (press, hold) =
        (variant.lane(lane(variant, "press")).duty, variant.lane(held(variant, "hold", 1)).duty);
    let columns = [input(variant, "duty.*.coolant.inlet")];
    let all: Vec<(DutyId, f64)> =
        (0..60).map(|k| if k % 2 == 0 { (hold, 0.5) } else { (press, 4.0) }).collect();
    let hottest = variant.plan.chips[0].figures.hottest();
    let follow = |inlet: f64| {
        let rows = Rows {
            duties: all.iter().map(|&(duty, _)| duty).collect(),
            lasts: all.iter().map(|&(_, lasts)| lasts).collect(),
            values: (0..all.len()).map(|row| if row == UNKNOWN { inlet } else { 60.0 }).collect(),
        };
        let mut chunk = Chunk::new(variant, &columns);
        let mut heat = Heat::new(variant, Some(press));
        chunk.solve(&rows);
        heat.follow(&mut chunk, &rows);
        let found: Vec<f64> = (0..all.len()).map(|row| chunk.raw(hottest, row)).collect();
        let causes = chunk.show(|solved| solved.missing(hottest, LaneId::new(UNKNOWN + 1)));
        (found, heat.lost, causes)
    };
    // No coolant is known at 300 °C.
    let (known, none_lost, _) = follow(60.0);
    let (found, lost, causes) = follow(300.0);
    assert_eq!(none_lost, 0);
    assert_eq!(known[..UNKNOWN], found[..UNKNOWN]);
    let open = found[UNKNOWN + 1..].iter().take_while(|found| found.is_nan()).count();
    // The plate of 900 J/K fades with some 5 s; a thousand kelvin need nine times that.
    assert!((10..40).contains(&open), "{open} rows");
    // Other junctions and the plate itself come together at about the same time.
    assert!((open + 1..open + 4).contains(&lost), "{lost} rows, {open} of them of one junction");
    assert!(
        matches!(causes.as_slice(), [Cause::Beyond { law, .. }] if law.name == BEGINS_UNKNOWN.name),
        "{causes:?}"
    );
    for (row, (found, known)) in found.iter().zip(&known).enumerate().skip(UNKNOWN + 1 + open) {
        assert!((found - known).abs() < 0.2, "row {row}: {found} against {known}");
    }
}
