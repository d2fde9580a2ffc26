//! Which gates are driven from one potential, and how many outputs that takes.
//!
//! Two gates may share an output only where a path without any resistance joins their references. That is a relation that
//! divides all gates into groups, so the least number of outputs is the number of groups, and no search is needed.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::plan::{GateNode, GateSupply, Plan, Position, Role, Side, Stage};
use loadworthy_unit::{Cause, NodeId, PartId, Variant};

use super::splits;

use crate::verdict::Missing;

/// A position with a gate: its stage in the plan, and its place in the stage.
pub(super) type Gate = (usize, usize);

/// Every position with a gate, in the order of the stages.
pub(super) fn gates(plan: &Plan) -> impl Iterator<Item = Gate> + '_ {
    plan.stages.iter().enumerate().flat_map(|(s, stage)| {
        let with_gate = stage.positions.iter().enumerate().filter(|(_, position)| position.gate.is_some());
        with_gate.map(move |(p, _)| (s, p))
    })
}

/// The stage and the position of a gate.
pub(super) fn at(plan: &Plan, (stage, position): Gate) -> (&Stage, &Position) {
    let stage = &plan.stages[stage];
    (stage, &stage.positions[position])
}

/// The stable path of the position of a gate.
pub(super) fn path(variant: &Variant, gate: Gate) -> &str {
    variant.path(at(&variant.plan, gate).1.part)
}

/// The potential that a gate is driven from.
pub(super) fn node(plan: &Plan, gate: Gate) -> Option<&GateNode> {
    at(plan, gate).1.gate.as_ref()
}

/// Whether two gates are driven from one potential.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Alike {
    Yes,
    No,
    /// That hangs on a key that is not stated.
    Open(Missing),
}

/// Whether two gates are driven from one potential.
pub(super) fn alike(plan: &Plan, one: Gate, other: Gate) -> Alike {
    let (Some(a), Some(b)) = (node(plan, one), node(plan, other)) else { return Alike::No };
    // What one stage says of a kind of position, it says of all of that kind.
    if one.0 == other.0 && a == b {
        return Alike::Yes;
    }
    against(plan, one, b).or_else(|| against(plan, other, a)).unwrap_or_else(|| same(plan, a, b))
}

/// Whether two potentials that are known are one; a branch between them that could not be read leaves that open.
fn same(plan: &Plan, one: &GateNode, other: &GateNode) -> Alike {
    match (one, other) {
        _ if one == other => Alike::Yes,
        (GateNode::Rail(one), GateNode::Rail(other)) => splits::unread(plan, one, other)
            .map_or(Alike::No, |branch| Alike::Open(Missing::Cause(Cause::Input(branch)))),
        _ => Alike::No,
    }
}

/// Whether the potential of a gate is this one, where its own is not known: a rail that a key would name, or of a clamp
/// the rail or the main switch.
fn against(plan: &Plan, gate: Gate, node: &GateNode) -> Option<Alike> {
    let (stage, position) = at(plan, gate);
    let Some(GateNode::Unsaid(key)) = position.gate else { return None };
    let may_be = match node {
        GateNode::Rail(_) | GateNode::Unsaid(_) => true,
        GateNode::Floating { .. } => false,
    };
    Some(if may_be { Alike::Open(Missing::Key { of: stage.part, key }) } else { Alike::No })
}

/// Whether the potential of a gate is a rail.
pub(super) fn on_rail(plan: &Plan, gate: Gate, rail: &str) -> Alike {
    let rail = GateNode::Rail(rail.to_owned());
    let own = node(plan, gate);
    against(plan, gate, &rail).unwrap_or_else(|| own.map_or(Alike::No, |own| same(plan, own, &rail)))
}

/// The potential of a gate in words, such as `lift_bridge.u` or `rail hv_minus`.
pub(super) fn name(plan: &Plan, variant: &Variant, gate: Gate) -> String {
    match node(plan, gate) {
        Some(GateNode::Rail(rail)) => format!("rail {rail}"),
        Some(GateNode::Floating { stage, node }) => format!("{stage}.{node}"),
        Some(GateNode::Unsaid(_)) | None => format!("that of {}", path(variant, gate)),
    }
}

/// Gates of one potential each, in the order of the first of them. What is not known stands alone.
pub(super) fn by_potential(plan: &Plan, gates: impl IntoIterator<Item = Gate>) -> Vec<Vec<Gate>> {
    let mut groups: Vec<Vec<Gate>> = Vec::new();
    // Of what is not said, only what the same stage does not say of the same kind of position is alike.
    let mut places: BTreeMap<(Option<usize>, &GateNode), usize> = BTreeMap::new();
    for gate in gates {
        let place = node(plan, gate).map(|node| {
            let unsaid = matches!(node, GateNode::Unsaid(_)).then_some(gate.0);
            *places.entry((unsaid, node)).or_insert(groups.len())
        });
        match place.and_then(|place| groups.get_mut(place)) {
            Some(group) => group.push(gate),
            None => groups.push(vec![gate]),
        }
    }
    groups
}

/// The gates that an output feeds, each once.
pub(super) fn fed_by(supply: &GateSupply) -> Vec<Gate> {
    let mut gates: Vec<Gate> = Vec::new();
    for &(stage, position, _) in &supply.feeds {
        if !gates.contains(&(stage, position)) {
            gates.push((stage, position));
        }
    }
    gates
}

/// The gates that an output alone feeds, each once.
pub(super) fn fed_alone(supply: &GateSupply) -> Vec<Gate> {
    let mut gates: Vec<Gate> = Vec::new();
    supply.alone().for_each(|gate| {
        if !gates.contains(&gate) {
            gates.push(gate);
        }
    });
    gates
}

/// What an output feeds, entry by entry of its list.
pub(super) fn entries(supply: &GateSupply) -> Vec<(NodeId, Vec<Gate>)> {
    let mut entries: Vec<(NodeId, Vec<Gate>)> = Vec::new();
    for &(stage, position, at) in &supply.feeds {
        match entries.iter_mut().find(|(known, _)| *known == at) {
            Some((_, gates)) => gates.push((stage, position)),
            None => entries.push((at, vec![(stage, position)])),
        }
    }
    entries
}

/// The outputs that feed each gate of a unit, in the order of the plan.
pub(super) struct Outputs(BTreeMap<Gate, Vec<usize>>);

impl Outputs {
    pub(super) fn of(plan: &Plan) -> Self {
        let mut outputs: BTreeMap<Gate, Vec<usize>> = BTreeMap::new();
        for (output, supply) in plan.gate_supplies.iter().enumerate() {
            for gate in fed_by(supply) {
                outputs.entry(gate).or_default().push(output);
            }
        }
        Self(outputs)
    }

    pub(super) fn feeding(&self, gate: Gate) -> &[usize] {
        self.0.get(&gate).map_or(&[], Vec::as_slice)
    }

    /// Outputs that feed what others feed as well, with those others. Of two the one that meets more others is told, since
    /// leaving it out mends most; of equals the one whose other gates are driven from elsewhere, or else the later one, which was added.
    pub(super) fn doubling(&self, plan: &Plan) -> BTreeMap<usize, Vec<usize>> {
        let mut meets: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for outputs in self.0.values() {
            for &other in &outputs[1..] {
                meets.entry(outputs[0]).or_default().insert(other);
                meets.entry(other).or_default().insert(outputs[0]);
            }
        }
        let rank = |one: usize| (meets[&one].len(), strays(plan, &plan.gate_supplies[one]), one);
        let is_told = |one: usize, other: usize| rank(one) > rank(other);
        let told = meets.iter().map(|(&one, others)| {
            (one, others.iter().copied().filter(|&other| is_told(one, other)).collect::<Vec<_>>())
        });
        told.filter(|(_, others)| !others.is_empty()).collect()
    }
}

/// Whether an output is named at gates that are not driven from one potential, or not from the rail that it is tied to.
fn strays(plan: &Plan, supply: &GateSupply) -> bool {
    let fed = fed_by(supply);
    match (&supply.rail, fed.first()) {
        (Some(rail), _) => fed.iter().any(|&gate| on_rail(plan, gate, rail) == Alike::No),
        (None, Some(&first)) => fed.iter().any(|&gate| alike(plan, first, gate) == Alike::No),
        (None, None) => false,
    }
}

/// How many outputs the gates of a unit take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Count {
    /// Potentials that gates are driven from.
    pub(super) potentials: usize,
    /// Those that an isolated output has to feed: no rail that an output is tied to, and no bootstrap.
    pub(super) isolated: usize,
    /// Isolated outputs where none is shared between stages.
    pub(super) contained: usize,
    /// Isolated outputs that are declared.
    pub(super) declared: usize,
    /// Whether a potential is not known, so that there may be fewer.
    pub(super) is_open: bool,
}

/// How many outputs the gates of a unit take.
pub(super) fn count(plan: &Plan) -> Count {
    let groups = by_potential(plan, gates(plan));
    let is_isolated = |supply: &GateSupply| supply.rail.is_none() && supply.bootstrap_from.is_none();
    // What stands on the rail of an output, or is charged from the low side of its leg, needs no isolated one.
    let does_without = |supply: &GateSupply, gate: Gate| match (&supply.rail, supply.bootstrap_from) {
        (Some(rail), _) => on_rail(plan, gate, rail) == Alike::Yes,
        (None, Some(from)) => charges(plan, from, gate),
        (None, None) => false,
    };
    let outputs = Outputs::of(plan);
    let is_fed_otherwise = |group: &&Vec<Gate>| {
        group.iter().any(|&gate| {
            outputs.feeding(gate).iter().any(|&output| does_without(&plan.gate_supplies[output], gate))
        })
    };
    let stages = |group: &Vec<Gate>| group.iter().map(|gate| gate.0).collect::<BTreeSet<_>>().len();
    Count {
        isolated: groups.iter().filter(|group| !is_fed_otherwise(group)).count(),
        contained: groups.iter().filter(|group| !is_fed_otherwise(group)).map(stages).sum(),
        declared: plan.gate_supplies.iter().filter(|supply| is_isolated(supply)).count(),
        is_open: gates(plan).any(|gate| matches!(node(plan, gate), Some(GateNode::Unsaid(_)))),
        potentials: groups.len(),
    }
}

/// Whether an output can charge the bootstrap of a gate: it feeds the low side of the same leg.
pub(super) fn charges(plan: &Plan, output: usize, gate: Gate) -> bool {
    let (stage, high) = at(plan, gate);
    high.role.side() == Side::High
        && fed_by(&plan.gate_supplies[output]).iter().any(|&(of, place)| {
            let low = &plan.stages[of].positions[place];
            of == gate.0 && low.leg == high.leg && low.role.side() == Side::Low && is_leg(stage, low.part)
        })
}

/// Whether a position stands in a leg of the bridge, and is no rectifier.
pub(super) fn is_leg(stage: &Stage, part: PartId) -> bool {
    let found = stage.positions.iter().find(|position| position.part == part);
    found.is_some_and(|position| !matches!(position.role, Role::Rectifier | Role::Forward | Role::Freewheel))
}
