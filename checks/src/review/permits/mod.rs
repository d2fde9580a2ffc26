//! Findings that are accepted beforehand, on record.
//!
//! One permit accepts one finding: failures of one check with one defect and one cause, in every part that the finding
//! names and whose limit no entry of its own states. It is bounded by its duty point, its variant, its last day, the figure
//! of `up_to` and the parts of `only`. What lies beyond is a finding again. A permit that names several findings accepts none
//! of them, because nobody has said which it is for. Several permits of one finding that each list parts of it accept
//! together what they list. What could not be judged is never accepted.

mod bound;
mod scope;
mod telling;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use loadworthy_unit::{PartId, Permit, Variant};

use super::group::{Group, Key};
use crate::list::by_name;
use crate::verdict::{Fault, Verdict};

pub use bound::asks_at_least;
use bound::{Within, within};
use scope::{Scope, covers};
pub(super) use telling::findings;
pub use telling::word as kind_word;

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
    /// For each accepted failure, by variant and place, the permit that accepts it, the first of several together.
    pub(super) accepted: BTreeMap<(usize, usize), usize>,
    /// For a permit, the others that accept with it what none of them does alone.
    pub(super) together: BTreeMap<usize, Vec<usize>>,
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
    let named = permits.iter().map(|permit| {
        let own = groups.iter().filter(|(key, group)| names(permit, key, group, variants, verdicts));
        own.map(|(key, group)| (*key, group)).collect()
    });
    let named: Vec<Vec<(Key<'u>, &Group)>> = named.collect();
    for (place, permit) in permits.iter().enumerate() {
        let mut beside = (0..permits.len()).filter(|&other| {
            let is_same =
                named[place].len() == 1 && named[other].len() == 1 && named[other][0].0 == named[place][0].0;
            other != place && is_same && lists_alone(permit, on) && lists_alone(&permits[other], on)
        });
        let beside: Vec<(usize, &Permit)> = beside.by_ref().map(|other| (other, &permits[other])).collect();
        let is_same = |other: &usize| match (named[place].as_slice(), named[*other].as_slice()) {
            ([own], [one]) => own.0 == one.0,
            _ => false,
        };
        let lapsed = (0..permits.len()).filter(|other| permits[*other].until < on && is_same(other));
        let lapsed: Vec<&Permit> = lapsed.map(|other| &permits[other]).collect();
        let case = Case { permit, place, beside, lapsed, on, variants, verdicts, taken: &all.accepted };
        let state = case.effect(&named[place]);
        let keys: Vec<Key<'u>> = named[place].iter().map(|(key, _)| *key).collect();
        for key in &keys {
            if let Some(standing) = state.standing.filter(|standing| *standing != Standing::Accepts) {
                all.open.entry(*key).or_insert(OnRecord { permit: place, standing });
            }
        }
        for &(failure, by) in &state.accepts {
            all.accepted.entry(failure).or_insert(by);
            if by != place {
                let with = all.together.entry(by).or_default();
                if !with.contains(&place) {
                    with.push(place);
                }
            }
        }
        let (standing, worst, named) = (state.standing, state.worst, state.named);
        all.states.push(State { keys, standing, worst, named, is_left_to_others: false });
    }
    for (permit, state) in permits.iter().zip(&mut all.states) {
        let mut named = state.keys.iter().filter_map(|key| groups.get(key));
        state.is_left_to_others = named.all(|group| {
            let scope = Scope::of(permit, group, variants, verdicts);
            places(group).all(|(v, place)| {
                all.accepted.contains_key(&(v, place)) || !scope.has(&verdicts[v][place], &variants[v])
            })
        });
    }
    all
}

/// Whether a permit that is in force accepts parts by name, and no figure: several such accept together.
fn lists_alone(permit: &Permit, on: Date) -> bool {
    on <= permit.until && permit.only.is_some() && permit.up_to.is_none()
}

/// What a permit does to the findings that it names.
#[derive(Default)]
struct Effect<'u> {
    standing: Option<Standing>,
    /// Failures, each with the permit that is told with it: itself, or the first of several that accept it together.
    accepts: Vec<((usize, usize), usize)>,
    worst: Option<(usize, usize)>,
    named: BTreeSet<&'u str>,
}

/// A permit on a day, and what is accepted already.
struct Case<'a, 'u> {
    permit: &'a Permit,
    place: usize,
    /// Others that name the same finding and accept parts of it by name.
    beside: Vec<(usize, &'a Permit)>,
    /// Others that named the same finding until their last day.
    lapsed: Vec<&'a Permit>,
    on: Date,
    variants: &'u [Variant],
    verdicts: &'a [Vec<Verdict>],
    taken: &'a BTreeMap<(usize, usize), usize>,
}

impl<'u> Case<'_, 'u> {
    fn effect(&self, named: &[(Key<'_>, &Group)]) -> Effect<'u> {
        let Self { permit, verdicts, variants, .. } = *self;
        let none = |standing| Effect { standing: Some(standing), ..Effect::default() };
        let group = match named {
            [] => return Effect::default(),
            [_] if permit.until < self.on => return none(Standing::Expired),
            [(_, group)] => *group,
            _ => return none(Standing::TooBroad),
        };
        let mut effect = Effect::default();
        let mut worst: BTreeMap<Within, (usize, usize)> = BTreeMap::new();
        let scope = Scope::of(permit, group, variants, verdicts);
        for (&v, places) in group {
            for &place in places.iter().filter(|&&place| scope.has(&verdicts[v][place], &variants[v])) {
                let verdict = &verdicts[v][place];
                let is_listed = self.is_listed(verdict, &variants[v]);
                let by = match self.taken.get(&(v, place)) {
                    Some(&first) if is_listed && self.beside.iter().any(|&(one, _)| one == first) => first,
                    Some(_) => continue,
                    None => self.place,
                };
                let within = if is_listed { within(permit, verdict) } else { Within::Beyond };
                if within == Within::Beyond && self.has_lapsed(verdict, &variants[v]) {
                    // Nothing is worse than it was: that another one has ended is told of that.
                    effect.standing = Some(Standing::Accepts);
                    continue;
                }
                if matches!(verdict.fault(), Some(Fault::Structural)) {
                    let names = parts_of(verdict).iter().map(|&part| variants[v].path(part));
                    effect
                        .named
                        .extend(names.filter(|name| !self.beside.iter().any(|(_, one)| lists(one, name))));
                }
                if within == Within::Bound {
                    effect.accepts.push(((v, place), by));
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

    /// Whether all that a failure is about is listed: by the permit, or by it and others together.
    fn is_listed(&self, verdict: &Verdict, variant: &Variant) -> bool {
        let mut parts = parts_of(verdict).iter().map(|&part| variant.path(part));
        parts.any(|name| lists(self.permit, name)) && self.is_listed_by(&[], verdict, variant)
    }

    /// Whether it is by the permit, others beside it and some more together.
    fn is_listed_by(&self, more: &[&Permit], verdict: &Verdict, variant: &Variant) -> bool {
        let beside = || self.beside.iter().map(|(_, one)| one).chain(more);
        let by_any = |name: &str| {
            lists(self.permit, name) || beside().any(|one| covers(one, verdict, variant) && lists(one, name))
        };
        parts_of(verdict).iter().all(|&part| by_any(variant.path(part)))
    }

    /// Whether permits that have ended accepted a failure until then, alone or with those that have not.
    fn has_lapsed(&self, verdict: &Verdict, variant: &Variant) -> bool {
        let accepted =
            |one: &&&Permit| covers(one, verdict, variant) && within(one, verdict) == Within::Bound;
        let lapsed: Vec<&Permit> = self.lapsed.iter().filter(accepted).copied().collect();
        !lapsed.is_empty() && self.is_listed_by(&lapsed, verdict, variant)
    }
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

/// The parts that a verdict is about.
fn parts_of(verdict: &Verdict) -> &[PartId] {
    verdict.names.as_deref().map_or(core::slice::from_ref(&verdict.part), Vec::as_slice)
}

/// Whether a permit accepts a part of a finding: any, where it does not say which.
fn lists(permit: &Permit, name: &str) -> bool {
    permit.only.as_ref().is_none_or(|only| only.value.iter().any(|one| is_at(&one.value, name)))
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
