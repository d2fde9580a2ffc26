//! A dead time that does not suit in words, and what would change it.

use loadworthy_unit::plan::{DeadTime, Handover};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{DEAD_TIME, SHORT};
use crate::check::{Failure, Family, Told};
use crate::collect::allowed;
use crate::figure_text::{comparison, percent, value};
use crate::gated::places;
use crate::steps::{at_least, toward, toward_all};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

pub(super) fn told(leg: &DeadTime, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let stage = &solved.variant.plan.stages[leg.stage];
    let (part, text) = (solved.variant.path(stage.part), comparison(compared));
    let time = |input: InputId| {
        solved.input(input, lane).map(|stated| value(stated, Dimension::Time)).unwrap_or_default()
    };
    let dead = time(stage.dead_time);
    let (saying, label, causes) = if worst.defect == SHORT {
        let saying = format!(
            "a switch of `{part}` may still conduct {} after the command at which the other one would turn on at once, {}",
            text.carried,
            above(compared, "its dead time")
        );
        let slowest = slowest(leg, solved, lane)?;
        let mut causes = vec![
            (slowest.turn_off_delay, format!("off after {}", time(slowest.turn_off_delay))),
            (slowest.fall, format!("falls in {}", time(slowest.fall))),
            (slowest.turn_on_delay, format!("on after no less than {}", time(slowest.turn_on_delay))),
            (slowest.skew, format!("channels {} apart", time(slowest.skew))),
        ];
        causes.extend(slowest.delays.map(|(off, _)| (off, format!("comes up to {} late", time(off)))));
        (saying, format!("{dead} between the commands"), causes)
    } else {
        let carrier = solved.input(stage.carrier, lane).map(|carrier| value(carrier, Dimension::Frequency));
        let share = percent(compared.carried_value);
        let costs = if leg.is_hard {
            "as much voltage is lost or gained with the sign of the current"
        } else {
            "the current may turn back before the other switch turns on, and the edge is no longer soft"
        };
        let saying = format!(
            "the dead time of `{part}` takes {share} of each carrier period, more than {}: {costs}",
            percent(compared.allowed)
        );
        let causes = vec![(stage.carrier, format!("at {}", carrier.unwrap_or_default()))];
        (saying, format!("{dead} of each period"), causes)
    };
    let at = place(solved, stage.dead_time, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, stage.part, label));
    let mut because = places(solved, lane, causes);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// The way of a leg that takes longest.
fn slowest<'l>(leg: &'l DeadTime, solved: &Solved<'_>, lane: LaneId) -> Option<&'l Handover> {
    let takes = |handover: &Handover| {
        let time = |input| solved.input(input, lane).unwrap_or(f64::NAN);
        let apart = handover.delays.map_or(0.0, |(off, on)| time(off) - time(on));
        time(handover.turn_off_delay) + time(handover.fall) - time(handover.turn_on_delay)
            + time(handover.skew)
            + apart
    };
    leg.handovers.iter().max_by(|one, other| takes(one).total_cmp(&takes(other)))
}

/// Every dead time that is too short for the drivers, longer by what the worst lacks.
fn longer(failure: &Failure<'_>, solved: &Solved<'_>, lane: LaneId, over: f64) -> Family {
    let plan = &solved.variant.plan;
    let fails = |part| failure.all.iter().any(|verdict| verdict.part == part);
    let inputs: Vec<InputId> =
        plan.stages.iter().filter(|stage| fails(stage.part)).map(|stage| stage.dead_time).collect();
    if over.is_finite() {
        return toward_all("dead time", &inputs, (Dimension::Time, ""), over, solved, lane);
    }
    // None at all is stated: what is needed says how long.
    let needed = failure.worst.comparison().map(|compared| compared.carried_value);
    let least = needed.zip(solved.variant.policy(&DEAD_TIME));
    let least = least.map_or(f64::NAN, |(needed, left)| needed / allowed(&DEAD_TIME, 1.0, left.stated.value));
    at_least("dead time", &inputs, Dimension::Time, least, solved, lane)
}

pub(super) fn propose(leg: &DeadTime, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let stage = &solved.variant.plan.stages[leg.stage];
    let over = compared.carried_value / compared.allowed;
    let time = (Dimension::Time, "");
    if worst.defect == SHORT {
        let longer = longer(failure, solved, lane, over);
        let slowest = slowest(leg, solved, lane);
        let sooner = slowest.and_then(|slowest| {
            let off = solved.input(slowest.turn_off_delay, lane)?;
            let share = 1.0 - (compared.carried_value - compared.allowed) / off;
            let what = "a gate that turns off sooner, delay";
            (share > 0.0).then(|| toward(what, slowest.turn_off_delay, time, share, solved, lane))
        });
        return [Some(longer), sooner].into_iter().flatten().collect();
    }
    // No shorter than what the slowest turn-off needs.
    let needed = solved.figure(leg.needed, lane).zip(solved.variant.policy(&DEAD_TIME));
    let least = needed.map(|(needed, left)| needed / allowed(&DEAD_TIME, 1.0, left.stated.value));
    let now = solved.input(stage.dead_time, lane).unwrap_or(f64::NAN);
    let shorter = least.is_some_and(|least| least <= now / over);
    let carrier = (Dimension::Frequency, "");
    let slower = toward("carrier frequency", stage.carrier, carrier, 1.0 / over, solved, lane);
    if shorter {
        vec![toward("dead time", stage.dead_time, time, 1.0 / over, solved, lane), slower]
    } else {
        vec![slower]
    }
}
