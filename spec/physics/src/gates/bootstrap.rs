//! A high gate that lives on a capacitor which the low side recharges.
//!
//! It is no barrier: the gate, the low side and the rail are one system. A low side that never conducts recharges
//! nothing: at standstill, at full duty, and before the first low pulse there is only the hold time.

use crate::{Capacitance, Charge, Current, Frequency, Law, Resistance, Time, Voltage};

const CHARGES: &str = "balance of charge; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003";

/// Law of [`droop`].
pub static DROOP: Law = Law {
    name: "droop of a bootstrap capacitor while the high side is on",
    formula: "ΔV = (Q_g + Q_shift + I_leak·t_on)/C",
    validity: "constant leakage; capacitance at its low end and with its bias",
    source: CHARGES,
};

/// Law of [`lowest_voltage`].
pub static LOWEST_VOLTAGE: Law = Law {
    name: "lowest voltage of a bootstrap capacitor in the periodic cycle",
    formula: "V = V_cc − V_drops − ΔV/(1 − e^(−t_L/(R·C)))",
    validity: "constant drops of diode and low side; the same droop in each period; exact for it",
    source: "own derivation: charge and droop of one period close on each other",
};

/// Law of [`crest_duty`].
pub static CREST_DUTY: Law = Law {
    name: "largest share of a period that a high side of a bridge is on",
    formula: "d = (1 + M/M_lin)/2",
    validity: "continuous modulation up to M_lin, at the crest of the reference; at standstill the same with a small index",
    source: "Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003 (references of a leg)",
};

/// What a high side takes from its capacitor while it is on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Charge of the gate.
    pub gate: Charge,
    /// Charge of the level shifter, for each edge.
    pub shift: Charge,
    /// Leakage and the driver's own current.
    pub leakage: Current,
}

impl Taken {
    fn during(&self, on: Time) -> Charge {
        self.gate + self.shift + self.leakage * on
    }
}

/// Droop while the high side is on. See [`DROOP`].
#[must_use]
pub fn droop(taken: &Taken, on: Time, capacitance: Capacitance) -> Voltage {
    taken.during(on) / capacitance
}

/// Time for which the capacitor holds; negative where one edge takes more than is allowed, infinite without leakage.
///
/// `t = (C·ΔV − Q_g − Q_shift)/I_leak`. Valid: constant leakage; below zero where one edge alone takes more than is
/// allowed. Source: balance of charge; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003.
#[must_use]
pub fn hold_time(taken: &Taken, capacitance: Capacitance, allowed: Voltage) -> Time {
    (capacitance * allowed - taken.gate - taken.shift) / taken.leakage
}

/// How a capacitor is recharged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recharge {
    /// Supply of the low side less the drops of the diode and the low switch.
    pub towards: Voltage,
    /// Resistance in the way.
    pub resistance: Resistance,
    /// Time in each period for which the low side conducts.
    pub time: Time,
}

/// Lowest voltage in the periodic cycle. See [`LOWEST_VOLTAGE`].
#[must_use]
pub fn lowest_voltage(recharge: &Recharge, capacitance: Capacitance, droop: Voltage) -> Voltage {
    let filled = -libm::expm1(-(recharge.time / (recharge.resistance * capacitance)));
    recharge.towards - droop / filled
}

/// Largest duty that leaves the low side its least time and both dead times.
///
/// `d = 1 − (t_L + 2·t_dead)·f`. Valid: one recharge in each period; below zero there is none. Source: partition of a
/// period.
#[must_use]
pub fn largest_duty(recharge: Time, dead: Time, frequency: Frequency) -> f64 {
    1.0 - (recharge + dead * 2.0) * frequency
}

/// Largest share of a period that a high side of a bridge is on; 1 and more where it leaves the linear range. See
/// [`CREST_DUTY`].
#[must_use]
pub fn crest_duty(index: f64, linear_limit: f64) -> f64 {
    0.5 * (1.0 + index / linear_limit)
}

/// How long a switch conducts in six-step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Half a turn.
    HalfTurn,
    /// A third of a turn.
    ThirdOfTurn,
}

/// Time for which a high side stays on in six-step; infinite at standstill.
///
/// `t = 1/(2·f_e), 1/(3·f_e) where each switch conducts for a third of a turn; for ever at standstill`. Valid: no
/// switching within the step. Source: partition of a turn.
#[must_use]
pub fn six_step_on_time(electrical: Frequency, step: Step) -> Time {
    let share = match step {
        Step::HalfTurn => 2.0,
        Step::ThirdOfTurn => 3.0,
    };
    1.0 / (electrical.abs() * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    const C: Capacitance = Capacitance::new(1e-6);
    const TAKEN: Taken =
        Taken { gate: Charge::new(120e-9), shift: Charge::new(10e-9), leakage: Current::new(200e-6) };

    #[test]
    fn a_tenth_of_a_millisecond_droops_by_a_sixth_of_a_volt() {
        let on = Time::new(1e-4);
        assert!((droop(&TAKEN, on, C).si() - 0.15).abs() < 1e-12);
    }

    #[test]
    fn a_capacitor_that_holds_for_its_time_has_then_drooped_by_what_is_allowed() {
        let allowed = Voltage::new(1.0);
        let time = hold_time(&TAKEN, C, allowed);
        assert!((time.si() - 4.35e-3).abs() < 1e-12);
        assert!((droop(&TAKEN, time, C) - allowed).si().abs() < 1e-12);
        assert!(hold_time(&TAKEN, Capacitance::new(0.1e-6), allowed).si() < 0.0);
        let tight = Taken { leakage: Current::ZERO, ..TAKEN };
        assert!(hold_time(&tight, C, allowed).si().is_infinite());
    }

    #[test]
    fn the_crest_of_each_reference_gives_the_largest_share() {
        use crate::Modulation;
        for modulation in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            for index in [0.0, 0.4, 0.9, modulation.linear_limit()] {
                let on = |k: i32| {
                    let angle = f64::from(k) * core::f64::consts::TAU / 3600.0;
                    0.5 * (1.0 + modulation.reference(index, angle))
                };
                let largest = (0..3600).map(on).fold(0.0, f64::max);
                let by_law = crest_duty(index, modulation.linear_limit());
                assert!((largest - by_law).abs() < 1e-5, "{modulation:?} {index}: {largest} {by_law}");
            }
        }
    }

    #[test]
    fn at_standstill_a_step_never_ends() {
        assert!((six_step_on_time(Frequency::new(50.0), Step::HalfTurn).si() - 0.01).abs() < 1e-15);
        assert!(
            (six_step_on_time(Frequency::new(-50.0), Step::ThirdOfTurn).si() - 1.0 / 150.0).abs() < 1e-15
        );
        assert!(six_step_on_time(Frequency::ZERO, Step::HalfTurn).si().is_infinite());
    }

    #[test]
    fn two_dead_times_and_the_recharge_are_taken_from_a_period() {
        let duty = largest_duty(Time::new(1.5e-6), Time::new(0.5e-6), Frequency::new(20e3));
        assert!((duty - 0.95).abs() < 1e-12);
    }
}
