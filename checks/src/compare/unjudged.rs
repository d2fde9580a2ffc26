//! Missing inputs that are new, and those that are missing no more.

use std::collections::HashSet;

use foldhash::fast::FixedState;

use super::Side;
use super::names::Names;
use crate::review::NotJudged;

/// A missing input on one side alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnjudgedChange {
    /// Whether it is missing now and was not before; otherwise the other way round.
    pub is_new: bool,
    /// Its place in the `not_judged` of the review that it is missing in.
    pub place: usize,
    /// The paths of it that are missing on this side alone; none where it is no path.
    pub paths: Vec<String>,
}

pub(super) fn changes(old: Side<'_>, new: Side<'_>, names: &Names<'_>) -> Vec<UnjudgedChange> {
    let now = |path: &str| names.renamed(path).into_owned();
    let as_is = |path: &str| path.to_owned();
    let olds = missing(&old.review.not_judged, &now);
    let news = missing(&new.review.not_judged, &as_is);
    let mut changes = only(&new.review.not_judged, &olds, &as_is, true);
    changes.extend(only(&old.review.not_judged, &news, &now, false));
    changes
}

/// What is missing: paths, and sentences where there is none.
fn missing(all: &[NotJudged], now: &dyn Fn(&str) -> String) -> HashSet<String, FixedState> {
    let said = |one: &NotJudged| match one.paths.as_slice() {
        [] => vec![now(&one.missing)],
        paths => paths.iter().map(|path| now(path)).collect(),
    };
    all.iter().flat_map(said).collect()
}

fn only(
    all: &[NotJudged],
    others: &HashSet<String, FixedState>,
    now: &dyn Fn(&str) -> String,
    is_new: bool,
) -> Vec<UnjudgedChange> {
    let one = |(place, one): (usize, &NotJudged)| {
        let lacks = |path: &str| !others.contains(&now(path));
        let paths = one.paths.iter().filter(|path| lacks(path)).cloned().collect::<Vec<_>>();
        let is_one = if one.paths.is_empty() { lacks(&one.missing) } else { !paths.is_empty() };
        is_one.then_some(UnjudgedChange { is_new, place, paths })
    };
    all.iter().enumerate().filter_map(one).collect()
}
