//! Sets of names that something may refer to.

use std::collections::HashSet;

use loadworthy_source::{Content, NodeId, Tree, nearest};

use super::{MOST_COMPARED, entries};
use crate::document::{Description, Section};

/// A set of names that something may refer to.
pub(super) trait Names {
    fn has(&self, name: &str) -> bool;
    fn all(&self) -> Vec<&str>;
    fn has_none(&self) -> bool;
    /// Broken as a whole, so that nothing can be said about its names.
    fn is_void(&self) -> bool;
}

impl<T> Names for Section<T> {
    fn has(&self, name: &str) -> bool {
        self.contains_key(name)
    }

    fn all(&self) -> Vec<&str> {
        self.keys().map(String::as_str).collect()
    }

    fn has_none(&self) -> bool {
        self.is_empty()
    }

    fn is_void(&self) -> bool {
        self.void
    }
}

/// The negative rails that buses name, those of broken buses included.
pub(super) struct Rails<'t> {
    names: Vec<&'t str>,
    known: HashSet<&'t str>,
    void: bool,
}

impl<'t> Rails<'t> {
    pub(super) fn of(tree: &'t Tree, description: &Description) -> Self {
        let mut rails = Self { names: Vec::new(), known: HashSet::new(), void: description.buses.void };
        for bus in description.buses.values() {
            let rail = tree.value_at(bus.value, &["negative_rail"]).and_then(|rail| tree.scalar(rail));
            if let Some(rail) = rail.and_then(|rail| rail.as_text())
                && rails.known.insert(rail)
            {
                rails.names.push(rail);
            }
        }
        rails
    }
}

impl Names for Rails<'_> {
    fn has(&self, name: &str) -> bool {
        self.known.contains(name)
    }

    fn all(&self) -> Vec<&str> {
        self.names.clone()
    }

    fn has_none(&self) -> bool {
        self.names.is_empty()
    }

    fn is_void(&self) -> bool {
        self.void
    }
}

/// The keys of a map, as they are written: coolant elements, isolation domains.
pub(super) struct Written<'t> {
    names: Vec<&'t str>,
    known: HashSet<&'t str>,
    void: bool,
}

impl<'t> Written<'t> {
    /// The same of a node that need not be there.
    pub(super) fn under_path(tree: &'t Tree, node: Option<NodeId>, key: &str) -> Self {
        node.map_or_else(
            || Self { names: Vec::new(), known: HashSet::new(), void: false },
            |node| Self::under(tree, node, key),
        )
    }

    /// The keys of the map under a key of a node.
    pub(super) fn under(tree: &'t Tree, node: NodeId, key: &str) -> Self {
        let names = entries(tree, node, key).iter().map(|entry| tree.key_text(entry.key));
        let names = names.collect::<Vec<_>>();
        let written = tree.value_at(node, &[key]);
        // A key that is nearly the one asked for is it, misspelt, and told as that.
        let is_misspelt = || {
            let written = tree.entries(node).iter().map(|entry| tree.key_text(entry.key));
            written.take(MOST_COMPARED).any(|own| nearest(own, [key].into_iter()).is_some())
        };
        let void = match written {
            Some(map) => !matches!(tree.content(map), Content::Map(_)),
            None => is_misspelt(),
        };
        Self { known: names.iter().copied().collect(), names, void }
    }
}

impl Names for Written<'_> {
    fn has(&self, name: &str) -> bool {
        self.known.contains(name)
    }

    fn all(&self) -> Vec<&str> {
        self.names.clone()
    }

    fn has_none(&self) -> bool {
        self.names.is_empty()
    }

    fn is_void(&self) -> bool {
        self.void
    }
}
