//! Names in the coolant loop.
//!
//! They are read from the tree, so that the slips of a broken loop are said as well.

use std::collections::HashMap;

use loadworthy_source::{Content, NodeId, Problem, Tree};

use super::known::{Names, Written};
use super::{Look, entries};
use crate::quantity::shown;
use crate::sections::conductors::Pad;
use crate::walk::check_place;

impl Look<'_, '_> {
    /// Whether every name in the loop leads somewhere, and the flow comes to each place once.
    pub(super) fn cooling(&mut self, node: NodeId) -> bool {
        let tree = self.tree;
        let mut good = true;
        let known = Written::under(tree, node, "elements");
        let mut places = Vec::new();
        names(tree, tree.value_at(node, &["path"]), &mut places);
        for element in entries(tree, node, "elements") {
            for branch in entries(tree, element.value, "split") {
                names(tree, Some(branch.value), &mut places);
            }
        }
        // Whichever branch leads there: so the path is a tree and ends.
        let mut visited: HashMap<&str, NodeId> = HashMap::new();
        for (name, at) in places {
            good &= self.leads_from(at, name, "coolant element", &[&known]);
            if let Some(first) = visited.insert(name, at) {
                good = false;
                self.visited_twice(name, at, first);
            }
        }
        for element in entries(tree, node, "elements") {
            for cooled in entries(tree, element.value, "cools") {
                // A key that is no name was reported as such and leads nowhere of its own.
                if check_place(tree, cooled.key, self.ledger) {
                    good &= self.cooled(cooled.key, tree.key_text(cooled.key));
                }
            }
        }
        good
    }

    /// The element that the pad of a bar lies on.
    pub(super) fn pad(&mut self, pad: Option<&Pad>) -> bool {
        let Some(on) = pad.and_then(|pad| pad.on.as_ref()) else { return true };
        let cooling = &self.description.cooling;
        match cooling.at() {
            Some(at) => self.leads(on, "coolant element", &[&Written::under(self.tree, at, "elements")]),
            None => self.leads(on, "coolant element", &[]),
        }
    }

    fn visited_twice(&mut self, name: &str, at: NodeId, first: NodeId) {
        let at = self.tree.span(at);
        self.ledger.note("name-twice", at, "", || {
            Problem::new("name-twice", at, format!("the path visits {} twice", shown(name)), "visited again")
                .with_also(self.tree.span(first), "visited here first")
                .with_way_out("name each element once; describe a second one for a second visit")
        });
    }

    /// A stage, a switch position of one, or a magnetic component.
    fn cooled(&mut self, at: NodeId, text: &str) -> bool {
        let all = self.description;
        let parts: [&dyn Names; 2] = [&all.stages, &all.magnetics];
        match text.contains('.') {
            true => self.switch_position(at, text),
            false => self.leads_from(at, text, "stage or magnetic component", &parts),
        }
    }
}

/// The texts in a list, if there is one.
pub(super) fn names<'t>(tree: &'t Tree, list: Option<NodeId>, found: &mut Vec<(&'t str, NodeId)>) {
    let Some(Content::List(items)) = list.map(|list| tree.content(list)) else { return };
    let texts = items.iter().filter_map(|&item| Some((tree.scalar(item)?.as_text()?, item)));
    found.extend(texts);
}
