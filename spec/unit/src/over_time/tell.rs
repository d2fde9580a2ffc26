//! How the highest temperatures of a lane came about, for whoever asks.

use loadworthy_physics::conductors::warming;
use loadworthy_physics::{Law, wound_bodies};

use crate::ids::FigureId;
use crate::plan::{CoreCapacity, Duration, Magnetic, Plan, WindingCapacity};
use crate::solver::{laws, tell_losses, tell_what_stands};
use crate::trace::{Operand, Trace};

static CONDUCTOR_SETTLED: Law = Law {
    name: "hottest that a conductor gets",
    formula: "T_hot = T where it settles",
    validity: "the duty point goes on, or does not say what it starts from",
    source: "definition",
};
static AT_ONCE: Law = Law {
    name: "hottest that contacts get while the duty point lasts",
    formula: "T_hot = the larger of T where they settle and T where it starts from",
    validity: "their `heat_capacity` is not stated; an upper bound",
    source: "a body between two temperatures stays between them",
};
/// Law of how warm everything is as a row of a mission or a duty point begins, where that is not known.
pub static BEGINS_UNKNOWN: Law = Law {
    name: "temperature that a row of a mission, or a duty point, begins with",
    formula: "T(0) = T at the end of what goes before",
    validity: "a solution and all values of what it starts from; in a mission again known once nothing is left of a row that lacks them",
    source: "definition",
};
static UNEVEN_OVER_TIME: Law = Law {
    name: "hottest junction in the leg that carries most",
    formula: "T_hot = T_hot of an even leg + (T − T_even) where both settle",
    validity: "legs alike; on the high side where the duty point ends before the difference has settled",
    source: "linear networks: a difference of losses brings a difference of temperatures that grows to where it settles",
};
static BODY_SETTLED: Law = Law {
    name: "hottest that a winding or a core gets",
    formula: "T_hot = T where it settles",
    validity: "the duty point goes on, or does not say what it starts from",
    source: "definition",
};

/// What of a lane was followed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Which {
    /// Junctions.
    pub(crate) junctions: bool,
    /// Conductors, windings and cores.
    pub(crate) bodies: bool,
    /// What of a row of a mission goes before it is not known in full.
    pub(crate) is_in_doubt: bool,
}

/// Tells how the highest temperatures of a lane came about.
pub(crate) fn tell<T: Trace>(
    plan: &Plan,
    followed: Which,
    recurs: bool,
    figure: &dyn Fn(FigureId) -> f64,
    trace: &mut T,
) {
    let Some(duration) = plan.duration else { return };
    if followed.is_in_doubt {
        in_doubt(plan, &duration, figure, trace);
    } else {
        junctions(plan, &duration, followed.junctions, recurs, trace);
        conductors(plan, &duration, followed.bodies, recurs, trace);
        for magnetic in &plan.magnetics {
            wound(magnetic, &duration, followed.bodies, recurs, trace);
        }
    }
    tell_losses(plan, trace);
    tell_what_stands(plan, trace);
}

/// What is not known in such a row waits for what is settled in it, or else for what went before.
fn in_doubt<T: Trace>(plan: &Plan, duration: &Duration, figure: &dyn Fn(FigureId) -> f64, trace: &mut T) {
    let mut tell = |hottest, settles: FigureId| {
        let from: [Operand; 2] = [settles.into(), duration.lasts.into()];
        trace.step_to(hottest, figure(hottest), &BEGINS_UNKNOWN, &from);
    };
    for figures in plan.chips.iter().map(|chip| &chip.figures) {
        figures.hottest_junction.into_iter().for_each(|hottest| tell(hottest, figures.junction_temperature));
        let uneven = figures.uneven.and_then(|own| Some((own.hottest_junction?, own.junction_temperature)));
        uneven.into_iter().for_each(|(hottest, settles)| tell(hottest, settles));
    }
    for figures in plan.conductors.iter().filter_map(|one| Some(&one.heat.as_ref()?.figures)) {
        figures.hottest.into_iter().for_each(|hottest| tell(hottest, figures.temperature));
    }
    for magnetic in &plan.magnetics {
        for winding in &magnetic.windings {
            winding.warms.iter().for_each(|warms| tell(warms.hottest, winding.temperature));
        }
        let core = &magnetic.core.figures;
        core.hottest.into_iter().for_each(|hottest| tell(hottest, core.temperature));
    }
}

fn times(duration: &Duration, recurs: bool) -> impl Iterator<Item = Operand> {
    let every = recurs.then_some(Operand::from(duration.every));
    core::iter::once(Operand::from(duration.lasts)).chain(every)
}

fn junctions<T: Trace>(plan: &Plan, duration: &Duration, is_followed: bool, recurs: bool, trace: &mut T) {
    for chip in &plan.chips {
        let figures = &chip.figures;
        let Some(hottest) = figures.hottest_junction else { continue };
        if is_followed {
            let mut from: Vec<Operand> = vec![
                figures.junction_temperature.into(),
                figures.loss_per_kelvin.into(),
                figures.junction_ripple.into(),
                chip.inputs.junction_to_case.into(),
            ];
            from.extend(times(duration, recurs));
            trace.step(hottest, &laws::OVER_TIME, &from);
        } else {
            trace.step(hottest, &laws::SETTLED, &[figures.junction_temperature.into()]);
        }
        if let Some((uneven, out)) = figures.uneven.and_then(|own| Some((own, own.hottest_junction?))) {
            let settled: [FigureId; 2] = [uneven.junction_temperature, figures.junction_temperature];
            trace.step(out, &UNEVEN_OVER_TIME, &[hottest.into(), settled[0].into(), settled[1].into()]);
        }
    }
}

fn conductors<T: Trace>(plan: &Plan, duration: &Duration, is_followed: bool, recurs: bool, trace: &mut T) {
    for heat in plan.conductors.iter().filter_map(|conductor| conductor.heat.as_ref()) {
        let Some(hottest) = heat.figures.hottest else { continue };
        let mut from: Vec<Operand> = vec![heat.figures.temperature.into()];
        let law = match (is_followed, heat.holds_heat()) {
            (false, _) => &CONDUCTOR_SETTLED,
            (true, false) => &AT_ONCE,
            (true, true) => {
                from.push(heat.figures.heating_current.into());
                heat.holds(&mut from);
                from.extend(times(duration, recurs));
                &warming::WARMING
            }
        };
        trace.step(hottest, law, &from);
    }
}

fn wound<T: Trace>(magnetic: &Magnetic, duration: &Duration, is_followed: bool, recurs: bool, trace: &mut T) {
    let law = if is_followed { &wound_bodies::BODIES } else { &BODY_SETTLED };
    for winding in &magnetic.windings {
        let Some(warms) = &winding.warms else { continue };
        let mut from: Vec<Operand> = vec![winding.temperature.into()];
        if is_followed {
            let capacity = warms.capacity.map(|capacity| match capacity {
                WindingCapacity::Stated(input) | WindingCapacity::Section(input) => Operand::from(input),
            });
            let losses: [Operand; 2] = [winding.loss.into(), warms.loss_per_kelvin.into()];
            let path: [Operand; 2] = [winding.to_case.into(), magnetic.heat.case_here()];
            from.extend(losses.into_iter().chain(path));
            from.extend(capacity);
            from.extend(times(duration, recurs));
        }
        trace.step(warms.hottest, law, &from);
    }
    let core = &magnetic.core;
    let Some(hottest) = core.figures.hottest else { return };
    let mut from: Vec<Operand> = vec![core.figures.temperature.into()];
    if is_followed {
        let capacity = core.capacity.map(|capacity| match capacity {
            CoreCapacity::Stated(input) | CoreCapacity::Volume(input) => Operand::from(input),
        });
        let own: [Operand; 3] = [core.figures.loss.into(), core.to_case.into(), magnetic.heat.case_here()];
        from.extend(own);
        from.extend(capacity);
        from.extend(times(duration, recurs));
    }
    trace.step(hottest, law, &from);
}
