//! What could not be read, and may stand in a domain or join two of them.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_language::{Section, SectionEntry};
use loadworthy_source::NodeId;

use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{Isolation, May, Topology, Unread};
use crate::table::Stated;

/// The domain that a bus names, also where the rest of it could not be read.
pub(in crate::build) fn domain_of<'b>(build: &'b Build<'_>, bus: &str) -> Option<&'b str> {
    let entry = build.description.buses.get(bus)?;
    match entry.read() {
        Some(read) => read.domain.as_ref().map(|domain| domain.value.as_str()),
        None => text(build, entry, "domain"),
    }
}

/// A bus that could not be read, or is not there, and names no domain that is known: it may stand in any.
pub(super) fn bus(build: &mut Build<'_>, places: &BTreeMap<String, usize>) -> Option<InputId> {
    let buses = &build.description.buses;
    let is_known = |name: &str| domain_of(build, name).is_some_and(|domain| places.contains_key(domain));
    let (path, at) = match buses.at.filter(|_| buses.void) {
        Some(at) => ("buses".to_owned(), at),
        None => {
            let unread = buses.unread().find(|(name, _)| !is_known(name));
            let unread = unread.map(|(name, entry)| (name, entry.value));
            // One that is named and not there, too.
            let gone = || Some((buses.unfound.first()?.as_str(), buses.at?));
            let (name, at) = unread.or_else(gone)?;
            (format!("buses.{name}"), at)
        }
    };
    Some(build.tables.input(path, Dimension::Voltage, broken(at)))
}

/// What a key of an entry that could not be read says, as text.
fn text<'b, T>(build: &'b Build<'_>, entry: &SectionEntry<T>, key: &str) -> Option<&'b str> {
    let scalar = build.tree.scalar(build.tree.value_at(entry.value, &[key])?)?;
    (!scalar.is_null()).then_some(scalar.text)
}

/// Every entry that could not be read and may join two domains, bridge what isolates them or make them one.
pub(super) fn entries(build: &mut Build<'_>, at: NodeId) -> Vec<Unread> {
    let all = build.description;
    let mut found: Vec<(String, NodeId, May)> = Vec::new();
    found.extend(of("stages", &all.stages, at, May::Cross));
    found.extend(of("drivers", &all.drivers, at, May::Cross));
    found.extend(of("controllers", &all.controllers, at, May::Cross));
    found.extend(of("sensors", &all.sensors, at, May::Cross));
    found.extend(of("signals", &all.signals, at, May::Cross));
    // A bootstrap stands on the rails of its own stage, and of a bank both poles are of one bus.
    let is_bootstrap = |name: &str| {
        all.gate_supplies.get(name).is_some_and(|one| text(build, one, "bootstrap_from").is_some())
    };
    let has_coil = |entry: &SectionEntry<_>| build.tree.value_at(entry.value, &["coil"]).is_some();
    let held = all.conductors.unread().filter(|(_, entry)| has_coil(entry));
    found.extend(held.map(|(name, entry)| (format!("conductors.{name}"), entry.value, May::Cross)));
    let is_bank = |name: &str| {
        all.capacitors
            .get(name)
            .is_some_and(|one| text(build, one, "kind").is_some_and(|kind| kind == "bank"))
    };
    let supplies = all.gate_supplies.unread().filter(|(name, _)| !is_bootstrap(name));
    found.extend(supplies.map(|(name, entry)| (format!("gate_supplies.{name}"), entry.value, May::Cross)));
    found.extend(whole(
        "gate_supplies",
        all.gate_supplies.void,
        all.gate_supplies.at.unwrap_or(at),
        May::Cross,
    ));
    let capacitors = all.capacitors.unread().filter(|(name, _)| !is_bank(name));
    found.extend(capacitors.map(|(name, entry)| (format!("capacitors.{name}"), entry.value, May::Bridge)));
    found.extend(whole("capacitors", all.capacitors.void, all.capacitors.at.unwrap_or(at), May::Bridge));
    let branches = all.branches.unread().filter(|(_, entry)| may_merge(build, entry));
    found.extend(branches.map(|(name, entry)| (format!("branches.{name}"), entry.value, May::Merge)));
    found.extend(whole("branches", all.branches.void, all.branches.at.unwrap_or(at), May::Merge));
    let unread = |(path, at, may): (String, NodeId, May)| {
        let part = build.tables.part(path.clone(), at, None);
        Unread { part, input: build.tables.input(path, Dimension::Ratio, broken(at)), may }
    };
    found.into_iter().map(unread).collect()
}

/// The entries of a section that could not be read, or the section itself.
fn of<T>(name: &str, section: &Section<T>, at: NodeId, may: May) -> Vec<(String, NodeId, May)> {
    let entries = section.unread().map(|(own, entry)| (format!("{name}.{own}"), entry.value, may));
    entries.chain(whole(name, section.void, section.at.unwrap_or(at), may)).collect()
}

fn whole(name: &str, is_void: bool, at: NodeId, may: May) -> Option<(String, NodeId, May)> {
    is_void.then(|| (name.to_owned(), at, may))
}

/// Whether a branch that could not be read may lead from one bus or rail to another: neither of its ends is anything
/// else that is known.
fn may_merge<T>(build: &Build<'_>, entry: &SectionEntry<T>) -> bool {
    let all = build.description;
    let may_be_a_bus = |key: &str| {
        text(build, entry, key).is_none_or(|end| {
            !(all.sources.contains_key(end) || all.stages.contains_key(end) || all.loads.contains_key(end))
        })
    };
    text(build, entry, "around").is_none() && may_be_a_bus("from") && may_be_a_bus("to")
}

/// Stages that do not say on which buses they stand, or which transformer stands between them: what they join is not known.
pub(super) fn unsaid_of_stages(build: &mut Build<'_>, isolation: &mut Isolation) {
    let absent = |input: InputId, build: &Build<'_>| {
        let stated = &build.tables.inputs()[input.index()].values;
        stated.iter().any(|stated| matches!(stated.origin, Origin::Absent { .. }))
    };
    for stage in 0..build.plan.stages.len() {
        let of = &build.plan.stages[stage];
        let (part, named) = (of.part, of.ports.iter().map(|port| port.named));
        let mut open: Vec<InputId> = named.filter(|&input| absent(input, build)).collect();
        let own = build.tables.part_of(part);
        let (name, at) = (own.path.clone(), own.at);
        if matches!(of.topology, Topology::Isolated(_)) && transformer(build, &name).is_none() {
            let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
            let path = format!("stages.{name}.transformer");
            open.push(build.tables.input(path, Dimension::Ratio, stated));
        }
        isolation.is_whole &= open.is_empty();
        isolation.unread.extend(open.into_iter().map(|input| Unread { part, input, may: May::Cross }));
    }
}

/// The transformer that a stage names.
pub(super) fn transformer<'d>(build: &Build<'d>, stage: &str) -> Option<&'d str> {
    let written = build.description.stages.entry(stage)?;
    let (_, name) = written.magnetics().into_iter().find(|(key, _)| *key == "transformer")?;
    name.map(|name| name.value.as_str())
}
