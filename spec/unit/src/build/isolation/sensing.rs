//! Sensors: where they measure, and where they are read.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::sensors::{Measured, Measurement};
use loadworthy_source::NodeId;

use super::Standing;
use super::crossings::{Found, of_controller, ordered};
use super::jumping::{Potentials, node};
use super::stands::Stands;
use crate::build::Build;
use crate::build::bank::shared;
use crate::ids::PartId;
use crate::origin::Origin;
use crate::plan::{Divider, Isolation, Joins, Position, Role};
use crate::table::Stated;

/// Every sensor that joins a domain and that of its reader.
pub(super) fn sensors<'d>(
    build: &mut Build<'d>,
    seen: &Standing,
    potentials: &Potentials,
    isolation: &mut Isolation,
) -> Vec<Found<'d>> {
    let mut found = Vec::new();
    for (name, entry, sensor) in build.description.sensors.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        // What it measures says where it stands.
        if sensor.measures.is_none() {
            isolation.unsaid.push((part, "measures"));
            continue;
        }
        let measured = measured(build, seen, potentials, sensor, (part, isolation));
        if measured.domains.is_empty() {
            continue;
        }
        if sensor.read_by.is_none() {
            isolation.unsaid.push((part, "read_by"));
        }
        let controllers = sensor.read_by.iter().flat_map(|controllers| &controllers.value);
        let mut pairs = Vec::new();
        // What states how steep an edge it stands is asked within one domain as well.
        let mut stays = false;
        let mut readers = Vec::new();
        for controller in controllers {
            let reader = of_controller(build, seen, &controller.value, isolation);
            readers.push(reader);
            let Some(reader) = reader else { continue };
            stays |= measured.domains == [reader] && Stands::of_sensor(sensor).is_stated();
            pairs.extend(measured.domains.iter().filter(|&&at| at != reader).map(|&at| ordered(at, reader)));
        }
        if let ([at], false) = (measured.domains.as_slice(), readers.is_empty())
            && readers.iter().all(|reader| *reader == Some(*at))
        {
            isolation.within.push((part, *at, sensor.domain.as_ref().map(|domain| domain.at)));
        }
        // What says anything of a divider is one, and is asked for the rest.
        if sensor.resistance.is_some() || sensor.resistors.is_some() || sensor.touch_current.is_some() {
            divided(build, (name, entry.key, sensor), (part, &measured.domains, &pairs), isolation);
        }
        found.push(Found {
            part,
            kind: Joins::Sensor,
            said: format!("sensors.{name}"),
            names: vec![name.to_owned()],
            pairs,
            crosses: sensor.crosses.as_ref(),
            immunity: Some(Stands::of_sensor(sensor)),
            coupling: Some(sensor.coupling.as_ref()),
            asks_barrier: false,
            jumping: measured.jumping,
            is_beside: measured.is_beside,
            stays: stays && !measured.is_beside,
            isolated_cases: None,
            near: entry.key,
        });
    }
    found
}

/// What a divider is made of, for each pair of domains that it leads between.
fn divided(
    build: &mut Build<'_>,
    (name, at, sensor): (&str, NodeId, &Measurement),
    (part, domains, pairs): (PartId, &[usize], &[(usize, usize)]),
    isolation: &mut Isolation,
) {
    let said = format!("sensors.{name}");
    let ohms = build.stated(sensor.resistance.as_ref(), Some(at), |ohms| ohms.si());
    let count = match &sensor.resistors {
        Some(count) => Stated { value: f64::from(count.value), origin: build.written(count.at) },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let amps = build.stated(sensor.touch_current.as_ref(), Some(at), |amps| amps.si());
    let mut input = |key: &str, dimension, stated| {
        let path = format!("{said}.{key}");
        shared(build, &path, &path, dimension, stated)
    };
    let resistance = input("resistance", Dimension::Resistance, ohms);
    let resistors = input("resistors", Dimension::Ratio, count);
    let allowed = input("touch_current", Dimension::Current, amps);
    let mut known: Vec<(usize, usize)> = Vec::new();
    for &between in pairs {
        let domain = domains.iter().copied().find(|&at| at == between.0 || at == between.1);
        if let Some(domain) = domain.filter(|_| !known.contains(&between)) {
            known.push(between);
            isolation.dividers.push(Divider { part, domain, between, resistance, resistors, allowed });
        }
    }
}

fn is_of(sensor: &Measurement, what: Measured) -> bool {
    sensor.measures.as_ref().is_some_and(|measures| measures.value == what)
}

/// The potentials of a stage that what feels its temperature, or stands on its rails, lies beside, in the domains where that is.
fn lies_beside(
    build: &Build<'_>,
    seen: &Standing,
    potentials: &Potentials,
    s: usize,
    domains: &[usize],
) -> Vec<usize> {
    let own = (0..build.plan.stages[s].positions.len())
        .filter(|&p| seen.of_position(build, (s, p)).is_some_and(|domain| domains.contains(&domain)));
    own.filter_map(|p| node(build, (s, p)).and_then(|node| potentials.get(&node).copied())).collect()
}

/// The potentials beside which the rails of some domains move: those of all stages, where nothing holds the rails of a bus there.
pub(super) fn beside_rails(
    build: &Build<'_>,
    seen: &Standing,
    potentials: &Potentials,
    domains: &[usize],
) -> Vec<usize> {
    let stands = |bus: usize| seen.of_bus[bus].is_some_and(|domain| domains.contains(&domain));
    let mut floating = (0..build.plan.buses.len()).filter(|&bus| stands(bus) && !is_held(build, seen, bus));
    if floating.next().is_none() {
        return Vec::new();
    }
    let stages = 0..build.plan.stages.len();
    let mut all: Vec<usize> = stages.flat_map(|s| lies_beside(build, seen, potentials, s, domains)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The potentials that a sensor rides on: of a place in a stage those that jump there; of the current of a whole stage, of its
/// machine or of its choke those of all its legs.
fn rides_on(
    build: &Build<'_>,
    potentials: &Potentials,
    sensor: &Measurement,
    of: &str,
    (stage, place): (Option<usize>, Option<&str>),
) -> Vec<usize> {
    let plan = &build.plan;
    let known = |s: usize, p: usize| node(build, (s, p)).and_then(|node| potentials.get(&node).copied());
    if let (Some(s), Some(place)) = (stage, place) {
        let ends = |position: &Position| {
            let path = &build.tables.part_of(position.part).path;
            path.rsplit('.').next() == Some(place) || path.ends_with(&format!(".{place}"))
        };
        let positions = plan.stages[s].positions.iter().enumerate();
        return positions.filter(|(_, one)| ends(one)).filter_map(|(p, _)| known(s, p)).collect();
    }
    if !is_of(sensor, Measured::Current) {
        return Vec::new();
    }
    let carries = |s: &usize| {
        let own = &plan.stages[*s];
        let machine = own.bridge().and_then(|bridge| bridge.machine);
        let is_of = |path: &str| path == of || path.rsplit('.').next() == Some(of);
        stage == Some(*s)
            || machine.is_some_and(|machine| build.tables.part_of(machine).path == of)
            || own.magnetics.iter().any(|&one| is_of(&build.tables.part_of(plan.magnetics[one].part).path))
    };
    let stages = (0..plan.stages.len()).filter(carries);
    let legs = stages.flat_map(|s| {
        let positions = plan.stages[s].positions.iter().enumerate();
        positions.filter(|(_, one)| one.role == Role::HighSide).filter_map(move |(p, _)| known(s, p))
    });
    legs.collect()
}

/// Whether suppression capacitors lead from a rail of the circuit of a bus to another domain; one that could not be read may.
fn is_held(build: &Build<'_>, seen: &Standing, bus: usize) -> bool {
    let capacitors = &build.description.capacitors;
    let stands_here =
        |of: &str| build.places.buses.get(of).is_some_and(|&one| seen.of_bus[one] == seen.of_bus[bus]);
    !capacitors.is_whole()
        || capacitors.readable().any(|(.., capacitor)| match capacitor {
            Capacitor::Suppression(written) => {
                let pole = written.from.as_ref().and_then(|from| from.value.split_once('.'));
                pole.is_some_and(|(of, _)| stands_here(of))
            }
            Capacitor::Bank(_) => false,
        })
}

/// Where a sensor measures.
#[derive(Default)]
struct Measures {
    domains: Vec<usize>,
    jumping: Vec<usize>,
    /// Whether it rides on none of them and lies beside.
    is_beside: bool,
}

fn measured(
    build: &mut Build<'_>,
    seen: &Standing,
    potentials: &Potentials,
    sensor: &Measurement,
    (part, isolation): (PartId, &mut Isolation),
) -> Measures {
    let mut measures = Measures::default();
    let own = sensor.domain.as_ref().and_then(|domain| seen.places.get(&domain.value).copied());
    // Coolant stands on the chassis, and a reading of it joins nothing that hurts.
    let is_of_coolant = is_of(sensor, Measured::Flow);
    // What feels a rotor or a temperature may lie in a circuit of its own. What measures a voltage, a current or the
    // isolation touches the circuit that it is of, and where it is read says nothing of that.
    let says_where =
        own.is_some() && (is_of(sensor, Measured::Temperature) || is_of(sensor, Measured::Position));
    let mut felt: Vec<usize> = Vec::new();
    for name in sensor.of.iter().flat_map(|of| &of.value) {
        let stage = name.value.split_once('.').map_or(name.value.as_str(), |(stage, _)| stage);
        let place = name.value.split_once('.').map(|(_, place)| place);
        let stage = build.places.stages.get(stage).copied();
        measures.jumping.extend(rides_on(build, potentials, sensor, &name.value, (stage, place)));
        felt.extend(stage.filter(|_| place.is_none() && is_of(sensor, Measured::Temperature)));
        // Rails that float move against the other side with each edge of what stands on them, unless capacitors hold them.
        if is_of(sensor, Measured::Voltage)
            && let Some(&bus) = build.places.buses.get(name.value.as_str())
            && !is_held(build, seen, bus)
        {
            felt.extend(0..build.plan.stages.len());
        }
        if says_where || is_of_coolant {
            continue;
        }
        let bus = build.places.buses.get(name.value.as_str()).copied();
        let of_source = || {
            let plan = &build.plan;
            let source = build.places.sources.get(&name.value).map(|&source| &plan.sources[source]);
            let machine = plan.stages.iter().find(|stage| {
                let fed = stage.bridge().and_then(|bridge| bridge.machine);
                fed.is_some_and(|fed| build.tables.part_of(fed).path == name.value)
            });
            let magnetic = plan.stages.iter().find(|stage| {
                stage.magnetics.iter().any(|&one| {
                    let own = &build.tables.part_of(plan.magnetics[one].part).path;
                    own.rsplit('.').next() == Some(name.value.as_str())
                })
            });
            let branch = build.description.branches.entry(&name.value).and_then(|branch| {
                [&branch.from, &branch.to]
                    .into_iter()
                    .flatten()
                    .find_map(|end| build.places.buses.get(end.value.as_str()).copied())
            });
            let of_stage = |stage: &crate::plan::Stage| stage.ports.first().and_then(|port| port.bus);
            source
                .and_then(|source| source.bus)
                .or_else(|| machine.and_then(of_stage))
                .or_else(|| magnetic.and_then(of_stage))
                .or(branch)
        };
        match (bus.or_else(of_source), stage) {
            (Some(bus), _) => measures.domains.extend(seen.of_bus[bus]),
            (None, Some(stage)) => {
                let ports = &build.plan.stages[stage].ports;
                let mut sides: Vec<usize> = ports.iter().filter_map(|port| seen.of_bus[port.bus?]).collect();
                sides.dedup();
                match sides.as_slice() {
                    [only] => measures.domains.push(*only),
                    [] => {}
                    // On which side of its transformer it sits, only the description can say.
                    _ if own.is_some() => measures.domains.extend(own),
                    _ => isolation.unsaid.push((part, "domain")),
                }
            }
            (None, None) => {}
        }
    }
    if measures.domains.is_empty() {
        measures.domains.extend(own);
    }
    measures.domains.sort_unstable();
    measures.domains.dedup();
    measures.is_beside = is_of(sensor, Measured::Temperature) || measures.jumping.is_empty();
    let beside = felt.into_iter().flat_map(|s| lies_beside(build, seen, potentials, s, &measures.domains));
    measures.jumping.extend(beside);
    measures.jumping.sort_unstable();
    measures.jumping.dedup();
    measures
}
