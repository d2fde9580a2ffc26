//! What joins two domains: drivers and their supplies, transformers, sensors, signals, and devices on cooled metal.

use std::collections::BTreeMap;

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::devices::Transistor;
use loadworthy_language::sections::isolation::Isolation as Section;
use loadworthy_language::sections::sensors::{Measured, Measurement};
use loadworthy_physics::{Capacitance, SlewRate};
use loadworthy_source::{Located, NodeId};

use super::{Standing, pair_part};
use crate::build::bank::shared;
use crate::build::{Build, gates};
use crate::ids::{InputId, PartId};
use crate::plan::{Crossing, Form, GateNode, Isolation, Joins, Jumping, Pair, Role, Topology};

/// Something that joins domains, before it is known which barrier it passes.
struct Found<'d> {
    part: PartId,
    kind: Joins,
    /// Its section and name, under which its figures stand.
    said: String,
    names: Vec<String>,
    pairs: Vec<(usize, usize)>,
    crosses: Option<&'d Located<String>>,
    immunity: Option<Option<&'d Given<SlewRate>>>,
    coupling: Option<Option<&'d Given<Capacitance>>>,
    jumping: Vec<usize>,
    isolated_cases: Option<bool>,
    near: NodeId,
}

/// Every crossing, with the barrier that it passes.
pub(super) fn crossings(
    build: &mut Build<'_>,
    seen: &Standing,
    section: &Section,
    isolation: &mut Isolation,
) {
    let potentials = jumping(build, isolation);
    let mut found = drivers(build, seen, &potentials, isolation);
    found.extend(supplies(build, seen, &potentials, isolation));
    found.extend(transformers(build, seen));
    found.extend(sensors(build, seen, &potentials, isolation));
    found.extend(signals(build, seen));
    found.extend(cooled(build, seen, isolation));
    for one in found {
        cross(build, one, section, isolation);
    }
    let mut pairs: Vec<(usize, usize)> =
        isolation.crossings.iter().map(|crossing| crossing.between).collect();
    pairs.sort_unstable();
    pairs.dedup();
    for between in pairs {
        let part = pair_part(build, isolation, between);
        isolation.pairs.push(Pair { part, between });
    }
}

fn ordered(one: usize, other: usize) -> (usize, usize) {
    (one.min(other), one.max(other))
}

/// Adds a crossing for each pair of domains that something joins.
fn cross(build: &mut Build<'_>, found: Found<'_>, section: &Section, isolation: &mut Isolation) {
    let Found {
        part,
        kind,
        said,
        names,
        mut pairs,
        crosses,
        immunity,
        coupling,
        jumping,
        isolated_cases,
        near,
    } = found;
    pairs.sort_unstable();
    pairs.dedup();
    let named = crosses.and_then(|crosses| {
        let place = isolation.barriers.iter().position(|barrier| barrier.name == crosses.value)?;
        Some((place, crosses.at))
    });
    for between in pairs {
        let lists = |place: &usize| {
            let barrier = &isolation.barriers[*place];
            barrier.between.is_some_and(|(one, other)| ordered(one, other) == between)
                && barrier.spanned_by.iter().any(|(name, ..)| names.contains(name))
        };
        let listed_by: Vec<usize> = (0..isolation.barriers.len()).filter(lists).collect();
        // What it does not state of its own, the barrier that it passes does; of what passes none, one between its domains.
        let stands = |place: &usize| {
            isolation.barriers[*place].between.is_some_and(|(one, other)| ordered(one, other) == between)
        };
        let passes = named
            .map(|(place, _)| place)
            .or_else(|| listed_by.first().copied())
            .or_else(|| (0..isolation.barriers.len()).find(stands));
        let barrier = passes.map(|place| (place, &isolation.barriers[place].name));
        let written = barrier.and_then(|(_, name)| section.barriers.as_ref()?.get(name));
        let own_part = barrier.map(|(place, _)| isolation.barriers[place].part);
        let immunity = immunity.map(|own| {
            let theirs = written.and_then(|barrier| barrier.transient_immunity.as_ref());
            let (path, given) = match (own, theirs, own_part) {
                (None, Some(theirs), Some(part)) => {
                    (format!("{}.transient_immunity", build.tables.part_of(part).path), Some(theirs))
                }
                _ => (format!("{said}.transient_immunity"), own),
            };
            let stated = build.stated(given, Some(near), |slope| slope.si());
            build.tables.limit(path, Dimension::SlewRate, stated)
        });
        if let Some(own) = coupling
            && !jumping.is_empty()
        {
            let theirs = written.and_then(|barrier| barrier.coupling.as_ref());
            let (path, given) = match (own, theirs, own_part) {
                (None, Some(theirs), Some(part)) => {
                    (format!("{}.coupling", build.tables.part_of(part).path), Some(theirs))
                }
                _ => (format!("{said}.coupling"), own),
            };
            let stated = build.stated(given, Some(near), |farad| farad.si());
            let input = shared(build, &path, &path, Dimension::Capacitance, stated);
            for &place in &jumping {
                isolation.jumping[place].couplings.push(input);
            }
        }
        let is_disturbed = immunity.is_some() && !jumping.is_empty();
        let edge =
            is_disturbed.then(|| build.tables.figure_if_asked(part, "steepest_edge", Dimension::SlewRate));
        isolation.crossings.push(Crossing {
            part,
            kind,
            names: names.clone(),
            between,
            names_barrier: named,
            listed_by,
            isolated_cases,
            jumping: jumping.clone(),
            immunity,
            edge,
        });
    }
}

/// Potentials that jump against the rails, by stage and node.
type Potentials = BTreeMap<GateNode, usize>;

/// Every potential that gates float on and a leg moves.
fn jumping(build: &mut Build<'_>, isolation: &mut Isolation) -> Potentials {
    let mut known = Potentials::new();
    for s in 0..build.plan.stages.len() {
        for p in 0..build.plan.stages[s].positions.len() {
            let stage = &build.plan.stages[s];
            let position = &stage.positions[p];
            let Some(node @ GateNode::Floating { .. }) = position.gate.clone() else { continue };
            if known.contains_key(&node) {
                continue;
            }
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
            let edges = fitted.iter().map(|device| edge(build, device)).collect();
            let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
            known.insert(node, isolation.jumping.len());
            isolation.jumping.push(Jumping {
                part,
                edges,
                couplings: Vec::new(),
                edge: figure("steepest_edge", Dimension::SlewRate),
                coupling: figure("coupling", Dimension::Capacitance),
                current: figure("coupling_current", Dimension::Current),
            });
        }
    }
    known
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
fn among(build: &Build<'_>, potentials: &Potentials, positions: &[(usize, usize)]) -> Vec<usize> {
    let gates = positions.iter().filter_map(|&(s, p)| build.plan.stages[s].positions[p].gate.as_ref());
    let mut found: Vec<usize> = gates.filter_map(|node| potentials.get(node).copied()).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// The domain of a controller; what is not stated is noted.
fn of_controller(
    build: &mut Build<'_>,
    seen: &Standing,
    name: &str,
    isolation: &mut Isolation,
) -> Option<usize> {
    let entry = build.description.controllers.get(name)?;
    let domain = entry.read()?.domain.as_ref();
    if domain.is_none() {
        let path = format!("controllers.{name}");
        if !isolation.unsaid.iter().any(|(part, _)| build.tables.part_of(*part).path == path) {
            let part = build.tables.part(path, entry.key, None);
            isolation.unsaid.push((part, "domain"));
        }
    }
    seen.places.get(&domain?.value).copied()
}

fn drivers<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let gates = gates::gates(build);
    let mut found = Vec::new();
    undriven(build, seen, &gates, isolation);
    for (name, entry, driver) in build.description.drivers.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        if driver.drives.is_none() {
            isolation.unsaid.push((part, "drives"));
        }
        let driven = driver.drives.iter().flat_map(|drives| &drives.value);
        let positions: Vec<(usize, usize)> =
            driven.filter_map(|name| gates.get(name.value.as_str())).flatten().copied().collect();
        let mut pairs = Vec::new();
        let mut is_unsaid = false;
        for &(stage, position) in &positions {
            let Some(gate) = seen.of_position(build, (stage, position)) else { continue };
            let own = driver.controller.as_ref().map(|controller| controller.value.clone());
            let stage = build.tables.part_of(build.plan.stages[stage].part).path.clone();
            let controller = own.or_else(|| controller_of(build, &stage));
            is_unsaid |= controller.is_none();
            let Some(controller) = controller else { continue };
            let Some(reader) = of_controller(build, seen, &controller, isolation) else { continue };
            if gate != reader {
                pairs.push(ordered(gate, reader));
            }
        }
        if is_unsaid {
            isolation.unsaid.push((part, "controller"));
        }
        found.push(Found {
            part,
            kind: Joins::Driver,
            said: format!("drivers.{name}"),
            names: vec![name.to_owned()],
            pairs,
            crosses: driver.crosses.as_ref(),
            immunity: Some(driver.transient_immunity.as_ref()),
            coupling: Some(driver.coupling.as_ref()),
            jumping: among(build, potentials, &positions),
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}

/// Stages whose gates stand elsewhere than their controller and are driven by nothing that is described.
fn undriven(
    build: &mut Build<'_>,
    seen: &Standing,
    gates: &BTreeMap<String, Vec<(usize, usize)>>,
    isolation: &mut Isolation,
) {
    let drivers = &build.description.drivers;
    if drivers.void || drivers.values().any(|entry| entry.read().is_none()) {
        // What a broken entry drives is not known.
        return;
    }
    let named = drivers.readable().flat_map(|(_, _, driver)| &driver.drives).flat_map(|drives| &drives.value);
    let driven: Vec<(usize, usize)> =
        named.filter_map(|name| gates.get(name.value.as_str())).flatten().copied().collect();
    for s in 0..build.plan.stages.len() {
        let stage = &build.plan.stages[s];
        let part = stage.part;
        let bare = (0..stage.positions.len())
            .filter(|&p| stage.positions[p].gate.is_some() && !driven.contains(&(s, p)));
        let stands: Vec<usize> = bare.filter_map(|p| seen.of_position(build, (s, p))).collect();
        let name = build.tables.part_of(part).path.clone();
        let Some(controller) = controller_of(build, &name) else { continue };
        let Some(reader) = of_controller(build, seen, &controller, isolation) else { continue };
        if stands.iter().any(|&gate| gate != reader) {
            isolation.unsaid.push((part, "drivers"));
        }
    }
}

/// The controller that a stage names.
fn controller_of(build: &Build<'_>, stage: &str) -> Option<String> {
    use loadworthy_language::sections::stages::Stage;
    let named = match build.description.stages.entry(stage)? {
        Stage::ThreePhaseBridge(stage) => stage.controller.as_ref(),
        Stage::Boost(stage) => stage.controller.as_ref(),
        Stage::Buck(stage) => stage.controller.as_ref(),
        Stage::PhaseShiftedFullBridge(stage) => stage.controller.as_ref(),
        Stage::ActiveClampForward(stage) => stage.controller.as_ref(),
    };
    named.map(|named| named.value.clone())
}

fn supplies<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (place, (name, entry)) in build.description.gate_supplies.iter().enumerate() {
        let Some(written) = entry.read() else { continue };
        // A bootstrap stands on the rails of its own stage.
        if written.bootstrap_from.is_some() {
            continue;
        }
        let supply = &build.plan.gate_supplies[place];
        let (part, feeds) = (supply.part, &supply.feeds);
        let positions: Vec<(usize, usize)> =
            feeds.iter().map(|&(stage, position, _)| (stage, position)).collect();
        if written.from.is_none() {
            isolation.unsaid.push((part, "from"));
        }
        let from = written.from.as_ref().and_then(|from| build.bus_places.get(&from.value));
        let from = from.and_then(|&bus| seen.of_bus[bus]);
        let gates = positions.iter().filter_map(|&position| seen.of_position(build, position));
        let pairs =
            gates.filter_map(|gate| from.filter(|from| *from != gate).map(|from| ordered(from, gate)));
        let transformer = written.transformer.as_ref().map(|transformer| transformer.value.clone());
        let names = [Some(name.clone()), transformer].into_iter().flatten().collect();
        found.push(Found {
            part,
            kind: Joins::Supply,
            said: format!("gate_supplies.{name}"),
            names,
            pairs: pairs.collect(),
            crosses: written.crosses.as_ref(),
            immunity: None,
            coupling: Some(written.coupling.as_ref()),
            jumping: among(build, potentials, &positions),
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}

/// Transformers of stages; each lies between the buses of its stage.
fn transformers<'d>(build: &Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for stage in &build.plan.stages {
        let (Topology::Isolated(_), [from, to]) = (&stage.topology, stage.ports.as_slice()) else { continue };
        let own = build.tables.part_of(stage.part);
        let domain = |bus: Option<usize>| bus.and_then(|bus| seen.of_bus[bus]);
        let (Some(from), Some(to)) = (domain(from.bus), domain(to.bus)) else { continue };
        if from == to {
            continue;
        }
        let written = build.description.stages.entry(&own.path).map(|stage| stage.magnetics());
        let transformer = written.into_iter().flatten().find(|(key, _)| *key == "transformer");
        let transformer = transformer.and_then(|(_, name)| name).map(|name| name.value.clone());
        found.push(Found {
            part: stage.part,
            kind: Joins::Transformer,
            said: format!("stages.{}", own.path),
            names: [transformer, Some(own.path.clone())].into_iter().flatten().collect(),
            pairs: vec![ordered(from, to)],
            crosses: None,
            immunity: None,
            coupling: None,
            jumping: Vec::new(),
            isolated_cases: None,
            near: own.at,
        });
    }
    found
}

fn sensors<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, sensor) in build.description.sensors.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let measured = measured(build, seen, potentials, sensor, (part, isolation));
        if measured.domains.is_empty() {
            continue;
        }
        if sensor.read_by.is_none() {
            isolation.unsaid.push((part, "read_by"));
        }
        let controllers = sensor.read_by.iter().flat_map(|controllers| &controllers.value);
        let mut pairs = Vec::new();
        for controller in controllers {
            let Some(reader) = of_controller(build, seen, &controller.value, isolation) else { continue };
            pairs.extend(measured.domains.iter().filter(|&&at| at != reader).map(|&at| ordered(at, reader)));
        }
        found.push(Found {
            part,
            kind: Joins::Sensor,
            said: format!("sensors.{name}"),
            names: vec![name.to_owned()],
            pairs,
            crosses: sensor.crosses.as_ref(),
            immunity: Some(sensor.transient_immunity.as_ref()),
            coupling: Some(sensor.coupling.as_ref()),
            jumping: measured.jumping,
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}

/// Where a sensor measures.
#[derive(Default)]
struct Measures {
    domains: Vec<usize>,
    jumping: Vec<usize>,
}

fn measured(
    build: &mut Build<'_>,
    seen: &Standing,
    potentials: &Potentials,
    sensor: &Measurement,
    (part, isolation): (PartId, &mut Isolation),
) -> Measures {
    let mut measures = Measures::default();
    let own = sensor.domain.as_ref().and_then(|domain| seen.places.get(&domain.value).copied());
    // Coolant stands on the chassis, and a reading of it joins nothing that hurts.
    let is_of_coolant = sensor.measures.as_ref().is_some_and(|what| what.value == Measured::Flow);
    for name in sensor.of.iter().flat_map(|of| &of.value) {
        let stage = name.value.split_once('.').map_or(name.value.as_str(), |(stage, _)| stage);
        let place = name.value.split_once('.').map(|(_, place)| place);
        let stage = build.plan.stages.iter().position(|one| build.tables.part_of(one.part).path == stage);
        if let (Some(s), Some(place)) = (stage, place) {
            let of = &build.plan.stages[s];
            let ends = |position: &&crate::plan::Position| {
                let path = &build.tables.part_of(position.part).path;
                path.rsplit('.').next() == Some(place) || path.ends_with(&format!(".{place}"))
            };
            let gates = of.positions.iter().filter(ends).filter_map(|position| position.gate.as_ref());
            measures.jumping.extend(gates.filter_map(|node| potentials.get(node).copied()));
        }
        if own.is_some() || is_of_coolant {
            continue;
        }
        let bus = build.bus_places.get(name.value.as_str()).copied();
        let of_source = || {
            let plan = &build.plan;
            let source =
                plan.sources.iter().find(|source| build.tables.part_of(source.part).path == name.value);
            let machine = plan.stages.iter().find(|stage| {
                let fed = stage.bridge().and_then(|bridge| bridge.machine);
                fed.is_some_and(|fed| build.tables.part_of(fed).path == name.value)
            });
            let magnetic = plan.stages.iter().find(|stage| {
                stage.magnetics.iter().any(|&one| {
                    let own = &build.tables.part_of(plan.magnetics[one].part).path;
                    own.rsplit('.').next() == Some(name.value.as_str())
                })
            });
            let branch = build.description.branches.entry(&name.value).and_then(|branch| {
                [&branch.from, &branch.to]
                    .into_iter()
                    .flatten()
                    .find_map(|end| build.bus_places.get(end.value.as_str()).copied())
            });
            let of_stage = |stage: &crate::plan::Stage| stage.ports.first().and_then(|port| port.bus);
            source
                .and_then(|source| source.bus)
                .or_else(|| machine.and_then(of_stage))
                .or_else(|| magnetic.and_then(of_stage))
                .or(branch)
        };
        match (bus.or_else(of_source), stage) {
            (Some(bus), _) => measures.domains.extend(seen.of_bus[bus]),
            (None, Some(stage)) => {
                let ports = &build.plan.stages[stage].ports;
                let mut sides: Vec<usize> = ports.iter().filter_map(|port| seen.of_bus[port.bus?]).collect();
                sides.dedup();
                match sides.as_slice() {
                    [only] => measures.domains.push(*only),
                    [] => {}
                    // On which side of its transformer it sits, only the description can say.
                    _ => isolation.unsaid.push((part, "domain")),
                }
            }
            (None, None) => {}
        }
    }
    measures.domains.extend(own);
    measures.domains.sort_unstable();
    measures.domains.dedup();
    measures.jumping.sort_unstable();
    measures.jumping.dedup();
    measures
}

fn signals<'d>(build: &mut Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, signal) in build.description.signals.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let ends: Vec<usize> = signal
            .joins
            .iter()
            .flat_map(|joins| &joins.value)
            .filter_map(|end| seen.places.get(&end.value).copied())
            .collect();
        let pairs = match ends.as_slice() {
            [one, other] if one != other => vec![ordered(*one, *other)],
            _ => Vec::new(),
        };
        found.push(Found {
            part,
            kind: Joins::Signal,
            said: format!("signals.{name}"),
            names: vec![name.to_owned()],
            pairs,
            crosses: signal.crosses.as_ref(),
            immunity: None,
            coupling: None,
            jumping: Vec::new(),
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}

/// Stages whose devices stand on cooled metal, where one metal is described.
fn cooled<'d>(build: &Build<'d>, seen: &Standing, isolation: &Isolation) -> Vec<Found<'d>> {
    let mut metals =
        isolation.domains().filter(|(_, domain)| domain.form == Form::Metal && !domain.is_inside);
    let (Some((metal, _)), None) = (metals.next(), metals.next()) else { return Vec::new() };
    let mut found = Vec::new();
    for (s, stage) in build.plan.stages.iter().enumerate() {
        let packages = &build.plan.packages[stage.packages.clone()];
        if !packages.iter().flat_map(|package| &package.faces).any(|face| face.place.is_some()) {
            continue;
        }
        let own = build.tables.part_of(stage.part);
        let domains =
            (0..stage.positions.len()).filter_map(|position| seen.of_position(build, (s, position)));
        let pairs = domains.filter(|domain| *domain != metal).map(|domain| ordered(domain, metal));
        let seats = stage.seats.iter().map(|seat| format!("{}.{}", own.path, seat.key));
        found.push(Found {
            part: stage.part,
            kind: Joins::Cooled,
            said: format!("stages.{}", own.path),
            names: core::iter::once(own.path.clone()).chain(seats).collect(),
            pairs: pairs.collect(),
            crosses: None,
            immunity: None,
            coupling: None,
            jumping: Vec::new(),
            isolated_cases: isolated_cases(build, stage),
            near: own.at,
        });
    }
    found
}

/// Whether all devices of a stage isolate their cases from their chips, where each says so.
fn isolated_cases(build: &Build<'_>, stage: &crate::plan::Stage) -> Option<bool> {
    let mut all = true;
    for seat in &stage.seats {
        let device = build.description.devices.entry(seat.fitted.as_ref()?)?;
        all &= device.package.as_ref()?.isolated.as_ref()?.value;
    }
    Some(all)
}
