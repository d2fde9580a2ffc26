//! Whether a flow carries air down a passage, or leaves it standing at the high point.

use crate::bounds::within;
use crate::{Area, Law, Length, OutOfRange, Velocity, VolumeFlow};

/// Law of [`clearing_velocity`].
pub static CLEARING_VELOCITY: Law = Law {
    name: "velocity that carries air down a passage",
    formula: "v = √(g·D)·(0.56·√(sin θ) + 0.61), θ the slope by which it falls; straight down where no length is stated",
    validity: "round passages of 5 to 150 mm that run full, large pockets of air, measured with water: cold glycol wants more",
    source: "Escarameia, Proc. ICE Water Management 160, 2007",
};

/// Law of [`mean_velocity`].
pub static MEAN_VELOCITY: Law = Law {
    name: "mean velocity in a passage",
    formula: "v = Q/(n·π/4·D²)",
    validity: "n alike round passages side by side that run full",
    source: "conservation of mass",
};

/// Acceleration of free fall in m/s².
const FREE_FALL: f64 = 9.806_65;

/// Smallest and largest bore, in mm, for which [`clearing_velocity`] is taken.
const BORES: (f64, f64) = (5.0, 150.0);

/// Velocity above which a flow takes air with it down a passage; `sine` is the fall over the length, 1 where it falls
/// straight down. Not a number outside the bores that [`check_bore`] names. See [`CLEARING_VELOCITY`].
#[inline]
pub fn clearing_velocity(bore: Length, sine: f64) -> Velocity {
    if check_bore(bore).is_err() {
        return Velocity::new(f64::NAN);
    }
    let slope = within(sine, 0.0, 1.0);
    Velocity::new((FREE_FALL * bore.si()).sqrt() * (0.56 * slope.sqrt() + 0.61))
}

/// Whether the law of air in passages covers a bore.
///
/// # Errors
/// Names the bore and the range.
#[inline]
pub fn check_bore(bore: Length) -> Result<(), OutOfRange> {
    OutOfRange::check("bore", bore.si() * 1e3, BORES.0, BORES.1, "mm")
}

/// Open section of alike round passages side by side.
#[inline]
pub fn section(bore: Length, passages: f64) -> Area {
    bore * bore * (0.25 * core::f64::consts::PI * passages)
}

/// Mean velocity of a flow that parts evenly between alike round passages. See [`MEAN_VELOCITY`].
#[inline]
pub fn mean_velocity(flow: VolumeFlow, bore: Length, passages: f64) -> Velocity {
    flow / section(bore, passages)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_millimetres_clear_between_a_third_and_half_a_metre_a_second() {
        let at = |degrees: f64| clearing_velocity(Length::new(16e-3), libm::sin(degrees.to_radians())).si();
        assert!((at(5.0) - 0.31).abs() < 0.01, "{}", at(5.0));
        assert!((at(90.0) - 0.46).abs() < 0.01, "{}", at(90.0));
    }

    #[test]
    fn a_steeper_and_a_wider_passage_want_more() {
        let velocity = |bore: f64, sine: f64| clearing_velocity(Length::new(bore), sine).si();
        assert!(velocity(0.01, 0.2) < velocity(0.01, 0.9) && velocity(0.01, 0.9) < velocity(0.02, 0.9));
        assert!(velocity(1e-3, 1.0).is_nan() && velocity(0.5, 1.0).is_nan());
        assert!(velocity(0.01, f64::NAN).is_nan());
    }
}
