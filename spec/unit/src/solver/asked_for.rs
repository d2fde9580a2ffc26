//! Figures that people ask for and nothing is held against: densities of currents, and the ripple of a choke beside its mean.

use loadworthy_physics::conductors::copper::{CURRENT_DENSITY, current_density};
use loadworthy_physics::{Current, Law};

use crate::ids::FigureId;
use crate::plan::{Conductor, Density, Plan, Topology};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static RIPPLE_SHARE: Law = Law {
    name: "ripple of a choke beside its mean current",
    formula: "r = ΔI/|I_L|",
    validity: "a leg that carries something",
    source: "definition",
};

/// Puts the density of the current of a conductor.
pub(crate) fn in_conductor<const L: usize, T: Trace>(conductor: &Conductor, pass: &mut Pass<'_, L, T>) {
    let Some(density) = &conductor.density else { return };
    let ripple = conductor.heat.as_ref().map(|heat| heat.figures.ripple);
    dense(density, conductor.current, ripple, pass);
}

/// Puts those of windings and chokes.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for winding in plan.magnetics.iter().flat_map(|magnetic| &magnetic.windings) {
        winding.density.iter().for_each(|density| dense(density, winding.rms, None, pass));
    }
    for stage in &plan.stages {
        let Topology::Chopper(chopper) = &stage.topology else { continue };
        let figures = &chopper.figures;
        let (ripple, mean) = (pass.figure(figures.ripple), pass.figure(figures.leg_current));
        let from: [Operand; 2] = [figures.ripple.into(), figures.leg_current.into()];
        pass.put(figures.ripple_share, &RIPPLE_SHARE, &from, |l| {
            if mean[l] == 0.0 { f64::NAN } else { ripple[l] / mean[l].abs() }
        });
    }
}

/// A current with its ripple, by a section of copper.
fn dense<const L: usize, T: Trace>(
    density: &Density,
    current: FigureId,
    ripple: Option<FigureId>,
    pass: &mut Pass<'_, L, T>,
) {
    let amps = pass.figure(current);
    let ripples = ripple.map_or([0.0; L], |ripple| pass.figure(ripple));
    let [one, other] = density.copper.from();
    let from: [Operand; 4] = [current.into(), one, other, ripple.unwrap_or(current).into()];
    let count = if ripple.is_some() { 4 } else { 3 };
    let inputs = pass.inputs;
    pass.put(density.figure, &CURRENT_DENSITY, &from[..count], |l| {
        let area = density.copper.area(|input| inputs[input.index()][l]);
        let amps = (amps[l] * amps[l] + ripples[l] * ripples[l]).sqrt();
        current_density(Current::new(amps), area).si()
    });
}
