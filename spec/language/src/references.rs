//! Names that must lead somewhere, and names that must differ.
//!
//! A name that leads to a void entry is no problem of its own: the entry's are reported already.

use std::collections::HashMap;

use loadworthy_source::{Entry, Located, NodeId, Problem, Tree, nearest};

use crate::document::{Description, Section};
use crate::ledger::Ledger;
use crate::quantity::shown;
use crate::sections::cooling::Cooling;
use crate::sections::duty::DutyPoint;
use crate::sections::sources::Source;
use crate::sections::stages::Stage;
use crate::walk::check_name;

/// How many names a slip is compared with.
pub(crate) const MOST_COMPARED: usize = 2000;

/// Names that the program uses itself in the paths of figures.
const RESERVED: &[&str] = &["cooling"];

/// Notes every name that leads nowhere or stands twice, and voids the entry it stands in.
pub(crate) fn check(tree: &Tree, description: &mut Description, ledger: &mut Ledger) {
    differ(tree, description, ledger);
    let mut look = Look { tree, ledger };
    look.void_entries(description);
    let sources = broken(&description.sources, |source| look.source(source, description));
    let stages = broken(&description.stages, |stage| look.stage(stage, description));
    let loads = broken(&description.loads, |load| {
        load.bus.as_ref().is_none_or(|bus| look.leads(bus, "bus", &[&description.buses]))
    });
    let mut duty = Vec::new();
    for (place, entry) in description.duty.values().enumerate() {
        if let Some(point) = entry.read()
            && !look.duty_point(entry.value, point, description)
        {
            duty.push(place);
        }
    }
    duty.extend(look.circles(description));
    let cooling = match (description.cooling.read(), description.cooling.at()) {
        (Some(cooling), Some(at)) => look.cooling(at, cooling, description),
        _ => true,
    };
    description.sources.make_void(&sources);
    description.stages.make_void(&stages);
    description.loads.make_void(&loads);
    description.duty.make_void(&duty);
    if !cooling {
        description.cooling.make_void();
    }
}

/// The places of the entries that do not pass.
fn broken<T>(section: &Section<T>, mut passes: impl FnMut(&T) -> bool) -> Vec<usize> {
    let entries = section.values().enumerate();
    entries
        .filter(|(_, entry)| entry.read().is_some_and(|value| !passes(value)))
        .map(|(place, _)| place)
        .collect()
}

/// A set of names that something may refer to.
trait Names {
    fn has(&self, name: &str) -> bool;
    fn all(&self) -> Vec<&str>;
    /// Broken as a whole, so that nothing can be said about its names.
    fn is_void(&self) -> bool;
}

impl<T> Names for Section<T> {
    fn has(&self, name: &str) -> bool {
        self.contains_key(name)
    }

    fn all(&self) -> Vec<&str> {
        self.keys().map(String::as_str).collect()
    }

    fn is_void(&self) -> bool {
        self.void
    }
}

/// Names of sources, buses, stages, machines and loads stand side by side in the paths of figures.
fn differ(tree: &Tree, description: &mut Description, ledger: &mut Ledger) {
    let mut taken: HashMap<String, (NodeId, &'static str)> = HashMap::new();
    let mut claim = |section: &'static str, names: Vec<(String, NodeId)>| {
        let mut void = Vec::new();
        for (place, (name, key)) in names.into_iter().enumerate() {
            let at = tree.span(key);
            if RESERVED.contains(&name.as_str()) {
                ledger.note("name-twice", at, "", || {
                    let message =
                        format!("`{name}` is the name of a section and cannot name an entry of `{section}`");
                    Problem::new("name-twice", at, message, "a reserved name")
                        .with_way_out("choose another name")
                });
                void.push(place);
            } else if let Some((other, first)) = taken.get(&name) {
                ledger.note("name-twice", at, "", || {
                    let message = format!(
                        "{} names an entry of `{first}` and one of `{section}`; their names must differ",
                        shown(&name)
                    );
                    Problem::new("name-twice", at, message, "named again here")
                        .with_also(tree.span(*other), "named here first")
                        .with_way_out("choose another name")
                });
                void.push(place);
            } else {
                taken.insert(name, (key, section));
            }
        }
        void
    };
    macro_rules! claim {
        ($($field:ident)*) => {$(
            let names = description.$field.iter().map(|(name, entry)| (name.clone(), entry.key)).collect();
            let void = claim(stringify!($field), names);
            description.$field.make_void(&void);
        )*};
    }
    claim!(sources buses stages machines loads);
}

struct Look<'t> {
    tree: &'t Tree,
    ledger: &'t mut Ledger,
}

impl Look<'_> {
    /// Whether a name leads into one of the sections, as far as they are known.
    fn leads(&mut self, name: &Located<String>, what: &str, sections: &[&dyn Names]) -> bool {
        self.leads_from(name.at, &name.value, what, sections)
    }

    fn leads_from(&mut self, at: NodeId, name: &str, what: &str, sections: &[&dyn Names]) -> bool {
        if sections.iter().any(|section| section.has(name) || section.is_void()) {
            return true;
        }
        let at = self.tree.span(at);
        self.ledger.note("unknown-name", at, "", || {
            let problem = Problem::new(
                "unknown-name",
                at,
                format!("no {what} is named {}", shown(name)),
                format!("expected the name of a {what}"),
            );
            let known = sections.iter().flat_map(|section| section.all()).collect::<Vec<_>>();
            match nearest(name, known.iter().copied().take(MOST_COMPARED)) {
                Some(near) => problem.with_way_out(format!("write `{near}`")),
                None if known.is_empty() => problem.with_way_out(format!("describe a {what} of that name")),
                None if known.len() <= 8 => problem.with_way_out(format!("known: `{}`", known.join("`, `"))),
                None => problem,
            }
        });
        false
    }

    /// Names in entries that are void for another reason, read from the tree: all slips of a file are said in one run.
    fn void_entries(&mut self, description: &Description) {
        fn void<T>(section: &Section<T>) -> impl Iterator<Item = NodeId> {
            section.values().filter(|entry| entry.read().is_none()).map(|entry| entry.value)
        }
        let buses: &[&dyn Names] = &[&description.buses];
        for entry in void(&description.sources).chain(void(&description.loads)) {
            self.written(entry, &["bus"], "bus", buses);
        }
        for entry in void(&description.stages) {
            self.written(entry, &["dc_bus"], "bus", buses);
            self.written(entry, &["feeds"], "machine", &[&description.machines]);
            for side in ["high_side", "low_side"] {
                self.written(entry, &["switches", side, "fitted"], "device", &[&description.devices]);
            }
        }
        for entry in void(&description.duty) {
            self.keys_of(entry, "sources", "source", &[&description.sources]);
            self.keys_of(entry, "buses", "bus", buses);
            self.keys_of(entry, "loads", "machine or load", &[&description.machines, &description.loads]);
        }
    }

    /// A name at a path below a node, if one is written there.
    fn written(&mut self, node: NodeId, path: &[&str], what: &str, sections: &[&dyn Names]) {
        let tree = self.tree;
        let Some(at) = tree.value_at(node, path) else { return };
        if let Some(scalar) = tree.scalar(at).filter(|scalar| !scalar.is_null()) {
            self.leads_from(at, scalar.text, what, sections);
        }
    }

    /// The keys of a map below a node, which are names.
    fn keys_of(&mut self, node: NodeId, key: &str, what: &str, sections: &[&dyn Names]) {
        let tree = self.tree;
        for entry in tree.value_at(node, &[key]).map_or(&[] as &[Entry], |map| tree.entries(map)) {
            // A key that is no name was reported as such and leads nowhere of its own.
            if check_name(tree, entry.key, self.ledger) {
                self.leads_from(entry.key, tree.key_text(entry.key), what, sections);
            }
        }
    }

    fn source(&mut self, source: &Source, description: &Description) -> bool {
        let Source::Battery(battery) = source;
        battery.bus.as_ref().is_none_or(|bus| self.leads(bus, "bus", &[&description.buses]))
    }

    fn stage(&mut self, stage: &Stage, description: &Description) -> bool {
        let Stage::ThreePhaseBridge(bridge) = stage;
        let bus = bridge.dc_bus.as_ref().is_none_or(|bus| self.leads(bus, "bus", &[&description.buses]));
        let feeds = bridge
            .feeds
            .as_ref()
            .is_none_or(|machine| self.leads(machine, "machine", &[&description.machines]));
        let positions = bridge.switches.iter().flat_map(|switches| [&switches.high_side, &switches.low_side]);
        let mut good = bus && feeds;
        for device in positions.flatten().filter_map(|position| position.fitted.as_ref()) {
            good &= self.leads(device, "device", &[&description.devices]);
        }
        good
    }

    fn duty_point(&mut self, node: NodeId, point: &DutyPoint, description: &Description) -> bool {
        let mut good = true;
        let consumers: &[&dyn Names] = &[&description.machines, &description.loads];
        let groups: [(&str, &str, &[&dyn Names]); 3] = [
            ("sources", "source", &[&description.sources]),
            ("buses", "bus", &[&description.buses]),
            ("loads", "machine or load", consumers),
        ];
        for (key, what, sections) in groups {
            for entry in entries(self.tree, node, key) {
                good &= self.leads_from(entry.key, self.tree.key_text(entry.key), what, sections);
            }
        }
        if let Some(parent) = &point.starts_from {
            good &= self.leads(parent, "duty point", &[&description.duty]);
        }
        good
    }

    /// The places of duty points that start, by way of others, from themselves.
    fn circles(&mut self, description: &Description) -> Vec<usize> {
        let duty = &description.duty;
        let parent_of = |place: usize| {
            let (_, entry) = duty.get_index(place)?;
            let parent = entry.read()?.starts_from.as_ref()?;
            Some((duty.get_index_of(&parent.value)?, parent))
        };
        // Each point is followed once: 0 is not seen yet, other numbers are those of the walk that saw it.
        let mut walked = vec![0_usize; duty.len()];
        let mut found = Vec::new();
        for start in 0..duty.len() {
            let mut place = start;
            while walked.get(place) == Some(&0) {
                walked[place] = start + 1;
                match parent_of(place) {
                    Some((parent, _)) => place = parent,
                    None => break,
                }
            }
            // The walk met itself: everything from here round to here is the circle.
            let closed = walked.get(place) == Some(&(start + 1)) && parent_of(place).is_some();
            let mut turn = place;
            while closed && let Some((parent, named)) = parent_of(turn) {
                found.push(turn);
                self.circle(named.at, duty.get_index(turn).map_or("", |(name, _)| name.as_str()));
                turn = parent;
                if turn == place {
                    break;
                }
            }
        }
        found
    }

    fn circle(&mut self, parent: NodeId, own: &str) {
        let at = self.tree.span(parent);
        self.ledger.note("starts-from-itself", at, "", || {
            let message = format!("duty point {} starts from itself", shown(own));
            Problem::new("starts-from-itself", at, message, "leads back to it")
                .with_way_out("let one duty point of the chain start from none")
        });
    }

    fn cooling(&mut self, node: NodeId, cooling: &Cooling, description: &Description) -> bool {
        let mut good = true;
        let known = Elements(cooling);
        let mut visited: HashMap<&str, NodeId> = HashMap::new();
        for place in cooling.path.iter().flat_map(|path| &path.value) {
            good &= self.leads(place, "coolant element", &[&known]);
            if let Some(first) = visited.insert(&place.value, place.at) {
                good = false;
                let at = self.tree.span(place.at);
                self.ledger.note("name-twice", at, "", || {
                    let message = format!("the path visits {} twice", shown(&place.value));
                    Problem::new("name-twice", at, message, "visited again")
                        .with_also(self.tree.span(first), "visited here first")
                        .with_way_out("name each element once; describe a second one for a second visit")
                });
            }
        }
        for element in entries(self.tree, node, "elements") {
            for cooled in entries(self.tree, element.value, "cools") {
                let name = self.tree.key_text(cooled.key);
                good &= self.leads_from(cooled.key, name, "stage", &[&description.stages]);
            }
        }
        good
    }
}

/// The elements of the coolant loop as names.
struct Elements<'c>(&'c Cooling);

impl Names for Elements<'_> {
    fn has(&self, name: &str) -> bool {
        self.0.elements.as_ref().is_some_and(|elements| elements.contains_key(name))
    }

    fn all(&self) -> Vec<&str> {
        self.0.elements.iter().flat_map(|elements| elements.keys()).map(String::as_str).collect()
    }

    fn is_void(&self) -> bool {
        false
    }
}

/// The entries of a map under a key of a map.
pub(crate) fn entries<'t>(tree: &'t Tree, node: NodeId, key: &str) -> &'t [Entry] {
    tree.entry(node, key).map_or(&[], |entry| tree.entries(entry.value))
}
