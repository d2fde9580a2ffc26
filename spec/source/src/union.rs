//! Documents joined into one: parts files add entries to sections.

use std::collections::HashMap;
use std::collections::hash_map::Entry as Slot;

use crate::escape::shown;
use crate::nearest::nearest;
use crate::problem::{Problem, Problems};
use crate::span::NodeId;
use crate::tree::{Content, Entry, Tree};

/// A section with what was gathered for it, and the entry of the document that has it first.
struct Section {
    first: Entry,
    entries: Vec<Entry>,
}

impl Tree {
    /// The base with the entries of the parts added to its sections.
    ///
    /// `sections` names the top-level keys that may stand in a part; each holds a map of named entries there.
    /// Other keys, and a section that is no map, are problems. An entry defined twice is a problem with both
    /// places, and the first stays. A section that the base does not have is taken over from the parts. Where
    /// the base's own section is no map it stays as it is, for the caller to judge.
    ///
    /// Takes time in proportion to base and parts together. Problems come part after part, each in the order
    /// of its text.
    pub fn union(
        &mut self,
        base: NodeId,
        parts: &[NodeId],
        sections: &[&str],
        problems: &mut Vec<Problem>,
    ) -> NodeId {
        let mut found: Vec<Problems> = parts.iter().map(|_| Problems::new()).collect();
        for (&part, found) in parts.iter().zip(&mut found) {
            self.refuse_other_keys(part, sections, found);
        }
        let gathered: Vec<(&str, Section)> = sections
            .iter()
            .filter_map(|&name| Some((name, self.gather(base, parts, name, &mut found)?)))
            .collect();
        for found in found {
            problems.extend(found.finish());
        }
        self.with_sections(base, gathered)
    }

    fn refuse_other_keys(&self, part: NodeId, sections: &[&str], found: &mut Problems) {
        for entry in self.entries(part) {
            let key = self.key_text(entry.key);
            if sections.contains(&key) {
                continue;
            }
            found.add(|| {
                let allowed = sections.join("`, `");
                let problem = Problem::new(
                    "not-in-a-parts-file",
                    self.span(entry.key),
                    format!("`{}` cannot stand in a parts file", shown(key)),
                    "belongs to the description itself",
                );
                match nearest(key, sections.iter().copied()) {
                    Some(meant) => problem.with_way_out(format!("write `{meant}`")),
                    None => problem.with_way_out(format!("a parts file holds entries of `{allowed}`")),
                }
            });
        }
    }

    /// The entries of one section of all documents; `None` where no part adds to it.
    fn gather(&self, base: NodeId, parts: &[NodeId], name: &str, found: &mut [Problems]) -> Option<Section> {
        let own = self.entry(base, name);
        let own_is_map = own.is_none_or(|own| matches!(self.content(own.value), Content::Map(_)));
        let mut section = own.map(|first| Section { first, entries: self.entries(first.value).to_vec() });
        let mut known: HashMap<&str, NodeId> = HashMap::new();
        for entry in section.iter().flat_map(|section| &section.entries) {
            known.insert(self.key_text(entry.key), entry.key);
        }
        let mut grown = false;
        for (&part, found) in parts.iter().zip(found) {
            let Some(added) = self.entry(part, name) else { continue };
            let Content::Map(entries) = self.content(added.value) else {
                found.add(|| self.no_section(name, added));
                continue;
            };
            if !own_is_map {
                continue;
            }
            grown = true;
            let section = section.get_or_insert_with(|| Section { first: added, entries: Vec::new() });
            for &entry in entries {
                match known.entry(self.key_text(entry.key)) {
                    Slot::Vacant(slot) => {
                        slot.insert(entry.key);
                        section.entries.push(entry);
                    }
                    Slot::Occupied(first) => found.add(|| self.defined_twice(entry.key, *first.get())),
                }
            }
        }
        section.filter(|_| grown)
    }

    fn no_section(&self, name: &str, entry: Entry) -> Problem {
        Problem::new(
            "wrong-type",
            self.span(entry.value),
            format!("expected named entries under `{name}`, found {}", self.describe(entry.value)),
            "not a map",
        )
        .with_also(self.span(entry.key), "the section")
        .with_way_out("write `name:` and its keys below, or remove the section")
    }

    fn defined_twice(&self, second: NodeId, first: NodeId) -> Problem {
        Problem::new(
            "defined-twice",
            self.span(second),
            format!("`{}` is defined twice", shown(self.key_text(second))),
            "defined again",
        )
        .with_also(self.span(first), "first defined here")
        .with_way_out("rename one of them, or remove it")
    }

    fn with_sections(&mut self, base: NodeId, gathered: Vec<(&str, Section)>) -> NodeId {
        if gathered.is_empty() {
            return base;
        }
        let mut top = self.entries(base).to_vec();
        for (name, section) in gathered {
            // What only one document has is shared, not copied.
            let value = if section.entries == self.entries(section.first.value) {
                section.first.value
            } else {
                self.arena.add_map(self.span(section.first.value), &section.entries)
            };
            match top.iter().position(|entry| self.key_text(entry.key) == name) {
                Some(index) => top[index].value = value,
                None => top.push(Entry { key: section.first.key, value }),
            }
        }
        self.arena.add_map(self.span(base), &top)
    }
}
