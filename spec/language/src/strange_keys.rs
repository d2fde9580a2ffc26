//! Keys of a description that are no sections, and entries that no section knows or that another one knows.

use std::collections::HashSet;

use loadworthy_source::{Content, Entry, NodeId, Problem, Tree, clearly_meant};

use crate::document::{Description, Section};
use crate::kinds::{is_parts_file, parts_file};
use crate::parts;
use crate::quantity::shown;
use crate::reader::Reader;
use crate::schema::OUTSIDE_VARIANTS;
use crate::walk::{Shapes, may_be_section, merges, section_meant};

impl Reader<'_> {
    /// The section that an unknown key was probably meant to be.
    pub(crate) fn meant_section(&self, root: NodeId, entry: Entry) -> Option<&str> {
        free_section(self.tree, self.shapes, (root, &self.patched), entry)
    }

    /// Notes an entry that reads like one of another section, and whether it does.
    pub(crate) fn belongs_elsewhere(&mut self, section: &str, entry: Entry) -> bool {
        let Content::Map(entries) = self.tree.content(entry.value) else { return false };
        let Some(other) = section_meant(self.tree, self.shapes, section, entries) else { return false };
        let at = self.tree.span(entry.key);
        let name = self.tree.key_text(entry.key);
        self.strays.push((other.to_owned(), entry.value));
        self.ledger.note("unknown-key", at, "section", || {
            let message = format!("{} in `{section}` reads like an entry of `{other}`", shown(name));
            Problem::new("unknown-key", at, message, "not an entry of this section")
                .with_way_out(format!("move it to `{other}`"))
        });
        true
    }

    pub(crate) fn unknown_section(&mut self, root: NodeId, entry: Entry) {
        let (tree, shapes, patched) = (self.tree, self.shapes, &self.patched);
        if merges(tree, entry.key, &mut self.ledger) {
            return;
        }
        let at = tree.span(entry.key);
        let key = tree.key_text(entry.key);
        self.ledger.note("unknown-key", at, "", || {
            let problem = Problem::new(
                "unknown-key",
                at,
                format!("a description has no key {}", shown(key)),
                "not a section",
            );
            match free_section(tree, shapes, (root, patched), entry) {
                Some(meant) => {
                    let clear = clearly_meant(key, shapes.top_keys()).filter(|clear| *clear == meant);
                    problem.with_way_out(format!("write `{meant}`")).with_meant(clear)
                }
                None => {
                    let known = shapes.top_keys().map(|key| format!("`{key}`")).collect::<Vec<_>>();
                    problem.with_way_out(format!("sections: {}", known.join(", ")))
                }
            }
        });
    }

    pub(crate) fn unknown_member(&mut self, section: &str, entry: Entry) {
        if merges(self.tree, entry.key, &mut self.ledger) {
            return;
        }
        let at = self.tree.span(entry.key);
        let key = self.tree.key_text(entry.key);
        let known = self.shapes.member_names(section);
        self.ledger.note("unknown-key", at, "", || {
            let message = format!("`{section}` has no item {}", shown(key));
            let problem = Problem::new("unknown-key", at, message, "no check uses this item");
            match loadworthy_source::nearest(key, known.iter().copied()) {
                Some(near) => {
                    let clear = clearly_meant(key, known.iter().copied());
                    problem.with_way_out(format!("write `{near}`")).with_meant(clear)
                }
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

/// The section that an unknown key was probably meant to be, if that is not there, or stands in parts files alone.
fn free_section<'s>(
    tree: &Tree,
    shapes: &'s Shapes,
    (root, patched): (NodeId, &HashSet<NodeId>),
    entry: Entry,
) -> Option<&'s str> {
    // In the patch of a variant it is what that patch does not have.
    let patch = if patched.contains(&entry.key) { patch_with(tree, root, entry) } else { None };
    let is_free = |meant: &&str| match patch {
        Some(patch) => !OUTSIDE_VARIANTS.contains(meant) && tree.entry(patch, meant).is_none(),
        None => is_absent(tree, (root, patched), entry, meant),
    };
    parts::nearest_section(tree.key_text(entry.key), shapes).filter(is_free)
}

/// Whether a section does not stand in the file of an entry, or in the patch of a variant alone.
fn is_absent(tree: &Tree, (root, patched): (NodeId, &HashSet<NodeId>), entry: Entry, section: &str) -> bool {
    let own = tree.span(entry.key).file;
    let is_other = |known: Entry| tree.span(known.key).file != own || patched.contains(&known.key);
    tree.entry(root, section).is_none_or(is_other)
}

/// The keys of all patches of a description.
pub(crate) fn patched(tree: &Tree, root: NodeId) -> HashSet<NodeId> {
    let variants = tree.entry(root, "variants").map_or(&[][..], |variants| tree.entries(variants.value));
    variants.iter().flat_map(|variant| tree.entries(variant.value)).map(|entry| entry.key).collect()
}

/// The patch of a variant in which a key stands.
fn patch_with(tree: &Tree, root: NodeId, entry: Entry) -> Option<NodeId> {
    let variants = tree.entry(root, "variants")?;
    let mut patches = tree.entries(variants.value).iter().map(|variant| variant.value);
    patches.find(|&patch| tree.entries(patch).iter().any(|own| own.key == entry.key))
}

/// Sections that a key that is none may have been meant to be: those that are not there and have entries like what stands under
/// it, or where none has, all that are not there.
pub(crate) fn absent_sections(
    tree: &Tree,
    shapes: &Shapes,
    (root, patched): (NodeId, &HashSet<NodeId>),
    entry: Entry,
) -> Vec<&'static str> {
    let absent: Vec<&str> =
        sections().filter(|section| is_absent(tree, (root, patched), entry, section)).collect();
    let is_like = |section: &&str| may_be_section(tree, shapes, section, entry.value);
    let like: Vec<&str> = absent.iter().copied().filter(is_like).collect();
    if like.is_empty() { absent } else { like }
}

fn sections() -> impl Iterator<Item = &'static str> {
    parts::SECTIONS.iter().copied().chain(["surroundings", "isolation", "cooling", "policy"])
}

/// A section whose name is misspelt is there and broken: what refers to its entries is no problem of its own. What parts files
/// add to it is known all the same.
pub(crate) fn misspelt(description: &mut Description, meant: &str, at: NodeId) {
    match meant {
        "sources" => lose(&mut description.sources, at),
        "buses" => lose(&mut description.buses, at),
        "stages" => lose(&mut description.stages, at),
        "devices" => lose(&mut description.devices, at),
        "machines" => lose(&mut description.machines, at),
        "loads" => lose(&mut description.loads, at),
        "branches" => lose(&mut description.branches, at),
        "capacitors" => lose(&mut description.capacitors, at),
        "capacitor_types" => lose(&mut description.capacitor_types, at),
        "magnetics" => lose(&mut description.magnetics, at),
        "conductors" => lose(&mut description.conductors, at),
        "gate_supplies" => lose(&mut description.gate_supplies, at),
        "drivers" => lose(&mut description.drivers, at),
        "controllers" => lose(&mut description.controllers, at),
        "sensors" => lose(&mut description.sensors, at),
        "signals" => lose(&mut description.signals, at),
        "surroundings" => description.surroundings.lose(at),
        "isolation" => description.isolation.lose(at),
        "cooling" => description.cooling.lose(at),
        "duty" => lose(&mut description.duty, at),
        "missions" => lose(&mut description.missions, at),
        "policy" => lose(&mut description.policy, at),
        _ => {}
    }
}

fn lose<T>(section: &mut Section<T>, at: NodeId) {
    section.void = true;
    section.at = Some(at);
}
