//! What joins two domains: drivers and their supplies, coils, transformers, sensors, signals, and what stands on cooled metal.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::isolation::Isolation as Section;
use loadworthy_physics::Capacitance;
use loadworthy_source::{Located, NodeId};

use super::gate_side::{drivers, supplies};
use super::jumping::{Potentials, jumping};
use super::on_metal::{Listed, cooled, windings};
use super::sensing::{beside_rails, sensors};
use super::stands::{Held, Stands, held, through};
use super::unread::transformer;
use super::{Standing, pair_part};
use crate::build::Build;
use crate::build::bank::shared;
use crate::ids::PartId;
use crate::plan::{Circuit, Crossing, Isolation, Joins, Pair, Rider, Topology};

/// Something that joins domains, before it is known which barrier it passes.
pub(super) struct Found<'d> {
    pub(super) part: PartId,
    pub(super) kind: Joins,
    /// Its section and name, under which its figures stand.
    pub(super) said: String,
    pub(super) names: Vec<String>,
    pub(super) pairs: Vec<(usize, usize)>,
    pub(super) crosses: Option<&'d Located<String>>,
    pub(super) immunity: Option<Stands<'d>>,
    pub(super) coupling: Option<Option<&'d Given<Capacitance>>>,
    /// Whether nothing of its kind states a coupling of its own, so that the barrier is asked for it.
    pub(super) asks_barrier: bool,
    pub(super) jumping: Vec<usize>,
    /// Whether it lies beside these potentials and rides on none.
    pub(super) is_beside: bool,
    /// Whether it is known to be commanded or read in the domain that it stands in.
    pub(super) stays: bool,
    pub(super) isolated_cases: Option<bool>,
    pub(super) near: NodeId,
}

impl Found<'_> {
    /// Something that carries nothing which an edge disturbs, and whose capacitance is not asked.
    pub(super) const fn new(
        part: PartId,
        kind: Joins,
        said: String,
        names: Vec<String>,
        pairs: Vec<(usize, usize)>,
        near: NodeId,
    ) -> Self {
        Self {
            part,
            kind,
            said,
            names,
            pairs,
            crosses: None,
            immunity: None,
            coupling: None,
            asks_barrier: false,
            jumping: Vec::new(),
            is_beside: false,
            stays: false,
            isolated_cases: None,
            near,
        }
    }
}

/// Every crossing, with the barrier that it passes.
pub(super) fn crossings(
    build: &mut Build<'_>,
    seen: &Standing,
    section: &Section,
    isolation: &mut Isolation,
) {
    let potentials = jumping(build, isolation);
    let mut found = drivers(build, seen, &potentials, isolation);
    found.extend(supplies(build, seen, &potentials, isolation));
    found.extend(controllers(build, seen));
    found.extend(discharges(build, seen));
    found.extend(coils(build, seen));
    found.extend(transformers(build, seen));
    found.extend(sensors(build, seen, &potentials, isolation));
    found.extend(signals(build, seen, &potentials, isolation));
    let listed = Listed::of(isolation);
    found.extend(cooled(build, seen, &listed, isolation));
    found.extend(windings(build, seen, &listed, isolation));
    for one in found {
        cross(build, one, section, isolation);
    }
    let mut pairs: Vec<(usize, usize)> =
        isolation.crossings.iter().map(|crossing| crossing.between).collect();
    pairs.sort_unstable();
    pairs.dedup();
    for between in pairs {
        let part = pair_part(build, isolation, between);
        isolation.pairs.push(Pair { part, between });
    }
}

pub(super) fn ordered(one: usize, other: usize) -> (usize, usize) {
    (one.min(other), one.max(other))
}

/// Adds a crossing for each pair of domains that something joins.
fn cross(build: &mut Build<'_>, found: Found<'_>, section: &Section, isolation: &mut Isolation) {
    let Found {
        part,
        kind,
        said,
        names,
        mut pairs,
        crosses,
        immunity,
        coupling,
        asks_barrier,
        jumping,
        is_beside,
        stays,
        isolated_cases,
        near,
    } = found;
    pairs.sort_unstable();
    pairs.dedup();
    if let Some(own) = immunity.filter(|_| stays && pairs.is_empty())
        && !jumping.is_empty()
    {
        for &place in &jumping {
            isolation.jumping[place].is_ridden = true;
        }
        let Held { immunity, current } = held(build, (&said, own), None, near);
        let edge = build.tables.figure_if_asked(part, "steepest_edge", Dimension::SlewRate);
        let across = current.is_some().then(|| {
            let stated = build.stated(coupling.flatten(), Some(near), |farad| farad.si());
            let path = format!("{said}.coupling");
            shared(build, &path, &path, Dimension::Capacitance, stated)
        });
        let through = through(build, part, current, across);
        isolation.riders.push(Rider { part, jumping, immunity, edge, through });
        return;
    }
    let named = crosses.and_then(|crosses| {
        let place = isolation.barriers.iter().position(|barrier| barrier.name == crosses.value)?;
        Some((place, crosses.at))
    });
    for between in pairs {
        let lists = |place: &usize| {
            let barrier = &isolation.barriers[*place];
            barrier.between.is_some_and(|(one, other)| ordered(one, other) == between)
                && barrier.spanned_by.iter().any(|(name, ..)| names.contains(name))
        };
        let listed_by: Vec<usize> = (0..isolation.barriers.len()).filter(lists).collect();
        // What it does not state of its own, the barrier that it passes does; of what passes none, one between its domains.
        let stands = |place: &usize| {
            isolation.barriers[*place].between.is_some_and(|(one, other)| ordered(one, other) == between)
        };
        let passes = named
            .map(|(place, _)| place)
            .or_else(|| listed_by.first().copied())
            .or_else(|| (0..isolation.barriers.len()).find(stands));
        let barrier = passes.map(|place| (place, &isolation.barriers[place].name));
        let written = barrier.and_then(|(_, name)| section.barriers.as_ref()?.get(name));
        let own_part = barrier.map(|(place, _)| isolation.barriers[place].part);
        let asked = immunity
            .map(|own| held(build, (&said, own), own_part.zip(written), near))
            .filter(|_| !jumping.is_empty());
        let is_disturbed = asked.is_some();
        let Held { immunity, current } = asked.unwrap_or_default();
        let mut across = None;
        // What lies beside leads from none of the potentials, and its capacitance is asked only for its own sake.
        if let Some(own) = coupling
            && !jumping.is_empty()
            && (!is_beside || current.is_some())
        {
            let theirs = written.and_then(|barrier| barrier.coupling.as_ref());
            let (path, given) = match (own, theirs, own_part) {
                (None, Some(theirs), Some(part)) => {
                    (format!("{}.coupling", build.tables.part_of(part).path), Some(theirs))
                }
                // Where no output says its own, that of all of them is what their barrier would say.
                (None, None, Some(part)) if asks_barrier => {
                    (format!("{}.coupling", build.tables.part_of(part).path), None)
                }
                _ => (format!("{said}.coupling"), own),
            };
            let at = own_part.filter(|_| asks_barrier && given.is_none());
            let near = at.map_or(near, |part| build.tables.part_of(part).at);
            let stated = build.stated(given, Some(near), |farad| farad.si());
            let input = shared(build, &path, &path, Dimension::Capacitance, stated);
            across = Some(input);
            for &place in jumping.iter().filter(|_| !is_beside) {
                isolation.jumping[place].couplings.push(input);
            }
        }
        let edge =
            is_disturbed.then(|| build.tables.figure_if_asked(part, "steepest_edge", Dimension::SlewRate));
        let through = through(build, part, current, across);
        isolation.crossings.push(Crossing {
            part,
            kind,
            names: names.clone(),
            between,
            names_barrier: named,
            listed_by,
            isolated_cases,
            jumping: jumping.clone(),
            is_beside,
            immunity,
            edge,
            through,
        });
    }
}

/// The domain of a controller; what is not stated is noted.
pub(super) fn of_controller(
    build: &mut Build<'_>,
    seen: &Standing,
    name: &str,
    isolation: &mut Isolation,
) -> Option<usize> {
    let entry = build.description.controllers.get(name)?;
    let domain = entry.read()?.domain.as_ref();
    if domain.is_none() {
        let path = format!("controllers.{name}");
        if !isolation.unsaid.iter().any(|(part, _)| build.tables.part_of(*part).path == path) {
            let part = build.tables.part(path, entry.key, None);
            isolation.unsaid.push((part, "domain"));
        }
    }
    seen.places.get(&domain?.value).copied()
}

/// Transformers of stages; each lies between the buses of its stage.
fn transformers<'d>(build: &Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for stage in &build.plan.stages {
        let (Topology::Isolated(_), [from, to]) = (&stage.topology, stage.ports.as_slice()) else { continue };
        let own = build.tables.part_of(stage.part);
        let domain = |bus: Option<usize>| bus.and_then(|bus| seen.of_bus[bus]);
        let (Some(from), Some(to)) = (domain(from.bus), domain(to.bus)) else { continue };
        if from == to {
            continue;
        }
        // Under which name a barrier lists it is not known where it has none.
        let Some(transformer) = transformer(build, &own.path) else { continue };
        found.push(Found::new(
            stage.part,
            Joins::Transformer,
            format!("stages.{}", own.path),
            vec![transformer.to_owned(), own.path.clone()],
            vec![ordered(from, to)],
            own.at,
        ));
    }
    found
}

/// Controllers that take their power from another domain than that they stand in.
fn controllers<'d>(build: &mut Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, controller) in build.description.controllers.readable() {
        let own = controller.domain.as_ref().and_then(|domain| seen.places.get(&domain.value).copied());
        let Some(own) = own else { continue };
        let fed = |bus: &Located<String>| seen.of_bus[*build.places.buses.get(&bus.value)?];
        let feeds = [&controller.from, &controller.also_from].map(|bus| bus.as_ref().and_then(fed));
        // What two buses feed joins them as well.
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        for end in core::iter::once(own).chain(feeds[1]) {
            let others = feeds.into_iter().flatten().filter(|from| *from != end);
            pairs.extend(others.map(|from| ordered(from, end)));
        }
        if pairs.is_empty() {
            continue;
        }
        found.push(Found::new(
            build.tables.part(name.to_owned(), entry.key, None),
            Joins::Controller,
            format!("controllers.{name}"),
            vec![name.to_owned()],
            pairs,
            entry.key,
        ));
    }
    found
}

/// Discharges that are switched on, and whose control takes its power from another domain than that of their bus.
fn discharges<'d>(build: &mut Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, bus) in build.description.buses.readable() {
        let active = bus.discharge.as_ref().and_then(|discharge| discharge.active.as_ref());
        let Some(from) = active.and_then(|active| active.from.as_ref()) else { continue };
        let domain = |bus: &str| build.places.buses.get(bus).and_then(|&bus| seen.of_bus[bus]);
        let (Some(own), Some(other)) = (domain(name), domain(&from.value)) else { continue };
        if own == other {
            continue;
        }
        let said = format!("{name}.discharge");
        found.push(Found::new(
            build.tables.part(said.clone(), from.at, None),
            Joins::Discharge,
            format!("buses.{said}.active"),
            vec![said],
            vec![ordered(own, other)],
            entry.key,
        ));
    }
    found
}

/// Contactors whose coil takes its power from another domain than that their contacts stand in.
fn coils<'d>(build: &Build<'d>, seen: &Standing) -> Vec<Found<'d>> {
    let description = build.description;
    let domain = |bus: usize| seen.of_bus[bus];
    let mut found = Vec::new();
    for opening in build.plan.openings.iter().filter(|one| one.is_contactor) {
        let own = &build.plan.conductors[opening.conductor];
        let part = build.tables.part_of(own.part);
        let Some(coil) = description.conductors.entry(&part.path).and_then(|one| one.coil()) else {
            continue;
        };
        let contacts = match opening.of {
            Circuit::Source(source) => build.plan.sources[source].bus,
            Circuit::Load(load) => build.plan.loads[load].port.bus,
            // Which side of a stage it stands on its branch says.
            Circuit::Stage(_) => {
                let branch = description.branches.entry(&build.tables.part_of(own.branch).path);
                let ends = branch.into_iter().flat_map(|branch| [&branch.from, &branch.to]).flatten();
                ends.filter_map(|end| build.places.buses.get(&end.value).copied()).next()
            }
        };
        let Some(own) = contacts.and_then(domain) else { continue };
        let feeds = [&coil.from, &coil.also_from].into_iter().flatten();
        let others = feeds.filter_map(|bus| domain(*build.places.buses.get(&bus.value)?));
        let pairs: Vec<(usize, usize)> =
            others.filter(|other| *other != own).map(|other| ordered(own, other)).collect();
        if !pairs.is_empty() {
            let (said, names) = (format!("conductors.{}", part.path), vec![part.path.clone()]);
            let part_id = build.plan.conductors[opening.conductor].part;
            found.push(Found::new(part_id, Joins::Coil, said, names, pairs, part.at));
        }
    }
    found
}

fn signals<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, signal) in build.description.signals.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        if signal.joins.is_none() {
            isolation.unsaid.push((part, "joins"));
        }
        let ends: Vec<usize> = signal
            .joins
            .iter()
            .flat_map(|joins| &joins.value)
            .filter_map(|end| seen.places.get(&end.value).copied())
            .collect();
        let pairs = match ends.as_slice() {
            [one, other] if one != other => vec![ordered(*one, *other)],
            _ => Vec::new(),
        };
        // What says how steep an edge it stands is asked as a sensor of the rails would be.
        let stands = Some(Stands::of_signal(signal)).filter(Stands::is_stated);
        let jumping = match stands {
            Some(_) => beside_rails(build, seen, potentials, &ends),
            None => Vec::new(),
        };
        found.push(Found {
            crosses: signal.crosses.as_ref(),
            immunity: stands,
            coupling: Some(signal.coupling.as_ref()),
            jumping,
            is_beside: true,
            ..Found::new(
                part,
                Joins::Signal,
                format!("signals.{name}"),
                vec![name.to_owned()],
                pairs,
                entry.key,
            )
        });
    }
    found
}
