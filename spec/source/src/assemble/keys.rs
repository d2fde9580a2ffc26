//! Keys: what can be one, and each only once.

use std::collections::HashMap;

use crate::escape::shown;
use crate::problem::Problem;
use crate::span::{NodeId, Span};
use crate::tree::Entry;

use super::Assembly;

impl Assembly<'_> {
    /// The entries from an index on, without those whose key came before.
    pub(super) fn distinct(&mut self, from: usize) -> Vec<Entry> {
        let entries = self.entries.split_off(from);
        let mut repeated = Vec::new();
        // Comparing is cheaper than hashing for the maps that people write.
        if entries.len() <= 12 {
            for (index, entry) in entries.iter().enumerate() {
                let key = self.key_text(entry.key);
                if let Some(first) = entries[..index].iter().find(|earlier| self.key_text(earlier.key) == key)
                {
                    repeated.push((entry.key, first.key));
                }
            }
        } else {
            let mut known = HashMap::with_capacity(entries.len());
            for entry in &entries {
                let first = *known.entry(self.key_text(entry.key)).or_insert(entry.key);
                if first != entry.key {
                    repeated.push((entry.key, first));
                }
            }
        }
        for &(second, first) in &repeated {
            let key = shown(self.key_text(second));
            let (second, first) = (self.span_of(second), self.span_of(first));
            self.problems.add(|| {
                Problem::new(
                    "duplicate-key",
                    second,
                    format!("the key `{key}` stands twice in one map"),
                    "again here",
                )
                .with_also(first, "first here; this one counts")
                .with_way_out("remove or rename one of them")
            });
        }
        if repeated.is_empty() {
            return entries;
        }
        let mut repeated = repeated.iter().map(|pair| pair.0).peekable();
        entries.into_iter().filter(|entry| repeated.next_if_eq(&entry.key).is_none()).collect()
    }

    pub(super) fn key_text(&self, key: NodeId) -> &str {
        self.scalar_of(key).map_or("", |scalar| scalar.text)
    }

    /// The node as a key, unless it cannot be one.
    pub(super) fn as_key(&mut self, node: NodeId, span: Span) -> Option<NodeId> {
        match self.scalar_of(node) {
            Some(scalar) if scalar.plain && scalar.text.is_empty() => {
                self.problems.add(|| {
                    Problem::new("empty-key", span, "a value has no key", "expected a key here")
                        .with_way_out("write `key: value`")
                });
                None
            }
            Some(_) => Some(node),
            None => {
                self.problems.add(|| {
                    Problem::new(
                        "key-is-no-text",
                        span,
                        "a key is a text, not a map or a list",
                        "stands as a key",
                    )
                    .with_way_out("put a text that begins with a bracket in quotes")
                });
                None
            }
        }
    }
}
