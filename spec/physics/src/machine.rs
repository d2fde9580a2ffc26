//! Permanent-magnet synchronous machine: which phase current and voltage a torque at a speed takes.
//!
//! Currents and voltages are crests of the phase quantities, seen from the rotor: *direct* along the magnet,
//! *quadrature* ahead of it. Motoring has torque and speed of one sign; generating of opposite signs, with
//! the power at the terminals negative.

mod search;

use core::f64::consts::TAU;

use search::{Reach, least_current};

use crate::{
    AngularSpeed, Current, FluxLinkage, Frequency, Inductance, Law, Power, Resistance, Torque, Voltage,
};

const MODEL: &str =
    "two-axis model of a synchronous machine; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003";
const UNSATURATED: &str = "sinusoidal machine, steady; saturation, iron and friction losses are not modelled, so that a highly loaded machine takes more current than this";

/// Law of [`Machine::voltage`].
pub static VOLTAGE: Law = Law {
    name: "phase voltage of a permanent-magnet machine, crest",
    formula: "v_d = R·i_d − ω·L_q·i_q, v_q = R·i_q + ω·(L_d·i_d + ψ), V̂ = √(v_d² + v_q²), ω = p·Ω",
    validity: UNSATURATED,
    source: MODEL,
};

/// Law of [`solve`] where the voltage suffices.
pub static MOST_TORQUE_PER_AMPERE: Law = Law {
    name: "currents of most torque per ampere",
    formula: "i_q = T/(3/2·p·ψ·x), i_d = (x − 1)·ψ/(L_d − L_q), x³·(x − 1) = ((L_d − L_q)·T/(3/2·p·ψ²))²; i_d = 0 for L_d = L_q",
    validity: UNSATURATED,
    source: "own derivation: least i_d² + i_q² along the curve of equal torque",
};

/// Law of [`solve`] where the voltage does not suffice.
pub static FIELD_WEAKENING: Law = Law {
    name: "field weakening along the torque",
    formula: "least i_d² + i_q² with T(i_d, i_q) = T and V̂(i_d, i_q) ≤ V̂_max",
    validity: UNSATURATED,
    source: "own search along the curve of equal torque, compared with sampled currents",
};

/// What is stated of a machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    /// Pairs of poles, p.
    pub pole_pairs: f64,
    /// What the magnets link with a phase, crest, ψ; above zero.
    pub flux_linkage: FluxLinkage,
    /// Resistance of a phase, R.
    pub resistance: Resistance,
    /// Inductance along the magnets, L_d.
    pub direct_inductance: Inductance,
    /// Inductance across the magnets, L_q.
    pub quadrature_inductance: Inductance,
}

/// Phase current as the rotor sees it, crest values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RotorCurrent {
    /// Along the magnets, i_d; negative weakens the field.
    pub direct: Current,
    /// Across the magnets, i_q.
    pub quadrature: Current,
}

impl RotorCurrent {
    /// Crest of the phase current.
    #[inline]
    pub fn crest(self) -> Current {
        Current::new(libm::hypot(self.direct.si(), self.quadrature.si()))
    }
}

/// Whether a torque can be had within the voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reached {
    /// Yes, with the most torque per ampere.
    MostTorquePerAmpere,
    /// Yes, with more current than that, to hold the voltage down.
    FieldWeakened,
    /// No. The point is that of the largest share of the torque that can be had.
    OutOfReach,
    /// An input is missing.
    NotJudged,
}

/// What a torque at a speed takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MachinePoint {
    /// Whether and how the torque can be had.
    pub reached: Reached,
    /// Share of the asked torque that this point has: 1 unless it is out of reach.
    pub torque_share: f64,
    /// The current as the rotor sees it.
    pub rotor: RotorCurrent,
    /// Crest of the phase current.
    pub current: Current,
    /// Crest of the phase voltage, the drop in the resistance included.
    pub voltage: Voltage,
    /// Power factor at the terminals with the sign of the power; zero without current or voltage.
    pub cos_phi: f64,
    /// Power at the terminals, negative while generating.
    pub power: Power,
    /// Frequency of the currents, without sign.
    pub frequency: Frequency,
}

impl Machine {
    /// Torque of a current.
    ///
    /// `T = 3/2·p·(ψ + (L_d − L_q)·i_d)·i_q`. Valid: sinusoidal machine, steady; saturation, iron and friction losses
    /// are not modelled, so that a highly loaded machine takes more current than this. Source: two-axis model of a
    /// synchronous machine; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003.
    #[inline]
    pub fn torque(&self, rotor: RotorCurrent) -> Torque {
        let saliency = self.direct_inductance - self.quadrature_inductance;
        let linked = self.flux_linkage + saliency * rotor.direct;
        Torque::new(1.5 * self.pole_pairs * linked.si() * rotor.quadrature.si())
    }

    /// Direct and quadrature voltage, crest values, at a mechanical speed. See [`VOLTAGE`].
    #[inline]
    pub fn voltages(&self, rotor: RotorCurrent, speed: AngularSpeed) -> (Voltage, Voltage) {
        let turning = speed * self.pole_pairs;
        (
            self.resistance * rotor.direct - (self.quadrature_inductance * rotor.quadrature) * turning,
            self.resistance * rotor.quadrature
                + (self.direct_inductance * rotor.direct + self.flux_linkage) * turning,
        )
    }

    /// Crest of the phase voltage at a mechanical speed. See [`VOLTAGE`].
    #[inline]
    pub fn voltage(&self, rotor: RotorCurrent, speed: AngularSpeed) -> Voltage {
        let (direct, quadrature) = self.voltages(rotor, speed);
        Voltage::new(libm::hypot(direct.si(), quadrature.si()))
    }

    /// What a current at a speed means at the terminals.
    #[inline]
    fn point(&self, rotor: RotorCurrent, speed: AngularSpeed, reached: Reached, share: f64) -> MachinePoint {
        let (direct, quadrature) = self.voltages(rotor, speed);
        let (current, voltage) = (rotor.crest(), self.voltage(rotor, speed));
        let power = (direct * rotor.direct + quadrature * rotor.quadrature) * 1.5;
        let apparent = voltage * current * 1.5;
        let cos_phi = if apparent == Power::ZERO { 0.0 } else { crate::bounds::cosine(power / apparent) };
        let turning = speed * self.pole_pairs;
        MachinePoint {
            reached,
            torque_share: share,
            rotor,
            current,
            voltage,
            cos_phi,
            power,
            frequency: Frequency::new(turning.si().abs() / TAU),
        }
    }
}

/// What a machine takes for a torque at a speed, within the crest of phase voltage that is available.
///
/// Both saliencies, standstill, generating and turning backwards are included. A torque that the voltage
/// does not allow at any current gives the point of the largest share of it that can be had; its share is
/// zero where the voltage does not even hold the idle machine. There is no limit of current here: compare
/// the current with one. See [`MOST_TORQUE_PER_AMPERE`] and [`FIELD_WEAKENING`].
pub fn solve(machine: &Machine, torque: Torque, speed: AngularSpeed, available: Voltage) -> MachinePoint {
    let known = [
        machine.pole_pairs,
        machine.flux_linkage.si(),
        machine.resistance.si(),
        machine.direct_inductance.si(),
        machine.quadrature_inductance.si(),
        torque.si(),
        speed.si(),
    ];
    let usable = known.iter().all(|figure| figure.is_finite())
        && machine.pole_pairs > 0.0
        && machine.flux_linkage > FluxLinkage::ZERO
        && !available.si().is_nan();
    if !usable {
        let unknown = Current::new(f64::NAN);
        let rotor = RotorCurrent { direct: unknown, quadrature: unknown };
        return machine.point(rotor, speed, Reached::NotJudged, f64::NAN);
    }
    match least_current(machine, torque, speed, available) {
        Reach::Easily(rotor) => machine.point(rotor, speed, Reached::MostTorquePerAmpere, 1.0),
        Reach::Weakened(rotor) => machine.point(rotor, speed, Reached::FieldWeakened, 1.0),
        Reach::Never => {
            let (share, rotor) = search::largest_share(machine, torque, speed, available);
            machine.point(rotor, speed, Reached::OutOfReach, share)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MACHINE: Machine = Machine {
        pole_pairs: 4.0,
        flux_linkage: FluxLinkage::new(0.11),
        resistance: Resistance::new(0.012),
        direct_inductance: Inductance::new(0.20e-3),
        quadrature_inductance: Inductance::new(0.45e-3),
    };

    fn at(machine: &Machine, torque: f64, speed: f64, volts: f64) -> MachinePoint {
        solve(machine, Torque::new(torque), AngularSpeed::new(speed), Voltage::new(volts))
    }

    #[test]
    fn a_round_rotor_needs_no_direct_current() {
        let round = Machine { quadrature_inductance: MACHINE.direct_inductance, ..MACHINE };
        let point = at(&round, 120.0, 50.0, 300.0);
        assert_eq!(point.reached, Reached::MostTorquePerAmpere);
        assert_eq!(point.rotor.direct, Current::ZERO);
        assert!((point.current.si() - 120.0 / (1.5 * 4.0 * 0.11)).abs() < 1e-9);
    }

    #[test]
    fn standstill_holds_its_torque_with_a_resistive_voltage() {
        let point = at(&MACHINE, 200.0, 0.0, 300.0);
        assert!((point.voltage - MACHINE.resistance * point.current).si().abs() < 1e-9);
        assert!((point.cos_phi - 1.0).abs() < 1e-12);
        assert_eq!(point.frequency, Frequency::ZERO);
    }

    #[test]
    fn generating_returns_the_shaft_power_less_the_copper_loss() {
        let point = at(&MACHINE, -150.0, 300.0, 400.0);
        let copper = 1.5 * 0.012 * point.current.si() * point.current.si();
        assert!((point.power.si() - (-150.0 * 300.0 + copper)).abs() < 1e-6);
        assert!(point.cos_phi < 0.0);
    }

    #[test]
    fn more_than_the_voltage_allows_is_told_with_a_share() {
        let point = at(&MACHINE, 300.0, 900.0, 200.0);
        assert_eq!(point.reached, Reached::OutOfReach);
        assert!(point.torque_share > 0.1 && point.torque_share < 1.0);
        assert!(point.voltage.si() <= 200.0 * (1.0 + 1e-9));
        let again = at(&MACHINE, 300.0 * point.torque_share * 0.999, 900.0, 200.0);
        assert_eq!(again.reached, Reached::FieldWeakened);
    }

    #[test]
    fn what_is_missing_is_not_judged() {
        assert_eq!(at(&MACHINE, f64::NAN, 100.0, 300.0).reached, Reached::NotJudged);
        assert_eq!(at(&MACHINE, 100.0, 100.0, f64::NAN).reached, Reached::NotJudged);
        let holed = Machine { resistance: Resistance::new(f64::NAN), ..MACHINE };
        let point = at(&holed, 100.0, 100.0, 300.0);
        assert!(point.reached == Reached::NotJudged && point.current.si().is_nan());
    }

    #[test]
    fn an_idle_machine_weakens_its_field_above_its_own_voltage() {
        let slow = at(&MACHINE, 0.0, 100.0, 300.0);
        assert_eq!((slow.current, slow.power, slow.cos_phi), (Current::ZERO, Power::ZERO, 0.0));
        let fast = at(&MACHINE, 0.0, 900.0, 300.0);
        assert_eq!(fast.reached, Reached::FieldWeakened);
        assert!(fast.rotor.direct < Current::ZERO && fast.rotor.quadrature == Current::ZERO);
    }
}
