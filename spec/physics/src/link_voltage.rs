//! Ripple of the voltage of a bus: what the pulses of stages make of what stands across it.
//!
//! A capacitance with a resistance in series turns pulses into straight pieces and steps, which are summed as they are. What
//! branches side by side have besides is told line by line and added at the edges and between them.

mod of_bridge;

use core::f64::consts::SQRT_2;

pub use of_bridge::{BridgePulses, FROM_BRIDGE};

use crate::bounds::at_least_zero;
use crate::link_lines::LINES;
use crate::link_ring::{Edges, RINGS, Ring};
use crate::{Capacitance, Current, Frequency, Inductance, Resistance, Voltage};

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

    /// Whether anything rings.
    fn rings(&self) -> bool {
        self.rings[0].is_some()
    }

    /// Nothing, or what is missing beside the two.
    fn lost(&self) -> f64 {
        let of =
            |besides: [(f64, f64); LINES]| besides.iter().map(|(real, imaginary)| real + imaginary).sum();
        0.0 * self.besides.map_or(0.0, of)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_triangle_leaps_across_an_inductance_by_both_of_its_slopes() {
        // 12 A up in 3 us and down in 7 us: 4 A/us and 1.714 A/us, across 13.5 nH.
        let edges = Edges { jumps: Current::ZERO, bends: Current::new(2.0 * (12.0 / 0.3 + 12.0 / 0.7)) };
        let volts = across_inductance(edges, Inductance::new(13.5e-9), Frequency::new(100e3)).si();
        assert!((volts - 13.5e-9 * (4e6 + 12e6 / 7.0)).abs() < 1e-9, "{volts}");
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let nothing = f64::NAN;
        let mut across = Across::in_series(Capacitance::new(1e-3), Resistance::ZERO);
        across.besides = Some([(nothing, 0.0); LINES]);
        let (amps, first) = (Current::new(1.0), Frequency::new(1e4));
        let edges = Edges { jumps: amps, bends: amps };
        assert!(bound(amps, amps, &[0.1; LINES], &across, first, edges).si().is_nan());
    }
}
