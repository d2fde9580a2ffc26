//! A stage that obeys the controller of another: all that is measured of it goes to one controller, and it names a second.
//!
//! That name is one slip. What follows from it (a trip that is blind, a voltage that is not read, what then stops together) is
//! told with it and not once more.

use loadworthy_unit::PartId;
use loadworthy_unit::plan::Topology;

use super::measured::{Lack, currents, knows, temperature};
use super::voltages::{voltages, works_with};
use super::{Addition, Found, STRANGE_CONTROLLER, View, listed, place};
use crate::check::Told;
use crate::dependence::commanders;
use crate::verdict::Grade;

/// A stage with the controller that it names, and the one that reads what is measured of it.
pub(super) struct Strange<'u> {
    pub(super) stage: usize,
    pub(super) obeys: &'u str,
    pub(super) read_by: &'u str,
    /// What the controller that it names does not read, in words.
    pub(super) lacks: Vec<String>,
    /// Whether the stage states a trip.
    pub(super) trips: bool,
}

/// The controller that a stage names, and the one that reads all that is measured of it, where that is another.
///
/// One sensor that another controller reads may itself be the slip, so at least two quantities must say the same.
pub(super) fn obeys<'u>(
    view: &View<'_, 'u>,
    stage: usize,
    [currents, temperature]: [&Option<Lack>; 2],
) -> Option<(&'u str, &'u str)> {
    let [own] = view.commanders(stage)[..] else { return None };
    let is_strange = |lack: &&Lack| !lack.is_bare;
    temperature.as_ref().filter(is_strange)?;
    let of = &view.plan.stages[stage];
    let has_currents = of.bridge().is_some() || matches!(of.topology, Topology::Chopper(_));
    let bus = works_with(view, stage).map(|bus| view.variant.path(view.plan.buses[bus].part));
    let voltages = bus.map_or_else(Vec::new, |bus| voltages(view, bus));
    let reads_voltage =
        |name: &str| voltages.is_empty() || voltages.iter().any(|sensor| knows(view, sensor, name));
    let is_alone =
        if has_currents { currents.as_ref().is_none_or(|lack| lack.is_bare) } else { reads_voltage(own) };
    if is_alone {
        return None;
    }
    let reads_all = |name: &&str| {
        reads_voltage(name)
            && self::currents(view, stage, &[*name]).is_none()
            && self::temperature(view, stage, &[*name]).is_none()
    };
    let others = view.control.controllers.iter().map(|one| one.name.as_str());
    Some((own, others.filter(|name| *name != own).find(reads_all)?))
}

/// One finding for each; for two that obey each other's controllers one.
pub(super) fn found(view: &View<'_, '_>, all: &[Strange<'_>]) -> Vec<Found> {
    let is_exchanged =
        |one: &Strange<'_>, other: &Strange<'_>| (one.obeys, one.read_by) == (other.read_by, other.obeys);
    let mut told: Vec<usize> = Vec::new();
    let mut found = Vec::new();
    for (place, one) in all.iter().enumerate() {
        if told.contains(&place) {
            continue;
        }
        let with: Vec<usize> =
            (place + 1..all.len()).filter(|&k| !told.contains(&k) && is_exchanged(one, &all[k])).collect();
        told.extend(&with);
        let own: Vec<&Strange<'_>> = [place].iter().chain(&with).map(|&k| &all[k]).collect();
        found.push(tell(view, &own));
    }
    found
}

fn tell(view: &View<'_, '_>, all: &[&Strange<'_>]) -> Found {
    let parts: Vec<PartId> = all.iter().map(|one| view.plan.stages[one.stage].part).collect();
    let named = |one: &Strange<'_>| {
        let at = commanders(view.plan, one.stage).into_iter().find(|(name, _)| *name == one.obeys);
        let label = format!("{} reads what is measured of {}", one.read_by, view.stage(one.stage));
        at.map_or_else(|| view.at(view.plan.stages[one.stage].part, &label), |(_, node)| place(node, &label))
    };
    let blind: Vec<&str> = all.iter().filter(|one| one.trips).map(|one| view.stage(one.stage)).collect();
    let obeys = |one: &&Strange<'_>| {
        format!(
            "`{}` obeys {}, and {} reads what is measured of it",
            view.stage(one.stage),
            one.obeys,
            one.read_by
        )
    };
    let saying = all.iter().map(obeys).collect::<Vec<_>>().join("; ");
    let mut told = Told::new(saying, named(all[0]));
    told.because = all[1..].iter().map(|one| named(one)).collect();
    told.facts = all.iter().flat_map(|one| one.lacks.iter().cloned()).collect();
    if !blind.is_empty() {
        let verb = if blind.len() == 1 { "the trip is blind" } else { "the trips are blind" };
        told.facts.push(format!("{verb}: {}", listed(&blind)));
    }
    let says: Vec<String> =
        all.iter().map(|one| format!("`controller: {}` at {}", one.read_by, view.stage(one.stage))).collect();
    let grade = if blind.is_empty() { Grade::Minor } else { Grade::Major };
    let leaves = "what is measured of a stage read by its controller";
    Found {
        part: parts[0],
        defect: STRANGE_CONTROLLER,
        in_order: Ok(false),
        grade,
        names: parts,
        told: Some((told, Some(Addition { say: listed(&says), leaves }))),
    }
}
