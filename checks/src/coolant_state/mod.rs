//! Does the coolant neither freeze nor boil at the wall, and does it flow when cold?
//!
//! Freezing is judged once; walls and the cold start in every duty point.

mod starved;
mod tell;

use loadworthy_unit::plan::{CoolantPath, CoolantRow, Place, RowFigures};
use loadworthy_unit::{Cause, Dimension, FigureId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held, outcome};
use crate::remarks::{Remark, of_heat};
use crate::verdict::{Fault, Grade, Missing, Outcome};
use starved::starved;

const FREEZES: &str = "freezes";
const BOILS: &str = "boils";
const COLD_START: &str = "cold-start";

static FREEZING: PolicyItem = PolicyItem {
    name: "coolant_freezing",
    help: "How far the coldest surroundings stay above the freezing point of the coolant.",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 5.0, usual: (3.0, 10.0) },
    since: 2026,
};

static BOILING: PolicyItem = PolicyItem {
    name: "coolant_boiling",
    help: "How far the wetted wall stays below the boiling point of the coolant.",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 10.0, usual: (5.0, 15.0) },
    since: 2026,
};

static ABOUT: About = About {
    name: "coolant-state",
    former_names: &[],
    question: "Does the coolant neither freeze nor boil at the wall, and does it flow when cold?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (FREEZES, "the coldest surroundings come too near the freezing point of the coolant"),
        (BOILS, "a wetted wall comes too near the boiling point of the coolant"),
        (COLD_START, "cold coolant leaves a branch hotter than warm coolant does"),
    ],
    policy: &[&FREEZING, &BOILING],
    since: 2026,
};

/// The check.
pub(crate) struct CoolantState;

impl Check for CoolantState {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn is_of_the_unit(&self, defect: &str) -> bool {
        defect == FREEZES
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(path) = &solved.variant.plan.coolant else { return };
        // The same in every duty point.
        let frozen: Vec<LaneId> =
            solved.lanes_of_the_unit().filter(|&lane| freezing(solved, path, lane, out)).collect();
        let duty = |lane| solved.variant.lane(lane).duty;
        let is_frozen = |lane| frozen.iter().any(|&of| !solved.variant.is_apart || duty(of) == duty(lane));
        for lane in solved.variant.lane_ids() {
            for place in &path.places {
                boiling(solved, path, place, lane, out);
            }
            // What is frozen does not start, and that is said already; so is coolant that arrives colder than it is ever met.
            if !is_frozen(lane) && !arrives_colder(solved, path, lane) {
                for row in path.rows() {
                    cold_start(solved, path, row, lane, out);
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::families(failure, solved)
    }
}

/// Whether a duty point states coolant below the coldest surroundings, which is a problem of the description.
fn arrives_colder(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> bool {
    let [inlet, coldest] = [path.inlet, path.coldest].map(|input| solved.input(input, lane));
    inlet.zip(coldest).is_some_and(|(inlet, coldest)| inlet < coldest)
}

/// Judges freezing; says whether the coolant is solid in the coldest surroundings.
fn freezing(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId, out: &mut Verdicts) -> bool {
    let carried = (path.freezing_point, Dimension::Temperature);
    let compared = compare(solved, lane, carried, Limit::Input(path.coldest), Some(&FREEZING));
    let is_frozen = compared.as_ref().is_ok_and(|one| one.limit < one.carried_value);
    let subject = Subject { part: path.part, defect: FREEZES, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    is_frozen
}

fn boiling(solved: &Solved<'_>, path: &CoolantPath, place: &Place, lane: LaneId, out: &mut Verdicts) {
    let Some(wall) = &place.wall else { return };
    // What stands here and could not be read is told, and nothing else is known to heat this wall.
    let is_bare = place.faces.is_empty()
        && place.magnetics.is_empty()
        && place.pads.is_empty()
        && place.plate.is_none();
    if is_bare && !place.passage.has_film {
        return;
    }
    let carried = (wall.temperature, Dimension::Temperature);
    let compared = compare(solved, lane, carried, Limit::Figure(wall.boiling_point), Some(&BOILING));
    let passage = &place.passage;
    let result = match compared {
        // A case hotter than boiling says nothing of a wall behind an interface: the heat transfer must be known.
        Ok(one) if !one.holds() && !passage.has_film => {
            let lacks = |input| solved.input(input, lane).is_none();
            let missing = if lacks(passage.bore) { passage.bore } else { passage.length };
            Outcome::NotJudged(vec![Missing::Cause(Cause::Input(missing))])
        }
        compared => outcome(compared, grade_if_held(solved, lane)),
    };
    // No wall is colder than the coolant that has passed it.
    let leaving = (place.coolant_out, Dimension::Temperature);
    let least = || compare(solved, lane, leaving, Limit::Figure(wall.boiling_point), Some(&BOILING));
    let result = match result {
        Outcome::NotJudged(missing) => match least() {
            Ok(least) if !least.holds() => outcome(Ok(least), grade_if_held(solved, lane)),
            // Of a duty point without a solution the least is known as well.
            _ => match starved(path, place, solved, lane) {
                Some((_, largest_share)) => Outcome::Fails {
                    fault: Fault::Unsolved { largest_share },
                    grade: grade_if_held(solved, lane),
                },
                None => Outcome::NotJudged(missing),
            },
        },
        judged => judged,
    };
    let subject = Subject { part: place.part, defect: BOILS, lane: Some(lane), kin: None };
    out.put(solved, subject, result, of_heat(solved, lane));
}

fn cold_start(solved: &Solved<'_>, path: &CoolantPath, row: CoolantRow, lane: LaneId, out: &mut Verdicts) {
    let (part, Some((figures, outlet))) = (path.row_part(row), figures_of(path, row)) else { return };
    let carried = (figures.cold_outlet, Dimension::Temperature);
    let compared = compare(solved, lane, carried, Limit::Figure(outlet), None);
    let remarks = solved.variant.duty_of(lane).lasts.map(|lasts| Remark::HeldContinuously { lasts });
    let subject = Subject { part, defect: COLD_START, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome(compared, Grade::Minor), remarks.into_iter().collect());
}

/// What is known of a row as a whole, and with what temperature its coolant leaves; none for a branch without a place.
fn figures_of(path: &CoolantPath, row: CoolantRow) -> Option<(&RowFigures, FigureId)> {
    use loadworthy_unit::plan::CoolantLeg;
    match row {
        CoolantRow::Path => Some((&path.whole, path.outlet)),
        CoolantRow::Branch(split, branch) => {
            let branch = path.splits.get(split)?.branches.get(branch)?;
            let outlet = match *branch.legs.last()? {
                CoolantLeg::Place(place) => path.places.get(place)?.coolant_out,
                CoolantLeg::Split(split) => path.splits.get(split)?.outlet,
            };
            Some((&branch.row, outlet))
        }
    }
}

/// The row that a part is.
fn row_of(path: &CoolantPath, part: PartId) -> Option<CoolantRow> {
    path.rows().find(|&row| path.row_part(row) == part)
}
