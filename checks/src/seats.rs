//! Chips with the position, stage and package that they belong to.

use loadworthy_unit::plan::{Bank, Chip, Package, Plan, Position, Role, Stage, Withstand};
use loadworthy_unit::{InputId, LaneId, PartId, Solved, Variant};

use crate::check::Failure;

/// A chip where it sits.
#[derive(Clone, Copy)]
pub(crate) struct Seat<'v> {
    pub(crate) stage: &'v Stage,
    pub(crate) position: &'v Position,
    pub(crate) chip: &'v Chip,
}

/// Every chip of every stage.
pub(crate) fn seats(plan: &Plan) -> impl Iterator<Item = Seat<'_>> {
    plan.stages.iter().flat_map(move |stage| seats_of(plan, stage))
}

fn seats_of<'p>(plan: &'p Plan, stage: &'p Stage) -> impl Iterator<Item = Seat<'p>> {
    stage.positions.iter().flat_map(move |position| {
        position.chips.clone().map(move |place| Seat { stage, position, chip: &plan.chips[place] })
    })
}

/// The seat of a chip.
pub(crate) fn seat_of(plan: &Plan, part: PartId) -> Option<Seat<'_>> {
    // The parts of a stage follow it, before those of the next one.
    let own = plan.stages.partition_point(|stage| stage.part <= part).checked_sub(1);
    let own = own.and_then(|own| plan.stages.get(own)).into_iter().flat_map(|stage| seats_of(plan, stage));
    own.chain(seats(plan)).find(|seat| seat.chip.part == part)
}

/// The kinds of position that block the whole voltage of a bus.
pub(crate) fn across(stages: &[Stage], bus: usize) -> impl Iterator<Item = &Withstand> {
    stages.iter().flat_map(|stage| &stage.withstands).filter(move |withstand| {
        let is_across =
            withstand.role.is_of_leg() || matches!(withstand.role, Role::BridgeHigh | Role::BridgeLow);
        withstand.bus == Some(bus) && is_across
    })
}

/// Those that block the highest voltage of the bus. One that does not is told by that, and not again by whatever else the
/// bus comes to.
pub(crate) fn standing_across<'p>(
    bus: usize,
    solved: &'p Solved<'_>,
    lane: LaneId,
) -> impl Iterator<Item = &'p Withstand> {
    across(&solved.variant.plan.stages, bus).filter(move |withstand| blocks_highest(withstand, solved, lane))
}

/// Whether a position blocks the highest voltage of its bus, as far as is known.
pub(crate) fn blocks_highest(withstand: &Withstand, solved: &Solved<'_>, lane: LaneId) -> bool {
    let volts = solved.figure(withstand.blocked, lane).zip(solved.input(withstand.blocking, lane));
    volts.is_none_or(|(highest, blocks)| highest <= blocks)
}

/// Banks on a bus that are rated for its highest voltage, as far as is known, with half the ripple where that is known. One that
/// is not is told by that as well.
pub(crate) fn standing_banks<'p>(
    bus: usize,
    solved: &'p Solved<'_>,
    lane: LaneId,
) -> impl Iterator<Item = &'p Bank> {
    let plan = &solved.variant.plan;
    let all = plan.buses[bus].ripple.banks.iter().map(|&bank| &plan.banks[bank]);
    all.filter(move |bank| {
        let highest = solved.figure(bank.figures.peak_voltage, lane);
        let highest = highest.or_else(|| solved.figure(plan.buses[bus].highest_voltage, lane));
        highest.zip(solved.input(bank.each.voltage, lane)).is_none_or(|(highest, rated)| highest <= rated)
    })
}

/// The kinds of position of a stage, as places in its `seats`, at which chips fail.
pub(crate) fn failing_kinds(plan: &Plan, stage: &Stage, failure: &Failure<'_>) -> Vec<usize> {
    let failing = failure.all.iter().filter_map(|verdict| seat_of(plan, verdict.part));
    let mut kinds: Vec<usize> =
        failing.filter(|seat| seat.stage.part == stage.part).map(|seat| seat.position.seat).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

/// Whether a duty point asks nothing of a stage. What a converter passes on, and whether that is nothing, is solved.
pub(crate) fn rests(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> bool {
    stage
        .bridge()
        .is_some_and(|bridge| solved.input(bridge.inputs.active, lane).is_some_and(|active| active < 0.5))
}

/// The part that belongs to no other: a stage, a source, the loop.
pub(crate) fn stage_of(variant: &Variant, part: PartId) -> PartId {
    let mut part = part;
    while let Some(of) = variant.tables.part_of(part).of {
        part = of;
    }
    part
}

/// The part whose failures are one cause: the stage that a part belongs to. Of the coolant a branch is laid for itself, and
/// what is wrong in one is not mended in another.
pub(crate) fn cause_at(variant: &Variant, part: PartId) -> PartId {
    let splits = variant.plan.coolant.iter().flat_map(|path| &path.splits);
    let is_branch = splits.flat_map(|split| &split.branches).any(|branch| branch.part == part);
    if is_branch { part } else { stage_of(variant, part) }
}

/// The stages that a part belongs to or that stand on it: its own, or for a place of the loop all cooled there, or all.
pub(crate) fn stages_at<'v>(plan: &'v Plan, variant: &Variant, part: PartId) -> Vec<&'v Stage> {
    let top = stage_of(variant, part);
    if let Some(own) = plan.stages.iter().find(|stage| stage.part == top) {
        return vec![own];
    }
    let place = plan.coolant.iter().flat_map(|path| &path.places).find(|place| place.part == part);
    let stands_there = |stage: &&Stage| {
        place.is_none_or(|place| {
            place.faces.iter().any(|(package, _)| stage.packages.contains(package))
                || place.magnetics.iter().any(|magnetic| stage.magnetics.contains(magnetic))
        })
    };
    plan.stages.iter().filter(stands_there).collect()
}

/// The count inputs that more devices in parallel must raise together, with the names of their kinds of position: all that
/// a package serves where it serves several.
pub(crate) fn counts(plan: &Plan, stage: &Stage, kinds: &[usize]) -> Vec<(InputId, &'static str)> {
    let mut raised = vec![false; stage.seats.len()];
    for &kind in kinds {
        raised[kind] = true;
    }
    for package in plan.packages.get(stage.packages.clone()).unwrap_or_default() {
        let served: Vec<usize> =
            (0..stage.seats.len()).filter(|&kind| serves(package, stage, kind)).collect();
        if served.iter().any(|&kind| raised[kind]) {
            for kind in served {
                raised[kind] = true;
            }
        }
    }
    let all = stage.seats.iter().zip(raised).filter(|(_, raised)| *raised);
    all.map(|(seat, _)| (seat.parallel, seat.key)).collect()
}

/// Whether a package holds chips of a kind of position.
pub(crate) fn serves(package: &Package, stage: &Stage, kind: usize) -> bool {
    let mut of_kind = stage.positions.iter().filter(|position| position.seat == kind);
    of_kind.any(|position| position.chips.clone().any(|chip| package.chips.contains(&chip)))
}

/// Whether elements of the coolant loop state how many devices of a kind of position they take.
pub(crate) fn is_divided(plan: &Plan, stage: &Stage, kind: usize) -> bool {
    let packages = plan.packages.get(stage.packages.clone()).unwrap_or_default();
    let mut own = packages.iter().filter(|package| serves(package, stage, kind));
    own.any(|package| stage.seats.iter().all(|seat| seat.parallel != package.count))
}
