//! What makes losses and temperatures an estimate: curves continued, energies held, duty points that end too soon.

use loadworthy_unit::device::VOLTAGE_REACH;
use loadworthy_unit::plan::{Chip, Package, Plan, Stage};
use loadworthy_unit::{LaneId, LaneState, Solved};

use super::Remark;
use crate::seats::Seat;

/// Loop gain above which a solution counts as fragile.
const FRAGILE: f64 = 0.5;

/// Kelvins beyond the hottest or coldest on-state curve from which the continued line counts as an estimate.
const CURVE_REACH: f64 = 25.0;

/// What makes the loss of a chip an estimate in a lane.
#[must_use]
pub fn of_chip(chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let (low, high) = chip.curve_span()?;
    let junction = solved.figure(chip.figures.mean_junction_temperature, lane)?;
    let nearest = junction.clamp(low, high);
    ((junction - nearest).abs() > CURVE_REACH).then_some(Remark::FarFromCurves { junction, nearest })
}

/// Whether energies of a chip are held at half the voltage that they are stated at.
pub(crate) fn of_energies(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let switched = solved.figure(seat.stage.switched(seat.position)?, lane)?;
    let mut held = seat.chip.edges_stated_at().filter(|&(loss, stated)| {
        switched < VOLTAGE_REACH.0 * stated && solved.figure(loss, lane).is_some_and(|loss| loss > 0.0)
    });
    held.next().map(|(_, stated)| Remark::EnergiesHeld { stated, switched })
}

/// What makes the highest junction temperature of a chip an estimate, where its duty point ends before everything has
/// settled.
#[must_use]
pub fn of_course(stage: &Stage, chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let lasts = solved.variant.duty_of(lane).lasts?;
    if !solved.is_followed(lane) {
        return Some(Remark::FromNothing { lasts });
    }
    (!holds_heat(stage, chip, &solved.variant.plan)).then_some(Remark::PlatesFollow)
}

/// Whether every plate that a chip of a stage stands on states its heat capacity.
fn holds_heat(stage: &Stage, chip: &Chip, plan: &Plan) -> bool {
    let Some(path) = &plan.coolant else { return true };
    let of_chip = |package: &&Package| package.chips.iter().any(|&k| plan.chips[k].part == chip.part);
    let packages = plan.packages[stage.packages.clone()].iter();
    let faces = packages.filter(of_chip).flat_map(|package| &package.faces);
    let mut plates = faces.filter_map(|face| path.places[face.place?].plate.as_ref());
    plates.all(|plate| plate.heat_capacity.is_some())
}

/// What makes the highest temperature of a conductor, a winding or a core read high in a lane that was followed: nothing
/// says how much heat it holds, or the plate that it stands on is taken to follow at once.
#[must_use]
pub fn of_body(holds_heat: bool, place: Option<usize>, lasts: f64, solved: &Solved<'_>) -> Option<Remark> {
    if !holds_heat {
        return Some(Remark::HoldsNoHeat { lasts });
    }
    let plate = solved.variant.plan.coolant.as_ref()?.places.get(place?)?.plate.as_ref()?;
    plate.heat_capacity.is_none().then_some(Remark::PlatesFollow)
}

/// What makes the settled temperatures of a lane an estimate.
#[must_use]
pub fn of_heat(solved: &Solved<'_>, lane: LaneId) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = of_feedback(solved, lane).into_iter().collect();
    if let Some(lasts) = solved.variant.duty_of(lane).lasts {
        remarks.push(Remark::HeldContinuously { lasts });
    }
    remarks
}

/// What makes temperatures that losses and heat feed an estimate.
#[must_use]
pub fn of_feedback(solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    match solved.state(lane) {
        LaneState::Solved { loop_gain } if loop_gain > FRAGILE => Some(Remark::Fragile { gain: loop_gain }),
        _ => None,
    }
}
