//! The weakest way between two parts, against all simple ways of small random units.

use loadworthy_physics::insulation::protection::{Barrier, Insulation};
use loadworthy_physics::insulation::weakest_path::{Edge, weakest_path};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

const KINDS: [Barrier; 7] = [
    Barrier::Conductor,
    Barrier::Insulation(Insulation::Functional),
    Barrier::Insulation(Insulation::Basic),
    Barrier::Insulation(Insulation::Supplementary),
    Barrier::Insulation(Insulation::Double),
    Barrier::Insulation(Insulation::Reinforced),
    Barrier::ProtectiveImpedance,
];

/// Means of a way, counted along it.
fn means_of(edges: &[Edge], bonded: &[bool], from: usize, way: &[usize]) -> (usize, u32) {
    let (mut at, mut sum, mut inner) = (from, 0, Vec::new());
    for &k in way {
        let Edge { ends: (one, other), barrier } = edges[k];
        assert!(at == one || at == other, "the way is broken at edge {k}");
        at = if at == one { other } else { one };
        sum += u32::from(barrier.means());
        inner.push(at);
    }
    inner.pop();
    let bonding = inner.iter().any(|&node| bonded.get(node) == Some(&true));
    (at, sum + u32::from(bonding))
}

/// The least means and then edges of all ways that meet no node twice.
fn all_ways(
    edges: &[Edge],
    bonded: &[bool],
    (from, to): (usize, usize),
    (at, met, way): (usize, &mut Vec<usize>, &mut Vec<usize>),
    best: &mut Option<(u32, usize)>,
) {
    if at == to {
        let found = (means_of(edges, bonded, from, way).1, way.len());
        *best = Some(best.map_or(found, |known| known.min(found)));
        return;
    }
    for (k, edge) in edges.iter().enumerate() {
        let next = match edge.ends {
            (one, other) if one == at => other,
            (one, other) if other == at => one,
            _ => continue,
        };
        if !met.contains(&next) {
            met.push(next);
            way.push(k);
            all_ways(edges, bonded, (from, to), (next, met, way), best);
            way.pop();
            met.pop();
        }
    }
}

fn edges() -> impl Strategy<Value = Vec<Edge>> {
    let edge = ((0..7_usize, 0..7_usize), 0..KINDS.len())
        .prop_map(|(ends, kind)| Edge { ends, barrier: KINDS[kind] });
    proptest::collection::vec(edge, 0..13)
}

proptest! {
    #![proptest_config(repeatable(800))]

    #[test]
    fn no_way_is_weaker_than_the_one_that_is_told(
        edges in edges(),
        bonded in proptest::collection::vec(any::<bool>(), 0..8),
        (from, to) in (0..7_usize, 0..7_usize),
    ) {
        let mut best = None;
        let (mut met, mut way) = (vec![from], Vec::new());
        all_ways(&edges, &bonded, (from, to), (from, &mut met, &mut way), &mut best);
        let told = weakest_path(&edges, &bonded, from, to);
        prop_assert_eq!(told.as_ref().map(|path| (path.sum, path.edges.len())), best);
        if let Some(path) = told {
            let (end, sum) = means_of(&edges, &bonded, from, &path.edges);
            prop_assert_eq!((end, sum), (to, path.sum));
            prop_assert_eq!(u32::from(path.means), path.sum.min(2));
            if let Some(node) = path.bonded {
                prop_assert!(bonded[node] && node != from && node != to);
            }
            // The way back is as weak.
            let back = weakest_path(&edges, &bonded, to, from).map(|path| path.sum);
            prop_assert_eq!(back, Some(path.sum));
        }
    }

    #[test]
    fn another_barrier_never_protects_more(
        edges in edges(),
        bonded in proptest::collection::vec(any::<bool>(), 7),
        ends in (0..7_usize, 0..7_usize),
        kind in 0..KINDS.len(),
    ) {
        let mut more = edges.clone();
        more.push(Edge { ends, barrier: KINDS[kind] });
        let sum = |edges: &[Edge]| weakest_path(edges, &bonded, 0, 6).map_or(u32::MAX, |path| path.sum);
        prop_assert!(sum(&more) <= sum(&edges));
    }
}
