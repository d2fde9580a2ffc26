//! Merge patches as in RFC 7396, on nodes.

use std::collections::HashMap;

use crate::limits::MOST_PATCHED;
use crate::problem::Problem;
use crate::span::NodeId;
use crate::tree::{Content, Entry, Tree};

impl Tree {
    /// The base with a merge patch applied: maps merge, everything else is replaced whole, `null` removes
    /// (RFC 7396).
    ///
    /// What the patch does not touch keeps its nodes. A merged map is a new node with the span of the base's
    /// map. A value of the patch that replaced one of the base is a new node with the span in the patch, and
    /// [`Tree::replaced`] gives what it replaced. Keys stay where they were; new ones follow in the order of
    /// the patch.
    ///
    /// # Errors
    /// The problem says that the patches of this tree have become too large altogether: more than
    /// ten million map entries.
    #[expect(clippy::result_large_err, reason = "it is rare, and the caller keeps it in a list of problems")]
    pub fn patch(&mut self, base: NodeId, patch: NodeId) -> Result<NodeId, Problem> {
        self.merge(Some(base), patch).map_err(|TooLarge| {
            Problem::new(
                "too-large",
                self.span(patch),
                format!("the patches write more than {MOST_PATCHED} entries together"),
                "the patch that is too much",
            )
            .with_way_out("patch fewer or smaller maps")
        })
    }

    // Both sides are at most 64 maps deep, aliases included, so recursion is safe.
    fn merge(&mut self, base: Option<NodeId>, patch: NodeId) -> Result<NodeId, TooLarge> {
        let Content::Map(changes) = self.content(patch) else {
            return Ok(base.map_or(patch, |base| self.replacement(base, patch)));
        };
        let onto_map = base.filter(|&base| matches!(self.content(base), Content::Map(_)));
        if onto_map.is_none() && !self.removes_anything(patch) {
            return Ok(base.map_or(patch, |base| self.replacement(base, patch)));
        }
        let changes = changes.to_vec();
        let kept: Vec<Entry> = onto_map.map(|base| self.entries(base).to_vec()).unwrap_or_default();
        let counterpart = self.counterparts(&kept, &changes);
        if self.count_written(kept.len() + changes.len()) > MOST_PATCHED {
            return Err(TooLarge);
        }

        let mut merged: Vec<Option<Entry>> = kept.iter().copied().map(Some).collect();
        for (change, counterpart) in changes.iter().zip(counterpart) {
            let removes = self.is_null(change.value);
            match counterpart {
                Some(index) if removes => merged[index] = None,
                Some(index) => {
                    let Entry { key, value } = kept[index];
                    merged[index] = Some(Entry { key, value: self.merge(Some(value), change.value)? });
                }
                None if removes => {}
                None => merged.push(Some(Entry { key: change.key, value: self.merge(None, change.value)? })),
            }
        }
        let merged: Vec<Entry> = merged.into_iter().flatten().collect();
        let node = self.arena.add_map(self.span(onto_map.unwrap_or(patch)), &merged);
        if onto_map.is_none()
            && let Some(base) = base
        {
            self.note_replaced(node, base);
        }
        Ok(node)
    }

    fn replacement(&mut self, old: NodeId, new: NodeId) -> NodeId {
        let node = self.arena.add_node(self.span(new), self.arena.node(new).body);
        self.note_replaced(node, old);
        node
    }

    pub(crate) fn is_null(&self, node: NodeId) -> bool {
        self.scalar(node).is_some_and(|scalar| scalar.is_null())
    }

    fn removes_anything(&self, patch: NodeId) -> bool {
        self.entries(patch)
            .iter()
            .any(|entry| self.is_null(entry.value) || self.removes_anything(entry.value))
    }

    /// For each change the index of the entry with the same key.
    fn counterparts(&self, kept: &[Entry], changes: &[Entry]) -> Vec<Option<usize>> {
        // Few changes are looked up by comparing, without hashing a long base.
        if changes.len() <= 4 {
            let find = |change: &Entry| {
                let key = self.key_text(change.key);
                kept.iter().position(|entry| self.key_text(entry.key) == key)
            };
            return changes.iter().map(find).collect();
        }
        let places: HashMap<&str, usize> =
            kept.iter().enumerate().map(|(index, entry)| (self.key_text(entry.key), index)).collect();
        changes.iter().map(|change| places.get(self.key_text(change.key)).copied()).collect()
    }
}

struct TooLarge;
