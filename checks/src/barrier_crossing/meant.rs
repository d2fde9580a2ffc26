//! Barriers whose `between` names two domains that nothing in their list joins: it is meant for two others.
//!
//! What lacks a barrier is told of the pair that it joins. Where a barrier lists all of it and stands between others, one word of that
//! barrier is wrong, and nothing of what it would have to stand where it says it stands is asked.

use loadworthy_unit::plan::{Crossing, Isolation};

use super::{is_bare, needs_one, ordered, strays};
use crate::isolation::Classes;

/// The two domains that a barrier is meant for as far as its list tells, where these are not those that it names.
pub(crate) fn meant_for(isolation: &Isolation, classes: &Classes, place: usize) -> Option<(usize, usize)> {
    let barrier = &isolation.barriers[place];
    let between = ordered(barrier.between?);
    // What could not be read may join the two, and what a bus took along that left one of them is told of that bus.
    let is_open = !isolation.is_whole || !isolation.unsaid.is_empty();
    if is_open || strays::emptied(isolation, place).is_some() {
        return None;
    }
    let names = barrier.spanned_by.iter().map(|(name, ..)| name.as_str());
    let names: Vec<&str> = names.filter(|name| named(isolation, name).next().is_some()).collect();
    let is_of_another = |one: &Crossing| one.listed_by.iter().any(|&other| other != place);
    let mut here = names.iter().flat_map(|name| named(isolation, name)).filter(|one| one.between == between);
    if here.any(|one| needs_one(isolation, classes, one) && !is_of_another(one)) {
        return None;
    }
    // One name alone may as well be what is listed in the wrong place, unless another barrier between the two lists it already.
    let is_listed_twice =
        |name: &&str| named(isolation, name).any(|one| one.between == between && is_of_another(one));
    if names.len() < 2 && !names.iter().any(is_listed_twice) {
        return None;
    }
    let lacks = |pair: (usize, usize)| {
        let is_it = |one: &Crossing| one.between == pair && is_bare(isolation, classes, one);
        names.iter().all(|name| named(isolation, name).any(is_it))
    };
    let mut pairs = isolation.pairs.iter().map(|pair| pair.between).filter(|&pair| lacks(pair));
    let meant = pairs.next()?;
    pairs.next().is_none().then_some(meant)
}

/// What a list may name so.
fn named<'a>(isolation: &'a Isolation, name: &'a str) -> impl Iterator<Item = &'a Crossing> {
    isolation.crossings.iter().filter(move |one| one.names.iter().any(|own| own == name))
}

/// The first barrier that is meant for two domains and lists all that passes none between them.
pub(super) fn barrier_for(isolation: &Isolation, classes: &Classes, pair: (usize, usize)) -> Option<usize> {
    let bare: Vec<&Crossing> = super::bare(isolation, classes, pair).collect();
    let lists_all = |place: &usize| {
        let listed = &isolation.barriers[*place].spanned_by;
        bare.iter().all(|one| listed.iter().any(|(name, ..)| one.names.contains(name)))
    };
    (0..isolation.barriers.len())
        .find(|place| lists_all(place) && meant_for(isolation, classes, *place) == Some(pair))
}
