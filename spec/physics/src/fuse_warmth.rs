//! How warm a load that comes and goes leaves the notches of a fuse.
//!
//! A time-current curve from cold is a step response: the current that melts the fuse after a time, against the one that melts
//! it in the end, says which share of its rise a load brings by then. Bodies with time constants of their own that rise
//! together at least as soon follow any load.

use crate::fuse::OF_CURVE;
use crate::{Current, Law, SquaredCurrent, Time, fading_square};

/// Law of [`after_cycle`] and [`body_after`].
pub static AS_WARM: Law = Law {
    name: "load held for good that leaves a fuse as warm as what it carried",
    formula: "I_0² = Σ a_k·I_k², each I_k² following I² with a time constant τ_k; the a_k of all before a point of its time-current curve add up to (k_2/(0.9·k))², its conventional fusing current over the load of the point 10 % to the cautious side, at most 1; τ_k a fifth of the time of the point before, of the first none. At the end of what recurs I_k² = I_b² + (I² − I_b²)·(1 − e^(−t/τ_k))/(1 − e^(−T/τ_k)), I_b what flows in between",
    validity: "linear heat; reads high of a load that rose: at points of the curve no less than 99 % of its share, between them more",
    source: "superposition of step responses; IEC 60269-1: tolerance of time-current characteristics",
};

/// Share of the time of the point before in which a body warms: it has all but 1 % of its rise by then.
const QUICKLY: f64 = 0.2;

/// Bodies that together warm at least as soon as a time-current curve says: the share of the rise of each, with its time
/// constant. `points` are loads over the rated one, rising, with times in s; `melts` is the one that melts it in the end.
pub fn bodies(points: &[(f64, f64)], melts: f64) -> impl Iterator<Item = (f64, Time)> + '_ {
    let share = move |load: f64| {
        let root = melts / ((1.0 - OF_CURVE) * load);
        // What is missing stays missing.
        if root >= 1.0 { 1.0 } else { root * root }
    };
    let shares = points.iter().rev().map(move |&(load, _)| share(load)).chain([1.0]);
    let times = core::iter::once(0.0).chain(points.iter().rev().map(|&(_, time)| time));
    let mut reached = 0.0;
    shares.zip(times).map(move |(share, before)| {
        let own = share - reached;
        reached = share;
        (own, Time::new(QUICKLY * before))
    })
}

/// The square that one body follows, after a current has flowed for a time. See [`AS_WARM`].
#[inline]
pub fn body_after(before: SquaredCurrent, current: Current, lasts: Time, constant: Time) -> SquaredCurrent {
    if constant.si() > 0.0 {
        fading_square::after(before, current, lasts, constant)
    } else {
        current * current
    }
}

/// The load held for good that leaves a fuse as warm as a current does at the end of each time, after which another one flows
/// until the next. See [`AS_WARM`].
pub fn after_cycle(
    (current, lasts): (Current, Time),
    (between, every): (Current, Time),
    bodies: impl Iterator<Item = (f64, Time)>,
) -> Current {
    let (now, rest) = ((current * current).si(), (between * between).si());
    let rises = |constant: f64| {
        if constant > 0.0 {
            libm::expm1(-lasts.si() / constant) / libm::expm1(-every.si() / constant)
        } else {
            1.0
        }
    };
    let square: f64 = bodies.map(|(share, tau)| share * (rest + (now - rest) * rises(tau.si()))).sum();
    Current::new(square.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1.6, 2, 3 and 5 times the rated current for an hour, 100 s, 2 s and 30 ms.
    const CURVE: [(f64, f64); 4] = [(1.6, 3600.0), (2.0, 100.0), (3.0, 2.0), (5.0, 0.03)];

    /// Rise of all bodies after a step, over the one in the end.
    fn risen(after: f64) -> f64 {
        let of = |(share, tau): (f64, Time)| {
            share * if tau.si() > 0.0 { 1.0 - libm::exp(-after / tau.si()) } else { 1.0 }
        };
        bodies(&CURVE, 1.6).map(of).sum()
    }

    #[test]
    fn a_load_warms_a_fuse_at_least_as_soon_as_its_curve_says() {
        for (load, time) in CURVE {
            let root = 1.6 / (0.9 * load);
            let by_curve = f64::min(root * root, 1.0);
            assert!(risen(time) >= 0.99 * by_curve, "{load}: {} for {by_curve}", risen(time));
        }
        let all: f64 = bodies(&CURVE, 1.6).map(|(share, _)| share).sum();
        assert!((all - 1.0).abs() < 1e-12);
        assert!(bodies(&CURVE, f64::NAN).any(|(share, _)| share.is_nan()));
    }

    #[test]
    fn a_cycle_stepped_again_and_again_ends_as_warm_as_in_closed_form() {
        let of: Vec<(f64, Time)> = bodies(&CURVE, 1.6).collect();
        let (current, between) = (150.0_f64, 40.0_f64);
        for (lasts, every) in [(5.0, 100.0), (0.5, 2.0), (300.0, 900.0), (60.0, 60.0)] {
            // Each body by itself in short steps, until many times the longest time constant has passed.
            let mut squares = vec![0.0; of.len()];
            let step = lasts / 400.0;
            let mut warmest: f64 = 0.0;
            for _ in 0..((8.0 * 720.0 / every) as usize + 40) {
                let mut at = 0.0;
                while at < every - 0.5 * step {
                    let flows = if at < lasts - 0.5 * step { current } else { between };
                    for (square, (_, tau)) in squares.iter_mut().zip(&of) {
                        let left = if tau.si() > 0.0 { libm::exp(-step / tau.si()) } else { 0.0 };
                        *square = flows * flows + (*square - flows * flows) * left;
                    }
                    at += step;
                    if (at - lasts).abs() < 0.5 * step {
                        warmest = of.iter().zip(&squares).map(|((share, _), square)| share * square).sum();
                    }
                }
            }
            let on = (Current::new(current), Time::new(lasts));
            let off = (Current::new(between), Time::new(every));
            let closed = after_cycle(on, off, of.iter().copied()).si();
            assert!((closed / warmest.sqrt() - 1.0).abs() < 1e-3, "{lasts} of {every}: {closed}");
        }
    }
}
