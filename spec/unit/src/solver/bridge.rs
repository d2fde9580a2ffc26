//! A three-phase bridge in a block of lanes: from what the duty point asks to the currents and loss lines of each chip.

mod modulated;
mod terminals;

use loadworthy_physics::Modulation;

use crate::plan::{Bridge, Plan, Stage};
use crate::solver::chip::{self, Seat};
use crate::solver::pass::Pass;
use crate::solver::pulsed;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};
use terminals::Asked;

/// The modulation that a number in a lane stands for; see [`modulation_code`].
#[inline]
#[must_use]
pub fn modulation(code: f64) -> Modulation {
    if code < 0.5 {
        Modulation::Sinusoidal
    } else if code < 1.5 {
        Modulation::ThirdHarmonic
    } else {
        Modulation::SpaceVector
    }
}

/// The number that stands for a modulation in a lane.
#[must_use]
pub fn modulation_code(modulation: Modulation) -> f64 {
    match modulation {
        Modulation::Sinusoidal => 0.0,
        Modulation::ThirdHarmonic => 1.0,
        Modulation::SpaceVector => 2.0,
    }
}

/// What every leg of a bridge shares.
pub(crate) struct Shared<const L: usize> {
    pub(crate) crest: [i8; L],
    pub(crate) active: [f64; L],
    pub(crate) peak: [f64; L],
    pub(crate) index: [f64; L],
    pub(crate) cos_phi: [f64; L],
    pub(crate) voltage: [f64; L],
    pub(crate) carrier: [f64; L],
    pub(crate) dead_time: [f64; L],
    pub(crate) modulation: [Modulation; L],
    /// Zero; not a number where no modulation is stated and something is asked.
    pub(crate) unsaid: [f64; L],
    pub(crate) ripple_factor: [f64; L],
    pub(crate) bus_voltage: Operand,
}

/// Currents of a bridge and the loss line of each of its chips.
pub(crate) fn currents<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let shared = shared(plan, stage, bridge, crest, pass);
    let turning = shared.crest.iter().all(|&crest| crest == 0) && !scratch.bends(&super::chips_of(stage));
    for (k, position) in stage.positions.iter().enumerate() {
        // While every lane turns and no curve is chosen by a temperature, the three legs are alike; the later two repeat the
        // first.
        let repeats = turning && !T::LISTENS && position.leg > 0;
        let side = position.role.side();
        let parallel = pass.input(stage.parallel(position));
        for (n, chip) in position.chips.clone().enumerate() {
            if repeats {
                let first = stage.positions[k % 2].chips.start + n;
                pulsed::repeat(&plan.chips[first], &plan.chips[chip], pass);
                scratch.lines[chip] = scratch.lines[first];
                continue;
            }
            let seat =
                Seat { stage, side, leg: position.leg, parallel: &parallel, count: stage.parallel(position) };
            let junction = scratch.junctions_before[chip];
            scratch.lines[chip] = chip::currents(bridge, &plan.chips[chip], &seat, &shared, &junction, pass);
        }
    }
}

/// Phase current, power, modulation index and ripple.
fn shared<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
) -> Shared<L> {
    let asked = Asked::of(stage, bridge, crest, pass);
    let terminals = asked.terminals(bridge, pass);
    let modulated = modulated::poles(plan, stage, bridge, (&asked, &terminals), pass);
    let ripple_factor = modulated::ripple(stage, bridge, (&asked, &terminals, &modulated), pass);
    // What rests switches nothing: a carrier or a dead time that is missing keeps nothing of it open.
    let switched =
        |value: [f64; L]| core::array::from_fn(|l| if asked.active[l] < 0.5 { 0.0 } else { value[l] });
    Shared {
        crest: asked.crest,
        active: asked.active,
        peak: terminals.peak,
        index: modulated.index,
        cos_phi: terminals.cos_phi,
        voltage: asked.voltage,
        carrier: switched(modulated.carrier),
        dead_time: switched(modulated.dead_time),
        modulation: modulated.modulation,
        unsaid: modulated.unsaid,
        ripple_factor,
        bus_voltage: Operand::Figure(stage.ports[0].voltage),
    }
}
