//! Pairs of switches that must not conduct together, with what says how long that takes.

use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::build::bank::shared;
use crate::build::gate_sheet::GateSheet;
use crate::ids::InputId;
use crate::plan::{DeadTime, GateDrive, Handover, Role, Topology};

/// Kinds of position that stand in one leg, or must not overlap.
const PAIRS: [(Role, Role); 3] =
    [(Role::HighSide, Role::LowSide), (Role::BridgeHigh, Role::BridgeLow), (Role::Main, Role::Clamp)];

/// Adds every stage in which two gates follow one another.
pub(crate) fn join(build: &mut Build<'_>) {
    for stage in 0..build.plan.stages.len() {
        let all = build.plan.gate_drives.iter().enumerate().filter(|(_, drive)| drive.stage == stage);
        let drives: Vec<(usize, GateDrive)> = all.map(|(place, drive)| (place, drive.clone())).collect();
        let mut handovers: Vec<Handover> = Vec::new();
        for (one, other) in pairs(build, stage, &drives) {
            for (off, on) in [(one, other), (other, one)] {
                let handover = handover(build, &drives[off], &drives[on]);
                if !handovers.contains(&handover) {
                    handovers.push(handover);
                }
            }
        }
        if handovers.is_empty() {
            continue;
        }
        let of = &build.plan.stages[stage];
        let part = of.part;
        let is_hard = !matches!(of.topology, Topology::Isolated(_));
        let needed = build.tables.figure_if_asked(part, "dead_time_needed", Dimension::Time);
        let share = build.tables.figure_if_asked(part, "dead_time_share", Dimension::Ratio);
        build.plan.dead_times.push(DeadTime { stage, handovers, is_hard, needed, share });
    }
}

/// What drives the two gates of each leg, as places among those of the stage; each pair once.
fn pairs(build: &Build<'_>, stage: usize, drives: &[(usize, GateDrive)]) -> Vec<(usize, usize)> {
    let positions = &build.plan.stages[stage].positions;
    let drive_of = |position: usize| drives.iter().position(|(_, drive)| drive.positions.contains(&position));
    let mut pairs = Vec::new();
    for (p, one) in positions.iter().enumerate() {
        for (q, other) in positions.iter().enumerate() {
            if one.leg == other.leg
                && PAIRS.contains(&(one.role, other.role))
                && let (Some(one), Some(other)) = (drive_of(p), drive_of(q))
                && !pairs.contains(&(one, other))
            {
                pairs.push((one, other));
            }
        }
    }
    pairs
}

fn handover(
    build: &mut Build<'_>,
    (leaves, off): &(usize, GateDrive),
    (comes, on): &(usize, GateDrive),
) -> Handover {
    let fall = GateSheet::of(build, off.stage, off.seat).current_fall(build);
    let delays = (off.driver != on.driver).then(|| (time(build, off, "delay"), time(build, on, "delay")));
    Handover {
        off: *leaves,
        on: *comes,
        turn_off_delay: off.figures.turn_off_delay,
        fall,
        turn_on_delay: on.figures.turn_on_delay,
        skew: time(build, on, "skew"),
        delays,
    }
}

/// A time that the driver of a gate states.
fn time(build: &mut Build<'_>, drive: &GateDrive, key: &str) -> InputId {
    let entry = drive.driver.and_then(|driver| build.description.drivers.get_index(driver));
    let Some((name, at, driver)) = entry.and_then(|(name, entry)| Some((name, entry.key, entry.read()?)))
    else {
        // What is missing of its driver is missing here: who it is.
        return drive.channel.turn_on_resistor;
    };
    let given = if key == "skew" { driver.skew.as_ref() } else { driver.delay.as_ref() };
    let stated = build.stated(given, Some(at), |time| time.si());
    let path = format!("drivers.{name}.{key}");
    shared(build, &path, &path, Dimension::Time, stated)
}
