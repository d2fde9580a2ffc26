//! What a trip takes at least until gates are off: the delay of a driver, and of the device that it turns off.

use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::build::bank::shared;
use crate::ids::{InputId, PartId};
use crate::plan::{Acting, GateDrive, Topology};

/// Adds every trip that states its delay, and whose gates have drivers that state theirs.
pub(crate) fn join(build: &mut Build<'_>) {
    for place in 0..build.plan.voltage_trips.len() {
        let trip = &build.plan.voltage_trips[place];
        let (bus, stated) = (trip.bus, trip.delay);
        let stages = build.plan.stages.iter().enumerate().filter(|(_, stage)| {
            let is_there = stage.ports.iter().any(|port| port.bus == Some(bus));
            is_there && !matches!(stage.topology, Topology::Isolated(_))
        });
        let stages: Vec<usize> = stages.map(|(stage, _)| stage).collect();
        let part = build.plan.buses[bus].part;
        build.plan.voltage_trips[place].acting = acting(build, (part, stated), &stages);
    }
    for place in 0..build.plan.current_trips.len() {
        let trip = &build.plan.current_trips[place];
        let (stage, stated) = (trip.stage, trip.delay);
        let part = build.plan.stages[stage].part;
        build.plan.current_trips[place].acting = acting(build, (part, stated), &[stage]);
    }
}

/// What the gates of stages take of a delay that a part states, as it stands in the plan.
fn acting(build: &mut Build<'_>, (part, stated): (PartId, InputId), stages: &[usize]) -> Option<usize> {
    if !build.tables.is_written(stated) {
        return None;
    }
    let drives = build.plan.gate_drives.iter().filter(|drive| stages.contains(&drive.stage));
    // A device that does not say how long it takes adds nothing that is known.
    let says = |drive: &GateDrive| !build.tables.is_absent(drive.gate.turn_off_delay);
    let drives: Vec<_> =
        drives.map(|drive| (drive.driver, says(drive).then_some(drive.figures.turn_off_delay))).collect();
    let (mut ways, mut unstated) = (Vec::new(), Vec::new());
    for (driver, turns_off) in drives {
        match driver.and_then(|driver| delay(build, driver)) {
            Some((delay, true)) => ways.push((delay, turns_off)),
            Some((delay, false)) if !unstated.contains(&delay) => unstated.push(delay),
            _ => {}
        }
    }
    if ways.is_empty() && unstated.is_empty() {
        return None;
    }
    let needed = build.tables.figure_if_asked(part, "command_to_off_time", Dimension::Time);
    build.plan.acting.push(Acting { part, stated, ways, unstated, needed });
    Some(build.plan.acting.len() - 1)
}

/// The delay of a driver, and whether it states one; nothing of one that says nothing of how it drives.
fn delay(build: &mut Build<'_>, driver: usize) -> Option<(InputId, bool)> {
    let (name, entry) = build.description.drivers.get_index(driver)?;
    let read = entry.read()?;
    if !read.says_how() {
        return None;
    }
    let stated = build.stated(read.delay.as_ref(), Some(entry.key), |time| time.si());
    let path = format!("drivers.{name}.delay");
    Some((shared(build, &path, &path, Dimension::Time, stated), read.delay.is_some()))
}
