//! The leg that carries most of a boost or a buck with several, and the choke that does of a current doubler: its currents, those of its chips, and how hot its windings
//! and its junctions get. Nothing waits for it, and what the stage loses does not change: others carry less.

use loadworthy_physics::Law;

use crate::plan::{Chopper, Isolated, Magnetic, Plan, Stage, Topology, UnevenLeg};
use crate::solver::pass::Pass;
use crate::solver::uneven_heat;
use crate::trace::{Operand, Trace};

static UNEVEN_PEAK: Law = Law {
    name: "largest current of the leg that carries most",
    formula: "Î = I·(1 + u) + ΔI/2, I the mean of a leg; where the current rests in each period Î·(1 + u)",
    validity: "legs alike but for what moves their means apart",
    source: "definition",
};

static UNEVEN_RMS: Law = Law {
    name: "RMS current of the leg that carries most",
    formula: "I_u = √(I_rms² + ((1 + u)² − 1)·I²), I the mean of a leg; where the current rests in each period I_rms·(1 + u)",
    validity: "legs alike but for what moves their means apart",
    source: "definition of the RMS value; a ripple that stays",
};

static CHOKE_PEAK: Law = Law {
    name: "largest current of the choke that carries most of a current doubler",
    formula: "Î = Î_even + u·I_o/2",
    validity: "both chokes driven alike, as the flux of the transformer makes them: R_1·I_1 = R_2·I_2",
    source: "balance of the volt-seconds of each choke",
};
static CHOKE_RMS: Law = Law {
    name: "RMS current of the choke that carries most of a current doubler",
    formula: "I_u = √(I_rms² + ((1 + u)² − 1)·(I_o/2)²)",
    validity: "both chokes driven alike, as the flux of the transformer makes them: R_1·I_1 = R_2·I_2",
    source: "definition of the RMS value; a ripple that stays",
};
static CHIP_RMS: Law = Law {
    name: "RMS current of a chip in the leg that carries most",
    formula: "I = I_even·I_u/I_rms of the leg",
    validity: "the duty of a leg stays; exact while the current of the leg does not reverse",
    source: "definition",
};
static CHIP_PEAK: Law = Law {
    name: "largest current of a chip in the leg that carries most",
    formula: "î = î_even·Î_u/Î of the leg",
    validity: "exact in the direction of the mean; against it on the high side",
    source: "definition",
};
static UNEVEN_HOTTEST: Law = Law {
    name: "temperature of the hottest place of the winding that carries most",
    formula: "T = T_mean + ΔT + R·P·((1 + u)² − 1)",
    validity: "ΔT as stated or usual; on a case like that of the others, without what the copper adds as it warms further",
    source: "series of thermal resistances; Joule heat",
};

/// Puts what the leg that carries most does to its choke and its chips.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for stage in &plan.stages {
        for magnetic in stage.magnetics.iter().map(|&own| &plan.magnetics[own]) {
            let Some(uneven) = &magnetic.uneven else { continue };
            match &stage.topology {
                Topology::Chopper(chopper) => {
                    currents(chopper, uneven, pass);
                    chips(plan, stage, chopper, uneven, pass);
                }
                Topology::Isolated(isolated) => choke(stage, isolated, uneven, pass),
                Topology::Bridge(_) => continue,
            }
            windings(magnetic, uneven, pass);
        }
    }
    uneven_heat::settle(plan, pass);
}

fn currents<const L: usize, T: Trace>(chopper: &Chopper, uneven: &UnevenLeg, pass: &mut Pass<'_, L, T>) {
    let figures = &chopper.figures;
    let (mean, swing) = (pass.figure(figures.leg_current), pass.figure(figures.ripple));
    let (rms, peak) = (pass.figure(figures.leg_rms), pass.figure(figures.leg_peak));
    let share = pass.input(uneven.share);
    // One that rests in each period rises with all of its crest.
    let rests = |l: usize| peak[l] <= swing[l] && swing[l] <= peak[l];
    let from: [Operand; 3] = [figures.leg_peak.into(), figures.ripple.into(), uneven.share.into()];
    pass.put(uneven.peak, &UNEVEN_PEAK, &from, |l| {
        peak[l] + share[l] * if rests(l) { peak[l] } else { peak[l] - 0.5 * swing[l] }
    });
    let from: [Operand; 3] = [figures.leg_rms.into(), figures.leg_current.into(), uneven.share.into()];
    pass.put(uneven.rms, &UNEVEN_RMS, &from, |l| {
        if rests(l) {
            return rms[l] * (1.0 + share[l]);
        }
        (rms[l] * rms[l] + share[l] * (2.0 + share[l]) * mean[l] * mean[l]).sqrt()
    });
}

/// The choke that carries most of a current doubler.
fn choke<const L: usize, T: Trace>(
    stage: &Stage,
    isolated: &Isolated,
    uneven: &UnevenLeg,
    pass: &mut Pass<'_, L, T>,
) {
    let Some(to) = stage.ports.get(1) else { return };
    let (load, share) = (pass.figure(to.current), pass.input(uneven.share));
    let (rms, peak) = (pass.figure(isolated.figures.choke_rms), pass.figure(isolated.figures.choke_peak));
    let from: [Operand; 3] = [isolated.figures.choke_peak.into(), to.current.into(), uneven.share.into()];
    pass.put(uneven.peak, &CHOKE_PEAK, &from, |l| peak[l] + share[l] * 0.5 * load[l]);
    let from: [Operand; 3] = [isolated.figures.choke_rms.into(), to.current.into(), uneven.share.into()];
    pass.put(uneven.rms, &CHOKE_RMS, &from, |l| {
        let mean = 0.5 * load[l];
        (rms[l] * rms[l] + share[l] * (2.0 + share[l]) * mean * mean).sqrt()
    });
}

fn chips<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    chopper: &Chopper,
    uneven: &UnevenLeg,
    pass: &mut Pass<'_, L, T>,
) {
    let leg = &chopper.figures;
    for chip in stage.positions.iter().flat_map(|position| &plan.chips[position.chips.clone()]) {
        let Some(out) = &chip.figures.uneven else { continue };
        let figures = &chip.figures;
        for (even, of_leg, of_uneven, out, law) in [
            (figures.rms_current, leg.leg_rms, uneven.rms, out.rms_current, &CHIP_RMS),
            (figures.largest_current, leg.leg_peak, uneven.peak, out.largest_current, &CHIP_PEAK),
        ] {
            let (amps, mean, most) = (pass.figure(even), pass.figure(of_leg), pass.figure(of_uneven));
            let from: [Operand; 3] = [even.into(), of_leg.into(), of_uneven.into()];
            // A leg without current has none above the others.
            pass.put(
                out,
                law,
                &from,
                |l| if mean[l] == 0.0 { amps[l] } else { amps[l] * (most[l] / mean[l]) },
            );
        }
    }
}

fn windings<const L: usize, T: Trace>(magnetic: &Magnetic, uneven: &UnevenLeg, pass: &mut Pass<'_, L, T>) {
    let share = pass.input(uneven.share);
    for winding in &magnetic.windings {
        let (to_case, loss) = (pass.input(winding.to_case), pass.figure(winding.loss));
        let (mean, hotter) = (pass.figure(winding.mean_temperature), pass.input(winding.hot_spot));
        let from: [Operand; 5] = [
            winding.mean_temperature.into(),
            winding.hot_spot.into(),
            winding.to_case.into(),
            winding.loss.into(),
            uneven.share.into(),
        ];
        pass.put(winding.temperature, &UNEVEN_HOTTEST, &from, |l| {
            mean[l] + hotter[l] + rise(to_case[l], loss[l], share[l])
        });
    }
}

/// Kelvins by which a winding in the leg that carries most lies above one with the mean current.
pub(crate) fn rise(to_case: f64, loss: f64, share: f64) -> f64 {
    to_case * loss * ((1.0 + share) * (1.0 + share) - 1.0)
}
