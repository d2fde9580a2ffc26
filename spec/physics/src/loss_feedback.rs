//! Losses that grow with the temperature they cause, and whether they come to rest.
//!
//! At rest T = T_f + R·P(T). The loop gain g = R·dP/dT says how much of a small rise comes back: below one
//! it dies out, at one or above the temperature runs away. That nothing comes to rest is a result of its
//! own here, and never a temperature.

use core::f64::consts::E;

use crate::{Current, LossSlope, Power, Resistance, Temperature, TemperatureDifference, ThermalResistance};

/// Whether a loss and the temperature it causes come to rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Feedback {
    /// They do.
    Steady {
        /// The temperature that is reached from below, and kept.
        temperature: Temperature,
        /// The loop gain there, at most one.
        loop_gain: f64,
    },
    /// They do not: each rise of temperature brings a larger one.
    NoSteadyState {
        /// The lowest loop gain that is known to be reached, at least one.
        loop_gain: f64,
    },
    /// An input is missing.
    NotJudged,
}

/// Loop gain of a loss (plain number).
///
/// `path` is the resistance from the junction to the temperature that is held, `slope` the loss's growth for each
/// kelvin of the junction.
///
/// `g = R·dP/dT`. Valid: steady; comes to rest only below 1, fragile above 0.5. Source: own derivation, compared with
/// bracketing root searches.
#[inline]
pub fn loop_gain(path: ThermalResistance, slope: LossSlope) -> f64 {
    slope * path
}

/// Loss that grows in a straight line: P = P_0·(1 + α·(T − T_0)).
///
/// `coolant` is held, `path` leads to it, `at_reference` is P_0 at the temperature `reference`, `per_kelvin` is α.
///
/// `T = (T_f + R·P_0·(1 − α·T_0))/(1 − g), g = α·P_0·R`. Valid: P = P_0·(1 + α·(T − T_0)); exact, none for g ≥ 1.
/// Source: own derivation, compared with bracketing root searches.
#[inline]
pub fn linear(
    coolant: Temperature,
    path: ThermalResistance,
    at_reference: Power,
    per_kelvin: f64,
    reference: Temperature,
) -> Feedback {
    let gain = loop_gain(path, LossSlope::new(per_kelvin * at_reference.si()));
    // Counted from the coolant: the rise is that of the loss at the coolant's temperature, fed back.
    let at_coolant = at_reference * (1.0 + per_kelvin * (coolant - reference).si());
    let temperature = coolant + at_coolant * path / (1.0 - gain);
    if gain >= 1.0 { Feedback::NoSteadyState { loop_gain: gain } } else { judged(temperature, gain) }
}

/// Leakage that grows exponentially on top of a constant loss: P = P_0 + P_L·exp((T − T_0)/T_1).
///
/// `constant` is P_0, `leakage` is P_L at the temperature `reference` T_0, `e_fold` is T_1, the kelvins for which
/// leakage grows e-fold.
///
/// `T = T_f + R·P_0 + T_1·g, g·e^(−g) = R·P_L/T_1·e^((T_f + R·P_0 − T_0)/T_1)`. Valid: P = P_0 + P_L·e^((T − T_0)/T_1);
/// none where the right side is above 1/e. Source: own derivation with the Lambert W function (Corless et al., Adv.
/// Comput. Math. 5, 1996).
#[inline]
pub fn leakage(
    coolant: Temperature,
    path: ThermalResistance,
    constant: Power,
    leakage: Power,
    reference: Temperature,
    e_fold: TemperatureDifference,
) -> Feedback {
    let without = coolant + constant * path;
    let drive = path * leakage / e_fold * libm::exp((without - reference) / e_fold);
    if drive.is_nan() {
        return Feedback::NotJudged;
    }
    if drive > 1.0 / E {
        // The gain at the temperature without leakage is `drive` itself; it is at least one where it matters.
        return Feedback::NoSteadyState { loop_gain: if drive > 1.0 { drive } else { 1.0 } };
    }
    let gain = stable_gain(drive);
    judged(without + e_fold * gain, gain)
}

/// Hottest coolant with which [`leakage`] still comes to rest.
///
/// `T_f,crit = T_0 − R·P_0 − T_1·(1 + ln(R·P_L/T_1))`. Valid: P = P_0 + P_L·e^((T − T_0)/T_1); loop gain 1 there.
/// Source: own derivation, compared with bracketing root searches.
#[inline]
pub fn critical_coolant_of_leakage(
    path: ThermalResistance,
    constant: Power,
    leakage: Power,
    reference: Temperature,
    e_fold: TemperatureDifference,
) -> Temperature {
    reference - constant * path - e_fold * (1.0 + libm::log(path * leakage / e_fold))
}

/// The solution g within 0 ..= 1 of g·exp(−g) = drive, that is −W₀(−drive), for a drive within 0 ..= 1/e.
///
/// Newton's steps inside a bracket that they may not leave; near g = 1, where the curve is flat, halving
/// takes over.
#[inline]
fn stable_gain(drive: f64) -> f64 {
    if drive <= 0.0 {
        // A leakage below zero is no leakage; none at all feeds nothing back.
        return if drive < 0.0 { f64::NAN } else { 0.0 };
    }
    let (mut low, mut high) = (0.0, 1.0);
    let mut gain = drive;
    for _ in 0..80 {
        let bell = libm::exp(-gain);
        let excess = gain * bell - drive;
        if excess > 0.0 {
            high = gain;
        } else {
            low = gain;
        }
        let newton = gain - excess / ((1.0 - gain) * bell);
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - gain).abs() <= f64::EPSILON * next {
            return next;
        }
        gain = next;
    }
    gain
}

/// The loss I²·r of a resistance that grows as r_25·(1 + a·x + b·x²), with x the kelvins above 25 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QuadraticResistance {
    /// Resistance at 25 °C.
    pub at_25: Resistance,
    /// a, for each kelvin.
    pub per_kelvin: f64,
    /// b, for each kelvin squared.
    pub per_square_kelvin: f64,
}

impl QuadraticResistance {
    const REFERENCE: Temperature = Temperature::celsius(25.0);

    /// Resistance at a temperature.
    #[inline]
    pub fn at(self, temperature: Temperature) -> Resistance {
        let x = (temperature - Self::REFERENCE).si();
        self.at_25 * (1.0 + x * (self.per_kelvin + x * self.per_square_kelvin))
    }
}

/// A resistance that grows with temperature and carries a given current, such as the channel of a MOSFET.
///
/// The steady temperature is a root of a parabola, and of two it is the lower one that is reached from a cold start and
/// kept. It is computed without cancellation and serves b = 0 as well.
///
/// `x = 2·(d + k)/(1 − k·a + √D), D = (1 − k·a)² − 4·k·b·(d + k), k = R·I²·r_25, d = T_f − 25 °C, T = 25 °C + x`.
/// Valid: r = r_25·(1 + a·x + b·x²), positive at the coolant's temperature; the lower of two roots, none for D < 0; g =
/// 1 − √D. Source: own derivation, compared with bracketing root searches.
#[inline]
pub fn quadratic_resistance(
    coolant: Temperature,
    path: ThermalResistance,
    rms: Current,
    resistance: QuadraticResistance,
) -> Feedback {
    let base = QuadraticResistance::REFERENCE;
    let k = (rms * rms * resistance.at_25 * path).si();
    let d = (coolant - base).si();
    let (a, b) = (resistance.per_kelvin, resistance.per_square_kelvin);
    // F(x) = k·b·x² − m·x + (d + k) = 0 with m = 1 − k·a; F is k·r/r_25 at the coolant, where x = d.
    let m = 1.0 - k * a;
    let discriminant = m * m - 4.0 * k * b * (d + k);
    if discriminant.is_nan() {
        return Feedback::NotJudged;
    }
    // F(d) is positive. Where F still falls at the coolant, the nearest root lies above it; where F already
    // rises, both roots of an upward parabola lie below: the resistance has outgrown its cooling before it
    // warms at all.
    let gain_at_coolant = k * (a + 2.0 * b * d);
    let outgrown = b >= 0.0 && gain_at_coolant >= 1.0;
    if discriminant < 0.0 || outgrown {
        return Feedback::NoSteadyState {
            loop_gain: if gain_at_coolant > 1.0 { gain_at_coolant } else { 1.0 },
        };
    }
    let root = discriminant.sqrt();
    let x = if m > 0.0 { 2.0 * (d + k) / (m + root) } else { (m - root) / (2.0 * k * b) };
    judged(base + TemperatureDifference::new(x), 1.0 - root)
}

#[inline]
fn judged(temperature: Temperature, loop_gain: f64) -> Feedback {
    if temperature.in_celsius().is_nan() || loop_gain.is_nan() {
        Feedback::NotJudged
    } else {
        Feedback::Steady { temperature, loop_gain }
    }
}

#[cfg(test)]
#[path = "loss_feedback_tests.rs"]
mod tests;
