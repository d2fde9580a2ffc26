//! Keys of a description that are no sections, and entries that no section knows.

use loadworthy_source::{Entry, NodeId, Problem};

use crate::document::{Description, Section, SectionPart};
use crate::kinds::{is_parts_file, parts_file};
use crate::parts;
use crate::quantity::shown;
use crate::reader::Reader;

impl Reader<'_> {
    /// The section that an unknown key was probably meant to be, if that is not there.
    pub(crate) fn meant_section(&self, root: NodeId, key: &str) -> Option<&str> {
        parts::nearest_section(key, self.shapes).filter(|meant| self.tree.entry(root, meant).is_none())
    }

    pub(crate) fn unknown_section(&mut self, root: NodeId, entry: Entry) {
        let (tree, shapes) = (self.tree, self.shapes);
        let at = tree.span(entry.key);
        let key = tree.key_text(entry.key);
        let absent = |meant: &&str| tree.entry(root, meant).is_none();
        self.ledger.note("unknown-key", at, "", || {
            let problem = Problem::new(
                "unknown-key",
                at,
                format!("a description has no key {}", shown(key)),
                "not a section",
            );
            match parts::nearest_section(key, shapes).filter(absent) {
                Some(meant) => problem.with_way_out(format!("write `{meant}`")),
                None => {
                    let known = shapes.top_keys().map(|key| format!("`{key}`")).collect::<Vec<_>>();
                    problem.with_way_out(format!("sections: {}", known.join(", ")))
                }
            }
        });
    }

    pub(crate) fn unknown_member(&mut self, section: &str, entry: Entry) {
        let at = self.tree.span(entry.key);
        let key = self.tree.key_text(entry.key);
        let known = self.shapes.member_names(section);
        self.ledger.note("unknown-key", at, "", || {
            let message = format!("`{section}` has no item {}", shown(key));
            let problem = Problem::new("unknown-key", at, message, "no check uses this item");
            match loadworthy_source::nearest(key, known.iter().copied()) {
                Some(near) => problem.with_way_out(format!("write `{near}`")),
                None if known.is_empty() => problem,
                None => problem.with_way_out(format!("items: `{}`", known.join("`, `"))),
            }
        });
    }

    pub(crate) fn no_edition(&mut self, root: NodeId) {
        let first = self.tree.entries(root).first().map_or(root, |entry| entry.key);
        let at = self.tree.span(first);
        if is_parts_file(self.tree, root) {
            self.ledger.note("parts-file", at, "", || parts_file(at));
            return;
        }
        self.ledger.note("missing-key", at, "edition", || {
            let newest = crate::defaults::EDITIONS.last().copied().unwrap_or_default();
            Problem::new("missing-key", at, "the description lacks `edition`", "`edition` stands before this")
                .with_way_out(format!("write `edition: {newest}` at the top"))
        });
    }
}

/// A section whose name is misspelt is there and broken: what refers to its entries is no problem of its own.
pub(crate) fn misspelt(description: &mut Description, meant: &str, at: NodeId) {
    match meant {
        "sources" => description.sources = Section::broken(at),
        "buses" => description.buses = Section::broken(at),
        "stages" => description.stages = Section::broken(at),
        "devices" => description.devices = Section::broken(at),
        "machines" => description.machines = Section::broken(at),
        "loads" => description.loads = Section::broken(at),
        "branches" => description.branches = Section::broken(at),
        "capacitors" => description.capacitors = Section::broken(at),
        "capacitor_types" => description.capacitor_types = Section::broken(at),
        "magnetics" => description.magnetics = Section::broken(at),
        "conductors" => description.conductors = Section::broken(at),
        "gate_supplies" => description.gate_supplies = Section::broken(at),
        "drivers" => description.drivers = Section::broken(at),
        "controllers" => description.controllers = Section::broken(at),
        "sensors" => description.sensors = Section::broken(at),
        "signals" => description.signals = Section::broken(at),
        "isolation" => description.isolation = SectionPart::Void { at },
        "cooling" => description.cooling = SectionPart::Void { at },
        "duty" => description.duty = Section::broken(at),
        "missions" => description.missions = Section::broken(at),
        "policy" => description.policy = Section::broken(at),
        _ => {}
    }
}
