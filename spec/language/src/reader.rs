//! Reads one description after another: walked, typed, held against the rules, each section once.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use loadworthy_source::{Content, Entry, NodeId, Span, Tree};
use serde::de::DeserializeOwned;

use crate::document::{Description, Section, SectionEntry, SectionPart};
use crate::ledger::{Ledger, ProblemId};
use crate::references;
use crate::rules::{self, Rules, Scope};
use crate::sections::{
    branches, buses, capacitors, conductors, cooling, devices, drivers, duty, gate_supplies, header,
    isolation, machines, magnetics, missions, policy, sensors, sources, stages,
};
use crate::strange_keys::{absent_sections, misspelt};
use crate::walk::{ShapeId, Shapes, Subject, Walker, check_name, gaps};

/// Reads descriptions of one tree.
pub(crate) struct Reader<'t> {
    pub(crate) tree: &'t Tree,
    pub(crate) shapes: &'t Shapes,
    pub(crate) ledger: Ledger,
    pub(crate) patches: Option<Span>,
    /// The keys of all of them.
    pub(crate) patched: HashSet<NodeId>,
    /// Whether anything will be read again, so that remembering pays.
    pub(crate) share: bool,
    pub(crate) unsure: Unsure,
    /// Values that could not be read, of entries that could.
    pub(crate) gaps: Vec<NodeId>,
    /// Sections of which an entry stands in another one, each with that entry.
    pub(crate) strays: Vec<(String, NodeId)>,
}

/// What keeps names from being looked up for certain.
#[derive(Clone, Default)]
pub(crate) struct Unsure {
    /// Whether a parts file could not be read: what is named may stand in it.
    pub(crate) lacks_parts: bool,
    /// Keys that stand twice in one map: one of the two may have been meant to have another name.
    pub(crate) doubled: Vec<Span>,
}

/// Sections of which an entry counts as a whole: what it accepts, limits or runs through is not what it seems without
/// one of its values.
const WHOLE: [&str; 5] = ["edition", "unit", "missions", "policy", "permits"];

/// What is read, what it is called, and whether the rest of it counts where some of its values cannot be read.
#[derive(Clone, Copy)]
struct Place<'p> {
    section: &'p str,
    entry: Entry,
    subject: Subject,
    keeps_rest: bool,
}

fn scope<'s>(tree: &'s Tree, ledger: &'s mut Ledger, patches: Option<Span>, entry: Entry) -> Scope<'s> {
    Scope { tree, ledger, patches, entry: entry.key, value: entry.value }
}

/// Unknown keys of a description for which the section that was meant is sought.
const MOST_GUESSED: usize = 20;

/// What is known of sections already, by node: variants share what they do not change.
#[derive(Default)]
pub(crate) struct Memo {
    header: PartMemo<header::Header>,
    surroundings: PartMemo<header::Surroundings>,
    sources: SectionMemo<sources::Source>,
    buses: SectionMemo<buses::Bus>,
    stages: SectionMemo<stages::Stage>,
    devices: SectionMemo<devices::Device>,
    machines: SectionMemo<machines::Machine>,
    loads: SectionMemo<machines::Load>,
    branches: SectionMemo<branches::Branch>,
    capacitors: SectionMemo<capacitors::Capacitor>,
    capacitor_types: SectionMemo<capacitors::CapacitorType>,
    magnetics: SectionMemo<magnetics::Magnetic>,
    conductors: SectionMemo<conductors::Conductor>,
    gate_supplies: SectionMemo<gate_supplies::GateSupply>,
    drivers: SectionMemo<drivers::Driver>,
    controllers: SectionMemo<gate_supplies::Controller>,
    sensors: SectionMemo<sensors::Measurement>,
    signals: SectionMemo<sensors::Signal>,
    isolation: PartMemo<isolation::Isolation>,
    cooling: PartMemo<cooling::Cooling>,
    duty: SectionMemo<duty::DutyPoint>,
    missions: SectionMemo<missions::Mission>,
    policy: SectionMemo<policy::PolicyEntry>,
    permits: PartMemo<policy::Permit>,
}

type PartMemo<T> = HashMap<NodeId, (Vec<ProblemId>, Option<Arc<T>>)>;

struct SectionMemo<T> {
    sections: HashMap<NodeId, (Vec<ProblemId>, Section<T>)>,
    entries: PartMemo<T>,
}

impl<T> Default for SectionMemo<T> {
    fn default() -> Self {
        Self { sections: HashMap::new(), entries: HashMap::new() }
    }
}

/// Outputs of parts files that feed no gate are a stock to choose from, and no outputs of the unit.
fn shelve(tree: &Tree, description: &mut Description) {
    let Some(own) = description.edition.as_ref().map(|edition| tree.span(edition.at).file) else { return };
    description.gate_supplies.retain(|entry| {
        tree.span(entry.key).file == own || entry.read().is_none_or(|supply| supply.feeds.is_some())
    });
}

impl Reader<'_> {
    pub(crate) fn description(&mut self, root: NodeId, memo: &mut Memo) -> Description {
        let mut description = Description::default();
        let tree = self.tree;
        let mut edition_named = false;
        // A description of many strange keys is no description; what they were meant to be is asked for the first few.
        let mut strange = 0;
        let mut meant: Vec<(String, NodeId)> = Vec::new();
        for &entry in tree.entries(root) {
            let key = tree.key_text(entry.key);
            match key {
                "edition" => {
                    edition_named = true;
                    let whole = self.part::<u32>(key, entry, &mut HashMap::new(), |_, _| {});
                    let at = entry.value;
                    description.edition = whole.read().map(|&value| loadworthy_source::Located { value, at });
                }
                "unit" => description.header = self.ruled(key, entry, &mut memo.header),
                "surroundings" => description.surroundings = self.ruled(key, entry, &mut memo.surroundings),
                "sources" => description.sources = self.section(key, entry, &mut memo.sources),
                "buses" => description.buses = self.section(key, entry, &mut memo.buses),
                "stages" => description.stages = self.section(key, entry, &mut memo.stages),
                "devices" => description.devices = self.section(key, entry, &mut memo.devices),
                "machines" => description.machines = self.section(key, entry, &mut memo.machines),
                "loads" => description.loads = self.section(key, entry, &mut memo.loads),
                "branches" => description.branches = self.section(key, entry, &mut memo.branches),
                "capacitors" => description.capacitors = self.section(key, entry, &mut memo.capacitors),
                "capacitor_types" => {
                    description.capacitor_types = self.section(key, entry, &mut memo.capacitor_types)
                }
                "magnetics" => description.magnetics = self.section(key, entry, &mut memo.magnetics),
                "conductors" => description.conductors = self.section(key, entry, &mut memo.conductors),
                "gate_supplies" => {
                    description.gate_supplies = self.section(key, entry, &mut memo.gate_supplies)
                }
                "drivers" => description.drivers = self.section(key, entry, &mut memo.drivers),
                "controllers" => description.controllers = self.section(key, entry, &mut memo.controllers),
                "sensors" => description.sensors = self.section(key, entry, &mut memo.sensors),
                "signals" => description.signals = self.section(key, entry, &mut memo.signals),
                "isolation" => description.isolation = self.ruled(key, entry, &mut memo.isolation),
                "cooling" => description.cooling = self.ruled(key, entry, &mut memo.cooling),
                "duty" => description.duty = self.section(key, entry, &mut memo.duty),
                "missions" => description.missions = self.section(key, entry, &mut memo.missions),
                "policy" => description.policy = self.section(key, entry, &mut memo.policy),
                "permits" => description.permits = self.permits(entry, &mut memo.permits),
                // Read before any description was planned.
                "parts" | "variants" => {}
                _ => {
                    strange += 1;
                    self.unknown_section(root, entry);
                    // What a patch says under a strange key is not laid over anything, and the variant is in doubt.
                    if self.patched.contains(&entry.key) {
                        continue;
                    }
                    if strange <= MOST_GUESSED
                        && let Some(section) = self.meant_section(root, entry)
                    {
                        edition_named |= section == "edition";
                        meant.push((section.to_owned(), entry.value));
                    } else if matches!(tree.content(entry.value), Content::Map(_)) {
                        // It may be any section that is not there: from what that seems to lack nothing follows.
                        let absent = absent_sections(tree, self.shapes, (root, &self.patched), entry);
                        meant.extend(absent.into_iter().map(|section| (section.to_owned(), entry.value)));
                    }
                }
            }
        }
        // What parts files add to a section stands under its own name, before or after it.
        let mut unsure = self.unsure.clone();
        // One that an entry in another section reads like may have lost its own name: what it seems to lack is not known.
        meant.extend(self.strays.iter().cloned());
        for (section, at) in meant {
            unsure.lacks_parts |= section == "parts";
            misspelt(&mut description, &section, at);
        }
        if !edition_named {
            self.no_edition(root);
        }
        description.gaps = Arc::from(self.gaps.as_slice());
        shelve(tree, &mut description);
        references::check(tree, &mut description, &mut self.ledger, &unsure);
        let mut scope =
            Scope { tree, ledger: &mut self.ledger, patches: self.patches, entry: root, value: root };
        rules::between_entries(&mut description, &mut scope);
        description
    }

    fn section<T: DeserializeOwned + Rules>(
        &mut self,
        key: &str,
        section: Entry,
        memo: &mut SectionMemo<T>,
    ) -> Section<T> {
        if let Some((problems, known)) = memo.sections.get(&section.value) {
            self.ledger.again(problems);
            return known.clone();
        }
        let mark = self.ledger.mark();
        let read = match self.tree.content(section.value) {
            Content::Map(entries) => {
                let entries = entries.iter().map(|entry| self.entry(key, *entry, &mut memo.entries));
                Section::of(section.value, entries.collect())
            }
            _ => {
                // Not a map: the walker says so.
                if let Some(shape) = self.shapes.top(key) {
                    self.walker().value(shape, section.value, Subject::under(section.key));
                }
                Section::broken(section.value)
            }
        };
        if self.share {
            memo.sections.insert(section.value, (self.ledger.since(mark).to_vec(), read.clone()));
        }
        read
    }

    fn entry<T: DeserializeOwned + Rules>(
        &mut self,
        section: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
    ) -> (String, SectionEntry<T>) {
        let name = self.tree.key_text(entry.key);
        let shape = match self.shapes.each(section) {
            // What stands under a name that is none may be anything.
            Some(shape) => check_name(self.tree, entry.key, &mut self.ledger).then_some(shape),
            None => {
                let shape = self.shapes.member(section, name);
                if shape.is_none() {
                    self.unknown_member(section, entry);
                }
                shape
            }
        };
        let is_stray = shape.is_some() && self.belongs_elsewhere(section, entry);
        let place = Place {
            section,
            entry,
            subject: Subject::under(entry.key),
            keeps_rest: WHOLE.iter().all(|whole| *whole != section),
        };
        let read = shape
            .filter(|_| !is_stray)
            .and_then(|shape| self.once(Some(shape), place, memo, |value, scope| value.check(scope)));
        (name.to_owned(), SectionEntry { key: entry.key, value: entry.value, read })
    }

    /// A section that is read as a whole and has rules.
    fn ruled<T: DeserializeOwned + Rules>(
        &mut self,
        key: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
    ) -> SectionPart<T> {
        self.part(key, entry, memo, |value, scope| value.check(scope))
    }

    fn permits(
        &mut self,
        section: Entry,
        memo: &mut PartMemo<policy::Permit>,
    ) -> Vec<SectionPart<policy::Permit>> {
        let (Content::List(items @ [_, ..]), Some(shape)) =
            (self.tree.content(section.value), self.shapes.each("permits"))
        else {
            if let Some(shape) = self.shapes.top("permits") {
                self.walker().value(shape, section.value, Subject::under(section.key));
            }
            return Vec::new();
        };
        let one = |(place, &item): (usize, &NodeId)| {
            let entry = Entry { key: section.key, value: item };
            let subject = Subject::under(section.key).item(place);
            let place = Place { section: "permits", entry, subject, keeps_rest: false };
            match self.once(Some(shape), place, memo, |value, scope| value.check(scope)) {
                Some(value) => SectionPart::Read { at: item, value },
                None => SectionPart::Void { at: item },
            }
        };
        items.iter().enumerate().map(one).collect()
    }

    fn part<T: DeserializeOwned>(
        &mut self,
        key: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
        rules: impl Fn(&T, &mut Scope<'_>),
    ) -> SectionPart<T> {
        let keeps_rest = WHOLE.iter().all(|whole| *whole != key);
        let place = Place { section: key, entry, subject: Subject::under(entry.key), keeps_rest };
        match self.once(self.shapes.top(key), place, memo, rules) {
            Some(value) => SectionPart::Read { at: entry.value, value },
            None => SectionPart::Void { at: entry.value },
        }
    }

    /// Walks, reads and checks a value, unless an earlier variant had the same.
    fn once<T: DeserializeOwned>(
        &mut self,
        shape: Option<ShapeId>,
        place: Place<'_>,
        memo: &mut PartMemo<T>,
        rules: impl Fn(&T, &mut Scope<'_>),
    ) -> Option<Arc<T>> {
        let entry = place.entry;
        if let Some((problems, known)) = memo.get(&entry.value) {
            self.ledger.again(problems);
            return known.clone();
        }
        let mark = self.ledger.mark();
        if let Some(shape) = shape {
            self.walker().value(shape, entry.value, place.subject);
        }
        let tree = self.tree;
        let mut read = None;
        if self.ledger.since(mark).is_empty() {
            match tree.deserialize::<T>(entry.value) {
                Ok(value) => {
                    rules(&value, &mut scope(tree, &mut self.ledger, self.patches, entry));
                    read = Some(value);
                }
                // The walker let through what the type refuses; the text is still not read.
                Err(problem) => {
                    self.ledger.note(problem.kind, problem.at, "", || problem);
                }
            }
        }
        if !self.ledger.since(mark).is_empty() {
            read = shape
                .filter(|_| place.keeps_rest)
                .and_then(|shape| self.rest((place.section, shape), entry, mark, rules));
        }
        let read = read.map(Arc::new);
        if self.share {
            memo.insert(entry.value, (self.ledger.since(mark).to_vec(), read.clone()));
        }
        read
    }

    /// What of an entry with problems can be read all the same, and fulfils the rules.
    fn rest<T: DeserializeOwned>(
        &mut self,
        shape: (&str, ShapeId),
        entry: Entry,
        mark: usize,
        rules: impl Fn(&T, &mut Scope<'_>),
    ) -> Option<T> {
        let places = self.ledger.places_of_values(self.ledger.since(mark))?;
        let gaps = gaps(self.tree, self.shapes, shape, entry.value, &places)?;
        let value = self.tree.deserialize_around::<T>(entry.value, &gaps).ok()?;
        // What the rest breaks for want of a number is no problem of its own.
        let mut ledger = Ledger::default();
        rules(&value, &mut scope(self.tree, &mut ledger, self.patches, entry));
        if !ledger.since(0).is_empty() {
            return None;
        }
        self.gaps.extend(gaps.values);
        Some(value)
    }

    fn walker(&mut self) -> Walker<'_> {
        Walker { tree: self.tree, shapes: self.shapes, ledger: &mut self.ledger, patches: self.patches }
    }
}
