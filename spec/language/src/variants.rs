//! Variants: several products of one unit, each a merge patch over the description.

use std::collections::HashMap;

use loadworthy_source::{Content, Entry, MOST_PROBLEMS, NodeId, Problem, Span, Tree, clearly_meant, nearest};

use crate::ledger::Ledger;
use crate::quantity::shown;
use crate::references::MOST_COMPARED;
use crate::schema::OUTSIDE_VARIANTS;
use crate::walk::check_name;

/// More products than one description can sensibly hold.
const MOST_VARIANTS: usize = 256;
/// Nodes that are looked at over all variants, so that a small file cannot ask for hours.
const MOST_NODES: usize = 40_000_000;

/// A description with a patch applied.
#[derive(Debug, Clone)]
pub(crate) struct Planned {
    pub(crate) name: Option<String>,
    pub(crate) key: Option<NodeId>,
    pub(crate) root: NodeId,
}

/// The descriptions to be read, and where the patches stand.
#[derive(Debug)]
pub(crate) struct Plan {
    pub(crate) variants: Vec<Planned>,
    /// The description without any patch.
    pub(crate) base: NodeId,
    pub(crate) patches: Option<Span>,
}

/// Applies the patch of every variant; without variants the description stands for itself.
pub(crate) fn plan(tree: &mut Tree, root: NodeId, ledger: &mut Ledger, problems: &mut Vec<Problem>) -> Plan {
    let alone = Planned { name: None, key: None, root };
    let Some(section) = tree.entry(root, "variants") else {
        return Plan { variants: vec![alone], base: root, patches: None };
    };
    let patches = Some(tree.span(section.value));
    let entries = match tree.content(section.value) {
        Content::Map([]) => return Plan { variants: vec![alone], base: root, patches },
        Content::Map(entries) => entries.to_vec(),
        _ => {
            let at = tree.span(section.value);
            let at = if at.is_empty() { tree.span(section.key) } else { at };
            problems.push(
                Problem::new("wrong-type", at, "`variants` expects a map of named patches", "not a map")
                    .with_way_out("write `variants: { standard: {} }`"),
            );
            return Plan { variants: Vec::new(), base: root, patches };
        }
    };
    let most = most_variants(tree);
    if let Some(first) = entries.get(most) {
        let at = tree.span(first.key);
        let message = format!(
            "a description of this size may have {most} variants, and this one has {}",
            entries.len()
        );
        problems.push(Problem::new("too-large", at, message, "the first one that is not read"));
    }
    let mut variants = Vec::new();
    for entry in entries.into_iter().take(most) {
        if !check_name(tree, entry.key, ledger) || !(Raw { tree, problems }).is_patch(root, entry) {
            continue;
        }
        match tree.patch(root, entry.value) {
            Ok(patched) => variants.push(Planned {
                name: Some(tree.key_text(entry.key).to_owned()),
                key: Some(entry.key),
                root: patched,
            }),
            Err(problem) => {
                problems.push(problem);
                break;
            }
        }
    }
    Plan { variants, base: root, patches }
}

/// The tree holds one description and all patches, so its size bounds what each variant can have.
fn most_variants(tree: &Tree) -> usize {
    (MOST_NODES / tree.node_count().max(1)).clamp(1, MOST_VARIANTS)
}

/// Looks at a patch before it is applied, for what would be lost silently.
struct Raw<'t> {
    tree: &'t Tree,
    problems: &'t mut Vec<Problem>,
}

impl Raw<'_> {
    fn is_patch(&mut self, root: NodeId, variant: Entry) -> bool {
        let tree = self.tree;
        let Content::Map(entries) = tree.content(variant.value) else {
            let at = tree.span(variant.value);
            let at = if at.is_empty() { tree.span(variant.key) } else { at };
            let name = tree.key_text(variant.key);
            let message = format!("variant {} expects a map of changes", shown(name));
            let problem =
                Problem::new("wrong-type", at, message, "not a map").with_way_out("write `{}` for none");
            self.note(name, || problem);
            return false;
        };
        let name = tree.key_text(variant.key);
        for entry in entries {
            let key = tree.key_text(entry.key);
            if OUTSIDE_VARIANTS.contains(&key) {
                let at = tree.span(entry.key);
                let message = format!("a variant cannot change `{key}`");
                let label = "belongs to the description itself";
                self.note(name, || Problem::new("not-in-a-variant", at, message, label));
            }
        }
        self.removals(name, Some(root), variant.value);
        true
    }

    fn removals(&mut self, name: &str, base: Option<NodeId>, patch: NodeId) {
        let tree = self.tree;
        let known = base.map_or(&[] as &[Entry], |base| tree.entries(base));
        let places: HashMap<&str, NodeId> = match tree.entries(patch).len() {
            // Few changes are found by comparing, without hashing a long map.
            0..=4 => HashMap::new(),
            _ => known.iter().map(|entry| (tree.key_text(entry.key), entry.value)).collect(),
        };
        for entry in tree.entries(patch) {
            let key = tree.key_text(entry.key);
            let below = match places.is_empty() {
                true => known.iter().find(|entry| tree.key_text(entry.key) == key).map(|entry| entry.value),
                false => places.get(key).copied(),
            };
            match tree.content(entry.value) {
                Content::Map(_) => self.removals(name, below, entry.value),
                Content::Scalar(scalar) if scalar.is_null() && scalar.text.is_empty() => {
                    let at = tree.span(entry.key);
                    let message = format!("{} has no value", shown(key));
                    let problem = Problem::new("empty-value", at, message, "nothing is stated");
                    self.note(name, || problem.with_way_out(format!("write `{key}: null` to remove it")));
                }
                Content::Scalar(scalar) if scalar.is_null() && below.is_none() => {
                    self.note(name, || removes_nothing(tree, entry.key, known));
                }
                _ => {}
            }
        }
    }

    fn note(&mut self, variant: &str, problem: impl FnOnce() -> Problem) {
        if self.problems.len() > 2 * MOST_PROBLEMS {
            // The file has enough; what is left out here shows once those are mended.
            return;
        }
        let mut problem = problem();
        problem.variants.push(variant.to_owned());
        self.problems.push(problem);
    }
}

fn removes_nothing(tree: &Tree, key: NodeId, known: &[Entry]) -> Problem {
    let text = tree.key_text(key);
    let message = format!("{} removes nothing", shown(&format!("{text}: null")));
    let label = "the description has no such key here";
    let problem = Problem::new("removes-nothing", tree.span(key), message, label);
    let candidates = known.iter().take(MOST_COMPARED).map(|entry| tree.key_text(entry.key));
    match nearest(text, candidates.clone()) {
        Some(near) => {
            let clear = clearly_meant(text, candidates);
            problem.with_way_out(format!("write `{near}: null`")).with_meant(clear)
        }
        None => problem.with_way_out("leave it out"),
    }
}
