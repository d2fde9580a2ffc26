//! A description as it would be with some words put right.

use std::collections::{HashMap, HashSet};

use crate::span::{NodeId, Span};
use crate::tree::{Content, Entry, Tree};

impl Tree {
    /// The root with other texts in place of keys and values, by where these stand. Every node keeps its place, and what holds none of
    /// them is shared. `None` where a map would have one key twice,
    /// and not in two files.
    pub fn mended(&mut self, root: NodeId, texts: &HashMap<Span, String>) -> Option<NodeId> {
        let mut mending = Mending { tree: self, texts, known: HashMap::new() };
        mending.node(root)
    }
}

struct Mending<'t> {
    tree: &'t mut Tree,
    texts: &'t HashMap<Span, String>,
    known: HashMap<NodeId, NodeId>,
}

impl Mending<'_> {
    // A tree is at most 64 levels deep, aliases included, so recursion is safe.
    fn node(&mut self, node: NodeId) -> Option<NodeId> {
        if let Some(&known) = self.known.get(&node) {
            return Some(known);
        }
        let span = self.tree.span(node);
        let mended = match self.tree.content(node) {
            Content::Scalar(_) => match self.texts.get(&span) {
                Some(text) => {
                    let body = self.tree.arena.add_resolved(text, true);
                    self.tree.arena.add_node(span, body)
                }
                None => node,
            },
            Content::Map(entries) => {
                let old = entries.to_vec();
                let mut new = Vec::with_capacity(old.len());
                for entry in &old {
                    new.push(Entry { key: self.node(entry.key)?, value: self.node(entry.value)? });
                }
                if new == old {
                    node
                } else {
                    let new = self.joined(&old, new)?;
                    self.tree.arena.add_map(span, &new)
                }
            }
            Content::List(items) => {
                let old = items.to_vec();
                let mut new = Vec::with_capacity(old.len());
                for &item in &old {
                    new.push(self.node(item)?);
                }
                if new == old { node } else { self.tree.arena.add_list(span, &new) }
            }
        };
        if mended != node
            && let Some(replaced) = self.tree.replaced(node)
        {
            self.tree.note_replaced(mended, replaced);
        }
        self.known.insert(node, mended);
        Some(mended)
    }

    /// The entries of a map, each key once. What stands under a key that was put right joins what another file has under it;
    /// nothing where the same file has it already, or both have the same in it.
    fn joined(&mut self, old: &[Entry], mut new: Vec<Entry>) -> Option<Vec<Entry>> {
        for (place, old) in old.iter().enumerate() {
            let own = new[place];
            if own.key == old.key {
                continue;
            }
            let text = self.tree.key_text(own.key);
            let is_same = |entry: &Entry| entry.key != own.key && self.tree.key_text(entry.key) == text;
            let Some(other) = new.iter().position(is_same) else { continue };
            let files = [own.key, new[other].key].map(|key| self.tree.span(key).file);
            let (Content::Map(first), Content::Map(second)) =
                (self.tree.content(own.value), self.tree.content(new[other].value))
            else {
                return None;
            };
            let names =
                |of: &[Entry]| of.iter().map(|one| self.tree.key_text(one.key)).collect::<HashSet<_>>();
            if files[0] == files[1] || !names(first).is_disjoint(&names(second)) {
                return None;
            }
            let all = [first, second].concat();
            let span = self.tree.span(own.value);
            new[place].value = self.tree.arena.add_map(span, &all);
            new[other] = new[place];
        }
        let mut known = HashSet::new();
        new.retain(|entry| known.insert(entry.key));
        Some(new)
    }
}
