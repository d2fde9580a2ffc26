//! Ripple that the pulses of a three-phase bridge make: its highest and lowest voltage over a turn.
//!
//! What the pulses are at each angle does not depend on what stands across the link, and is taken once for all that they are
//! led to.

use core::f64::consts::{FRAC_2_PI, PI, TAU};
use std::sync::LazyLock;

use super::Across;
use crate::link_lines::LINES;
use crate::link_pulses::{self, Turn, legs};
use crate::link_ring::{RINGS, Ring};
use crate::{Current, Frequency, Law, Modulation, Voltage};

/// Law of [`BridgePulses::ripple`].
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
/// Angles where something rings, which meets the next edge in another phase within little.
const FINE: usize = 64;
/// Edges closer than this share of a period are one.
const TOGETHER: f64 = 1e-9;

static SCANNED: LazyLock<[Turn; SCAN]> =
    LazyLock::new(|| core::array::from_fn(|place| link_pulses::turn(place as f64 / SCAN as f64)));

static RINGING: LazyLock<[Turn; FINE]> =
    LazyLock::new(|| core::array::from_fn(|place| link_pulses::turn(place as f64 / FINE as f64)));

/// Cosine and sine of each line.
type Turns = [(f64, f64); LINES];

/// Up to the middle of half a period: the rest mirrors it.
static BETWEEN: LazyLock<[Turns; PARTS / 2 + 1]> =
    LazyLock::new(|| core::array::from_fn(|part| turns(TAU * 0.5 * part as f64 / PARTS as f64)));

fn turns(angle: f64) -> Turns {
    let (sine, cosine) = libm::sincos(angle);
    let mut turn = (1.0, 0.0);
    core::array::from_fn(|_| {
        turn = (turn.0 * cosine - turn.1 * sine, turn.0 * sine + turn.1 * cosine);
        turn
    })
}

/// Pulses of a bridge at angles over a third of a turn, for a crest of one.
#[derive(Clone, Debug)]
pub struct BridgePulses {
    moments: Vec<Moment>,
    /// Not a number where something of the pulses is not known.
    known: f64,
}

impl Default for BridgePulses {
    fn default() -> Self {
        Self { moments: Vec::with_capacity(FINE), known: f64::NAN }
    }
}

/// The pulses of one carrier period, about their middle.
#[derive(Clone, Debug)]
struct Moment {
    /// Share of the period and current of each leg, the shortest first.
    legs: [(f64, f64); 3],
    /// From the middle outward: where each piece begins, what has been gathered until there, and the current from there on.
    pieces: [(f64, f64, f64); 4],
    /// Current, and what has been gathered, at each part of half a period.
    between: [(f64, f64); PARTS + 1],
    /// Cosine and sine of each line at each edge, and its crest.
    edges: [Turns; 3],
    crests: [f64; LINES],
}

impl Moment {
    /// At an angle; with lines where something asks for them.
    fn new(m: f64, cos_phi: f64, modulation: Modulation, turn: &Turn, with_lines: bool) -> Self {
        let mut legs = legs(m, cos_phi, modulation, turn);
        // From the middle of the pulses outward the shortest ends first.
        legs.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mean: f64 = legs.iter().map(|(share, amps)| share * amps).sum();
        let carried: f64 = legs.iter().map(|(_, amps)| amps).sum();
        let mut pieces = [(0.0, 0.0, mean - carried); 4];
        for (k, &(share, amps)) in legs.iter().enumerate() {
            let (from, gathered, current) = pieces[k];
            let edge = 0.5 * share;
            pieces[k + 1] = (edge, gathered + current * (edge - from), current + amps);
        }
        let (mut edges, mut crests) = ([[(1.0, 0.0); LINES]; 3], [0.0; LINES]);
        let mut between = [(0.0, 0.0); PARTS + 1];
        if with_lines {
            for (part, between) in between.iter_mut().enumerate() {
                let at = 0.5 * part as f64 / PARTS as f64;
                let piece = pieces[1..].iter().filter(|(from, ..)| *from < at).count();
                let (from, gathered, current) = pieces[piece];
                *between = (current, gathered + current * (at - from));
            }
            edges = legs.map(|(share, _)| turns(PI * share));
            crests = core::array::from_fn(|h| {
                let pulses: f64 = edges.iter().zip(&legs).map(|(edge, (_, amps))| amps * edge[h].1).sum();
                -FRAC_2_PI * pulses / (h + 1) as f64
            });
        }
        Self { legs, pieces, between, edges, crests }
    }

    /// Takes in the voltages of its carrier period; `each` is what a crest of current gathered over a whole period makes.
    fn swing(&self, across: &Across, (ohms, each): (f64, f64), span: &mut Span) {
        let lines = across.besides.as_ref().map(|besides| {
            core::array::from_fn(|h| (self.crests[h] * besides[h].0, -self.crests[h] * besides[h].1))
        });
        // What stands at each edge without what rings: a moment after it, as long before the middle and after.
        let mut bases = [(0.0, 0.0); 3];
        for (k, base) in bases.iter_mut().enumerate() {
            let (edge, gathered, after) = self.pieces[k + 1];
            let before = self.pieces[k].2;
            let (even, odd) = lines.as_ref().map_or((0.0, 0.0), |lines| added(lines, &self.edges[k]));
            let odd = gathered * each + odd;
            *base = (ohms * before + even - odd, ohms * after + even + odd);
            // A leg that stays on or off has no edge.
            if edge > 0.0 {
                span.take(ohms * before + even, odd);
            }
            if edge < 0.5 {
                span.take(ohms * after + even, odd);
            }
            // Of two that end together either is the first a moment before or after.
            if let Some((share, amps)) = self.legs.get(k + 1)
                && (0.5 * share - edge).abs() < TOGETHER
                && edge < 0.5
            {
                span.take(ohms * (before + amps) + even, odd);
            }
        }
        if across.rings() {
            ringing(span, &across.rings, &self.legs, &bases);
        }
        if let Some(lines) = &lines {
            for ((current, gathered), (even, odd)) in self.between.iter().zip(added_between(lines)) {
                span.take(ohms * current + even, gathered * each + odd);
            }
        }
    }
}

impl BridgePulses {
    /// Takes the pulses of a bridge; `across` is all that they will be led to, `m` the modulation index at the poles, `cos_phi` the
    /// power factor with its sign.
    pub fn take(&mut self, m: f64, cos_phi: f64, modulation: Modulation, across: &[Across]) {
        let angles: &[Turn] = if across.iter().any(Across::rings) { &*RINGING } else { &*SCANNED };
        let with_lines = across.iter().any(|across| across.besides.is_some());
        self.moments.clear();
        self.moments.extend(angles.iter().map(|turn| Moment::new(m, cos_phi, modulation, turn, with_lines)));
        self.known = 0.0 * (m + cos_phi);
    }

    /// Ripple of the voltage that they make of what stands across the link, peak to peak over a turn; `peak` is the crest of the
    /// phase current. See [`FROM_BRIDGE`].
    #[must_use]
    pub fn ripple(&self, peak: Current, across: &Across, carrier: Frequency) -> Voltage {
        let (ohms, each) = (across.resistance.si(), 1.0 / (across.capacitance.si() * carrier.si()));
        let mut span = Span { low: f64::INFINITY, high: f64::NEG_INFINITY };
        for moment in &self.moments {
            moment.swing(across, (ohms, each), &mut span);
        }
        // What is missing is lost in the comparisons and comes back here.
        let known = self.known + 0.0 * (ohms + each + across.lost());
        Voltage::new(peak.si() * (span.high - span.low + known))
    }
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

/// What lines add at a time, those with an odd number and those with an even one: of each what is the same as long before the
/// middle of the pulses, and what changes its sign.
#[inline]
fn added_apart(lines: &[(f64, f64); LINES], turns: &Turns) -> [(f64, f64); 2] {
    let mut sums = [(0.0, 0.0); 2];
    for (lines, turns) in lines.as_chunks::<2>().0.iter().zip(turns.as_chunks::<2>().0) {
        for ((sum, (real, imaginary)), (cosine, sine)) in sums.iter_mut().zip(lines).zip(turns) {
            sum.0 += real * cosine;
            sum.1 += imaginary * sine;
        }
    }
    sums
}

/// The same of all lines.
#[inline]
fn added(lines: &[(f64, f64); LINES], turns: &Turns) -> (f64, f64) {
    let [odd, even] = added_apart(lines, turns);
    (odd.0 + even.0, odd.1 + even.1)
}

/// The same at each part of half a period. As long before its end as after its beginning, cosines of lines with an odd number
/// and sines of those with an even one have the other sign.
fn added_between(lines: &[(f64, f64); LINES]) -> [(f64, f64); PARTS + 1] {
    let mut all = [(0.0, 0.0); PARTS + 1];
    for (part, turns) in BETWEEN.iter().enumerate() {
        let [odd, even] = added_apart(lines, turns);
        all[part] = (odd.0 + even.0, odd.1 + even.1);
        all[PARTS - part] = (even.0 - odd.0, odd.1 - even.1);
    }
    all
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Capacitance, Resistance};

    fn from_bridge(
        peak: Current,
        m: f64,
        cos_phi: f64,
        modulation: Modulation,
        across: &Across,
        carrier: Frequency,
    ) -> Voltage {
        let mut pulses = BridgePulses::default();
        pulses.take(m, cos_phi, modulation, core::slice::from_ref(across));
        pulses.ripple(peak, across, carrier)
    }

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
        assert!(from_bridge(amps, 0.9, 0.9, Modulation::Sinusoidal, &across, first).si().is_nan());
    }

    #[test]
    fn the_second_half_of_half_a_period_mirrors_the_first() {
        let lines: [(f64, f64); LINES] =
            core::array::from_fn(|h| (1.0 / (h + 1) as f64, 0.3 - 0.1 * h as f64));
        for (part, (even, odd)) in added_between(&lines).into_iter().enumerate() {
            let angle = |h: usize| PI * (h + 1) as f64 * part as f64 / PARTS as f64;
            let own = |of: &dyn Fn(usize) -> f64| (0..LINES).map(of).sum::<f64>();
            assert!((even - own(&|h| lines[h].0 * libm::cos(angle(h)))).abs() < 1e-12, "{part}");
            assert!((odd - own(&|h| lines[h].1 * libm::sin(angle(h)))).abs() < 1e-12, "{part}");
        }
    }

    #[test]
    fn pulses_led_to_several_places_make_of_each_what_they_make_of_it_alone() {
        let place = |h: usize| {
            let mut across = Across::in_series(Capacitance::new(1e-3), Resistance::new(1e-3));
            across.besides =
                Some(core::array::from_fn(|line| if line == h { (4e-3, -0.03) } else { (0.0, 1e-4) }));
            across
        };
        let (places, carrier) = ([place(1), place(3)], Frequency::new(1e4));
        let mut pulses = BridgePulses::default();
        pulses.take(0.7, 0.85, Modulation::SpaceVector, &places);
        for place in &places {
            let together = pulses.ripple(Current::new(80.0), place, carrier);
            let alone = from_bridge(Current::new(80.0), 0.7, 0.85, Modulation::SpaceVector, place, carrier);
            assert_eq!(together.si().to_bits(), alone.si().to_bits());
        }
    }
}
