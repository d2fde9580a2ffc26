//! Coolant of which so little flows that a duty point has no solution: it leaves the range in which it is known. What its
//! parts lose while it is still cold may be enough to tell that it boils.

use loadworthy_unit::plan::{CoolantPath, Place};
use loadworthy_unit::solver::Scratch;
use loadworthy_unit::{Edit, LaneId, LaneState, Solved};

use super::BOILING;
use crate::collect::allowed;
use crate::junction_temperature::leaves_its_coolant;

/// How much more flows where coolant is taken to stay as cold as it arrives.
const PLENTY: f64 = 50.0;

/// The least that the coolant of a place warms to.
pub(super) struct Least {
    /// Heat with coolant as cold as it arrives, in W.
    pub(super) heat: f64,
    /// Heat-capacity rate of what flows, in W/K.
    pub(super) rate: f64,
    /// Temperature that it leaves with at least, in °C.
    pub(super) leaves: f64,
    /// Where it boils, in °C.
    pub(super) boils: f64,
}

/// The least of a place at which the duty point has no solution because the coolant gets hotter than it is known, where that is
/// more than the policy leaves of its boiling point; with the share of the demand that has a solution.
pub(super) fn starved(
    path: &CoolantPath,
    place: &Place,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<(Least, f64)> {
    let LaneState::NoSolution { at, largest } = solved.state(lane) else { return None };
    if at != place.part || !leaves_its_coolant(at, solved, lane) {
        return None;
    }
    let known = |value: f64| Some(value).filter(|value| value.is_finite());
    let raw = |figure| known(solved.raw(figure, lane));
    let boils = raw(place.wall.as_ref()?.boiling_point)?;
    let (inlet, rate) = (solved.input(path.inlet, lane)?, raw(place.capacity_rate)?);
    let plenty = Edit { input: path.flow, value: PLENTY * raw(path.total_flow)? };
    let cold = solved.glance(lane, &[plenty], &mut Scratch::new(&solved.variant.plan));
    // Of parts that lose less the hotter they are the loss at hand is the lesser one.
    let heat = cold.figure(place.heat)?.min(raw(place.heat)?);
    let left = known(solved.variant.policy(&BOILING)?.stated.value)?;
    let leaves = inlet + heat / rate;
    let least = Least { heat, rate, leaves, boils };
    (leaves > allowed(&BOILING, boils, left)).then_some((least, largest))
}
