//! Boost and buck legs in time, at random operating conditions in both directions of power.
//!
//! A leg is an inductor with a little resistance between a stiff voltage and the middle of a half bridge. It
//! is marched in small steps from switching instant to switching instant; start and duty are searched until
//! the current repeats and has the wanted mean.

use loadworthy_physics::converters::discontinuous::{boost_at_current, buck_at_current};
use loadworthy_physics::converters::{boost, buck};
use loadworthy_physics::{Current, Frequency, Inductance, Resistance, Voltage};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;
use crate::switched::{Meter, balanced, compare, parts};

/// Steps in each of the two intervals of a leg's period.
const STEPS: usize = 400;

/// A leg whose inductor sees `on` volts in the first interval and `off` volts in the second.
#[derive(Clone, Copy, Debug)]
struct Leg {
    on: f64,
    off: f64,
    inductance: f64,
    resistance: f64,
    period: f64,
    /// A diode keeps the current from reversing.
    one_way: bool,
}

/// One step of a leg's period.
#[derive(Clone, Copy)]
struct Step {
    time: f64,
    from: f64,
    to: f64,
    first_interval: bool,
}

impl Leg {
    /// Marches one period from `start`; the steps, in order.
    fn march(&self, start: f64, duty: f64) -> Vec<Step> {
        let mut steps = Vec::with_capacity(2 * STEPS);
        let mut current = start;
        for (volts, share, first_interval) in [(self.on, duty, true), (self.off, 1.0 - duty, false)] {
            let time = share * self.period / STEPS as f64;
            for _ in 0..STEPS {
                let from = current;
                // The voltage at the middle of the step, second order in its length.
                let slope = |at: f64| (volts - self.resistance * at) / self.inductance;
                current += time * slope(current + 0.5 * time * slope(current));
                if self.one_way && current < 0.0 {
                    // It runs empty within the step, and rests.
                    let until = time * from / (from - current);
                    steps.push(Step { time: until, from, to: 0.0, first_interval });
                    steps.push(Step { time: time - until, from: 0.0, to: 0.0, first_interval });
                    current = 0.0;
                } else {
                    steps.push(Step { time, from, to: current, first_interval });
                }
            }
        }
        steps
    }

    /// The period that repeats with the mean current `mean`.
    fn settled(&self, mean: f64, duty_guess: f64) -> (f64, Vec<Step>) {
        let scale = mean.abs().max(1.0);
        let mean_of = |steps: &[Step]| {
            steps.iter().map(|step| 0.5 * step.time * (step.from + step.to)).sum::<f64>() / self.period
        };
        if self.one_way {
            // It starts empty; more duty carries more.
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if mean_of(&self.march(0.0, middle)) < mean { low = middle } else { high = middle }
            }
            return (low, self.march(0.0, low));
        }
        let [start, duty] = balanced([mean, duty_guess], [scale, 0.01], |[start, duty]| {
            let steps = self.march(start, duty);
            let end = steps.last().map_or(start, |step| step.to);
            // The end drifts by little at a time; both misses in shares of the mean.
            [(end - start) / scale, (mean_of(&steps) - mean) / scale]
        });
        (duty, self.march(start, duty))
    }
}

/// A leg's current in the first and the second interval at a time, as it repeats.
fn at(steps: &[Step], ends: &[f64], period: f64, time: f64) -> (f64, f64) {
    let within = time.rem_euclid(period);
    let k = ends.partition_point(|end| *end < within).min(steps.len() - 1);
    let step = steps[k];
    let share = if step.time > 0.0 { 1.0 - (ends[k] - within) / step.time } else { 1.0 };
    let current = step.from + share * (step.to - step.from);
    if step.first_interval { (current, 0.0) } else { (0.0, current) }
}

/// Alternating RMS of the sum of shifted legs: all of it, of the first interval alone, of the second alone.
fn interleaved(steps: &[Step], legs: usize, period: f64) -> [f64; 3] {
    let mut ends = Vec::with_capacity(steps.len());
    let mut end = 0.0;
    for step in steps {
        end += step.time;
        ends.push(end);
    }
    // All instants at which any leg's current bends, in order.
    let mut edges: Vec<f64> = (0..legs)
        .flat_map(|leg| {
            let shift = leg as f64 * period / legs as f64;
            ends.iter().map(move |end| (end + shift).rem_euclid(period))
        })
        .chain([0.0, period])
        .collect();
    edges.sort_by(f64::total_cmp);
    let mut meter = Meter::new();
    for pair in edges.windows(2) {
        let (from, time) = (pair[0], pair[1] - pair[0]);
        if time <= 1e-9 * period / legs as f64 {
            continue;
        }
        let sums = |time: f64| {
            let (mut first, mut second) = (0.0, 0.0);
            for leg in 0..legs {
                let (one, other) = at(steps, &ends, period, time - leg as f64 * period / legs as f64);
                first += one;
                second += other;
            }
            [first + second, first, second]
        };
        let (early, late) = (sums(from + 0.25 * time), sums(from + 0.75 * time));
        let line = |a: f64, b: f64| 1.5 * a - 0.5 * b;
        let start = [0, 1, 2].map(|k| line(early[k], late[k]));
        let stop = [0, 1, 2].map(|k| line(late[k], early[k]));
        meter.piece(time, start, stop);
    }
    [0, 1, 2].map(|k| meter.alternating(k))
}

/// What is measured of one leg: all, then positive and negative part in the first and second interval.
fn measured(steps: &[Step]) -> Meter<7> {
    let mut meter = Meter::new();
    let channels = |step: &Step, current: f64| {
        let (plus, minus) = parts(current);
        let first = f64::from(u8::from(step.first_interval));
        let second = 1.0 - first;
        [
            current,
            current * first,
            current * second,
            plus * first,
            minus * first,
            plus * second,
            minus * second,
        ]
    };
    for step in steps {
        meter.piece(step.time, channels(step, step.from), channels(step, step.to));
    }
    meter
}

/// Operating conditions: legs, voltage ratio, ripple over the mean, mean, frequency.
fn conditions() -> impl Strategy<Value = (usize, f64, f64, f64, f64)> {
    (1..5_usize, 1.06..8.0f64, 0.1..3.0f64, 20.0..300.0f64, 5e3..150e3f64)
}

fn boost_agrees(
    legs: usize,
    ratio: f64,
    ripple_share: f64,
    current: f64,
    frequency: f64,
) -> Result<(), String> {
    let (low, high) = (250.0, 250.0 * ratio);
    let ripple = ripple_share * current.abs();
    let share = 1.0 - 1.0 / ratio;
    let leg = Leg {
        on: low,
        off: low - high,
        inductance: low * share / (ripple * frequency),
        resistance: 1e-4 * low / current.abs(),
        period: 1.0 / frequency,
        one_way: false,
    };
    let (duty, steps) = leg.settled(current, share);
    let meter = measured(&steps);
    let [whole, _, upper] = interleaved(&steps, legs, leg.period);

    let (i, n) = (Current::new(current), legs as f64);
    let d = boost::duty(Voltage::new(low), Voltage::new(high), i, Resistance::new(leg.resistance));
    let (inductance, f) = (Inductance::new(leg.inductance), Frequency::new(frequency));
    let ripple = boost::ripple(Voltage::new(high), d, inductance, f);
    let rms = boost::leg_rms(i, ripple);
    let near = |what: &str, closed: Current, measured: f64| {
        compare(what, closed.si(), measured, 5e-4, 1e-4 * current.abs())
    };
    compare("duty", d, duty, 0.0, 1e-5)?;
    near("leg mean", i, meter.mean(0))?;
    near("leg RMS", rms, meter.rms(0))?;
    let (highest, lowest) = if current > 0.0 {
        (meter.highest(0), meter.lowest(0))
    } else {
        (-meter.lowest(0), -meter.highest(0))
    };
    near("peak", boost::peak(i, ripple), highest)?;
    near("valley", boost::valley(i, ripple), lowest)?;
    for (place, share) in [(1, d), (2, 1.0 - d)] {
        near("position mean", i * share, meter.mean(place))?;
        near("position RMS", boost::position_rms(share, rms), meter.rms(place))?;
        let split = boost::split(i, ripple) * share;
        let (plus, minus) = (2 * place + 1, 2 * place + 2);
        near("positive mean", split.forward_mean, meter.mean(plus))?;
        near("positive RMS", split.forward_rms(), meter.rms(plus))?;
        near("negative mean", split.backward_mean, meter.mean(minus))?;
        near("negative RMS", split.backward_rms(), meter.rms(minus))?;
    }
    // Edges: the current where the second interval ends and where the first one ends.
    let bottom = steps.first().map_or(0.0, |step| step.from);
    let top = steps.iter().rfind(|step| step.first_interval).map_or(0.0, |step| step.to);
    let edges = boost::switching_currents(i, ripple);
    near("lower turn-on", edges.lower_transistor.turn_on, parts(bottom).0)?;
    near("lower turn-off", edges.lower_transistor.turn_off, parts(top).0)?;
    near("upper diode recovery", edges.lower_transistor.recovery, parts(bottom).0)?;
    near("upper turn-on", edges.upper_transistor.turn_on, parts(top).1)?;
    near("upper turn-off", edges.upper_transistor.turn_off, parts(bottom).1)?;
    // Capacitors sum the legs, and with them the small bend that the resistance makes.
    let floor = 2e-4 * n * current.abs();
    compare("low-side capacitor", boost::low_side_ripple_rms(n, d, ripple).si(), whole, 1e-3, floor)?;
    compare("high-side capacitor", boost::high_side_ripple_rms(n, i, d, ripple).si(), upper, 1e-3, floor)
}

fn buck_agrees(
    phases: usize,
    ratio: f64,
    ripple_share: f64,
    current: f64,
    frequency: f64,
) -> Result<(), String> {
    let (input, output) = (48.0, 48.0 / ratio);
    let leg = Leg {
        on: input - output,
        off: -output,
        inductance: output * (1.0 - 1.0 / ratio) / (ripple_share * current.abs() * frequency),
        resistance: 1e-4 * output / current.abs(),
        period: 1.0 / frequency,
        one_way: false,
    };
    let (duty, steps) = leg.settled(current, 1.0 / ratio);
    let meter = measured(&steps);
    let [whole, upper, _] = interleaved(&steps, phases, leg.period);

    let (i, n) = (Current::new(current), phases as f64);
    let d = buck::duty(Voltage::new(input), Voltage::new(output), i, Resistance::new(leg.resistance));
    let ripple =
        buck::ripple(Voltage::new(input), d, Inductance::new(leg.inductance), Frequency::new(frequency));
    let near = |what: &str, closed: Current, measured: f64| {
        compare(what, closed.si(), measured, 5e-4, 1e-4 * current.abs())
    };
    compare("duty", d, duty, 0.0, 1e-5)?;
    near("phase RMS", buck::phase_rms(i, ripple), meter.rms(0))?;
    let split = buck::split(i, ripple);
    near("high transistor", (split * d).forward_rms(), meter.rms(3))?;
    near("low diode", (split * (1.0 - d)).forward_mean, meter.mean(5))?;
    let (high, low) = buck::switching_currents(i, ripple);
    let bottom = steps.first().map_or(0.0, |step| step.from);
    let top = steps.iter().rfind(|step| step.first_interval).map_or(0.0, |step| step.to);
    near("high turn-on", high.turn_on, parts(bottom).0)?;
    near("high turn-off", high.turn_off, parts(top).0)?;
    near("low turn-off", low.turn_off, parts(bottom).1)?;
    let floor = 2e-4 * n * current.abs();
    compare("output capacitor", buck::output_ripple_rms(n, d, ripple).si(), whole, 1e-3, floor)?;
    compare("input capacitor", buck::input_ripple_rms(n, i, d, ripple).si(), upper, 1e-3, floor)
}

/// A boost or buck leg with a plain diode at a share of its boundary current.
fn empty_leg_agrees(legs: usize, ratio: f64, share: f64, frequency: f64, up: bool) -> Result<(), String> {
    let (low, high) = (250.0, 250.0 * ratio);
    let (on, off) = if up { (low, low - high) } else { (high - low, -low) };
    let inductance = 80e-6;
    let boundary = 0.5 * low * (1.0 - 1.0 / ratio) / (inductance * frequency);
    let leg = Leg { on, off, inductance, resistance: 0.0, period: 1.0 / frequency, one_way: true };
    let (duty, steps) = leg.settled(share * boundary, 0.5);
    let meter = measured(&steps);
    let [whole, first, second] = interleaved(&steps, legs, leg.period);

    let (l, f) = (Inductance::new(inductance), Frequency::new(frequency));
    let mean = Current::new(share * boundary);
    let (low, high) = (Voltage::new(low), Voltage::new(high));
    let triangle =
        if up { boost_at_current(low, high, mean, l, f) } else { buck_at_current(high, low, mean, l, f) };
    if !triangle.runs_empty() {
        return Err("does not run empty".to_owned());
    }
    let n = legs as f64;
    let near = |what: &str, closed: Current, measured: f64| {
        compare(what, closed.si(), measured, 1e-3, 1e-4 * boundary)
    };
    compare("duty", triangle.rise, duty, 0.0, 1e-4)?;
    near("mean", triangle.mean(), meter.mean(0))?;
    near("RMS", triangle.rms(), meter.rms(0))?;
    near("peak", triangle.peak, meter.highest(0))?;
    near("switch mean", triangle.switch_mean(), meter.mean(1))?;
    near("switch RMS", triangle.switch_rms(), meter.rms(1))?;
    near("diode mean", triangle.diode_mean(), meter.mean(2))?;
    near("diode RMS", triangle.diode_rms(), meter.rms(2))?;
    near("all legs", triangle.leg_ripple_rms(n), whole)?;
    near("all switches", triangle.switch_ripple_rms(n), first)?;
    near("all diodes", triangle.diode_ripple_rms(n), second)
}

proptest! {
    #![proptest_config(repeatable(10))]

    #[test]
    fn boost_legs((legs, ratio, ripple, current, frequency) in conditions()) {
        for current in [current, -current] {
            let outcome = boost_agrees(legs, ratio, ripple, current, frequency);
            prop_assert_eq!(outcome, Ok(()));
        }
    }

    #[test]
    fn buck_legs((phases, ratio, ripple, current, frequency) in conditions()) {
        for current in [current, -current] {
            let outcome = buck_agrees(phases, ratio, ripple, current, frequency);
            prop_assert_eq!(outcome, Ok(()));
        }
    }

    #[test]
    fn legs_that_run_empty(
        legs in 1..5_usize, ratio in 1.06..8.0f64, share in 0.05..0.95f64, frequency in 5e3..150e3f64,
    ) {
        for up in [true, false] {
            let outcome = empty_leg_agrees(legs, ratio, share, frequency, up);
            prop_assert_eq!(outcome, Ok(()));
        }
    }
}
