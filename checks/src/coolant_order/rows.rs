//! What stands in series along the coolant, and which of it may be put elsewhere.

use loadworthy_unit::plan::{CoolantLeg, CoolantPath, CoolantRow, Package, Place, Plan};
use loadworthy_unit::{Cause, Diagnosis, FigureId, LaneId, LaneState, PartId, Solved};

use crate::collect::allowed;
use crate::deratings::JUNCTION;
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

impl Row<'_, '_> {
    /// Whether it stands beside the other rows of its kind, so that no order of one is felt by another but for what a loss
    /// does to a voltage: it is a branch of the path itself, and no package has a face in it and another elsewhere.
    pub(super) fn is_beside(&self) -> bool {
        self.members.iter().all(|&(_, solved, row)| {
            let plan = &solved.variant.plan;
            let Some(path) = &plan.coolant else { return false };
            let is_branch = match row {
                CoolantRow::Path => false,
                CoolantRow::Branch(split, _) => path.legs.contains(&CoolantLeg::Split(split)),
            };
            let mut places = Vec::new();
            path.row(row).iter().for_each(|&leg| places_in(path, leg, &mut places));
            let is_here = |place: Option<usize>| {
                let part = place.and_then(|place| path.places.get(place)).map(|place| place.part);
                places.iter().any(|place| Some(place.part) == part)
            };
            let mut own = places.iter().flat_map(|place| packages(plan, place));
            is_branch && own.all(|package| package.faces.iter().all(|face| is_here(face.place)))
        })
    }
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

/// The lane that was last replayed to find out what is missing: rows of a unit mostly wait for something in the same one.
#[derive(Default)]
pub(super) struct Replay<'s, 'u>(Option<(&'s Solved<'u>, LaneId, Diagnosis<'s, 'u>)>);

impl<'s, 'u> Replay<'s, 'u> {
    fn causes(&mut self, solved: &'s Solved<'u>, lane: LaneId, figure: FigureId) -> Vec<Cause> {
        let is_it =
            |of: &(&Solved<'_>, LaneId, _)| core::ptr::eq(of.0.variant, solved.variant) && of.1 == lane;
        if !self.0.as_ref().is_some_and(is_it) {
            self.0 = None;
        }
        let (_, _, replay) = self.0.get_or_insert_with(|| (solved, lane, Diagnosis::of(solved, lane)));
        replay.causes(figure)
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
pub(super) fn junctions<'s, 'u>(
    solved: &'s Solved<'u>,
    row: CoolantRow,
    replay: &mut Replay<'s, 'u>,
) -> Result<Vec<Junction>, Vec<Missing>> {
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
        for (leg, &of) in path.row(row).iter().enumerate() {
            let mut places = Vec::new();
            places_in(path, of, &mut places);
            let cooled = places.iter().flat_map(|place| packages(plan, place));
            let asked = cooled.filter(|package| !is_resting(plan, package, solved, lane));
            for chip in
                asked.flat_map(|package| package.chips.iter().filter_map(|&chip| plan.chips.get(chip)))
            {
                let temperature = chip.figures.hottest();
                let limit = solved.input(chip.inputs.junction_limit, lane);
                match (limit, solved.figure(temperature, lane)) {
                    (Some(limit), Some(_)) => {
                        let allowed = allowed(&JUNCTION, limit, keeps);
                        found.push(Junction { leg, part: chip.part, lane, temperature, allowed });
                    }
                    (None, _) => add(&mut missing, [Cause::Input(chip.inputs.junction_limit)]),
                    (_, None) => add(&mut missing, replay.causes(solved, lane, temperature)),
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

/// The packages that stand at a place with either face.
fn packages<'p>(plan: &'p Plan, place: &'p Place) -> impl Iterator<Item = &'p Package> {
    place.faces.iter().filter_map(|(package, _)| plan.packages.get(*package))
}

fn is_resting(plan: &Plan, package: &Package, solved: &Solved<'_>, lane: LaneId) -> bool {
    plan.stages.get(package.stage).is_some_and(|stage| rests(stage, solved, lane))
}
