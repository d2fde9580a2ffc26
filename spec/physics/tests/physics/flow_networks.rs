//! Coolant networks against nested bisection, and against the two balances that have only one solution.

use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::{LinearFlowResistance, Pressure, SquareFlowResistance, VolumeFlow};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// A network as it is built, before it is written flat.
#[derive(Clone, Debug)]
enum Network {
    Passage(f64, f64),
    Row(Vec<Network>),
    Branches(Vec<Network>),
}

impl Network {
    fn flat(&self, nodes: &mut Vec<Node>) {
        match self {
            Self::Passage(linear, square) => nodes.push(Node::Element(passage(*linear, *square))),
            Self::Row(parts) => {
                parts.iter().for_each(|part| part.flat(nodes));
                nodes.push(Node::Series(parts.len()));
            }
            Self::Branches(parts) => {
                parts.iter().for_each(|part| part.flat(nodes));
                nodes.push(Node::Parallel(parts.len()));
            }
        }
    }

    /// Pressure at a flow, by bisection where branches share the flow.
    fn pressure(&self, flow: f64) -> f64 {
        match self {
            Self::Passage(linear, square) => (linear + square * flow.abs()) * flow,
            Self::Row(parts) => parts.iter().map(|part| part.pressure(flow)).sum(),
            Self::Branches(parts) => {
                bisected(1e9, |pressure| parts.iter().map(|part| part.flow(pressure)).sum::<f64>() < flow)
            }
        }
    }

    /// Flow at a pressure, by bisection where there is more than one passage.
    fn flow(&self, pressure: f64) -> f64 {
        match self {
            Self::Branches(parts) => parts.iter().map(|part| part.flow(pressure)).sum(),
            _ => bisected(1.0, |flow| self.pressure(flow) < pressure),
        }
    }

    /// Pressure across this part by the flows that were given to it; adds what does not balance.
    fn balance(&self, flows: &mut impl Iterator<Item = f64>, misses: &mut Vec<f64>) -> (f64, f64) {
        let balances: Vec<(f64, f64)> = match self {
            Self::Passage(linear, square) => {
                let flow = flows.next().expect("a flow for every entry");
                return (flow, (linear + square * flow.abs()) * flow);
            }
            Self::Row(parts) | Self::Branches(parts) => {
                parts.iter().map(|part| part.balance(flows, misses)).collect()
            }
        };
        let flow = flows.next().expect("a flow for every entry");
        match self {
            Self::Row(_) => {
                misses.extend(balances.iter().map(|(own, _)| own / flow - 1.0));
                (flow, balances.iter().map(|(_, pressure)| pressure).sum())
            }
            _ => {
                let pressure = balances[0].1;
                misses.push(balances.iter().map(|(own, _)| own).sum::<f64>() / flow - 1.0);
                misses.extend(balances.iter().map(|(_, own)| own / pressure - 1.0));
                (flow, pressure)
            }
        }
    }
}

fn passage(linear: f64, square: f64) -> Drop {
    Drop { linear: LinearFlowResistance::new(linear), square: SquareFlowResistance::new(square) }
}

/// Where `below` stops being true, between zero and `high`.
fn bisected(high: f64, below: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, high);
    for _ in 0..75 {
        let middle = 0.5 * (low + high);
        if below(middle) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// k1 and k2 over four decades, sometimes one of them missing.
fn drops() -> impl Strategy<Value = (f64, f64)> {
    (6.0..9.0f64, 10.0..13.0f64, 0..6_u8).prop_map(|(linear, square, missing)| {
        let (linear, square) = (libm::exp10(linear), libm::exp10(square));
        match missing {
            0 => (0.0, square),
            1 => (linear, 0.0),
            _ => (linear, square),
        }
    })
}

fn networks() -> impl Strategy<Value = Network> {
    let leaf = drops().prop_map(|(linear, square)| Network::Passage(linear, square));
    leaf.prop_recursive(3, 12, 4, |inner| {
        let parts = || prop::collection::vec(inner.clone(), 1..4);
        prop_oneof![parts().prop_map(Network::Row), parts().prop_map(Network::Branches)]
    })
}

proptest! {
    #![proptest_config(repeatable(200))]

    #[test]
    fn a_split_balances(
        branches in prop::collection::vec(drops(), 1..9), flow in -7.0..-3.0f64, reversed: bool,
    ) {
        let total = libm::exp10(flow) * if reversed { -1.0 } else { 1.0 };
        let built: Vec<Drop> = branches.iter().map(|(linear, square)| passage(*linear, *square)).collect();
        let mut flows = vec![VolumeFlow::ZERO; built.len()];
        let pressure = hydraulics::split(&built, VolumeFlow::new(total), &mut flows);
        let sum: f64 = flows.iter().map(|flow| flow.si()).sum();
        prop_assert!((sum / total - 1.0).abs() < 1e-12, "{sum} of {total}");
        for (branch, flow) in built.iter().zip(&flows) {
            prop_assert!((branch.pressure(*flow) / pressure - 1.0).abs() < 1e-12);
        }
        let network = Network::Branches(
            branches.iter().map(|(linear, square)| Network::Passage(*linear, *square)).collect(),
        );
        let by_halves = network.pressure(total.abs());
        prop_assert!((pressure.si().abs() / by_halves - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_pump_and_its_system_balance(
        shutoff in 1e3..3e5f64, pump in drops(), system in drops(),
    ) {
        let (a, b) = (LinearFlowResistance::new(pump.0), SquareFlowResistance::new(pump.1));
        let system = passage(system.0, system.1);
        let point = hydraulics::pump_point(Pressure::new(shutoff), a, b, system);
        let q = point.flow.si();
        let made = shutoff - a.si() * q - b.si() * q * q;
        prop_assert!((made - system.pressure(point.flow).si()).abs() < 1e-12 * shutoff);
        let halved = bisected(1.0, |q| shutoff - a.si() * q - b.si() * q * q > system.pressure(VolumeFlow::new(q)).si());
        prop_assert!((q / halved - 1.0).abs() < 1e-9);
    }
}

proptest! {
    #![proptest_config(repeatable(60))]

    #[test]
    fn a_tree_balances_and_agrees_with_bisection(network in networks(), flow in -6.0..-3.0f64, reversed: bool) {
        let mut tree = Vec::new();
        network.flat(&mut tree);
        prop_assert!(hydraulics::check_tree(&tree));
        let total = libm::exp10(flow) * if reversed { -1.0 } else { 1.0 };
        let mut flows = vec![VolumeFlow::ZERO; tree.len()];
        let pressure = hydraulics::distribute(&tree, VolumeFlow::new(total), &mut flows);

        let mut misses = Vec::new();
        let mut given = flows.iter().map(|flow| flow.si());
        let (whole, across) = network.balance(&mut given, &mut misses);
        prop_assert!((whole / total - 1.0).abs() < 1e-12 && (across / pressure.si() - 1.0).abs() < 1e-11);
        for miss in misses {
            prop_assert!(miss.abs() < 1e-11, "a balance is missed by {miss}");
        }
        let there_and_back = hydraulics::flow_through(&tree, pressure).si();
        prop_assert!((there_and_back / total - 1.0).abs() < 1e-11);

        let by_halves = network.pressure(total.abs()) * total.signum();
        prop_assert!((pressure.si() / by_halves - 1.0).abs() < 1e-8, "{pressure} against {by_halves}");
    }
}

#[test]
fn malformed_trees_are_refused() {
    let one = Node::Element(passage(1e7, 1e11));
    let open = Node::Element(Drop::NONE);
    let missing = Node::Element(passage(f64::NAN, 1e11));
    let deep: Vec<Node> = std::iter::once(one)
        .chain((0..5000).map(|k| if k % 2 == 0 { Node::Series(1) } else { Node::Parallel(1) }))
        .collect();
    let refused: [&[Node]; 9] = [
        &[],
        &[one, one],
        &[Node::Series(1)],
        &[one, Node::Series(2)],
        &[one, Node::Parallel(0)],
        &[one, one, Node::Parallel(usize::MAX)],
        &[one, open, open, Node::Parallel(3)],
        &[one, missing, Node::Parallel(2)],
        &deep,
    ];
    for tree in refused {
        assert!(!hydraulics::check_tree(tree));
        assert!(hydraulics::pressure_across(tree, VolumeFlow::new(1e-4)).si().is_nan());
        assert!(hydraulics::flow_through(tree, Pressure::new(1e4)).si().is_nan());
        let mut flows = vec![VolumeFlow::ZERO; tree.len()];
        assert!(hydraulics::distribute(tree, VolumeFlow::new(1e-4), &mut flows).si().is_nan());
        assert!(flows.iter().all(|flow| flow.si().is_nan()));
    }
}

#[test]
fn a_blocked_passage_stops_its_row_and_nothing_else() {
    let one = Node::Element(passage(1e7, 1e11));
    let blocked = Node::Element(passage(f64::INFINITY, 0.0));
    let tree = [one, blocked, Node::Series(2), one, Node::Parallel(2)];
    let mut flows = [VolumeFlow::ZERO; 5];
    let total = VolumeFlow::new(1e-4);
    let pressure = hydraulics::distribute(&tree, total, &mut flows);
    assert_eq!(flows[..3], [VolumeFlow::ZERO; 3]);
    assert!((flows[3] - total).si().abs() < 1e-16);
    assert!((pressure - passage(1e7, 1e11).pressure(total)).si().abs() < 1e-9);
}

#[test]
fn an_open_passage_adds_nothing_to_its_row_and_takes_all_from_branches() {
    let one = Node::Element(passage(1e7, 1e11));
    let open = Node::Element(Drop::NONE);
    let total = VolumeFlow::new(1e-4);
    let alone = passage(1e7, 1e11).pressure(total);
    let row = [one, open, Node::Series(2)];
    assert_eq!(hydraulics::pressure_across(&row, total), alone);
    assert!((hydraulics::flow_through(&row, alone) - total).si().abs() < 1e-18);

    let tree = [one, open, open, Node::Series(2), Node::Parallel(2), one, Node::Series(2)];
    let mut flows = [VolumeFlow::ZERO; 7];
    let pressure = hydraulics::distribute(&tree, -total, &mut flows);
    assert_eq!(pressure, -alone);
    let expected = [0.0, -1e-4, -1e-4, -1e-4, -1e-4, -1e-4, -1e-4].map(VolumeFlow::new);
    assert_eq!(flows, expected);
    assert!((hydraulics::flow_through(&tree, -alone) + total).si().abs() < 1e-18);
    assert!(hydraulics::flow_through(&[open], alone).si().is_infinite());
}

#[test]
fn a_wide_network_is_solved_at_once() {
    // Nested eight deep, thousands of passages: bounded work.
    let one = Node::Element(passage(1e7, 1e11));
    let mut tree: Vec<Node> = vec![one; 2000];
    tree.push(Node::Parallel(2000));
    let flow = VolumeFlow::new(0.2);
    let pressure = hydraulics::pressure_across(&tree, flow);
    let each = passage(1e7, 1e11).pressure(VolumeFlow::new(1e-4));
    assert!((pressure / each - 1.0).abs() < 1e-12);
}

#[test]
fn the_deepest_nest_that_is_taken_is_solved_in_bounded_work() {
    let one = Node::Element(passage(1e7, 1e11));
    let other = Node::Element(passage(3e7, 4e10));
    let mut tree = vec![one];
    for level in 0..8 {
        tree.push(other);
        tree.push(if level % 2 == 0 { Node::Parallel(2) } else { Node::Series(2) });
    }
    assert!(hydraulics::check_tree(&tree));
    let mut flows = vec![VolumeFlow::ZERO; tree.len()];
    let pressure = hydraulics::distribute(&tree, VolumeFlow::new(1e-4), &mut flows);
    let again = hydraulics::flow_through(&tree, pressure).si();
    assert!((again / 1e-4 - 1.0).abs() < 1e-11);
}
