//! What joins the circuits of gates and the side of their controllers: drivers and supplies.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::sections::drivers::Driver;
use loadworthy_source::{Located, NodeId};

use super::Standing;
use super::crossings::{Found, of_controller, ordered};
use super::jumping::{Potentials, among};
use super::stands::Stands;
use crate::build::{Build, gates};
use crate::ids::PartId;
use crate::plan::{GateNode, Isolation, Joins};

/// Every driver, between the gates that it drives and the controller that commands it.
pub(super) fn drivers<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let gates = gates::gates(build);
    let named = |driver: &Driver| -> Vec<(usize, usize)> {
        let drives = driver.drives.iter().flat_map(|drives| &drives.value);
        drives.filter_map(|name| gates.get(name.value.as_str())).flatten().copied().collect()
    };
    let mut drivers_of: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for (.., driver) in build.description.drivers.readable() {
        for gate in BTreeSet::from_iter(named(driver)) {
            *drivers_of.entry(gate).or_default() += 1;
        }
    }
    let mut found = Vec::new();
    for (name, entry, driver) in build.description.drivers.readable() {
        let mut positions = named(driver);
        // Of two that drive the same gates one may be meant for others; which barrier either passes is known once that is mended,
        let drives_any = !positions.is_empty();
        positions.retain(|gate| drivers_of[gate] < 2);
        if drives_any && positions.is_empty() {
            continue;
        }
        // and so it is of one that was exchanged.
        if build.plan.exchanged_drivers.iter().any(|one| one.names.iter().any(|known| known == name)) {
            continue;
        }
        let part = build.tables.part(name.to_owned(), entry.key, None);
        if driver.drives.is_none() {
            isolation.unsaid.push((part, "drives"));
        }
        let mut pairs = Vec::new();
        let (mut is_unsaid, mut stays) = (false, false);
        for &(stage, position) in &positions {
            let Some(gate) = seen.of_position(build, (stage, position)) else { continue };
            let own = driver.controller.as_ref().map(|controller| controller.value.clone());
            let stage = build.tables.part_of(build.plan.stages[stage].part).path.clone();
            let controller = own.or_else(|| controller_of(build, &stage));
            is_unsaid |= controller.is_none();
            let Some(controller) = controller else { continue };
            let Some(reader) = of_controller(build, seen, &controller, isolation) else { continue };
            stays |= gate == reader;
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
            immunity: Some(Stands::of_driver(driver)),
            coupling: Some(driver.coupling.as_ref()),
            asks_barrier: false,
            jumping: among(build, potentials, &positions),
            is_beside: false,
            stays: stays && !is_unsaid,
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
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

/// The bus that most outputs of each gate transformer take their power from, the first of equals.
fn primaries<'d>(build: &Build<'d>) -> BTreeMap<&'d str, &'d Located<String>> {
    let mut said: BTreeMap<&str, Vec<&Located<String>>> = BTreeMap::new();
    for (.., supply) in build.description.gate_supplies.readable() {
        if let (Some(transformer), Some(from)) = (&supply.transformer, &supply.from) {
            said.entry(transformer.value.as_str()).or_default().push(from);
        }
    }
    let most = |all: Vec<&'d Located<String>>| {
        let alike = |one: &&Located<String>| all.iter().filter(|other| other.value == one.value).count();
        all.iter().copied().reduce(|most, one| if alike(&most) < alike(&one) { one } else { most })
    };
    said.into_iter().filter_map(|(name, all)| Some((name, most(all)?))).collect()
}

/// An output that is a winding of a transformer, and the domains of its gates.
struct Wound<'d> {
    on: &'d str,
    name: &'d str,
    gates: Vec<usize>,
}

/// What an output and those before it on the same core lie between: nothing but the insulation of their windings keeps the
/// circuits of their gates apart.
fn windings<'d>(
    before: &[Wound<'_>],
    (part, name, on, gates): (PartId, &str, &str, &[usize]),
    near: NodeId,
) -> Option<Found<'d>> {
    let (mut names, mut pairs) = (vec![name.to_owned(), on.to_owned()], Vec::new());
    for other in before.iter().filter(|other| other.on == on) {
        for &end in gates {
            for &far in other.gates.iter().filter(|&&far| far != end) {
                if !pairs.contains(&ordered(end, far)) {
                    pairs.push(ordered(end, far));
                    names.push(other.name.to_owned());
                }
            }
        }
    }
    let said = format!("gate_supplies.{name}");
    (!pairs.is_empty()).then(|| Found::new(part, Joins::Core, said, names, pairs, near))
}

/// Every output that feeds gates, between the bus that it takes its power from and the gates.
pub(super) fn supplies<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    let mut wound: Vec<Wound<'_>> = Vec::new();
    let primaries = primaries(build);
    let asks_barrier = build.description.gate_supplies.readable().all(|(.., one)| one.coupling.is_none());
    for (place, (name, entry)) in build.description.gate_supplies.iter().enumerate() {
        let Some(written) = entry.read() else { continue };
        // A bootstrap stands on the rails of its own stage.
        if written.bootstrap_from.is_some() {
            continue;
        }
        let supply = &build.plan.gate_supplies[place];
        // What it is tied to another rail than is a finding of its own, and what it would pass is not known before that is mended.
        let is_off =
            |&(stage, position): &(usize, usize)| match &build.plan.stages[stage].positions[position].gate {
                Some(GateNode::Rail(own)) => supply.rail.as_ref().is_some_and(|rail| rail != own),
                Some(GateNode::Floating { .. }) => supply.rail.is_some(),
                Some(GateNode::Unsaid(_)) | None => false,
            };
        let part = supply.part;
        let positions: Vec<(usize, usize)> = supply.alone().filter(|gate| !is_off(gate)).collect();
        if written.from.is_none() {
            isolation.unsaid.push((part, "from"));
        }
        let fed = |bus: Option<&loadworthy_source::Located<String>>| {
            bus.and_then(|bus| build.places.buses.get(&bus.value)).and_then(|&bus| seen.of_bus[bus])
        };
        // One primary is driven from one bus: that an output of it says another is told of the transformer.
        let primary = written.transformer.as_ref().and_then(|one| primaries.get(one.value.as_str()).copied());
        let feeds = [fed(primary.or(written.from.as_ref())), fed(written.also_from.as_ref())];
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        let mut gates: Vec<usize> =
            positions.iter().filter_map(|&position| seen.of_position(build, position)).collect();
        gates.sort_unstable();
        gates.dedup();
        // What two buses feed joins them as well.
        for end in gates.iter().copied().chain(feeds[1]) {
            for from in feeds.into_iter().flatten().filter(|from| *from != end) {
                if !pairs.contains(&ordered(from, end)) {
                    pairs.push(ordered(from, end));
                }
            }
        }
        let transformer = written.transformer.as_ref().map(|transformer| transformer.value.clone());
        let names: Vec<String> = [Some(name.clone()), transformer].into_iter().flatten().collect();
        // One output for gates in two circuits joins them as no winding may: that is told of it, and which barriers it lacks is not
        // known before.
        let is_one = gates.len() < 2;
        let lists = |&pair: &(usize, usize)| {
            isolation.barriers.iter().any(|barrier| {
                barrier.between.is_some_and(|(one, other)| ordered(one, other) == pair)
                    && barrier.spanned_by.iter().any(|(listed, ..)| names.contains(listed))
            })
        };
        if !is_one && pairs.iter().any(lists) {
            pairs.retain(lists);
        }
        if let Some(on) = written.transformer.as_ref().filter(|_| is_one) {
            found.extend(windings(&wound, (part, name, on.value.as_str(), &gates), entry.key));
            wound.push(Wound { on: on.value.as_str(), name, gates });
        }
        found.push(Found {
            part,
            stays: false,
            kind: Joins::Supply,
            said: format!("gate_supplies.{name}"),
            names,
            pairs,
            crosses: written.crosses.as_ref(),
            immunity: None,
            coupling: Some(written.coupling.as_ref()),
            asks_barrier,
            jumping: among(build, potentials, &positions),
            is_beside: false,
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}
