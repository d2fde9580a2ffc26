//! Branches between a node and a bus, and what stands in each before and behind its fuses.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::sections::conductors::{Conductor as Written, Fuse as WrittenFuse};

use crate::build::Build;
use crate::graph::PowerGraph;
use crate::ids::InputId;
use crate::plan::Stands;

/// A branch between a node and a bus.
pub(super) struct Way<'d> {
    pub(super) name: &'d str,
    pub(super) node: &'d str,
    pub(super) bus: &'d str,
    /// Its conductors in the plan.
    pub(super) conductors: Vec<usize>,
}

/// All of them, with what is asked of them by name.
pub(super) struct Ways<'d> {
    pub(super) all: Vec<Way<'d>>,
    /// Those from a bus to what is no source, by that bus.
    pub(super) hanging: BTreeMap<&'d str, Vec<usize>>,
    /// The fuse on the way of each branch that names one.
    pub(super) fuses: BTreeMap<String, String>,
    /// Branches that lead to no bus, by the fuse on their way that they name.
    pub(super) naming: BTreeMap<String, Vec<String>>,
}

impl<'d> Way<'d> {
    /// All branches that lead from a node to a bus.
    pub(super) fn all(build: &Build<'d>, graph: &PowerGraph<'d>) -> Vec<Self> {
        let branches = build.description.branches.readable().filter_map(|(name, ..)| {
            let (node, bus) = graph.ends_of(name)?;
            Some(Self { name, node, bus, conductors: build.places.conductors_in(name).to_vec() })
        });
        branches.collect()
    }
}

impl<'d> Ways<'d> {
    /// Sorts them, once it is known what protects each.
    pub(super) fn of(build: &Build<'d>, all: Vec<Way<'d>>) -> Self {
        let mut hanging: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (place, way) in all.iter().enumerate() {
            if !build.description.sources.contains_key(way.node) {
                hanging.entry(way.bus).or_default().push(place);
            }
        }
        let leading: BTreeSet<&str> = all.iter().map(|way| way.name).collect();
        let mut fuses: BTreeMap<String, String> = BTreeMap::new();
        let mut naming: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for one in &build.plan.protections {
            let (Some((fuse, _)), Stands::OnTheWay) = (&one.fuse, &one.stands) else { continue };
            let branch = &build.tables.part_of(one.branch).path;
            fuses.entry(branch.clone()).or_insert_with(|| fuse.clone());
            if !leading.contains(branch.as_str()) {
                naming.entry(fuse.clone()).or_default().push(branch.clone());
            }
        }
        Self { all, hanging, fuses, naming }
    }
}

/// Conductors of a branch between what drives a fault and the fuse; none where it does not say where it starts.
pub(super) fn before(build: &Build<'_>, way: &Way<'_>, fuse: usize, from_node: bool) -> Vec<usize> {
    let from = build.description.branches.entry(way.name).and_then(|branch| branch.from.as_ref());
    let is_forward = from.map(|from| (from.value == way.node) == from_node);
    let Some(place) = way.conductors.iter().position(|&one| one == fuse) else { return Vec::new() };
    match is_forward {
        Some(true) => way.conductors[..place].to_vec(),
        Some(false) => way.conductors[place + 1..].to_vec(),
        None => Vec::new(),
    }
}

/// Conductors of a branch between its bus and the first of its fuses; none where something of it could not be read.
pub(super) fn before_fuse(build: &Build<'_>, way: &Way<'_>) -> Vec<usize> {
    if way.conductors.iter().any(|&one| written(build, one).is_none()) {
        return Vec::new();
    }
    let from = build.description.branches.entry(way.name).and_then(|branch| branch.from.as_ref());
    let Some(from) = from else { return Vec::new() };
    let in_order: Vec<usize> = match from.value == way.bus {
        true => way.conductors.clone(),
        false => way.conductors.iter().rev().copied().collect(),
    };
    let first = in_order.iter().position(|&one| fuse_of(build, one).is_some());
    first.map_or_else(Vec::new, |first| in_order[..first].to_vec())
}

/// Conductors of a branch from the bus up to one of them, that one included.
pub(super) fn from_bus(build: &Build<'_>, way: &Way<'_>, one: usize) -> Vec<usize> {
    let from = build.description.branches.entry(way.name).and_then(|branch| branch.from.as_ref());
    let place = way.conductors.iter().position(|&other| other == one);
    match (place, from) {
        (Some(place), Some(from)) if from.value == way.bus => way.conductors[..=place].to_vec(),
        (Some(place), Some(_)) => way.conductors[place..].to_vec(),
        _ => vec![one],
    }
}

/// Resistances between banks and the fault in which they send most through a conductor: right where it begins, unless that is
/// a contact, which nothing passes before it is passed whole. What comes back by one passed all of a line in any case.
pub(super) fn to_the_worst_place(build: &Build<'_>, line: &[usize], one: usize) -> Vec<InputId> {
    use Written::{Busbar, Cable, Foil, LaminatedBusbar};
    let has_length = matches!(written(build, one), Some(Busbar(_) | LaminatedBusbar(_) | Foil(_) | Cable(_)));
    let passed = line.iter().filter(|&&other| other != one || !has_length);
    passed.map(|&other| build.plan.conductors[other].resistance).collect()
}

/// What is written of a conductor, where it could be read.
pub(super) fn written<'d>(build: &Build<'d>, conductor: usize) -> Option<&'d Written> {
    let path = &build.tables.part_of(build.plan.conductors[conductor].part).path;
    build.description.conductors.entry(path)
}

/// Whether a fuse stands in a branch. What could not be read may be one.
pub(super) fn may_be_fused(way: &Way<'_>, build: &Build<'_>) -> bool {
    let may_be = |&k: &usize| fuse_of(build, k).is_some() || written(build, k).is_none();
    way.conductors.iter().any(may_be)
}

/// The fuse that a conductor is.
pub(super) fn fuse_of<'d>(build: &Build<'d>, conductor: usize) -> Option<&'d WrittenFuse> {
    match written(build, conductor) {
        Some(Written::Fuse(fuse)) => Some(fuse),
        _ => None,
    }
}
