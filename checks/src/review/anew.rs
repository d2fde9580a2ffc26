//! Judges trials of a described unit: a check that a trial answers to the bit as the description did is not asked again.

use core::iter;
use core::ops::Range;
use std::borrow::Cow;

use loadworthy_unit::side_by_side::side_by_side;
use loadworthy_unit::{Asked, Solved};

use super::judge::{Broke, judge_one};
use crate::check::Check;
use crate::verdict::Verdict;

/// A unit as it is described, how every check judges it, and what each asked for that.
pub(super) struct Described<'s, 'u> {
    pub(super) checks: &'s [&'static dyn Check],
    pub(super) solved: &'s [Solved<'u>],
    pub(super) verdicts: &'s [Vec<Verdict>],
    /// Of each check and variant; none where the check broke down.
    asked: &'s [Vec<Option<Asked>>],
    /// Where the verdicts of each check stand, for each variant.
    places: Vec<Vec<Range<usize>>>,
}

impl<'s, 'u> Described<'s, 'u> {
    pub(super) fn new(
        checks: &'s [&'static dyn Check],
        solved: &'s [Solved<'u>],
        verdicts: &'s [Vec<Verdict>],
        asked: &'s [Vec<Option<Asked>>],
    ) -> Self {
        let places = verdicts.iter().map(|verdicts| {
            let mut end = 0;
            let of_check = checks.iter().map(|check| {
                let (start, name) = (end, check.about().name);
                end += verdicts[start..].iter().take_while(|verdict| verdict.check == name).count();
                start..end
            });
            of_check.collect()
        });
        Self { checks, solved, verdicts, asked, places: places.collect() }
    }

    /// The verdicts of a check on a variant as it is described.
    pub(super) fn verdicts_of(&self, check: usize, variant: usize) -> &'s [Verdict] {
        &self.verdicts[variant][self.places[variant][check].clone()]
    }

    /// All verdicts on a trial of one variant, beside the others as they are described, and the checks that broke down.
    pub(super) fn try_one(&self, own: usize, trial: &Solved<'_>) -> (Judged<'s>, Vec<Broke>) {
        let is_large = trial.variant.is_worth_all_cores();
        let (anew, broken) = self.try_each(own, trial, |k, anew| match is_large {
            true => OfCheck::beside(self.verdicts_of(k, own), anew),
            false => OfCheck::anew(anew),
        });
        let described = |k| OfCheck::said(self.verdicts_of(k, own));
        let all = anew.into_iter().enumerate();
        (Judged(all.map(|(k, anew)| anew.unwrap_or_else(|| described(k))).collect()), broken)
    }

    /// What becomes of the verdicts of each check on a trial; none of those that say what they say of the description. Of a
    /// large unit those of two checks and no more are there at once.
    pub(super) fn try_each<T: Send>(
        &self,
        own: usize,
        trial: &Solved<'_>,
        become_of: impl Fn(usize, Vec<Verdict>) -> T + Sync,
    ) -> (Vec<Option<T>>, Vec<Broke>) {
        let mut all: Vec<&Solved<'_>> = self.solved.iter().collect();
        all[own] = trial;
        let moved = self.moved(&all);
        let judge = |&k: &usize| {
            let mut broken = Vec::new();
            let is_anew = self.is_asked_anew(k, &moved);
            let of_check = is_anew.then(|| become_of(k, self.judge_anew(k, own, &all, &mut broken)));
            (of_check, broken)
        };
        let checks: Vec<usize> = (0..self.checks.len()).collect();
        let (of_checks, broken): (Vec<_>, Vec<_>) = if trial.variant.is_worth_all_cores() {
            side_by_side(&checks, judge).into_iter().unzip()
        } else {
            checks.iter().map(judge).unzip()
        };
        let mut broken = broken.concat();
        broken.sort_by_key(|one: &Broke| one.variant);
        (of_checks, broken)
    }

    /// All variants of which some are tried, and how one of them was judged beside the others as they are described.
    pub(super) fn try_all<'j>(
        &'j self,
        all: &[&Solved<'_>],
        (own, judged): (usize, &'j Judged<'s>),
    ) -> (Vec<Judged<'j>>, Vec<Broke>) {
        let moved = self.moved(all);
        let mut verdicts: Vec<Judged<'j>> = all.iter().map(|_| Judged(Vec::new())).collect();
        let mut broken = Vec::new();
        for (k, check) in self.checks.iter().enumerate() {
            let is_together = check.judges_variants_together() && self.is_asked_anew(k, &moved);
            for (v, verdicts) in verdicts.iter_mut().enumerate() {
                let is_anew = is_together || v != own && self.is_met(k, v, &moved);
                verdicts.0.push(match (is_anew, v == own) {
                    (true, _) => OfCheck::anew(self.judge_anew(k, v, all, &mut broken)),
                    (false, true) => judged.0[k].again(),
                    (false, false) => OfCheck::said(self.verdicts_of(k, v)),
                });
            }
        }
        broken.sort_by_key(|one: &Broke| one.variant);
        (verdicts, broken)
    }

    /// What a check says of one variant beside the others.
    fn judge_anew(&self, k: usize, own: usize, all: &[&Solved<'_>], broken: &mut Vec<Broke>) -> Vec<Verdict> {
        let room = self.verdicts_of(k, own).len();
        let (mut judged, broke) = judge_one(self.checks[k], all, |v| (v == own).then_some(room));
        broken.extend(broke);
        judged.swap_remove(own)
    }

    /// What each variant answers otherwise than described; none where that may be anything.
    fn moved(&self, all: &[&Solved<'_>]) -> Vec<Option<Asked>> {
        let each = all.iter().zip(self.solved);
        let nothing = || Some(Asked::default());
        each.map(
            |(&tried, described)| {
                if core::ptr::eq(tried, described) { nothing() } else { tried.moved_from(described) }
            },
        )
        .collect()
    }

    fn is_asked_anew(&self, check: usize, moved: &[Option<Asked>]) -> bool {
        (0..moved.len()).any(|v| self.is_met(check, v, moved))
    }

    /// Whether a check asked something of a variant that this answers otherwise now.
    fn is_met(&self, check: usize, variant: usize, moved: &[Option<Asked>]) -> bool {
        match (&self.asked[check][variant], &moved[variant]) {
            (Some(asked), Some(moved)) => asked.meets(moved),
            _ => true,
        }
    }
}

/// All verdicts on a trial, check by check.
pub(super) struct Judged<'s>(Vec<OfCheck<'s>>);

impl Judged<'_> {
    /// What one check says.
    pub(super) fn of_check(&self, check: &str) -> impl Iterator<Item = &Verdict> {
        let is_its_own =
            move |of_check: &&OfCheck<'_>| of_check.iter().next().is_some_and(|one| one.check == check);
        self.0.iter().filter(is_its_own).flat_map(OfCheck::iter)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &Verdict> {
        self.0.iter().flat_map(OfCheck::iter)
    }

    pub(super) fn len(&self) -> usize {
        self.0.iter().map(OfCheck::len).sum()
    }
}

/// What one check says of a trial.
struct OfCheck<'s> {
    all: Cow<'s, [Verdict]>,
    /// What stands in place of some of them, in order.
    but: Cow<'s, [Instead]>,
}

/// Verdicts in place of others.
#[derive(Clone)]
struct Instead {
    of: Range<usize>,
    verdicts: Vec<Verdict>,
}

impl<'s> OfCheck<'s> {
    /// What it says of the description as well, or of the same trial before.
    const fn said(all: &'s [Verdict]) -> Self {
        Self { all: Cow::Borrowed(all), but: Cow::Borrowed(&[]) }
    }

    const fn anew(all: Vec<Verdict>) -> Self {
        Self { all: Cow::Owned(all), but: Cow::Borrowed(&[]) }
    }

    /// The same, where what it says of the description stays and only what differs is kept: in a large unit a change reaches
    /// little. Where it asks or drops something, all between the first and the last of these is kept.
    fn beside(described: &'s [Verdict], anew: Vec<Verdict>) -> Self {
        let about = |(one, other): &(&Verdict, &Verdict)| {
            (one.part, one.duty(), one.defect) == (other.part, other.duty(), other.defect)
        };
        let start = described.iter().zip(&anew).take_while(about).count();
        let rest = described[start..].iter().rev().zip(anew[start..].iter().rev());
        let end = rest.take_while(about).count();
        let (asked, other) = (start..described.len() - end, anew.len() - end - start);
        let mut but: Vec<Instead> = Vec::new();
        let mut anew = anew.into_iter();
        differing(0, described, anew.by_ref().take(start), &mut but);
        let verdicts: Vec<Verdict> = anew.by_ref().take(other).collect();
        let after = asked.end;
        if !(asked.is_empty() && verdicts.is_empty()) {
            but.push(Instead { of: asked, verdicts });
        }
        differing(after, described, anew, &mut but);
        Self { all: Cow::Borrowed(described), but: but.into() }
    }

    fn again(&self) -> OfCheck<'_> {
        OfCheck { all: Cow::Borrowed(&self.all), but: Cow::Borrowed(&self.but) }
    }

    fn len(&self) -> usize {
        let gone: usize = self.but.iter().map(|one| one.of.len()).sum();
        let come: usize = self.but.iter().map(|one| one.verdicts.len()).sum();
        self.all.len() - gone + come
    }

    fn iter(&self) -> impl Iterator<Item = &Verdict> {
        let from = iter::once(0).chain(self.but.iter().map(|one| one.of.end));
        let to = self.but.iter().map(|one| one.of.start).chain([self.all.len()]);
        let instead = self.but.iter().map(|one| one.verdicts.as_slice()).chain([&[][..]]);
        from.zip(to).zip(instead).flat_map(|((from, to), instead)| self.all[from..to].iter().chain(instead))
    }
}

/// Those that differ from what stands at their places, from one on.
fn differing(
    from: usize,
    described: &[Verdict],
    anew: impl Iterator<Item = Verdict>,
    but: &mut Vec<Instead>,
) {
    for (place, one) in (from..).zip(anew) {
        if one == described[place] {
            continue;
        }
        match but.last_mut().filter(|last| last.of.end == place) {
            Some(last) => {
                last.of.end = place + 1;
                last.verdicts.push(one);
            }
            None => but.push(Instead { of: place..place + 1, verdicts: vec![one] }),
        }
    }
}
