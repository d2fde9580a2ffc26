//! Carriers that follow one another: of one frequency, or of a whole multiple of it.
//!
//! A counter that starts a second carrier anew keeps it in step only where that goes into the first without a rest. What has no
//! common period beats, whatever the description calls it, and a shift between two frequencies is one on the lines alone that both
//! have.

use loadworthy_unit::plan::Stage;
use loadworthy_unit::{Cause, Dimension, LaneId, Solved};

use super::OUT_OF_STEP;
use crate::check::Told;
use crate::collect::{Subject, Verdicts, structural};
use crate::figure_text::value;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Verdict};

/// How far a quotient may lie from a whole number, as a share of it: that of rounding as frequencies are written.
const WHOLE: f64 = 1e-6;

/// How two carriers stand to one another.
#[derive(Clone, Copy, PartialEq)]
enum Step {
    Equal,
    Multiple,
    Out,
}

fn step(one: f64, other: f64) -> Step {
    let (fast, slow) = if one > other { (one, other) } else { (other, one) };
    let times = fast / slow;
    let whole = times.round();
    match (times - whole).abs() <= WHOLE * whole {
        true if whole < 1.5 => Step::Equal,
        true => Step::Multiple,
        false => Step::Out,
    }
}

/// Every stage whose carrier follows another one.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    for stage in &plan.stages {
        let Some(followed) = stage.synchronised else { continue };
        for lane in solved.variant.lane_ids() {
            let carriers = [stage.carrier, plan.stages[followed.with].carrier];
            let open = carriers.into_iter().filter(|&carrier| solved.input(carrier, lane).is_none());
            let open: Vec<Missing> = open.map(|carrier| Missing::Cause(Cause::Input(carrier))).collect();
            let is_shifted = solved.input(followed.shift, lane).is_some();
            let (in_order, grade) = match carriers.map(|carrier| solved.input(carrier, lane)) {
                [Some(one), Some(other)] => match step(one, other) {
                    Step::Equal => (Ok(true), Grade::Minor),
                    // What is added in full at every line of both is a bound, and what says less of it is not counted.
                    Step::Multiple => (Ok(!is_shifted), Grade::Note),
                    Step::Out => (Ok(false), Grade::Minor),
                },
                _ => (Err(open), Grade::Minor),
            };
            let subject = Subject { part: stage.part, defect: OUT_OF_STEP, lane: Some(lane), kin: None };
            out.put(solved, subject, structural(in_order, grade), Vec::new());
        }
    }
}

fn stage_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Stage> {
    solved.variant.plan.stages.iter().find(|stage| stage.part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, stage) = (solved.variant, stage_of(worst, solved)?);
    let lane: LaneId = worst.lane()?;
    let followed = stage.synchronised?;
    let with = &variant.plan.stages[followed.with];
    let [own, other] = [stage.carrier, with.carrier].map(|carrier| solved.input(carrier, lane));
    let (own, other) = (own?, other?);
    let text = |hertz| value(hertz, Dimension::Frequency);
    let names = [stage, with].map(|one| variant.path(one.part));
    let (saying, way) = match step(own, other) {
        Step::Multiple => (
            format!(
                "`{}` at {} lags behind `{}` at {}: a shift between two frequencies is not counted",
                names[0],
                text(own),
                names[1],
                text(other)
            ),
            "one carrier frequency for both, or no `shift`: the lines that both have are added in full, which is a bound",
        ),
        _ => (
            format!(
                "`{}` at {} is called synchronised with `{}` at {}: neither goes into the other, so that they beat",
                names[0],
                text(own),
                names[1],
                text(other)
            ),
            "one carrier frequency, or a whole multiple of the other; or leave `synchronised_with` out, and squares add",
        ),
    };
    let label = |hertz| format!("{} here", text(hertz));
    let at = place(solved, stage.carrier, lane, label(own))
        .unwrap_or_else(|| part_at(solved, stage.part, label(own)));
    let shift = solved.input(followed.shift, lane).and_then(|angle| {
        place(solved, followed.shift, lane, format!("{} behind", value(angle, Dimension::Angle)))
    });
    let because = place(solved, with.carrier, lane, label(other)).into_iter().chain(shift).collect();
    let facts = vec![format!("carriers: {} and {}", text(own), text(other))];
    Some(Told { because, facts, no_proposal: Some(way.to_owned()), ..Told::new(saying, at) })
}
