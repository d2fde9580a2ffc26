//! What cannot be read may be what joins two parts of the unit, or what draws from one.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::build::{Build, broken};

/// Whether an entry that could not be read may be the one that joins what seems apart.
pub(crate) fn is_torn(build: &Build<'_>) -> bool {
    let description = build.description;
    !description.sources.is_whole() || !description.stages.is_whole() || !description.branches.is_whole()
}

/// What could not be read and leads to buses: sources that stand on them, and branches.
pub(crate) struct Leads<'d> {
    /// The first of each bus, with its place.
    to: BTreeMap<&'d str, Lead<'d>>,
    /// The first that names no bus that is known, and may lead to any.
    anywhere: Option<Lead<'d>>,
}

/// Section, name and place.
#[derive(Clone, Copy)]
struct Lead<'d> {
    section: &'static str,
    name: &'d str,
    at: NodeId,
}

impl<'d> Leads<'d> {
    /// All of a description. A branch around a conductor carries nothing in service.
    pub(crate) fn of(build: &Build<'d>) -> Self {
        let (description, tree) = (build.description, build.tree);
        let mut leads = Self { to: BTreeMap::new(), anywhere: None };
        let text = |entry: NodeId, key: &str| {
            let scalar = tree.value_at(entry, &[key]).and_then(|at| tree.scalar(at));
            scalar.map_or("", |scalar| scalar.text)
        };
        for (name, entry) in description.branches.unread() {
            if text(entry.value, "around").is_empty() {
                let ends = [text(entry.value, "from"), text(entry.value, "to")];
                // One without ends leads nowhere.
                if ends == [""; 2] {
                    continue;
                }
                leads.add(build, Lead { section: "branches", name, at: entry.value }, &ends);
            }
        }
        let mut led: BTreeMap<&str, Vec<&'d str>> = BTreeMap::new();
        for (_, _, branch) in description.branches.readable() {
            if let (Some(from), Some(to)) = (&branch.from, &branch.to) {
                led.entry(&from.value).or_default().push(&to.value);
                led.entry(&to.value).or_default().push(&from.value);
            }
        }
        // Another branch that could not be read may lead from a source that none leads from.
        let lost = description.branches.unread().next().filter(|_| {
            let mut sources = description.sources.readable();
            sources.any(|(name, _, source)| source.bus().is_none() && !led.contains_key(name))
        });
        if let Some((name, entry)) = lost {
            leads.add(build, Lead { section: "branches", name, at: entry.value }, &[]);
        }
        for (name, entry) in description.sources.unread() {
            let mut ends = led.remove(name).unwrap_or_default();
            ends.push(text(entry.value, "bus"));
            leads.add(build, Lead { section: "sources", name, at: entry.value }, &ends);
        }
        leads
    }

    fn add(&mut self, build: &Build<'d>, lead: Lead<'d>, ends: &[&str]) {
        let known = ends.iter().filter_map(|end| build.description.buses.get_key_value(*end));
        let known: Vec<&'d str> = known.map(|(bus, _)| bus.as_str()).collect();
        if known.is_empty() {
            self.anywhere.get_or_insert(lead);
        }
        for bus in known {
            self.to.entry(bus).or_insert(lead);
        }
    }

    fn lead(&self, bus: &str) -> Option<Lead<'d>> {
        self.to.get(bus).copied().or(self.anywhere)
    }

    /// Where what leads to a bus stands.
    pub(crate) fn at(&self, bus: &str) -> Option<NodeId> {
        self.lead(bus).map(|lead| lead.at)
    }
}

/// A stage or load that could not be read draws from one of the buses; which, and how much, nobody knows. Nor what comes
/// to a bus from a source, or through a branch, that could not be read.
pub(crate) fn draws(build: &mut Build<'_>) {
    let description = build.description;
    let stages = description.stages.unread().map(|(name, entry)| (format!("stages.{name}"), entry.value));
    let loads = description.loads.unread().map(|(name, entry)| (format!("loads.{name}"), entry.value));
    // One that is named and not there, too.
    let is_read = description.stages.unread().next().is_none();
    let gone = description.stages.unfound.iter().zip(description.stages.at.filter(|_| is_read));
    let gone = gone.map(|(name, at)| (format!("stages.{name}"), at));
    let whole = [
        ("stages", description.stages.void, description.stages.at),
        ("loads", description.loads.void, description.loads.at),
        ("sources", description.sources.void, description.sources.at),
        ("branches", description.branches.void, description.branches.at),
    ];
    let whole =
        whole.into_iter().filter_map(|(path, void, at)| Some((path.to_owned(), at.filter(|_| void)?)));
    for (path, at) in stages.chain(loads).chain(gone).chain(whole) {
        let unknown = build.tables.input(path, Dimension::Power, broken(at));
        for bus in &mut build.plan.buses {
            bus.drawn.push(unknown.into());
        }
    }
    let leads = Leads::of(build);
    for name in description.buses.keys() {
        let Some(&place) = build.places.buses.get(name) else { continue };
        if let Some(Lead { section, name, at }) = leads.lead(name) {
            let unknown = build.tables.input(format!("{section}.{name}"), Dimension::Power, broken(at));
            build.plan.buses[place].drawn.push(unknown.into());
        }
    }
}
