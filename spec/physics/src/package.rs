//! Chips that share a case, each with a loss that grows with its own temperature, reduced to one heat.
//!
//! At given currents a chip's loss is a straight line in its temperature. Chips in one case and a case on
//! one plate then make a linear system, solved here by hand from the chips outwards: the package answers as
//! heat α + β·T of the temperature that it rests on, the sweep along the coolant uses that, and chip
//! temperatures are put back afterwards. Every step divides by 1 − g; with losses that grow with
//! temperature a steady state exists exactly while each of these gains stays below one. [`Reduced::gain`]
//! is the largest of them.
//!
//! A data sheet's resistance from junction to case counts both faces of a package together: here each chip
//! has twice of it to either face.

use crate::{Law, LossSlope, Power, Temperature, TemperatureDifference, ThermalResistance};

/// Law of [`reduce_one_face`].
pub static ONE_FACE: Law = Law {
    name: "heat of a package on one cooled face",
    formula: "Q = (A + B·T_ref)/(1 − B·R_c), A = Σ a_i/(1 − g_i), B = Σ b_i/(1 − g_i), g_i = b_i·R_jc,i",
    validity: "losses a + b·T in °C; steady while every g_i and B·R_c are below 1",
    source: "own elimination of the linear node equations",
};

/// Law of [`reduce_two_faces`].
pub static TWO_FACES: Law = Law {
    name: "heat of a package between two cooled faces",
    formula: "Q = (A + B·u_0)/(1 − B·R_u), R_u = s/2 − ρ²·G/(2·K), u_0 = (T_a + T_b)/2 − ρ·G·(T_a − T_b)/(2·K), K = 1 + s·G; s = (R_a + R_b)/2, ρ = (R_a − R_b)/2, G = Σ 1/(2·R_jc,i)",
    validity: "losses a + b·T in °C; stated R_jc counts both faces together, each face taken as twice of it",
    source: "own elimination of the linear node equations",
};

/// Law of [`Chip::temperature`].
pub static CHIP_TEMPERATURE: Law = Law {
    name: "chip temperature over its case",
    formula: "T_j = (T_c + R_jc·a)/(1 − b·R_jc)",
    validity: "loss a + b·T_j; T_c the case, or the mean of both cases",
    source: "own elimination of the linear node equations",
};

/// Law of [`ReducedTwoFaces::heats`].
pub static FACE_HEATS: Law = Law {
    name: "heat into each of two faces",
    formula: "Q_a = (Q − G·v)/2, Q_b = (Q + G·v)/2, v = (T_a − T_b + ρ·Q)/(1 + s·G); s = (R_a + R_b)/2, ρ = (R_a − R_b)/2, G = Σ 1/(2·R_jc,i)",
    validity: "stated R_jc counts both faces together, each face taken as twice of it",
    source: "own elimination of the linear node equations",
};

/// Law of [`loop_gain`].
pub static LOOP_GAIN: Law = Law {
    name: "loop gain of a package",
    formula: "largest λ of R_c·Σ b_i/(λ − g_i) = 1, g_i = b_i·R_jc,i",
    validity: "losses a + b·T; falling losses taken as constant; comes to rest only below 1, fragile above 0.5",
    source: "own derivation: eigenvalues of a diagonal matrix with one shared path added",
};

/// Loss of a chip as a straight line in its own temperature: constant + per_kelvin·T, with T in °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChipLoss {
    /// Loss at 0 °C, where the line is anchored; no chip need ever be that cold.
    pub constant: Power,
    /// Growth for each kelvin.
    pub per_kelvin: LossSlope,
}

impl ChipLoss {
    /// Loss at a temperature.
    #[inline]
    pub fn at(self, temperature: Temperature) -> Power {
        self.constant + self.per_kelvin * above_zero(temperature)
    }
}

/// One chip of a package.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chip {
    /// Its loss.
    pub loss: ChipLoss,
    /// Resistance from junction to case as data sheets state it: all cooled faces together.
    pub to_case: ThermalResistance,
}

impl Chip {
    /// Gain of the chip alone, on a case that is held (plain number).
    #[inline]
    pub fn gain(self) -> f64 {
        self.loss.per_kelvin * self.to_case
    }

    /// Temperature on a case; between two cases, on the mean of both. See [`CHIP_TEMPERATURE`].
    #[inline]
    pub fn temperature(self, case: Temperature) -> Temperature {
        // The rise is that of the loss at the case's temperature, fed back.
        case + self.loss.at(case) * self.to_case / (1.0 - self.gain())
    }
}

/// Kelvins above 0 °C, the anchor of all straight lines here.
#[inline]
fn above_zero(temperature: Temperature) -> TemperatureDifference {
    temperature - Temperature::celsius(0.0)
}

/// A package as seen from what it rests on: heat = alpha + beta·T, with T in °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reduced {
    /// Heat while the reference is at 0 °C.
    pub alpha: Power,
    /// Growth of the heat for each kelvin of the reference.
    pub beta: LossSlope,
    /// Largest gain of the elimination (plain number). Below one: steady. At one or above: nothing comes to
    /// rest, and alpha, beta mean nothing.
    pub gain: f64,
}

impl Reduced {
    /// Heat with the reference at a temperature.
    #[inline]
    pub fn heat(self, reference: Temperature) -> Power {
        self.alpha + self.beta * above_zero(reference)
    }

    /// Puts a further resistance between the package and its reference.
    #[inline]
    pub fn through(self, path: ThermalResistance) -> Self {
        let gain = self.beta * path;
        let left = 1.0 - gain;
        Self { alpha: self.alpha / left, beta: self.beta / left, gain: larger(self.gain, gain) }
    }
}

/// The larger of two gains; a missing one wins.
#[inline]
fn larger(one: f64, other: f64) -> f64 {
    if one.is_nan() || one > other { one } else { other }
}

/// All chips as seen from the case.
#[inline]
fn seen_from_case(chips: &[Chip]) -> Reduced {
    let nothing = Reduced { alpha: Power::ZERO, beta: LossSlope::ZERO, gain: f64::NEG_INFINITY };
    chips.iter().fold(nothing, |sum, chip| {
        let gain = chip.gain();
        let left = 1.0 - gain;
        Reduced {
            alpha: sum.alpha + chip.loss.constant / left,
            beta: sum.beta + chip.loss.per_kelvin / left,
            gain: larger(sum.gain, gain),
        }
    })
}

/// A package with one cooled face: chips to a case, and the case to a reference through `case_path`.
///
/// Put back with `case = reference + heat·case_path` and [`Chip::temperature`]. See [`ONE_FACE`].
#[inline]
pub fn reduce_one_face(chips: &[Chip], case_path: ThermalResistance) -> Reduced {
    seen_from_case(chips).through(case_path)
}

/// A package between two cooled faces, reduced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReducedTwoFaces {
    /// All heat, against the weighted reference of [`ReducedTwoFaces::reference`].
    pub total: Reduced,
    /// Share of reference a in the weighted reference (plain number); reference b has the rest.
    pub share_a: f64,
    half_path: ThermalResistance,
    half_step: ThermalResistance,
    conductance: f64,
    path_a: ThermalResistance,
    path_b: ThermalResistance,
}

/// Where the heat of a package between two faces goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceHeats {
    /// Heat into reference a; negative where a hotter side warms the other.
    pub heat_a: Power,
    /// Heat into reference b.
    pub heat_b: Power,
    /// Temperature of the face towards a.
    pub case_a: Temperature,
    /// Temperature of the face towards b.
    pub case_b: Temperature,
}

impl FaceHeats {
    /// Mean of both faces, on which every chip rests; for [`Chip::temperature`].
    #[inline]
    pub fn case(self) -> Temperature {
        self.case_a + (self.case_b - self.case_a) * 0.5
    }
}

/// A package between two cooled faces: each chip has twice its stated resistance to either face, and the
/// faces have `path_a` and `path_b` to a reference each.
///
/// No chip may have a resistance of zero to the case: both faces would be one. See [`TWO_FACES`].
#[inline]
pub fn reduce_two_faces(
    chips: &[Chip],
    path_a: ThermalResistance,
    path_b: ThermalResistance,
) -> ReducedTwoFaces {
    let conductance: f64 = chips.iter().map(|chip| (0.5 / chip.to_case).si()).sum();
    let half_path = (path_a + path_b) * 0.5;
    let half_step = (path_a - path_b) * 0.5;
    // All heat that enters the faces divides between them; a part of it crosses from face to face through
    // the chips.
    let crossing = 1.0 + half_path.si() * conductance;
    let tilt = half_step.si() * conductance / crossing;
    let seen = half_path * 0.5 - half_step * (0.5 * tilt);
    ReducedTwoFaces {
        total: seen_from_case(chips).through(seen),
        share_a: 0.5 - 0.5 * tilt,
        half_path,
        half_step,
        conductance,
        path_a,
        path_b,
    }
}

impl ReducedTwoFaces {
    /// The one temperature that stands for both references.
    #[inline]
    pub fn reference(self, reference_a: Temperature, reference_b: Temperature) -> Temperature {
        reference_b + (reference_a - reference_b) * self.share_a
    }

    /// Heats and face temperatures at two reference temperatures. See [`FACE_HEATS`].
    #[inline]
    pub fn heats(self, reference_a: Temperature, reference_b: Temperature) -> FaceHeats {
        let heat = self.total.heat(self.reference(reference_a, reference_b));
        // The faces' difference: the references', and what the unequal paths make of the heat, less what
        // crosses back.
        let apart = (reference_a - reference_b + heat * self.half_step)
            / (1.0 + self.half_path.si() * self.conductance);
        let crossing = Power::new(apart.si() * self.conductance);
        let (heat_a, heat_b) = ((heat - crossing) * 0.5, (heat + crossing) * 0.5);
        FaceHeats {
            heat_a,
            heat_b,
            case_a: reference_a + heat_a * self.path_a,
            case_b: reference_b + heat_b * self.path_b,
        }
    }
}

/// Loop gain of chips on one case (plain number): the factor by which a small rise of all chips comes back
/// after one round, the largest eigenvalue of the products of resistance and slope.
///
/// `case_path` is the resistance from the case to what is held. Unlike [`Reduced::gain`] it tells *how far*
/// from running away a package is; both pass one together. Chips whose loss falls with temperature are
/// taken as constant, which is the unfavourable side.
#[inline]
pub fn loop_gain(chips: &[Chip], case_path: ThermalResistance) -> f64 {
    // The eigenvalues λ of diag(g_i) + R·1·bᵀ solve R·Σ b_i/(λ − g_i) = 1; the largest lies above every g_i.
    let (mut low, mut slope) = (0.0, 0.0);
    for chip in chips {
        let (gain, per_kelvin) = (chip.gain(), chip.loss.per_kelvin.si());
        if gain.is_nan() || per_kelvin.is_nan() {
            return f64::NAN;
        }
        low = if gain > low { gain } else { low };
        slope += if per_kelvin > 0.0 { per_kelvin } else { 0.0 };
    }
    let mut high = low + case_path.si() * slope;
    if !high.is_finite() || high <= low {
        return high;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let sum: f64 = chips
            .iter()
            .filter(|chip| chip.loss.per_kelvin > LossSlope::ZERO)
            .map(|chip| chip.loss.per_kelvin.si() / (middle - chip.gain()))
            .sum();
        if case_path.si() * sum > 1.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[cfg(test)]
#[path = "package_tests.rs"]
mod tests;
