//! Whether what turning off adds to a voltage is known, on either side of a barrier.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::LaneId;
use loadworthy_unit::plan::{Position, Role, Stage};

use super::Seen;
use crate::verdict::Missing;

/// What is missing where a leg turns off on a bus that hurts, and neither the loop of that bus nor the fall time of the device
/// is stated: then no spike is reckoned.
pub(super) fn unstated(seen: &Seen<'_, '_>, lane: LaneId) -> Option<Missing> {
    let plan = &seen.solved.variant.plan;
    let hurts = |bus: usize| {
        let volts = seen.solved.figure(plan.buses[bus].highest_voltage, lane);
        volts.is_some_and(|volts| volts > HARMLESS.si())
    };
    let ends = seen.barrier.carried_by().map(|end| &seen.isolation.domain(end).stress);
    let mut buses = ends.filter(|stress| !stress.is_still).flat_map(|stress| stress.buses.iter().copied());
    let is_silent = |bus: usize| {
        let is_reckoned = |place: usize, seat: usize| {
            let mut all = plan.turn_offs.iter().filter(|one| one.stage == place);
            all.any(|one| plan.stages[place].withstands[one.withstand].seat == seat)
        };
        let turns_off = |stage: &Stage, position: &Position| {
            let is_leg =
                position.role.is_of_leg() || matches!(position.role, Role::BridgeHigh | Role::BridgeLow);
            let mut own = stage.withstands.iter().filter(|one| one.seat == position.seat);
            is_leg && position.gate.is_some() && own.any(|one| one.bus == Some(bus))
        };
        plan.stages.iter().enumerate().any(|(place, stage)| {
            let mut all = stage.positions.iter();
            all.any(|position| turns_off(stage, position) && !is_reckoned(place, position.seat))
        })
    };
    let bus = buses.find(|&bus| hurts(bus) && is_silent(bus))?;
    Some(Missing::Key { of: plan.buses[bus].part, key: "loop_inductance.bars" })
}
