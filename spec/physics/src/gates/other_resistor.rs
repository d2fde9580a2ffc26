//! How long a gate takes behind another resistor than the one that its times are stated with.

use crate::{Law, Resistance, Time};

/// Law of [`longest`].
pub static LONGEST: Law = Law {
    name: "longest time of a gate with the resistor that is fitted",
    formula: "t = t_0·max(1, R/R_0), R inside and outside of the device together",
    validity: "up to 10·R_0, as edges are nothing like those of the data sheet beyond; R charges the gate between the same voltages, t = R·C·ln(ΔV_1/ΔV_2), what does not grow with R is taken to, and a lower R earns nothing",
    source: "step response of R and C; Baliga, Fundamentals of Power Semiconductor Devices, 2nd ed., 2019 (switching with a gate resistor)",
};

/// Law of [`shortest`].
pub static SHORTEST: Law = Law {
    name: "shortest time of a gate with the resistor that is fitted",
    formula: "t = t_0·min(1, R/R_0), R inside and outside of the device together",
    validity: "down to R_0/10; what does not fall with R is taken to, and a higher R earns nothing",
    source: LONGEST.source,
};

/// Law of [`apart`].
pub static APART: Law = Law {
    name: "factor between the gate resistance that is fitted and the one of the data sheet",
    formula: "k = max(R/R_0, R_0/R) of turning on and of turning off, R and R_0 inside and outside of the device together",
    validity: Law::ALWAYS,
    source: "definition",
};

/// Factor up to which times are scaled.
pub const REACH: f64 = 10.0;

/// Factor up to which switching energies of a data sheet count as they are: resistors have this tolerance. They grow no
/// faster than in proportion to the resistance, so that what is solved reads low by no more.
pub const NEAR: f64 = 1.05;

/// A longest time; not a number beyond [`REACH`]. See [`LONGEST`].
#[must_use]
pub fn longest(stated: Time, fitted: Resistance, stated_with: Resistance) -> Time {
    let share = fitted / stated_with;
    if share > REACH || share.is_nan() { Time::new(f64::NAN) } else { stated * share.max(1.0) }
}

/// A shortest time; not a number beyond [`REACH`]. See [`SHORTEST`].
#[must_use]
pub fn shortest(stated: Time, fitted: Resistance, stated_with: Resistance) -> Time {
    let share = fitted / stated_with;
    if share < 1.0 / REACH || share.is_nan() { Time::new(f64::NAN) } else { stated * share.min(1.0) }
}

/// The factor between two resistances, never below one. See [`APART`].
#[must_use]
pub fn apart(fitted: Resistance, stated_with: Resistance) -> f64 {
    let share = fitted / stated_with;
    if share < 1.0 { 1.0 / share } else { share }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Time until a gate behind R falls from one voltage to another, stepped.
    fn stepped(ohms: f64) -> f64 {
        let (farads, step) = (9e-9, 1e-12);
        let (mut volts, mut time) = (22.0, 0.0);
        while volts > 9.0 {
            volts -= volts / (ohms * farads) * step;
            time += step;
        }
        time
    }

    #[test]
    fn a_gate_behind_another_resistor_takes_as_much_longer() {
        let ohm = Resistance::new;
        let stated = Time::new(stepped(3.0));
        assert!((longest(stated, ohm(19.2), ohm(3.0)).si() / stepped(19.2) - 1.0).abs() < 1e-3);
        assert!((shortest(stated, ohm(1.0), ohm(3.0)).si() / stepped(1.0) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn nothing_is_earned_and_nothing_is_said_from_afar() {
        let (stated, ohm) = (Time::new(110e-9), Resistance::new);
        assert!((longest(stated, ohm(2.0), ohm(3.0)) - stated).si().abs() < 1e-18);
        assert!((shortest(stated, ohm(5.0), ohm(3.0)) - stated).si().abs() < 1e-18);
        assert!((longest(stated, ohm(30.0), ohm(3.0)).si() - 1.1e-6).abs() < 1e-15);
        assert!(longest(stated, ohm(31.0), ohm(3.0)).si().is_nan());
        assert!(shortest(stated, ohm(0.29), ohm(3.0)).si().is_nan());
        assert!(longest(stated, ohm(f64::NAN), ohm(3.0)).si().is_nan());
        assert!(shortest(stated, ohm(f64::NAN), ohm(3.0)).si().is_nan());
    }

    #[test]
    fn how_far_apart_knows_no_direction() {
        let ohm = Resistance::new;
        assert!(
            (apart(ohm(6.0), ohm(3.0)) - 2.0).abs() < 1e-12
                && (apart(ohm(1.5), ohm(3.0)) - 2.0).abs() < 1e-12
        );
        assert!(apart(ohm(f64::NAN), ohm(3.0)).is_nan());
    }
}
