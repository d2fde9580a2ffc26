//! One value laid over a description from outside of its files.

use crate::limits::DEEPEST;
use crate::problem::{Problem, Problems};
use crate::span::{NodeId, Span, small};
use crate::tree::{Entry, Tree};

impl Tree {
    /// The base with the value under a path of keys replaced, as a merge patch would: a map merges, `null`
    /// removes, and keys that are not there are added.
    ///
    /// The text `path=value` becomes a file of the tree under the given name, so that spans of the new value
    /// point into it and [`Tree::replaced`] gives the old one. `None` where the value cannot be read; the
    /// problems say why.
    pub fn overlay(
        &mut self,
        name: &str,
        base: NodeId,
        path: &[&str],
        value: &str,
        problems: &mut Vec<Problem>,
    ) -> Option<NodeId> {
        let mut found = Problems::new();
        let patch = self.read_overlay(name, path, value, &mut found);
        problems.extend(found.finish());
        match self.patch(base, patch?) {
            Ok(node) => Some(node),
            Err(problem) => {
                problems.push(problem);
                None
            }
        }
    }

    fn read_overlay(
        &mut self,
        name: &str,
        path: &[&str],
        value: &str,
        problems: &mut Problems,
    ) -> Option<NodeId> {
        let mut text = path.join(".");
        let path_end = text.len();
        text.push('=');
        text.push_str(value);
        if self.has_no_room_for(text.len()) {
            return self.refuse_size(name, text.len(), problems);
        }
        let file = self.add_file(name, text);
        let whole = Span { file, start: 0, end: small(path_end) };
        if path.is_empty() {
            problems.add(|| Problem::new("empty", whole, "expected a path before `=`", "nothing to set"));
            return None;
        }
        let document = self.read_text(file, path_end + 1, problems)?;
        let root = document.root.filter(|&root| !self.is_unwritten(root));
        let Some(root) = root else {
            let at = Span { start: whole.end, end: whole.end + 1, ..whole };
            problems.add(|| {
                Problem::new("empty", at, "expected a value behind `=`", "no value")
                    .with_way_out("write a value, or `null` to remove what is there")
            });
            return None;
        };
        if path.len() + document.height > DEEPEST {
            problems.add(|| {
                let message = format!("the value stands more than {DEEPEST} levels deep");
                Problem::new("too-deep", whole, message, "the path to it")
            });
            return None;
        }
        let mut end = path_end;
        let mut patch = root;
        for key in path.iter().rev() {
            let start = end - key.len();
            let span = Span { file, start: small(start), end: small(end) };
            let body = crate::arena::Body::Written { start: span.start, end: span.end, plain: false };
            let key = self.arena.add_node(span, body);
            patch = self.arena.add_map(whole, &[Entry { key, value: patch }]);
            end = start.saturating_sub(1);
        }
        Some(patch)
    }
}
