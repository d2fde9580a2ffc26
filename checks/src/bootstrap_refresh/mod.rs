//! Is a bootstrap recharged often enough, and does its diode block the bus?
//!
//! A high gate that lives on a capacitor is fed while the low side conducts. How long that is, how seldom, and what the
//! gate takes meanwhile follow from the duty that is solved; the voltage that is left must stay above the one at which the
//! driver blocks the gate.

mod telling;

use loadworthy_unit::plan::Bootstrap;
use loadworthy_unit::{Cause, Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::floating_supplies::is_charged;
use crate::gated::lacks;
use crate::seats::rests;
use crate::verdict::{Fault, Grade, Missing, Outcome};

/// Share of the way to the lock-out that a bootstrap may fall.
pub(crate) static BOOTSTRAP_FALL: PolicyItem = PolicyItem {
    name: "bootstrap_fall",
    help: "Share of the way from its charging voltage to the lock-out of its driver by which a bootstrap may fall; by rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 0.9) },
    since: 2026,
};

/// Share of what the diode of a bootstrap blocks that the bus may come to.
pub(crate) static BOOTSTRAP_DIODE: PolicyItem = PolicyItem {
    name: "bootstrap_diode",
    help: "Share of what the diode of a bootstrap blocks that the bus may come to; by rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 0.9) },
    since: 2026,
};

pub(crate) const DOWN: &str = "runs-down";
const NEVER: &str = "never-recharged";
const DIODE: &str = "diode";

/// What the check is called.
pub(crate) const NAME: &str = "bootstrap-refresh";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Is a bootstrap recharged often enough, and does its diode block the bus?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (
            DOWN,
            "a bootstrap falls further than the policy leaves of the way to where its driver blocks the gate",
        ),
        (NEVER, "the low side never conducts while the high side is to stay on for good"),
        (DIODE, "the bus comes higher than the policy leaves of what the diode blocks"),
    ],
    policy: &[&BOOTSTRAP_FALL, &BOOTSTRAP_DIODE],
    since: 2026,
};

/// The check.
pub(crate) struct BootstrapRefresh;

impl Check for BootstrapRefresh {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    /// A row of a mission would cut a hold into pieces.
    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        // One that lives on the wrong output is told as that.
        for bootstrap in plan.bootstraps.iter().filter(|one| is_charged(plan, one.supply)) {
            let drive = &plan.gate_drives[bootstrap.drive];
            let stage = &plan.stages[drive.stage];
            if let Some(missing) = lacks(drive) {
                let subject = Subject { part: stage.part, defect: DOWN, lane: None, kin: None };
                let waits = Outcome::NotJudged(vec![Missing::Cause(Cause::Input(missing))]);
                out.put(solved, subject, waits, Vec::new());
                continue;
            }
            for lane in solved.variant.lane_ids().filter(|&lane| !rests(stage, solved, lane)) {
                judge(bootstrap, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(bootstrap_of(failure, solved)?, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let bootstrap = bootstrap_of(failure, solved);
        bootstrap.map_or_else(Vec::new, |bootstrap| telling::propose(bootstrap, failure, solved))
    }
}

fn judge(bootstrap: &Bootstrap, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let part = plan.gate_drives[bootstrap.drive].part;
    let figures = &bootstrap.figures;
    let mut put = |defect, outcome| {
        out.put(solved, Subject { part, defect, lane: Some(lane), kin: None }, outcome, Vec::new());
    };
    let on_time = solved.raw(figures.on_time, lane);
    let is_held = on_time.is_infinite();
    let recharged = match is_held {
        true => Outcome::Fails { fault: Fault::Structural, grade: Grade::Major },
        false if on_time.is_nan() => Outcome::NotJudged(vec![Missing::Figure(figures.on_time)]),
        false => Outcome::Holds(None),
    };
    put(NEVER, recharged);
    if !is_held {
        let fall = (figures.fall, Dimension::Voltage);
        let compared = compare(solved, lane, fall, Limit::Figure(figures.reserve), Some(&BOOTSTRAP_FALL));
        put(DOWN, outcome(compared, Grade::Major));
    }
    let compared = match bootstrap.across {
        Some(across) => {
            let highest = (across, Dimension::Voltage);
            let blocks = Limit::Input(bootstrap.blocking_voltage);
            compare(solved, lane, highest, blocks, Some(&BOOTSTRAP_DIODE))
        }
        None => return,
    };
    put(DIODE, outcome(compared, Grade::Major));
}

fn bootstrap_of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<&'v Bootstrap> {
    let plan = &solved.variant.plan;
    plan.bootstraps.iter().find(|one| plan.gate_drives[one.drive].part == failure.worst.part)
}
