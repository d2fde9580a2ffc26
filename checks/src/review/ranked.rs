//! All failures by cause, in the order in which they are told.

use std::collections::BTreeMap;

use loadworthy_unit::Unit;

use super::group::{Group, Key, worst};
use super::permits::{Applied, OnRecord, Standing};
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
}

impl Ranked<'_> {
    pub(super) fn is_open(&self) -> bool {
        self.permit.is_none_or(|of| of.standing != Standing::Accepts)
    }
}

/// Whether a failure is told with another of its part, which no permit accepts.
fn is_told_elsewhere(
    check: &str,
    variant: usize,
    place: usize,
    verdicts: &[Vec<Verdict>],
    accepted: &BTreeMap<(usize, usize), usize>,
) -> bool {
    let own = &verdicts[variant][place];
    let Some(other) = by_name(check).and_then(|check| check.told_with(own.defect)) else { return false };
    verdicts[variant].iter().enumerate().any(|(place, one)| {
        (one.check, one.part, one.defect) == (own.check, own.part, other)
            && one.fails()
            && !accepted.contains_key(&(variant, place))
    })
}

/// All failures by cause: gravest first, then the least headroom, then by path. What a permit accepts stands apart from
/// the rest of its group.
pub(super) fn ranked<'u>(
    unit: &Unit,
    groups: BTreeMap<Key<'u>, Group>,
    verdicts: &[Vec<Verdict>],
    Applied { accepted, open, together, .. }: &Applied<'u>,
) -> Vec<Ranked<'u>> {
    let mut ranked: Vec<Ranked<'u>> = Vec::new();
    for (key, group) in groups {
        let mut by_permit: BTreeMap<Option<usize>, Group> = BTreeMap::new();
        for (v, places) in group {
            for place in places {
                if is_told_elsewhere(key.check, v, place, verdicts, accepted) {
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
                ranked.push(Ranked { key, group, permit, beside, variant, worst });
            }
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
