//! A stage whose duty cannot be had: no current of its own is known, nor anything else that the lane rests on it for.
//!
//! The search for the bus voltages goes on as if it passed its power, so that what it would need can be told. Nothing
//! else of such a lane is a figure.

use loadworthy_physics::Law;

use crate::ids::FigureId;
use crate::plan::{Plan, Topology};
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::Trace;

/// Rounding by which a duty may pass its ends.
const ROUNDING: f64 = 1e-9;

static CURRENTS: Law = Law {
    name: "currents of a stage",
    formula: "those of a duty D, 0 ≤ D ≤ 1",
    validity: "a duty or phase shift from 0 to the whole period; beyond it nothing makes the voltage that is asked",
    source: "definition of the duty",
};

static RESTS_ON: Law = Law {
    name: "what rests on a stage that does not reach its voltage",
    formula: "none: no stage makes the voltages that it would follow from",
    validity: "each stage within its duty",
    source: "definition of the duty",
};

/// Figures that are told of a lane all the same: the voltages of its buses, and what is asked of its stages.
pub(crate) fn told(plan: &Plan) -> Vec<FigureId> {
    let mut told: Vec<FigureId> = plan.buses.iter().map(|bus| bus.voltage).collect();
    for stage in &plan.stages {
        told.extend(stage.ports.iter().map(|port| port.voltage));
        let asked = stage.led_by.and_then(|led| stage.ports.get(led));
        told.extend(asked.into_iter().flat_map(|port| [port.power, port.current]));
        match &stage.topology {
            Topology::Bridge(_) => {}
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
        let (duty, cause) = match &stage.topology {
            Topology::Bridge(_) => continue,
            Topology::Chopper(own) => (own.figures.duty, own.figures.ripple),
            Topology::Isolated(own) => (own.figures.duty, own.figures.ripple),
        };
        let at = pass.figure(duty);
        let beyond: [bool; L] = core::array::from_fn(|l| at[l] < -ROUNDING || at[l] > 1.0 + ROUNDING);
        if beyond == [false; L] {
            continue;
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
            if beyond[0] {
                let out = FigureId::new(place);
                if out == cause {
                    pass.trace.step(out, &CURRENTS, &[duty.into()]);
                } else {
                    pass.trace.step(out, &RESTS_ON, &[cause.into()]);
                }
            }
        }
    }
}
