//! What keeps two negative rails apart.

use std::collections::{BTreeMap, VecDeque};

use loadworthy_unit::InputId;
use loadworthy_unit::plan::{GateNode, Plan, RailSplit, Splitter};

use super::potentials::{Gate, node};
use super::tell::MOST_PLACES;
use crate::review::Place;

/// What lies on the shortest way between rails: one line for each branch, and the conductors of all.
#[derive(Default)]
pub(super) struct Apart {
    pub(super) facts: Vec<String>,
    pub(super) places: Vec<Place>,
}

impl Apart {
    /// Between the rails that some gates are driven from, and from one that an output is tied to.
    pub(super) fn of(plan: &Plan, tied_to: Option<&str>, gates: &[Gate]) -> Self {
        let mut rails: Vec<&str> = tied_to.into_iter().collect();
        for rail in gates.iter().filter_map(|&gate| match node(plan, gate) {
            Some(GateNode::Rail(rail)) => Some(rail.as_str()),
            _ => None,
        }) {
            if !rails.contains(&rail) {
                rails.push(rail);
            }
        }
        let mut apart = Self::default();
        let mut seen: Vec<&str> = Vec::new();
        let Some((first, others)) = rails.split_first() else { return apart };
        for split in others.iter().flat_map(|other| way(plan, first, other)) {
            if !seen.contains(&split.branch.as_str()) {
                seen.push(&split.branch);
                apart.add(split);
            }
        }
        apart.places.truncate(MOST_PLACES);
        apart
    }

    fn add(&mut self, split: &RailSplit) {
        let (one, other) = &split.between;
        let names: Vec<String> = split.by.iter().map(|by| format!("the {} `{}`", by.kind, by.name)).collect();
        self.facts.push(format!("between rail {one} and rail {other}: {}", names.join(", ")));
        let place = |by: &Splitter| Place { node: by.at, label: format!("this {} splits the rail", by.kind) };
        self.places.extend(split.by.iter().map(place));
    }
}

/// A branch that could not be read on a way between two rails on which nothing else is known to keep them apart.
pub(super) fn unread(plan: &Plan, from: &str, to: &str) -> Option<InputId> {
    let mut reached: Vec<(&str, Option<InputId>)> = vec![(from, None)];
    let mut next = 0;
    while let Some(&(rail, by)) = reached.get(next) {
        next += 1;
        for split in plan.rail_splits.iter().filter(|split| split.unread.is_some()) {
            let (one, other) = (split.between.0.as_str(), split.between.1.as_str());
            let beyond = match rail {
                rail if rail == one => other,
                rail if rail == other => one,
                _ => continue,
            };
            if !reached.iter().any(|(known, _)| *known == beyond) {
                reached.push((beyond, by.or(split.unread)));
            }
        }
    }
    reached.into_iter().find(|(rail, _)| *rail == to)?.1
}

/// The branches on the shortest way from one rail to another; none where no branch leads there.
fn way<'p>(plan: &'p Plan, from: &str, to: &str) -> Vec<&'p RailSplit> {
    let mut came: BTreeMap<&str, Option<(&str, &'p RailSplit)>> = BTreeMap::from([(from, None)]);
    let mut next = VecDeque::from([from]);
    while let Some(rail) = next.pop_front() {
        for split in &plan.rail_splits {
            let (one, other) = (split.between.0.as_str(), split.between.1.as_str());
            let beyond = match rail {
                rail if rail == one => other,
                rail if rail == other => one,
                _ => continue,
            };
            if !came.contains_key(beyond) {
                came.insert(beyond, Some((rail, split)));
                next.push_back(beyond);
            }
        }
    }
    let mut all = Vec::new();
    let mut rail = to;
    while let Some(Some((before, split))) = came.get(rail) {
        all.push(*split);
        rail = before;
    }
    all.reverse();
    all
}
