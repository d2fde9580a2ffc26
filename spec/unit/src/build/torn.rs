//! What cannot be read may be what joins two parts of the unit, or what draws from one.

use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::build::{Build, broken};

/// Whether an entry that could not be read may be the one that joins what seems apart.
pub(crate) fn is_torn(build: &Build<'_>) -> bool {
    let description = build.description;
    !description.sources.is_whole() || !description.stages.is_whole() || !description.branches.is_whole()
}

/// What could not be read and leads to a bus: a source that stands on it, or a branch, with its path and place. One that
/// names no bus that is known may lead to any. A branch around a conductor carries nothing in service.
pub(crate) fn leads_to(build: &Build<'_>, bus: &str) -> Option<(String, NodeId)> {
    let description = build.description;
    let text = |entry: NodeId, key: &str| {
        let scalar = build.tree.value_at(entry, &[key]).and_then(|at| build.tree.scalar(at));
        scalar.map_or("", |scalar| scalar.text)
    };
    let may_be =
        |ends: &[&str]| ends.contains(&bus) || !ends.iter().any(|end| description.buses.contains_key(*end));
    let branch = description.branches.unread().find(|(_, entry)| {
        text(entry.value, "around").is_empty()
            && may_be(&[text(entry.value, "from"), text(entry.value, "to")])
    });
    let source = description.sources.unread().find(|(name, entry)| {
        let name = *name;
        let led = description.branches.readable().flat_map(|(_, _, branch)| {
            let ends =
                [&branch.from, &branch.to].map(|end| end.as_ref().map_or("", |end| end.value.as_str()));
            if ends.contains(&name) { ends } else { [""; 2] }
        });
        may_be(&led.chain([text(entry.value, "bus")]).collect::<Vec<_>>())
    });
    let branch = branch.map(|(name, entry)| (format!("branches.{name}"), entry.value));
    branch.or_else(|| source.map(|(name, entry)| (format!("sources.{name}"), entry.value)))
}

/// A stage or load that could not be read draws from one of the buses; which, and how much, nobody knows. Nor what comes
/// to a bus from a source, or through a branch, that could not be read.
pub(crate) fn draws(build: &mut Build<'_>) {
    let description = build.description;
    let stages = description.stages.unread().map(|(name, entry)| (format!("stages.{name}"), entry.value));
    let loads = description.loads.unread().map(|(name, entry)| (format!("loads.{name}"), entry.value));
    for (path, at) in stages.chain(loads) {
        let unknown = build.tables.input(path, Dimension::Power, broken(at));
        for bus in &mut build.plan.buses {
            bus.drawn.push(unknown.into());
        }
    }
    for name in description.buses.keys() {
        let Some(&place) = build.bus_places.get(name) else { continue };
        if let Some((path, at)) = leads_to(build, name) {
            let unknown = build.tables.input(path, Dimension::Power, broken(at));
            build.plan.buses[place].drawn.push(unknown.into());
        }
    }
}
