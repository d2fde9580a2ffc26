//! Which stages switch across a barrier: those of what spans it, where all of that is known, else all on its two sides.
//!
//! A driver, a winding or a module sees the nodes of its own stage. What stands on a rail, or joins two domains as a whole,
//! sees whatever lifts the rails.

use loadworthy_unit::plan::{Crossing, Form, Joins, Port};

use super::Seen;

/// Places of these stages in the plan, in its order.
pub(super) fn stages(seen: &Seen<'_, '_>) -> Vec<usize> {
    let plan = &seen.solved.variant.plan;
    let known = of_gates(seen).or_else(|| of_what_spans(seen));
    known.unwrap_or_else(|| {
        let ends = seen.barrier.carried_by().map(|end| seen.isolation.domain(end));
        let buses: Vec<usize> = ends.flat_map(|end| end.stress.buses.iter().copied()).collect();
        let stands = |port: &Port| port.bus.is_some_and(|bus| buses.contains(&bus));
        (0..plan.stages.len()).filter(|&stage| plan.stages[stage].ports.iter().any(stands)).collect()
    })
}

/// Of a barrier between the circuits of two gates those of these gates.
fn of_gates(seen: &Seen<'_, '_>) -> Option<Vec<usize>> {
    let (one, other) = seen.barrier.between?;
    let mut stages = Vec::new();
    for end in [one, other].map(|end| seen.isolation.domain(end)) {
        if end.form != Form::Gates {
            return None;
        }
        stages.push(stage_of(seen, &end.name)?);
    }
    stages.sort_unstable();
    stages.dedup();
    Some(stages)
}

/// Those of everything that spans it; nothing where one of these moves with the rails, or none is known.
fn of_what_spans(seen: &Seen<'_, '_>) -> Option<Vec<usize>> {
    let own = seen.isolation.barriers.iter().position(|barrier| barrier.part == seen.barrier.part)?;
    let spans = |one: &&Crossing| {
        one.listed_by.contains(&own) || one.names_barrier.is_some_and(|(named, _)| named == own)
    };
    let mut stages = Vec::new();
    for crossing in seen.isolation.crossings.iter().filter(spans) {
        stages.extend(of_crossing(seen, crossing)?);
    }
    stages.sort_unstable();
    stages.dedup();
    (!stages.is_empty()).then_some(stages)
}

/// The stages whose nodes one crossing rides on or is a part of.
fn of_crossing(seen: &Seen<'_, '_>, crossing: &Crossing) -> Option<Vec<usize>> {
    let path = |part| seen.solved.variant.path(part);
    match crossing.kind {
        Joins::Transformer | Joins::Cooled | Joins::Wound => Some(vec![stage_of(seen, path(crossing.part))?]),
        Joins::Driver | Joins::Supply | Joins::Sensor if !crossing.jumping.is_empty() => {
            let nodes = crossing.jumping.iter().map(|&node| path(seen.isolation.jumping[node].part));
            nodes.map(|node| stage_of(seen, node)).collect()
        }
        _ => None,
    }
}

/// The stage that a path begins with.
fn stage_of(seen: &Seen<'_, '_>, path: &str) -> Option<usize> {
    let first = path.split('.').next()?;
    let mut stages = seen.solved.variant.plan.stages.iter();
    stages.position(|stage| seen.solved.variant.path(stage.part) == first)
}
