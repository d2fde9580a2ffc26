//! The order that leaves the most headroom, every candidate solved anew.
//!
//! The heat that the coolant has taken up by the time it leaves a place is what that place costs those behind it. So the
//! row is filled from its outlet: last goes the place that has the most headroom with all heat of the row before it, and
//! so on towards the inlet. That is the best order while losses are fixed; as they change with temperature, exchanges of two
//! places follow as long as they help.

use std::collections::BTreeMap;

use loadworthy_unit::plan::CoolantLeg;
use loadworthy_unit::{LaneState, Reordered};

use super::rows::{Junction, Row, place_of};

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
    /// The junction with the least headroom: a member of the row, and one of its junctions.
    pub(super) fn tightest(&self) -> Option<(usize, usize)> {
        self.legs.iter().min_by(|one, other| one.kelvins.total_cmp(&other.kelvins))?.at
    }

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

    /// Headroom in an order that was solved.
    pub(super) fn headroom(&self, order: &Order) -> Headroom {
        let unknown = Least { kelvins: f64::NEG_INFINITY, at: None };
        self.known.get(order).cloned().unwrap_or(Headroom { legs: vec![unknown; self.row.legs] })
    }

    /// Whether orders are known; what the search waits for where they are not.
    fn know(&self, orders: &[Order]) -> Result<(), Wanted> {
        let mut new: Vec<Order> = Vec::new();
        for order in orders {
            if !self.known.contains_key(order) && !new.contains(order) {
                new.push(order.clone());
            }
        }
        if new.is_empty() { Ok(()) } else { Err(Wanted(new)) }
    }

    /// Takes in how a member stands in an order.
    fn take(&self, m: usize, reordered: &Reordered, legs: &mut [Least]) {
        for (j, one) in self.junctions[m].iter().enumerate() {
            // What had a solution and has none in this order is as hot as can be.
            let is_lost = !matches!(reordered.state(one.lane), LaneState::Solved { .. });
            let hot = reordered.figure(one.temperature, one.lane);
            let left =
                if is_lost { f64::NEG_INFINITY } else { hot.map_or(f64::NAN, |hot| one.allowed - hot) };
            legs[one.leg].take(left, (m, j));
        }
    }

    /// Kelvins that the tightest junction gains at most in any order: first of the row it would see the coolant as it
    /// arrives, and what that takes from it grows by the loop gain of its lane. None where that is not known.
    pub(super) fn most_gain(&self, (member, junction): (usize, usize)) -> Option<f64> {
        let (_, solved, row) = *self.row.members.get(member)?;
        let Junction { leg, lane, .. } = *self.junctions.get(member)?.get(junction)?;
        let path = solved.variant.plan.coolant.as_ref()?;
        let legs = path.row(row);
        let Some(before) = leg.checked_sub(1) else { return Some(0.0) };
        let arrives = match *legs.get(before)? {
            CoolantLeg::Place(place) => path.places[place].coolant_out,
            CoolantLeg::Split(split) => path.splits[split].outlet,
        };
        let inlet = place_of(path, *legs.first()?)?.coolant_in;
        let warming = solved.figure(arrives, lane)? - solved.figure(inlet, lane)?;
        match solved.state(lane) {
            LaneState::Solved { loop_gain } if loop_gain < 1.0 => Some(warming.max(0.0) / (1.0 - loop_gain)),
            _ => None,
        }
    }

    /// The best order that is found, and its headroom. Where it gains as much as is worth a word, an order that does as
    /// well and is nearer to the described one is preferred.
    fn best(&self, worth: f64) -> Result<(Order, Headroom), Wanted> {
        let (described, filled) = (self.order(), self.filled()?);
        let helps = self.least(&filled)? > self.least(&described)? + EQUAL;
        let mut best = self.exchanged(if helps { filled } else { described })?;
        let enough = self.least(&best)?;
        if enough - self.least(&self.order())? >= worth {
            let moves = self.moves();
            self.know(&moves)?;
            let does = |order: &Order| self.headroom(order).least() >= enough - EQUAL;
            if let Some(single) = moves.into_iter().find(does) {
                best = single;
            }
        }
        let headroom = self.headroom(&best);
        Ok((best, headroom))
    }

    /// The least headroom in an order.
    fn least(&self, order: &Order) -> Result<f64, Wanted> {
        self.know(core::slice::from_ref(order))?;
        Ok(self.headroom(order).least())
    }

    /// Fills the places that may be exchanged from the outlet.
    fn filled(&self) -> Result<Order, Wanted> {
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
            self.know(&trials)?;
            let merit = |k: usize| self.headroom(&trials[k]).legs[left[k]].kelvins;
            // Of equals the one that is described last stays last.
            let mut chosen = left.len() - 1;
            for k in (0..left.len() - 1).rev() {
                if merit(k) > merit(chosen) + EQUAL {
                    chosen = k;
                }
            }
            order.clone_from(&trials[chosen]);
            left.remove(chosen);
        }
        Ok(order)
    }

    /// Exchanges two places as long as that helps; each time the two whose exchange helps most.
    fn exchanged(&self, from: Order) -> Result<Order, Wanted> {
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
            self.know(&trials)?;
            let mut best: Option<(f64, Order)> = None;
            let now = self.least(&order)?;
            for trial in trials {
                let least = self.headroom(&trial).least();
                if least > best.as_ref().map_or(now, |(least, _)| *least) + EQUAL {
                    best = Some((least, trial));
                }
            }
            match best {
                Some((_, better)) => order = better,
                None => return Ok(order),
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

/// Orders that must be solved before a search can go on.
struct Wanted(Vec<Order>);

/// The best order of each row. What one row wants to know next is solved together with what the others want: rows that are
/// searched together must not feel each other's order.
pub(super) fn search(benches: &mut [Bench<'_, '_, '_>], worth: f64) -> Vec<(Order, Headroom)> {
    let mut found: Vec<Option<(Order, Headroom)>> = benches.iter().map(|_| None).collect();
    loop {
        let mut wanted: Vec<(usize, Vec<Order>)> = Vec::new();
        for (k, (bench, found)) in benches.iter().zip(&mut found).enumerate() {
            if found.is_none() {
                match bench.best(worth) {
                    Ok(best) => *found = Some(best),
                    Err(Wanted(orders)) => wanted.push((k, orders)),
                }
            }
        }
        if wanted.is_empty() {
            return found.into_iter().flatten().collect();
        }
        solve(benches, &wanted);
    }
}

/// Solves what is wanted, one order of each row at a time.
fn solve(benches: &mut [Bench<'_, '_, '_>], wanted: &[(usize, Vec<Order>)]) {
    let nothing =
        |(k, orders): &(usize, Vec<Order>)| vec![vec![Least::NONE; benches[*k].row.legs]; orders.len()];
    let mut legs: Vec<Vec<Vec<Least>>> = wanted.iter().map(nothing).collect();
    let most = wanted.iter().map(|(_, orders)| orders.len()).max().unwrap_or(0);
    // The rows of each variant: which of those that want something, and which of its members that is.
    let mut of_variant: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
    for (w, (k, _)) in wanted.iter().enumerate() {
        for (m, (v, ..)) in benches[*k].row.members.iter().enumerate() {
            of_variant.entry(*v).or_default().push((w, m));
        }
    }
    for rows in of_variant.values() {
        let member = |&(w, m): &(usize, usize)| &benches[wanted[w].0].row.members[m];
        let Some((_, solved, _)) = rows.first().map(member) else { continue };
        let trial = |round: usize| -> Vec<_> {
            let order = |row: &(usize, usize)| Some((member(row).2, wanted[row.0].1.get(round)?.as_slice()));
            rows.iter().filter_map(order).collect()
        };
        let mut round = 0;
        solved.reordered_together((0..most).map(trial), |reordered| {
            for &(w, m) in rows {
                if let Some(legs) = legs[w].get_mut(round) {
                    benches[wanted[w].0].take(m, &reordered, legs);
                }
            }
            round += 1;
        });
    }
    for ((k, orders), legs) in wanted.iter().zip(legs) {
        let legs = legs.into_iter().map(|legs| Headroom { legs });
        benches[*k].known.extend(orders.iter().cloned().zip(legs));
    }
}
