//! What the team leaves of each limit, item by item of the checks' vocabulary.

use std::collections::BTreeMap;

use loadworthy_language::{PolicyForm, PolicyItem};
use loadworthy_source::{NodeId, nearest};

use crate::build::{Build, broken};
use crate::origin::Origin;
use crate::table::Stated;
use crate::variant::{PolicyPlaces, PolicyValue};

/// Every item of the vocabulary as it is in force.
pub(crate) fn resolve(build: &Build<'_>, vocabulary: &[&'static PolicyItem]) -> Vec<PolicyValue> {
    let misspelt = misspelt(build, vocabulary);
    vocabulary.iter().map(|item| PolicyValue { item, stated: stated(build, item, &misspelt) }).collect()
}

/// Items that an unknown name of the policy was probably meant to be, each with where that stands: what the team leaves there
/// is not known.
fn misspelt(build: &Build<'_>, vocabulary: &[&'static PolicyItem]) -> BTreeMap<&'static str, NodeId> {
    let names = || vocabulary.iter().map(|item| item.name);
    let unknown = build.description.policy.unread().filter(|(name, _)| names().all(|known| known != *name));
    unknown
        .take(vocabulary.len())
        .filter_map(|(name, entry)| {
            let meant = nearest(name, names())?;
            names().find(|known| *known == meant).map(|known| (known, entry.value))
        })
        .collect()
}

/// Places in a policy by where its items stand in memory.
pub(crate) fn places(policy: &[PolicyValue]) -> PolicyPlaces {
    let stands = |value: &PolicyValue| core::ptr::from_ref(value.item).addr();
    policy.iter().enumerate().map(|(place, value)| (stands(value), place)).collect()
}

fn stated(build: &Build<'_>, item: &'static PolicyItem, misspelt: &BTreeMap<&'static str, NodeId>) -> Stated {
    let policy = &build.description.policy;
    let default = match item.form {
        PolicyForm::UseAtMost { default, .. } | PolicyForm::Keep { default, .. } => default,
    };
    if policy.void {
        return Stated {
            value: f64::NAN,
            origin: policy.at.map_or(Origin::Absent { near: None }, Origin::Broken),
        };
    }
    let Some(entry) = policy.get(item.name) else {
        if let Some(&at) = misspelt.get(item.name) {
            return broken(at);
        }
        // The edition's own derating; who reads `Absent` beside a number knows it as such.
        return Stated { value: default, origin: Origin::Absent { near: policy.at } };
    };
    let Some(read) = entry.read() else { return broken(entry.value) };
    match item.form {
        PolicyForm::UseAtMost { .. } => {
            build.stated(read.use_at_most.as_ref(), Some(entry.value), |ratio| ratio.value())
        }
        PolicyForm::Keep { .. } => build.stated(read.keep.as_ref(), Some(entry.value), |margin| margin.si()),
    }
}
