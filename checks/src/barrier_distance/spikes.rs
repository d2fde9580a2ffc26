//! What turning off adds to a voltage, on either side of a barrier: whether it is known, and whether a failure comes of it.

use loadworthy_physics::Voltage;
use loadworthy_physics::insulation::clearance::reinforced_impulse;
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Position, Role, Stage};
use loadworthy_unit::{LaneId, PartId};

use super::alike::{brings, through};
use super::{CLEARANCE, DISCHARGE, IMPULSE, PEAK, Seen};
use crate::check::With;
use crate::turn_off_overshoot;
use crate::verdict::{EQUAL_WITHIN, Missing, Verdict};

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

/// The turn-offs whose spike brings a failure, where what stands there without any holds: a spike beyond what its device blocks is
/// found there, and goes with what makes it so high.
pub(super) fn told_with(failing: &Verdict, seen: &Seen<'_, '_>) -> Vec<With> {
    let led = || {
        let (lane, compared) = (failing.lane()?, failing.comparison()?);
        let peak = seen.solved.figure(seen.barrier.figures.peak, lane)?;
        let (without, parts) = leading(seen, lane, peak, failing.defect == DISCHARGE)?;
        let holds = match failing.defect {
            PEAK | DISCHARGE => without <= compared.allowed,
            CLEARANCE | IMPULSE => {
                let impulse = seen.solved.figure(seen.barrier.figures.impulse, lane)?;
                let stated = brings(seen, lane).and_then(|input| seen.solved.input(input, lane));
                let left = stated.unwrap_or(0.0).max(without);
                is_equal(impulse, peak) && stands(failing.defect, seen, lane, left)?
            }
            _ => false,
        };
        holds.then_some(parts)
    };
    let parts = led().unwrap_or_default();
    parts
        .into_iter()
        .map(|part| With::of(turn_off_overshoot::NAME, turn_off_overshoot::SPIKE, part))
        .collect()
}

/// What stands across a barrier without any spike, and the positions whose spike makes the peak that it carries; with a spike that
/// is a minor failure no graver one is told.
fn leading(seen: &Seen<'_, '_>, lane: LaneId, peak: f64, or_minor: bool) -> Option<(f64, Vec<PartId>)> {
    let plan = &seen.solved.variant.plan;
    seen.barrier.carried_by().find_map(|end| {
        let domain = seen.isolation.domain(end);
        let share = if seen.barrier.is_within { 1.0 } else { domain.stress.share };
        let still = share * seen.solved.figure(domain.voltage, lane)?;
        let leads = domain.stress.turn_offs.iter().filter_map(|&one| {
            let one = &plan.turn_offs[one];
            let own = &plan.stages[one.stage].withstands[one.withstand];
            let bus = seen.solved.figure(plan.buses[own.bus?].highest_voltage, lane)?;
            let spike = seen.solved.figure(one.highest(), lane)? - bus;
            let is_as_grave = or_minor || turn_off_overshoot::is_major(one, seen.solved, lane);
            (is_as_grave && is_equal(still + spike, peak)).then_some(own.part)
        });
        let parts: Vec<PartId> = leads.collect();
        (!domain.stress.is_still && !parts.is_empty()).then_some((still, parts))
    })
}

/// Whether a barrier would stand another impulse.
fn stands(defect: &str, seen: &Seen<'_, '_>, lane: LaneId, impulse: f64) -> Option<bool> {
    if defect == CLEARANCE {
        let height = seen.solved.input(seen.barrier.altitude, lane)?;
        return Some(
            through(seen, lane, impulse, height)? <= seen.solved.input(seen.barrier.clearance, lane)?,
        );
    }
    let rated = seen.solved.input(seen.barrier.rated_impulse?, lane)?;
    let is_double = seen.barrier.kind?.is_double();
    let needed = if is_double { reinforced_impulse(Voltage::new(impulse)).0.si() } else { impulse };
    Some(needed <= rated)
}

fn is_equal(one: f64, other: f64) -> bool {
    (one - other).abs() <= EQUAL_WITHIN * other.abs()
}
