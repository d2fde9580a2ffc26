//! A half bridge with a choke between a low and a high voltage, in time.

use crate::judge::ramps::{Event, Fitted, Record};
use crate::judge::search;

/// One of the legs of a chopper.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leg {
    pub(crate) low_volts: f64,
    pub(crate) high_volts: f64,
    pub(crate) henry: f64,
    pub(crate) winding: f64,
    pub(crate) carrier: f64,
    pub(crate) dead: f64,
    pub(crate) low: Option<Fitted>,
    pub(crate) high: Option<Fitted>,
    /// The diode that stands in place of a switch.
    pub(crate) low_diode: Option<Fitted>,
    pub(crate) high_diode: Option<Fitted>,
}

/// A period of a leg that has come to rest.
#[derive(Clone, Debug)]
pub(crate) struct Turn {
    /// Share of the period in which the low side leads: its gate, or the diode that a dead time leaves to it.
    pub(crate) formed: f64,
    /// Current of the choke, positive from low to high.
    pub(crate) choke: Record,
    pub(crate) low: Record,
    pub(crate) high: Record,
    pub(crate) last: f64,
}

/// What says how much a leg passes, from low to high.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Passes {
    /// Mean current of the choke.
    Current(f64),
    /// Mean current that arrives at the high side.
    Arrives(f64),
}

/// Straight pieces of each stretch of time.
const PIECES: usize = 24;

impl Leg {
    fn at_low(&self) -> Fitted {
        self.low.or(self.low_diode).unwrap()
    }

    fn at_high(&self) -> Fitted {
        self.high.or(self.high_diode).unwrap()
    }

    /// One stretch with the gate of one side on, or with none.
    fn lead(&self, turn: &mut Turn, lasts: f64, gate: Option<bool>) {
        let (low, high) = (self.at_low(), self.at_high());
        let step = lasts / PIECES as f64;
        for _ in 0..if lasts > 0.0 { PIECES } else { 0 } {
            let from = turn.last;
            // Which side leads: the one whose gate is on, else the diode that the current finds.
            let side_is_low = |amps: f64| gate.unwrap_or(amps < 0.0);
            let node = |amps: f64| {
                let is_low = side_is_low(amps);
                if is_low {
                    low.volts(amps, gate == Some(true))
                } else {
                    self.high_volts - high.volts(-amps, gate == Some(false))
                }
            };
            let slope = |amps: f64| (self.low_volts - self.winding * amps - node(amps)) / self.henry;
            let rests = gate.is_none() && from == 0.0;
            let (mut lasts_here, mut to) = (step, from);
            if !rests {
                let middle = from + 0.5 * step * slope(from);
                // A diode lets its current fall to nothing and not turn round.
                let turns = gate.is_none() && (middle > 0.0) != (from > 0.0);
                to = from + step * slope(if turns { 0.5 * from } else { middle });
                if gate.is_none() && (to > 0.0) != (from > 0.0) {
                    lasts_here = step * from / (from - to);
                    to = 0.0;
                }
            }
            let is_low = side_is_low(if from == 0.0 { to } else { from });
            turn.choke.lead(lasts_here, from, to, true);
            turn.formed += if is_low && !rests { lasts_here * self.carrier } else { 0.0 };
            turn.low.lead(
                lasts_here,
                if is_low { from } else { 0.0 },
                if is_low { to } else { 0.0 },
                gate == Some(true),
            );
            turn.high.lead(
                lasts_here,
                if is_low { 0.0 } else { -from },
                if is_low { 0.0 } else { -to },
                gate == Some(false),
            );
            turn.last = to;
            if lasts_here < step {
                for record in [&mut turn.choke, &mut turn.low, &mut turn.high] {
                    record.lead(step - lasts_here, 0.0, 0.0, false);
                }
            }
        }
    }

    /// A period from a current at its start, where the low side turns on.
    pub(crate) fn period(&self, start: f64, duty: f64) -> Turn {
        let mut turn = Turn {
            formed: 0.0,
            choke: Record::default(),
            low: Record::default(),
            high: Record::default(),
            last: start,
        };
        let period = 1.0 / self.carrier;
        let volts = self.high_volts;
        let (low_switches, high_switches) = (self.low.is_some(), self.high.is_some());
        let dead = if low_switches && high_switches { self.dead } else { 0.0 };
        if high_switches {
            turn.high.edge(Event::TurnOff, -turn.last, volts);
        }
        self.lead(&mut turn, dead, None);
        if low_switches && turn.last > 0.0 {
            turn.low.edge(Event::TurnOn, turn.last, volts);
            turn.high.edge(Event::Recovery, turn.last, volts);
        }
        self.lead(&mut turn, duty * period - dead, low_switches.then_some(true));
        if low_switches {
            turn.low.edge(Event::TurnOff, turn.last, volts);
        }
        self.lead(&mut turn, dead, None);
        if high_switches && turn.last < 0.0 {
            turn.high.edge(Event::TurnOn, -turn.last, volts);
            turn.low.edge(Event::Recovery, -turn.last, volts);
        }
        self.lead(&mut turn, (1.0 - duty) * period - dead, high_switches.then_some(false));
        turn
    }

    /// The period that repeats and passes what is asked.
    pub(crate) fn settle(&self, passes: Passes) -> Turn {
        let period = 1.0 / self.carrier;
        let passed = |turn: &Turn| match passes {
            Passes::Current(_) => turn.choke.mean(period),
            Passes::Arrives(_) => -turn.high.mean(period),
        };
        let asked = match passes {
            Passes::Current(asked) | Passes::Arrives(asked) => asked,
        };
        let straight = 1.0 - self.low_volts / self.high_volts;
        if self.low.is_none() || self.high.is_none() {
            let turn = self.running_empty(straight, asked, &passed);
            let repeats = (turn.last - turn.choke.pieces[0].from).abs() < 1e-6 * asked.abs();
            if repeats && (passed(&turn) - asked).abs() < 1e-6 * asked.abs() {
                return turn;
            }
        }
        let ripple = straight * self.low_volts / (self.henry * self.carrier);
        let mean = match passes {
            Passes::Current(asked) => asked,
            Passes::Arrives(asked) => asked * self.high_volts / self.low_volts,
        };
        let scale = [mean.abs() + ripple, 0.2];
        let [start, duty] = search::root([mean - 0.5 * ripple, straight], scale, |[start, duty]| {
            let turn = self.period(start, duty);
            [turn.last - start, passed(&turn) - asked]
        });
        self.period(start, duty)
    }

    /// The period that passes what is asked with a choke that has run empty before.
    fn running_empty(&self, straight: f64, asked: f64, passed: &impl Fn(&Turn) -> f64) -> Turn {
        // Where the low side is the diode a period starts with what the high side left in the choke.
        let with = |duty: f64| match self.low {
            Some(_) => self.period(0.0, duty),
            None => self.period(self.period(0.0, duty).last, duty),
        };
        // Drops move the place where the choke no longer runs empty.
        let ends = if self.low.is_some() { (0.0, straight + 0.05) } else { (straight - 0.05, 1.0) };
        with(search::halve(ends.0, ends.1, |duty| passed(&with(duty)) - asked))
    }
}
