//! The order that leaves the most headroom, every candidate solved anew.
//!
//! The heat that the coolant has taken up by the time it leaves a place is what that place costs those behind it. So the
//! row is filled from its outlet: last goes the place that has the most headroom with all heat of the row before it, and
//! so on towards the inlet. That is the best order while losses are fixed; as they change with temperature, exchanges of two
//! places follow as long as they help.

use std::collections::BTreeMap;

use loadworthy_unit::LaneState;

use super::rows::{Junction, Row};

/// Kelvins below which one order is as good as another.
const EQUAL: f64 = 1e-6;

/// An order: for each leg of the row its place in the described one.
pub(super) type Order = Vec<usize>;

/// The least headroom of a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Least {
    /// In K; infinite where nothing is asked of what it cools.
    pub(super) kelvins: f64,
    /// Where that is: a member of the row, and one of its junctions.
    pub(super) at: Option<(usize, usize)>,
}

impl Least {
    const NONE: Self = Self { kelvins: f64::INFINITY, at: None };

    /// Takes in the headroom of a junction; what is not a number is as small as can be.
    fn take(&mut self, kelvins: f64, at: (usize, usize)) {
        let kelvins = if kelvins.is_nan() { f64::NEG_INFINITY } else { kelvins };
        if kelvins < self.kelvins {
            *self = Self { kelvins, at: Some(at) };
        }
    }
}

/// Headroom in an order.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Headroom {
    /// Of each leg, under its place in the described row.
    pub(super) legs: Vec<Least>,
}

impl Headroom {
    /// The least of all.
    pub(super) fn least(&self) -> f64 {
        self.legs.iter().map(|leg| leg.kelvins).fold(f64::INFINITY, f64::min)
    }
}

/// A row with what is known of its orders.
pub(super) struct Bench<'r, 's, 'u> {
    row: &'r Row<'s, 'u>,
    junctions: Vec<Vec<Junction>>,
    known: BTreeMap<Order, Headroom>,
}

impl<'r, 's, 'u> Bench<'r, 's, 'u> {
    /// A row with the junctions of each of its members.
    pub(super) fn new(row: &'r Row<'s, 'u>, junctions: Vec<Vec<Junction>>) -> Self {
        let mut this = Self { row, junctions, known: BTreeMap::new() };
        let described = this.described();
        this.known.insert(this.order(), described);
        this
    }

    /// The described order.
    pub(super) fn order(&self) -> Order {
        (0..self.row.legs).collect()
    }

    /// The junctions of each member.
    pub(super) fn into_junctions(self) -> Vec<Vec<Junction>> {
        self.junctions
    }

    fn described(&self) -> Headroom {
        let mut legs = vec![Least::NONE; self.row.legs];
        for (m, ((_, solved, _), junctions)) in self.row.members.iter().zip(&self.junctions).enumerate() {
            for (j, one) in junctions.iter().enumerate() {
                let left = solved.figure(one.temperature, one.lane).map_or(f64::NAN, |hot| one.allowed - hot);
                legs[one.leg].take(left, (m, j));
            }
        }
        Headroom { legs }
    }

    /// Headroom in an order.
    pub(super) fn headroom(&mut self, order: &Order) -> Headroom {
        self.solve(core::slice::from_ref(order));
        let unknown = Least { kelvins: f64::NEG_INFINITY, at: None };
        self.known.get(order).cloned().unwrap_or(Headroom { legs: vec![unknown; self.row.legs] })
    }

    /// Solves those orders that are not known.
    fn solve(&mut self, orders: &[Order]) {
        let mut new: Vec<Order> = Vec::new();
        for order in orders {
            if !self.known.contains_key(order) && !new.contains(order) {
                new.push(order.clone());
            }
        }
        if new.is_empty() {
            return;
        }
        let mut legs = vec![vec![Least::NONE; self.row.legs]; new.len()];
        for (m, ((_, solved, row), junctions)) in self.row.members.iter().zip(&self.junctions).enumerate() {
            let Some(all) = solved.reordered(*row, &new) else { return };
            for (reordered, legs) in all.iter().zip(&mut legs) {
                for (j, one) in junctions.iter().enumerate() {
                    // What had a solution and has none in this order is as hot as can be.
                    let is_lost = !matches!(reordered.state(one.lane), LaneState::Solved { .. });
                    let hot = reordered.figure(one.temperature, one.lane);
                    let left = if is_lost {
                        f64::NEG_INFINITY
                    } else {
                        hot.map_or(f64::NAN, |hot| one.allowed - hot)
                    };
                    legs[one.leg].take(left, (m, j));
                }
            }
        }
        self.known.extend(new.into_iter().zip(legs.into_iter().map(|legs| Headroom { legs })));
    }

    /// The best order that is found, and its headroom. Where it gains as much as is worth a word, an order that does as
    /// well and is nearer to the described one is preferred.
    pub(super) fn best(&mut self, worth: f64) -> (Order, Headroom) {
        let (described, filled) = (self.order(), self.filled());
        let helps = self.headroom(&filled).least() > self.headroom(&described).least() + EQUAL;
        let better = if helps { filled } else { described };
        let mut best = self.exchanged(better);
        let (described, enough) = (self.headroom(&self.order()).least(), self.headroom(&best).least());
        if enough - described >= worth {
            let moves = self.moves();
            self.solve(&moves);
            let does = |this: &mut Self, order: &Order| this.headroom(order).least() >= enough - EQUAL;
            if let Some(single) = moves.into_iter().find(|order| does(self, order)) {
                best = single;
            }
        }
        let headroom = self.headroom(&best);
        (best, headroom)
    }

    /// Fills the places that may be exchanged from the outlet.
    fn filled(&mut self) -> Order {
        let slots = self.row.movable.clone();
        let mut left = slots.clone();
        let mut order = self.order();
        for slot in (1..slots.len()).rev() {
            // Each that is left stands last of those that are left, and the others before it as they are described.
            let trials: Vec<Order> = left
                .iter()
                .map(|&last| {
                    let mut trial = order.clone();
                    let others = left.iter().copied().filter(|&other| other != last);
                    for (&to, from) in slots[..=slot].iter().zip(others.chain([last])) {
                        trial[to] = from;
                    }
                    trial
                })
                .collect();
            self.solve(&trials);
            let merit = |this: &mut Self, k: usize| this.headroom(&trials[k]).legs[left[k]].kelvins;
            // Of equals the one that is described last stays last.
            let mut chosen = left.len() - 1;
            for k in (0..left.len() - 1).rev() {
                if merit(self, k) > merit(self, chosen) + EQUAL {
                    chosen = k;
                }
            }
            order.clone_from(&trials[chosen]);
            left.remove(chosen);
        }
        order
    }

    /// Exchanges two places as long as that helps; each time the two whose exchange helps most.
    fn exchanged(&mut self, from: Order) -> Order {
        let mut order = from;
        loop {
            let slots = &self.row.movable;
            let pairs = (0..slots.len()).flat_map(|a| (a + 1..slots.len()).map(move |b| (a, b)));
            let swapped = pairs.map(|(a, b)| {
                let mut other = order.clone();
                other.swap(slots[a], slots[b]);
                other
            });
            let trials: Vec<Order> = swapped.collect();
            self.solve(&trials);
            let mut best: Option<(f64, Order)> = None;
            let now = self.headroom(&order).least();
            for trial in trials {
                let least = self.headroom(&trial).least();
                if least > best.as_ref().map_or(now, |(least, _)| *least) + EQUAL {
                    best = Some((least, trial));
                }
            }
            match best {
                Some((_, better)) => order = better,
                None => return order,
            }
        }
    }

    /// Every order that differs from the described one by one place that was put elsewhere.
    fn moves(&self) -> Vec<Order> {
        let slots = &self.row.movable;
        let mut all: Vec<Order> = Vec::new();
        for from in 0..slots.len() {
            for to in (0..slots.len()).filter(|&to| to != from) {
                let mut sequence = slots.clone();
                let moved = sequence.remove(from);
                sequence.insert(to, moved);
                let mut order = self.order();
                for (&slot, leg) in slots.iter().zip(sequence) {
                    order[slot] = leg;
                }
                if !all.contains(&order) {
                    all.push(order);
                }
            }
        }
        all
    }
}
