//! Changes tried without editing the file.

use loadworthy_source::{Entry, NodeId, Problem, Tree};

use crate::parts::SECTIONS;
use crate::quantity::shown;

/// What the text of an override is called in messages.
pub(crate) const OVERRIDE: &str = "--with";

/// Lays one value over a description. What it names must be there; only its last steps may be new.
pub(crate) fn lay(
    tree: &mut Tree,
    root: NodeId,
    path: &str,
    value: &str,
    problems: &mut Vec<Problem>,
) -> Option<NodeId> {
    let steps = path.split('.').filter(|_| !path.is_empty()).collect::<Vec<_>>();
    let changed = tree.overlay(OVERRIDE, root, &steps, value, problems)?;
    let [section, name, _, ..] = steps.as_slice() else { return Some(changed) };
    let named = SECTIONS.contains(section) && tree.value_at(root, &[*section, *name]).is_none();
    let key = tree.value_at(changed, &[*section]).and_then(|section| tree.entry(section, name))?.key;
    if named {
        let at = tree.span(key);
        let message = format!("`{section}` has no entry {}", shown(name));
        let problem = Problem::new("unknown-name", at, message, "nothing to change");
        let known = tree.value_at(root, &[*section]).map_or(&[] as &[Entry], |section| tree.entries(section));
        let near = loadworthy_source::nearest(name, known.iter().map(|entry| tree.key_text(entry.key)));
        problems.push(match near {
            Some(near) => problem.with_way_out(format!("write `{near}`")),
            None => problem,
        });
        return None;
    }
    Some(changed)
}
