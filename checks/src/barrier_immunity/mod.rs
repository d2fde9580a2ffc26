//! Does everything across a barrier stand the edges of the potential that it hangs on?
//!
//! A driver, its supply and a transducer of a phase ride on a potential that jumps with each edge. The edge must not flip
//! what they transmit, and what it drives through their capacitances should stay small.

mod tell;

use loadworthy_unit::plan::{Crossing, Isolation, Joins, Through};
use loadworthy_unit::{Dimension, FigureId, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::verdict::{Comparison, Grade, Outcome, Verdict};

/// Share of the transient immunity that an edge may use.
pub(crate) static TRANSIENT_IMMUNITY: PolicyItem = PolicyItem {
    name: "transient_immunity",
    help: "Share of the transient immunity of what spans a barrier that an edge may use; a rule of thumb asks for 1.5 to 2 times the edge",
    form: PolicyForm::UseAtMost { default: 0.67, usual: (0.5, 0.67) },
    since: 2026,
};

const EDGE: &str = "edge";
const DRIVEN: &str = "driven-current";
const COUPLING: &str = "coupling";

/// Capacitance from one jumping potential to another domain that is aimed at, in F: a rule of thumb.
const AIM: f64 = 10e-12;
/// So many times that upsets whatever is read there: a nanofarad carries several amperes as an edge passes.
const FAR_MORE: f64 = 100.0;

static ABOUT: About = About {
    name: "barrier-immunity",
    former_names: &[],
    question: "Does everything across a barrier stand the edges of the potential that it hangs on?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (EDGE, "an edge is steeper than the policy leaves of what a driver or a sensor stands"),
        (
            DRIVEN,
            "an edge drives more current through a driver, a sensor or a signal than the policy leaves of what it stands",
        ),
        (COUPLING, "more capacitance leads from a jumping potential across barriers than is aimed at"),
    ],
    policy: &[&TRANSIENT_IMMUNITY],
    since: 2026,
};

/// The check.
pub(crate) struct BarrierImmunity;

impl Check for BarrierImmunity {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        if defect == COUPLING {
            &["buses", "controllers", "drivers", "sensors", "signals", "gate_supplies"]
        } else {
            &[]
        }
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn is_of_the_unit(&self, _defect: &str) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(isolation) = &solved.variant.plan.isolation else { return };
        // Edges and capacitances are the same in every duty point.
        for lane in solved.lanes_of_the_unit() {
            judge_in(lane, isolation, solved, out);
        }
    }

    fn told_with(&self, failing: &Verdict, _solved: &Solved<'_>) -> Vec<With> {
        (failing.defect == DRIVEN).then(|| With::of(ABOUT.name, EDGE, failing.part)).into_iter().collect()
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::propose(failure.worst, solved)
    }
}

fn judge_in(lane: LaneId, isolation: &Isolation, solved: &Solved<'_>, out: &mut Verdicts) {
    for crossing in &isolation.crossings {
        let Some(edge) = crossing.edge else { continue };
        // Where nothing rides on a potential no edge of it is reckoned, and what lies beside it is not asked.
        if crossing.jumping.iter().all(|&one| isolation.jumping[one].couplings.is_empty()) {
            continue;
        }
        sees(crossing.part, edge, (crossing.immunity, crossing.through), solved, lane, out);
    }
    for rider in &isolation.riders {
        sees(rider.part, rider.edge, (rider.immunity, rider.through), solved, lane, out);
    }
    // What supplies alone hang on is not asked for: who reads or commands there is not described.
    let reads = |place: usize| {
        isolation.crossings.iter().any(|one| one.kind != Joins::Supply && one.jumping.contains(&place))
    };
    for (place, jumping) in isolation.jumping.iter().enumerate() {
        if !reads(place) || jumping.couplings.is_empty() {
            continue;
        }
        let farads = (jumping.coupling, Dimension::Capacitance);
        let compared = compare(solved, lane, farads, Limit::Law(AIM), None);
        // What a barrier would say of its coupling lacks with the barrier, which is found.
        let passes_none = |one: &Crossing| {
            one.listed_by.is_empty() && one.names_barrier.is_none() && one.jumping.contains(&place)
        };
        if compared.is_err() && isolation.crossings.iter().any(passes_none) {
            continue;
        }
        let is_far_more = |one: &Comparison| FAR_MORE * AIM <= one.carried_value;
        let grade = if compared.as_ref().is_ok_and(is_far_more) { Grade::Minor } else { Grade::Note };
        put(jumping.part, COUPLING, outcome(compared, grade), solved, lane, out);
    }
}

/// Holds an edge, and what it drives, against what sees it stands.
fn sees(
    part: PartId,
    edge: FigureId,
    (immunity, through): (Option<InputId>, Option<Through>),
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let slope = immunity.map(|limit| (EDGE, (edge, Dimension::SlewRate), limit));
    let current = through.map(|one| (DRIVEN, (one.current, Dimension::Current), one.limit));
    for (defect, carried, limit) in [slope, current].into_iter().flatten() {
        let compared = compare(solved, lane, carried, Limit::Input(limit), Some(&TRANSIENT_IMMUNITY));
        put(part, defect, outcome(compared, Grade::Major), solved, lane, out);
    }
}

fn put(
    part: PartId,
    defect: &'static str,
    outcome: Outcome,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    out.put(solved, Subject { part, defect, lane: Some(lane), kin: None }, outcome, Vec::new());
}
