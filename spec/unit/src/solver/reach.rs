//! A stage whose duty, or a bridge whose modulation index, cannot be had: no current of its own is known, nor anything
//! else that the lane rests on it for.
//!
//! The search for the bus voltages goes on as if it passed its power, so that what it would need can be told. Nothing
//! else of such a lane is a figure.

use loadworthy_physics::Law;
use loadworthy_physics::modulation::SIX_STEP_LIMIT;

use crate::ids::FigureId;
use crate::plan::{Plan, Topology};
use crate::solver::operating_point::largest_duty;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::Trace;

/// Rounding by which a duty may pass its ends.
const ROUNDING: f64 = 1e-9;

/// A duty beyond its ends.
pub static CURRENTS: Law = Law {
    name: "currents of a stage",
    formula: "those of a duty D, 0 ≤ D ≤ 1",
    validity: "a duty or phase shift from 0 to the whole period, or to the largest that is stated; beyond it nothing makes the voltage that is asked",
    source: "definition of the duty",
};

static RESTS_ON: Law = Law {
    name: "what rests on a stage that does not reach its voltage",
    formula: "none: no stage makes the voltages that it would follow from",
    validity: "each stage within its duty",
    source: "definition of the duty",
};

/// A modulation index beyond that of six-step operation.
pub static BRIDGE_CURRENTS: Law = Law {
    name: "currents of a bridge",
    formula: "those of a modulation index M, M ≤ 4/π",
    validity: "an index up to that of six-step operation; beyond it no bridge forms the voltage that is asked",
    source: "first harmonic of a square wave",
};

/// Figures that are told of a lane all the same: the voltages of its buses, and what is asked of its stages.
pub(crate) fn told(plan: &Plan) -> Vec<FigureId> {
    let mut told: Vec<FigureId> = plan.buses.iter().map(|bus| bus.voltage).collect();
    for stage in &plan.stages {
        told.extend(stage.ports.iter().map(|port| port.voltage));
        let asked = stage.led_by.and_then(|led| stage.ports.get(led));
        told.extend(asked.into_iter().flat_map(|port| [port.power, port.current]));
        match &stage.topology {
            Topology::Bridge(own) => {
                let of = &own.figures;
                told.extend([of.frequency, of.carrier_ratio, of.line_voltage, of.power_factor]);
                told.extend([of.phase_current, of.phase_current_peak, of.output_power]);
                told.extend([of.device_drop, of.voltage_drop, of.modulation_index]);
                let of = own.inputs.constants.iter();
                told.extend(
                    of.flat_map(|of| [of.d_current, of.q_current, of.torque_asked, of.available_voltage]),
                );
            }
            Topology::Chopper(own) => {
                let own = &own.figures;
                told.extend([own.leg_current, own.drop, own.duty, own.limited_duty]);
            }
            Topology::Isolated(own) => told.extend([own.figures.driven_voltage, own.figures.duty]),
        }
    }
    told
}

/// Takes back the figures of lanes in which a stage is beyond its reach.
pub(crate) fn take_back<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    for stage in &plan.stages {
        let (duty, cause, most, law) = match &stage.topology {
            Topology::Bridge(own) => {
                let figures = &own.figures;
                (figures.modulation_index, figures.formed_index, [SIX_STEP_LIMIT; L], &BRIDGE_CURRENTS)
            }
            Topology::Chopper(own) => (own.figures.duty, own.figures.ripple, [1.0; L], &CURRENTS),
            Topology::Isolated(own) => {
                let most = pass.input(own.inputs.largest_duty).map(largest_duty);
                (own.figures.duty, own.figures.ripple, most, &CURRENTS)
            }
        };
        let at = pass.figure(duty);
        let beyond: [bool; L] = core::array::from_fn(|l| at[l] < -ROUNDING || at[l] > most[l] + ROUNDING);
        if beyond == [false; L] {
            continue;
        }
        if beyond[0] {
            pass.trace.step_to(cause, f64::NAN, law, &[duty.into()]);
        }
        for place in 0..pass.figures.len() {
            if scratch.told.get(place).is_some_and(|&told| told) {
                continue;
            }
            for l in 0..L {
                if beyond[l] {
                    pass.figures[place][l] = f64::NAN;
                }
            }
            let out = FigureId::new(place);
            if beyond[0] && out != cause {
                pass.trace.step_to(out, f64::NAN, &RESTS_ON, &[cause.into()]);
            }
        }
    }
}
