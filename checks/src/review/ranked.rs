//! All failures by cause, in the order in which they are told.

use std::collections::BTreeMap;

use loadworthy_unit::{Solved, Unit};

use super::group::{Group, Key, worst};
use super::permits::{Applied, OnRecord, Standing};
use crate::collect::is_worse;
use crate::list::by_name;
use crate::verdict::{Outcome, Verdict};

/// Failures of one cause, as far as one permit accepts them or none does, with the worst.
pub(super) struct Ranked<'u> {
    pub(super) key: Key<'u>,
    pub(super) group: Group,
    /// The permit that accepts them, or how one stands to them that does not.
    pub(super) permit: Option<OnRecord>,
    /// Others that accept them together with it.
    pub(super) beside: Vec<usize>,
    pub(super) variant: usize,
    pub(super) worst: usize,
    /// Failures that are told with it: the worst of each cause, by variant and place.
    pub(super) along: Vec<(usize, usize)>,
}

impl Ranked<'_> {
    pub(super) fn is_open(&self) -> bool {
        self.permit.is_none_or(|of| of.standing != Standing::Accepts)
    }
}

/// The failure with which another one is told, where no permit accepts it, as its place.
fn told_elsewhere(
    (variant, place): (usize, usize),
    (solved, verdicts): (&[Solved<'_>], &[Vec<Verdict>]),
    accepted: &BTreeMap<(usize, usize), usize>,
) -> Option<usize> {
    let own = &verdicts[variant][place];
    let with = by_name(own.check)?.told_with(own, &solved[variant]);
    with.into_iter().find_map(|with| {
        let is_it = |one: &Verdict| {
            (one.check, one.defect) == (with.check, with.defect)
                && with.part.is_none_or(|part| part == one.part)
                && one.fails()
        };
        let mut all = verdicts[variant].iter().enumerate().filter(|(_, one)| is_it(one));
        all.find(|(place, _)| !accepted.contains_key(&(variant, *place))).map(|(place, _)| place)
    })
}

/// All failures by cause: gravest first, then the least headroom, then by path. What a permit accepts stands apart from
/// the rest of its group.
pub(super) fn ranked<'u>(
    unit: &Unit,
    groups: BTreeMap<Key<'u>, Group>,
    (solved, verdicts): (&[Solved<'_>], &[Vec<Verdict>]),
    Applied { accepted, open, together, .. }: &Applied<'u>,
) -> Vec<Ranked<'u>> {
    let mut ranked: Vec<Ranked<'u>> = Vec::new();
    // Where what is told elsewhere is told, and the worst of it.
    let mut along: BTreeMap<(Key<'u>, usize), (usize, usize)> = BTreeMap::new();
    for (key, group) in groups {
        let mut by_permit: BTreeMap<Option<usize>, Group> = BTreeMap::new();
        for (v, places) in group {
            for place in places {
                if let Some(with) = told_elsewhere((v, place), (solved, verdicts), accepted) {
                    let worst = along.entry((key, v)).or_insert((place, with));
                    if is_worse(&verdicts[v][place], &verdicts[v][worst.0]) {
                        *worst = (place, with);
                    }
                    continue;
                }
                let part = by_permit.entry(accepted.get(&(v, place)).copied()).or_default();
                part.entry(v).or_default().push(place);
            }
        }
        for (permit, group) in by_permit {
            let accepts = permit.map(|permit| OnRecord { permit, standing: Standing::Accepts });
            let permit = accepts.or_else(|| open.get(&key).copied());
            if let Some((variant, worst)) = worst(&group, verdicts) {
                let beside = permit.filter(|of| of.standing == Standing::Accepts);
                let beside = beside.and_then(|of| together.get(&of.permit).cloned()).unwrap_or_default();
                ranked.push(Ranked { key, group, permit, beside, variant, worst, along: Vec::new() });
            }
        }
    }
    for ((key, v), (place, with)) in along {
        let holds = |one: &&mut Ranked<'_>| {
            one.is_open() && one.group.get(&v).is_some_and(|places| places.contains(&with))
        };
        // A cause is told along once, whatever variants have it.
        let is_new = |one: &Ranked<'_>| {
            let known = |&(v, place): &(usize, usize)| Key::of(&verdicts[v][place], &unit.variants[v]) == key;
            !one.along.iter().any(known)
        };
        if let Some(one) = ranked.iter_mut().find(holds).filter(|one| is_new(one)) {
            one.along.push((v, place));
        }
    }
    ranked.sort_by(|one, other| {
        let (a, b) = (&verdicts[one.variant][one.worst], &verdicts[other.variant][other.worst]);
        let grade = |verdict: &Verdict| match verdict.outcome {
            Outcome::Fails { grade, .. } => grade as u8,
            Outcome::Holds(_) | Outcome::NotJudged(_) => u8::MAX,
        };
        let path = |v: usize, verdict: &Verdict| unit.variants[v].path(verdict.part).to_owned();
        grade(a)
            .cmp(&grade(b))
            .then(a.rank().total_cmp(&b.rank()))
            .then_with(|| path(one.variant, a).cmp(&path(other.variant, b)))
            .then_with(|| one.key.cmp(&other.key))
    });
    ranked
}
