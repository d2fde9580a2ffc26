//! The search on made-up units, in which what holds is a sum of sizes, so that all points can be tried.

use proptest::prelude::*;

use super::*;
use crate::size::tried::Way;

/// A part holds where its weights times the sizes come to what it needs.
type Need = (Vec<usize>, usize);

fn ladder(kind: Kind, sizes: usize, start: usize) -> Ladder {
    let values = (1..=sizes).map(|size| size as f64).collect();
    Ladder { kind, sizes, start, near: Vec::new(), values, thickness: None }
}

fn judged(needs: &[Need], at: &[usize]) -> Tried {
    let mut tried = Tried::default();
    for (own, (weights, needed)) in needs.iter().enumerate() {
        let reached: usize = weights.iter().zip(at).map(|(weight, size)| weight * size).sum();
        if reached < *needed {
            let rank = reached as f64 - *needed as f64;
            tried.fail(&format!("part_{own}"), Way::NoSolution(0.5), rank);
        }
    }
    tried
}

fn places(sized: &Sized) -> Vec<usize> {
    sized.choices.iter().map(|choice| choice.at).collect()
}

proptest! {
    #[test]
    fn what_holds_is_smallest_in_order(
        needs in prop::collection::vec((prop::collection::vec(0_usize..4, 3), 0_usize..20), 1..4),
    ) {
        const SIZES: usize = 6;
        let ladders = [Kind::Devices, Kind::Banks, Kind::Flow].map(|kind| ladder(kind, SIZES, SIZES - 1));
        let holds = |at: &[usize]| judged(&needs, at).failing.is_empty();
        let sized = size(&ladders, &[0, 1, 2], Grade::Minor, &mut |at| judged(&needs, at));
        let at = places(&sized);
        if holds(&[SIZES - 1; 3]) {
            let all = (0..SIZES).flat_map(|a| (0..SIZES).flat_map(move |b| (0..SIZES).map(move |c| vec![a, b, c])));
            // Points come in the order of the objectives, so that the first one that holds is the smallest.
            let first = all.into_iter().find(|at| holds(at));
            prop_assert_eq!(first, Some(at.clone()));
            prop_assert!(sized.spared.is_empty());
        } else {
            prop_assert!(!sized.spared.is_empty());
        }
        for own in 0..3 {
            let mut smaller = at.clone();
            if smaller[own] == 0 {
                prop_assert!(sized.choices[own].smaller.is_empty());
                continue;
            }
            smaller[own] -= 1;
            prop_assert!(!sized.choices[own].smaller.is_empty());
            // Where something is left, one step smaller makes it worse or adds to it.
            let worse = judged(&needs, &smaller).failing.into_iter().any(|(identity, stop)| {
                judged(&needs, &at).failing.get(&identity).is_none_or(|known| stop.rank < known.rank)
            });
            prop_assert!(worse);
        }
    }

    #[test]
    fn what_fails_is_mended_wherever_one_size_after_another_can(
        needed in prop::collection::vec(0_usize..6, 3),
        start in prop::collection::vec(0_usize..6, 3),
    ) {
        let ladders: Vec<Ladder> = start.iter().map(|&start| ladder(Kind::Devices, 6, start)).collect();
        let needs: Vec<Need> = (0..3)
            .map(|own| ((0..3).map(|other| usize::from(own == other)).collect(), needed[own]))
            .collect();
        let sized = size(&ladders, &[0, 1, 2], Grade::Minor, &mut |at| judged(&needs, at));
        prop_assert!(sized.spared.is_empty());
        prop_assert_eq!(places(&sized), needed);
    }
}

#[test]
fn what_no_size_mends_gets_no_worse() {
    // The first part needs more than there is: the size that it feels stays where it is best.
    let needs = [(vec![1, 0], 9), (vec![0, 1], 2)];
    let ladders = [ladder(Kind::Devices, 6, 3), ladder(Kind::Banks, 6, 3)];
    let sized = size(&ladders, &[0, 1], Grade::Minor, &mut |at| judged(&needs, at));
    assert_eq!(places(&sized), [3, 2]);
    assert_eq!(sized.spared.len(), 1);
    let (best, at) = sized.spared[0].best.as_ref().expect("some sizes change it");
    assert_eq!((best.part.as_str(), at.as_slice()), ("part_0", [5, 3].as_slice()));
}

#[test]
fn a_larger_fuse_and_the_section_behind_it_come_together() {
    // Place 1 of the fuse carries the load, and needs place 2 of the section behind it.
    let bench = |at: &[usize]| {
        let mut tried = Tried::default();
        if at[0] < 1 {
            tried.fail("fuse", Way::NoSolution(0.5), -1.0);
        }
        if at[1] < 2 * at[0] {
            tried.fail("cable", Way::NoSolution(0.5), -1.0);
        }
        tried
    };
    let ladders = [ladder(Kind::Fuses, 3, 0), ladder(Kind::Sections, 6, 0)];
    let sized = size(&ladders, &[1, 0], Grade::Minor, &mut { bench });
    assert_eq!(places(&sized), [1, 2]);
    assert!(sized.spared.is_empty());
    let (largest, beyond) = sized.choices[0].largest.as_ref().expect("a fuse has a window");
    assert_eq!((*largest, beyond[0].part.as_str()), (1, "cable"));
}

#[test]
fn what_is_not_judged_behind_a_fuse_bounds_it_upwards() {
    // Place 3 of the fuse carries the load, and nobody knows what the foil behind it stands.
    let window = |start: usize, is_known: bool| {
        let bench = |at: &[usize]| {
            let mut tried = Tried::default();
            if at[0] < 3 {
                tried.fail("fuse", Way::NoSolution(0.5), -1.0);
            }
            if !is_known {
                tried.leave_open("foil");
            }
            tried
        };
        let fuse = Ladder { near: vec!["foil".to_owned()], ..ladder(Kind::Fuses, 8, start) };
        let sized = size(&[fuse], &[0], Grade::Minor, &mut { bench });
        let (largest, beyond) = sized.choices[0].largest.clone().expect("a fuse has a window");
        (sized.choices[0].at, largest, beyond.first().map(|stop| stop.part.clone()))
    };
    assert_eq!(window(4, true), (3, 7, None));
    assert_eq!(window(4, false), (4, 4, Some("foil".to_owned())));
    // One too small is not raised either.
    assert_eq!(window(1, true).0, 3);
    assert_eq!(window(1, false), (1, 1, Some("foil".to_owned())));
}

#[test]
fn a_section_takes_the_shape_with_the_least_copper() {
    // Copper sheds heat by its surface: w + t of at least 9 and w·t of at least 6. Width first ends at 3 by 6.
    let bench = |at: &[usize]| {
        let (width, side) = (at[0] + 1, at[1] + 1);
        let mut tried = Tried::default();
        if 3 * width + side < 15 || width * side < 6 {
            tried.fail("bar", Way::NoSolution(0.5), (width + side) as f64 - 99.0);
        }
        tried
    };
    let ladders =
        [Ladder { thickness: Some(1), ..ladder(Kind::Sections, 8, 5) }, ladder(Kind::Sections, 8, 5)];
    let sized = size(&ladders, &[0, 1], Grade::Minor, &mut { bench });
    let copper: usize = places(&sized).iter().map(|place| place + 1).product();
    let all = (0..64).map(|place| [place % 8, place / 8]).filter(|at| bench(at).failing.is_empty());
    let least = all.map(|at| (at[0] + 1) * (at[1] + 1)).min();
    assert_eq!(Some(copper), least, "{:?}", places(&sized));
}

#[test]
fn a_size_that_costs_a_judgement_mends_nothing_and_one_that_raises_a_question_may() {
    let found = |judged_there: usize| {
        let ladders = [ladder(Kind::Parts, 2, 0)];
        let sized = size(&ladders, &[0], Grade::Minor, &mut |at| {
            let mut tried = Tried { judged: 5, ..Tried::default() };
            if at == [0] {
                tried.fail("switch", Way::NoSolution(0.5), -1.0);
            } else {
                // What failed is judged no longer, or holds while something else is asked for.
                tried.judged = judged_there;
                tried.leave_open(if judged_there < 5 { "switch" } else { "gate" });
            }
            tried
        });
        (places(&sized), sized.spared.len())
    };
    assert_eq!(found(4), (vec![0], 1));
    assert_eq!(found(5), (vec![1], 0));
}

#[test]
fn each_description_is_solved_once() {
    let mut asked: BTreeSet<Vec<usize>> = BTreeSet::new();
    let needs = [(vec![1, 2], 7)];
    let ladders = [ladder(Kind::Devices, 40, 39), ladder(Kind::Banks, 40, 39)];
    let sized = size(&ladders, &[0, 1], Grade::Minor, &mut |at| {
        assert!(asked.insert(at.to_vec()), "{at:?} again");
        judged(&needs, at)
    });
    assert_eq!(places(&sized), [0, 4]);
    assert_eq!(sized.tried, asked.len());
    assert!(asked.len() < 20, "{}", asked.len());
}
