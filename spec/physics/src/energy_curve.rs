//! A switching-energy curve as the data sheet draws it: points, and straight lines between them.
//!
//! One power law through two points misses the recovery of a diode by up to a tenth at low current;
//! following the curve and integrating it exactly does not. Points are (current, energy of one event) with
//! rising current.
//!
//! Below the first point the first line is continued to zero current, unless it would fall below zero
//! energy there: then the curve runs from the origin to the first point. Above the last point the last line
//! is continued. A single point is taken as energy in proportion to current. Two points at one
//! current are a step: the earlier holds below it, the later above. No point, or a point that is not a
//! number, gives not a number.

use core::f64::consts::PI;

use crate::{Current, Energy};

/// One straight part a + b·i of the curve, up to the current where the next one begins.
#[derive(Clone, Copy)]
struct Line {
    a: f64,
    b: f64,
    end: f64,
}

/// The straight parts from zero current upwards; the last one never ends. Nothing where the points do not
/// make a curve.
#[inline]
fn lines(points: &[(Current, Energy)]) -> impl Iterator<Item = Line> {
    let known = points.iter().all(|(current, energy)| !current.si().is_nan() && !energy.si().is_nan());
    let points = if known { points } else { &[] };
    let rising = points.windows(2).filter_map(|pair| {
        let (i0, e0, i1, e1) = (pair[0].0.si(), pair[0].1.si(), pair[1].0.si(), pair[1].1.si());
        // Two points at one current are a step; a falling current is not a curve and is passed over as well.
        (i1 > i0).then(|| {
            let b = (e1 - e0) / (i1 - i0);
            Line { a: e0 - b * i0, b, end: i1 }
        })
    });
    let last = rising.clone().next_back();
    let lowest = points.first().map(|&(current, energy)| (current.si(), energy.si()));
    let from_origin = lowest.filter(|&(current, _)| current > 0.0).and_then(|(current, energy)| {
        let line = Line { a: 0.0, b: energy / current, end: current };
        match rising.clone().next() {
            Some(first) if first.a >= 0.0 => None,
            Some(_) => Some(line),
            None => Some(Line { end: f64::INFINITY, ..line }),
        }
    });
    from_origin.into_iter().chain(rising).chain(last.map(|line| Line { end: f64::INFINITY, ..line }))
}

/// Energy of one event at a current.
///
/// A negative current is not a number: which device switches is decided by the sign, before this is asked.
///
/// `E(i) = E_k + (E_(k+1) − E_k)·(i − I_k)/(I_(k+1) − I_k)`. Valid: between the curve's points; its first and last line
/// are continued beyond them. Source: linear interpolation of the data sheet's curve.
#[inline]
pub fn polyline_at(points: &[(Current, Energy)], current: Current) -> Energy {
    let i = current.si();
    if i.is_nan() || i < 0.0 {
        return Energy::new(f64::NAN);
    }
    let here = lines(points).find(|line| i <= line.end);
    Energy::new(here.map_or(f64::NAN, |line| line.a + line.b * i))
}

/// Switching energy for each carrier period, averaged over the half wave of a sine current.
///
/// `peak` is the crest of the phase current; a negative one is not a number. Multiply by the carrier frequency for the
/// loss of one position.
///
/// `E = 1/(2·π)·∫₀^π E(Î·sin θ) dθ, line by line: Σ a·Δθ − b·Î·Δcos θ, all over π`. Valid: sine current; exact for the
/// lines between the points. Source: own integration.
#[inline]
pub fn polyline_average(points: &[(Current, Energy)], peak: Current) -> Energy {
    let crest = peak.si();
    if crest.is_nan() || crest < 0.0 {
        return Energy::new(f64::NAN);
    }
    if crest <= 0.0 {
        // No angle belongs to any current; half a turn at zero current is left.
        return polyline_at(points, peak) * 0.5;
    }
    let (mut sum, mut angle, mut cosine) = (0.0, 0.0, 1.0);
    for line in lines(points) {
        let sine = if line.end < crest { line.end / crest } else { 1.0 };
        let (next_angle, next_cosine) = (libm::asin(sine), ((1.0 - sine) * (1.0 + sine)).sqrt());
        sum += line.a * (next_angle - angle) + line.b * crest * (cosine - next_cosine);
        (angle, cosine) = (next_angle, next_cosine);
        if line.end >= crest {
            return Energy::new(sum / PI);
        }
    }
    // Only a curve without lines ends before the crest.
    Energy::new(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(f64, f64)]) -> Vec<(Current, Energy)> {
        points.iter().map(|&(i, e)| (Current::new(i), Energy::new(e))).collect()
    }

    fn at(points: &[(f64, f64)], i: f64) -> f64 {
        polyline_at(&curve(points), Current::new(i)).si()
    }

    fn average(points: &[(f64, f64)], peak: f64) -> f64 {
        polyline_average(&curve(points), Current::new(peak)).si()
    }

    /// Midpoints of the half wave; the reference of the closed form.
    fn stepped(points: &[(f64, f64)], peak: f64) -> f64 {
        let steps = 20_000;
        let sum: f64 = (0..steps)
            .map(|k| at(points, peak * libm::sin(PI * (f64::from(k) + 0.5) / f64::from(steps))))
            .sum();
        0.5 * sum / f64::from(steps)
    }

    #[test]
    fn a_straight_curve_has_its_textbook_mean() {
        // a/2 + b·Î/π, as of a quadratic fit without its square.
        let line = [(100.0, 5e-3), (400.0, 14e-3)];
        assert!((average(&line, 300.0) - (1e-3 + 3e-5 * 300.0 / PI)).abs() < 1e-15);
        // Beyond its ends as well.
        assert!((average(&line, 50.0) - (1e-3 + 3e-5 * 50.0 / PI)).abs() < 1e-15);
        assert!((average(&line, 900.0) - (1e-3 + 3e-5 * 900.0 / PI)).abs() < 1e-15);
    }

    #[test]
    fn a_bent_curve_agrees_with_stepping_through_it() {
        let bent = [(50.0, 4e-3), (150.0, 11e-3), (300.0, 17e-3), (450.0, 21e-3)];
        for peak in [20.0, 50.0, 120.0, 299.0, 450.0, 700.0] {
            assert!((average(&bent, peak) / stepped(&bent, peak) - 1.0).abs() < 1e-5, "at {peak} A");
        }
    }

    #[test]
    fn a_curve_that_would_dive_below_zero_starts_at_the_origin() {
        let steep = [(100.0, 2e-3), (200.0, 8e-3)];
        assert!((at(&steep, 50.0) - 1e-3).abs() < 1e-18);
        assert!((average(&steep, 400.0) / stepped(&steep, 400.0) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn one_point_is_energy_in_proportion_to_current() {
        assert!((at(&[(300.0, 9e-3)], 100.0) - 3e-3).abs() < 1e-18);
        assert!((average(&[(300.0, 9e-3)], 450.0) - 13.5e-3 / PI).abs() < 1e-15);
    }

    #[test]
    fn a_step_in_the_curve_is_followed() {
        let step = [(50.0, 0.5e-3), (100.0, 1e-3), (100.0, 3e-3), (200.0, 4e-3), (200.0, 4e-3)];
        assert!((at(&step, 75.0) - 0.75e-3).abs() < 1e-15);
        assert!((at(&step, 100.0) - 1e-3).abs() < 1e-15);
        assert!((at(&step, 150.0) - 3.5e-3).abs() < 1e-15);
        assert!((at(&step, 300.0) - 5e-3).abs() < 1e-15);
        assert!((average(&step, 170.0) / stepped(&step, 170.0) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn zero_crest_leaves_half_the_energy_at_zero_current() {
        assert!((average(&[(0.0, 1e-3), (100.0, 3e-3)], 0.0) - 0.5e-3).abs() < 1e-18);
        assert!((average(&[(0.0, 1e-3), (100.0, 3e-3)], 1e-9) - 0.5e-3).abs() < 1e-12);
    }

    #[test]
    fn no_curve_gives_no_energy() {
        assert!(average(&[], 100.0).is_nan());
        assert!(average(&[(0.0, 1e-3)], 100.0).is_nan());
        assert!(average(&[(100.0, 1e-3), (200.0, f64::NAN)], 50.0).is_nan());
        assert!(average(&[(100.0, 1e-3), (f64::NAN, 2e-3)], 50.0).is_nan());
        assert!(average(&[(100.0, 1e-3)], f64::NAN).is_nan());
        assert!(at(&[(100.0, 1e-3)], -1.0).is_nan());
    }
}
