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

/// Places of failures in a variant that no permit accepts, by check and defect.
type Failing = BTreeMap<(&'static str, &'static str), Vec<usize>>;

fn failing((variant, verdicts): (usize, &[Verdict]), accepted: &BTreeMap<(usize, usize), usize>) -> Failing {
    let mut failing = Failing::new();
    for (place, one) in verdicts.iter().enumerate().filter(|(_, one)| one.fails()) {
        if !accepted.contains_key(&(variant, place)) {
            failing.entry((one.check, one.defect)).or_default().push(place);
        }
    }
    failing
}

/// The failure with which another one is told, where no permit accepts it, as its place.
fn told_elsewhere(
    own: &Verdict,
    solved: &Solved<'_>,
    (verdicts, failing): (&[Verdict], &Failing),
) -> Option<usize> {
    let with = by_name(own.check)?.told_with(own, solved);
    with.into_iter().find_map(|with| {
        let mut all = failing.get(&(with.check, with.defect))?.iter().copied();
        all.find(|&place| with.part.is_none_or(|part| part == verdicts[place].part))
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
    let failing: Vec<Failing> =
        verdicts.iter().enumerate().map(|(v, own)| failing((v, own), accepted)).collect();
    let mut ranked: Vec<Ranked<'u>> = Vec::new();
    // Where what is told elsewhere is told, and the worst of it.
    let mut along: BTreeMap<(Key<'u>, usize), (usize, usize)> = BTreeMap::new();
    for (key, group) in groups {
        let mut by_permit: BTreeMap<Option<usize>, Group> = BTreeMap::new();
        for (v, places) in group {
            for place in places {
                let own = &verdicts[v][place];
                if let Some(with) = told_elsewhere(own, &solved[v], (&verdicts[v], &failing[v])) {
                    let worst = along.entry((key, v)).or_insert((place, with));
                    if is_worse(own, &verdicts[v][worst.0]) {
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
