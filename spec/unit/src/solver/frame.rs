//! The recurring peak between the windings of a machine and its frame, once bus voltages and turn-offs are solved.

use loadworthy_physics::Voltage;
use loadworthy_physics::insulation::frame_peak::{FRAME_PEAK, frame_peak};

use crate::plan::Plan;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

/// Puts it for every machine that states what its windings stand.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for frame in &plan.frames {
        let highest = plan.buses[frame.bus].highest_voltage;
        let (volts, lifts) = (pass.figure(highest), pass.input(frame.overshoot));
        let mut spike = [0.0; L];
        for &place in &frame.turn_offs {
            let reached = pass.figure(plan.turn_offs[place].highest());
            // Written so that a missing one stays missing.
            spike = core::array::from_fn(|l| {
                let own = reached[l] - volts[l];
                if own <= spike[l] || spike[l].is_nan() { spike[l] } else { own }
            });
        }
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.push(highest.into());
            from.extend(
                frame.turn_offs.iter().map(|&place| Operand::Figure(plan.turn_offs[place].highest())),
            );
            from.push(frame.overshoot.into());
        }
        pass.put(frame.peak, &FRAME_PEAK, &from, |l| {
            frame_peak(Voltage::new(volts[l]), frame.share, Voltage::new(spike[l]), lifts[l]).si()
        });
    }
}
