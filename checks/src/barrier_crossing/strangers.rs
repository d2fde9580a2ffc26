//! Names in the list of a barrier that do not pass it.
//!
//! A stage that was moved to another bus leaves its own name and those of its drivers, sensors and gate transformers in the lists
//! of several barriers: that is one slip.

use loadworthy_unit::plan::{Form, Isolation, Magnetic, Stage};
use loadworthy_unit::{DutyId, NodeId, PartId, Solved};

use super::{bare, ordered, strays};
use crate::isolation::Classes;

/// Barriers with strangers in their lists; together those whose strangers belong to one stage. The first of each speaks.
pub(super) fn groups(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
    for place in 0..isolation.barriers.len() {
        let strangers = strangers(solved, isolation, classes, place);
        if strangers.is_empty() {
            continue;
        }
        let names = strangers.iter().map(|&one| isolation.barriers[place].spanned_by[one].0.as_str());
        let stages: Vec<usize> = names.flat_map(|name| stages_behind(solved, name)).collect();
        // What stands in a domain that its bus has left is one slip as well, and told where that bus then hurts somebody.
        let emptied = strays::emptied(isolation, place);
        if emptied.is_some_and(|left| strays::is_told_of(solved, isolation, classes, left)) {
            continue;
        }
        let is_one = |(known, group): &&mut (Vec<usize>, Vec<usize>)| {
            known.iter().any(|stage| stages.contains(stage))
                || emptied.is_some() && group.iter().any(|&one| strays::emptied(isolation, one) == emptied)
        };
        let known = groups.iter_mut().find(is_one);
        match known {
            Some((known, group)) => {
                known.extend(stages);
                group.push(place);
            }
            None => groups.push((stages, vec![place])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// Stages that barriers list, and that stand in other domains: as places in the plan.
pub(crate) fn moved_stages(solved: &Solved<'_>) -> Vec<usize> {
    let Some(isolation) = &solved.variant.plan.isolation else { return Vec::new() };
    let all = isolation.barriers.iter().enumerate();
    let names = all.flat_map(|(place, barrier)| {
        let names = misplaced(solved, isolation, place).into_iter();
        names.map(|one| barrier.spanned_by[one].0.as_str())
    });
    names.filter_map(|name| stage_named(solved, name)).collect()
}

fn stage_named(solved: &Solved<'_>, name: &str) -> Option<usize> {
    solved.variant.plan.stages.iter().position(|stage| solved.variant.path(stage.part) == name)
}

/// The stages that something of that name is, drives, feeds or measures.
fn stages_behind(solved: &Solved<'_>, name: &str) -> Vec<usize> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let named = |part| variant.path(part) == name;
    let outputs = plan.gate_transformers.iter().filter(|one| named(one.part)).flat_map(|one| &one.outputs);
    let outputs = outputs.map(|&(output, _)| &plan.gate_supplies[output]);
    let outputs = outputs.chain(plan.gate_supplies.iter().filter(|one| named(one.part)));
    let fed = outputs.flat_map(|output| &output.feeds).map(|&(stage, ..)| stage);
    let control = || plan.control.iter();
    let drivers = control().flat_map(|control| &control.drivers).filter(|driver| named(driver.part));
    let driven = drivers.flat_map(|driver| &driver.drives).map(|&(stage, ..)| stage);
    let sensors = control().flat_map(|control| &control.sensors).filter(|sensor| named(sensor.part));
    let measured = sensors.flat_map(|sensor| &sensor.of).filter_map(|of| {
        let stage = of.value.split('.').next().unwrap_or(&of.value);
        stage_named(solved, stage)
    });
    stage_named(solved, name).into_iter().chain(fed).chain(driven).chain(measured).collect()
}

/// Names of a barrier's list that do not pass it, where nothing else tells of them: what passes no barrier at all is told by
/// that, and so is what joins no two domains where something passes none between those of the barrier.
pub(super) fn strangers(
    solved: &Solved<'_>,
    isolation: &Isolation,
    classes: &Classes,
    barrier: usize,
) -> Vec<usize> {
    let of = &isolation.barriers[barrier];
    let lacks = of.between.map(ordered).is_some_and(|pair| bare(isolation, classes, pair).next().is_some());
    let joins = |place: usize| {
        let name = &of.spanned_by[place].0;
        isolation.crossings.iter().any(|crossing| crossing.names.contains(name))
    };
    // What a bus took along that left one of its ends stands where that bus does.
    let has_left = strays::emptied(isolation, barrier).is_some();
    let is_told = |place: usize| {
        passes_none(isolation, classes, barrier, place) || lacks && (has_left || !joins(place))
    };
    misplaced(solved, isolation, barrier).into_iter().filter(|&place| !is_told(place)).collect()
}

/// Whether what a barrier lists at a place passes no barrier between two others.
fn passes_none(isolation: &Isolation, classes: &Classes, barrier: usize, place: usize) -> bool {
    let name = &isolation.barriers[barrier].spanned_by[place].0;
    let pairs = isolation.pairs.iter();
    let mut all = pairs.flat_map(|pair| bare(isolation, classes, pair.between));
    all.any(|crossing| crossing.names.contains(name))
}

/// Names of a barrier's list that join other domains.
pub(super) fn misplaced(solved: &Solved<'_>, isolation: &Isolation, barrier: usize) -> Vec<usize> {
    let of = &isolation.barriers[barrier];
    let Some(between) = of.between.map(ordered).filter(|_| isolation.is_whole) else { return Vec::new() };
    let is_stranger = |name: &String| {
        if feeds_both(solved, isolation, between, name) || is_off_its_metal(solved, isolation, between, name)
        {
            return false;
        }
        let mut own = isolation.crossings.iter().filter(|crossing| crossing.names.contains(name)).peekable();
        match own.peek() {
            Some(_) => isolation.unsaid.is_empty() && own.all(|crossing| crossing.between != between),
            // What feeds gates from their own side passes nothing; of what does not say where it stands that is not known.
            None => {
                isolation.unsaid.is_empty()
                    && (feeds_gates(solved, name) || stays(solved, isolation, between, name))
            }
        }
    };
    (0..of.spanned_by.len()).filter(|&place| is_stranger(&of.spanned_by[place].0)).collect()
}

/// Whether a name that a barrier against metal lists is that of a stage or a winding which no coolant passes: that is told, and
/// on what metal it stands is known once it is mended.
fn is_off_its_metal(
    solved: &Solved<'_>,
    isolation: &Isolation,
    (one, other): (usize, usize),
    name: &str,
) -> bool {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let is_bare = |stage: &Stage| {
        let packages = plan.packages.get(stage.packages.clone()).unwrap_or_default();
        packages.iter().all(|package| package.faces.iter().all(|face| face.place.is_none()))
    };
    let stage = stage_named(solved, name).is_some_and(|stage| is_bare(&plan.stages[stage]));
    let is_wound = |magnetic: &Magnetic| {
        magnetic.place.is_none() && variant.path(magnetic.part).rsplit('.').next() == Some(name)
    };
    let is_metal = |end: usize| isolation.domain(end).form == Form::Metal;
    plan.coolant.is_some()
        && (is_metal(one) || is_metal(other))
        && (stage || plan.magnetics.iter().any(is_wound))
}

/// Whether a name is that of a sensor which is read where it stands: it passes nothing. Between the circuits of gates that is not known.
fn stays(solved: &Solved<'_>, isolation: &Isolation, (one, other): (usize, usize), name: &str) -> bool {
    let is_circuit = |end: usize| isolation.domain(end).form != Form::Gates;
    let is_it = |&(part, ..): &(PartId, usize, Option<NodeId>)| solved.variant.path(part) == name;
    is_circuit(one) && is_circuit(other) && isolation.within.iter().any(is_it)
}

/// Whether a name is that of an output for gates, or of a transformer of some, all of whose gates are known.
fn feeds_gates(solved: &Solved<'_>, name: &str) -> bool {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let is_known = |place: usize| {
        let supply = &plan.gate_supplies[place];
        !supply.feeds.is_empty()
            && !supply.is_contested()
            && variant.tables.stated(supply.named, DutyId::new(0)).value.is_finite()
    };
    let named = |part| variant.path(part) == name;
    let mut outputs = (0..plan.gate_supplies.len()).filter(|&place| named(plan.gate_supplies[place].part));
    let mut transformers = plan.gate_transformers.iter().filter(|transformer| named(transformer.part));
    outputs.any(is_known)
        || transformers
            .any(|one| !one.outputs.is_empty() && one.outputs.iter().all(|&(place, _)| is_known(place)))
}

/// Whether something of that name drives or feeds the gates on both sides of a barrier, which then stands within it.
fn feeds_both(solved: &Solved<'_>, isolation: &Isolation, (one, other): (usize, usize), name: &str) -> bool {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let named = |part| variant.path(part) == name;
    let outputs = plan.gate_transformers.iter().filter(|own| named(own.part)).flat_map(|own| &own.outputs);
    let outputs = outputs.map(|&(output, _)| &plan.gate_supplies[output]);
    let fed = outputs.flat_map(|output| &output.feeds).map(|&(stage, position, _)| (stage, position));
    let drivers = plan.control.iter().flat_map(|control| &control.drivers);
    let driven = drivers.filter(|driver| named(driver.part)).flat_map(|driver| &driver.drives);
    let gates: Vec<&str> = fed
        .chain(driven.map(|&(stage, position, _)| (stage, position)))
        .map(|(stage, position)| variant.path(plan.stages[stage].positions[position].part))
        .collect();
    // A barrier names one gate, or all of a kind by the path that theirs begin with.
    let stands_on = |end: usize| {
        let domain = isolation.domain(end);
        let is_of = |gate: &&str| {
            gate.strip_prefix(domain.name.as_str())
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        domain.form == Form::Gates && gates.iter().any(is_of)
    };
    stands_on(one) && stands_on(other)
}
