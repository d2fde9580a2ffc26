//! Entries that a variant adds and that lack what they need: often one of the description, misspelt in the patch.

use loadworthy_source::{Meant, NodeId, Problem, Span, Tree, clearly_meant, nearest};

use crate::references::MOST_COMPARED;

/// Proposes the description's own name for an entry of a patch that lacks something and whose name is nearly that.
pub(crate) fn propose(tree: &Tree, root: NodeId, problems: &mut [Problem]) {
    let patches = tree.entry(root, "variants").map(|section| tree.entries(section.value)).unwrap_or_default();
    for problem in problems.iter_mut().filter(|problem| problem.kind == "missing-key") {
        let patch = patches.iter().find(|patch| holds(tree.span(patch.value), problem.at));
        if let Some((near, is_clear)) = patch.and_then(|patch| near(tree, root, patch.value, problem.at)) {
            problem.way_out = Some(format!("write `{near}`, if that is the one to change"));
            if is_clear {
                let (text, places) = (near.to_owned(), vec![problem.at]);
                problem.meant = Some(Meant { text, places, is_first_step: false, is_taken: false });
            }
        }
    }
}

/// The name in the description that is nearest to the key at a place in a patch, where it has none of that name; and whether no
/// other can have been meant.
fn near(tree: &Tree, mut base: NodeId, mut patch: NodeId, at: Span) -> Option<(&str, bool)> {
    loop {
        let reaches = |key: NodeId, value: NodeId| tree.span(key) == at || holds(tree.span(value), at);
        let entry = tree.entries(patch).iter().find(|entry| reaches(entry.key, entry.value))?;
        let key = tree.key_text(entry.key);
        match tree.entry(base, key) {
            Some(known) => (base, patch) = (known.value, entry.value),
            None if tree.span(entry.key) == at => {
                let names = tree.entries(base).iter().take(MOST_COMPARED);
                let names = names.map(|entry| tree.key_text(entry.key));
                let near = nearest(key, names.clone())?;
                return Some((near, clearly_meant(key, names) == Some(near)));
            }
            None => return None,
        }
    }
}

fn holds(outer: Span, inner: Span) -> bool {
    outer.file == inner.file && outer.start <= inner.start && inner.end <= outer.end
}
