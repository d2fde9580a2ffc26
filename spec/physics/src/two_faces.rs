//! One chip cooled from both faces, each with a coolant of its own.

use crate::{Law, Power, Temperature, ThermalResistance};

/// Law of [`junction`].
pub static JUNCTION: Law = Law {
    name: "chip cooled from two faces",
    formula: "T_j = (P + T_a/R_a + T_b/R_b)/(1/R_a + 1/R_b), P_a = (T_j − T_a)/R_a",
    validity: "chip of one temperature, no path around it; 0.3 % against a solution with depth",
    source: "node balance; Incropera, DeWitt, Bergman, Lavine, Fundamentals of Heat and Mass Transfer, 7th ed., 2011",
};

/// What becomes of the heat of a chip with two faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoFaces {
    /// Temperature of the chip.
    pub junction: Temperature,
    /// Heat that leaves by face a; negative where a hotter side warms the chip.
    pub heat_a: Power,
    /// Heat that leaves by face b.
    pub heat_b: Power,
}

/// Temperature of a chip cooled from two faces, and the heat through each.
///
/// `power` is its loss; `path_a` and `path_b` are the whole resistances from the chip to `reference_a` and
/// `reference_b`, each of its own face alone. A data sheet may state both faces together, which is half of
/// either when they are equal. See [`JUNCTION`].
#[inline]
pub fn junction(
    power: Power,
    path_a: ThermalResistance,
    reference_a: Temperature,
    path_b: ThermalResistance,
    reference_b: Temperature,
) -> TwoFaces {
    // Counted from reference a, so that a face that conducts nothing (infinite resistance) drops out by
    // itself.
    let step = reference_b - reference_a;
    let (to_a, to_b) = (1.0 / path_a, 1.0 / path_b);
    let junction = reference_a + (power + to_b * step) / (to_a + to_b);
    TwoFaces { junction, heat_a: (junction - reference_a) * to_a, heat_b: (junction - reference_b) * to_b }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solve(power: f64, a: (f64, f64), b: (f64, f64)) -> TwoFaces {
        let (path, celsius) = (ThermalResistance::new, Temperature::celsius);
        junction(Power::new(power), path(a.0), celsius(a.1), path(b.0), celsius(b.1))
    }

    #[test]
    fn all_heat_leaves_by_one_face_or_the_other() {
        let chip = solve(380.0, (0.16, 65.0), (0.24, 68.0));
        assert!(((chip.heat_a + chip.heat_b).si() - 380.0).abs() < 1e-9);
    }

    #[test]
    fn a_hot_side_warms_the_chip() {
        assert!(solve(20.0, (0.2, 65.0), (0.2, 95.0)).heat_b.si() < 0.0);
    }

    #[test]
    fn a_lost_face_leaves_the_other_with_everything() {
        let chip = solve(380.0, (0.16, 65.0), (f64::INFINITY, 68.0));
        assert!((chip.junction.in_celsius() - (65.0 + 380.0 * 0.16)).abs() < 1e-9);
        assert_eq!(chip.heat_b, Power::ZERO);
    }
}
