//! Devices and windings on cooled metal: their circuits stand against it.

use std::collections::HashMap;

use loadworthy_physics::insulation::protection::Bonding;

use super::Standing;
use super::crossings::{Found, ordered};
use crate::build::Build;
use crate::ids::PartId;
use crate::plan::{Form, Isolation, Joins, MagneticRole, Package, Position};

/// What barriers list, each name with the ends of those that do.
pub(super) struct Listed(HashMap<String, Vec<(usize, usize)>>);

impl Listed {
    pub(super) fn of(isolation: &Isolation) -> Self {
        let mut all: HashMap<String, Vec<(usize, usize)>> = HashMap::new();
        for barrier in &isolation.barriers {
            for (name, ..) in &barrier.spanned_by {
                all.entry(name.clone()).or_default().extend(barrier.between);
            }
        }
        Self(all)
    }

    fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    fn ends(&self, name: &str) -> impl Iterator<Item = (usize, usize)> {
        self.0.get(name).into_iter().flatten().copied()
    }
}

/// Stages whose devices stand on cooled metal. Where barriers list single kinds of their positions, and not the stage, each
/// kind stands for itself.
pub(super) fn cooled<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    listed: &Listed,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for s in 0..build.plan.stages.len() {
        let stage = &build.plan.stages[s];
        let is_cooled = |package: &Package| package.faces.iter().any(|face| face.place.is_some());
        let chips: Vec<usize> = build.plan.packages[stage.packages.clone()]
            .iter()
            .filter(|package| is_cooled(package))
            .flat_map(|package| package.chips.iter().copied())
            .collect();
        let stands = |position: &Position| position.chips.clone().any(|chip| chips.contains(&chip));
        let of_kind = |seat: usize| -> Vec<usize> {
            let own = stage.positions.iter().enumerate().filter(|(_, one)| one.seat == seat && stands(one));
            own.filter_map(|(position, _)| seen.of_position(build, (s, position))).collect()
        };
        let (part, own) = (stage.part, build.tables.part_of(stage.part));
        let (name, near) = (own.path.clone(), own.at);
        let kinds = stage.seats.iter().enumerate();
        let kinds: Vec<(String, Vec<usize>)> =
            kinds.map(|(seat, kind)| (format!("{name}.{}", kind.key), of_kind(seat))).collect();
        let isolated_cases = isolated_cases(build, stage);
        let by_kind = !listed.has(&name) && kinds.iter().any(|(kind, _)| listed.has(kind));
        let things = if by_kind {
            let things = kinds.into_iter().filter(|(_, domains)| !domains.is_empty());
            things
                .map(|(kind, domains)| (build.tables.part(kind.clone(), near, Some(part)), kind, domains))
                .collect()
        } else {
            vec![(part, name.clone(), kinds.into_iter().flat_map(|(_, domains)| domains).collect::<Vec<_>>())]
        };
        for (part, listed_as, domains) in things {
            let pairs = on_metal(isolation, listed, (part, &listed_as), &domains);
            found.push(Found {
                isolated_cases,
                ..Found::new(part, Joins::Cooled, format!("stages.{name}"), vec![listed_as], pairs, near)
            });
        }
    }
    found
}

/// What something on a cooled element joins: the circuits that it stands in and the metal beneath it. That is the one from which
/// a barrier that lists it keeps a circuit of its; where none does the first that is bonded, and else the first. Where no
/// metal is described, that is noted.
fn on_metal(
    isolation: &mut Isolation,
    listed: &Listed,
    (part, name): (PartId, &str),
    domains: &[usize],
) -> Vec<(usize, usize)> {
    let is_metal = |place: usize| isolation.domain(place).form == Form::Metal;
    let bonded = isolation.domains().filter(|(place, _)| is_metal(*place));
    let bonded = bonded.max_by_key(|(place, metal)| {
        (!metal.is_inside, metal.bonding >= Bonding::Stated, core::cmp::Reverse(*place))
    });
    let first = bonded.map(|(place, _)| place);
    let beneath = |domain: usize| {
        listed.ends(name).find_map(|(one, other)| match () {
            () if one == domain && is_metal(other) => Some(other),
            () if other == domain && is_metal(one) => Some(one),
            () => None,
        })
    };
    let mut pairs = Vec::new();
    let mut loose = None;
    for &domain in domains.iter().filter(|&&domain| !is_metal(domain)) {
        match beneath(domain).or(first) {
            Some(metal) => pairs.push(ordered(domain, metal)),
            None => loose = Some(domain),
        }
    }
    isolation.without_metal.extend(loose.map(|domain| (part, domain)));
    pairs
}

/// Chokes and transformers of stages on cooled metal: their windings stand on the circuits of their stage.
pub(super) fn windings<'d>(
    build: &Build<'d>,
    seen: &Standing,
    listed: &Listed,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found: Vec<Found<'d>> = Vec::new();
    for stage in &build.plan.stages {
        for magnetic in stage.magnetics.iter().map(|&place| &build.plan.magnetics[place]) {
            if magnetic.place.is_none() {
                continue;
            }
            let ports = match magnetic.role {
                MagneticRole::Transformer => 0..2,
                MagneticRole::Choke | MagneticRole::OutputChoke => 1..2,
            };
            let buses = stage.ports.get(ports).unwrap_or_default().iter().filter_map(|port| port.bus);
            let domains: Vec<usize> = buses.filter_map(|bus| seen.of_bus[bus]).collect();
            let own = build.tables.part_of(magnetic.part);
            // The path begins with its stage.
            let name = own.path.rsplit('.').next().unwrap_or(&own.path);
            found.push(Found::new(
                magnetic.part,
                Joins::Wound,
                format!("magnetics.{name}"),
                vec![name.to_owned()],
                on_metal(isolation, listed, (magnetic.part, name), &domains),
                own.at,
            ));
        }
    }
    found
}

/// Whether all devices of a stage isolate their cases from their chips, where each says so.
fn isolated_cases(build: &Build<'_>, stage: &crate::plan::Stage) -> Option<bool> {
    let mut all = true;
    for seat in &stage.seats {
        let device = build.description.devices.entry(seat.fitted.as_ref()?)?;
        all &= device.package.as_ref()?.isolated.as_ref()?.value;
    }
    Some(all)
}
