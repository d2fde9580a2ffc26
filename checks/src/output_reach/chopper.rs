//! Whether a boost or a buck reaches the voltage that is asked between its buses.

use loadworthy_unit::plan::{Chopper, ChopperKind, Stage};
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{BEYOND_DUTY, DUTY, OUT_OF_REACH, supply};
use crate::check::Told;
use crate::collect::{Limit, Subject, Verdicts, compare};
use crate::figure_text::{comparison, value};
use crate::remarks::Remark;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Fault, Grade, Outcome, Verdict};

pub(super) fn judge(stage: &Stage, chopper: &Chopper, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let (defect, outcome) = match wrong_way(stage, chopper, solved, lane) {
        Some(beyond) => (OUT_OF_REACH, fails(beyond, Grade::Major)),
        None => by_duty(chopper, solved, lane),
    };
    let subject = Subject { part: stage.part, defect, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome, runs_empty(chopper, solved, lane));
}

fn fails(comparison: Comparison, grade: Grade) -> Outcome {
    Outcome::Fails { fault: Fault::Exceeds(comparison), grade }
}

fn by_duty(chopper: &Chopper, solved: &Solved<'_>, lane: LaneId) -> (&'static str, Outcome) {
    let duty = (chopper.figures.limited_duty, Dimension::Ratio);
    let reserve = compare(solved, lane, duty, Limit::Law(1.0), Some(&DUTY));
    let whole = compare(solved, lane, duty, Limit::Law(1.0), None);
    match (reserve, whole) {
        (_, Ok(whole)) if !whole.holds() => (OUT_OF_REACH, fails(whole, Grade::Major)),
        (Err(missing), _) => (BEYOND_DUTY, Outcome::NotJudged(missing)),
        (Ok(reserve), _) if reserve.holds() => (BEYOND_DUTY, Outcome::Holds(Some(reserve))),
        (Ok(reserve), _) => (BEYOND_DUTY, fails(reserve, Grade::Minor)),
    }
}

/// The low bus above the high one: neither steps that way.
fn wrong_way(stage: &Stage, chopper: &Chopper, solved: &Solved<'_>, lane: LaneId) -> Option<Comparison> {
    let [low, high] = stage.ports.as_slice() else { return None };
    let low_volts = solved.figure(low.voltage, lane)?;
    let high_volts = solved.figure(high.voltage, lane)?;
    // Of a boost what drops on the way helps or hinders as the current runs.
    let drop = solved.figure(chopper.figures.drop, lane).filter(|_| chopper.kind == ChopperKind::Boost);
    let most = high_volts + drop.unwrap_or(0.0);
    let most = (most, None);
    let compared = Comparison::new((low.voltage, low_volts), most, (most.0, None), Dimension::Voltage);
    (!compared.holds()).then_some(compared)
}

/// Whether a diode lets the current of the choke rest in each period.
fn runs_empty(chopper: &Chopper, solved: &Solved<'_>, lane: LaneId) -> Vec<Remark> {
    let rests = || {
        chopper.diode_side?;
        let leg = solved.figure(chopper.figures.leg_current, lane)?.abs();
        let ripple = solved.figure(chopper.figures.ripple, lane)?;
        (0.0 < leg && leg < 0.5 * ripple).then_some(Remark::RunsEmpty)
    };
    rests().into_iter().collect()
}

pub(super) fn told(stage: &Stage, chopper: &Chopper, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let compared = worst.comparison()?;
    let part = solved.variant.path(stage.part);
    let [low, high] = stage.ports.as_slice() else { return None };
    let volts = |figure| solved.figure(figure, lane).map(|volts| value(volts, Dimension::Voltage));
    let (from, to) = (volts(low.voltage)?, volts(high.voltage)?);
    let carried = comparison(compared).carried;
    let saying = if compared.carried == low.voltage {
        match chopper.kind {
            ChopperKind::Boost => {
                format!("`{part}` cannot step down: {from} at its low bus, {to} at its high bus")
            }
            ChopperKind::Buck => format!("`{part}` cannot step up: {from} asked from {to}"),
        }
    } else if worst.defect == OUT_OF_REACH {
        format!("`{part}` would need a duty of {carried}: its drops take more than {from} to {to} leave")
    } else {
        format!("`{part}` needs a duty of {carried}, {}", above(compared, "the whole period"))
    };
    let label = match (compared.carried == low.voltage, chopper.kind) {
        (true, ChopperKind::Boost) => "a boost only steps up".to_owned(),
        (true, ChopperKind::Buck) => "a buck only steps down".to_owned(),
        (false, ChopperKind::Boost) => format!("its low side conducts {carried} of the period"),
        (false, ChopperKind::Buck) => format!("its high side conducts {carried} of the period"),
    };
    let mut because = Vec::new();
    for port in [low, high] {
        because.extend(supply::bus_at(port, solved).and_then(|bus| supply::leaves(bus, solved, lane)));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    // The key that says where it stands: its carrier says nothing of voltages.
    let at =
        place(solved, high.named, lane, label.clone()).unwrap_or_else(|| part_at(solved, stage.part, label));
    let no_proposal = (chopper.kind == ChopperKind::Buck).then(|| {
        "both voltages are given: a stage that steps the other way as well would be another concept"
            .to_owned()
    });
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}
