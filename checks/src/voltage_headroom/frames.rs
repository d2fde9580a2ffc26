//! The windings of a machine against its frame: what recurs between them, and what the machine states that it stands.

use loadworthy_unit::plan::Frame;
use loadworthy_unit::{Cause, Dimension, LaneId, Solved};

use super::WINDINGS;
use crate::check::{Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, percent, value};
use crate::steps::toward;
use crate::tell::{above, part_at, place};
use crate::verdict::{Grade, Missing, Verdict};

pub(super) fn judge(frame: &Frame, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let peak = (frame.peak, Dimension::Voltage);
    let compared = compare(solved, lane, peak, Limit::Input(frame.rated), None).map_err(|missing| {
        // How high the bus may come is asked for by its own name.
        let highest = solved.variant.plan.buses[frame.bus].highest;
        let is_open = solved.input(highest, lane).is_none();
        if is_open { vec![Missing::Cause(Cause::Input(highest))] } else { missing }
    });
    let subject = Subject { part: frame.machine, defect: WINDINGS, lane: Some(lane), kin: Some(frame.rated) };
    out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
}

fn frame_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Frame> {
    solved.variant.plan.frames.iter().find(|frame| frame.machine == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let frame = frame_of(worst, solved)?;
    let bus = &variant.plan.buses[frame.bus];
    let text = comparison(compared);
    let excess = above(compared, "the recurring peak that they are made for");
    let saying = format!(
        "the windings of `{}` see {} to the frame, {excess}",
        variant.path(frame.machine),
        text.carried
    );
    let at = place(solved, frame.rated, lane, format!("made for {}", text.limit))
        .unwrap_or_else(|| part_at(solved, frame.machine, format!("made for {}", text.limit)));
    let mut because = Vec::new();
    if let Some(volts) = solved.figure(bus.highest_voltage, lane) {
        let label = format!("`{}` may come to {}", variant.path(bus.part), value(volts, Dimension::Voltage));
        because.extend(place(solved, bus.highest, lane, label));
    }
    if let Some(share) = solved.input(frame.overshoot, lane).filter(|share| *share > 0.0) {
        let label = format!("reflections lift each edge by {} of that", percent(share));
        because.extend(place(solved, frame.overshoot, lane, label));
    }
    Some(Told { because, ..Told::new(saying, at) })
}

/// Windings that are made for more.
pub(super) fn propose(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let found = frame_of(worst, solved).zip(worst.lane()).zip(worst.comparison());
    let Some(((frame, lane), compared)) = found else { return Vec::new() };
    let name = format!("recurring peak of the windings of `{}`", solved.variant.path(frame.machine));
    let more = compared.carried_value / compared.allowed;
    vec![toward(&name, frame.rated, (Dimension::Voltage, ""), more, solved, lane)]
}
