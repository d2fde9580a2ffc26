//! Whether a stage with a transformer reaches its output voltage.

use loadworthy_unit::plan::{Isolated, IsolatedKind, Stage};
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{BEYOND_PHASE_SHIFT, OUT_OF_REACH, PHASE_SHIFT, supply};
use crate::check::Told;
use crate::collect::{Limit, Subject, Verdicts, compare};
use crate::figure_text::{comparison, value};
use crate::remarks;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Fault, Grade, Outcome, Verdict};

pub(super) fn judge(
    stage: &Stage,
    isolated: &Isolated,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let (defect, outcome) = match beyond_turns(stage, isolated, solved, lane) {
        Some(beyond) => (OUT_OF_REACH, fails(beyond, Grade::Major)),
        None => by_duty(isolated, solved, lane),
    };
    let subject = Subject { part: stage.part, defect, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome, remarks::of_stage(stage, solved, lane));
}

fn fails(comparison: Comparison, grade: Grade) -> Outcome {
    Outcome::Fails { fault: Fault::Exceeds(comparison), grade }
}

fn by_duty(isolated: &Isolated, solved: &Solved<'_>, lane: LaneId) -> (&'static str, Outcome) {
    let duty = (isolated.figures.duty, Dimension::Ratio);
    let whole = compare(solved, lane, duty, Limit::Input(isolated.inputs.largest_duty), None);
    if isolated.kind == IsolatedKind::Forward {
        return match whole {
            Err(missing) => (OUT_OF_REACH, Outcome::NotJudged(missing)),
            Ok(whole) if whole.holds() => (OUT_OF_REACH, Outcome::Holds(Some(whole))),
            Ok(whole) => (OUT_OF_REACH, fails(whole, Grade::Major)),
        };
    }
    match (compare(solved, lane, duty, Limit::Law(1.0), Some(&PHASE_SHIFT)), whole) {
        (_, Ok(whole)) if !whole.holds() => (OUT_OF_REACH, fails(whole, Grade::Major)),
        (Err(missing), _) => (BEYOND_PHASE_SHIFT, Outcome::NotJudged(missing)),
        (Ok(reserve), _) if reserve.holds() => (BEYOND_PHASE_SHIFT, Outcome::Holds(Some(reserve))),
        (Ok(reserve), _) => (BEYOND_PHASE_SHIFT, fails(reserve, Grade::Minor)),
    }
}

/// The most that the transformer gives at the largest duty, without any leakage, against what is needed. Where the duty
/// itself is not known because it is beyond what it can be, this still says so.
fn beyond_turns(stage: &Stage, isolated: &Isolated, solved: &Solved<'_>, lane: LaneId) -> Option<Comparison> {
    if solved.figure(isolated.figures.duty, lane).is_some() {
        return None;
    }
    let [from, to] = stage.ports.as_slice() else { return None };
    let needed = solved.figure(isolated.figures.driven_voltage, lane)?;
    let out = solved.figure(to.power, lane)?;
    let volts = supply::highest(supply::bus_at(from, solved)?, stage, out, solved, lane)?;
    let most = most_from(volts, isolated, solved, lane)?;
    let carried = (isolated.figures.driven_voltage, needed);
    let compared = Comparison::new(carried, (most, None), (most, None), Dimension::Voltage);
    (!compared.holds()).then_some(compared)
}

/// Output voltage at the largest duty of a transformer without leakage.
fn most_from(volts: f64, isolated: &Isolated, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let turns = solved.input(isolated.inputs.turns_ratio, lane)?;
    let duty = solved.input(isolated.inputs.largest_duty, lane)?;
    match isolated.kind {
        IsolatedKind::Forward | IsolatedKind::CentreTap => Some(duty * volts / turns),
        IsolatedKind::CurrentDoubler => Some(0.5 * duty * volts / turns),
        IsolatedKind::UnknownRectifier => None,
    }
}

pub(super) fn told(stage: &Stage, isolated: &Isolated, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let compared = worst.comparison()?;
    let part = solved.variant.path(stage.part);
    let [from, to] = stage.ports.as_slice() else { return None };
    let text = comparison(compared);
    let is_forward = isolated.kind == IsolatedKind::Forward;
    let turns = solved.input(isolated.inputs.turns_ratio, lane)?;
    let turns_text = format!("{}:1", value(turns, Dimension::Ratio));
    let what = if is_forward { "duty" } else { "phase shift" };
    let (saying, label) = if compared.carried == isolated.figures.driven_voltage {
        (
            format!(
                "`{part}` cannot make its output: {} behind its transformer, {} more than its {turns_text} can give",
                text.carried,
                text.headroom.trim_end_matches(" over")
            ),
            format!("at most {} at {turns_text}", text.allowed),
        )
    } else {
        let limit = match (is_forward, worst.defect) {
            (true, _) => "its largest duty",
            (false, OUT_OF_REACH) => "the whole half period",
            (false, _) => "half a period",
        };
        (
            format!("`{part}` needs a {what} of {}, {}", text.carried, above(compared, limit)),
            format!("a {what} of {} at {turns_text}", text.carried),
        )
    };
    let mut because = Vec::new();
    for port in [from, to] {
        because.extend(supply::bus_at(port, solved).and_then(|bus| supply::leaves(bus, solved, lane)));
    }
    if is_forward && compared.carried != isolated.figures.driven_voltage {
        because.extend(place(solved, isolated.inputs.largest_duty, lane, format!("{} at most", text.limit)));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let at = place(solved, isolated.inputs.turns_ratio, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, stage.part, label));
    Some(Told { because, ..Told::new(saying, at) })
}
