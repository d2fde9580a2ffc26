//! A description as it would be with some words put right.

use std::collections::HashMap;

use crate::span::{NodeId, Span};
use crate::tree::{Content, Entry, Tree};

impl Tree {
    /// The root with other texts in place of keys and values, by where these stand. Every node keeps its place, and what holds none of
    /// them is shared. `None` where a map would have one key twice.
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
                } else if self.is_doubled(&old, &new) {
                    return None;
                } else {
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

    /// Whether a key that was put right stands in its map already.
    fn is_doubled(&self, old: &[Entry], new: &[Entry]) -> bool {
        let mended = new.iter().zip(old).filter(|(new, old)| new.key != old.key);
        let is_there = |key: NodeId| {
            let text = self.tree.key_text(key);
            new.iter().any(|entry| entry.key != key && self.tree.key_text(entry.key) == text)
        };
        mended.into_iter().any(|(new, _)| is_there(new.key))
    }
}
