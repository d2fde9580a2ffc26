//! Windings and a core that share a case, over time.
//!
//! Each is a body with a loss that is a straight line over its temperature, and a resistance to the case, which holds no
//! heat itself; what holds none follows at once. That is a linear system, and its exponential is exact for a time of any
//! length, whether it settles or not.

#![expect(
    clippy::needless_range_loop,
    reason = "a body is one place in several arrays, and its number says so"
)]

use crate::{HeatCapacity, Law, Time, Volume};

/// Law of [`Over`].
pub static BODIES: Law = Law {
    name: "temperatures of windings and a core over time",
    formula: "C_i·dT_i/dt = a_i + b_i·T_i − (T_i − T_c)/R_i, T_c = T_ref + R_c·Σ (T_i − T_c)/R_i",
    validity: "each one body; the case holds no heat, and what states no heat capacity follows at once; exact for straight losses",
    source: "balance of energy",
};

/// Heat that a cubic metre of a core holds for each kelvin, in J/(m³·K).
const CORE: f64 = 2.5e6;

/// Heat capacity of a core of this volume.
///
/// `C = 2.5 MJ/(m³·K)·V`. Valid: the low side of ferrite, powder and strip (2.5 to 3.9): it warms no faster than this.
/// Source: density and specific heat in data sheets of core materials.
#[inline]
pub fn core_capacity(volume: Volume) -> HeatCapacity {
    HeatCapacity::new(CORE * volume.si())
}

/// Most bodies on one case: three windings and a core.
pub const MOST: usize = 4;

/// A body on a case.
#[derive(Clone, Copy, Debug, Default)]
pub struct Body {
    /// Its loss at 0 °C, in W.
    pub constant: f64,
    /// What each kelvin adds to it, in W/K.
    pub per_kelvin: f64,
    /// From it to the case, in K/W.
    pub to_case: f64,
    /// Heat capacity in J/K; zero of what follows at once.
    pub capacity: f64,
}

impl Body {
    fn holds_heat(&self) -> bool {
        self.capacity > 0.0 && self.to_case > 0.0
    }

    /// One less the gain of its loss over its own resistance; not a number where it runs away at once.
    fn stiffness(&self) -> f64 {
        let stiffness = 1.0 - self.to_case * self.per_kelvin;
        match stiffness {
            _ if self.per_kelvin == 0.0 => 1.0,
            stiffness if stiffness > 0.0 => stiffness,
            _ => f64::NAN,
        }
    }
}

/// The case: what it stands before, in °C, and the resistance to it, in K/W.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// Temperature of plate, coolant or air.
    pub reference: f64,
    /// From the case to it.
    pub resistance: f64,
}

/// What temperatures become after a time: `T' = F·T + g`. See [`BODIES`].
#[derive(Clone, Copy, Debug)]
pub struct Over {
    bodies: [Body; MOST],
    count: usize,
    /// 1/R_i of what holds heat, over what the case comes to.
    from_bodies: [f64; MOST],
    from_rest: f64,
    map: Affine,
}

#[derive(Clone, Copy, Debug)]
struct Affine {
    turns: [[f64; MOST]; MOST],
    adds: [f64; MOST],
}

impl Affine {
    /// This, and then another.
    fn then(&self, other: &Self, count: usize) -> Self {
        let mut both = Self { turns: [[0.0; MOST]; MOST], adds: other.adds };
        for i in 0..count {
            for k in 0..count {
                both.adds[i] += other.turns[i][k] * self.adds[k];
                for j in 0..count {
                    both.turns[i][j] += other.turns[i][k] * self.turns[k][j];
                }
            }
        }
        both
    }
}

/// Terms of the series of a short time.
const TERMS: usize = 9;
/// A time is short where it is less than this part of the fastest time constant.
const SHORT: f64 = 0.1;
/// Doublings of a short time at most.
const DOUBLINGS: usize = 64;

impl Over {
    /// For a time; not a number where the case has no temperature.
    pub fn new(bodies: &[Body], case: Case, time: Time) -> Self {
        let count = bodies.len().min(MOST);
        let mut own = [Body::default(); MOST];
        own[..count].copy_from_slice(&bodies[..count]);
        // What follows at once: a loss of its own for the case, along a line.
        let (mut at_once, mut per_kelvin, mut through) = (0.0, 0.0, 0.0);
        for body in &own[..count] {
            if body.holds_heat() {
                through += 1.0 / body.to_case;
            } else {
                let stiffness = body.stiffness();
                at_once += body.constant / stiffness;
                per_kelvin += body.per_kelvin / stiffness;
            }
        }
        let stiffness = 1.0 + case.resistance * (through - per_kelvin);
        let stiffness = if stiffness > 0.0 { stiffness } else { f64::NAN };
        let mut over = Self {
            bodies: own,
            count,
            from_bodies: [0.0; MOST],
            from_rest: (case.reference + case.resistance * at_once) / stiffness,
            map: Affine { turns: [[0.0; MOST]; MOST], adds: [0.0; MOST] },
        };
        for i in 0..count {
            if own[i].holds_heat() {
                over.from_bodies[i] = case.resistance / (own[i].to_case * stiffness);
            }
        }
        over.map = over.exponential(time.si());
        over
    }

    /// Growth of each temperature for each other one, in 1/s, and without any, in K/s.
    fn rates(&self) -> Affine {
        let mut rates = Affine { turns: [[0.0; MOST]; MOST], adds: [0.0; MOST] };
        for i in (0..self.count).filter(|&i| self.bodies[i].holds_heat()) {
            let body = &self.bodies[i];
            let conducts = 1.0 / body.to_case;
            rates.adds[i] = (body.constant + self.from_rest * conducts) / body.capacity;
            rates.turns[i][i] = (body.per_kelvin - conducts) / body.capacity;
            for j in 0..self.count {
                rates.turns[i][j] += self.from_bodies[j] * conducts / body.capacity;
            }
        }
        rates
    }

    fn exponential(&self, time: f64) -> Affine {
        let rates = self.rates();
        let fastest = rates.turns.iter().flatten().fold(0.0, |most: f64, rate| most.max(rate.abs()));
        let (mut short, mut doublings) = (time, 0);
        while short * fastest > SHORT && doublings < DOUBLINGS {
            short *= 0.5;
            doublings += 1;
        }
        // F = Σ (A·h)^k/k!, g = h·Σ (A·h)^k/(k + 1)!·s, by Horner's rule.
        let mut map = Affine { turns: identity(), adds: rates.adds.map(|rate| rate * short) };
        for term in (1..=TERMS).rev() {
            let (mut turns, mut adds) = (identity(), rates.adds.map(|rate| rate * short));
            let next = (term + 1) as f64;
            for i in 0..self.count {
                for k in 0..self.count {
                    let share = rates.turns[i][k] * short;
                    adds[i] += share * map.adds[k] / next;
                    for j in 0..self.count {
                        turns[i][j] += share * map.turns[k][j] / term as f64;
                    }
                }
            }
            map = Affine { turns, adds };
        }
        for _ in 0..doublings {
            map = map.then(&map, self.count);
        }
        map
    }

    /// The same over twice the time.
    #[must_use]
    pub fn twice(self) -> Self {
        Self { map: self.map.then(&self.map, self.count), ..self }
    }

    /// Temperatures after the time, in °C, of what begins with these; what follows at once has what it settles at beside the
    /// others.
    pub fn step(&self, begin: &[f64; MOST]) -> [f64; MOST] {
        let mut ends = self.map.adds;
        for i in 0..self.count {
            for j in (0..self.count).filter(|&j| self.bodies[j].holds_heat()) {
                ends[i] += self.map.turns[i][j] * begin[j];
            }
        }
        self.beside(&ends)
    }

    /// The same temperatures, with those that follow at once in their place.
    pub fn beside(&self, held: &[f64; MOST]) -> [f64; MOST] {
        let mut all = *held;
        let case = self.case_of(held);
        for (body, now) in self.bodies[..self.count].iter().zip(&mut all) {
            if !body.holds_heat() {
                *now = (case + body.to_case * body.constant) / body.stiffness();
            }
        }
        all
    }

    /// Temperature of the case beside these.
    fn case_of(&self, held: &[f64; MOST]) -> f64 {
        let from = self.from_bodies[..self.count].iter().zip(held).filter(|(share, _)| **share != 0.0);
        from.map(|(share, now)| share * now).sum::<f64>() + self.from_rest
    }

    /// The temperatures in which a cycle begins that consists of this time and another, and returns to where it began; not
    /// numbers where it does not.
    pub fn returning(&self, other: &Self) -> [f64; MOST] {
        let cycle = self.map.then(&other.map, self.count);
        let held: [bool; MOST] = core::array::from_fn(|i| i < self.count && self.bodies[i].holds_heat());
        // (1 − F)·T = g, by elimination; what holds no heat stays out.
        let mut rows = [[0.0; MOST + 1]; MOST];
        for (i, row) in rows.iter_mut().enumerate() {
            for j in 0..MOST {
                let unit = f64::from(u8::from(i == j));
                row[j] = if held[i] && held[j] { unit - cycle.turns[i][j] } else { unit };
            }
            row[MOST] = if held[i] { cycle.adds[i] } else { 0.0 };
        }
        for i in 0..MOST {
            let pivot = rows[i][i];
            let own = rows[i].map(|each| each / pivot);
            rows[i] = own;
            for row in rows.iter_mut().enumerate().filter(|&(k, _)| k != i).map(|(_, row)| row) {
                let share = row[i];
                row.iter_mut().zip(&own).for_each(|(each, own)| *each -= share * own);
            }
        }
        core::array::from_fn(|i| rows[i][MOST])
    }
}

fn identity() -> [[f64; MOST]; MOST] {
    core::array::from_fn(|i| core::array::from_fn(|j| f64::from(u8::from(i == j))))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A winding of 40 W that grow by 0.1 W/K, and a core of 25 W, on 0.3 K/W before 60 °C.
    const BODIES: [Body; 2] = [
        Body { constant: 40.0, per_kelvin: 0.1, to_case: 0.5, capacity: 120.0 },
        Body { constant: 25.0, per_kelvin: 0.0, to_case: 0.8, capacity: 400.0 },
    ];
    const CASE: Case = Case { reference: 60.0, resistance: 0.3 };

    /// By small explicit steps.
    fn stepped(bodies: &[Body], mut now: [f64; MOST], lasts: f64) -> [f64; MOST] {
        let step = 1e-3;
        for _ in 0..(lasts / step).round() as usize {
            let conducts: f64 = bodies.iter().map(|body| 1.0 / body.to_case).sum();
            let flows: f64 = bodies.iter().zip(&now).map(|(body, now)| now / body.to_case).sum();
            let case = (CASE.reference + CASE.resistance * flows) / (1.0 + CASE.resistance * conducts);
            for (body, now) in bodies.iter().zip(&mut now) {
                let net = body.constant + body.per_kelvin * *now - (*now - case) / body.to_case;
                *now += step * net / body.capacity;
            }
        }
        now
    }

    #[test]
    fn it_is_what_small_steps_give() {
        for lasts in [0.5, 20.0, 300.0] {
            let begin = [60.0, 60.0, 0.0, 0.0];
            let over = Over::new(&BODIES, CASE, Time::new(lasts)).step(&begin);
            let expected = stepped(&BODIES, begin, lasts);
            for (found, expected) in over.iter().zip(&expected).take(2) {
                assert!((found - expected).abs() < 2e-3, "{lasts} s: {found} against {expected}");
            }
        }
    }

    #[test]
    fn after_a_long_time_it_has_settled() {
        // Core: P = 25; winding 40 + 0.1·T. With T_c = 60 + 0.3·(P_w + 25), T = T_c + 0.5·P_w: P_w = 40 + 0.1·(67.5 + 0.8·P_w).
        let winding: f64 = 46.75 / 0.92;
        let case = 60.0 + 0.3 * (winding + 25.0);
        let over = Over::new(&BODIES, CASE, Time::new(1e6)).step(&[20.0, 150.0, 0.0, 0.0]);
        assert!((over[0] - (case + 0.5 * winding)).abs() < 1e-6, "{}", over[0]);
        assert!((over[1] - (case + 0.8 * 25.0)).abs() < 1e-6, "{}", over[1]);
    }

    #[test]
    fn what_holds_no_heat_follows_at_once() {
        let light = [BODIES[0], Body { capacity: 0.0, ..BODIES[1] }];
        let over = Over::new(&light, CASE, Time::new(1e6)).step(&[60.0, f64::NAN, 0.0, 0.0]);
        let both = Over::new(&BODIES, CASE, Time::new(1e6)).step(&[60.0, 60.0, 0.0, 0.0]);
        assert!((over[0] - both[0]).abs() < 1e-6 && (over[1] - both[1]).abs() < 1e-6);
        let soon = Over::new(&light, CASE, Time::new(1e-6)).step(&[60.0, f64::NAN, 0.0, 0.0]);
        // 25 W of the core at once through 0.3 K/W beside the winding's 0.5 K/W, and 0.8 K/W of its own.
        let case = (60.0 + 0.3 * (60.0 / 0.5 + 25.0)) / (1.0 + 0.3 / 0.5);
        assert!((soon[1] - (case + 20.0)).abs() < 1e-3, "{}", soon[1]);
    }

    #[test]
    fn a_cycle_returns_to_where_it_began() {
        let idle = BODIES.map(|body| Body { constant: 0.0, per_kelvin: 0.0, ..body });
        let (on, off) = (Over::new(&BODIES, CASE, Time::new(20.0)), Over::new(&idle, CASE, Time::new(60.0)));
        let begins = on.returning(&off);
        let ends = off.step(&on.step(&begins));
        let mut now = [60.0, 60.0, 0.0, 0.0];
        for _ in 0..60 {
            now = stepped(&idle, stepped(&BODIES, now, 20.0), 60.0);
        }
        for k in 0..2 {
            assert!((begins[k] - ends[k]).abs() < 1e-9);
            assert!((begins[k] - now[k]).abs() < 0.05, "{} against {}", begins[k], now[k]);
        }
    }

    #[test]
    fn from_below_it_never_passes_where_it_settles() {
        let settled = Over::new(&BODIES, CASE, Time::new(1e7)).step(&[60.0, 60.0, 0.0, 0.0]);
        for k in 0..200 {
            let over = Over::new(&BODIES, CASE, Time::new(libm::exp(0.1 * f64::from(k) - 5.0)));
            let now = over.step(&[40.0, 0.5 * settled[1], 0.0, 0.0]);
            assert!(now[0] <= settled[0] + 1e-9 && now[1] <= settled[1] + 1e-9);
        }
    }

    #[test]
    fn what_runs_away_is_followed_for_a_while() {
        let hot = [Body { constant: 40.0, per_kelvin: 3.0, to_case: 0.5, capacity: 120.0 }];
        let now = Over::new(&hot, CASE, Time::new(5.0)).step(&[60.0, 0.0, 0.0, 0.0]);
        let expected = stepped(&hot, [60.0, 0.0, 0.0, 0.0], 5.0);
        assert!((now[0] - expected[0]).abs() < 0.01, "{} against {}", now[0], expected[0]);
    }
}
