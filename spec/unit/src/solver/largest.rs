//! The largest current of a bridge and its chips, phase ripple included, once its sine is solved: what ratings of a peak and
//! turn-offs see. On-state lines and energies follow from the sine alone.

use loadworthy_physics::{Current, Frequency, Inductance, Law, Voltage, ripple_crest, stall};

use crate::plan::{Bridge, Plan, Stage};
use crate::solver::bridge::modulation;
use crate::solver::chip::{Stand, conducts, stand};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static STANDING: Law = Law {
    name: "largest phase current at standstill, ripple included",
    formula: "I_max = i + ΔI/2, i = Î in the phase at its crest, Î/2 in the others",
    validity: ripple_crest::SWING.validity,
    source: ripple_crest::SWING.source,
};

/// Puts the largest current of every bridge and of its chips.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, crest: &[i8; L], pass: &mut Pass<'_, L, T>) {
    for stage in &plan.stages {
        if let Some(bridge) = stage.bridge() {
            let frequency = pass.figure(bridge.figures.frequency);
            let crest = core::array::from_fn(|l| if frequency[l] <= 0.0 { crest[l] } else { 0 });
            let largest = of_bridge(stage, bridge, &crest, pass);
            of_chips(plan, stage, bridge, &crest, &largest, pass);
        }
    }
}

/// Largest current of a phase; at standstill that of the phase at its crest, and that of the others.
fn of_bridge<const L: usize, T: Trace>(
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
) -> [[f64; L]; 2] {
    let (inputs, figures) = (&bridge.inputs, &bridge.figures);
    let port = &stage.ports[0];
    let (active, codes) = (pass.input(inputs.active), pass.input(inputs.modulation));
    let (henry, carrier) = (pass.input(inputs.ripple_inductance), pass.input(stage.carrier));
    let (volts, index) = (pass.figure(port.voltage), pass.figure(figures.formed_index));
    let (peak, cos_phi) = (pass.figure(figures.phase_current_peak), pass.figure(figures.power_factor));
    let supply = |l: usize| (Voltage::new(volts[l]), Inductance::new(henry[l]), Frequency::new(carrier[l]));
    let rides = |l: usize, angle: f64| {
        let (dc, henry, carrier) = supply(l);
        ripple_crest::swing(dc, henry, carrier, modulation(codes[l]), index[l], angle).si()
    };
    let of = |l: usize, role: stall::Leg| {
        if active[l] < 0.5 {
            return 0.0;
        }
        // A pattern that is not stated leaves no figure.
        let unsaid = 0.0 * codes[l];
        if crest[l] == 0 {
            let (modulation, crest) = (modulation(codes[l]), Current::new(peak[l]));
            return ripple_crest::largest(crest, cos_phi[l], supply(l), modulation, index[l]).si() + unsaid;
        }
        let angle = if role == stall::Leg::Crest { 0.0 } else { THIRD_OF_A_TURN };
        role.current(Current::new(peak[l])).si() + rides(l, angle) + unsaid
    };
    let from: [Operand; 7] = [
        figures.phase_current_peak.into(),
        figures.power_factor.into(),
        port.voltage.into(),
        inputs.ripple_inductance.into(),
        stage.carrier.into(),
        figures.formed_index.into(),
        inputs.modulation.into(),
    ];
    let law = if crest[0] == 0 { &ripple_crest::LARGEST } else { &STANDING };
    let (law, from) = if active[0] < 0.5 { (&laws::RESTING, &from[..0]) } else { (law, &from[..]) };
    let largest = pass.put(figures.largest_current, law, from, |l| of(l, stall::Leg::Crest));
    let others = core::array::from_fn(|l| if crest[l] == 0 { largest[l] } else { of(l, stall::Leg::Return) });
    [largest, others]
}

const THIRD_OF_A_TURN: f64 = core::f64::consts::TAU / 3.0;

/// Share of each device in the largest current of its leg.
fn of_chips<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    [largest, others]: &[[f64; L]; 2],
    pass: &mut Pass<'_, L, T>,
) {
    for position in &stage.positions {
        let count = stage.parallel(position);
        let parallel = pass.input(count);
        let from: &[Operand] = &[bridge.figures.largest_current.into(), count.into()];
        for chip in &plan.chips[position.chips.clone()] {
            let stands: [Stand; L] =
                core::array::from_fn(|l| stand(crest[l], position.leg, position.role.side()));
            let law = match stands[0] {
                here if !conducts(chip.kind, here) => &laws::NO_CURRENT,
                Stand::Turning => &laws::PARALLEL_CREST,
                Stand::Standing { .. } => &laws::STANDING_LARGEST,
            };
            pass.put(chip.figures.largest_current, law, from, |l| {
                let amps = match stands[l] {
                    Stand::Standing { role: stall::Leg::Return, .. } => others[l],
                    _ => largest[l],
                };
                let share = amps / parallel[l];
                if conducts(chip.kind, stands[l]) { share } else { 0.0 * share }
            });
        }
    }
}
