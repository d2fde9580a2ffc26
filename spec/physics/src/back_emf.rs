//! What a turning machine with permanent magnets does while nothing controls it: the voltage of its terminals with all
//! gates off, and the currents while its three phases are shorted.
//!
//! Currents are crests as the rotor sees them, as in [`crate::machine`].

use crate::machine::{Machine, RotorCurrent};
use crate::{AngularSpeed, Current, FluxLinkage, Law, Torque, Voltage};

const MODEL: &str =
    "two-axis model of a synchronous machine; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003";
const UNSATURATED: &str = "sinusoidal machine of constant inductances and speed; saturation raises the current along the magnets, conducting devices lower it a little";

/// Law of [`line_crest`].
pub static LINE_CREST: Law = Law {
    name: "crest of the line voltage of a turning machine without current",
    formula: "V̂_LL = √3·p·Ω·ψ",
    validity: "sinusoidal machine; magnets as warm as ψ is stated for, colder ones give more",
    source: MODEL,
};

/// Law of [`Machine::shorted`].
pub static SHORTED: Law = Law {
    name: "steady current of a machine with its phases shorted",
    formula: "i_d = −ω²·L_q·ψ/(R² + ω²·L_d·L_q), i_q = −ω·R·ψ/(R² + ω²·L_d·L_q), Î = √(i_d² + i_q²), ω = p·Ω",
    validity: UNSATURATED,
    source: "both voltages of the two-axis model at zero",
};

/// Law of [`Machine::shorting`].
pub static SHORTING: Law = Law {
    name: "largest values in the first turn after the phases of a machine are shorted",
    formula: "i(t) = i_steady + e^(A·t)·(i_0 − i_steady), A = [[−R/L_d, ω·L_q/L_d], [−ω·L_d/L_q, −R/L_q]], i_0 = 0 after all gates were off; largest over 2·π/ω",
    validity: UNSATURATED,
    source: "linear circuit in rotor coordinates, by its exponential; compared with own time stepping",
};

/// Steps over one electrical turn; a crest between two of them is missed by less than 1e-4 of the swing.
const STEPS: u32 = 360;

/// Crest of the voltage between two terminals without current. See [`LINE_CREST`].
#[inline]
#[must_use]
pub fn line_crest(pole_pairs: f64, flux: FluxLinkage, speed: AngularSpeed) -> Voltage {
    let turning = speed * pole_pairs;
    let phase = flux * turning;
    Voltage::new(3.0f64.sqrt() * phase.si().abs())
}

/// Largest values in the first electrical turn after the phases were shorted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shorting {
    /// Crest of the current of a phase.
    pub crest: Current,
    /// Current against the magnets, −i_d.
    pub against_magnets: Current,
    /// Torque, in whichever direction.
    pub torque: Torque,
}

impl Machine {
    /// Current with the phases shorted, once it is steady. See [`SHORTED`].
    #[must_use]
    pub fn shorted(&self, speed: AngularSpeed) -> RotorCurrent {
        let turning = (speed * self.pole_pairs).si();
        let (ohms, direct, quadrature) =
            (self.resistance.si(), self.direct_inductance.si(), self.quadrature_inductance.si());
        let share =
            -turning * self.flux_linkage.si() / (ohms * ohms + turning * turning * direct * quadrature);
        RotorCurrent {
            direct: Current::new(share * turning * quadrature),
            quadrature: Current::new(share * ohms),
        }
    }

    /// Largest steady torque with the phases shorted at any speed up to this one, without sign.
    ///
    /// `T = 3/2·p·ψ²·ω·R·(R² + ω²·L_q²)/(R² + ω²·L_d·L_q)², at ω/R = √u, L_d·L_q³·u² − 3·L_q·(L_q − L_d)·u − 1 = 0, or
    /// at the highest speed below that`. Valid: sinusoidal machine of constant inductances and speed; saturation raises
    /// the current along the magnets, conducting devices lower it a little. Source: own derivation: the place where the
    /// torque no longer grows with the speed.
    #[must_use]
    pub fn largest_shorted_torque(&self, highest: AngularSpeed) -> Torque {
        let (d, q) = (self.direct_inductance.si(), self.quadrature_inductance.si());
        // The positive solution of a·u² − b·u − 1 = 0, u = (ω/R)².
        let (a, b) = (d * q * q * q, 3.0 * q * (q - d));
        let squared = (b + libm::sqrt(b * b + 4.0 * a)) / (2.0 * a);
        let at = self.resistance.si() * libm::sqrt(squared) / self.pole_pairs;
        let top = highest.si().abs();
        // Written so that what is missing stays missing.
        let at = if top < at { top } else { at + 0.0 * top };
        let torque = self.torque(self.shorted(AngularSpeed::new(at)));
        Torque::new(torque.si().abs())
    }

    /// Largest values in the first electrical turn after the phases are shorted at `speed` with a current flowing. At
    /// standstill nothing is driven and the current that flows fades. See [`SHORTING`].
    #[must_use]
    pub fn shorting(&self, from: RotorCurrent, speed: AngularSpeed) -> Shorting {
        let turning = (speed * self.pole_pairs).si();
        let steady = self.shorted(speed);
        let (d, q) = (self.direct_inductance.si(), self.quadrature_inductance.si());
        let mut rest = [from.direct.si() - steady.direct.si(), from.quadrature.si() - steady.quadrature.si()];
        let step = self.exponential(turning, core::f64::consts::TAU / turning.abs() / f64::from(STEPS));
        let (mut crest, mut against, mut torque) = (0.0, 0.0, 0.0);
        for _ in 0..=STEPS {
            let current = RotorCurrent {
                direct: Current::new(steady.direct.si() + rest[0]),
                quadrature: Current::new(steady.quadrature.si() + rest[1]),
            };
            crest = larger(crest, current.crest().si());
            against = larger(against, -current.direct.si());
            torque = larger(torque, self.torque(current).si().abs());
            if turning.abs() <= 0.0 {
                break;
            }
            rest = [step[0] * rest[0] + step[1] * rest[1], step[2] * rest[0] + step[3] * rest[1]];
        }
        let known = 0.0 * (self.resistance.si() + d + q + turning);
        Shorting {
            crest: Current::new(crest + known),
            against_magnets: Current::new(against + known),
            torque: Torque::new(torque + known),
        }
    }

    /// What a time makes of a current that is left over from the steady one, row by row.
    fn exponential(&self, turning: f64, time: f64) -> [f64; 4] {
        let (ohms, d, q) =
            (self.resistance.si(), self.direct_inductance.si(), self.quadrature_inductance.si());
        let (fading, apart) = (0.5 * ohms * (1.0 / d + 1.0 / q), 0.5 * ohms * (1.0 / d - 1.0 / q));
        // e^(A·t) = e^(−α·t)·(c + s·(A + α)), where (A + α)² = δ² − ω².
        let squared = apart * apart - turning * turning;
        let root = libm::sqrt(squared.abs());
        let (c, s) = if root * time < 1e-6 {
            (1.0 + 0.0 * root, time)
        } else if squared < 0.0 {
            (libm::cos(root * time), libm::sin(root * time) / root)
        } else {
            (libm::cosh(root * time), libm::sinh(root * time) / root)
        };
        let faded = libm::exp(-fading * time);
        [
            faded * (c - s * apart),
            faded * s * turning * q / d,
            -faded * s * turning * d / q,
            faded * (c + s * apart),
        ]
    }
}

/// The larger; a missing one stays missing.
fn larger(one: f64, other: f64) -> f64 {
    if other <= one { one } else { other }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Inductance, Resistance};

    const MACHINE: Machine = Machine {
        pole_pairs: 4.0,
        flux_linkage: FluxLinkage::new(0.2),
        resistance: Resistance::new(0.02),
        direct_inductance: Inductance::new(250e-6),
        quadrature_inductance: Inductance::new(250e-6),
    };

    #[test]
    fn a_line_shows_the_root_of_three_times_the_crest_of_a_phase() {
        // 1000 rad/s electrical at 0.2 V·s are 200 V in a phase.
        let crest = line_crest(4.0, MACHINE.flux_linkage, AngularSpeed::new(250.0));
        assert!((crest.si() - 346.410).abs() < 1e-3);
    }

    #[test]
    fn a_fast_machine_shorts_its_flux_through_its_inductance() {
        let fast = MACHINE.shorted(AngularSpeed::new(2000.0));
        // ψ/L_d = 800 A.
        assert!((fast.direct.si() + 800.0).abs() < 0.2, "{fast:?}");
        assert!(MACHINE.shorted(AngularSpeed::new(0.0)).crest().si().abs() < 1e-12);
    }

    #[test]
    fn without_saliency_it_brakes_most_at_r_over_l() {
        // 3/2·p·ψ²/(2·L) at ω = R/L = 80 rad/s.
        let most = MACHINE.largest_shorted_torque(AngularSpeed::new(500.0)).si();
        assert!((most - 480.0).abs() < 1e-9, "{most}");
        // Below that speed the torque still grows with it.
        let slow = MACHINE.largest_shorted_torque(AngularSpeed::new(10.0)).si();
        assert!((slow - 384.0).abs() < 1e-9, "{slow}");
    }

    #[test]
    fn without_resistance_the_first_swing_is_twice_the_steady_current() {
        let lossless = Machine { resistance: Resistance::new(1e-9), ..MACHINE };
        let swing = lossless.shorting(
            RotorCurrent { direct: Current::ZERO, quadrature: Current::ZERO },
            AngularSpeed::new(500.0),
        );
        assert!((swing.against_magnets.si() - 1600.0).abs() < 0.1, "{swing:?}");
        let resting = MACHINE.shorting(
            RotorCurrent { direct: Current::ZERO, quadrature: Current::ZERO },
            AngularSpeed::new(0.0),
        );
        assert!(resting.crest.si().abs() < 1e-12 && resting.torque.si().abs() < 1e-12);
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let holed = Machine { resistance: Resistance::new(f64::NAN), ..MACHINE };
        let none = RotorCurrent { direct: Current::ZERO, quadrature: Current::ZERO };
        let swing = holed.shorting(none, AngularSpeed::new(500.0));
        assert!(
            swing.crest.si().is_nan() && swing.against_magnets.si().is_nan() && swing.torque.si().is_nan()
        );
        assert!(holed.largest_shorted_torque(AngularSpeed::new(500.0)).si().is_nan());
        assert!(MACHINE.largest_shorted_torque(AngularSpeed::new(f64::NAN)).si().is_nan());
        assert!(line_crest(4.0, FluxLinkage::new(f64::NAN), AngularSpeed::new(1.0)).si().is_nan());
    }
}
