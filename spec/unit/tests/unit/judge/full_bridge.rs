//! A phase-shifted full bridge in time: leakage and magnetising inductance, one choke or two, rectifiers that take turns.
//!
//! One half of a period is stepped; in the other half the positions of each leg and the rectifiers change roles. Leg a
//! ends the driving, leg b the freewheeling.

use crate::judge::ramps::{Event, Fitted, Record};
use crate::judge::search;

/// What a full bridge is built from and asked.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FullBridge {
    pub(crate) is_doubler: bool,
    pub(crate) input: f64,
    pub(crate) output: f64,
    pub(crate) load: f64,
    pub(crate) turns: f64,
    pub(crate) leakage: f64,
    pub(crate) magnetising: f64,
    pub(crate) henry: f64,
    pub(crate) carrier: f64,
    pub(crate) dead: f64,
    pub(crate) primary: Fitted,
    pub(crate) rectifier: Fitted,
    pub(crate) primary_winding: f64,
    pub(crate) secondary_winding: f64,
    pub(crate) choke_winding: f64,
}

/// A period that repeats. Records hold one half after the other.
#[derive(Clone, Debug, Default)]
pub(crate) struct Turn {
    pub(crate) phase_shift: f64,
    /// Share of a half period in which the output is driven.
    pub(crate) driven: f64,
    pub(crate) leg_a: Record,
    pub(crate) leg_b: Record,
    pub(crate) rectifier: Record,
    /// Half a period of each.
    pub(crate) primary: Record,
    pub(crate) winding: Record,
    pub(crate) bus: Record,
    pub(crate) output: Record,
    pub(crate) magnetising: Record,
    /// A whole period of a choke of the doubler, half a one of the only choke.
    pub(crate) choke: Record,
    pub(crate) blocked: f64,
}

/// Currents: primary, magnetising, choke that is driven in this half, the other.
type State = [f64; 4];

/// Straight pieces of each stretch.
const PIECES: usize = 40;

struct Half<'a> {
    of: &'a FullBridge,
    state: State,
    commutates: bool,
    freewheels: bool,
    choke: [Record; 2],
    rectifiers: [Record; 2],
    legs: [[Record; 2]; 2],
    turn: Turn,
}

impl FullBridge {
    /// Current of the two rectifiers: the one that leads in this half, and the one before.
    fn rectified(&self, state: &State) -> [f64; 2] {
        let secondary = self.turns * (state[0] - state[1]);
        if self.is_doubler {
            [state[3] + secondary, state[2] - secondary]
        } else {
            [0.5 * (state[2] + secondary), 0.5 * (state[2] - secondary)]
        }
    }

    /// Secondary current that ends the commutation, less what there is.
    fn open(&self, state: &State) -> f64 {
        state[2] - self.turns * (state[0] - state[1])
    }

    /// Slopes of the currents, and the voltage at the magnetising inductance.
    fn slopes(&self, state: &State, commutates: bool, is_driven: bool, gates: [bool; 2]) -> (State, f64) {
        let [primary, _, driven, other] = *state;
        // Each of two primary switches in the way; one of them may be on its diode alone.
        let drops: f64 = gates.iter().map(|&gated| self.primary.volts(-primary.abs(), gated).abs()).sum();
        let own = if is_driven { self.input } else { 0.0 };
        let push = own - self.primary_winding * primary - drops.copysign(primary);
        let secondary = self.turns * (primary - state[1]);
        let drop = |amps: f64, gated: bool| -self.rectifier.volts(-amps, gated);
        let [leads, before] = self.rectified(state);
        if commutates {
            let ends = |amps: f64, rectified: f64| {
                (-self.choke_winding * amps - drop(rectified, true) - self.output) / self.henry
            };
            let slopes = if self.is_doubler {
                [ends(driven, before), ends(other, leads)]
            } else {
                [ends(driven, 0.5 * driven), 0.0]
            };
            return ([push / self.leakage, 0.0, slopes[0], slopes[1]], 0.0);
        }
        let whole = if self.is_doubler { driven + other } else { driven };
        let opposed = self.output
            + drop(whole, true)
            + self.secondary_winding * secondary
            + self.choke_winding * driven;
        let n = self.turns;
        let stiff = n / self.leakage + n / self.magnetising + 1.0 / (n * self.henry);
        let volts = (n * push / self.leakage + opposed / self.henry) / stiff;
        let beside = if self.is_doubler {
            -(self.output + drop(whole, true) + self.choke_winding * other) / self.henry
        } else {
            0.0
        };
        let slopes = [
            (push - volts) / self.leakage,
            volts / self.magnetising,
            (volts / n - opposed) / self.henry,
            beside,
        ];
        (slopes, volts)
    }

    fn half(&self, start: State, phase_shift: f64) -> Half<'_> {
        let mut half = Half {
            of: self,
            state: start,
            commutates: true,
            freewheels: false,
            choke: Default::default(),
            rectifiers: Default::default(),
            legs: Default::default(),
            turn: Turn { phase_shift, ..Turn::default() },
        };
        let length = 0.5 / self.carrier;
        half.legs[1][1].edge(Event::TurnOff, -start[0], self.input);
        half.rectifiers[1].edge(Event::Recovery, self.rectified(&start)[1], 0.0);
        half.lead(self.dead, [true, false]);
        assert!(half.state[0] < 0.0, "leg b turns on after its current has turned round");
        half.lead(phase_shift * length - self.dead, [true, true]);
        half.legs[0][0].edge(Event::TurnOff, half.state[0], self.input);
        half.freewheels = true;
        half.lead(self.dead, [false, true]);
        half.lead((1.0 - phase_shift) * length - self.dead, [true, true]);
        half
    }

    /// The period that repeats at the load.
    pub(crate) fn settle(&self) -> Turn {
        let n = self.turns;
        let length = 0.5 / self.carrier;
        let each = if self.is_doubler { 0.5 * self.load } else { self.load };
        let begin = |driven: f64, other: f64, magnetising: f64| {
            let reflected = if self.is_doubler { other } else { driven };
            [magnetising - reflected / n, magnetising, driven, other]
        };
        let guess = [each, if self.is_doubler { each } else { 0.0 }, -0.05 * self.load / n, 0.6];
        let scale = [each, each, self.load / n, 0.5];
        let [driven, other, magnetising, shift] =
            search::root(guess, scale, |[driven, other, magnetising, shift]| {
                let half = self.half(begin(driven, other, magnetising), shift);
                let end = half.state;
                let load = half.turn.output.mean(length);
                let swap = if self.is_doubler { end[2] - other } else { other };
                let next = if self.is_doubler { end[3] - driven } else { end[2] - driven };
                [next, swap, end[1] + magnetising, load - self.load]
            });
        self.half(begin(driven, other, magnetising), shift).whole()
    }
}

impl Half<'_> {
    /// One stretch; the gates are those of the two switches that the primary current passes.
    fn lead(&mut self, lasts: f64, gates: [bool; 2]) {
        let mut left = lasts;
        let step = lasts / PIECES as f64;
        while left > 1e-9 * lasts {
            let mut here = if left < step { left } else { step };
            let slopes = |state: &State| self.of.slopes(state, self.commutates, !self.freewheels, gates);
            let from = self.state;
            let (first, _) = slopes(&from);
            let middle = core::array::from_fn(|k| from[k] + 0.5 * here * first[k]);
            let (along, volts) = slopes(&middle);
            let mut to: State = core::array::from_fn(|k| from[k] + here * along[k]);
            let (open, closes) = (self.of.open(&from), self.of.open(&to));
            let ends = self.commutates && closes <= 0.0;
            if ends {
                here *= open / (open - closes);
                to = core::array::from_fn(|k| from[k] + here * along[k]);
                to[0] = to[1] + to[2] / self.of.turns;
            }
            self.note(here, from, to, gates);
            if !self.commutates && !self.freewheels {
                self.turn.driven += here * 2.0 * self.of.carrier;
                self.turn.blocked = volts / self.of.turns * if self.of.is_doubler { 1.0 } else { 2.0 };
            }
            self.state = to;
            self.commutates &= !ends;
            left -= here;
        }
    }

    fn note(&mut self, lasts: f64, from: State, to: State, gates: [bool; 2]) {
        let of = self.of;
        let whole = |state: &State| if of.is_doubler { state[2] + state[3] } else { state[2] };
        self.turn.primary.lead(lasts, from[0], to[0], true);
        let winding = |state: &State| of.turns * (state[0] - state[1]);
        self.turn.winding.lead(lasts, winding(&from), winding(&to), true);
        self.turn.output.lead(lasts, whole(&from), whole(&to), true);
        self.turn.magnetising.lead(lasts, from[1], to[1], true);
        for k in 0..2 {
            self.choke[k].lead(lasts, from[2 + k], to[2 + k], true);
        }
        // The rectifier before this half was let go when leg b began to switch.
        let (at, then) = (of.rectified(&from), of.rectified(&to));
        let past_dead = self.turn.rectified_for() >= of.dead;
        self.rectifiers[0].lead(lasts, -at[0], -then[0], past_dead);
        self.rectifiers[1].lead(lasts, -at[1], -then[1], false);
        let bus = if self.freewheels { 0.0 } else { 1.0 };
        self.turn.bus.lead(lasts, bus * from[0], bus * to[0], true);
        let [high, low] = &mut self.legs[0];
        let (leads, rests) = if self.freewheels { (low, high) } else { (high, low) };
        let sense = if self.freewheels { -1.0 } else { 1.0 };
        leads.lead(lasts, sense * from[0], sense * to[0], gates[0]);
        rests.lead(lasts, 0.0, 0.0, false);
        self.legs[1][0].lead(lasts, from[0], to[0], gates[1]);
        self.legs[1][1].lead(lasts, 0.0, 0.0, false);
    }

    /// Both halves of a period.
    fn whole(self) -> Turn {
        let both = |first: &Record, second: &Record| {
            let mut all = first.clone();
            all.pieces.extend(&second.pieces);
            all.edges.extend(&second.edges);
            all
        };
        let mut turn = self.turn;
        turn.leg_a = both(&self.legs[0][0], &self.legs[0][1]);
        turn.leg_b = both(&self.legs[1][0], &self.legs[1][1]);
        turn.rectifier = both(&self.rectifiers[0], &self.rectifiers[1]);
        turn.rectifier.edges.iter_mut().for_each(|edge| edge.volts = turn.blocked);
        turn.choke =
            if self.of.is_doubler { both(&self.choke[0], &self.choke[1]) } else { self.choke[0].clone() };
        turn
    }
}

impl Turn {
    /// How long this half has lasted.
    fn rectified_for(&self) -> f64 {
        self.primary.pieces.iter().map(|piece| piece.lasts).sum::<f64>() * (1.0 + 1e-12)
    }
}
