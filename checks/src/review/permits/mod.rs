//! Findings that are accepted beforehand, on record.
//!
//! One permit accepts one finding: failures of one check with one defect and one cause, in every part that the finding
//! names. It is bounded by its duty point, its variant, its last day, the figure of `up_to` and the parts of `only`. What
//! lies beyond is a finding again. A permit that names several findings accepts none of them, because nobody has said which it is for. What
//! could not be judged is never accepted.

mod telling;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use loadworthy_unit::{PartId, Permit, Variant};

use super::group::{Group, Key};
use crate::list::by_name;
use crate::verdict::{EQUAL_WITHIN, Fault, Outcome, Verdict};

pub(super) use telling::findings;

/// Name under which the findings of this pass are shown.
const NAME: &str = "permits";

/// A permit as it bears on a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OnRecord {
    /// Its place among the permits of the unit.
    pub permit: usize,
    /// How it stands to the finding.
    pub standing: Standing,
}

/// How a permit stands to the finding that it names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It accepts it.
    Accepts,
    /// Its last day is over.
    Expired,
    /// The figure is worse, or more parts are named, than it accepts.
    Exceeded,
    /// It names other findings as well, and so accepts none.
    TooBroad,
    /// Its `up_to` does not fit what is compared.
    Unfit,
}

impl Standing {
    /// The word that a reader sees.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Accepts => "accepted",
            Self::Expired => "expired",
            Self::Exceeded => "exceeded",
            Self::TooBroad => "too broad",
            Self::Unfit => "unfit",
        }
    }
}

/// What the permits come to.
#[derive(Default)]
pub(super) struct Applied<'u> {
    /// For each accepted failure, by variant and place, the permit that accepts it.
    pub(super) accepted: BTreeMap<(usize, usize), usize>,
    /// Findings that a permit names and does not accept, or not all of.
    pub(super) open: BTreeMap<Key<'u>, OnRecord>,
    /// For each permit, the findings that it names and how it stands to them; none where it names nothing that fails.
    states: Vec<State<'u>>,
}

/// What one permit comes to.
struct State<'u> {
    /// The findings that it names.
    keys: Vec<Key<'u>>,
    standing: Option<Standing>,
    /// The worst failure that decides the standing, by variant and place.
    worst: Option<(usize, usize)>,
    /// Of failures without a figure, the parts that they name beside one another.
    named: BTreeSet<&'u str>,
    /// Whether other permits accept all that lies in its scope.
    is_left_to_others: bool,
}

/// Holds every permit against the failures of a unit on a day.
pub(super) fn applied<'u>(
    (permits, variants): (&[Permit], &'u [Variant]),
    on: Date,
    groups: &BTreeMap<Key<'u>, Group>,
    verdicts: &[Vec<Verdict>],
) -> Applied<'u> {
    let mut all = Applied::default();
    for (place, permit) in permits.iter().enumerate() {
        let named = groups.iter().filter(|(key, group)| names(permit, key, group, variants, verdicts));
        let named: Vec<(Key<'u>, &Group)> = named.map(|(key, group)| (*key, group)).collect();
        let state = one(permit, on, &named, variants, verdicts, &all.accepted);
        let keys: Vec<Key<'u>> = named.iter().map(|(key, _)| *key).collect();
        for key in &keys {
            if let Some(standing) = state.standing.filter(|standing| *standing != Standing::Accepts) {
                all.open.entry(*key).or_insert(OnRecord { permit: place, standing });
            }
        }
        all.accepted.extend(state.accepts.into_iter().map(|failure| (failure, place)));
        let (standing, worst, named) = (state.standing, state.worst, state.named);
        all.states.push(State { keys, standing, worst, named, is_left_to_others: false });
    }
    for (permit, state) in permits.iter().zip(&mut all.states) {
        let mut failures = state.keys.iter().filter_map(|key| groups.get(key)).flat_map(places);
        state.is_left_to_others = failures.all(|(v, place)| {
            all.accepted.contains_key(&(v, place)) || !covers(permit, &verdicts[v][place], &variants[v])
        });
    }
    all
}

/// What a permit does to the findings that it names.
#[derive(Default)]
struct Effect<'u> {
    standing: Option<Standing>,
    accepts: Vec<(usize, usize)>,
    worst: Option<(usize, usize)>,
    named: BTreeSet<&'u str>,
}

fn one<'u>(
    permit: &Permit,
    on: Date,
    named: &[(Key<'_>, &Group)],
    variants: &'u [Variant],
    verdicts: &[Vec<Verdict>],
    taken: &BTreeMap<(usize, usize), usize>,
) -> Effect<'u> {
    let none = |standing| Effect { standing: Some(standing), ..Effect::default() };
    let group = match named {
        [] => return Effect::default(),
        [_] if permit.until < on => return none(Standing::Expired),
        [(_, group)] => *group,
        _ => return none(Standing::TooBroad),
    };
    let mut effect = Effect::default();
    let mut worst: BTreeMap<Within, (usize, usize)> = BTreeMap::new();
    for (&v, places) in group {
        for &place in places.iter().filter(|&&place| covers(permit, &verdicts[v][place], &variants[v])) {
            if taken.contains_key(&(v, place)) {
                continue;
            }
            let verdict = &verdicts[v][place];
            let within = match is_listed(permit, verdict, &variants[v]) {
                true => within(permit, verdict),
                false => Within::Beyond,
            };
            if matches!(verdict.fault(), Some(Fault::Structural)) {
                effect.named.extend(parts_of(verdict).iter().map(|&part| variants[v].path(part)));
            }
            if within == Within::Bound {
                effect.accepts.push((v, place));
            }
            let known = worst.entry(within).or_insert((v, place));
            if verdicts[v][place].rank() < verdicts[known.0][known.1].rank() {
                *known = (v, place);
            }
        }
    }
    // A bound that does not fit is a slip in the permit, and outweighs what it would have accepted.
    for (within, standing) in [
        (Within::Unfit, Standing::Unfit),
        (Within::Beyond, Standing::Exceeded),
        (Within::Bound, Standing::Accepts),
    ] {
        if let Some(&worst) = worst.get(&within) {
            effect.standing = Some(standing);
            effect.worst = Some(worst);
            break;
        }
    }
    if effect.standing == Some(Standing::Unfit) {
        effect.accepts.clear();
    }
    effect
}

/// Whether a permit names a finding: its check, its defect where one is stated, and one of its parts, where it is in force.
fn names(
    permit: &Permit,
    key: &Key<'_>,
    group: &Group,
    variants: &[Variant],
    verdicts: &[Vec<Verdict>],
) -> bool {
    let is_check =
        by_name(&permit.check.value).map_or(permit.check.value.as_str(), |c| c.about().name) == key.check;
    let is_defect = permit.defect.as_ref().is_none_or(|defect| defect.value == key.defect);
    is_check
        && is_defect
        && places(group).any(|(v, place)| {
            let verdict = &verdicts[v][place];
            is_at(&permit.part.value, variants[v].path(verdict.part)) && covers(permit, verdict, &variants[v])
        })
}

/// Variant and place of each failure of a group.
fn places(group: &Group) -> impl Iterator<Item = (usize, usize)> {
    group.iter().flat_map(|(&v, places)| places.iter().map(move |&place| (v, place)))
}

/// Whether a path is that of a part or of something in it.
fn is_at(part: &str, path: &str) -> bool {
    path.strip_prefix(part).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// Whether a failure lies in the duty point and variant of a permit. What is so whatever is asked lies in no duty point.
fn covers(permit: &Permit, verdict: &Verdict, variant: &Variant) -> bool {
    let duty = verdict.duty().map(|duty| variant.duties[duty.index()].name.as_str());
    let is_asked = |asked: &str, name: Option<&str>| name == Some(asked);
    permit.duty.as_ref().is_none_or(|asked| is_asked(&asked.value, duty))
        && permit.variant.as_ref().is_none_or(|asked| is_asked(&asked.value, variant.name.as_deref()))
}

/// The parts that a verdict is about.
fn parts_of(verdict: &Verdict) -> &[PartId] {
    verdict.names.as_deref().map_or(core::slice::from_ref(&verdict.part), Vec::as_slice)
}

/// Whether a permit that says which parts it accepts says so of all that a failure is about.
fn is_listed(permit: &Permit, verdict: &Verdict, variant: &Variant) -> bool {
    permit.only.as_ref().is_none_or(|only| {
        let is_said = |&part: &PartId| only.value.iter().any(|one| is_at(&one.value, variant.path(part)));
        parts_of(verdict).iter().all(is_said)
    })
}

/// Where a failure lies to the bound of a permit.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Within {
    Bound,
    Beyond,
    Unfit,
}

fn within(permit: &Permit, verdict: &Verdict) -> Within {
    let Some(up_to) = &permit.up_to else { return Within::Bound };
    let most = |most: Option<f64>, carried: f64| match most {
        None => Within::Unfit,
        Some(most) if carried <= most + EQUAL_WITHIN * most.abs().max(1.0) => Within::Bound,
        Some(_) => Within::Beyond,
    };
    match verdict.outcome {
        Outcome::Fails { fault: Fault::Exceeds(compared), .. } => {
            most(up_to.figure(compared.dimension, compared.limit), compared.carried_value)
        }
        // What has no solution is asked a share of what has one.
        Outcome::Fails { fault: Fault::Unsolved { largest_share }, .. } => {
            most(up_to.share(), 1.0 / largest_share)
        }
        Outcome::Fails { fault: Fault::Structural, .. } | Outcome::Holds(_) | Outcome::NotJudged(_) => {
            Within::Unfit
        }
    }
}

#[cfg(test)]
mod tests {
    use super::is_at;

    #[test]
    fn a_part_holds_what_lies_in_it_and_nothing_that_is_merely_called_alike() {
        assert!(is_at("bridge", "bridge.high_side.u") && is_at("bridge", "bridge"));
        assert!(!is_at("bridge", "bridge_two.high_side") && !is_at("bridge.high_side.u", "bridge.high_side"));
    }
}
