//! A package reduced to the heat that it sends through its faces.

use crate::plan::{Package, Plan};
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::{Reduced, Scratch};
use crate::trace::Trace;

/// Chips and case of a package, reduced to its faces.
pub(crate) fn reduce<const L: usize, T: Trace>(
    plan: &Plan,
    package: &Package,
    pass: &Pass<'_, L, T>,
    scratch: &Scratch<L>,
    trouble: &mut Trouble<L>,
) -> Reduced<L> {
    let mut out = Reduced::default();
    for &chip in &package.chips {
        let to_case = pass.input(plan.chips[chip].inputs.junction_to_case);
        let line = &scratch.lines[chip];
        for l in 0..L {
            let (constant, per_kelvin) = (line.constant[l], line.per_kelvin[l]);
            if add_chip(&mut out, l, package.faces.len(), to_case[l], constant, per_kelvin) <= 0.0 {
                trouble.note(l, plan.chips[chip].part);
            }
        }
    }
    if let [face] = package.faces.as_slice() {
        let to_coolant = pass.operand(face.resistance_here());
        for l in 0..L {
            if behind_one_face(&mut out, l, to_coolant[l]) <= 0.0 {
                trouble.note(l, package.part);
            }
        }
    }
    if let [a, b] = package.faces.as_slice() {
        let (to_a, to_b) = (pass.operand(a.resistance_here()), pass.operand(b.resistance_here()));
        for l in 0..L {
            // The faces exchange heat through the chips, also without any loss: what the loss takes from the
            // determinant is what counts.
            let (_, _, determinant) = two_faces(&out, l, [to_a[l], to_b[l]], [0.0; 2]);
            let stiffness = determinant / (1.0 + 0.5 * (to_a[l] + to_b[l]) * out.conductance[l]);
            if stiffness <= 0.0 {
                trouble.note(l, package.part);
            }
            out.stiffness[l] *= stiffness;
        }
    }
    out
}

/// Adds a chip, whose loss is a line over its junction, to what the faces of its package see; one less its loop gain.
#[inline]
pub(crate) fn add_chip<const L: usize>(
    out: &mut Reduced<L>,
    l: usize,
    faces: usize,
    to_case: f64,
    constant: f64,
    per_kelvin: f64,
) -> f64 {
    let stiffness = 1.0 - to_case * per_kelvin;
    if stiffness < out.stiffness[l] || stiffness.is_nan() {
        out.stiffness[l] = stiffness;
    }
    if faces == 1 {
        out.sources[l] += constant / stiffness;
        out.conductance[l] += per_kelvin / stiffness;
    } else {
        // Half the chip's conductance leads to each face: R_jc is that of both faces together.
        let to_face = 0.5 / to_case;
        let share = 0.5 / stiffness;
        out.sources[l] += share * constant;
        out.across[l] += share * to_face;
        out.conductance[l] += to_face;
    }
    stiffness
}

/// A package with one face, reduced to what stands behind that; one less its loop gain.
#[inline]
pub(crate) fn behind_one_face<const L: usize>(out: &mut Reduced<L>, l: usize, resistance: f64) -> f64 {
    let stiffness = 1.0 - resistance * out.conductance[l];
    out.sources[l] /= stiffness;
    out.conductance[l] /= stiffness;
    out.stiffness[l] *= stiffness;
    stiffness
}

/// Case temperatures and heats of a package with two faces, from what stands behind each.
#[inline]
pub(crate) fn two_faces<const L: usize>(
    reduced: &Reduced<L>,
    l: usize,
    resistance: [f64; 2],
    behind: [f64; 2],
) -> ([f64; 2], [f64; 2], f64) {
    let (sources, across, conductance) = (reduced.sources[l], reduced.across[l], reduced.conductance[l]);
    let own = conductance - across;
    let (left, right) = (1.0 + resistance[0] * own, 1.0 + resistance[1] * own);
    let determinant = left * right - resistance[0] * resistance[1] * across * across;
    let (a, b) = (behind[0] + resistance[0] * sources, behind[1] + resistance[1] * sources);
    let cases = [
        (a * right + resistance[0] * across * b) / determinant,
        (b * left + resistance[1] * across * a) / determinant,
    ];
    let both = across * (cases[0] + cases[1]);
    let heats = [sources + both - conductance * cases[0], sources + both - conductance * cases[1]];
    (cases, heats, determinant)
}
