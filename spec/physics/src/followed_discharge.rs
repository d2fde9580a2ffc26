//! Discharge of a bus that others follow through diodes, each with what it has of its own to discharge it.
//!
//! A follower joins where the falling voltage of the leader meets its own, and both go on as one. Where its own discharge is
//! the faster one, it goes ahead instead: its diode blocks, and the leader goes on alone.

use crate::stored_energy::{self, discharge_time};
use crate::{Capacitance, Law, Power, Voltage};

/// Law of [`time`].
pub static FOLLOWED: Law = Law {
    name: "time of a discharge with what follows through diodes",
    formula: "t = Σ t_k, each ∫C·V·dV/(V²·ΣG + ΣP) over all that have joined, from where one joins or goes ahead to where the next does, at last to 60 V; alone a follower falls by its own G and P",
    validity: "capacitance at the high end of its tolerance; sources and loads off, machines at standstill; one that went ahead does not join again",
    source: stored_energy::DISCHARGE_TIME.source,
};

/// Followers that are told apart; of more nobody knows.
const MOST: usize = 64;
/// Halvings of the stretch in which two voltages meet.
const HALVINGS: usize = 60;
/// Share of a voltage that counts as none.
const ALIKE: f64 = 1e-12;

/// A capacitance with its voltage at the start and what discharges it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charge {
    /// Capacitance in F.
    pub farads: f64,
    /// Voltage at the start in V.
    pub volts: f64,
    /// Conductance across it in S.
    pub conductance: f64,
    /// Power in W that is held.
    pub watts: f64,
}

impl Charge {
    /// The time in s between two voltages.
    fn time(&self, from: f64, to: f64) -> f64 {
        let ends = (Voltage::new(from), Voltage::new(to));
        discharge_time(Capacitance::new(self.farads), ends, self.conductance, Power::new(self.watts)).si()
    }

    /// The voltage that is left after a time, by itself from a start.
    fn left(&self, start: f64, seconds: f64) -> f64 {
        let squared = if self.conductance > 0.0 {
            let held = self.watts / self.conductance;
            (start * start + held) * libm::exp(-2.0 * self.conductance / self.farads * seconds) - held
        } else {
            start * start - 2.0 * self.watts / self.farads * seconds
        };
        // What is not known stays so.
        if squared < 0.0 { 0.0 } else { squared.sqrt() }
    }

    /// The share of its voltage that it loses in a second.
    fn fades(&self, at: f64) -> f64 {
        (self.conductance + self.watts / (at * at)) / self.farads
    }

    fn with(self, other: &Self) -> Self {
        Self {
            farads: self.farads + other.farads,
            conductance: self.conductance + other.conductance,
            watts: self.watts + other.watts,
            ..self
        }
    }

    fn is_known(&self) -> bool {
        [self.farads, self.volts, self.conductance, self.watts].into_iter().all(f64::is_finite)
    }

    fn discharges_itself(&self) -> bool {
        self.conductance > 0.0 || self.watts > 0.0
    }
}

/// What becomes of a follower next.
enum Event {
    Joins(usize),
    GoesAhead(usize),
}

/// Seconds until the leader is down to a voltage; `follower` gives each of so many. Not a number where anything is not known.
/// See [`FOLLOWED`].
pub fn time(leader: Charge, followers: usize, follower: impl Fn(usize) -> Charge, end: f64) -> f64 {
    if followers > MOST || !leader.is_known() || !(0..followers).all(|k| follower(k).is_known()) {
        return f64::NAN;
    }
    let (mut at, mut seconds) = (leader.volts, 0.0);
    let (mut joined, mut ahead) = (0_u64, 0_u64);
    let is_in = |set: u64, k: usize| set >> k & 1 == 1;
    // Each joins once and goes ahead once.
    for _ in 0..=2 * followers {
        let of = |beside: Option<usize>| {
            let others = (0..followers).filter(|&k| is_in(joined, k) && Some(k) != beside);
            others.fold(leader, |all, k| all.with(&follower(k)))
        };
        let (all, mut next, mut event) = (of(None), end, None);
        for k in 0..followers {
            let one = follower(k);
            if is_in(joined, k) {
                let left = goes_ahead(&one, &of(Some(k)), at);
                if left > next {
                    (next, event) = (left, Some(Event::GoesAhead(k)));
                }
            } else if !is_in(ahead, k) {
                // No diode lets one stand above the leader.
                let start = if one.volts < leader.volts { one.volts } else { leader.volts };
                let meets = meets(&one, start, &all, (at, seconds, end));
                if meets > next {
                    (next, event) = (meets, Some(Event::Joins(k)));
                }
            }
        }
        seconds += all.time(at, next);
        at = next;
        match event {
            Some(Event::Joins(k)) => joined |= 1 << k,
            Some(Event::GoesAhead(k)) => (joined, ahead) = (joined & !(1 << k), ahead | 1 << k),
            None => break,
        }
    }
    seconds
}

/// The voltage from which one that has joined falls faster by itself than the others do; nothing where it never does.
fn goes_ahead(one: &Charge, others: &Charge, at: f64) -> f64 {
    if !one.discharges_itself() {
        return 0.0;
    }
    if one.fades(at) > others.fades(at) * (1.0 + ALIKE) {
        return at;
    }
    let by_power = one.watts / one.farads - others.watts / others.farads;
    let by_conductance = others.conductance / others.farads - one.conductance / one.farads;
    if by_power > 0.0 && by_conductance > 0.0 { (by_power / by_conductance).sqrt() } else { 0.0 }
}

/// The voltage at which the leader, at `at` after some seconds, meets a follower that began at `start`; nothing where it does
/// not before the end.
fn meets(one: &Charge, start: f64, all: &Charge, (at, seconds, end): (f64, f64, f64)) -> f64 {
    let above = |volts: f64| one.left(start, seconds + all.time(at, volts)) - volts;
    if above(at) >= -ALIKE * at {
        // Both stand alike: they go on as one where the leader would fall faster.
        return if one.fades(at) <= all.fades(at) { at } else { 0.0 };
    }
    if !one.discharges_itself() {
        return start;
    }
    if above(end) <= 0.0 {
        return 0.0;
    }
    let (mut low, mut high) = (end, at);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if above(middle) > 0.0 { low = middle } else { high = middle }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;

    const END: f64 = 60.0;

    fn charge(farads: f64, volts: f64, ohms: f64, watts: f64) -> Charge {
        Charge { farads, volts, conductance: 1.0 / ohms, watts }
    }

    /// Small steps in time; the diode holds the follower at least as low as the leader.
    fn stepped(mut leader: Charge, mut follower: Charge, step: f64) -> f64 {
        let mut seconds = 0.0;
        let amps = |one: &Charge| {
            one.conductance * one.volts + if one.volts > 0.0 { one.watts / one.volts } else { 0.0 }
        };
        while leader.volts > END {
            let (own, other) = (amps(&leader), amps(&follower));
            let alone =
                (leader.volts - own / leader.farads * step, follower.volts - other / follower.farads * step);
            if alone.0 < alone.1 {
                let shared =
                    (leader.farads * alone.0 + follower.farads * alone.1) / (leader.farads + follower.farads);
                (leader.volts, follower.volts) = (shared, shared);
            } else {
                (leader.volts, follower.volts) = (alone.0, if alone.1 > 0.0 { alone.1 } else { 0.0 });
            }
            seconds += step;
        }
        seconds
    }

    #[test]
    fn what_follows_joins_or_goes_ahead_as_in_small_steps() {
        let inf = f64::INFINITY;
        for (leader, follower, step) in [
            // Without anything of its own, with little, with as much as lets it join late, and gone before.
            (charge(5e-4, 700.0, 40e3, 0.0), charge(4e-4, 400.0, inf, 0.0), 1e-3),
            (charge(5e-4, 700.0, 40e3, 0.0), charge(4e-4, 400.0, 400e3, 0.0), 1e-3),
            (charge(5e-4, 700.0, 40e3, 0.0), charge(4e-4, 400.0, 70e3, 0.0), 1e-3),
            (charge(5e-4, 700.0, 40e3, 0.0), charge(4e-4, 400.0, 400.0, 0.0), 1e-3),
            // With power held: a follower that has gone before, and two that join, of which one goes ahead again.
            (charge(5e-4, 700.0, 1e6, 200.0), charge(4e-4, 400.0, 400.0, 0.0), 1e-6),
            (charge(5e-4, 700.0, 1e6, 200.0), charge(4e-4, 400.0, 4e3, 0.0), 1e-6),
            (charge(5e-4, 500.0, 400.0, 20.0), charge(4e-4, 490.0, 4e4, 100.0), 1e-6),
            (charge(5e-4, 400.0, 40e3, 0.0), charge(4e-4, 400.0, 400e3, 0.0), 1e-3),
            (charge(5e-4, 400.0, 40e3, 0.0), charge(4e-4, 400.0, 400.0, 0.0), 1e-3),
        ] {
            let (found, by_hand) = (time(leader, 1, |_| follower, END), stepped(leader, follower, step));
            assert!((found / by_hand - 1.0).abs() < 1e-3, "{leader:?} {follower:?}: {found} of {by_hand}");
        }
    }

    #[test]
    fn what_is_not_known_leaves_the_time_open() {
        let leader = charge(5e-4, 700.0, 40e3, 0.0);
        assert!(time(leader, 1, |_| charge(f64::NAN, 400.0, 40e3, 0.0), END).is_nan());
        assert!(time(leader, 1, |_| charge(4e-4, f64::NAN, 40e3, 0.0), END).is_nan());
        assert!(time(leader, 1, |_| charge(4e-4, 400.0, f64::NAN, 0.0), END).is_nan());
        assert!((time(leader, 0, |_| leader, END) - leader.time(700.0, END)).abs() < 1e-12);
    }
}
