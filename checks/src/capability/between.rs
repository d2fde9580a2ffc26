//! Looks for failures between the loads that were tried to find the largest one.
//!
//! Most of what is compared gets worse with the load throughout. What does not is seen in two ways: by loads at even steps, and
//! by headrooms that fall towards one another from both sides.

use super::MOST;
use super::bench::{Judged, Near};
use super::bracket::{ASKED, Bracket};

/// Loads up to what is asked are tried this far apart, as a share of it.
pub const STEP: f64 = 1.0 / 16.0;
/// Loads up to twice what is asked.
const ABOVE: f64 = 1.0 / 8.0;
/// Heavier ones, as a share of the load.
const BEYOND: f64 = 1.0 / 8.0;
/// Loads that are tried for each value of the condition because headrooms beside point to a failure.
pub(super) const MOST_PROBES: usize = 3;
/// Loads nearer to one another than this say nothing of a slope.
const APART: f64 = 0.01;
/// Loads nearer to one that was tried than this are not tried again.
const NEAREST: f64 = 0.002;
/// Share of the smaller headroom beside, below which a lowest one is looked at.
const DEEP: f64 = 0.5;

/// Loads below the largest one that are still to be tried.
pub(super) fn untried(bracket: &Bracket) -> Vec<f64> {
    let Some(largest) = bracket.holds() else { return Vec::new() };
    let below = (1..16).map(|step| f64::from(step) * STEP);
    let above = (1..=8).map(|step| ASKED + f64::from(step) * ABOVE);
    let beyond = core::iter::successors(Some(2.0 * (1.0 + BEYOND)), |load| Some(load * (1.0 + BEYOND)));
    let all = below.chain(above).chain(beyond.take_while(|&load| load < MOST));
    let is_tried = |load: f64| bracket.tried.iter().any(|&(known, ..)| (known - load).abs() < NEAREST);
    all.take_while(|&load| load < largest).filter(|&load| !is_tried(load)).collect()
}

/// The load at which a headroom is likely to be least between two that hold, where it would be small or none: where the
/// straight lines through its neighbours on both sides meet.
pub(super) fn dip(bracket: &Bracket) -> Option<f64> {
    let largest = bracket.holds()?;
    let mut spaced: Vec<&(f64, Judged, bool)> = Vec::new();
    for one in bracket.tried.iter().take_while(|(factor, ..)| *factor <= largest) {
        if spaced.last().is_none_or(|last| one.0 - last.0 >= APART) {
            spaced.push(one);
        }
    }
    let mut deepest: Option<(f64, f64)> = None;
    for four in spaced.windows(4).filter(|four| four.iter().all(|(.., holds)| *holds)) {
        let at = [four[0].0, four[1].0, four[2].0, four[3].0];
        for &Near { of: identity, headroom: second, .. } in &four[1].1.near {
            let Some(third) = four[2].1.headroom(identity) else { continue };
            let slope = |from: usize, to: usize, rise: f64| rise / (at[to] - at[from]);
            // What is far from its limit outside is further from it than anything that is kept.
            let outside = |place: usize| four[place].1.headroom(identity).unwrap_or(f64::NAN);
            let (down, up) = (slope(0, 1, second - outside(0)), slope(2, 3, outside(3) - third));
            if !(down < 0.0 && up > 0.0) {
                continue;
            }
            let meet = ((third - up * at[2]) - (second - down * at[1])) / (down - up);
            let least = second + down * (meet - at[1]);
            let is_inside = at[1] + NEAREST <= meet && meet <= at[2] - NEAREST;
            let is_deep = least < DEEP * second.min(third);
            if is_inside && is_deep && deepest.is_none_or(|(known, _)| least < known) {
                deepest = Some((least, meet));
            }
        }
    }
    deepest.map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use loadworthy_unit::PartId;

    use super::*;

    /// A bracket in which one comparison has a headroom over the load.
    fn tried(loads: impl Iterator<Item = f64>, headroom: impl Fn(f64) -> f64) -> Bracket {
        let one = |load: f64| {
            let of = (PartId::new(0), "ripple", "too-much");
            let near = vec![Near { of, headroom: headroom(load), compared: None }];
            let judged = Judged { near, is_solved: true, ..Judged::default() };
            (load, judged, headroom(load) >= 0.0)
        };
        Bracket::of(loads.map(one).collect())
    }

    fn even() -> impl Iterator<Item = f64> {
        (0..=16).map(|step| f64::from(step) / 16.0)
    }

    #[test]
    fn a_headroom_that_falls_from_both_sides_is_followed_to_where_it_is_least() {
        // A narrow resonance between two loads that hold, at 0.66.
        let bracket = tried(even(), |load| 2.0 * (load - 0.66).abs() - 0.03);
        let at = dip(&bracket).expect("a load to try");
        assert!((at - 0.66).abs() < 1e-9, "{at}");
    }

    #[test]
    fn what_only_gets_worse_asks_for_nothing() {
        for fall in [0.2, 0.25, 0.9] {
            assert_eq!(dip(&tried(even(), |load| 1.0 - fall - 0.05 * load * load)), None);
        }
        assert_eq!(dip(&tried(even(), |load| 0.1 + 0.2 * load)), None);
    }

    #[test]
    fn steps_lie_below_the_largest_load_alone() {
        let bracket = tried([0.0, 0.125, 0.25, 0.5, 0.75, 1.0].into_iter(), |load| 0.3 - load);
        assert_eq!(bracket.holds(), Some(0.25));
        assert_eq!(untried(&bracket), [0.0625, 0.1875]);
        let bracket = tried([0.0, 1.0, 2.0, 4.0].into_iter(), |_| 0.2);
        let all = untried(&bracket);
        assert_eq!(all.len(), 15 + 7 + 5, "{all:?}");
        let mut all = [all, vec![0.0, 1.0, 2.0, 4.0]].concat();
        all.sort_by(f64::total_cmp);
        let apart = |load: f64| if load < 1.0 { STEP } else { ABOVE.max(BEYOND * load) };
        assert!(all.windows(2).all(|pair| pair[1] - pair[0] <= apart(pair[0]) + 1e-9), "{all:?}");
    }
}
