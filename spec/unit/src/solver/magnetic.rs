//! Losses of chokes and transformers in a block of lanes.

use loadworthy_physics::Law;

use crate::plan::{Plan, Stage};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

/// Law of the loss of a winding.
static WINDING: Law = Law {
    name: "loss of a winding",
    formula: "P = R·I_rms²",
    validity: "resistance as stated, at its temperature of service; skin effect left out",
    source: "Joule heat",
};

/// Puts the losses of the magnetic components of a stage.
pub(crate) fn losses<const L: usize, T: Trace>(plan: &Plan, stage: &Stage, pass: &mut Pass<'_, L, T>) {
    for &magnetic in &stage.magnetics {
        let magnetic = &plan.magnetics[magnetic];
        for &(rms, resistance, loss) in &magnetic.windings {
            let (amps, ohms) = (pass.figure(rms), pass.input(resistance));
            let from: &[Operand] = &[resistance.into(), rms.into()];
            pass.put(loss, &WINDING, from, |l| ohms[l] * amps[l] * amps[l]);
        }
        pass.put_sum(magnetic.loss, &laws::MAGNETIC_LOSS, &magnetic.losses);
    }
}
