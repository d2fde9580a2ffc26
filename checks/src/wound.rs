//! Chokes and transformers as the checks on them look at them.

use loadworthy_unit::plan::{Magnetic, Plan, Stage};
use loadworthy_unit::{InputId, LaneId, PartId, Solved};

use crate::review::Place;
use crate::tell::place;

/// Every component with its stage.
pub(crate) fn all(plan: &Plan) -> impl Iterator<Item = (&Stage, &Magnetic)> {
    plan.stages.iter().flat_map(move |stage| {
        stage.magnetics.iter().filter_map(move |&own| Some((stage, plan.magnetics.get(own)?)))
    })
}

/// A component by its part or by that of one of its windings.
pub(crate) fn of(plan: &Plan, part: PartId) -> Option<(&Stage, &Magnetic)> {
    all(plan).find(|(_, magnetic)| {
        magnetic.part == part || magnetic.windings.iter().any(|winding| winding.part == part)
    })
}

/// All inputs that stand at the same place as one: those of other stages that name the same component.
pub(crate) fn everywhere(solved: &Solved<'_>, input: InputId) -> Vec<InputId> {
    let tables = &solved.variant.tables;
    let path = &tables.input_of(input).path;
    let same = tables.inputs().iter().enumerate().filter(|(_, other)| other.path == *path);
    same.map(|(place, _)| InputId::new(place)).collect()
}

/// Where an input stands, labelled with its value.
pub(crate) fn stands(
    solved: &Solved<'_>,
    input: InputId,
    lane: LaneId,
    label: impl FnOnce(f64) -> String,
) -> Option<Place> {
    place(solved, input, lane, label(solved.input(input, lane)?))
}
