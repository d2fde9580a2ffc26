//! Names in entries that are void for another reason, read from the tree: all slips of a file are said in one run.

use loadworthy_source::{Content, Entry, NodeId, ScalarKind};

use super::Look;
use super::known::Names;
use crate::document::Section;
use crate::walk::check_name;

/// The values of the entries that could not be read.
fn void<T>(section: &Section<T>) -> impl Iterator<Item = NodeId> {
    section.values().filter(|entry| entry.read().is_none()).map(|entry| entry.value)
}

impl Look<'_, '_> {
    pub(super) fn void_entries(&mut self) {
        let all = self.description;
        let buses: &[&dyn Names] = &[&all.buses];
        let conductors: &[&dyn Names] = &[&all.conductors];
        for entry in void(&all.sources).chain(void(&all.loads)) {
            self.written(entry, &["bus"], "bus", buses);
        }
        let ends: [&dyn Names; 5] = [&all.sources, &all.buses, &all.stages, &all.loads, self.rails];
        for entry in void(&all.branches) {
            for end in ["from", "to"] {
                self.written(entry, &[end], "source, bus, stage, load or negative rail", &ends);
            }
            for conductor in ["around", "protected_by", "parted_by"] {
                self.written(entry, &[conductor], "conductor", conductors);
            }
            self.written(entry, &["through"], "conductor", conductors);
        }
        for entry in void(&all.stages) {
            self.void_stage(entry);
        }
        for entry in void(&all.capacitors) {
            self.written(entry, &["bus"], "bus", buses);
            self.written(entry, &["each"], "capacitor type", &[&all.capacitor_types]);
        }
        for entry in void(&all.gate_supplies) {
            self.written(entry, &["rail"], "negative rail", &[self.rails]);
            self.written(entry, &["bootstrap_from"], "gate supply", &[&all.gate_supplies]);
            self.written(entry, &["from"], "bus", buses);
            self.written(entry, &["also_from"], "bus", buses);
        }
        for entry in void(&all.conductors) {
            self.written(entry, &["coil", "from"], "bus", buses);
            self.written(entry, &["coil", "also_from"], "bus", buses);
            self.written(entry, &["coil", "controller"], "controller", &[&all.controllers]);
        }
        for entry in void(&all.drivers) {
            self.written(entry, &["controller"], "controller", &[&all.controllers]);
        }
        for entry in void(&all.sensors) {
            self.written(entry, &["read_by"], "controller", &[&all.controllers]);
        }
        for entry in void(&all.controllers) {
            self.written(entry, &["from"], "bus", buses);
            self.written(entry, &["also_from"], "bus", buses);
        }
        for entry in void(&all.duty) {
            self.keys_of(entry, "sources", "source", &[&all.sources]);
            self.keys_of(entry, "buses", "bus", buses);
            self.keys_of(entry, "loads", "machine or load", &[&all.machines, &all.loads]);
        }
    }

    fn void_stage(&mut self, entry: NodeId) {
        let (all, tree) = (self.description, self.tree);
        for bus in ["dc_bus", "low_bus", "high_bus", "from", "to"] {
            self.written(entry, &[bus], "bus", &[&all.buses]);
        }
        self.written(entry, &["feeds"], "machine", &[&all.machines]);
        for component in ["inductor", "transformer", "output_inductor"] {
            self.written(entry, &[component], "magnetic component", &[&all.magnetics]);
        }
        self.written(entry, &["controller"], "controller", &[&all.controllers]);
        self.written(entry, &["carrier", "synchronised_with"], "stage", &[&all.stages]);
        let switches = tree.value_at(entry, &["switches"]);
        for position in switches.map_or(&[] as &[Entry], |switches| tree.entries(switches)) {
            self.written(position.value, &["fitted"], "device", &[&all.devices]);
        }
    }

    /// A name, or a list of names, at a path below a node, if one is written there.
    fn written(&mut self, node: NodeId, path: &[&str], what: &'static str, sections: &[&dyn Names]) {
        let tree = self.tree;
        let Some(at) = tree.value_at(node, path) else { return };
        let items = match tree.content(at) {
            Content::List(items) => items,
            _ => &[at],
        };
        for &item in items {
            // A number in place of a name is said to be none.
            if let Some(scalar) = tree.scalar(item).filter(|scalar| scalar.kind() == ScalarKind::Text) {
                self.leads_from(item, scalar.text, what, sections);
            }
        }
    }

    /// The keys of a map below a node, which are names.
    fn keys_of(&mut self, node: NodeId, key: &str, what: &'static str, sections: &[&dyn Names]) {
        let tree = self.tree;
        for entry in tree.value_at(node, &[key]).map_or(&[] as &[Entry], |map| tree.entries(map)) {
            // A key that is no name was reported as such and leads nowhere of its own.
            if check_name(tree, entry.key, self.ledger) {
                self.leads_from(entry.key, tree.key_text(entry.key), what, sections);
            }
        }
    }
}
