//! Does a steep edge turn on a gate that is held off?
//!
//! The current through the capacitance between gate and switched terminal lifts the gate over the resistance that holds
//! it off. It must stay below the lowest threshold, that of any device at the hottest junction.

mod telling;

use loadworthy_unit::plan::GateDrive;
use loadworthy_unit::{Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::gated::{drive_of, driven, shared_driver};
use crate::verdict::Grade;

/// Share of the distance to the threshold by which an edge may lift a gate.
pub(crate) static HELD_OFF_GATE: PolicyItem = PolicyItem {
    name: "held_off_gate",
    help: "Share of the distance from the off voltage to the lowest threshold by which an edge may lift a gate; the rest is left to the inductance of the gate's loop, by rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 1.0) },
    since: 2026,
};

const LIFTED: &str = "lifted";

static ABOUT: About = About {
    name: "false-turn-on",
    former_names: &[],
    question: "Does a steep edge turn on a gate that is held off?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[(
        LIFTED,
        "the steepest edge lifts a gate further than the policy leaves of the way to its threshold",
    )],
    policy: &[&HELD_OFF_GATE],
    since: 2026,
};

/// The check.
pub(crate) struct FalseTurnOn;

impl Check for FalseTurnOn {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for drive in driven(solved, LIFTED, out) {
            for lane in solved.variant.lane_ids() {
                judge(drive, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(drive_of(solved, failure.worst.part)?, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let drive = drive_of(solved, failure.worst.part);
        drive.map_or_else(Vec::new, |drive| telling::propose(drive, failure, solved))
    }
}

fn judge(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let lift = (drive.figures.lift, Dimension::Voltage);
    let compared = compare(solved, lane, lift, Limit::Figure(drive.figures.lift_limit), Some(&HELD_OFF_GATE));
    // Within the margin of the policy the channel stays closed.
    let opens = compared.as_ref().is_ok_and(|compared| compared.carried_value > compared.limit);
    let grade = if opens { Grade::Major } else { Grade::Minor };
    let kin = shared_driver(solved, drive);
    let subject = Subject { part: drive.part, defect: LIFTED, lane: Some(lane), kin };
    out.put(solved, subject, outcome(compared, grade), Vec::new());
}
