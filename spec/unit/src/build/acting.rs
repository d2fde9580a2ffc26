//! What a trip takes at least until gates are off: the delay of a driver, and of the device that it turns off.

use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::bank::shared;
use crate::ids::{InputId, PartId};
use crate::plan::{Acting, GateDrive, Topology};

/// Adds every trip that states its delay, and whose gates have drivers that state theirs.
pub(crate) fn join(build: &mut Build<'_>) {
    let mut trips: Vec<(PartId, InputId, Vec<usize>)> = Vec::new();
    for trip in build.plan.voltage_trips.iter().filter(|trip| trip.is_stated) {
        let stages = build.plan.stages.iter().enumerate().filter(|(_, stage)| {
            let is_there = stage.ports.iter().any(|port| port.bus == Some(trip.bus));
            is_there && !matches!(stage.topology, Topology::Isolated(_))
        });
        trips.push((build.plan.buses[trip.bus].part, trip.delay, stages.map(|(stage, _)| stage).collect()));
    }
    for trip in &build.plan.current_trips {
        trips.push((build.plan.stages[trip.stage].part, trip.delay, vec![trip.stage]));
    }
    for (part, stated, stages) in trips {
        if !build.tables.is_written(stated) {
            continue;
        }
        let drives = build.plan.gate_drives.iter().filter(|drive| stages.contains(&drive.stage));
        // A device that does not say how long it takes adds nothing that is known.
        let says = |drive: &GateDrive| !build.tables.is_absent(drive.gate.turn_off_delay);
        let drives: Vec<_> =
            drives.map(|drive| (drive.driver, says(drive).then_some(drive.figures.turn_off_delay))).collect();
        let mut ways = Vec::new();
        for (driver, turns_off) in drives {
            ways.extend(driver.and_then(|driver| delay(build, driver)).map(|delay| (delay, turns_off)));
        }
        if !ways.is_empty() {
            let needed = build.tables.figure_if_asked(part, "command_to_off_time", Dimension::Time);
            build.plan.acting.push(Acting { part, stated, ways, needed });
        }
    }
}

/// The delay that a driver states.
fn delay(build: &mut Build<'_>, driver: usize) -> Option<InputId> {
    let (name, entry) = build.description.drivers.get_index(driver)?;
    let delay = entry.read()?.delay.as_ref()?;
    let none: Option<NodeId> = None;
    let stated = build.stated(Some(delay), none, |time| time.si());
    let path = format!("drivers.{name}.delay");
    Some(shared(build, &path, &path, Dimension::Time, stated))
}
