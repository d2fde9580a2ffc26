//! Names that must lead somewhere, and names that must differ.
//!
//! A name that leads to a void entry is no problem of its own: the entry's are reported already.

mod adrift;
mod broken;
mod circles;
mod circuit;
mod cooling;
mod differ;
mod gates;
mod joined;
mod known;
mod operation;
mod parallel;
mod stood;

use std::collections::HashSet;

use indexmap::IndexMap;
use loadworthy_source::{Entry, Located, NodeId, Problem, Tree, clearly_meant, escape_text, nearest};

use crate::document::{Description, Section, SectionEntry};
use crate::ledger::{Key, Ledger};
use crate::quantity::shown;
use crate::reader::Unsure;
use known::{Names, Rails, Written};

/// How many names a slip is compared with.
pub(crate) const MOST_COMPARED: usize = 2000;
/// Names that lead nowhere of which more is asked than that they do.
const MOST_JUDGED: usize = 200;
/// How many names a message lists.
const MOST_LISTED: usize = 8;
/// What others only point at. One that a name leads to and that is not there counts as one that could not be read, so that
/// whoever names it is judged for all that does not hang on it.
const POINTED_AT: [&str; 6] =
    ["controller", "machine", "magnetic component", "conductor", "device", "capacitor type"];

/// Notes every name that leads nowhere or stands twice, and voids the entry it stands in. Where parts files could not be read,
/// what is named may stand in them, and its name is no problem of its own; nor is it where an entry of its section stands twice.
pub(crate) fn check(tree: &Tree, description: &mut Description, ledger: &mut Ledger, unsure: &Unsure) {
    differ::check(tree, description, ledger);
    let found = {
        let rails = Rails::of(tree, description);
        let domains = description.isolation.at().map(|at| Written::under(tree, at, "domains"));
        let barriers = description.isolation.at().map(|at| Written::under(tree, at, "barriers"));
        let (rails, domains, barriers) = (&rails, domains.as_ref(), barriers.as_ref());
        let mut look = Look {
            tree,
            ledger,
            description,
            rails,
            domains,
            barriers,
            unfound: IndexMap::new(),
            lacks_a_bus: false,
            lacks_parts: unsure.lacks_parts,
            doubled: match unsure.doubled.as_slice() {
                [] => HashSet::new(),
                keys => description.names_of(|key| keys.contains(&tree.span(key))),
            },
            strays: description.unread_names(),
        };
        look.void_entries();
        let broken = look.all();
        (broken, look.unfound)
    };
    let (broken, unfound) = found;
    broken.make_void(description);
    let adrift = adrift::adrift(&description.duty);
    description.duty.make_void(&adrift);
    for ((what, name), at) in unfound {
        note_unfound(description, what, &name);
        match what {
            "controller" => description.controllers.add_void(&name, at),
            "machine" => description.machines.add_void(&name, at),
            "magnetic component" => description.magnetics.add_void(&name, at),
            "conductor" => description.conductors.add_void(&name, at),
            "device" => description.devices.add_void(&name, at),
            "capacitor type" => description.capacitor_types.add_void(&name, at),
            _ => {}
        }
    }
}

/// Notes a name that leads nowhere with every section that it may have been meant for, in the words of its problem.
fn note_unfound(all: &mut Description, what: &str, name: &str) {
    let sections: [(&str, &mut Vec<String>); 13] = [
        ("source", &mut all.sources.unfound),
        ("bus", &mut all.buses.unfound),
        ("branch", &mut all.branches.unfound),
        ("stage", &mut all.stages.unfound),
        ("machine", &mut all.machines.unfound),
        ("load", &mut all.loads.unfound),
        ("device", &mut all.devices.unfound),
        ("conductor", &mut all.conductors.unfound),
        ("capacitor type", &mut all.capacitor_types.unfound),
        ("magnetic component", &mut all.magnetics.unfound),
        ("gate supply", &mut all.gate_supplies.unfound),
        ("controller", &mut all.controllers.unfound),
        ("duty point", &mut all.duty.unfound),
    ];
    for (word, names) in sections {
        // Enough to tell that it is not whole.
        if what.contains(word) && names.len() < MOST_JUDGED && !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
}

/// The places of the entries, section by section, that do not pass.
#[derive(Default)]
struct Broken {
    sources: Vec<usize>,
    buses: Vec<usize>,
    branches: Vec<usize>,
    stages: Vec<usize>,
    machines: Vec<usize>,
    loads: Vec<usize>,
    conductors: Vec<usize>,
    capacitors: Vec<usize>,
    gate_supplies: Vec<usize>,
    drivers: Vec<usize>,
    controllers: Vec<usize>,
    sensors: Vec<usize>,
    signals: Vec<usize>,
    duty: Vec<usize>,
    missions: Vec<usize>,
    isolation: bool,
    cooling: bool,
}

impl Broken {
    fn make_void(&self, description: &mut Description) {
        description.sources.make_void(&self.sources);
        description.buses.make_void(&self.buses);
        description.branches.make_void(&self.branches);
        description.stages.make_void(&self.stages);
        description.machines.make_void(&self.machines);
        description.loads.make_void(&self.loads);
        description.conductors.make_void(&self.conductors);
        description.capacitors.make_void(&self.capacitors);
        description.gate_supplies.make_void(&self.gate_supplies);
        description.drivers.make_void(&self.drivers);
        description.controllers.make_void(&self.controllers);
        description.sensors.make_void(&self.sensors);
        description.signals.make_void(&self.signals);
        description.duty.make_void(&self.duty);
        description.missions.make_void(&self.missions);
        if self.isolation {
            description.isolation.make_void();
        }
        if self.cooling {
            description.cooling.make_void();
        }
    }
}

/// Where names are looked up, and where what leads nowhere is noted.
struct Look<'t, 'd> {
    tree: &'t Tree,
    ledger: &'t mut Ledger,
    description: &'d Description,
    rails: &'d Rails<'d>,
    /// The isolation domains, where the description states any isolation.
    domains: Option<&'d Written<'d>>,
    /// The barriers between them.
    barriers: Option<&'d Written<'d>>,
    /// What is named and is not there: what it would be, its name, and where it is named.
    unfound: IndexMap<(&'static str, String), NodeId>,
    /// Whether a bus is named that is not there, and no other is called nearly so.
    lacks_a_bus: bool,
    /// Whether a parts file could not be read.
    lacks_parts: bool,
    /// Entries that stand twice, each with another one under its name.
    doubled: HashSet<&'d str>,
    /// Entries of any section that could not be read: one of them may stand in the wrong one.
    strays: HashSet<&'d str>,
}

impl Look<'_, '_> {
    fn all(&mut self) -> Broken {
        let all = self.description;
        let mut broken = Broken {
            sources: places(&all.sources, |_, source| self.bus(source.bus())),
            buses: places(&all.buses, |_, bus| {
                let active = bus.discharge.as_ref().and_then(|discharge| discharge.active.as_ref());
                let from = active.and_then(|active| active.from.as_ref());
                self.bus(from) & self.domain(bus.domain.as_ref())
            }),
            branches: places(&all.branches, |_, branch| self.branch(branch)),
            stages: places(&all.stages, |_, stage| self.stage(stage)),
            machines: Vec::new(),
            loads: places(&all.loads, |_, load| self.bus(load.bus.as_ref())),
            conductors: places(&all.conductors, |_, conductor| {
                self.pad(conductor.pad()) & conductor.coil().is_none_or(|coil| self.coil(coil))
            }),
            capacitors: places(&all.capacitors, |_, capacitor| self.capacitor(capacitor)),
            gate_supplies: places(&all.gate_supplies, |_, supply| self.gate_supply(supply)),
            controllers: places(&all.controllers, |_, controller| {
                let domain = self.domain(controller.domain.as_ref());
                let also = self.bus(controller.also_from.as_ref());
                self.bus(controller.from.as_ref()) && also && domain
            }),
            drivers: places(&all.drivers, |_, driver| self.driver(driver)),
            sensors: places(&all.sensors, |_, sensor| self.sensor(sensor)),
            signals: places(&all.signals, |_, signal| self.signal(signal)),
            duty: places(&all.duty, |entry, point| self.duty_point(entry.value, point)),
            missions: places(&all.missions, |_, mission| self.mission(mission)),
            isolation: all.isolation.at().is_some_and(|at| !self.isolation(at)),
            cooling: all.cooling.at().is_some_and(|at| !self.cooling(at)),
        };
        broken.duty.extend(self.duty_circles());
        broken.stages.extend(self.carrier_circles());
        broken.gate_supplies.extend(self.bootstrap_circles());
        broken.branches.extend(self.shared_conductors());
        broken.branches.extend(self.parallel_branches());
        let contradicted = self.contradicted();
        broken.branches.extend(contradicted.branches);
        broken.stages.extend(contradicted.stages);
        broken.machines.extend(contradicted.machines);
        broken
    }

    /// Whether a name leads into one of the sections, as far as they are known.
    fn leads(&mut self, name: &Located<String>, what: &'static str, sections: &[&dyn Names]) -> bool {
        self.leads_from(name.at, &name.value, what, sections)
    }

    /// The same of a name that need not be stated.
    fn leads_if(
        &mut self,
        name: Option<&Located<String>>,
        what: &'static str,
        sections: &[&dyn Names],
    ) -> bool {
        name.is_none_or(|name| self.leads(name, what, sections))
    }

    fn leads_from(&mut self, at: NodeId, name: &str, what: &'static str, sections: &[&dyn Names]) -> bool {
        if sections.iter().any(|section| section.has(name) || section.is_void()) {
            return true;
        }
        // The rail of a bus that is gone is gone with it.
        if what == "negative rail" && self.lacks_a_bus {
            return true;
        }
        let node = at;
        let at = self.tree.span(at);
        let is_bare = sections.iter().all(|section| section.has_none());
        let is_doubled = self.doubled.iter().any(|one| sections.iter().any(|section| section.has(one)));
        if self.lacks_parts || is_doubled || self.strays.contains(name) {
            self.note_unfound(what, name, node);
            return self.stands_for_one(what, name);
        }
        // Where nothing of its kind is described, that is one problem, however many names lead there.
        let key = if is_bare { Key::Kind(what, name) } else { Key::Name(name) };
        let rails = self.rails;
        self.ledger.note_name(key, sections.len(), at, || {
            let article = if what.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
            let problem = Problem::new(
                "unknown-name",
                at,
                format!("no {what} is named {}", shown(name)),
                format!("expected the name of {article} {what}"),
            );
            let known = sections.iter().flat_map(|section| section.all()).collect::<Vec<_>>();
            match nearest(name, known.iter().copied().take(MOST_COMPARED)) {
                Some(near) => {
                    let clear = clearly_meant(name, known.iter().copied().take(MOST_COMPARED));
                    // A rail is there because a bus names it: the slip may lie there, and two of one unit are called alike.
                    let clear = clear.filter(|clear| !rails.has(clear));
                    problem.with_way_out(format!("write `{near}`")).with_meant(clear)
                }
                None if what == "negative rail" => {
                    problem.with_way_out(format!("state `negative_rail: {}` of a bus", escape_text(name)))
                }
                None if known.is_empty() => {
                    problem.with_way_out(format!("describe {article} {what} of that name"))
                }
                None if known.len() <= MOST_LISTED => {
                    problem.with_way_out(format!("known: `{}`", known.join("`, `")))
                }
                None => problem,
            }
        });
        self.note_unfound(what, name, node);
        self.stands_for_one(what, name)
    }

    /// Whether a name that leads nowhere stands for an entry that could not be read.
    fn stands_for_one(&self, what: &str, name: &str) -> bool {
        let is_unfound = |kind: &'static str| self.unfound.contains_key(&(kind, name.to_owned()));
        POINTED_AT.iter().any(|kind| what.contains(kind) && is_unfound(kind))
    }

    /// Notes what is named and is not there, once.
    fn note_unfound(&mut self, what: &'static str, name: &str, at: NodeId) {
        if self.unfound.contains_key(&(what, name.to_owned())) {
            return;
        }
        self.unfound.insert((what, name.to_owned()), at);
        // A slip is called nearly like a bus; one that is like none is gone, as far as the first few tell.
        if what == "bus" && !self.lacks_a_bus && self.unfound.len() <= MOST_JUDGED {
            let known = self.description.buses.keys().map(String::as_str).take(MOST_COMPARED);
            self.lacks_a_bus = nearest(name, known).is_none();
        }
    }

    fn bus(&mut self, name: Option<&Located<String>>) -> bool {
        self.leads_if(name, "bus", &[&self.description.buses])
    }

    /// A domain is a word of its own until the description states its isolation.
    fn domain(&mut self, name: Option<&Located<String>>) -> bool {
        self.domains.is_none_or(|domains| self.leads_if(name, "domain", &[domains]))
    }
}

/// The places of the entries that do not pass.
fn places<T>(section: &Section<T>, mut passes: impl FnMut(&SectionEntry<T>, &T) -> bool) -> Vec<usize> {
    let entries = section.values().enumerate();
    entries
        .filter(|(_, entry)| entry.read().is_some_and(|value| !passes(entry, value)))
        .map(|(place, _)| place)
        .collect()
}

/// The entries of a map under a key of a map.
pub(crate) fn entries<'t>(tree: &'t Tree, node: NodeId, key: &str) -> &'t [Entry] {
    tree.entry(node, key).map_or(&[], |entry| tree.entries(entry.value))
}
