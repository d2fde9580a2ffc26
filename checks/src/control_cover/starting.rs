//! What starts a bus that its own converter lives on: gates and a controller that are fed from it alone wait for it, as it waits
//! for them.
//!
//! A bus with a source is there from the beginning, and so is one that nothing of the unit feeds. Others come up once a stage
//! between them and such a bus works; through the diodes of a boost or a buck the high one does by itself. Rectifiers conduct without
//! their gates.

use std::collections::BTreeSet;

use loadworthy_unit::NodeId;
use loadworthy_unit::plan::{ChopperKind, Role, Topology};

use super::{Found, NO_START, View, listed, place};
use crate::check::Told;
use crate::verdict::Grade;

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// What a stage lives on: a controller or an output, the buses of which either keeps it alive, and where the first is named.
struct Lives<'v> {
    what: &'v str,
    on: Vec<&'v str>,
    at: NodeId,
}

/// Every bus that stages feed and no source: one finding for all that wait for one another.
pub(super) fn buses(view: &View<'_, '_>, all: &mut Vec<Found>) {
    if view.waits_for(view.control.controllers_stated).is_some() {
        return;
    }
    let fed: BTreeSet<usize> =
        (0..view.plan.stages.len()).filter_map(|stage| given(view, stage)).map(|way| way.1).collect();
    let is_asked = |bus: &usize| view.plan.buses[*bus].sources.is_empty();
    let asked: Vec<usize> = fed.iter().copied().filter(is_asked).collect();
    let live = living(view, &asked);
    let mut dead: Vec<usize> = asked.iter().copied().filter(|bus| !live.contains(bus)).collect();
    // One of them stands for all, whichever comes first in the file.
    dead.sort_by_key(|&bus| view.variant.path(view.plan.buses[bus].part));
    for bus in asked.into_iter().filter(|bus| live.contains(bus) || dead.first() == Some(bus)) {
        let part = view.plan.buses[bus].part;
        let is_dead = !live.contains(&bus);
        let names =
            if is_dead { dead.iter().map(|&bus| view.plan.buses[bus].part).collect() } else { Vec::new() };
        let told = is_dead.then(|| (told(view, &dead, &live), None));
        all.push(Found { part, defect: NO_START, in_order: Ok(!is_dead), grade: Grade::Note, names, told });
    }
}

/// The bus that a stage takes its power from and the one that it gives it to, where it needs to be switched for that.
fn given(view: &View<'_, '_>, stage: usize) -> Option<(usize, usize)> {
    let of = &view.plan.stages[stage];
    let bus = |port: usize| of.ports.get(port)?.bus;
    match &of.topology {
        Topology::Bridge(_) => None,
        Topology::Chopper(chopper) if chopper.kind == ChopperKind::Boost => Some((bus(0)?, bus(1)?)),
        Topology::Chopper(_) => Some((bus(1)?, bus(0)?)),
        Topology::Isolated(_) => Some((bus(0)?, bus(1)?)),
    }
}

/// Buses that are there from the beginning or come up, of which some are asked about.
fn living(view: &View<'_, '_>, asked: &[usize]) -> BTreeSet<usize> {
    let mut live: BTreeSet<usize> = (0..view.plan.buses.len()).filter(|bus| !asked.contains(bus)).collect();
    loop {
        let before = live.len();
        for stage in 0..view.plan.stages.len() {
            let Some((from, to)) = given(view, stage) else { continue };
            let of = &view.plan.stages[stage];
            let passes =
                matches!(&of.topology, Topology::Chopper(chopper) if chopper.kind == ChopperKind::Boost);
            if live.contains(&from) && (passes || waits(view, stage, &live).is_empty()) {
                live.insert(to);
            }
            // The high bus of a buck follows the low one through a diode.
            let is_buck = matches!(of.topology, Topology::Chopper(_)) && !passes;
            if is_buck && live.contains(&to) {
                live.insert(from);
            }
        }
        if live.len() == before {
            return live;
        }
    }
}

/// What a stage needs to begin and is fed from buses alone that are not there.
fn waits<'v>(view: &'v View<'_, '_>, stage: usize, live: &BTreeSet<usize>) -> Vec<Lives<'v>> {
    let plan = view.plan;
    let is_there = |name: &str| {
        let bus = plan.buses.iter().position(|bus| view.variant.path(bus.part) == name);
        bus.is_none_or(|bus| live.contains(&bus))
    };
    let mut all: Vec<Lives<'v>> = Vec::new();
    let mut names = view.commanders(stage);
    let mut next = 0;
    while let Some(&name) = names.get(next) {
        next += 1;
        let Some(one) = view.control.controllers.iter().find(|one| one.name == name) else { continue };
        if let Some(from) = &one.from {
            let on = [Some(from), one.also.as_ref()].into_iter().flatten().map(|bus| bus.value.as_str());
            all.push(Lives { what: &one.name, on: on.collect(), at: from.at });
        }
        for on in &one.depends_on {
            if !names.contains(&on.value.as_str()) {
                names.push(&on.value);
            }
        }
    }
    let begins = |&(of, position): &(usize, usize)| {
        let role = || plan.stages[of].positions[position].role;
        of == stage && !matches!(role(), Role::Rectifier | Role::Forward | Role::Freewheel)
    };
    for (output, supply) in plan.gate_supplies.iter().enumerate() {
        if !supply.alone().any(|gate| begins(&gate)) {
            continue;
        }
        // A bootstrap lives on what charges it. The language refuses circles of them.
        let mut own = output;
        while let Some(from) = plan.gate_supplies[own].bootstrap_from {
            own = from;
        }
        let also = view.control.supplied_also.get(own).and_then(Option::as_ref);
        if let Some(from) = view.control.supplied_from.get(own).and_then(Option::as_ref) {
            let on = [Some(from), also].into_iter().flatten().map(|bus| bus.value.as_str());
            all.push(Lives { what: view.variant.path(supply.part), on: on.collect(), at: from.at });
        }
    }
    all.retain(|one| !one.on.iter().any(|bus| is_there(bus)));
    all
}

fn told(view: &View<'_, '_>, dead: &[usize], live: &BTreeSet<usize>) -> Told {
    let name = |bus: usize| format!("`{}`", view.variant.path(view.plan.buses[bus].part));
    let names: Vec<String> = dead.iter().map(|&bus| name(bus)).collect();
    let feeds = |stage: &usize| {
        given(view, *stage).is_some_and(|(from, to)| live.contains(&from) && dead.contains(&to))
    };
    let stages: Vec<usize> = (0..view.plan.stages.len()).filter(feeds).collect();
    let waiting: Vec<Lives<'_>> = stages.iter().flat_map(|&stage| waits(view, stage, live)).collect();
    let mut what: Vec<&str> = Vec::new();
    for one in &waiting {
        if !what.contains(&one.what) {
            what.push(one.what);
        }
    }
    let of: Vec<String> = stages.iter().map(|&stage| format!("`{}`", view.stage(stage))).collect();
    let feeding = if of.len() == 1 { "which feeds" } else { "which feed" };
    let lives = if what.len() == 1 { "lives" } else { "live" };
    let it = if dead.len() == 1 { "it" } else { "them" };
    let saying = format!(
        "nothing starts {}: {}, {feeding} {it}, cannot begin, since {} {lives} on {it} alone",
        listed(&names),
        listed(&of),
        listed(&what)
    );
    let at = waiting.first().map_or_else(
        || view.at(view.plan.buses[dead[0]].part, "waits for its own converter"),
        |one| place(one.at, "lives on what it is needed for"),
    );
    let mut told = Told::new(saying, at);
    let others = waiting.iter().skip(1).take(MOST_PLACES);
    told.because = others.map(|one| place(one.at, "so does this")).collect();
    told.facts = vec![format!("fed from {} alone: {}", listed(&names), listed(&what))];
    told.no_proposal = Some(
        "state what else keeps them alive (`also_from`), or the source that stands on that bus".to_owned(),
    );
    told
}
