//! A forward converter with an active clamp in time: leakage and magnetising inductance, a stiff clamp voltage, two
//! rectifiers that take turns.

use crate::judge::ramps::{Event, Fitted, Record};
use crate::judge::search;

/// What a forward converter is built from and asked.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Forward {
    pub(crate) input: f64,
    pub(crate) output: f64,
    pub(crate) load: f64,
    pub(crate) turns: f64,
    pub(crate) leakage: f64,
    pub(crate) magnetising: f64,
    pub(crate) henry: f64,
    pub(crate) carrier: f64,
    pub(crate) dead: f64,
    pub(crate) main: Fitted,
    pub(crate) clamp: Fitted,
    pub(crate) forward: Fitted,
    pub(crate) freewheel: Fitted,
    pub(crate) primary_winding: f64,
    pub(crate) secondary_winding: f64,
    pub(crate) choke_winding: f64,
    /// Whether the main switch pays for its turn-on as if the leakage did not hold its current back.
    pub(crate) starts_hard: bool,
}

/// A period that repeats.
#[derive(Clone, Debug, Default)]
pub(crate) struct Turn {
    pub(crate) duty: f64,
    pub(crate) clamp_volts: f64,
    pub(crate) main: Record,
    pub(crate) clamp: Record,
    pub(crate) forward: Record,
    pub(crate) freewheel: Record,
    pub(crate) primary: Record,
    pub(crate) secondary: Record,
    pub(crate) magnetising: Record,
    pub(crate) choke: Record,
}

/// Straight pieces of each stretch.
const PIECES: usize = 40;

/// Currents: primary, magnetising, choke.
type State = [f64; 3];

/// What the rectifiers do.
#[derive(Clone, Copy, PartialEq)]
enum Mode {
    Forward,
    Freewheel,
    Both,
}

struct Run<'a> {
    of: &'a Forward,
    state: State,
    mode: Mode,
    clamp_volts: f64,
    turn: Turn,
    /// Time since the last change of the primary voltage.
    since: f64,
    /// Primary current when the forward rectifier had all of the choke's.
    taken_over: f64,
}

impl Forward {
    fn slopes(&self, state: &State, mode: Mode, applied: f64) -> State {
        let [primary, magnetising, choke] = *state;
        let push = applied - self.primary_winding * primary;
        let secondary = self.turns * (primary - magnetising);
        let drop = |fitted: &Fitted, amps: f64| -fitted.volts(-amps, true);
        let free = |share: f64| {
            (-self.output - drop(&self.freewheel, share) - self.choke_winding * choke) / self.henry
        };
        match mode {
            Mode::Both => [push / self.leakage, 0.0, free(choke - secondary)],
            Mode::Freewheel => {
                let all = push / (self.leakage + self.magnetising);
                [all, all, free(choke)]
            }
            Mode::Forward => {
                let n = self.turns;
                let opposed = self.output
                    + drop(&self.forward, choke)
                    + (self.secondary_winding + self.choke_winding) * choke;
                let stiff = n / self.leakage + n / self.magnetising + 1.0 / (n * self.henry);
                let volts = (n * push / self.leakage + opposed / self.henry) / stiff;
                [(push - volts) / self.leakage, volts / self.magnetising, (volts / n - opposed) / self.henry]
            }
        }
    }

    fn period(&self, start: State, duty: f64, clamp_volts: f64) -> Run<'_> {
        let turn = Turn { duty, clamp_volts, ..Turn::default() };
        let mut run =
            Run { of: self, state: start, mode: Mode::Both, clamp_volts, turn, since: 0.0, taken_over: 0.0 };
        let period = 1.0 / self.carrier;
        let volts = self.input + clamp_volts;
        run.turn.clamp.edge(Event::TurnOff, -start[0], volts);
        run.turn.freewheel.edge(Event::Recovery, start[2], 0.0);
        // The clamp lets go of a current that flows back: the diode of the main switch takes it, and holds it at
        // nothing until its gate is on.
        run.lead(self.dead, true, false);
        let turned_on = run.turn.main.edges.len();
        run.turn.main.edge(Event::TurnOn, run.state[0], volts);
        run.lead(duty * period - self.dead, true, true);
        if self.starts_hard {
            // The current that the main switch has once the forward rectifier carries all.
            run.turn.main.edges[turned_on].current = run.taken_over;
        }
        run.turn.main.edge(Event::TurnOff, run.state[0], volts);
        run.turn.forward.edge(Event::Recovery, run.state[2], 0.0);
        run.mode = Mode::Both;
        run.since = 0.0;
        run.lead(self.dead, false, false);
        run.lead((1.0 - duty) * period - self.dead, false, true);
        run
    }

    /// The period that repeats at the load, with a clamp whose charge balances.
    pub(crate) fn settle(&self) -> Turn {
        let period = 1.0 / self.carrier;
        let straight = self.turns * self.output / self.input;
        let guess = [self.load, 0.0, straight * 1.1, self.input * straight / (1.0 - straight)];
        let scale = [self.load, self.load / self.turns, 0.3, self.input];
        let found = search::root(guess, scale, |[choke, magnetising, duty, clamp]| {
            let run = self.period([magnetising, magnetising, choke], duty, clamp);
            let load = run.turn.choke.mean(period);
            let charge = run.turn.clamp.mean(period);
            [run.state[2] - choke, run.state[1] - magnetising, load - self.load, charge]
        });
        let [choke, magnetising, duty, clamp] = found;
        let mut turn = self.period([magnetising, magnetising, choke], duty, clamp).turn;
        turn.freewheel.edges.iter_mut().for_each(|edge| edge.volts = self.input / self.turns);
        turn.forward.edges.iter_mut().for_each(|edge| edge.volts = clamp / self.turns);
        turn
    }
}

impl Run<'_> {
    fn lead(&mut self, lasts: f64, is_driven: bool, gated: bool) {
        let of = self.of;
        let (mut left, step) = (lasts, lasts / PIECES as f64);
        while left > 1e-9 * lasts {
            let mut here = if left < step { left } else { step };
            let from = self.state;
            let applied = |state: &State| {
                if is_driven {
                    of.input - of.main.volts(state[0], gated)
                } else {
                    -self.clamp_volts - of.clamp.volts(state[0], gated)
                }
            };
            let slopes = |state: &State| of.slopes(state, self.mode, applied(state));
            let first = slopes(&from);
            let along = slopes(&core::array::from_fn(|k| from[k] + 0.5 * here * first[k]));
            // A diode holds a current that would turn round at nothing.
            let holds = !gated && is_driven && from[0] >= 0.0;
            let ahead = |here: f64| -> State { core::array::from_fn(|k| from[k] + here * along[k]) };
            let mut to = ahead(here);
            if holds {
                to = [0.0, from[1], from[2] + here * along[2]];
            }
            // Of the choke's current what the secondary brings, and what it leaves.
            let brought = |state: &State| of.turns * (state[0] - state[1]);
            let goes = match (self.mode, is_driven) {
                (Mode::Both, true) => Some((from[2] - brought(&from), to[2] - brought(&to), Mode::Forward)),
                (Mode::Both, false) => Some((brought(&from), brought(&to), Mode::Freewheel)),
                _ => None,
            };
            let mut next = self.mode;
            if let Some((before, after, mode)) = goes.filter(|(_, after, _)| *after <= 0.0) {
                here *= before / (before - after);
                to = ahead(here);
                to[0] = to[1] + if mode == Mode::Forward { to[2] / of.turns } else { 0.0 };
                next = mode;
            }
            if next == Mode::Forward && self.mode != next {
                self.taken_over = to[0];
            }
            self.note(here, from, to, is_driven, gated);
            self.state = to;
            self.mode = next;
            self.since += here;
            left -= here;
        }
    }

    fn note(&mut self, lasts: f64, from: State, to: State, is_driven: bool, gated: bool) {
        let of = self.of;
        let brought = |state: &State| of.turns * (state[0] - state[1]);
        let turn = &mut self.turn;
        turn.primary.lead(lasts, from[0], to[0], true);
        turn.secondary.lead(lasts, brought(&from), brought(&to), true);
        turn.magnetising.lead(lasts, from[1], to[1], true);
        turn.choke.lead(lasts, from[2], to[2], true);
        let (main, clamp) = if is_driven { (1.0, 0.0) } else { (0.0, 1.0) };
        turn.main.lead(lasts, main * from[0], main * to[0], gated && is_driven);
        // A current that flows on after the main switch goes backward through the clamp.
        turn.clamp.lead(lasts, -clamp * from[0], -clamp * to[0], gated && !is_driven);
        // The rectifier that lets go was turned off at the edge, the other is turned on a dead time later.
        let on = self.since >= of.dead * (1.0 - 1e-9);
        turn.forward.lead(lasts, -brought(&from), -brought(&to), is_driven && on);
        turn.freewheel.lead(lasts, brought(&from) - from[2], brought(&to) - to[2], !is_driven && on);
    }
}
