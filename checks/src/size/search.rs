//! Finds the smallest sizes that hold: first a point that holds, then down from it.
//!
//! Down goes one size after another in the order of the objectives, each as far as everything holds beside the others as
//! they stand, round after round until none of them can be one step smaller. What no size mends is spared: it may stay
//! as it is, but not get worse.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::Kind;
use super::sized::{Ladder, Sized, Sizing, Spared};
use super::tried::{Identity, Stop, Tried};
use crate::list::by_name;
use crate::verdict::Grade;

/// How much worse a spared failure may get and still count as it was: a tenth of a per cent of what is allowed, or of a
/// kelvin. Everything is joined to everything by some millivolts or millikelvins.
const SAME: f64 = 1e-3;

/// Finds the smallest sizes.
///
/// `order` names the choices in the order of the objectives, `grade` is the lowest grade of failure that counts, and
/// `bench` solves and judges the description with the sizes at some places.
pub fn size(
    ladders: &[Ladder],
    order: &[usize],
    grade: Grade,
    bench: &mut dyn FnMut(&[usize]) -> Tried,
) -> Sized {
    let at = ladders.iter().map(|ladder| ladder.start).collect();
    let mut search = Search {
        ladders,
        order,
        grade,
        bench,
        at,
        known: BTreeMap::new(),
        spared: BTreeMap::new(),
        open: BTreeSet::new(),
        best: BTreeMap::new(),
    };
    search.mend();
    search.spare();
    search.descend();
    while search.reshape() {
        search.descend();
    }
    search.result()
}

struct Search<'s> {
    ladders: &'s [Ladder],
    order: &'s [usize],
    grade: Grade,
    bench: &'s mut dyn FnMut(&[usize]) -> Tried,
    at: Vec<usize>,
    known: BTreeMap<Vec<usize>, Rc<Tried>>,
    /// What no size mends, with how bad it is.
    spared: BTreeMap<Identity, f64>,
    /// What is not judged, where the way down begins.
    open: BTreeSet<Identity>,
    /// Of each failure the least and the best rank that it had, with where that was.
    best: BTreeMap<Identity, Seen>,
}

/// What a size might mend.
struct Trouble {
    failing: BTreeSet<Identity>,
    /// Not judged, because a number is outside a range.
    beyond: BTreeSet<Identity>,
}

impl Trouble {
    fn len(&self) -> usize {
        self.failing.len() + self.beyond.len()
    }
}

/// What may be given for less trouble.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Price {
    Nothing,
    /// Something more is asked that cannot be judged, for want of an input that was not needed before.
    Questions,
}

/// Whether a stop is one of a check that holds figures against what is allowed.
fn compares(stop: &Stop) -> bool {
    by_name(stop.check).is_none_or(|check| check.compares())
}

/// Whether a stop is one of a check of what hangs on the coolant.
fn feels_the_coolant(stop: &Stop) -> bool {
    by_name(stop.check).is_none_or(|check| check.feels_the_coolant())
}

/// Whether a stop is one of a check of what fuses let through and leave flowing.
fn holds_fuses(stop: &Stop) -> bool {
    by_name(stop.check).is_none_or(|check| check.holds_fuses())
}

struct Seen {
    worst: f64,
    best: Stop,
    at: Vec<usize>,
}

impl Search<'_> {
    fn tried(&mut self, at: &[usize]) -> Rc<Tried> {
        if let Some(known) = self.known.get(at) {
            return Rc::clone(known);
        }
        let tried = Rc::new((self.bench)(at));
        for (identity, stop) in &tried.failing {
            match self.best.get_mut(identity) {
                Some(seen) => {
                    seen.worst = seen.worst.min(stop.rank);
                    if seen.best.rank < stop.rank {
                        (seen.best, seen.at) = (stop.clone(), at.to_vec());
                    }
                }
                None => {
                    let seen = Seen { worst: stop.rank, best: stop.clone(), at: at.to_vec() };
                    self.best.insert(identity.clone(), seen);
                }
            }
        }
        self.known.insert(at.to_vec(), Rc::clone(&tried));
        tried
    }

    fn counts(&self, stop: &Stop) -> bool {
        stop.grade.is_some_and(|grade| grade <= self.grade)
    }

    /// What does not hold at some places, worst first.
    fn stops(&mut self, at: &[usize]) -> Vec<Stop> {
        let tried = self.tried(at);
        let is_spared = |identity: &Identity, stop: &Stop| {
            let known = self.spared.get(identity);
            known.is_some_and(|&rank| stop.rank >= rank - SAME)
        };
        let failing = tried.failing.iter();
        let failing = failing.filter(|(identity, stop)| self.counts(stop) && !is_spared(identity, stop));
        let open = tried.open.iter().filter(|(identity, _)| !self.open.contains(*identity));
        // What failed before and does a little more is not what stops it, where something else is.
        let failed = |identity: &Identity| self.spared.contains_key(identity);
        let mut stops: Vec<(bool, Stop)> =
            failing.chain(open).map(|(identity, stop)| (failed(identity), stop.clone())).collect();
        stops.sort_by(|(failed, one), (also_failed, other)| {
            by_grade(one, other).then(failed.cmp(also_failed)).then(one.rank.total_cmp(&other.rank))
        });
        stops.into_iter().map(|(_, stop)| stop).collect()
    }

    /// What a size might mend at some places: failures that compare a figure, and what is not judged because a number is
    /// outside the range that a curve or a law covers.
    fn trouble(&mut self, at: &[usize]) -> Trouble {
        let tried = self.tried(at);
        let failing = tried.failing.iter().filter(|(_, stop)| self.counts(stop) && compares(stop));
        let beyond = tried.open.iter().filter(|(_, stop)| stop.is_beyond && compares(stop));
        Trouble {
            failing: failing.map(|(identity, _)| identity.clone()).collect(),
            beyond: beyond.map(|(identity, _)| identity.clone()).collect(),
        }
    }

    /// Goes where less fails, as long as any single size leads there.
    fn mend(&mut self) {
        self.mend_singly();
        if self.trouble(&self.at.clone()).failing.is_empty() {
            return;
        }
        // A larger fuse asks for larger sections behind it: with those there, it may be what mends.
        let before = self.at.clone();
        for (own, ladder) in self.ladders.iter().enumerate() {
            if ladder.kind == Kind::Sections {
                self.at[own] = ladder.sizes - 1;
            }
        }
        let lifted = self.at.clone();
        if lifted != before && self.is_no_worse(&before, &lifted) {
            self.mend_singly();
        }
        if self.at == lifted {
            self.at = before;
        }
    }

    /// First what raises no question that cannot be answered; only then what does. What can no longer be judged is not mended.
    fn mend_singly(&mut self) {
        while self.mend_one(Price::Nothing) || self.mend_one(Price::Questions) {}
    }

    /// Whether nothing fails at some places that does not at others.
    fn is_no_worse(&mut self, from: &[usize], at: &[usize]) -> bool {
        let (from, to) = (self.tried(from), self.tried(at));
        to.failing.iter().all(|(identity, stop)| !self.counts(stop) || from.failing.contains_key(identity))
    }

    /// Whether everything that is judged at some places is judged at others.
    fn is_judged(&mut self, from: &[usize], at: &[usize]) -> bool {
        let (from, to) = (self.tried(from), self.tried(at));
        to.open.keys().all(|identity| from.open.contains_key(identity))
    }

    /// Whether no less is judged at some places than at others.
    fn judges_as_much(&mut self, from: &[usize], at: &[usize]) -> bool {
        let (from, to) = (self.tried(from), self.tried(at));
        from.judged <= to.judged
    }

    /// One size to where less fails and nothing new does; says whether there is one.
    fn mend_one(&mut self, price: Price) -> bool {
        let from = self.at.clone();
        let trouble = self.trouble(&from);
        if trouble.len() == 0 {
            return false;
        }
        let is_near = |ladder: &Ladder| {
            let mut all = trouble.failing.iter().chain(&trouble.beyond);
            all.any(|identity| ladder.near.iter().any(|near| identity.is_at(near)))
        };
        // What comes last among the objectives is given first.
        let (near, far): (Vec<usize>, Vec<usize>) =
            self.order.iter().rev().partition(|&&own| is_near(&self.ladders[own]));
        for own in near.into_iter().chain(far) {
            let (start, last) = (from[own], self.ladders[own].sizes - 1);
            let most = if self.ceiling(own).is_some() { 0 } else { last - start };
            let up = reaching(most).map(|step| start + step);
            // A fuse too large protects nothing: down mends as well.
            let down = if self.ladders[own].kind == Kind::Fuses { start } else { 0 };
            let steps: Vec<usize> = up.chain(reaching(down).map(|step| start - step)).collect();
            for place in steps {
                let mut at = from.clone();
                at[own] = place;
                let is_less = self.trouble(&at).len() < trouble.len();
                let is_asked = price == Price::Questions && self.judges_as_much(&from, &at);
                let is_free = is_asked || self.is_judged(&from, &at);
                if is_less && is_free && self.is_no_worse(&from, &at) {
                    self.at = at;
                    return true;
                }
            }
        }
        false
    }

    /// Below which place a size does not go, and why: what is not judged of it might be what stops it.
    fn floor(&mut self, own: usize) -> Option<(usize, Stop)> {
        let tried = self.tried(&self.at.clone());
        let ladder = &self.ladders[own];
        let waits = tried.open.iter().find(|(identity, stop)| {
            let is_felt = ladder.kind == Kind::Flow && feels_the_coolant(stop)
                || ladder.near.iter().any(|near| identity.is_at(near));
            compares(stop) && is_felt
        });
        // What a conductor fails by at every section says nothing of how small it may be.
        let fails = tried.failing.iter().find(|(identity, stop)| {
            let is_own = ladder.near.iter().any(|near| identity.is_at(near));
            ladder.kind == Kind::Sections && is_own && compares(stop) && self.spared.contains_key(*identity)
        });
        let stop = waits.or(fails)?.1;
        Some((ladder.start.min(self.at[own]), stop.clone()))
    }

    /// Why a fuse does not go above where it is: what is not judged of it and of what it protects might be what stops it.
    fn ceiling(&mut self, own: usize) -> Option<Stop> {
        let tried = self.tried(&self.at.clone());
        let ladder = &self.ladders[own];
        let mut all = tried.open.iter().filter(|_| ladder.kind == Kind::Fuses);
        let waits = all.find(|(identity, stop)| {
            holds_fuses(stop) && ladder.near.iter().any(|near| identity.is_at(near))
        });
        waits.map(|(_, stop)| stop.clone())
    }

    /// What still fails is spared from here on, and what is not judged need not be.
    fn spare(&mut self) {
        let tried = self.tried(&self.at.clone());
        let failing = tried.failing.iter().filter(|(_, stop)| self.counts(stop));
        self.spared = failing.map(|(identity, stop)| (identity.clone(), stop.rank)).collect();
        self.open = tried.open.keys().cloned().collect();
    }

    /// Every size as far down as everything holds, round after round until none moves.
    fn descend(&mut self) {
        loop {
            let before = self.at.clone();
            for &own in self.order {
                self.lower(own);
            }
            if self.at == before {
                return;
            }
        }
    }

    /// One size as far down as everything holds.
    fn lower(&mut self, own: usize) {
        let from = self.at[own];
        let floor = self.floor(own).map_or(0, |(floor, _)| floor);
        self.at[own] = from - self.reach(own, from - floor, |step| from - step);
    }

    /// Every section to the shape with the least copper; says whether any became another. Wider copper sheds more heat
    /// than thicker, and where one side alone goes down it may end with a narrow thick one.
    fn reshape(&mut self) -> bool {
        let before = self.at.clone();
        for wide in 0..self.ladders.len() {
            let Some(thin) = self.ladders[wide].thickness else { continue };
            if self.floor(wide).is_some() || self.floor(thin).is_some() {
                continue;
            }
            while self.reshape_one(wide, thin) {
                self.lower(wide);
                self.lower(thin);
            }
        }
        self.at != before
    }

    /// One section to another shape with less copper; says whether there is one.
    fn reshape_one(&mut self, wide: usize, thin: usize) -> bool {
        let from = self.at.clone();
        let (widths, sides) = (&self.ladders[wide].values, &self.ladders[thin].values);
        let copper = |width: usize, side: usize| widths[width] * sides[side];
        let now = copper(from[wide], from[thin]) * (1.0 - 1e-9);
        for side in (0..from[thin]).rev().chain((from[thin] + 1..sides.len()).take(1)) {
            // Of those with less copper the widest holds first.
            let Some(width) = (0..widths.len()).rev().find(|&width| copper(width, side) < now) else {
                continue;
            };
            let mut at = from.clone();
            (at[wide], at[thin]) = (width, side);
            if self.stops(&at).is_empty() {
                self.at = at;
                return true;
            }
        }
        false
    }

    /// The largest size of a fuse up to which everything holds, and what does not beyond.
    fn largest(&mut self, own: usize) -> (usize, Vec<Stop>) {
        let (from, last) = (self.at[own], self.ladders[own].sizes - 1);
        if let Some(stop) = self.ceiling(own).filter(|_| from < last) {
            return (from, vec![stop]);
        }
        let largest = from + self.reach(own, last - from, |step| from + step);
        if largest == last {
            return (largest, Vec::new());
        }
        let mut at = self.at.clone();
        at[own] = largest + 1;
        (largest, self.stops(&at))
    }

    /// How many steps of one size hold, beside the others as they stand: one step, two, four, then halves. The next step
    /// fails where there is one.
    fn reach(&mut self, own: usize, most: usize, place: impl Fn(usize) -> usize) -> usize {
        let mut at = self.at.clone();
        let mut holds = |search: &mut Self, step: usize| {
            at[own] = place(step);
            search.stops(&at).is_empty()
        };
        let (mut high, mut fails) = (0, None);
        for step in reaching(most) {
            if !holds(self, step) {
                fails = Some(step);
                break;
            }
            high = step;
        }
        while let Some(beyond) = fails.filter(|&beyond| high + 1 < beyond) {
            let middle = (high + beyond).div_euclid(2);
            if holds(self, middle) {
                high = middle;
            } else {
                fails = Some(middle);
            }
        }
        high
    }

    fn result(mut self) -> Sized {
        let choices = (0..self.ladders.len()).map(|own| {
            let mut smaller = self.at.clone();
            let smaller = match smaller[own].checked_sub(1) {
                Some(below) => {
                    smaller[own] = below;
                    self.stops(&smaller)
                }
                None => Vec::new(),
            };
            let waits = self
                .floor(own)
                .filter(|(floor, _)| *floor == self.at[own] && 0 < *floor && smaller.is_empty());
            let largest = (self.ladders[own].kind == Kind::Fuses).then(|| self.largest(own));
            Sizing { at: self.at[own], smaller, waits: waits.map(|(_, stop)| stop), largest }
        });
        let choices: Vec<Sizing> = choices.collect();
        let last = self.tried(&self.at.clone());
        let start: Vec<usize> = self.ladders.iter().map(|ladder| ladder.start).collect();
        let described = self.tried(&start);
        let new = last.failing.iter().filter(|(identity, _)| !described.failing.contains_key(*identity));
        let mut lesser: Vec<Stop> =
            new.filter(|(_, stop)| !self.counts(stop)).map(|(_, stop)| stop.clone()).collect();
        lesser.sort_by(|one, other| by_grade(one, other).then(one.rank.total_cmp(&other.rank)));
        let spared = last.failing.iter().filter(|(_, stop)| self.counts(stop)).map(|(identity, now)| {
            let seen = self.best.get(identity);
            let changes = |seen: &&Seen| seen.best.rank > seen.worst + SAME;
            let best = seen.filter(changes).map(|seen| (seen.best.clone(), seen.at.clone()));
            Spared { now: now.clone(), best }
        });
        Sized {
            choices,
            spared: spared.collect(),
            lesser,
            open: last.open.values().cloned().collect(),
            broken: last.broken.clone(),
            judges_a_duty_point: last.judges_a_duty_point,
            tried: self.known.len(),
        }
    }
}

/// The graver of two first, and what has no grade last.
fn by_grade(one: &Stop, other: &Stop) -> core::cmp::Ordering {
    let grade = |stop: &Stop| stop.grade.map_or(u8::MAX, |grade| grade as u8);
    grade(one).cmp(&grade(other))
}

/// One step, two, four and so on, up to so many, the last of which is among them.
fn reaching(most: usize) -> impl Iterator<Item = usize> {
    let doubled = core::iter::successors(Some(1), |step: &usize| step.checked_mul(2));
    doubled.take_while(move |&step| step < most).chain((most > 0).then_some(most))
}

#[cfg(test)]
mod tests;
