//! Is the dead time longer than the slowest turn-off, and not wasteful?
//!
//! One switch of a leg must be off before the other turns on: its longest delay and the fall of its current, less the
//! shortest delay of the other, and what the drivers lie apart. What is added beyond that costs voltage in a leg that
//! switches hard; in one that turns on softly the current turns back meanwhile, and the edge is hard again.

mod telling;

use loadworthy_unit::plan::{DeadTime as Leg, Stage};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Origin, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, allowed, compare, outcome};
use crate::gated::{driven, lacks, shared_driver};
use crate::output_reach;
use crate::verdict::{EQUAL_WITHIN, Grade, Missing};

/// Share of the dead time that the slowest turn-off may take.
pub(crate) static DEAD_TIME: PolicyItem = PolicyItem {
    name: "dead_time",
    help: "Share of the dead time that the slowest turn-off may take, less the fastest turn-on; 1/1.2 by habit of the trade",
    form: PolicyForm::UseAtMost { default: 1.0 / 1.2, usual: (0.7, 0.9) },
    since: 2026,
};

/// Share of the carrier period that the dead time of a leg may take.
pub(crate) static DEAD_TIME_SHARE: PolicyItem = PolicyItem {
    name: "dead_time_share",
    help: "Share of the carrier period that the dead time of a leg may take; by rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.03, usual: (0.02, 0.05) },
    since: 2026,
};

pub(crate) const SHORT: &str = "too-short";
const WASTEFUL: &str = "wasteful";

/// What the check is called.
pub(crate) const NAME: &str = "dead-time";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Is the dead time longer than the slowest turn-off, and not wasteful?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (
            SHORT,
            "the slowest turn-off takes more than the policy leaves of the dead time, and both switches conduct",
        ),
        (
            WASTEFUL,
            "the dead time takes so much of the carrier period that voltage and its shape suffer, or a soft edge is lost",
        ),
    ],
    policy: &[&DEAD_TIME, &DEAD_TIME_SHARE],
    since: 2026,
};

/// The check.
pub(crate) struct DeadTime;

impl Check for DeadTime {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        defect == SHORT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        driven(solved, SHORT, out);
        for leg in &plan.dead_times {
            let mut drives = plan.gate_drives.iter().filter(|drive| drive.stage == leg.stage);
            // What has no driver is told for its stage.
            if drives.any(|drive| lacks(drive).is_some()) {
                continue;
            }
            for lane in solved.variant.lane_ids() {
                judge(leg, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(leg_of(failure, solved)?, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        leg_of(failure, solved).map_or_else(Vec::new, |leg| telling::propose(leg, failure, solved))
    }
}

fn judge(leg: &Leg, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let stage = &solved.variant.plan.stages[leg.stage];
    let mut put = |defect, compared, grade, kin| {
        let subject = Subject { part: stage.part, defect, lane: Some(lane), kin };
        out.put(solved, subject, outcome(compared, grade), Vec::new());
    };
    let dead_time = Limit::Input(stage.dead_time);
    let needed = (leg.needed, Dimension::Time);
    // What is usual may stand in for losses; that both switches are kept apart rests on what is set.
    let compared = if is_assumed(stage.dead_time, solved) {
        Err(vec![Missing::Cause(Cause::Input(stage.dead_time))])
    } else {
        compare(solved, lane, needed, dead_time, Some(&DEAD_TIME))
    };
    put(SHORT, compared, Grade::Major, shared(leg, solved));
    let share = (leg.share, Dimension::Ratio);
    let compared = compare(solved, lane, share, Limit::Law(1.0), Some(&DEAD_TIME_SHARE));
    // Where the bridge does not reach its output, that finding tells of the voltage that this takes.
    let fails = compared.as_ref().is_ok_and(|compared| !compared.holds());
    // Nor is a time that nobody has set wasted.
    let is_told = output_reach::falls_short(stage, solved) || is_assumed(stage.dead_time, solved);
    if !(fails && is_told) {
        put(WASTEFUL, compared, Grade::Note, None);
    }
}

fn is_assumed(input: InputId, solved: &Solved<'_>) -> bool {
    let stated = &solved.variant.tables.input_of(input).values;
    stated.iter().any(|stated| matches!(stated.origin, Origin::Assumed { .. }))
}

/// The share of the carrier period that the dead time of a stage takes, and what the policy leaves, where it is more than that.
/// Both are stated, so that it is known in a duty point without a solution as well.
pub(crate) fn excess(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<(f64, f64)> {
    let plan = &solved.variant.plan;
    let is_asked = plan.dead_times.iter().any(|leg| plan.stages[leg.stage].part == stage.part);
    let share = solved.input(stage.dead_time, lane)? * solved.input(stage.carrier, lane)?;
    let most = allowed(&DEAD_TIME_SHARE, 1.0, solved.variant.policy(&DEAD_TIME_SHARE)?.stated.value);
    (is_asked && most * (1.0 + EQUAL_WITHIN) < share).then_some((share, most))
}

/// An input of the driver that the gates of a stage have in common, where it drives those of another stage as well.
fn shared(leg: &Leg, solved: &Solved<'_>) -> Option<InputId> {
    let mut own = solved.variant.plan.gate_drives.iter().filter(|drive| drive.stage == leg.stage);
    let first = own.next()?;
    shared_driver(solved, first).filter(|_| own.all(|drive| drive.driver == first.driver))
}

fn leg_of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<&'v Leg> {
    let plan = &solved.variant.plan;
    plan.dead_times.iter().find(|leg| plan.stages[leg.stage].part == failure.worst.part)
}
