//! The search on made-up headrooms over the load.

use loadworthy_unit::PartId;
use proptest::prelude::*;

use super::*;
use crate::capability::bench::Near;
use crate::capability::between::STEP;
use crate::capability::{Limit, Way};

/// Seeks the largest load that leaves a headroom, as the program does, and counts the loads that it takes.
fn sought(headroom: impl Fn(f64) -> f64) -> (Bracket, usize) {
    let one = |load: f64| {
        let (part, check, defect) = (PartId::new(0), "ripple", "too-much");
        let left = headroom(load);
        let limit = (left < 0.0).then_some(Limit { check, part, defect, way: Way::Structural });
        let near = Near { of: (part, check, defect), headroom: left, compared: None };
        let near = (left < 0.3).then_some(near).into_iter().collect();
        (Judged { limit, near, is_solved: true, ..Judged::default() }, left >= 0.0)
    };
    let mut bracket = [Bracket::default()];
    let mut tried = FIRST.len();
    for load in FIRST {
        let (judged, holds) = one(load);
        bracket[0].put(load, judged, holds);
    }
    seek(&mut bracket, &mut |asks| {
        tried += asks.len();
        asks.iter().map(|&(_, load)| one(load)).collect()
    });
    let [bracket] = bracket;
    (bracket, tried)
}

proptest! {
    #[test]
    fn the_largest_load_is_where_the_headroom_ends(limit in 0.02_f64..1.99, bend in 1.0_f64..4.0) {
        let (bracket, tried) = sought(|load| 1.0 - libm::pow(load / limit, bend));
        let found = bracket.holds().expect("no load holds");
        prop_assert!(found <= limit && limit - found <= 1.01e-5 * limit.max(0.01), "{found} of {limit}");
        prop_assert!(bracket.lighter().is_none());
        // As many as halving alone would take, even steps included.
        prop_assert!(tried <= 42, "{tried}");
    }

    #[test]
    fn a_range_that_fails_and_is_wider_than_a_step_is_found(
        from in 0.0_f64..0.9, wide in 1.001_f64..3.0, limit in 1.1_f64..1.9,
    ) {
        let band = from..from + STEP * wide;
        let (bracket, _) = sought(|load| if band.contains(&load) || load > limit { -0.1 } else { 0.5 });
        let largest = bracket.holds();
        if band.contains(&1.0) {
            prop_assert!(largest.is_none_or(|largest| largest < from));
        } else if largest.is_some() {
            let (failing, ..) = bracket.lighter().expect("a lighter load that fails");
            prop_assert!(band.contains(failing));
        }
    }

    #[test]
    fn a_narrow_range_between_falling_headrooms_is_found(at in 0.2_f64..0.85, slope in 0.5_f64..2.0) {
        // It fails over a hundredth of what is asked; beside it the headroom rises straight.
        let (bracket, _) = sought(|load| (slope * ((load - at).abs() - 0.005)).min(2.0 * (1.4 - load)));
        let is_seen = bracket.tried.iter().any(|&(load, _, holds)| !holds && (load - at).abs() < 0.006);
        prop_assert!(is_seen, "{:?}", bracket.tried.iter().map(|one| one.0).collect::<Vec<_>>());
    }
}

#[test]
fn nothing_is_closed_in_on_where_nothing_limits_or_nothing_holds() {
    let (bracket, _) = sought(|_| 0.5);
    assert_eq!((bracket.holds(), bracket.fails()), (Some(MOST), None));
    let (bracket, tried) = sought(|_| -0.5);
    assert_eq!((bracket.holds(), bracket.fails(), tried), (None, Some(0.0), FIRST.len()));
}

#[test]
fn what_fails_above_what_is_asked_ends_the_way_up() {
    // Between 1.06 and 1.2: the first steps, 1 and 1.25, both hold.
    let (bracket, _) = sought(|load| if (1.06..1.2).contains(&load) { -0.1 } else { 1.6 - load });
    let found = bracket.holds().expect("a load");
    assert!((found - 1.06).abs() < 2e-5, "{found}");
}
