//! Chips with the position, bridge and package that they belong to.

use loadworthy_unit::plan::{Bridge, Chip, Plan, Position, Side};
use loadworthy_unit::{InputId, LaneId, PartId, Solved, Variant};

use crate::check::Failure;

/// A chip where it sits.
#[derive(Clone, Copy)]
pub(crate) struct Seat<'v> {
    pub(crate) bridge: &'v Bridge,
    pub(crate) position: &'v Position,
    pub(crate) chip: &'v Chip,
}

/// Every chip of every bridge.
pub(crate) fn seats(plan: &Plan) -> impl Iterator<Item = Seat<'_>> {
    plan.bridges.iter().flat_map(move |bridge| {
        bridge.positions.iter().flat_map(move |position| {
            position.chips.clone().map(move |place| Seat { bridge, position, chip: &plan.chips[place] })
        })
    })
}

/// The seat of a chip.
pub(crate) fn seat_of(plan: &Plan, part: PartId) -> Option<Seat<'_>> {
    seats(plan).find(|seat| seat.chip.part == part)
}

/// The sides of the bridge on which chips fail.
pub(crate) fn failing_sides(plan: &Plan, failure: &Failure<'_>) -> Vec<Side> {
    let seats: Vec<_> = failure.all.iter().filter_map(|verdict| seat_of(plan, verdict.part)).collect();
    let fails = |side: &Side| seats.iter().any(|seat| seat.position.side == *side);
    [Side::High, Side::Low].into_iter().filter(fails).collect()
}

/// Whether nothing is asked of a bridge.
pub(crate) fn rests(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> bool {
    solved.input(bridge.inputs.active, lane).is_some_and(|active| active < 0.5)
}

/// The part that belongs to no other: a stage, a source, the loop.
pub(crate) fn stage_of(variant: &Variant, part: PartId) -> PartId {
    let mut part = part;
    while let Some(of) = variant.tables.part_of(part).of {
        part = of;
    }
    part
}

/// The bridges that a part belongs to or that stand on it: its own, or for a place of the loop all cooled there, or all.
pub(crate) fn bridges_at(plan: &Plan, variant: &Variant, part: PartId) -> Vec<usize> {
    let stage = stage_of(variant, part);
    if let Some(own) = plan.bridges.iter().position(|bridge| bridge.part == stage) {
        return vec![own];
    }
    let place = plan.coolant.iter().flat_map(|path| &path.places).find(|place| place.part == part);
    let stands_there = |bridge: &Bridge| {
        place.is_none_or(|place| place.faces.iter().any(|(package, _)| bridge.packages.contains(package)))
    };
    (0..plan.bridges.len()).filter(|&k| stands_there(&plan.bridges[k])).collect()
}

/// The count inputs that more devices in parallel must raise together, with the names of their sides: both sides
/// where a package serves both.
pub(crate) fn counts(plan: &Plan, bridge: &Bridge, sides: &[Side]) -> Vec<(InputId, &'static str)> {
    let mut sides = sides.to_vec();
    for package in plan.packages.get(bridge.packages.clone()).unwrap_or_default() {
        let here = |side: Side| {
            let of_side = bridge.positions.iter().filter(|position| position.side == side);
            of_side
                .into_iter()
                .any(|position| position.chips.clone().any(|chip| package.chips.contains(&chip)))
        };
        if here(Side::High) && here(Side::Low) {
            sides = vec![Side::High, Side::Low];
            break;
        }
    }
    let mut counts = Vec::new();
    for (side, name, input) in [
        (Side::High, "high_side", bridge.inputs.parallel[0]),
        (Side::Low, "low_side", bridge.inputs.parallel[1]),
    ] {
        if sides.contains(&side) {
            counts.push((input, name));
        }
    }
    counts
}
