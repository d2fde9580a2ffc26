//! A description as it was read, with what is broken kept apart from what is absent.
//!
//! A part that is void was written and could not be read; its problems are reported. Whoever uses a description
//! must not take a void part for one that was never stated.

use std::collections::HashSet;
use std::ops::Deref;
use std::sync::Arc;

use indexmap::IndexMap;
use loadworthy_source::{Located, NodeId};

use crate::sections::branches::Branch;
use crate::sections::buses::Bus;
use crate::sections::capacitors::{Capacitor, CapacitorType};
use crate::sections::conductors::Conductor;
use crate::sections::cooling::Cooling;
use crate::sections::devices::Device;
use crate::sections::drivers::Driver;
use crate::sections::duty::DutyPoint;
use crate::sections::gate_supplies::{Controller, GateSupply};
use crate::sections::header::{Header, Surroundings};
use crate::sections::isolation::Isolation;
use crate::sections::machines::{Load, Machine};
use crate::sections::magnetics::Magnetic;
use crate::sections::missions::Mission;
use crate::sections::policy::{Permit, PolicyEntry};
use crate::sections::sensors::{Measurement, Signal};
use crate::sections::sources::Source;
use crate::sections::stages::Stage;

/// One description, parts merged and variant patched.
#[derive(Debug, Clone, Default)]
pub struct Description {
    /// The edition of the language and of its defaults; `None` is a reported problem.
    pub edition: Option<Located<u32>>,
    /// What the unit is called: the key `unit`.
    pub header: SectionPart<Header>,
    /// The air and the height it works in.
    pub surroundings: SectionPart<Surroundings>,
    /// What feeds the unit.
    pub sources: Section<Source>,
    /// The nodes that carry direct voltage.
    pub buses: Section<Bus>,
    /// Conductors in series between two nodes.
    pub branches: Section<Branch>,
    /// The converters.
    pub stages: Section<Stage>,
    /// Electric machines.
    pub machines: Section<Machine>,
    /// Loads on a bus.
    pub loads: Section<Load>,
    /// Data-sheet figures of semiconductors.
    pub devices: Section<Device>,
    /// Banks, and capacitors to the chassis.
    pub capacitors: Section<Capacitor>,
    /// Data-sheet figures of capacitors.
    pub capacitor_types: Section<CapacitorType>,
    /// Chokes and transformers.
    pub magnetics: Section<Magnetic>,
    /// Fuses, contactors, connectors, bars, cables.
    pub conductors: Section<Conductor>,
    /// What feeds the gate drivers.
    pub gate_supplies: Section<GateSupply>,
    /// What turns the gates on and off.
    pub drivers: Section<Driver>,
    /// What commands the gates.
    pub controllers: Section<Controller>,
    /// What the controllers measure.
    pub sensors: Section<Measurement>,
    /// What else joins two domains.
    pub signals: Section<Signal>,
    /// Isolation domains and the barriers between them.
    pub isolation: SectionPart<Isolation>,
    /// The coolant loop.
    pub cooling: SectionPart<Cooling>,
    /// What the unit must carry.
    pub duty: Section<DutyPoint>,
    /// Duty points one after another.
    pub missions: Section<Mission>,
    /// The team's derating.
    pub policy: Section<PolicyEntry>,
    /// Findings accepted beforehand, in the order of the list.
    pub permits: Vec<SectionPart<Permit>>,
    /// Values that could not be read, of entries of which the rest could: numbers that are none, neither absent nor left
    /// to a default.
    pub gaps: Arc<[NodeId]>,
}

impl Description {
    /// Names of the entries, whatever their section, that could not be read.
    pub(crate) fn unread_names(&self) -> HashSet<&str> {
        fn of<T>(section: &Section<T>) -> impl Iterator<Item = &str> {
            section.unread().map(|(name, _)| name)
        }
        let stages =
            of(&self.sources).chain(of(&self.buses)).chain(of(&self.branches)).chain(of(&self.stages));
        let parts =
            of(&self.machines).chain(of(&self.loads)).chain(of(&self.devices)).chain(of(&self.conductors));
        let banks = of(&self.capacitors).chain(of(&self.capacitor_types)).chain(of(&self.magnetics));
        let control = of(&self.gate_supplies).chain(of(&self.drivers)).chain(of(&self.controllers));
        let rest = of(&self.sensors).chain(of(&self.signals)).chain(of(&self.duty));
        stages.chain(parts).chain(banks).chain(control).chain(rest).collect()
    }
}

impl Description {
    /// Names of the entries, whatever their section, of which the key is one of some.
    pub(crate) fn names_of(&self, is_one: impl Fn(NodeId) -> bool) -> HashSet<&str> {
        let is_one: &dyn Fn(NodeId) -> bool = &is_one;
        fn of<'d, T>(section: &'d Section<T>, is_one: &dyn Fn(NodeId) -> bool) -> Vec<&'d str> {
            section.iter().filter(|(_, entry)| is_one(entry.key)).map(|(name, _)| name.as_str()).collect()
        }
        [
            of(&self.sources, is_one),
            of(&self.buses, is_one),
            of(&self.branches, is_one),
            of(&self.stages, is_one),
            of(&self.machines, is_one),
            of(&self.loads, is_one),
            of(&self.devices, is_one),
            of(&self.conductors, is_one),
            of(&self.capacitors, is_one),
            of(&self.capacitor_types, is_one),
            of(&self.magnetics, is_one),
            of(&self.gate_supplies, is_one),
            of(&self.drivers, is_one),
            of(&self.controllers, is_one),
            of(&self.sensors, is_one),
            of(&self.signals, is_one),
            of(&self.duty, is_one),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// A section that is read as a whole.
#[derive(Debug, Clone, Default)]
pub enum SectionPart<T> {
    /// Not stated.
    #[default]
    Absent,
    /// Stated, broken and reported.
    Void {
        /// Where it stands.
        at: NodeId,
    },
    /// Read.
    Read {
        /// Where it stands.
        at: NodeId,
        /// What it says.
        value: Arc<T>,
    },
}

impl<T> SectionPart<T> {
    /// What was read; nothing where it is absent or void.
    pub fn read(&self) -> Option<&T> {
        match self {
            Self::Read { value, .. } => Some(value),
            Self::Absent | Self::Void { .. } => None,
        }
    }

    /// Changes what was read, for whoever asks what another word would say; nothing where it is absent or void.
    pub fn change(&mut self, change: impl FnOnce(&mut T))
    where
        T: Clone,
    {
        if let Self::Read { value, .. } = self {
            change(Arc::make_mut(value));
        }
    }

    /// Whether it was written and is broken.
    pub const fn is_void(&self) -> bool {
        matches!(self, Self::Void { .. })
    }

    /// Where it stands.
    pub const fn at(&self) -> Option<NodeId> {
        match self {
            Self::Absent => None,
            Self::Void { at } | Self::Read { at, .. } => Some(*at),
        }
    }

    /// Takes it for broken, where it is not stated by its own name.
    pub(crate) fn lose(&mut self, at: NodeId) {
        if matches!(self, Self::Absent) {
            *self = Self::Void { at };
        }
    }

    pub(crate) fn make_void(&mut self) {
        if let Some(at) = self.at() {
            *self = Self::Void { at };
        }
    }
}

/// A section of named entries. It dereferences to the map of its entries, in the order of the text.
#[derive(Debug)]
pub struct Section<T> {
    /// Where it stands; `None` where it is not stated.
    pub at: Option<NodeId>,
    /// Whether the section as a whole is broken, so that its entries are not known.
    pub void: bool,
    /// Names that lead to none of its entries and may have been meant for one, each reported.
    pub unfound: Vec<String>,
    entries: Arc<IndexMap<String, SectionEntry<T>>>,
}

/// One entry of a section.
#[derive(Debug)]
pub struct SectionEntry<T> {
    /// Its name.
    pub key: NodeId,
    /// Its value.
    pub value: NodeId,
    /// What it says; `None` where it is void.
    pub read: Option<Arc<T>>,
}

impl<T> SectionEntry<T> {
    /// What it says; nothing where it is void.
    pub fn read(&self) -> Option<&T> {
        self.read.as_deref()
    }
}

impl<T> Clone for SectionEntry<T> {
    fn clone(&self) -> Self {
        Self { key: self.key, value: self.value, read: self.read.clone() }
    }
}

impl<T> Clone for Section<T> {
    fn clone(&self) -> Self {
        Self {
            at: self.at,
            void: self.void,
            unfound: self.unfound.clone(),
            entries: Arc::clone(&self.entries),
        }
    }
}

impl<T> Default for Section<T> {
    fn default() -> Self {
        Self { at: None, void: false, unfound: Vec::new(), entries: Arc::default() }
    }
}

impl<T> Deref for Section<T> {
    type Target = IndexMap<String, SectionEntry<T>>;

    fn deref(&self) -> &Self::Target {
        &self.entries
    }
}

impl<T> Section<T> {
    /// Leaves out entries of which `keeps` does not hold.
    pub(crate) fn retain(&mut self, keeps: impl Fn(&SectionEntry<T>) -> bool) {
        if !self.entries.values().all(&keeps) {
            let kept = self.entries.iter().filter(|(_, entry)| keeps(entry));
            self.entries = Arc::new(kept.map(|(name, entry)| (name.clone(), entry.clone())).collect());
        }
    }

    pub(crate) fn of(at: NodeId, entries: IndexMap<String, SectionEntry<T>>) -> Self {
        Self { at: Some(at), void: false, unfound: Vec::new(), entries: Arc::new(entries) }
    }

    pub(crate) fn broken(at: NodeId) -> Self {
        Self { at: Some(at), void: true, unfound: Vec::new(), entries: Arc::default() }
    }

    /// The entry of that name, unless it is void.
    pub fn entry(&self, name: &str) -> Option<&T> {
        self.entries.get(name)?.read()
    }

    /// Changes one entry, for whoever asks what another word would say; nothing where it is void.
    pub fn change(&mut self, name: &str, change: impl FnOnce(&mut T))
    where
        T: Clone,
    {
        if let Some(read) =
            Arc::make_mut(&mut self.entries).get_mut(name).and_then(|entry| entry.read.as_mut())
        {
            change(Arc::make_mut(read));
        }
    }

    /// The entries that could be read, by name.
    pub fn readable(&self) -> impl Iterator<Item = (&str, &SectionEntry<T>, &T)> {
        self.entries.iter().filter_map(|(name, entry)| Some((name.as_str(), entry, entry.read()?)))
    }

    /// The entries that could not be read, by name.
    pub fn unread(&self) -> impl Iterator<Item = (&str, &SectionEntry<T>)> {
        self.entries
            .iter()
            .filter(|(_, entry)| entry.read.is_none())
            .map(|(name, entry)| (name.as_str(), entry))
    }

    /// Whether all that is written in it could be read, and all names that are meant for it lead to an entry. What is not said
    /// elsewhere may stand in the rest.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        !self.void && self.unfound.is_empty() && self.unread().next().is_none()
    }

    /// Adds an entry that is named elsewhere and is not there, as one that could not be read.
    pub(crate) fn add_void(&mut self, name: &str, named: NodeId) {
        if !self.contains_key(name) {
            let entry = SectionEntry { key: named, value: named, read: None };
            Arc::make_mut(&mut self.entries).insert(name.to_owned(), entry);
        }
    }

    pub(crate) fn make_void(&mut self, places: &[usize]) {
        if places.is_empty() {
            return;
        }
        let entries = Arc::make_mut(&mut self.entries);
        for place in places {
            if let Some((_, entry)) = entries.get_index_mut(*place) {
                entry.read = None;
            }
        }
    }
}
