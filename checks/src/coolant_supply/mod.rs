//! Does every part that loses heat get its coolant?
//!
//! How the flow divides follows from the pressure drops and the pump, in laminar and turbulent flow. What is asked of it
//! are the least flows that data sheets state, and that no coolant warms more than the unit permits.

mod tell;

use loadworthy_unit::plan::{CoolantPath, CoolantRow, RowFigures};
use loadworthy_unit::{Dimension, InputId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held, outcome, structural};
use crate::remarks::of_heat;
use crate::verdict::Grade;

const NO_COOLANT: &str = "no-coolant";
const STARVED: &str = "starved";
const TOO_WARM: &str = "warms-too-much";

static COOLANT_FLOW: PolicyItem = PolicyItem {
    name: "coolant_flow",
    help: "How much of the coolant flow through a place the least flow that it needs may be.",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

static ABOUT: About = About {
    name: "coolant-supply",
    former_names: &[],
    question: "Does every part that loses heat get its coolant?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (NO_COOLANT, "a part loses heat and stands nowhere on the coolant path"),
        (STARVED, "less coolant flows through a place than it needs"),
        (TOO_WARM, "the coolant warms more on its way than the unit permits"),
    ],
    policy: &[&COOLANT_FLOW],
    since: 2026,
};

/// The check.
pub(crate) struct CoolantSupply;

impl Check for CoolantSupply {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        defect == STARVED
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(path) = &solved.variant.plan.coolant else { return };
        sources(solved, out);
        // Where the description says more than the edition the limit is the unit's own.
        let stated = solved.variant.tables.input_of(path.most_warming).values.first();
        let is_own = stated.is_some_and(|stated| stated.origin.is_written());
        for lane in solved.variant.lane_ids() {
            for place in &path.places {
                let Some(least) = &place.least_flow else { continue };
                let carried = (least.needed, Dimension::VolumeFlow);
                let compared = compare(solved, lane, carried, Limit::Figure(place.flow), Some(&COOLANT_FLOW));
                let subject = Subject { part: place.part, defect: STARVED, lane: Some(lane), kin: None };
                out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
            }
            for row in path.rows() {
                let Some(figures) = figures_of(path, row) else { continue };
                let carried = (figures.warming, Dimension::TemperatureDifference);
                let compared = compare(solved, lane, carried, Limit::Input(path.most_warming), None);
                let grade = if is_own { grade_if_held(solved, lane) } else { Grade::Minor };
                let subject =
                    Subject { part: path.row_part(row), defect: TOO_WARM, lane: Some(lane), kin: None };
                out.put(solved, subject, outcome(compared, grade), of_heat(solved, lane));
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure, solved)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        if failure.worst.defect == NO_COOLANT { unplaced(failure.worst.part, solved) } else { Vec::new() }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::families(failure, solved)
    }
}

/// What would have to say where the heat of a part goes that no coolant passes.
fn unplaced(part: PartId, solved: &Solved<'_>) -> Vec<String> {
    let plan = &solved.variant.plan;
    let stages = plan.stages.iter().filter(|stage| stage.part == part);
    let packages = stages.filter_map(|stage| plan.packages.get(stage.packages.clone())).flatten();
    let faces = packages.flat_map(|package| &package.faces).filter(|face| face.place.is_none());
    let magnetics = plan.magnetics.iter().filter(|one| one.part == part && one.place.is_none());
    let inputs = faces.map(|face| face.resistance).chain(magnetics.map(|one| one.heat.case));
    let mut paths: Vec<String> =
        inputs.map(|input| solved.variant.tables.input_of(input).path.clone()).collect();
    paths.dedup();
    paths
}

/// What is known of a row as a whole; none for a branch that visits nothing.
fn figures_of(path: &CoolantPath, row: CoolantRow) -> Option<&RowFigures> {
    match row {
        CoolantRow::Path => Some(&path.whole),
        CoolantRow::Branch(split, branch) => {
            let branch = path.splits.get(split)?.branches.get(branch)?;
            (!branch.legs.is_empty()).then_some(&branch.row)
        }
    }
}

/// Parts that lose heat, and whether the coolant passes them.
fn sources(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let put = |part: PartId, is_cooled: bool, out: &mut Verdicts| {
        let subject = Subject { part, defect: NO_COOLANT, lane: None, kin: None };
        out.put(solved, subject, structural(Ok(is_cooled), Grade::Minor), Vec::new());
    };
    for stage in &plan.stages {
        let packages = plan.packages.get(stage.packages.clone()).unwrap_or_default();
        if packages.is_empty() {
            continue;
        }
        // What stands on an element that the path leaves out is a dead end, which unused-parts tells.
        let off_path =
            |input: InputId| solved.variant.tables.input_of(input).path.starts_with("cooling.path");
        let is_cooled = packages.iter().all(|package| {
            package.faces.iter().any(|face| face.place.is_some() || off_path(face.resistance))
        });
        put(stage.part, is_cooled, out);
    }
    for magnetic in &plan.magnetics {
        let loses = |lane| solved.figure(magnetic.loss, lane).is_some_and(|watts| watts > 0.0);
        if magnetic.place.is_some() || solved.variant.lane_ids().any(loses) {
            put(magnetic.part, magnetic.place.is_some(), out);
        }
    }
}
