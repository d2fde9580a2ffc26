//! What stands in series along the coolant, and which of it may be put elsewhere.

use loadworthy_unit::plan::{Chip, CoolantLeg, CoolantPath, CoolantRow, Place, Plan};
use loadworthy_unit::{Cause, Diagnosis, FigureId, LaneId, LaneState, PartId, Solved};

use crate::collect::allowed;
use crate::junction_temperature::JUNCTION;
use crate::seats::rests;
use crate::verdict::Missing;

/// A row with two or more places that may be exchanged, in every variant that has it.
#[derive(Clone)]
pub(super) struct Row<'s, 'u> {
    /// The variants: their place in the unit, how they are solved, and which row of their path it is.
    pub(super) members: Vec<(usize, &'s Solved<'u>, CoolantRow)>,
    /// Places of the legs that may be exchanged, in the row.
    pub(super) movable: Vec<usize>,
    /// How many legs the row has.
    pub(super) legs: usize,
}

/// All rows of a unit with places to exchange, each once for all variants that have the same.
pub(super) fn rows<'s, 'u>(unit: &[&'s Solved<'u>]) -> Vec<Row<'s, 'u>> {
    let mut found: Vec<(Vec<String>, Row<'s, 'u>)> = Vec::new();
    for (v, &solved) in unit.iter().enumerate() {
        let Some(path) = &solved.variant.plan.coolant else { continue };
        for row in path.rows() {
            let legs = path.row(row);
            let movable: Vec<usize> = (0..legs.len()).filter(|&leg| is_movable(path, legs[leg])).collect();
            if movable.len() < 2 {
                continue;
            }
            let name = |leg: &CoolantLeg| solved.variant.path(part_of(path, *leg)).to_owned();
            let mut identity = vec![solved.variant.path(path.row_part(row)).to_owned()];
            identity.extend(legs.iter().map(name));
            identity.extend(movable.iter().map(ToString::to_string));
            match found.iter_mut().find(|(known, _)| *known == identity) {
                Some((_, known)) => known.members.push((v, solved, row)),
                None => {
                    let row = Row { members: vec![(v, solved, row)], movable, legs: legs.len() };
                    found.push((identity, row));
                }
            }
        }
    }
    found.into_iter().map(|(_, row)| row).collect()
}

/// The part that a leg is.
pub(super) fn part_of(path: &CoolantPath, leg: CoolantLeg) -> PartId {
    match leg {
        CoolantLeg::Place(place) => path.places[place].part,
        CoolantLeg::Split(split) => path.splits[split].part,
    }
}

/// The place that a leg is, where it is one.
pub(super) fn place_of(path: &CoolantPath, leg: CoolantLeg) -> Option<&Place> {
    match leg {
        CoolantLeg::Place(place) => path.places.get(place),
        CoolantLeg::Split(_) => None,
    }
}

/// Whether a leg may be put elsewhere: it is not tied to its place, and it cools chips, so that its headroom is known. A
/// pipe, a split, and what cools a magnetic component alone stay where they are.
fn is_movable(path: &CoolantPath, leg: CoolantLeg) -> bool {
    place_of(path, leg).is_some_and(|place| !place.is_fixed && !place.faces.is_empty())
}

/// The places of a row, those behind a split of it included, under the leg that they belong to.
fn places_in<'p>(path: &'p CoolantPath, leg: CoolantLeg, out: &mut Vec<&'p Place>) {
    match leg {
        CoolantLeg::Place(place) => out.extend(path.places.get(place)),
        CoolantLeg::Split(split) => {
            for branch in &path.splits[split].branches {
                branch.legs.iter().for_each(|&leg| places_in(path, leg, out));
            }
        }
    }
}

/// A chip that a leg cools, in a lane that is judged.
#[derive(Clone, Copy)]
pub(super) struct Junction {
    pub(super) leg: usize,
    pub(super) part: PartId,
    pub(super) lane: LaneId,
    pub(super) temperature: FigureId,
    /// What the policy leaves of its limit, in °C.
    pub(super) allowed: f64,
}

/// Every junction of a row in every lane of a variant that has a solution; an error names what is missing.
pub(super) fn junctions(solved: &Solved<'_>, row: CoolantRow) -> Result<Vec<Junction>, Vec<Missing>> {
    let plan = &solved.variant.plan;
    let Some(path) = &plan.coolant else { return Ok(Vec::new()) };
    let keeps =
        solved.variant.policy(&JUNCTION).map(|value| value.stated.value).filter(|keeps| keeps.is_finite());
    let Some(keeps) = keeps else { return Err(vec![Missing::Policy(&JUNCTION)]) };
    let mut found = Vec::new();
    let mut unsolved = None;
    for lane in solved.variant.lane_ids() {
        match solved.state(lane) {
            LaneState::Solved { .. } => {}
            LaneState::NoSolution { at, largest } => {
                unsolved = unsolved.or(Some(Cause::NoSolution { at, largest }));
                continue;
            }
            LaneState::Undecided { at } => {
                unsolved = unsolved.or(Some(Cause::Undecided { at }));
                continue;
            }
        }
        let mut missing = Vec::new();
        let mut replay = None;
        for (leg, &of) in path.row(row).iter().enumerate() {
            let mut places = Vec::new();
            places_in(path, of, &mut places);
            let cooled = places.iter().flat_map(|place| chips(plan, place));
            for chip in cooled.filter(|chip| !is_resting(plan, chip, solved, lane)) {
                let temperature = chip.figures.junction_temperature;
                let limit = solved.input(chip.inputs.junction_limit, lane);
                match (limit, solved.figure(temperature, lane)) {
                    (Some(limit), Some(_)) => {
                        let allowed = allowed(&JUNCTION, limit, keeps);
                        found.push(Junction { leg, part: chip.part, lane, temperature, allowed });
                    }
                    (None, _) => add(&mut missing, [Cause::Input(chip.inputs.junction_limit)]),
                    (_, None) => {
                        let replay = replay.get_or_insert_with(|| Diagnosis::of(solved, lane));
                        add(&mut missing, replay.causes(temperature));
                    }
                }
            }
        }
        // What is missing in one duty point says enough: the row is judged over all of them or not at all.
        if !missing.is_empty() {
            return Err(missing);
        }
    }
    match unsolved {
        Some(cause) if found.is_empty() => Err(vec![Missing::Cause(cause)]),
        _ => Ok(found),
    }
}

fn add(missing: &mut Vec<Missing>, causes: impl IntoIterator<Item = Cause>) {
    for cause in causes.into_iter().map(Missing::Cause) {
        if !missing.contains(&cause) {
            missing.push(cause);
        }
    }
}

/// The chips that stand at a place with either face.
fn chips<'p>(plan: &'p Plan, place: &'p Place) -> impl Iterator<Item = &'p Chip> {
    let packages = place.faces.iter().filter_map(|(package, _)| plan.packages.get(*package));
    packages.flat_map(|package| package.chips.iter().filter_map(|&chip| plan.chips.get(chip)))
}

fn is_resting(plan: &Plan, chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> bool {
    let own = |stage: &&loadworthy_unit::plan::Stage| {
        let mut chips = stage.positions.iter().flat_map(|position| position.chips.clone());
        chips.any(|one| plan.chips[one].part == chip.part)
    };
    plan.stages.iter().find(own).is_some_and(|stage| rests(stage, solved, lane))
}
