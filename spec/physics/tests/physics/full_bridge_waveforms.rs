//! Phase-shifted full bridge in time, event by event, with a centre tap and with a current doubler.
//!
//! Leakage, magnetising inductance, output inductors and ideal rectifiers; all slopes are constant between
//! events. Half a period is marched from the instant at which the lagging leg turns the voltage round, and
//! the phase shift and the state are searched until the half mirrors itself and the output carries its load.

use loadworthy_physics::converters::full_bridge::{self, FullBridge, Rectifier};
use loadworthy_physics::{Capacitance, Current, Frequency, Inductance, Voltage};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;
use crate::switched::{Meter, balanced, compare, parts};

#[derive(Clone, Copy, Debug)]
struct Circuit {
    kind: Rectifier,
    input: f64,
    output: f64,
    load: f64,
    turns: f64,
    leakage: f64,
    magnetising: f64,
    inductance: f64,
    frequency: f64,
    /// Whether diodes let the inductor of its centre tap run empty.
    rests: bool,
}

/// Primary and magnetising current, and the output inductors: both of the doubler, or the one of the centre
/// tap and nothing.
type State = [f64; 4];

/// Who rectifies: the one that feeds from the positive half, both, or the other one.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Conducting {
    Positive,
    Both,
    Negative,
    /// Nobody, once the inductor of a centre tap has run empty behind diodes.
    Neither,
}

/// Channels of the meter.
const PRIMARY: usize = 0;
const BUS: usize = 1;
const POSITIVE: usize = 2;
const NEGATIVE: usize = 3;
const FIRST: usize = 4;
const SECOND: usize = 5;
const WHOLE: usize = 6;
const MAGNETISING: usize = 7;
/// A switch of the leading and of the lagging leg while it is on, forward and backward.
const LEADING: usize = 8;
const LAGGING: usize = 10;

struct Half {
    end: State,
    meter: Meter<12>,
    effective: f64,
    lost: f64,
    /// Primary current when driving ends and when the freewheel ends.
    edges: [f64; 2],
}

impl Circuit {
    /// Current that the secondary carries, counted as the positive rectifier feeds it.
    fn secondary(&self, state: &State) -> f64 {
        self.turns * (state[0] - state[1])
    }

    /// Currents of the two rectifiers.
    fn rectifiers(&self, state: &State) -> (f64, f64) {
        let secondary = self.secondary(state);
        match self.kind {
            // The halves share the inductor's current, and their difference is the secondary's.
            Rectifier::CentreTap => (0.5 * (state[2] + secondary), 0.5 * (state[2] - secondary)),
            // Each rectifier carries what its own inductor does not get from the winding: while the first
            // inductor is fed, the second one's rectifier conducts everything.
            Rectifier::CurrentDoubler => (state[3] + secondary, state[2] - secondary),
        }
    }

    /// Slopes of the state with `volts` across the primary.
    fn slopes(&self, volts: f64, conducting: Conducting) -> (State, f64) {
        let (n, l) = (self.turns, self.inductance);
        let falling = -self.output / l;
        let second = if self.kind == Rectifier::CentreTap { 0.0 } else { falling };
        let sign = match conducting {
            Conducting::Positive => 1.0,
            Conducting::Negative => -1.0,
            Conducting::Neither => {
                let rate = volts / (self.leakage + self.magnetising);
                return ([rate, rate, 0.0, 0.0], self.magnetising * rate);
            }
            Conducting::Both => return ([volts / self.leakage, 0.0, falling, second], 0.0),
        };
        // The fed inductor sees ±v/n − V_o; volts = L_lk·d(i_m ± i/n)/dt + v.
        let whole = 1.0 + self.leakage / self.magnetising + self.leakage / (n * n * l);
        let v = (volts + sign * self.leakage * self.output / (n * l)) / whole;
        let fed = (sign * v / n - self.output) / l;
        let primary = v / self.magnetising + sign * fed / n;
        let state = match (self.kind, conducting) {
            (Rectifier::CurrentDoubler, Conducting::Negative) => {
                [primary, v / self.magnetising, falling, fed]
            }
            _ => [primary, v / self.magnetising, fed, second],
        };
        (state, v)
    }

    /// A half period from the instant at which the voltage turns round.
    fn half(&self, start: State, shift: f64) -> Half {
        self.half_from(start, shift, Conducting::Negative)
    }

    fn half_from(&self, start: State, shift: f64, begins: Conducting) -> Half {
        let half = 0.5 / self.frequency;
        let mut meter = Meter::new();
        let (mut state, mut conducting) = (start, begins);
        let (mut effective, mut lost, mut edges) = (0.0, 0.0, [0.0; 2]);
        for (volts, time) in [(self.input, shift * half), (0.0, (1.0 - shift) * half)] {
            let driven = volts > 0.0;
            let mut left = time;
            for _ in 0..5 {
                let (slopes, v) = self.slopes(volts, conducting);
                // A rectifier that blocks does so only while the winding holds it off.
                let turns_on = match conducting {
                    Conducting::Positive => v < 0.0,
                    Conducting::Negative => v > 0.0,
                    Conducting::Neither if v > self.turns * self.output => {
                        conducting = Conducting::Positive;
                        continue;
                    }
                    Conducting::Both | Conducting::Neither => false,
                };
                if turns_on {
                    conducting = Conducting::Both;
                    continue;
                }
                let mut until = left;
                let mut next_conducting = conducting;
                if self.rests && conducting == Conducting::Positive && slopes[2] < 0.0 {
                    let empty = -state[2] / slopes[2];
                    if empty < until {
                        (until, next_conducting) = (empty, Conducting::Neither);
                    }
                }
                if conducting == Conducting::Both {
                    // It ends when the one whose current falls has none left.
                    let step = 1e-3 * half;
                    let later = [0, 1, 2, 3].map(|k| state[k] + step * slopes[k]);
                    let (now, then) = (self.rectifiers(&state), self.rectifiers(&later));
                    let (positive, negative) = ((then.0 - now.0) / step, (then.1 - now.1) / step);
                    if negative < 0.0 && -now.1 / negative < until {
                        (until, next_conducting) = (-now.1 / negative, Conducting::Positive);
                    } else if positive < 0.0 && -now.0 / positive < until {
                        (until, next_conducting) = (-now.0 / positive, Conducting::Negative);
                    }
                }
                let next = [0, 1, 2, 3].map(|k| state[k] + until * slopes[k]);
                let channels = |at: &State| {
                    let (positive, negative) = self.rectifiers(at);
                    let bus = if driven { at[0] } else { 0.0 };
                    // A switch of either leg is on for half a period. The lagging one has just turned on; the
                    // leading one turned off when driving ended, and its partner carries the freewheel
                    // backwards.
                    let lagging = parts(at[0]);
                    let leading = parts(if driven { at[0] } else { -at[0] });
                    let mut all = [0.0; 12];
                    all[PRIMARY] = at[0];
                    all[BUS] = bus;
                    all[POSITIVE] = positive;
                    all[NEGATIVE] = negative;
                    all[FIRST] = at[2];
                    all[SECOND] = at[3];
                    all[WHOLE] = at[2] + at[3];
                    all[MAGNETISING] = at[1];
                    (all[LEADING], all[LEADING + 1]) = leading;
                    (all[LAGGING], all[LAGGING + 1]) = lagging;
                    all
                };
                // Pieces end where the primary's current changes its sign, for the parts of the switches.
                if state[0] * next[0] < 0.0 {
                    let at_zero = state[0] / (state[0] - next[0]);
                    let mut zero = [0, 1, 2, 3].map(|k| state[k] + at_zero * (next[k] - state[k]));
                    zero[0] = 0.0;
                    meter.piece(at_zero * until, channels(&state), channels(&zero));
                    meter.piece((1.0 - at_zero) * until, channels(&zero), channels(&next));
                } else {
                    meter.piece(until, channels(&state), channels(&next));
                }
                if driven && conducting == Conducting::Positive {
                    effective += until / half;
                } else if driven {
                    lost += until / half;
                }
                state = next;
                conducting = next_conducting;
                left -= until;
                if left <= 0.0 {
                    break;
                }
            }
            edges[usize::from(!driven)] = state[0];
        }
        Half { end: state, meter, effective, lost, edges }
    }

    /// State at the beginning of a half: the primary freewheels the other way round.
    fn start(&self, magnetising: f64, first: f64, second: f64) -> State {
        let fed = if self.kind == Rectifier::CentreTap { first } else { second };
        [magnetising - fed / self.turns, magnetising, first, second]
    }

    fn settled(&self) -> (f64, Half) {
        let per_primary = self.load / self.turns;
        let duty = self.turns * self.output / self.input;
        if self.rests {
            let scale = self.input * duty / (self.magnetising * self.frequency);
            let half = |shift: f64, magnetising: f64| {
                self.half_from([magnetising, magnetising, 0.0, 0.0], shift, Conducting::Neither)
            };
            let [shift, magnetising] =
                balanced([0.5 * duty, -0.1 * scale], [0.1 * duty, scale], |[shift, magnetising]| {
                    let half = half(shift, magnetising);
                    [(half.end[1] + magnetising) / scale, half.meter.mean(WHOLE) / self.load - 1.0]
                });
            return (shift, half(shift, magnetising));
        }
        match self.kind {
            Rectifier::CentreTap => {
                let [shift, magnetising, output] = balanced(
                    [duty + 0.05, -0.05 * per_primary, self.load],
                    [0.05, 0.1 * per_primary, 0.1 * self.load],
                    |[shift, magnetising, output]| {
                        let half = self.half(self.start(magnetising, output, 0.0), shift);
                        [
                            (half.end[1] + magnetising) / per_primary,
                            (half.end[2] - output) / self.load,
                            half.meter.mean(WHOLE) / self.load - 1.0,
                        ]
                    },
                );
                (shift, self.half(self.start(magnetising, output, 0.0), shift))
            }
            Rectifier::CurrentDoubler => {
                let half_load = 0.5 * self.load;
                let [shift, magnetising, first, second] = balanced(
                    [2.0 * duty + 0.05, -0.05 * per_primary, half_load, half_load],
                    [0.05, 0.1 * per_primary, 0.1 * self.load, 0.1 * self.load],
                    |[shift, magnetising, first, second]| {
                        let half = self.half(self.start(magnetising, first, second), shift);
                        // The halves mirror each other: the inductors change their parts.
                        [
                            (half.end[1] + magnetising) / per_primary,
                            (half.end[2] - second) / self.load,
                            (half.end[3] - first) / self.load,
                            half.meter.mean(WHOLE) / self.load - 1.0,
                        ]
                    },
                );
                (shift, self.half(self.start(magnetising, first, second), shift))
            }
        }
    }
}

fn circuits(kind: Rectifier) -> impl Strategy<Value = Circuit> {
    (
        (250.0..800.0f64, prop::sample::select(vec![14.0, 28.0]), 60.0..200.0f64, 0.35..0.75f64),
        (2e-6..20e-6f64, 0.8e-3..3e-3f64, 0.05..0.4f64, 60e3..150e3f64),
    )
        .prop_map(move |((input, output, load, duty), (leakage, magnetising, ripple, frequency))| {
            let (turns, mean) = match kind {
                Rectifier::CentreTap => (duty * input / output, load),
                Rectifier::CurrentDoubler => (0.5 * duty * input / output, 0.5 * load),
            };
            let fall = if kind == Rectifier::CentreTap { 1.0 - duty } else { 2.0 - duty };
            let inductance = output * fall / (2.0 * ripple * mean * frequency);
            // So much leakage that the reversal takes at most a fifth of the half period.
            let most = 0.2 * turns * turns * input / (4.0 * mean * frequency * turns);
            let leakage = leakage.min(most);
            Circuit {
                kind,
                input,
                output,
                load,
                turns,
                leakage,
                magnetising,
                inductance,
                frequency,
                rests: false,
            }
        })
}

fn agrees(circuit: Circuit) -> Result<(), String> {
    let (shift, half) = circuit.settled();
    let meter = &half.meter;
    let solve = if circuit.rests { full_bridge::behind_diodes } else { full_bridge::solve };
    let point = solve(
        circuit.kind,
        &FullBridge {
            input: Voltage::new(circuit.input),
            output: Voltage::new(circuit.output),
            load: Current::new(circuit.load),
            turns: circuit.turns,
            leakage: Inductance::new(circuit.leakage),
            magnetising: Inductance::new(circuit.magnetising),
            output_inductance: Inductance::new(circuit.inductance),
            frequency: Frequency::new(circuit.frequency),
            switch_capacitance: Some(Capacitance::new(150e-12)),
        },
    );
    let near = |what: &str, closed: f64, measured: f64| compare(what, closed, measured, 1e-6, 0.0);
    near("phase shift", point.phase_shift, shift)?;
    near("effective duty", point.effective_duty, half.effective)?;
    // Of the duties the loss is the small one; its error counts against the whole.
    compare("duty loss", point.duty_loss, half.lost, 0.0, 1e-8)?;
    near("primary RMS", point.primary_rms.si(), meter.rms(PRIMARY))?;
    near("primary peak", point.primary_peak.si(), meter.highest(PRIMARY))?;
    // A switch is on during one half of the period only.
    let on = |channel: usize| (0.5 * meter.mean(channel), meter.rms(channel) / 2f64.sqrt());
    let scale = meter.rms(PRIMARY);
    for (what, leg, channel, edge) in [
        ("leading", point.leading, LEADING, half.edges[0]),
        ("lagging", point.lagging, LAGGING, half.edges[1]),
    ] {
        let (mean, rms) = on(channel);
        compare(&format!("{what} switch mean"), leg.switch.forward_mean.si(), mean, 1e-6, 1e-6 * scale)?;
        compare(&format!("{what} switch RMS"), leg.switch.forward_rms().si(), rms, 1e-6, 1e-6 * scale)?;
        let (mean, rms) = on(channel + 1);
        compare(&format!("{what} diode mean"), leg.switch.backward_mean.si(), mean, 1e-6, 1e-6 * scale)?;
        compare(&format!("{what} diode RMS"), leg.switch.backward_rms().si(), rms, 1e-6, 1e-6 * scale)?;
        near(&format!("{what} turn-off"), leg.turn_off.si(), edge)?;
    }
    // Over a whole period each rectifier has its half of either half.
    let mean_square =
        0.5 * (meter.rms(POSITIVE) * meter.rms(POSITIVE) + meter.rms(NEGATIVE) * meter.rms(NEGATIVE));
    near("rectifier RMS", point.rectifier_rms.si(), mean_square.sqrt())?;
    near("rectifier mean", point.rectifier_mean.si(), 0.5 * (meter.mean(POSITIVE) + meter.mean(NEGATIVE)))?;
    near("rectifier peak", point.rectifier_peak.si(), meter.highest(POSITIVE).max(meter.highest(NEGATIVE)))?;
    let (highest, lowest, rms) = match circuit.kind {
        Rectifier::CentreTap => (meter.highest(FIRST), meter.lowest(FIRST), meter.rms(FIRST)),
        // Each inductor runs through both halves in a period.
        Rectifier::CurrentDoubler => (
            meter.highest(FIRST).max(meter.highest(SECOND)),
            meter.lowest(FIRST).min(meter.lowest(SECOND)),
            (0.5 * (meter.rms(FIRST) * meter.rms(FIRST) + meter.rms(SECOND) * meter.rms(SECOND))).sqrt(),
        ),
    };
    near("inductor RMS", point.inductor_rms.si(), rms)?;
    near("inductor peak", point.inductor_peak.si(), highest)?;
    compare("inductor valley", point.inductor_valley.si(), lowest, 1e-6, 1e-12 * highest)?;
    near("inductor ripple", point.inductor_ripple.si(), highest - lowest)?;
    near("output capacitor", point.output_capacitor_rms.si(), meter.alternating(WHOLE))?;
    near("input mean", point.input_mean.si(), meter.mean(BUS))?;
    near("input capacitor", point.input_capacitor_rms.si(), meter.alternating(BUS))?;
    let swing = meter.highest(MAGNETISING) - meter.lowest(MAGNETISING);
    near("magnetising ripple", point.magnetising_ripple.si(), swing)?;
    near("volt-seconds", point.volt_seconds.si(), circuit.magnetising * swing)
}

proptest! {
    #![proptest_config(repeatable(10))]

    #[test]
    fn centre_tap(circuit in circuits(Rectifier::CentreTap)) {
        prop_assert_eq!(agrees(circuit), Ok(()));
    }

    /// From where the inductor just runs empty down to a fiftieth of that.
    #[test]
    fn centre_tap_behind_diodes(circuit in circuits(Rectifier::CentreTap), share in 0.02..0.98f64) {
        // A swing of twice the load is where it begins.
        let swing = circuit.output * (1.0 - circuit.turns * circuit.output / circuit.input)
            / (2.0 * circuit.inductance * circuit.frequency);
        prop_assert_eq!(agrees(Circuit { load: 0.5 * share * swing, rests: true, ..circuit }), Ok(()));
    }

    #[test]
    fn current_doubler(circuit in circuits(Rectifier::CurrentDoubler)) {
        prop_assert_eq!(agrees(circuit), Ok(()));
    }
}

/// RMS value, crest and swing of the current of an output choke behind diodes that hold it above zero, from a square wave of two
/// pulses a period, and the duty at which it carries a load; stepped, the duty found by halving.
fn resting(driven: f64, output: f64, henry: f64, frequency: f64, load: f64) -> [f64; 3] {
    let steps = 20_000;
    let step = 0.5 / frequency / f64::from(steps);
    let of = |duty: f64| {
        let (mut amps, mut mean, mut square, mut crest) = (0.0_f64, 0.0, 0.0, 0.0_f64);
        for k in 0..steps {
            let node = if f64::from(k) < duty * f64::from(steps) { driven } else { 0.0 };
            amps = (amps + step * (node - output) / henry).max(0.0);
            mean += amps / f64::from(steps);
            square += amps * amps / f64::from(steps);
            crest = crest.max(amps);
        }
        (mean, [square.sqrt(), crest, crest])
    };
    let (mut low, mut high) = (0.0, output / driven);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if of(middle).0 < load { low = middle } else { high = middle }
    }
    of(low).1
}

#[test]
fn a_choke_that_rests_behind_diodes_is_what_small_steps_give() {
    // 400 V over 20 turns to one drive 20 V; 12 V behind 10 µH at 50 kHz swing by 4.8 A and rest below 2.4 A.
    let (turns, output, henry, frequency) = (20.0, 12.0, 10e-6, 50e3);
    for load in [0.05, 0.3, 1.0, 2.0, 2.35] {
        let inputs = FullBridge {
            input: Voltage::new(20.0 * turns),
            output: Voltage::new(output),
            load: Current::new(load),
            turns,
            leakage: Inductance::new(1e-12),
            magnetising: Inductance::new(1.0),
            output_inductance: Inductance::new(henry),
            frequency: Frequency::new(frequency),
            switch_capacitance: Some(Capacitance::new(150e-12)),
        };
        let continuous = full_bridge::solve(Rectifier::CentreTap, &inputs);
        let point = full_bridge::behind_diodes(Rectifier::CentreTap, &inputs);
        assert!(continuous.inductor_valley < Current::ZERO && point.rest > 0.0, "{load} A");
        let stepped = resting(20.0, output, henry, frequency, load);
        let told = [point.inductor_rms, point.inductor_peak, point.inductor_ripple].map(Current::si);
        for (told, stepped) in told.into_iter().zip(stepped) {
            assert!((told / stepped - 1.0).abs() < 2e-3, "{load} A: {told} A for {stepped} A");
        }
    }
    // A doubler is left as if it conducted all the time.
    let inputs = FullBridge {
        input: Voltage::new(400.0),
        output: Voltage::new(output),
        load: Current::new(0.3),
        turns: 10.0,
        leakage: Inductance::new(1e-6),
        magnetising: Inductance::new(2e-3),
        output_inductance: Inductance::new(henry),
        frequency: Frequency::new(frequency),
        switch_capacitance: Some(Capacitance::new(150e-12)),
    };
    let doubler = full_bridge::behind_diodes(Rectifier::CurrentDoubler, &inputs);
    assert_eq!(doubler, full_bridge::solve(Rectifier::CurrentDoubler, &inputs));
    assert!(doubler.inductor_valley < Current::ZERO);
}
