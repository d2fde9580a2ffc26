//! Each gate one driver, each stage a controller, and no driver that obeys another one.

use loadworthy_unit::PartId;
use loadworthy_unit::plan::Driver;

use super::{Addition, Found, NO_CONTROLLER, NO_DRIVER, OTHER_CONTROLLER, TWO_DRIVERS, View, listed, place};
use crate::cause::missing_text;
use crate::check::Told;
use crate::verdict::{Grade, Missing};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// Drivers and controllers of every stage that has a gate; a stage in one finding, however many gates lack.
pub(super) fn stages(view: &View<'_, '_>, all: &mut Vec<Found>) {
    let unread = view.waits_for(view.control.drivers_stated);
    let mut is_waiting = false;
    // Stages of which no gate is driven lack one entry, as far as anyone can tell: one finding for all of them.
    let bare: Vec<usize> = (0..view.plan.stages.len())
        .filter(|&stage| {
            let gates = gates(view, stage);
            !gates.is_empty() && gates.iter().all(|&gate| drivers(view, stage, gate).is_empty())
        })
        .collect();
    // One of two drivers on the same gates was meant for them.
    let crowded = crowded(view).filter(|_| !bare.is_empty() && unread.is_none());
    // Stages that nothing commands lack one controller as well.
    let orphans = orphans(view);
    for stage in 0..view.plan.stages.len() {
        let gates = gates(view, stage);
        if gates.is_empty() {
            continue;
        }
        if !orphans.iter().skip(1).any(|&other| other == stage) {
            all.push(controller(view, stage, &orphans));
        }
        match unread {
            // Where the whole section lacks, one verdict says so for the unit.
            Some(_) if is_waiting => continue,
            Some(_) => is_waiting = true,
            None => {}
        }
        let with = match bare.binary_search(&stage) {
            Ok(_) if crowded.is_some() => continue,
            Ok(0) => &bare[1..],
            // Told with the first.
            Ok(_) => continue,
            Err(_) => &[],
        };
        all.push(driven(view, stage, &gates, with, unread));
        if unread.is_none() {
            let bare: &[usize] = if crowded == Some(stage) { &bare } else { &[] };
            all.push(doubled(view, stage, &gates, bare));
            all.extend(obeying(view, stage));
        }
    }
}

/// Places of a stage's gates among its positions.
fn gates(view: &View<'_, '_>, stage: usize) -> Vec<usize> {
    let positions = view.plan.stages[stage].positions.iter().enumerate();
    positions.filter(|(_, position)| position.gate.is_some()).map(|(place, _)| place).collect()
}

/// Drivers of a gate.
fn drivers<'v>(view: &'v View<'_, '_>, stage: usize, position: usize) -> Vec<&'v Driver> {
    let drives = |driver: &&Driver| driver.drives.iter().any(|&(s, p, _)| (s, p) == (stage, position));
    view.control.drivers.iter().filter(drives).collect()
}

fn names(view: &View<'_, '_>, stage: usize, positions: &[usize]) -> Vec<String> {
    let stage = &view.plan.stages[stage];
    positions.iter().map(|&place| view.variant.path(stage.positions[place].part).to_owned()).collect()
}

/// Positions in short: a whole side by its own name.
fn sides(view: &View<'_, '_>, stage: usize, positions: &[usize]) -> Vec<String> {
    let of = &view.plan.stages[stage];
    let mut names_of: Vec<String> = Vec::new();
    for (seat, key) in of.seats.iter().enumerate().map(|(place, seat)| (place, seat.key)) {
        let own = |place: &usize| of.positions[*place].seat == seat;
        let open: Vec<usize> = positions.iter().copied().filter(own).collect();
        let whole = (0..of.positions.len()).filter(|place| own(place)).count();
        if open.is_empty() {
            continue;
        }
        if open.len() == whole {
            names_of.push(format!("{}.{key}", view.stage(stage)));
        } else {
            names_of.extend(names(view, stage, &open));
        }
    }
    names_of
}

/// Whether the gates of a stage have drivers, and with it of others that have none at all.
fn driven(
    view: &View<'_, '_>,
    stage: usize,
    gates: &[usize],
    with: &[usize],
    unread: Option<Missing>,
) -> Found {
    let part = view.plan.stages[stage].part;
    let open: Vec<usize> =
        gates.iter().copied().filter(|&gate| drivers(view, stage, gate).is_empty()).collect();
    let in_order = unread.map_or(Ok(open.is_empty()), |missing| Err(vec![missing]));
    let told = (in_order == Ok(false)).then(|| {
        let mut positions = sides(view, stage, &open);
        for &other in with {
            positions.extend(sides(view, other, &self::gates(view, other)));
        }
        let name = view.stage(stage);
        let saying = format!("no driver drives {}", listed(&positions));
        let mut told = Told::new(saying, view.at(part, "gates without a driver"));
        told.because = with
            .iter()
            .take(MOST_PLACES)
            .map(|&other| view.at(view.plan.stages[other].part, "nor here"))
            .collect();
        let more: usize = with.iter().map(|&other| self::gates(view, other).len()).sum();
        told.facts = vec![format!(
            "{} of {} gates without a driver: {}",
            open.len() + more,
            gates.len() + more,
            listed(&positions)
        )];
        let say = format!("add `drivers: {{ {name}_drivers: {{ drives: [{}] }} }}`", listed(&positions));
        (told, Some(Addition { say, leaves: "one driver for each gate" }))
    });
    let of = |stage: usize, gates: &[usize]| -> Vec<PartId> {
        gates.iter().map(|&gate| view.plan.stages[stage].positions[gate].part).collect()
    };
    let others = with.iter().flat_map(|&other| of(other, &self::gates(view, other)));
    let names = of(stage, &open).into_iter().chain(others).collect();
    Found { part, defect: NO_DRIVER, in_order, grade: Grade::Major, names, told }
}

/// Inputs of the gates that a finding of a stage tells of: its own, and those of stages that have no driver at all.
pub(super) fn undriven(view: &View<'_, '_>, part: PartId) -> Vec<String> {
    let is_told = |stage: usize| {
        let lacks = |&gate: &usize| drivers(view, stage, gate).is_empty();
        view.plan.stages[stage].part == part || gates(view, stage).iter().all(lacks)
    };
    let open = view.plan.gate_drives.iter().filter(|drive| drive.driver.is_none() && is_told(drive.stage));
    let mut paths: Vec<String> =
        open.map(|drive| view.variant.tables.input_of(drive.channel.own_power).path.clone()).collect();
    paths.dedup();
    // A driver that does not say what it drives may be the one.
    let idle = view.control.drivers.iter().filter(|driver| driver.drives.is_empty());
    paths.extend(idle.map(|driver| {
        missing_text(view.variant, None, Missing::Key { of: driver.part, key: "drives" }).subject
    }));
    paths
}

/// What waits for a controller that is stated nowhere: where the drivers of its stages stand, and who reads the sensors that it
/// would have read.
pub(super) fn uncommanded(view: &View<'_, '_>) -> Vec<String> {
    let orphans = orphans(view);
    let drives = |driver: &&Driver| driver.drives.iter().any(|(stage, ..)| orphans.contains(stage));
    let drivers = view.control.drivers.iter().filter(drives);
    let drivers = drivers.map(|driver| Missing::Key { of: driver.part, key: "controller" });
    let sensors = view.control.sensors.iter().filter(|sensor| sensor.read_by.is_empty());
    let sensors = sensors.map(|sensor| Missing::Key { of: sensor.part, key: "read_by" });
    drivers.chain(sensors).map(|missing| missing_text(view.variant, None, missing).subject).collect()
}

/// Stages with gates that nothing commands, as far as everything was read.
fn orphans(view: &View<'_, '_>) -> Vec<usize> {
    let is_orphan = |&stage: &usize| {
        !gates(view, stage).is_empty() && view.commanders(stage).is_empty() && unread(view, stage).is_none()
    };
    (0..view.plan.stages.len()).filter(is_orphan).collect()
}

/// What the question for the controller of a stage waits for: drivers that were not read may name one.
fn unread(view: &View<'_, '_>, stage: usize) -> Option<Missing> {
    let is_commanded = !view.commanders(stage).is_empty();
    let drivers = view.waits_for(view.control.drivers_stated).filter(|_| !view.control.drivers.is_empty());
    drivers.filter(|_| !is_commanded).or_else(|| view.waits_for_controller(stage))
}

/// The first stage with a driver of which every gate has another driver as well.
fn crowded(view: &View<'_, '_>) -> Option<usize> {
    let is_crowded = |driver: &&Driver| {
        let has_another = |&(stage, gate, _): &(usize, usize, _)| 1 < drivers(view, stage, gate).len();
        !driver.drives.is_empty() && driver.drives.iter().all(has_another)
    };
    Some(view.control.drivers.iter().find(is_crowded)?.drives.first()?.0)
}

/// Gates that two drivers drive; with stages that have none, which one of the two was meant for.
fn doubled(view: &View<'_, '_>, stage: usize, gates: &[usize], bare: &[usize]) -> Found {
    let part = view.plan.stages[stage].part;
    let twice: Vec<usize> =
        gates.iter().copied().filter(|&gate| 1 < drivers(view, stage, gate).len()).collect();
    let told = twice.first().map(|&first| {
        let positions = sides(view, stage, &twice);
        let own = drivers(view, stage, first);
        let entries: Vec<&str> = own.iter().map(|driver| view.variant.path(driver.part)).collect();
        let saying = format!(
            "{} drive {}: the outputs of two drivers on one gate fight",
            listed(&entries),
            listed(&positions)
        );
        let named = |driver: &&Driver| {
            let of = driver.drives.iter().find(|&&(s, p, _)| (s, p) == (stage, first))?;
            Some(place(of.2, &format!("driven by {}", view.variant.path(driver.part))))
        };
        let mut places = own.iter().filter_map(named);
        let at = places.next().unwrap_or_else(|| view.at(part, "gates with two drivers"));
        let mut told = Told::new(saying, at);
        told.because = places.collect();
        told.facts = vec![format!("driven by {}: {}", listed(&entries), listed(&positions))];
        told.no_proposal = Some("leave one of them out of the list of the other".to_owned());
        if !bare.is_empty() {
            let bare = listed(&bare.iter().map(|&of| view.stage(of)).collect::<Vec<_>>());
            told.saying = format!("{}, and no driver drives {bare}", told.saying);
            told.facts.push(format!("without a driver: {bare}"));
            told.no_proposal = Some(format!("let one of them drive {bare}"));
        }
        (told, None)
    });
    Found {
        part,
        defect: TWO_DRIVERS,
        in_order: Ok(twice.is_empty()),
        grade: Grade::Major,
        names: Vec::new(),
        told,
    }
}

fn controller(view: &View<'_, '_>, stage: usize, orphans: &[usize]) -> Found {
    let part = view.plan.stages[stage].part;
    let in_order = match unread(view, stage) {
        Some(missing) => Err(vec![missing]),
        None => Ok(!orphans.contains(&stage)),
    };
    let told = (in_order == Ok(false)).then(|| {
        let known: Vec<&str> = view.control.controllers.iter().map(|one| one.name.as_str()).collect();
        let first = known.first().copied().unwrap_or("NAME");
        let names: Vec<String> = orphans.iter().map(|&other| format!("`{}`", view.stage(other))).collect();
        let names = listed(&names);
        let mut told = Told::new(format!("nothing commands {names}"), view.at(part, "names no controller"));
        let others = orphans.iter().skip(1).take(MOST_PLACES);
        told.because = others.map(|&other| view.at(view.plan.stages[other].part, "nor does this")).collect();
        told.facts = vec![format!("no controller of {names}; described: {}", listed(&known))];
        let each = if orphans.len() == 1 { "it" } else { "each of them" };
        let say = format!("add `controller: {first}` to {each}, or the controller that it has");
        (told, Some(Addition { say, leaves: "a controller for each stage" }))
    });
    let names = orphans.iter().map(|&other| view.plan.stages[other].part).collect();
    Found { part, defect: NO_CONTROLLER, in_order, grade: Grade::Major, names, told }
}

/// Whether drivers of a stage obey another controller than the one that it names.
fn obeying(view: &View<'_, '_>, stage: usize) -> Option<Found> {
    let part = view.plan.stages[stage].part;
    let own = view.control.stages[stage].controller.as_ref().filter(|own| view.is_controller(&own.value))?;
    let strays = view.control.drivers.iter().filter_map(|driver| {
        let drives = driver.drives.iter().any(|gate| gate.0 == stage);
        let named = driver.controller.as_ref().filter(|named| named.value != own.value)?;
        if !view.is_controller(&named.value) {
            return None;
        }
        drives.then_some((driver, named))
    });
    let strays: Vec<_> = strays.collect();
    let told = strays.first().map(|(driver, named)| {
        let saying = format!(
            "`{}` is commanded by {}, and its driver {} obeys {}",
            view.stage(stage),
            own.value,
            view.variant.path(driver.part),
            named.value
        );
        let mut told = Told::new(saying, place(named.at, "another controller"));
        told.because = vec![place(own.at, "the controller of the stage")];
        told.facts = vec![format!("commanded by {} and by {}", own.value, named.value)];
        told.no_proposal = Some("name one controller, or say in a permit why two share a stage".to_owned());
        (told, None)
    });
    Some(Found {
        part,
        defect: OTHER_CONTROLLER,
        in_order: Ok(strays.is_empty()),
        grade: Grade::Minor,
        names: Vec::new(),
        told,
    })
}
