//! What could not be read, and may stand in a domain or join two of them.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_language::{Section, SectionEntry};
use loadworthy_source::NodeId;

use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::plan::{May, Unread};

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
