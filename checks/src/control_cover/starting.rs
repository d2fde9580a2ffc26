//! What starts a bus that its own converter lives on: gates and a controller that are fed from it alone wait for it, as it waits
//! for them.
//!
//! A bus with a source is there from the beginning, unless a contactor parts it from the source, or its pre-charge, and waits for what
//! holds its coil; so is one that nothing of the unit feeds. So does a stage behind a contactor in a branch of its own. Others come up once a stage
//! between them and such a bus works; through the diodes of a boost or a buck the high one does by itself. Rectifiers conduct without
//! their gates.

use std::collections::BTreeSet;

use loadworthy_unit::NodeId;
use loadworthy_unit::plan::{ChopperKind, Circuit, Coil, Controller, Role, Topology};

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

impl<'v> Lives<'v> {
    fn new(what: &'v str, (from, at): (&'v str, NodeId), also: Option<&'v str>) -> Self {
        Self { what, on: core::iter::once(from).chain(also).collect(), at }
    }

    /// Whether a bus that feeds it is there; one that the description does not name is another's.
    fn is_alive(&self, view: &View<'_, '_>, live: &BTreeSet<usize>) -> bool {
        self.on.iter().any(|name| {
            let bus = view.plan.buses.iter().position(|bus| view.variant.path(bus.part) == *name);
            bus.is_none_or(|bus| live.contains(&bus))
        })
    }
}

/// Every bus that stages feed and no source that is there by itself: one finding for all that wait for one another.
pub(super) fn buses(view: &View<'_, '_>, all: &mut Vec<Found>) {
    let fed: BTreeSet<usize> =
        (0..view.plan.stages.len()).filter_map(|stage| given(view, stage)).map(|way| way.1).collect();
    let behind: BTreeSet<usize> = sources(view).filter(|one| one.is_held).map(|one| one.bus).collect();
    let has_source = |bus: &usize| !view.plan.buses[*bus].sources.is_empty();
    let is_asked = |bus: &usize| !has_source(bus) || behind.contains(bus);
    let asked: Vec<usize> = fed.union(&behind).copied().filter(is_asked).collect();
    // Whether a bus starts hangs on who commands what feeds it.
    let feeds = |stage: &usize| given(view, *stage).is_some_and(|way| asked.contains(&way.1));
    let waits = (0..view.plan.stages.len()).filter(feeds).find_map(|stage| view.waits_for_controller(stage));
    if let (Some(missing), Some(&bus)) = (waits, asked.first()) {
        let (part, in_order) = (view.plan.buses[bus].part, Err(vec![missing]));
        all.push(Found {
            part,
            defect: NO_START,
            in_order,
            grade: Grade::Note,
            names: Vec::new(),
            told: None,
        });
        return;
    }
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
            // Its diodes pass nothing while a contactor of its branches is open.
            let is_parted = open(view, Circuit::Stage(stage), &live).next().is_some();
            if live.contains(&from) && !is_parted && (passes || waits(view, stage, &live).is_empty()) {
                live.insert(to);
            }
            // The high bus of a buck follows the low one through a diode.
            let is_buck = matches!(of.topology, Topology::Chopper(_)) && !passes;
            if is_buck && live.contains(&to) && !is_parted {
                live.insert(from);
            }
        }
        for one in sources(view) {
            if one.open(view, &live).is_empty() {
                live.insert(one.bus);
            }
        }
        if live.len() == before {
            return live;
        }
    }
}

/// A source and its bus.
struct Behind {
    source: usize,
    bus: usize,
    /// Whether a contactor between the two says what holds its coil.
    is_held: bool,
}

impl Behind {
    /// Coils of contactors between it and its bus that nothing holds yet: those that part it from the bus, and where these could close
    /// those of the pre-charge around them, which closes before.
    fn open<'v>(&self, view: &'v View<'_, '_>, live: &BTreeSet<usize>) -> Vec<&'v Coil> {
        let own = Circuit::Source(self.source);
        let parting: Vec<&Coil> = open(view, own, live).collect();
        if !parting.is_empty() {
            return parting;
        }
        coils(view, own, true).filter(|coil| !unheld(view, coil, live).is_empty()).collect()
    }
}

/// Coils of the contactors in a circuit: of those that part it, or of those that lead around one.
fn coils<'v>(
    view: &'v View<'_, '_>,
    of: Circuit,
    is_around: bool,
) -> impl Iterator<Item = &'v Coil> + use<'v> {
    let stands = move |conductor: usize| {
        let mut all = view.plan.openings.iter();
        all.any(|one| one.conductor == conductor && one.of == of && one.around.is_some() == is_around)
    };
    view.control.coils.iter().filter(move |coil| stands(coil.conductor))
}

/// Coils of the contactors that part a circuit which nothing holds while these buses alone are there.
fn open<'v>(
    view: &'v View<'_, '_>,
    of: Circuit,
    live: &BTreeSet<usize>,
) -> impl Iterator<Item = &'v Coil> + use<'v> {
    let live = live.clone();
    coils(view, of, false).filter(move |coil| !unheld(view, coil, &live).is_empty())
}

fn sources(view: &View<'_, '_>) -> impl Iterator<Item = Behind> {
    let all = view.plan.sources.iter().enumerate();
    all.filter_map(|(source, of)| {
        let mut one = Behind { source, bus: of.bus?, is_held: false };
        let own = Circuit::Source(source);
        one.is_held = [false, true].into_iter().any(|is_around| coils(view, own, is_around).next().is_some());
        Some(one)
    })
}

/// What holds a coil and is fed from buses alone that are not there: its own supply, and who commands it.
fn unheld<'v>(view: &'v View<'_, '_>, coil: &'v Coil, live: &BTreeSet<usize>) -> Vec<Lives<'v>> {
    let mut all: Vec<Lives<'v>> = Vec::new();
    if let Some(from) = &coil.from {
        let what = view.variant.path(view.plan.conductors[coil.conductor].part);
        let also = coil.also.as_ref().map(|bus| bus.value.as_str());
        all.push(Lives::new(what, (&from.value, from.at), also));
    }
    let named = coil.controller.as_ref().map(|named| named.value.as_str());
    for one in view.control.controllers.iter().filter(|one| Some(one.name.as_str()) == named) {
        all.extend(of_controller(one));
    }
    all.retain(|one| !one.is_alive(view, live));
    all
}

/// What a controller lives on, where it says so.
fn of_controller(one: &Controller) -> Option<Lives<'_>> {
    let from = one.from.as_ref()?;
    let also = one.also.as_ref().map(|bus| bus.value.as_str());
    Some(Lives::new(&one.name, (&from.value, from.at), also))
}

/// What a stage needs to begin and is fed from buses alone that are not there.
fn waits<'v>(view: &'v View<'_, '_>, stage: usize, live: &BTreeSet<usize>) -> Vec<Lives<'v>> {
    let plan = view.plan;
    let mut all: Vec<Lives<'v>> = Vec::new();
    let mut names = view.commanders(stage);
    let mut next = 0;
    while let Some(&name) = names.get(next) {
        next += 1;
        let Some(one) = view.control.controllers.iter().find(|one| one.name == name) else { continue };
        all.extend(of_controller(one));
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
        let from = view.control.supplied_from.get(own).and_then(Option::as_ref);
        let also = also.map(|bus| bus.value.as_str());
        all.extend(from.map(|from| Lives::new(view.variant.path(supply.part), (&from.value, from.at), also)));
    }
    all.retain(|one| !one.is_alive(view, live));
    all.extend(open(view, Circuit::Stage(stage), live).flat_map(|coil| unheld(view, coil, live)));
    all
}

fn told(view: &View<'_, '_>, dead: &[usize], live: &BTreeSet<usize>) -> Told {
    let name = |bus: usize| format!("`{}`", view.variant.path(view.plan.buses[bus].part));
    let names: Vec<String> = dead.iter().map(|&bus| name(bus)).collect();
    let parted: Vec<Behind> = sources(view).filter(|one| one.is_held && dead.contains(&one.bus)).collect();
    let feeds = |stage: &usize| {
        let way = given(view, *stage).filter(|(_, to)| dead.contains(to));
        // Behind a contactor that stays open a stage waits for its bus and for what it lives on.
        way.is_some_and(|(from, _)| {
            live.contains(&from) || !parted.is_empty() && !waits(view, *stage, live).is_empty()
        })
    };
    let stages: Vec<usize> = (0..view.plan.stages.len()).filter(feeds).collect();
    let coils: Vec<&Coil> = parted.iter().flat_map(|one| one.open(view, live)).collect();
    let of_coils = coils.iter().flat_map(|coil| unheld(view, coil, live));
    let waiting: Vec<Lives<'_>> =
        of_coils.chain(stages.iter().flat_map(|&stage| waits(view, stage, live))).collect();
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
    let contactor =
        |coil: &&Coil| format!("`{}`", view.variant.path(view.plan.conductors[coil.conductor].part));
    let contactors: Vec<String> = coils.iter().map(contactor).collect();
    let close = if contactors.len() == 1 { "does not close" } else { "do not close" };
    let begins = match (contactors.is_empty(), of.is_empty()) {
        (true, _) => format!("{}, {feeding} {it}, cannot begin", listed(&of)),
        (false, true) => format!("{} {close}", listed(&contactors)),
        (false, false) => {
            format!("{} {close}, and {}, {feeding} {it}, cannot begin", listed(&contactors), listed(&of))
        }
    };
    let saying =
        format!("nothing starts {}: {begins}, since {} {lives} on {it} alone", listed(&names), listed(&what));
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
