//! The voltage of a bus: measured, and known to whoever works with it.

use loadworthy_unit::PartId;
use loadworthy_unit::plan::{Quantity, Sensor, Topology};

use super::measured::{Lack, barrier, blind_trip, found, knows, read_by, readers, sensors};
use super::{Addition, Found, UNREAD, View, listed, place};
use crate::barrier_crossing;
use crate::check::Told;
use crate::verdict::Grade;

/// A bus whose voltage is measured, with stages that work with it and controllers of theirs that do not know it.
struct Unread<'v> {
    bus: PartId,
    /// Whether it states an overvoltage trip, which stops nobody who does not know its voltage.
    trips: bool,
    open: Vec<(&'v str, &'v str)>,
    own: Vec<&'v Sensor>,
}

/// Every bus; two whose sensors were exchanged are one finding.
pub(super) fn buses(view: &View<'_, '_>, strange: &[usize], all: &mut Vec<Found>) {
    let measured = (0..view.plan.buses.len()).filter_map(|bus| voltage(view, bus, strange, all)).collect();
    let measured: Vec<Unread<'_>> = measured;
    let mut groups: Vec<Vec<Unread<'_>>> = Vec::new();
    for unread in measured {
        match groups.iter_mut().find(|group| group.iter().any(|other| is_exchanged(&unread, other))) {
            Some(group) => group.push(unread),
            None => groups.push(vec![unread]),
        }
    }
    all.extend(groups.into_iter().map(|group| tell(view, &group)));
}

/// Whether who works with either voltage reads the other one.
fn is_exchanged(one: &Unread<'_>, other: &Unread<'_>) -> bool {
    let reads = |open: &Unread<'_>, read: &Unread<'_>| {
        let readers = readers(read.own.iter().copied());
        !open.open.is_empty() && open.open.iter().all(|(_, by)| readers.iter().any(|name| name == by))
    };
    reads(one, other) && reads(other, one)
}

/// The voltage of a bus that bridges work from, other stages hold, or a boost or buck works from: measured at all, and read by
/// what commands each bridge on it and each stage that holds it.
fn voltage<'v>(
    view: &'v View<'_, '_>,
    bus: usize,
    strange: &[usize],
    all: &mut Vec<Found>,
) -> Option<Unread<'v>> {
    let asks = |&stage: &usize| works_with(view, stage) == Some(bus);
    let stages: Vec<usize> = (0..view.plan.stages.len()).filter(asks).collect();
    let chops = |&stage: &usize| {
        let of = &view.plan.stages[stage];
        matches!(of.topology, Topology::Chopper(_)) && of.ports.iter().any(|port| port.bus == Some(bus))
    };
    let also = (0..view.plan.stages.len()).filter(chops).filter(|stage| !stages.contains(stage));
    let all_on: Vec<usize> = stages.iter().copied().chain(also).collect();
    let trip = view.plan.voltage_trips.iter().find(|trip| trip.bus == bus && trip.is_stated);
    if all_on.is_empty() && trip.is_none() {
        return None;
    }
    let part = view.plan.buses[bus].part;
    let name = view.variant.path(part);
    let own = voltages(view, name);
    let mut commanders: Vec<&str> = Vec::new();
    for one in all_on.iter().flat_map(|&stage| view.commanders(stage)) {
        if !commanders.contains(&one) {
            commanders.push(one);
        }
    }
    let lack = own.is_empty().then(|| Lack {
        quantity: Quantity::Voltage,
        is_bare: true,
        strangers: Vec::new(),
        what: format!("nothing measures the voltage of {name}"),
        entry: format!("{name}_voltage: {{ measures: voltage, of: [{name}]{} }}", read_by(&commanders)),
        barrier: barrier(view, &all_on),
    });
    match trip {
        Some(trip) => {
            let says = format!("the overvoltage trip of `{name}` is blind");
            all.push(blind_trip(view, part, (trip.level, says), lack.into_iter().collect()));
        }
        None => all.push(found(view, part, lack.into_iter().collect(), None)),
    }
    if own.is_empty() {
        return None;
    }
    let asked: Vec<usize> = stages.into_iter().filter(|stage| !strange.contains(stage)).collect();
    Some(Unread { bus: part, trips: trip.is_some(), open: unknowing(view, &asked, &own), own })
}

/// The bus whose voltage the controller of a stage must know: a bridge works from its bus, and any other stage holds the one
/// that it leads to.
pub(super) fn works_with(view: &View<'_, '_>, stage: usize) -> Option<usize> {
    let of = &view.plan.stages[stage];
    let port = if of.bridge().is_some() { 0 } else { of.led_by? };
    of.ports.get(port)?.bus
}

/// Sensors of the voltage of a bus.
pub(super) fn voltages<'v>(view: &'v View<'_, '_>, bus: &str) -> Vec<&'v Sensor> {
    sensors(view, Quantity::Voltage).filter(|sensor| sensor.of.iter().any(|of| of.value == bus)).collect()
}

/// Stages with a controller of theirs, where none knows the voltage that sensors measure. Who sets duty ratios from a voltage,
/// or holds one, must know it; what it depends on may tell it.
fn unknowing<'v>(view: &'v View<'_, '_>, stages: &[usize], own: &[&Sensor]) -> Vec<(&'v str, &'v str)> {
    let knows = |controller: &str| own.iter().any(|sensor| knows(view, sensor, controller));
    let mut open: Vec<(&str, &str)> = Vec::new();
    for &stage in stages {
        let commanders = view.commanders(stage);
        if let Some(first) = commanders.first()
            && !commanders.iter().any(|one| knows(one))
        {
            open.push((view.stage(stage), first));
        }
    }
    // A stage that stands in other domains than barriers have it was moved to this bus: that is told there.
    if !open.is_empty() {
        let moved = barrier_crossing::moved_stages(view.solved);
        open.retain(|(stage, _)| !moved.iter().any(|&other| view.stage(other) == *stage));
    }
    open
}

fn tell(view: &View<'_, '_>, group: &[Unread<'_>]) -> Found {
    let (mut sayings, mut places, mut says) = (Vec::new(), Vec::new(), Vec::new());
    for unread in group.iter().filter(|unread| !unread.open.is_empty()) {
        let Some(sensor) = unread.own.first() else { continue };
        let said: Vec<String> = unread.open.iter().map(|(stage, by)| format!("{by} of {stage}")).collect();
        let name = view.variant.path(unread.bus);
        let blind = if unread.trips { "; its overvoltage trip does not stop them" } else { "" };
        sayings
            .push(format!("the voltage of `{name}` is measured, and not read by {}{blind}", said.join(", ")));
        let label = "others read it";
        let at = sensor.read_by.first();
        places.push(at.map_or_else(|| view.at(sensor.part, label), |reader| place(reader.at, label)));
        places.push(
            view.at(unread.bus, "a bridge works from it, or a stage holds it, whose controller must know it"),
        );
        let mut names: Vec<&str> = sensor.read_by.iter().map(|reader| reader.value.as_str()).collect();
        for (_, by) in &unread.open {
            if !names.contains(by) {
                names.push(by);
            }
        }
        says.push(format!("{}: `read_by: [{}]`", view.variant.path(sensor.part), listed(&names)));
    }
    let mut places = places.into_iter();
    let told = places.next().map(|at| {
        let told = Told::new(sayings.join("; "), at);
        let told = Told { because: places.collect(), facts: sayings, ..told };
        let leaves = "the voltage known to each controller that works with it";
        (told, Some(Addition { say: says.join(", "), leaves }))
    });
    let in_order = Ok(told.is_none());
    let is_blind = group.iter().any(|unread| unread.trips && !unread.open.is_empty());
    let grade = if is_blind { Grade::Major } else { Grade::Minor };
    Found { part: group[0].bus, defect: UNREAD, in_order, grade, names: Vec::new(), told }
}
