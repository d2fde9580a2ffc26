//! Ripple of the voltage of a bus: what the pulses of stages make of what stands across it.
//!
//! A capacitance with a resistance in series turns pulses into straight pieces and steps, which are summed as they are. What
//! branches side by side have besides is told line by line and added at the edges and between them.

use core::f64::consts::{FRAC_2_PI, PI, SQRT_2, TAU};
use std::sync::LazyLock;

use crate::bounds::at_least_zero;
use crate::link_lines::LINES;
use crate::link_pulses::{self, Turn, legs};
use crate::link_ring::{Edges, RINGS, Ring};
use crate::{Capacitance, Current, Frequency, Inductance, Law, Modulation, Resistance, Voltage};

/// Law of [`from_bridge`].
pub static FROM_BRIDGE: Law = Law {
    name: "ripple of the link voltage from a bridge, peak to peak",
    formula: "ΔV = max v − min v over a turn, v = q/(C·f) + R·i + Σ a_h·(Re ΔZ_h·cos 2π·h·x − Im ΔZ_h·sin 2π·h·x), i = I_dc − Σ i_k of the legs that are on, q = ∫ i dx, a_h = −2·Σ i_k·sin(π·h·d_k)/(π·h), h up to 12",
    validity: "source without ripple; C and R in series: 0.8 % against sampled waveforms at 201 carrier periods a turn from M = 0.3, 5.4 % at 21; branches that resonate with one another up to eight times the carrier: 8 % against stepped circuits; above, what rings is followed from edge to edge, what is left after a period met by the next in step: 5 % low to 20 % high, up to 45 % high where it hardly fades; what the inductance of all branches side by side adds at an edge comes on top",
    source: "own sum over the pulses of three legs; compared with sampled waveforms and stepped circuits",
};

/// Angles over a third of a turn at which the voltage is looked at.
const SCAN: usize = 20;
/// Parts of half a period between which it is looked at as well, where lines are told.
const PARTS: usize = 16;

static SCANNED: LazyLock<[Turn; SCAN]> =
    LazyLock::new(|| core::array::from_fn(|place| link_pulses::turn(place as f64 / SCAN as f64)));

/// Angles where something rings, which meets the next edge in another phase within little.
const FINE: usize = 64;

static RINGING: LazyLock<[Turn; FINE]> =
    LazyLock::new(|| core::array::from_fn(|place| link_pulses::turn(place as f64 / FINE as f64)));

/// Edges closer than this share of a period are one.
const TOGETHER: f64 = 1e-9;

/// Cosine and sine of each line.
type Turns = [(f64, f64); LINES];

static BETWEEN: LazyLock<[Turns; PARTS + 1]> =
    LazyLock::new(|| core::array::from_fn(|part| turns(TAU * 0.5 * part as f64 / PARTS as f64)));

/// What stands across a bus, as the stages see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Across {
    /// Capacitance of all branches.
    pub capacitance: Capacitance,
    /// Resistance that counts as in series with it.
    pub resistance: Resistance,
    /// What the impedance has beside both at each line, in Ω: real and imaginary part.
    pub besides: Option<[(f64, f64); LINES]>,
    /// What rings above, and is not part of that.
    pub rings: [Option<Ring>; RINGS],
}

impl Across {
    /// A capacitance and a resistance in series.
    #[must_use]
    pub const fn in_series(capacitance: Capacitance, resistance: Resistance) -> Self {
        Self { capacitance, resistance, besides: None, rings: [None; RINGS] }
    }
}

fn turns(angle: f64) -> Turns {
    let (sine, cosine) = libm::sincos(angle);
    let mut turn = (1.0, 0.0);
    core::array::from_fn(|_| {
        turn = (turn.0 * cosine - turn.1 * sine, turn.0 * sine + turn.1 * cosine);
        turn
    })
}

/// Highest and lowest voltage so far.
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    /// Takes in a voltage at a time before the middle of the pulses and as long after it: the same part at both, and one
    /// that changes its sign.
    #[inline]
    fn take(&mut self, even: f64, odd: f64) {
        self.take_between(even - odd.abs(), even + odd.abs());
    }

    #[inline]
    fn take_between(&mut self, low: f64, high: f64) {
        if low < self.low {
            self.low = low;
        }
        if high > self.high {
            self.high = high;
        }
    }
}

/// What lines add at a time: what is the same as long before the middle of the pulses, and what changes its sign.
#[inline]
fn added(lines: &[(f64, f64); LINES], turns: &Turns) -> (f64, f64) {
    let (mut even, mut odd) = (0.0, 0.0);
    for ((real, imaginary), (cosine, sine)) in lines.iter().zip(turns) {
        even += real * cosine;
        odd -= imaginary * sine;
    }
    (even, odd)
}

/// Ripple of the link voltage from a bridge, peak to peak over a turn.
///
/// `peak` is the crest of the phase current, `m` the modulation index at the poles, `cos_phi` the power factor with its
/// sign. See [`FROM_BRIDGE`].
#[must_use]
pub fn from_bridge(
    peak: Current,
    m: f64,
    cos_phi: f64,
    modulation: Modulation,
    across: &Across,
    carrier: Frequency,
) -> Voltage {
    let siemens = across.capacitance.si() * carrier.si();
    let ohms = across.resistance.si();
    let mut span = Span { low: f64::INFINITY, high: f64::NEG_INFINITY };
    let angles: &[Turn] = if across.rings[0].is_some() { &*RINGING } else { &*SCANNED };
    for turn in angles {
        let mut legs = legs(m, cos_phi, modulation, turn);
        // From the middle of the pulses outward the shortest ends first.
        legs.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mean: f64 = legs.iter().map(|(share, amps)| share * amps).sum();
        let carried: f64 = legs.iter().map(|(_, amps)| amps).sum();
        // Where each piece begins, what has been gathered until there, and the current from there on.
        let mut pieces = [(0.0, 0.0, mean - carried); 4];
        for (k, &(share, amps)) in legs.iter().enumerate() {
            let (from, gathered, current) = pieces[k];
            let edge = 0.5 * share;
            pieces[k + 1] = (edge, gathered + current * (edge - from), current + amps);
        }
        let edges = across.besides.as_ref().map(|besides| {
            let edges = legs.map(|(share, _)| turns(PI * share));
            let lines = core::array::from_fn(|h| {
                let pulses: f64 = edges.iter().zip(&legs).map(|(edge, (_, amps))| amps * edge[h].1).sum();
                let crest = -FRAC_2_PI * pulses / (h + 1) as f64;
                (crest * besides[h].0, crest * besides[h].1)
            });
            (edges, lines)
        });
        // What stands at each edge without what rings: a moment after it, as long before the middle and after.
        let mut bases = [(0.0, 0.0); 3];
        for k in 0..3 {
            let (edge, gathered, after) = pieces[k + 1];
            let (even, odd) = edges.as_ref().map_or((0.0, 0.0), |(edges, lines)| added(lines, &edges[k]));
            let odd = gathered / siemens + odd;
            bases[k] = (ohms * pieces[k].2 + even - odd, ohms * after + even + odd);
            // A leg that stays on or off has no edge.
            if edge > 0.0 {
                span.take(ohms * pieces[k].2 + even, odd);
            }
            if edge < 0.5 {
                span.take(ohms * after + even, odd);
            }
            // Of two that end together either is the first a moment before or after.
            if let Some((share, amps)) = legs.get(k + 1)
                && (0.5 * share - edge).abs() < TOGETHER
                && edge < 0.5
            {
                span.take(ohms * (pieces[k].2 + amps) + even, odd);
            }
        }
        if across.rings[0].is_some() {
            ringing(&mut span, &across.rings, &legs, &bases);
        }
        if let Some((_, lines)) = &edges {
            let mut piece = 0;
            for (part, turns) in BETWEEN.iter().enumerate() {
                let at = 0.5 * part as f64 / PARTS as f64;
                while piece < 3 && pieces[piece + 1].0 < at {
                    piece += 1;
                }
                let (from, gathered, current) = pieces[piece];
                let (even, odd) = added(lines, turns);
                span.take(ohms * current + even, (gathered + current * (at - from)) / siemens + odd);
            }
        }
    }
    // What is missing is lost in the comparisons and comes back here.
    let known = 0.0 * (m + cos_phi + ohms + 1.0 / siemens + lost(across));
    Voltage::new(peak.si() * (span.high - span.low + known))
}

/// Takes in what rings after each edge of a period. `legs` are the share of the period and the current of each leg, the
/// shortest first, and `bases` what stands there beside it.
fn ringing(span: &mut Span, rings: &[Option<Ring>; RINGS], legs: &[(f64, f64); 3], bases: &[(f64, f64); 3]) {
    // From the beginning of the period: the longest begins first and ends last.
    let begins = [2, 1, 0].map(|k| (-0.5 * legs[k].0, -legs[k].1, bases[k].0));
    let ends = [0, 1, 2].map(|k| (0.5 * legs[k].0, legs[k].1, bases[k].1));
    let edges = || begins.iter().chain(&ends).filter(|(at, ..)| at.abs() > 0.0 && at.abs() < 0.5);
    let (mut now, mut all) = ([(0.0, 0.0); RINGS], 0.0);
    for (ring, now) in rings.iter().zip(&mut now) {
        let Some(ring) = ring else { continue };
        let mut before = -0.5;
        for &(at, amps, _) in edges() {
            *now = ring.later(*now, at - before);
            now.0 += ring.step(amps);
            before = at;
        }
        *now = ring.lasting(ring.later(*now, 0.5 - before));
        all += 0.0 * now.0;
    }
    let mut before = -0.5;
    for &(at, amps, base) in edges() {
        let (mut low, mut high) = (base + all, base + all);
        for (ring, now) in rings.iter().zip(&mut now) {
            let Some(ring) = ring else { continue };
            *now = ring.later(*now, at - before);
            now.0 += ring.step(amps);
            let crests = ring.crests(*now);
            (low, high) = (low + crests.0, high + crests.1);
        }
        span.take_between(low, high);
        before = at;
    }
}

/// Bound for the ripple of the voltage from any other stage: its ripple current, RMS and from crest to crest, the share
/// of its square at each line, and its edges.
///
/// `ΔV ≤ I/(2·f_1·C) + R·ΔI + 2·√2·Σ I_h·|ΔZ_h| + Σ 2·Z·Σ|ΔI_e|/(1 − e^(−σ/f_1)) of what rings above eight times f_1`.
/// Valid: a bound: rectangular pulses of half the period reach the first term, triangles 87 % of it, and neither lines
/// nor rings ever crest together. Source: charge of half a period of a rectangular or triangular current; Ohm's law
/// line by line; step response of R, L and C side by side.
#[must_use]
pub fn bound(
    rms: Current,
    swing: Current,
    shares: &[f64; LINES],
    across: &Across,
    first: Frequency,
    edges: Edges,
) -> Voltage {
    let charge = 0.5 * rms.si() / (first.si() * across.capacitance.si());
    let besides = across.besides.map_or(0.0, |besides| {
        let of = |(share, (real, imaginary)): (&f64, (f64, f64))| {
            at_least_zero(*share).sqrt() * libm::hypot(real, imaginary)
        };
        2.0 * SQRT_2 * rms.si() * shares.iter().zip(besides).map(of).sum::<f64>()
    });
    let rings: f64 = across.rings.iter().flatten().map(|ring| ring.bound(edges).si()).sum();
    Voltage::new(charge + swing.si() * across.resistance.si() + besides + rings)
}

/// Swing, peak to peak, that a current without jumps makes across an inductance; `first` is how often it repeats.
///
/// `ΔV ≤ L·f_1·Σ|Δs_e|/2, Δs_e what the slope changes by at each edge, in A a period`. Valid: a current of straight
/// pieces without jumps; reached where its slope rises and falls once in a period, a bound for more. Source: V =
/// L·di/dt.
#[must_use]
pub fn across_inductance(edges: Edges, inductance: Inductance, first: Frequency) -> Voltage {
    Voltage::new(0.5 * edges.bends.si() * first.si() * inductance.si())
}

/// Nothing, or what is missing.
fn lost(across: &Across) -> f64 {
    let of = |besides: [(f64, f64); LINES]| besides.iter().map(|(real, imaginary)| real + imaginary).sum();
    0.0 * across.besides.map_or(0.0, of)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ripple(m: f64, cos_phi: f64, ohms: f64) -> f64 {
        let across = Across::in_series(Capacitance::new(1e-3), Resistance::new(ohms));
        let carrier = Frequency::new(1e4);
        from_bridge(Current::new(100.0), m, cos_phi, Modulation::SpaceVector, &across, carrier).si()
    }

    #[test]
    fn at_unity_power_factor_without_resistance_it_is_the_simple_form() {
        // (3/8)·M·(1 − 0.75·M) of Î/(C·f) with space vectors.
        let m = 0.5;
        let volts = ripple(m, 1.0, 0.0);
        assert!((volts / (0.375 * m * (1.0 - 0.75 * m) * 10.0) - 1.0).abs() < 0.02, "{volts}");
    }

    #[test]
    fn a_triangle_leaps_across_an_inductance_by_both_of_its_slopes() {
        // 12 A up in 3 us and down in 7 us: 4 A/us and 1.714 A/us, across 13.5 nH.
        let edges = Edges { jumps: Current::ZERO, bends: Current::new(2.0 * (12.0 / 0.3 + 12.0 / 0.7)) };
        let volts = across_inductance(edges, Inductance::new(13.5e-9), Frequency::new(100e3)).si();
        assert!((volts - 13.5e-9 * (4e6 + 12e6 / 7.0)).abs() < 1e-9, "{volts}");
    }

    #[test]
    fn a_large_resistance_sees_the_pulses_themselves() {
        // From no vector to the crest of a phase; without power factor from minus to plus sin 60° of it.
        let pulses = |cos_phi| (ripple(0.8, cos_phi, 1.0) - ripple(0.8, cos_phi, 0.0)) / 100.0;
        assert!((pulses(0.95) - 1.0).abs() < 0.03, "{}", pulses(0.95));
        assert!((pulses(-0.95) - 1.0).abs() < 0.03, "{}", pulses(-0.95));
        assert!((pulses(0.0) - 3f64.sqrt()).abs() < 0.06, "{}", pulses(0.0));
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let nothing = f64::NAN;
        assert!(ripple(nothing, 0.9, 0.0).is_nan() && ripple(0.9, nothing, 0.0).is_nan());
        assert!(ripple(0.9, 0.9, nothing).is_nan());
        let mut across = Across::in_series(Capacitance::new(1e-3), Resistance::ZERO);
        across.besides = Some([(nothing, 0.0); LINES]);
        let (amps, first) = (Current::new(1.0), Frequency::new(1e4));
        let edges = Edges { jumps: amps, bends: amps };
        assert!(bound(amps, amps, &[0.1; LINES], &across, first, edges).si().is_nan());
        assert!(from_bridge(amps, 0.9, 0.9, Modulation::Sinusoidal, &across, first).si().is_nan());
    }
}
