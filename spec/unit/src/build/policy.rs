//! What the team leaves of each limit, item by item of the checks' vocabulary.

use std::collections::BTreeMap;

use loadworthy_language::quantity::QuantityKind;
use loadworthy_language::{PolicyForm, PolicyItem};
use loadworthy_source::{NodeId, clearly_meant};

use crate::build::{Build, broken};
use crate::origin::Origin;
use crate::table::Stated;
use crate::variant::{PolicyPlaces, PolicyValue};

/// Every item of the vocabulary as it is in force.
pub(crate) fn resolve(build: &Build<'_>, vocabulary: &[&'static PolicyItem]) -> Vec<PolicyValue> {
    let misspelt = misspelt(build, vocabulary);
    vocabulary.iter().map(|item| PolicyValue { item, stated: stated(build, item, &misspelt) }).collect()
}

/// Items that an unknown name of the policy may have been meant to be, each with where that stands: what the team leaves there
/// is not known. Of an item that is stated by its own name it is.
fn misspelt(build: &Build<'_>, vocabulary: &[&'static PolicyItem]) -> BTreeMap<&'static str, NodeId> {
    let policy = &build.description.policy;
    let is_known = |name: &str| vocabulary.iter().any(|item| item.name == name);
    let open = || vocabulary.iter().copied().filter(|item| !policy.contains_key(item.name));
    let unknown = policy.unread().filter(|(name, _)| !is_known(name));
    let mut misspelt = BTreeMap::new();
    for (name, entry) in unknown.take(vocabulary.len()) {
        let clear = clearly_meant(name, open().map(|item| item.name));
        let may_be = |item: &&PolicyItem| match clear {
            Some(clear) => item.name == clear,
            None => may_state(build, item, entry.value),
        };
        open().filter(may_be).for_each(|item| _ = misspelt.entry(item.name).or_insert(entry.value));
    }
    misspelt
}

/// Whether an entry, whatever it is called, may state an item: what it leaves of a limit is of another kind, or cannot be read.
fn may_state(build: &Build<'_>, item: &PolicyItem, entry: NodeId) -> bool {
    let text = |key: &str| {
        let value = build.tree.value_at(entry, &[key])?;
        Some(build.tree.scalar(value).map_or("", |scalar| scalar.text))
    };
    let (share, margin) = (text("use_at_most"), text("keep"));
    match item.form {
        PolicyForm::UseAtMost { .. } => share.is_some() || margin.is_none(),
        PolicyForm::Keep { dimension, .. } => match margin {
            Some(text) => {
                let is = |kind: QuantityKind| kind.read(text).is_ok();
                is(QuantityKind::Plain(dimension)) || !is(QuantityKind::Margin)
            }
            None => share.is_none(),
        },
    }
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
