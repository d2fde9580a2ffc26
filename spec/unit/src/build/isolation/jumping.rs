//! Potentials that jump against the rails with each edge of a leg, whether a gate floats on them or not: the middle of a leg
//! whose upper switch is a diode has none, and a transducer of its current rides on it all the same.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::devices::Transistor;

use crate::build::Build;
use crate::build::bank::shared;
use crate::build::gates::CLAMP;
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{GateNode, Isolation, Jumping, Role};
use crate::table::Stated;

/// Potentials that jump against the rails, by stage and node.
pub(super) type Potentials = BTreeMap<GateNode, usize>;

/// The potential that jumps at a position: the one that its gate floats on, or the middle of its leg above which a diode stands.
pub(super) fn node(build: &Build<'_>, (s, p): (usize, usize)) -> Option<GateNode> {
    let stage = &build.plan.stages[s];
    let position = &stage.positions[p];
    match &position.gate {
        Some(node @ GateNode::Floating { .. }) => Some(node.clone()),
        // A clamp that stands on the drain of the main switch jumps with it, and it is not said that it does not.
        Some(GateNode::Unsaid(CLAMP)) => Some(GateNode::Floating {
            stage: build.tables.part_of(stage.part).path.clone(),
            node: "main".to_owned(),
        }),
        None if position.role == Role::HighSide => Some(GateNode::Floating {
            stage: build.tables.part_of(stage.part).path.clone(),
            node: format!("leg {}", position.leg + 1),
        }),
        _ => None,
    }
}

/// Every potential that a leg moves.
pub(super) fn jumping(build: &mut Build<'_>, isolation: &mut Isolation) -> Potentials {
    let mut known = Potentials::new();
    for s in 0..build.plan.stages.len() {
        for p in 0..build.plan.stages[s].positions.len() {
            let Some(node) = node(build, (s, p)).filter(|node| !known.contains_key(node)) else { continue };
            let stage = &build.plan.stages[s];
            let position = &stage.positions[p];
            let part = position.part;
            let (leg, role) = (position.leg, position.role);
            let moves = |other: &crate::plan::Position| {
                other.leg == leg
                    && match role {
                        Role::HighSide | Role::LowSide => other.role.is_of_leg(),
                        Role::BridgeHigh | Role::BridgeLow => {
                            matches!(other.role, Role::BridgeHigh | Role::BridgeLow)
                        }
                        Role::Clamp | Role::Main => matches!(other.role, Role::Clamp | Role::Main),
                        Role::Rectifier | Role::Forward | Role::Freewheel => other.role == role,
                    }
            };
            let movers = stage.positions.iter().filter(|other| other.gate.is_some() && moves(other));
            let mut fitted: Vec<String> =
                movers.filter_map(|other| stage.seats[other.seat].fitted.clone()).collect();
            fitted.sort_unstable();
            fitted.dedup();
            let is_unsaid = matches!(stage.positions[p].gate, Some(GateNode::Unsaid(_)));
            let edges = fitted.iter().map(|device| edge(build, device)).collect();
            let lacks = if is_unsaid {
                vec![unsaid(build, s)]
            } else if fitted.is_empty() {
                lacks(build, (s, p))
            } else {
                Vec::new()
            };
            let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
            known.insert(node, isolation.jumping.len());
            isolation.jumping.push(Jumping {
                part,
                edges,
                lacks,
                is_ridden: false,
                couplings: Vec::new(),
                edge: figure("steepest_edge", Dimension::SlewRate),
                coupling: figure("coupling", Dimension::Capacitance),
                current: figure("coupling_current", Dimension::Current),
            });
        }
    }
    known
}

/// What would say which devices stand at a position and switch it.
fn lacks(build: &mut Build<'_>, (s, p): (usize, usize)) -> Vec<InputId> {
    let stage = &build.plan.stages[s];
    let key = stage.seats[stage.positions[p].seat].key;
    let of = build.tables.part_of(stage.part);
    let (path, near) = (format!("stages.{}.switches.{key}.fitted", of.path), of.at);
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    vec![build.tables.input(path, Dimension::Ratio, absent)]
}

/// What would say on which side the clamp of a stage stands.
fn unsaid(build: &mut Build<'_>, s: usize) -> InputId {
    let of = build.tables.part_of(build.plan.stages[s].part);
    let (path, near) = (format!("stages.{}.{CLAMP}", of.path), of.at);
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    build.tables.input(path, Dimension::Ratio, absent)
}

/// Steepest edge of a device.
fn edge(build: &mut Build<'_>, device: &str) -> InputId {
    let entry = build.description.devices.get(device);
    let gate = entry.and_then(|entry| match entry.read()?.transistor.as_ref()? {
        Transistor::Igbt(igbt) => igbt.gate.as_ref(),
        Transistor::Mosfet(mosfet) => mosfet.gate.as_ref(),
    });
    let given = gate.and_then(|gate| gate.edge.as_ref());
    let stated = build.stated(given, entry.map(|entry| entry.key), |slope| slope.si());
    let path = format!("devices.{device}.transistor.gate.edge");
    shared(build, &path, &path, Dimension::SlewRate, stated)
}

/// The potentials among some positions that jump.
pub(super) fn among(build: &Build<'_>, potentials: &Potentials, positions: &[(usize, usize)]) -> Vec<usize> {
    let nodes = positions.iter().filter_map(|&at| node(build, at));
    let mut found: Vec<usize> = nodes.filter_map(|node| potentials.get(&node).copied()).collect();
    found.sort_unstable();
    found.dedup();
    found
}
