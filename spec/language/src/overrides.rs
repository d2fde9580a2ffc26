//! Changes tried without editing the file.

use loadworthy_source::{Entry, NodeId, Problem, Tree};

use crate::parts::SECTIONS;
use crate::quantity::shown;

/// What the text of an override is called in messages.
pub const OVERRIDE: &str = "--with";

/// What the text of a value is called that is read as if it stood in the file.
pub(crate) const WRITTEN: &str = "(written)";

/// The keys of a path. A dot parts them, save in the name of a switch position that stands there as one key.
fn steps(tree: &Tree, root: NodeId, path: &str) -> Vec<String> {
    let mut rest = path.split('.').filter(|_| !path.is_empty()).peekable();
    let mut at = Some(root);
    let mut steps = Vec::new();
    while let Some(step) = rest.next() {
        let has = |key: &str| at.is_some_and(|at| tree.entry(at, key).is_some());
        let joined = rest.peek().map(|next| format!("{step}.{next}")).filter(|joined| has(joined));
        let key = match joined {
            Some(joined) if !has(step) => {
                rest.next();
                joined
            }
            _ => step.to_owned(),
        };
        at = at.and_then(|at| tree.value_at(at, &[&key]));
        steps.push(key);
    }
    steps
}

/// Lays one value over a description, under the name of where it comes from. What it names must be there; only its last steps may be new.
pub(crate) fn lay(
    tree: &mut Tree,
    root: NodeId,
    (origin, path): (&str, &str),
    value: &str,
    problems: &mut Vec<Problem>,
) -> Option<NodeId> {
    let steps = steps(tree, root, path);
    let steps = steps.iter().map(String::as_str).collect::<Vec<_>>();
    let changed = tree.overlay(origin, root, &steps, value, problems)?;
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
