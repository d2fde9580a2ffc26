//! Changes of a variant that miss what they were to change: read as they are written they leave the description as it is, or add what
//! nobody asks for. Of a variant with one nothing is known to hold.

use std::collections::HashSet;

use loadworthy_source::{Content, Entry, NodeId, Problem, Span, Tree, clearly_meant};

use crate::parts::SECTIONS;
use crate::quantity::shown;
use crate::references::MOST_COMPARED;
use crate::walk::Shapes;

/// New entries of one patch that are looked for in the rest of it.
const MOST_NEW: usize = 32;

/// Problems of a change that is read, and does not do what it says.
const MISSING: [&str; 3] = ["removes-nothing", "empty-value", "not-in-a-variant"];

/// Entries that a patch adds under a name like that of one it may have been meant to change: they state less than every such entry of
/// the description does, and nothing names them.
pub(crate) fn unnamed(
    tree: &Tree,
    base: NodeId,
    (variant, root): (&str, NodeId),
    problems: &mut Vec<Problem>,
) {
    let Some(patch) = tree.value_at(base, &["variants", variant]) else { return };
    let mut looked_at = 0;
    for section in tree.entries(patch) {
        let key = tree.key_text(section.key);
        let Some(known) = tree.entry(base, key).filter(|_| SECTIONS.contains(&key)) else { continue };
        let known = tree.entries(known.value);
        let of_base: HashSet<&str> = known.iter().map(|known| tree.key_text(known.key)).collect();
        for entry in tree.entries(section.value) {
            let name = tree.key_text(entry.key);
            if MOST_NEW < looked_at || of_base.contains(name) {
                continue;
            }
            looked_at += 1;
            let names = known.iter().take(MOST_COMPARED).map(|known| tree.key_text(known.key));
            let Some(meant) = clearly_meant(name, names) else { continue };
            if !states_less(tree, *entry, known) || is_named(tree, root, *entry) {
                continue;
            }
            let at = tree.span(entry.key);
            let message = format!("{} stands in no `{key}` but here, and nothing names it", shown(name));
            let mut problem = Problem::new("unknown-name", at, message, "changes nothing")
                .with_way_out(format!("write `{meant}`, if that is the one to change"))
                .with_meant(Some(meant));
            problem.variants.push(variant.to_owned());
            problems.push(problem);
        }
    }
}

/// Whether an entry lacks a key that every entry of the description has in its section.
fn states_less(tree: &Tree, entry: Entry, known: &[Entry]) -> bool {
    let has = |of: Entry, key: &str| tree.entry(of.value, key).is_some();
    let Some((first, others)) = known.split_first() else { return false };
    tree.entries(first.value).iter().any(|one| {
        let key = tree.key_text(one.key);
        !has(entry, key) && others.iter().all(|other| has(*other, key))
    })
}

/// Whether anything but the entry itself names it.
fn is_named(tree: &Tree, root: NodeId, entry: Entry) -> bool {
    let name = tree.key_text(entry.key);
    let names = |node: NodeId| {
        let is_it =
            |text: &str| text.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
        node != entry.key && tree.scalar(node).is_some_and(|scalar| is_it(scalar.text))
    };
    let mut left: Vec<NodeId> = tree
        .entries(root)
        .iter()
        .filter(|of| tree.key_text(of.key) != "variants")
        .map(|of| of.value)
        .collect();
    while let Some(node) = left.pop() {
        if names(node) {
            return true;
        }
        match tree.content(node) {
            Content::Map(entries) => left.extend(entries.iter().flat_map(|of| [of.key, of.value])),
            Content::List(items) => left.extend(items),
            Content::Scalar(_) => {}
        }
    }
    false
}

/// Where a variant says something of which is not known what it changes: under a key that is no section, of an entry that the
/// description does not have and that could not be read, or removed where there is nothing. What is taken to be meant says what it changes.
pub(crate) fn doubt(
    tree: &Tree,
    shapes: &Shapes,
    (base, variant): (NodeId, &str),
    problems: &[Problem],
) -> Option<NodeId> {
    let patch = tree.value_at(base, &["variants", variant])?;
    let is_taken = |problem: &&Problem| problem.meant.as_ref().is_some_and(|meant| meant.is_taken);
    let is_of =
        |problem: &Problem| problem.variants.is_empty() || problem.variants.iter().any(|of| of == variant);
    let left: Vec<&Problem> = problems.iter().filter(|one| is_of(one) && !is_taken(one)).collect();
    if left.is_empty() {
        return None;
    }
    let open = || left.iter().copied();
    let misses = |problem: &Problem| MISSING.contains(&problem.kind);
    for section in tree.entries(patch) {
        let (key, at) = (tree.key_text(section.key), tree.span(section.key));
        let is_strange = shapes.top_keys().all(|known| known != key);
        if open().any(|problem| problem.at == at && (is_strange || misses(problem))) {
            return Some(section.key);
        }
        let known = tree.entry(base, key).map_or(&[][..], |known| tree.entries(known.value));
        let known: HashSet<&str> = known.iter().map(|known| tree.key_text(known.key)).collect();
        for entry in tree.entries(section.value) {
            let is_new = !known.contains(tree.key_text(entry.key));
            let is_there = |at: Span| at == tree.span(entry.key) || holds(tree.span(entry.value), at);
            if open().any(|problem| is_there(problem.at) && (is_new || misses(problem))) {
                return Some(entry.key);
            }
        }
    }
    None
}

fn holds(outer: Span, inner: Span) -> bool {
    outer.file == inner.file && outer.start <= inner.start && inner.end <= outer.end
}
