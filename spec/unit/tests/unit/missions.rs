//! Rows of time one after another, against small explicit steps.

use loadworthy_unit::mission::{Chunk, Heat, Rows};
use loadworthy_unit::{DutyId, Solved};

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
        double.run(lasts);
        let expected = double.junction(0);
        let figures = &chips[first].figures;
        let found = chunk.raw(figures.hottest(), row) - chunk.raw(figures.junction_ripple, row);
        assert!((found - expected).abs() < 0.25, "row {row}: {found} against {expected}");
    }
    assert_eq!(heat.lost, 0);
}
