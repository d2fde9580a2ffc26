//! Where a value stands in a description: in its own section, or in the patch of a variant.

use std::collections::BTreeMap;

use loadworthy_source::{NodeId, Tree};
use loadworthy_unit::Unit;

use crate::described::{Described, Roots};

use super::Choice;

/// Writes values into a description where the variants have them.
pub(crate) struct Writing<'d> {
    tree: &'d Tree,
    unit: &'d Unit,
    root: Option<NodeId>,
}

impl<'d> Writing<'d> {
    pub(super) fn of(described: &'d Described, roots: &Roots) -> Self {
        Self { tree: &described.tree, unit: &described.unit, root: roots.base }
    }

    /// The path at which a variant has a value: below its name where its patch says it, or alone has the entry.
    pub(super) fn path(&self, variant: usize, path: &str) -> String {
        let Some(name) = &self.unit.variants[variant].name else { return path.to_owned() };
        let steps: Vec<&str> = path.split('.').collect();
        let own: Vec<&str> = ["variants", name].into_iter().chain(steps.iter().copied()).collect();
        let entry = &steps[..steps.len().min(2)];
        if self.has(&own) || !self.has(entry) { format!("variants.{name}.{path}") } else { path.to_owned() }
    }

    /// What stands at a path.
    pub(super) fn node(&self, path: &str) -> Option<NodeId> {
        let steps: Vec<&str> = path.split('.').collect();
        self.tree.value_at(self.root?, &steps)
    }

    fn has(&self, steps: &[&str]) -> bool {
        self.root.is_some_and(|root| self.tree.value_at(root, steps).is_some())
    }

    /// A word that stands in the description.
    pub(super) fn word(&self, steps: &[&str]) -> Option<&'d str> {
        let node = self.tree.value_at(self.root?, steps)?;
        self.tree.scalar(node).and_then(|scalar| scalar.as_text())
    }

    /// What is written for the sizes at some places; nothing where a size is what is described.
    pub(crate) fn written(&self, choices: &[Choice], at: &[usize]) -> Vec<(String, String)> {
        let settings = choices.iter().zip(at).flat_map(|(choice, &place)| choice.settings(place));
        settings.collect::<BTreeMap<_, _>>().into_iter().collect()
    }
}
