//! How much protection lies between two parts of a unit, by whichever way is the weakest.
//!
//! Barriers in series add up; of ways side by side the weakest decides. Bonding that a way passes through is one means of
//! protection, once for a way: two bonded parts on it are one bonding. Without it every unit would fail, for the way over
//! the chassis is always there.

use core::cmp::Reverse;
use std::collections::BinaryHeap;

use super::protection::Barrier;

/// The most means of protection that are counted.
pub const MOST: u8 = 2;

/// A barrier or a conductor between two nodes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edge {
    /// The two nodes.
    pub ends: (usize, usize),
    /// What lies between them.
    pub barrier: Barrier,
}

/// The weakest way between two parts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeakestPath {
    /// Means of protection on it, two at most.
    pub means: u8,
    /// The same, not bounded.
    pub sum: u32,
    /// Its edges, by their place in the list, from one end to the other.
    pub edges: Vec<usize>,
    /// The first bonded part on it, which counts as one of its means.
    pub bonded: Option<usize>,
}

/// A node as it is reached: with bonding on the way, or without.
type State = (usize, bool);

/// How far a state is: means, then edges.
type Far = (u32, u32);

/// The weakest way from one node to another; none where nothing joins them. Of ways as weak the one of fewest edges.
///
/// `bonded` says of each node whether it is metal bonded to the chassis; nodes beyond its end are not.
///
/// `least over all ways of the sum of the means of their barriers, and one more where a bonded part lies on the way,
/// two at most`. Valid: layers in series independent and each rated for the whole voltage; the two ends do not count as
/// bonded parts on the way. Source: IEC 61140 (basic and fault protection); exact shortest way.
#[must_use]
pub fn weakest_path(edges: &[Edge], bonded: &[bool], from: usize, to: usize) -> Option<WeakestPath> {
    let around = Around::of(edges, from.max(to));
    let mut best: Vec<[Option<Far>; 2]> = vec![[None; 2]; around.0.len()];
    // The edge by which a state was reached best, and the state before it.
    let mut before: Vec<[Option<(usize, State)>; 2]> = vec![[None; 2]; around.0.len()];
    let mut open = BinaryHeap::from([Reverse(((0, 0), (from, false)))]);
    best[from][0] = Some((0, 0));
    while let Some(Reverse((far, state))) = open.pop() {
        let (node, crossed) = state;
        if best[node][usize::from(crossed)] != Some(far) {
            continue;
        }
        if node == to {
            return Some(path(&before, bonded, (from, state), far.0));
        }
        for &(edge, next) in &around.0[node] {
            let meets = next != to && bonded.get(next).copied().unwrap_or(false);
            let first = meets && !crossed;
            let further = (far.0 + u32::from(edges[edge].barrier.means()) + u32::from(first), far.1 + 1);
            let (next, k) = ((next, crossed || meets), usize::from(crossed || meets));
            if best[next.0][k].is_none_or(|known| further < known) {
                best[next.0][k] = Some(further);
                before[next.0][k] = Some((edge, state));
                open.push(Reverse((further, next)));
            }
        }
    }
    None
}

/// Edges and neighbours of each node.
struct Around(Vec<Vec<(usize, usize)>>);

impl Around {
    fn of(edges: &[Edge], highest: usize) -> Self {
        let highest = edges.iter().map(|edge| edge.ends.0.max(edge.ends.1)).fold(highest, usize::max);
        let mut around = vec![Vec::new(); highest + 1];
        for (k, edge) in edges.iter().enumerate() {
            let (one, other) = edge.ends;
            around[one].push((k, other));
            around[other].push((k, one));
        }
        Self(around)
    }
}

/// The way back from the state that was reached.
fn path(
    before: &[[Option<(usize, State)>; 2]],
    bonded: &[bool],
    (from, reached): (usize, State),
    sum: u32,
) -> WeakestPath {
    let (mut edges, mut on_it, mut state) = (Vec::new(), None, reached);
    while state.0 != from
        && let Some((edge, earlier)) = before[state.0][usize::from(state.1)]
    {
        edges.push(edge);
        state = earlier;
        // Read from the far end, so that the first one from the near end stays.
        if state.0 != from && bonded.get(state.0).copied().unwrap_or(false) {
            on_it = Some(state.0);
        }
    }
    edges.reverse();
    let means = u8::try_from(sum).map_or(MOST, |sum| sum.min(MOST));
    WeakestPath { means, sum, edges, bonded: on_it }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::insulation::protection::Insulation::{self, Basic, Functional, Reinforced, Supplementary};

    const BUS: usize = 0;
    const GATE: usize = 1;
    const LOW: usize = 2;
    const CHASSIS: usize = 3;

    fn edge(ends: (usize, usize), insulation: Insulation) -> Edge {
        Edge { ends, barrier: Barrier::Insulation(insulation) }
    }

    const fn wire(ends: (usize, usize)) -> Edge {
        Edge { ends, barrier: Barrier::Conductor }
    }

    #[test]
    fn a_driver_protects_as_its_isolator_does() {
        let means = |insulation| {
            let edges = [edge((BUS, GATE), Functional), edge((GATE, LOW), insulation)];
            weakest_path(&edges, &[], BUS, LOW).map(|path| path.means)
        };
        assert_eq!(means(Reinforced), Some(2));
        assert_eq!(means(Basic), Some(1));
    }

    #[test]
    fn one_capacitor_of_class_y2_lowers_a_reinforced_barrier() {
        let edges = [edge((BUS, LOW), Reinforced), edge((LOW, BUS), Basic)];
        let path = weakest_path(&edges, &[], BUS, LOW).unwrap();
        assert_eq!((path.means, path.edges), (1, vec![1]));
    }

    #[test]
    fn the_way_over_the_chassis_counts_its_bonding() {
        let edges = [edge((BUS, LOW), Reinforced), edge((BUS, CHASSIS), Basic), wire((CHASSIS, LOW))];
        let over = |bonded: bool| weakest_path(&edges, &[false, false, false, bonded], BUS, LOW).unwrap();
        assert_eq!((over(false).means, over(false).edges, over(false).bonded), (1, vec![1, 2], None));
        assert_eq!((over(true).means, over(true).edges), (2, vec![0]));
        // At an end it counts for nothing.
        let to_it = weakest_path(&edges, &[false, false, false, true], BUS, CHASSIS).unwrap();
        assert_eq!((to_it.means, to_it.bonded), (1, None));
    }

    #[test]
    fn two_bonded_parts_on_a_way_are_one_bonding() {
        // Functional insulation to a bracket that is screwed to the chassis: no basic protection anywhere.
        let edges = [edge((BUS, GATE), Functional), wire((GATE, CHASSIS)), wire((CHASSIS, LOW))];
        let path = weakest_path(&edges, &[false, true, false, true], BUS, LOW).unwrap();
        assert_eq!((path.means, path.sum, path.bonded), (1, 1, Some(GATE)));
    }

    #[test]
    fn layers_in_series_add_up_and_more_than_two_count_as_two() {
        let edges = [edge((0, 1), Basic), edge((1, 2), Supplementary), edge((2, 3), Reinforced)];
        let path = weakest_path(&edges, &[], 0, 3).unwrap();
        assert_eq!((path.means, path.sum, path.edges), (2, 4, vec![0, 1, 2]));
        assert_eq!(weakest_path(&edges, &[], 0, 9), None);
        let nowhere = weakest_path(&edges, &[], 2, 2).unwrap();
        assert_eq!((nowhere.means, nowhere.edges.len()), (0, 0));
    }
}
