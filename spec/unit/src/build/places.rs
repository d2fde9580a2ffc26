//! Where what is named stands in the plan.

use std::collections::BTreeMap;

use crate::build::Build;
use crate::ids::PartId;

/// Places in the plan by name, noted as each is added.
#[derive(Default)]
pub(crate) struct Places {
    /// Buses.
    pub(crate) buses: BTreeMap<String, usize>,
    /// Sources.
    pub(crate) sources: BTreeMap<String, usize>,
    /// Stages.
    pub(crate) stages: BTreeMap<String, usize>,
    /// Loads.
    pub(crate) loads: BTreeMap<String, usize>,
    /// Coolant elements on the path.
    pub(crate) coolant: BTreeMap<String, usize>,
    conductors: BTreeMap<String, Vec<usize>>,
    branches: BTreeMap<String, Vec<usize>>,
}

impl Places {
    /// Notes the conductor that comes next, under its name and that of its branch.
    pub(crate) fn conductor(&mut self, (name, branch): (&str, &str), place: usize) {
        self.conductors.entry(name.to_owned()).or_default().push(place);
        self.branches.entry(branch.to_owned()).or_default().push(place);
    }

    /// Conductors of a name: one, unless a description draws it twice.
    pub(crate) fn conductors_named(&self, name: &str) -> &[usize] {
        self.conductors.get(name).map_or(&[], Vec::as_slice)
    }

    /// Conductors of a branch, in the order of the description.
    pub(crate) fn conductors_in(&self, branch: &str) -> &[usize] {
        self.branches.get(branch).map_or(&[], Vec::as_slice)
    }
}

impl Build<'_> {
    /// The part of a branch that leads through any conductor.
    pub(crate) fn branch(&self, name: &str) -> Option<PartId> {
        self.places.conductors_in(name).first().map(|&one| self.plan.conductors[one].branch)
    }
}
