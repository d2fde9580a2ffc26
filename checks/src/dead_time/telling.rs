//! A dead time that does not suit in words, and what would change it.

use loadworthy_unit::plan::{DeadTime, GateDrive, Handover};
use loadworthy_unit::{Dimension, FigureId, InputId, LaneId, Solved};

use super::{DEAD_TIME, SHORT};
use crate::check::{Failure, Family, Told};
use crate::collect::allowed;
use crate::figure_text::{comparison, percent, value};
use crate::gated::places;
use crate::in_step::in_step;
use crate::steps::{at_least, toward, toward_all};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// So many times longer than its sheet says is no longer the matter of the gate.
const SLOWED: f64 = 1.5;

pub(super) fn told(leg: &DeadTime, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let stage = &solved.variant.plan.stages[leg.stage];
    let (part, text) = (solved.variant.path(stage.part), comparison(compared));
    let time = |input: InputId| {
        solved.input(input, lane).map(|stated| value(stated, Dimension::Time)).unwrap_or_default()
    };
    let dead = time(stage.dead_time);
    let (saying, mut causes) = if worst.defect == SHORT {
        let saying = format!(
            "a switch of `{part}` may still conduct {} after the command at which the other one would turn on at once, {}",
            text.carried,
            above(compared, "its dead time")
        );
        let slowest = slowest(leg, solved, lane)?;
        let drives = &solved.variant.plan.gate_drives;
        let (off, on) = (&drives[slowest.off], &drives[slowest.on]);
        let scaled = |drive: &GateDrive, figure: FigureId| {
            let (resistance, stated) = if figure == drive.figures.turn_off_delay {
                (drive.figures.off_resistance, drive.gate.turn_off_delay)
            } else {
                (drive.figures.on_resistance, drive.gate.turn_on_delay)
            };
            let now = solved.figure(figure, lane).unwrap_or(f64::NAN);
            let same = solved.input(stated, lane).is_some_and(|stated| (now / stated - 1.0).abs() < 1e-9);
            let ohms = solved.figure(resistance, lane).filter(|_| !same && drive.gate.stated_with.is_some());
            let text = value(now, Dimension::Time);
            match ohms {
                Some(ohms) => format!("{text} behind {}", value(ohms, Dimension::Resistance)),
                None => text,
            }
        };
        let mut causes = vec![
            (off.gate.turn_off_delay, format!("off after {}", scaled(off, slowest.turn_off_delay))),
            (slowest.fall, format!("falls in {}", time(slowest.fall))),
            (on.gate.turn_on_delay, format!("on after no less than {}", scaled(on, slowest.turn_on_delay))),
            (slowest.skew, format!("channels {} apart", time(slowest.skew))),
        ];
        causes.extend(slowest.delays.map(|(off, _)| (off, format!("comes up to {} late", time(off)))));
        let stated_with = off.gate.stated_with.and_then(|with| Some((with, solved.input(with, lane)?)));
        let fitted = solved.figure(off.figures.off_resistance, lane);
        if let Some(((with, stated), fitted)) = stated_with.zip(fitted)
            && fitted > stated * (1.0 + 1e-9)
        {
            causes.push((with, format!("its times hold at {}", value(stated, Dimension::Resistance))));
            causes.push((off.channel.turn_off_resistor, "and it is slower behind this".to_owned()));
        }
        causes.push((stage.dead_time, format!("{dead} between the commands")));
        let first = first_cause(off, slowest, solved, lane).unwrap_or(stage.dead_time);
        let place = causes.iter().position(|(input, _)| *input == first).unwrap_or(causes.len() - 1);
        let first = causes.remove(place);
        causes.insert(0, first);
        (saying, causes)
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
        let causes = vec![
            (stage.dead_time, format!("{dead} of each period")),
            (stage.carrier, format!("at {}", carrier.unwrap_or_default())),
        ];
        (saying, causes)
    };
    let (first, label) = causes.remove(0);
    let at = place(solved, first, lane, label.clone()).unwrap_or_else(|| part_at(solved, stage.part, label));
    let mut because = places(solved, lane, causes);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// What makes a switch slow beyond its own delay: channels further apart than that, or a resistor behind which it takes much longer
/// than its sheet says. Where it is neither, the dead time is what is short.
fn first_cause(off: &GateDrive, slowest: &Handover, solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    let delay = solved.figure(slowest.turn_off_delay, lane)?;
    let own = solved.input(off.gate.turn_off_delay, lane)?;
    if own.max(delay) < solved.input(slowest.skew, lane)? {
        return Some(slowest.skew);
    }
    if SLOWED * own < delay {
        return Some(off.channel.turn_off_resistor);
    }
    let fall = solved.input(slowest.fall, lane)?;
    (delay < fall).then_some(slowest.fall)
}

/// The way of a leg that takes longest.
fn slowest<'l>(leg: &'l DeadTime, solved: &Solved<'_>, lane: LaneId) -> Option<&'l Handover> {
    let takes = |handover: &Handover| {
        let time = |input| solved.input(input, lane).unwrap_or(f64::NAN);
        let scaled = |figure| solved.figure(figure, lane).unwrap_or(f64::NAN);
        let apart = handover.delays.map_or(0.0, |(off, on)| time(off) - time(on));
        scaled(handover.turn_off_delay) + time(handover.fall) - scaled(handover.turn_on_delay)
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
            let off = &solved.variant.plan.gate_drives[slowest.off];
            let now = solved.figure(slowest.turn_off_delay, lane)?;
            let share = 1.0 - (compared.carried_value - compared.allowed) / now;
            // A resistor that slows its gate is what to change.
            let fitted = solved.figure(off.figures.off_resistance, lane);
            let stated_with = off.gate.stated_with.and_then(|with| solved.input(with, lane));
            if fitted.zip(stated_with).is_some_and(|(fitted, stated)| fitted > stated * (1.0 + 1e-9)) {
                let resistor = off.channel.turn_off_resistor;
                let less =
                    1.0 - (1.0 - share) * fitted? / (fitted? - solved.input(off.gate.internal, lane)?);
                let ohms = (Dimension::Resistance, "");
                return (less > 0.0).then(|| toward("turn-off resistor", resistor, ohms, less, solved, lane));
            }
            let what = "a gate that turns off sooner, delay";
            (share > 0.0).then(|| toward(what, off.gate.turn_off_delay, time, share, solved, lane))
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
    let slower = in_step(slower, stage, solved, lane);
    if shorter {
        vec![toward("dead time", stage.dead_time, time, 1.0 / over, solved, lane), slower]
    } else {
        vec![slower]
    }
}
