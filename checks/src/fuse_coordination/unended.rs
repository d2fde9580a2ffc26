//! What may pass a conductor behind a fuse, or behind converters that alone feed its bus, for good, since nothing ends it, against
//! what that carries for good.

use loadworthy_physics::conductors::foil;
use loadworthy_physics::{Current, fuse};
use loadworthy_unit::plan::{Body, Bound, Conductor, LATEST, Overload};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Lanes, Reach, Solved};

use super::{UNENDED, other_fuse};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::rated::{preferred, rated_for, rated_there};
use crate::remarks::Remark;
use crate::tell::{above, part_at, place};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};
use crate::wound::everywhere;

/// Fuses for general use melt at so many times their rated current in the end (IEC 60269-2).
const USUAL_FUSING: f64 = 1.6;
/// How many times its rated current a conductor may have to carry until no larger one is proposed.
const MOST_LARGER: f64 = 2.5;

/// Holds what may pass, in lanes that are judged together, a conductor against what it carries; whether it is told there that the
/// fuse does not break that.
pub(super) fn judge(overload: &Overload, lanes: Lanes, solved: &Solved<'_>, out: &mut Verdicts) -> bool {
    let conductor = &solved.variant.plan.conductors[overload.conductor];
    let limits = overload.capacity.map(Limit::Figure).into_iter().chain(conductor.rated.map(Limit::Input));
    let limits: Vec<Limit> = limits.collect();
    // What it carries too much for good is told of that; what is proposed there is held against overloads again. Rows of
    // a mission stand by themselves, and what does not last says nothing of what lasts.
    let in_service = |lane: &LaneId| {
        let duty = solved.variant.duty_of(*lane);
        duty.stretch.is_none() && duty.lasts.is_none()
    };
    let mut in_service = lanes.ids().filter(in_service);
    if in_service.any(|lane| limits.iter().any(|&limit| is_overloaded(overload, limit, solved, lane))) {
        return false;
    }
    let mut is_told = false;
    for lane in lanes.ids() {
        for &limit in &limits {
            is_told |= judge_in(overload, limit, solved, lane, out);
        }
    }
    is_told
}

fn judge_in(
    overload: &Overload,
    limit: Limit,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) -> bool {
    let plan = &solved.variant.plan;
    let conductor = &plan.conductors[overload.conductor];
    let there = conductor
        .rated_at
        .filter(|_| matches!(limit, Limit::Input(_)))
        .map_or(Ok(()), |at| rated_there(conductor.current, (at, conductor.surroundings), solved, lane));
    let compared = match overload.unlimited {
        // Without its limit nobody knows what a converter delivers into an overload.
        Some(limit) => Err(vec![Missing::Cause(Cause::Input(limit))]),
        None => compare(solved, lane, (overload.unended, Dimension::Current), limit, None),
    };
    let compared = match (there, compared) {
        (Ok(()), compared) => compared,
        (Err(missing), Ok(_)) => Err(missing),
        (Err(mut missing), Err(others)) => {
            missing.extend(others);
            Err(missing)
        }
    };
    let compared = compared.and_then(|compared| known(conductor, compared));
    // What converters draw their control holds back, though nothing says how far; a load draws what it will.
    let outcome = outcome(compared, if overload.is_passive { Grade::Major } else { Grade::Minor });
    let outcome = match (outcome, overload.unread) {
        // What could not be read may end it.
        (Outcome::Fails { .. }, Some(input)) => Outcome::NotJudged(vec![Missing::Cause(Cause::Input(input))]),
        (outcome, _) => outcome,
    };
    let mut remarks = Vec::new();
    if matches!(limit, Limit::Input(_)) && conductor.rated_at.is_none() {
        remarks.push(Remark::RatedAnywhere);
    }
    match &outcome {
        Outcome::Holds(Some(compared)) => remarks.extend(ended(overload, compared.limit, solved, lane)),
        Outcome::Fails { .. } => remarks.extend(breaks_from(overload, solved, lane)),
        _ => {}
    }
    let is_told = remarks.iter().any(|remark| matches!(remark, Remark::BreaksFrom { .. }));
    let kin = overload.fuse.map(|fuse| plan.fuses[fuse].rated);
    let subject = Subject { part: conductor.part, defect: UNENDED, lane: Some(lane), kin };
    out.put(solved, subject, outcome, remarks);
    is_told
}

/// The comparison, unless more may pass a foil than any is known to carry: it may stand that or not.
fn known(conductor: &Conductor, compared: Comparison) -> Result<Comparison, Vec<Missing>> {
    let most = foil::MOST_CURRENT.si();
    match conductor.heat.as_ref().map(|heat| &heat.body) {
        Some(&Body::Foil { width, .. }) if !compared.holds() && compared.limit >= most => {
            let (of, value) = (Operand::Input(width), compared.carried_value);
            let dimension = Dimension::Current;
            let reach = Reach { what: "current", of, value, low: 0.0, high: most, dimension };
            Err(vec![Missing::Cause(Cause::Beyond {
                figure: compared.carried,
                law: &foil::FOIL,
                reach: Some(reach),
            })])
        }
        _ => Ok(compared),
    }
}

/// Whether a conductor carries more in service than for good.
fn is_overloaded(overload: &Overload, limit: Limit, solved: &Solved<'_>, lane: LaneId) -> bool {
    let conductor = &solved.variant.plan.conductors[overload.conductor];
    let carried = conductor.heat.as_ref().map_or(conductor.carried(), |heat| heat.figures.heating_current);
    let carries = match limit {
        Limit::Figure(capacity) => solved.figure(capacity, lane),
        Limit::Input(rated) => solved.input(rated, lane),
        Limit::Law(amps) | Limit::Always(amps) => Some(amps),
    };
    solved.figure(carried, lane).zip(carries).is_some_and(|(carried, carries)| carried.abs() > carries)
}

fn of(solved: &Solved<'_>, lane: LaneId) -> impl Fn(Operand) -> f64 {
    move |operand| match operand {
        Operand::Figure(id) => solved.figure(id, lane).unwrap_or(f64::NAN),
        Operand::Input(id) => solved.input(id, lane).unwrap_or(f64::NAN),
        Operand::Curve(_) => f64::NAN,
    }
}

/// What ends an overload that the fuse alone would let pass.
fn ended(overload: &Overload, carries: f64, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let plan = &solved.variant.plan;
    let (_, by) = overload.least(plan, of(solved, lane));
    let by = match by {
        Some(Bound::Fuse(_)) => return None,
        Some(Bound::Opens { .. }) => "a contactor that opens",
        Some(Bound::Source(..)) => "the short-circuit current of its source",
        Some(Bound::Trip { .. }) => "the trip of its stage",
        None => "what the ends that feed it or that it feeds are bounded to",
    };
    let by_fuses = Bound::Fuse(overload.fuse?).current(&plan.fuses, of(solved, lane));
    (by_fuses > carries).then_some(Remark::OverloadEnded { by_fuses, by })
}

/// Whether the fuse breaks the overload that melts it.
fn breaks_from(overload: &Overload, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let plan = &solved.variant.plan;
    let own = overload.fuse?;
    let fuse = &plan.fuses[own];
    let least = solved.figure(fuse.figures.least_breaking, lane)?;
    let melts = solved.figure(fuse.figures.continuous, lane)? * solved.input(fuse.conventional, lane)?;
    // What else ends an overload may do so before it melts the fuse.
    let may_pass = overload.without_fuse(plan, own, of(solved, lane));
    (melts < least && melts < may_pass).then_some(Remark::BreaksFrom { least })
}

fn overload_of<'v>(solved: &Solved<'v>, verdict: &Verdict) -> Option<&'v Overload> {
    let plan = &solved.variant.plan;
    plan.overloads.iter().find(|one| plan.conductors[one.conductor].part == verdict.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let overload = overload_of(solved, worst)?;
    let (_, by) = overload.least(plan, of(solved, lane));
    let part = variant.path(worst.part);
    let text = comparison(compared);
    let over = above(compared, &format!("what `{part}` carries for good"));
    let fuse = match by {
        Some(Bound::Fuse(fuse)) => Some(&plan.fuses[fuse]),
        _ => None,
    };
    let saying = match fuse {
        Some(fuse) => {
            let own = variant.path(plan.conductors[fuse.conductor].part);
            format!(
                "`{own}` lets an overload of {} pass for good, {over}, and nothing else is said to end it",
                text.carried
            )
        }
        None if overload.fuse.is_none() => format!(
            "converters that alone feed its bus deliver up to {} into an overload, {over}, and no fuse ends it",
            text.carried
        ),
        None => format!(
            "an overload of {} may pass for good, {over}, and nothing is said to end it",
            text.carried
        ),
    };
    let mut because = Vec::new();
    let amps = |amps: Option<f64>| amps.map(|amps| value(amps, Dimension::Current)).unwrap_or_default();
    if let Some(fuse) = fuse.or(overload.fuse.map(|fuse| &plan.fuses[fuse])) {
        let carries = amps(solved.figure(fuse.figures.continuous, lane));
        let conventional = solved.input(fuse.conventional, lane).unwrap_or(f64::NAN);
        let melts = amps(solved.figure(fuse.figures.continuous, lane).map(|amps| amps * conventional));
        let label = format!("carries {carries} in its air, melts at {melts} in the end");
        because.extend(place(solved, fuse.rated, lane, label));
    }
    for &bound in overload.sums.iter().flatten().flatten().filter(|_| overload.fuse.is_none()) {
        let Bound::Trip { level, .. } = bound else { continue };
        because.extend(place(solved, level, lane, format!("trips at {}", amps(solved.input(level, lane)))));
    }
    let conductor = &plan.conductors[overload.conductor];
    let own = if compared.limit_from.is_some_and(|from| matches!(from, Operand::Input(_))) {
        conductor.rated
    } else {
        conductor.stands
    };
    if let Some(rated) = own {
        because.extend(place(solved, rated, lane, format!("carries {}", text.limit)));
    }
    let label = format!("carries {} for good", text.limit);
    let own = own_fuse(overload, compared.limit, solved, lane);
    let facts = own
        .into_iter()
        .chain(past_diodes(overload, solved))
        .chain(too_late(overload, solved, lane))
        .collect();
    Some(Told { because, facts, ..Told::new(saying, part_at(solved, worst.part, label)) })
}

/// A contactor that waits too long to end it.
fn too_late(overload: &Overload, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    overload.own.iter().find_map(|bound| {
        let Bound::Opens { part, after, .. } = *bound else { return None };
        let waits = solved.input(after, lane).filter(|&waits| waits > LATEST)?;
        let (name, waits) = (solved.variant.path(part), value(waits, Dimension::Time));
        let most = value(LATEST, Dimension::Time);
        Some(format!("`{name}` opens after {waits}, when conductors are as hot as if it lasted; within {most} it counts"))
    })
}

/// The trip that does not end it.
fn past_diodes(overload: &Overload, solved: &Solved<'_>) -> Option<String> {
    let stage = solved.variant.path(overload.past_diodes?);
    Some(format!(
        "the trip of `{stage}` does not end it: its diodes conduct once its high bus has fallen to its low one"
    ))
}

/// What may pass a conductor for good, and what would end it, where that is told with something else.
pub(super) fn beside(worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let overload = overload_of(solved, worst)?;
    let rated = solved.variant.plan.conductors[overload.conductor].rated;
    let known = overload.capacity.and_then(|at| solved.figure(at, lane));
    let carries = known.into_iter().chain(rated.and_then(|rated| solved.input(rated, lane)));
    let carries = carries.reduce(f64::min)?;
    let may_pass = solved.figure(overload.unended, lane).filter(|&may_pass| may_pass > carries)?;
    let [may_pass, amps] = [may_pass, carries].map(|amps| value(amps, Dimension::Current));
    let own = own_fuse(overload, carries, solved, lane).map_or_else(String::new, |own| format!(": {own}"));
    Some(format!("nothing ends an overload of up to {may_pass} either, where it carries {amps}{own}"))
}

/// What a fuse in the conductor's own branch may carry to end the overload, where it has none and carries the load.
fn own_fuse(overload: &Overload, carries: f64, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    if overload.own.iter().any(|bound| matches!(bound, Bound::Fuse(_))) {
        return None;
    }
    let conventional = match overload.fuse {
        Some(fuse) => solved.input(plan.fuses[fuse].conventional, lane)?,
        None => USUAL_FUSING,
    };
    let amps = carries / fuse::least_carried(Current::new(1.0), conventional).si();
    let current = plan.conductors[overload.conductor].carried();
    let mut loads = variant.lane_ids().map(|lane| solved.figure(current, lane));
    let amps_text = value(amps, Dimension::Current);
    let fact = format!("a fuse in its own branch that carries at most {amps_text} in its air would end it");
    loads.all(|load| load.is_some_and(|load| load.abs() < amps)).then_some(fact)
}

/// Conductors that carry more, or a smaller fuse.
pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(overload), Some(lane)) = (overload_of(solved, failure.worst), failure.worst.lane()) else {
        return Vec::new();
    };
    let fuses = &solved.variant.plan.fuses;
    let smaller = overload.fuse.map(|fuse| other_fuse::smaller(&fuses[fuse], solved, lane));
    smaller.into_iter().chain(carrying_more(failure, solved)).collect()
}

/// Larger rated currents of all conductors that carry too little, with the sections that go with them; none where one of
/// them states none.
fn carrying_more(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Family> {
    let plan = &solved.variant.plan;
    let mut done: Vec<InputId> = Vec::new();
    let mut edits = Vec::new();
    let mut says = Vec::new();
    for verdict in failure.all {
        let conductor = &plan.conductors[overload_of(solved, verdict)?.conductor];
        let rated = conductor.rated?;
        if done.contains(&rated) {
            continue;
        }
        let needed = failure.all.iter().filter(|one| one.part == verdict.part);
        let needed = needed.filter_map(|one| Some(one.comparison()?.carried_value)).fold(0.0, f64::max);
        let amps = *preferred(needed).first()?;
        // Where a conductor of quite another kind would be asked for, a fuse is what lacks.
        if amps > MOST_LARGER * solved.input(rated, verdict.lane()?)? {
            return None;
        }
        let name = solved.variant.path(verdict.part);
        let (more, says_more) = rated_for(conductor, (rated, amps), name, (solved, verdict.lane()?))?;
        edits.extend(more);
        says.push(says_more);
        done.extend(everywhere(solved, rated));
    }
    let say = says.join(", ");
    Some(Family { tried: say.clone(), ladder: vec![Proposal { say, change: Change::Edit(edits) }] })
}
