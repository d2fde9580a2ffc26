//! Gate resistors of devices in parallel: one for each, or one for all of them.
//!
//! Gates that meet at one resistor are joined by nothing but leads. What their sources differ by at an edge drives a current
//! around that loop, which rings with the gate capacitances: no figure of it is solved, and the rule is exact enough.

use loadworthy_unit::plan::GateDrive;
use loadworthy_unit::{Cause, Dimension, Edit, InputId, LaneId, Solved};

use super::ONE_RESISTOR;
use crate::check::{Change, Family, Proposal, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::figure_text::value;
use crate::gated::drive_of;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Verdict};

/// Devices in parallel at the positions of a drive.
fn parallel(drive: &GateDrive, solved: &Solved<'_>) -> InputId {
    solved.variant.plan.stages[drive.stage].seats[drive.seat].parallel
}

/// Neither hangs on what a duty point asks.
fn lane(solved: &Solved<'_>) -> Option<LaneId> {
    solved.variant.lane_ids().next()
}

/// Whether several devices hang on one gate resistor.
pub(crate) fn is_shared(drive: &GateDrive, solved: &Solved<'_>) -> bool {
    let Some(lane) = lane(solved) else { return false };
    solved.input(parallel(drive, solved), lane).is_some_and(|count| count > 1.5)
        && solved.input(drive.channel.resistor_for_each, lane).is_some_and(|each| each < 0.5)
}

/// Every gate that has a driver and more than one device behind it.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let Some(lane) = lane(solved) else { return };
    for drive in solved.variant.plan.gate_drives.iter().filter(|drive| drive.driver.is_some()) {
        if solved.input(parallel(drive, solved), lane).is_none_or(|count| count < 1.5) {
            continue;
        }
        let each = drive.channel.resistor_for_each;
        let in_order = solved.input(each, lane).map(|each| each > 0.5);
        let in_order = in_order.ok_or_else(|| vec![Missing::Cause(Cause::Input(each))]);
        // All that one driver drives has its resistors from the same entry.
        let subject = Subject { part: drive.part, defect: ONE_RESISTOR, lane: None, kin: Some(each) };
        out.put(solved, subject, structural(in_order, Grade::Major), Vec::new());
    }
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (drive, lane) = (drive_of(solved, worst.part)?, lane(solved)?);
    let count = value(solved.input(parallel(drive, solved), lane)?, Dimension::Ratio);
    let part = solved.variant.path(worst.part);
    let saying = format!(
        "the {count} devices in `{part}` share one gate resistor: nothing damps what flows from gate to gate at an edge"
    );
    let label = "one for all of them".to_owned();
    let at = place(solved, drive.channel.resistor_for_each, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, worst.part, label));
    let because = place(solved, parallel(drive, solved), lane, format!("{count} in parallel"));
    let facts = vec![format!("{count} gates on one resistor")];
    Some(Told { because: because.into_iter().collect(), facts, ..Told::new(saying, at) })
}

/// A gate resistor for each device.
pub(super) fn own(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let Some(drive) = drive_of(solved, worst.part) else { return Vec::new() };
    let edit = Edit { input: drive.channel.resistor_for_each, value: 1.0 };
    let change = Change::Edit(vec![(edit, "true".to_owned())]);
    let say = "a gate resistor for each device: `resistor_for_each: true`".to_owned();
    vec![Family { tried: String::new(), ladder: vec![Proposal { say, change }] }]
}
