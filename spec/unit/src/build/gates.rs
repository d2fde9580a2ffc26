//! Gate reference nodes, and the outputs that feed gate drivers.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::stages::{ClampSide, RectifierLead, Stage as Written};
use loadworthy_source::{Located, NodeId};

use crate::build::device::ResolvedDevice;
use crate::build::rails::own_rail;
use crate::build::stage::{Design, Place, leg_name, rectifier_lead};
use crate::build::{Build, broken, exchanged};
use crate::origin::Origin;
use crate::plan::{GateNode, GateSupply, GateTransformer, RailsThrough, Role};
use crate::table::Stated;

/// The negative rail of a bus, under the name that stands for it.
pub(crate) fn rail_of(build: &Build<'_>, bus: &str) -> String {
    let entry = build.description.buses.get(bus);
    let named = entry.and_then(|entry| entry.read()?.negative_rail.as_ref()).map(|rail| rail.value.as_str());
    // Of a bus that could not be read the rail may be written all the same.
    let void = entry.filter(|entry| entry.read().is_none());
    let written = void.and_then(|entry| build.tree.value_at(entry.value, &["negative_rail"]));
    let written = written.and_then(|at| build.tree.scalar(at)).filter(|scalar| !scalar.is_null());
    // A bus that names no rail has one of its own.
    let rail = named.or(written.map(|scalar| scalar.text));
    build.rails.stands_for(&rail.map_or_else(|| own_rail(bus), str::to_owned))
}

/// The potential that the gate of a position is driven from; nothing where nothing is switched.
pub(crate) fn node(
    build: &Build<'_>,
    design: &Design<'_>,
    place: &Place,
    device: &ResolvedDevice,
) -> Option<GateNode> {
    if device.is_diode() {
        return None;
    }
    let bus = |key: &str| {
        let buses = design.written.buses();
        let named = buses.iter().find(|(own, _)| *own == key).and_then(|(_, bus)| *bus);
        match named {
            Some(bus) => {
                let others = buses.iter().filter(|(own, _)| *own != key).filter_map(|(_, bus)| *bus);
                let beyond: Vec<String> = match design.written {
                    Written::PhaseShiftedFullBridge(_) | Written::ActiveClampForward(_) => {
                        others.map(|bus| rail_of(build, &bus.value)).collect()
                    }
                    _ => Vec::new(),
                };
                GateNode::Rail(build.rails.at_stage(design.name, rail_of(build, &bus.value), &beyond))
            }
            None => GateNode::Unsaid(match key {
                "dc_bus" => "dc_bus",
                "high_bus" => "high_bus",
                "to" => "to",
                _ => "from",
            }),
        }
    };
    let floats = |node: String| GateNode::Floating { stage: design.name.to_owned(), node };
    let lead = rectifier_lead(design.written).map_or(RectifierLead::Return, |(lead, _)| lead);
    Some(match place.role {
        Role::HighSide | Role::BridgeHigh => floats(leg_name(design.written, place.leg)),
        Role::LowSide => match design.written {
            Written::ThreePhaseBridge(_) => bus("dc_bus"),
            Written::Boost(_) => bus("high_bus"),
            _ => bus("from"),
        },
        Role::BridgeLow | Role::Main => bus("from"),
        Role::Clamp => match clamp(design.written) {
            Some(ClampSide::HighSide) => floats("main".to_owned()),
            Some(ClampSide::LowSide) => bus("from"),
            None => GateNode::Unsaid(CLAMP),
        },
        // It conducts from the return to the choke, whichever lead its partner stands in.
        Role::Freewheel => bus("to"),
        Role::Rectifier | Role::Forward => match lead {
            RectifierLead::Return => bus("to"),
            RectifierLead::Positive => floats(match place.role {
                Role::Rectifier => format!("rectifier {}", place.leg + 1),
                _ => "forward".to_owned(),
            }),
        },
    })
}

/// The key that says on which side the clamp of a forward converter stands.
pub(super) const CLAMP: &str = "clamp";

fn clamp(written: &Written) -> Option<ClampSide> {
    match written {
        Written::ActiveClampForward(forward) => forward.clamp.as_ref().map(|clamp| clamp.value),
        _ => None,
    }
}

/// Every output that feeds gate drivers.
pub(crate) fn supplies(build: &mut Build<'_>) {
    let description = build.description;
    let section = &description.gate_supplies;
    build.plan.rail_splits = build.rails.splits();
    build.plan.rails_through = through(build);
    for split in 0..build.plan.rail_splits.len() {
        let branch = build.plan.rail_splits[split].branch.clone();
        let at = build.rails.unread_at(&branch);
        build.plan.rail_splits[split].unread =
            at.map(|at| build.tables.input(format!("branches.{branch}"), Dimension::Ratio, broken(at)));
    }
    let gates = gates(build);
    if !gates.is_empty() {
        let stated = match section.at {
            Some(at) if section.void => broken(at),
            Some(at) => Stated { value: 0.0, origin: build.written(at) },
            None => Stated { value: f64::NAN, origin: Origin::Absent { near: description.stages.at } },
        };
        build.plan.gates_fed = Some(build.tables.input("gate_supplies".to_owned(), Dimension::Ratio, stated));
    }
    for (name, entry) in section.iter() {
        let part = build.tables.part(name.clone(), entry.key, None);
        let read = entry.read();
        let feeds = read.and_then(|read| read.feeds.as_ref());
        let mut named = match (read, feeds) {
            (None, _) => broken(entry.value),
            (Some(_), None) => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(entry.key) } },
            (Some(_), Some(feeds)) => Stated { value: 0.0, origin: build.written(feeds.at) },
        };
        let mut path = format!("gate_supplies.{name}.feeds");
        let mut positions = Vec::new();
        let mut idle = Vec::new();
        for fed in feeds.iter().flat_map(|feeds| &feeds.value) {
            match gates.get(fed.value.as_str()) {
                Some(found) => {
                    positions.extend(found.iter().map(|&(stage, position)| (stage, position, fed.at)))
                }
                None if is_read(build, &fed.value) => idle.push((fed.value.clone(), fed.at)),
                // Which gates a stage has that could not be read is not known; the stage is told, once for all outputs.
                None => match void_stage(build, &fed.value) {
                    Some((stage, at)) => (path, named) = (format!("stages.{stage}"), broken(at)),
                    None => named = broken(fed.at),
                },
            }
        }
        let named = build.tables.input(path, Dimension::Ratio, named);
        if let Some(transformer) = read.and_then(|read| read.transformer.as_ref()) {
            wind(build, &transformer.value, transformer.at);
        }
        let rail = read.and_then(|read| read.rail.as_ref()).map(|rail| build.rails.stands_for(&rail.value));
        let from = read.and_then(|read| read.bootstrap_from.as_ref());
        build.plan.gate_supplies.push(GateSupply {
            part,
            feeds: positions,
            contested: Vec::new(),
            exchanged: None,
            idle,
            named,
            rail,
            bootstrap_from: from.and_then(|from| section.get_index_of(&from.value)),
        });
    }
    contest(&mut build.plan.gate_supplies);
    exchanged::note(build);
}

/// Notes what two outputs feed.
fn contest(supplies: &mut [GateSupply]) {
    let mut feeding: BTreeMap<(usize, usize), BTreeSet<usize>> = BTreeMap::new();
    for (output, supply) in supplies.iter().enumerate() {
        for &(stage, position, _) in &supply.feeds {
            feeding.entry((stage, position)).or_default().insert(output);
        }
    }
    for (gate, outputs) in feeding.into_iter().filter(|(_, outputs)| outputs.len() > 1) {
        outputs.into_iter().for_each(|output| supplies[output].contested.push(gate));
    }
}

/// Stages without a transformer whose buses name two negative rails.
fn through(build: &Build<'_>) -> Vec<RailsThrough> {
    let of_stage = |(name, rails): &(String, [Located<String>; 2])| {
        let stage = &build.plan.stages[*build.places.stages.get(name)?];
        Some(RailsThrough { stage: stage.part, rails: rails.clone().map(|rail| (rail.value, rail.at)) })
    };
    build.rails.through().iter().filter_map(of_stage).collect()
}

/// The stage of a position, where it could not be read.
fn void_stage<'d>(build: &Build<'d>, position: &str) -> Option<(&'d str, NodeId)> {
    let stage = position.split('.').next()?;
    let (name, entry) = build.description.stages.get_key_value(stage)?;
    entry.read().is_none().then_some((name.as_str(), entry.value))
}

/// Whether the stage of a position could be read, and the device that is fitted there.
fn is_read(build: &Build<'_>, position: &str) -> bool {
    let mut steps = position.split('.');
    let stage = steps.next().and_then(|stage| build.description.stages.entry(stage));
    let (Some(stage), Some(key)) = (stage, steps.next()) else { return false };
    let fitted = stage
        .positions()
        .into_iter()
        .find(|(own, _)| *own == key)
        .and_then(|(_, seat)| seat?.fitted.as_ref());
    fitted.is_some_and(|fitted| build.description.devices.entry(&fitted.value).is_some())
}

/// Adds the output that comes next to its transformer.
fn wind(build: &mut Build<'_>, transformer: &str, at: NodeId) {
    let output = build.plan.gate_supplies.len();
    let tables = &mut build.tables;
    let known = &mut build.plan.gate_transformers;
    match known.iter_mut().find(|known| tables.part_of(known.part).path == transformer) {
        Some(known) => known.outputs.push((output, at)),
        None => {
            let part = tables.part(transformer.to_owned(), at, None);
            known.push(GateTransformer { part, outputs: vec![(output, at)] });
        }
    }
}

/// Positions with a gate, under their own path and that of all of their kind.
pub(crate) fn gates(build: &Build<'_>) -> BTreeMap<String, Vec<(usize, usize)>> {
    let mut gates: BTreeMap<String, Vec<(usize, usize)>> = BTreeMap::new();
    for (k, stage) in build.plan.stages.iter().enumerate() {
        for (p, position) in
            stage.positions.iter().enumerate().filter(|(_, position)| position.gate.is_some())
        {
            let own = build.tables.part_of(position.part).path.clone();
            let kind =
                format!("{}.{}", build.tables.part_of(stage.part).path, stage.seats[position.seat].key);
            if own != kind {
                gates.entry(own).or_default().push((k, p));
            }
            gates.entry(kind).or_default().push((k, p));
        }
    }
    gates
}
