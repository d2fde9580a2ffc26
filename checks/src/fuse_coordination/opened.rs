//! Contactors that open in an overload beside a fuse: what flows by then they have to break, and a fuse that does not break it
//! must not have melted before.

use loadworthy_unit::plan::{Conductor, Melted};
use loadworthy_unit::{Dimension, Edit, FigureId, InputId, LaneId, Lanes, Solved};

use super::{MELTS_FIRST, OPENED};
use crate::check::{Change, Family, Proposal, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value, written};
use crate::steps::{as_written, toward_all};
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

/// Holds both against what contactors say, in lanes that are judged together.
pub(super) fn judge(melted: &Melted, lanes: Lanes, solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let grade = if melted.is_passive { Grade::Major } else { Grade::Minor };
    for &(contactor, current) in &melted.opened {
        for lane in lanes.ids() {
            broken(melted, (&plan.conductors[contactor], current), grade, solved, lane, out);
        }
    }
    for lane in lanes.ids() {
        in_time(melted, grade, solved, lane, out);
    }
}

/// What a contactor opens, against what it breaks.
fn broken(
    melted: &Melted,
    (contactor, current): (&Conductor, FigureId),
    grade: Grade,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let fuse = &solved.variant.plan.fuses[melted.fuse];
    let Some(breaks) = contactor.breaks else { return };
    let compared = compare(solved, lane, (current, Dimension::Current), Limit::Input(breaks.current), None);
    let outcome = match outcome(compared, grade) {
        // Without its curve nobody knows what the fuse has ended by then: at most all that sources drive.
        Outcome::Holds(Some(compared)) if fuse.curve.is_none() => {
            let most = solved.figure(fuse.figures.highest_fault, lane);
            if most.is_some_and(|most| most <= compared.allowed) {
                Outcome::Holds(Some(compared))
            } else {
                let of = solved.variant.plan.conductors[fuse.conductor].part;
                Outcome::NotJudged(vec![Missing::Key { of, key: "time_current" }])
            }
        }
        outcome => outcome,
    };
    let subject = Subject { part: contactor.part, defect: OPENED, lane: Some(lane), kin: Some(fuse.rated) };
    out.put(solved, subject, outcome, Vec::new());
}

/// What the fuse does not break, against what does not melt it until the first contactor opens.
fn in_time(melted: &Melted, grade: Grade, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let fuse = &solved.variant.plan.fuses[melted.fuse];
    let part = solved.variant.plan.conductors[fuse.conductor].part;
    let Some(apart) = melted.apart else { return };
    let opens = melted.opened.iter().filter_map(|&(one, _)| solved.variant.plan.conductors[one].opens);
    let above = opens.filter_map(|opens| solved.input(opens.above, lane)).fold(f64::INFINITY, f64::min);
    let unbroken = solved.figure(apart.unbroken, lane);
    // Contactors that open too late by their current are told of that; a fuse that breaks whatever melts it needs none.
    let is_late = solved.figure(melted.melts, lane).is_some_and(|melts| melts < above);
    if is_late && fuse.curve.is_some() || unbroken.is_some_and(|amps| amps <= 0.0) {
        return;
    }
    let against = Limit::Figure(apart.unmelted);
    let compared = compare(solved, lane, (apart.unbroken, Dimension::Current), against, None);
    let outcome = match outcome(compared, grade) {
        Outcome::Fails { .. } if fuse.curve.is_none() => {
            Outcome::NotJudged(vec![Missing::Key { of: part, key: "time_current" }])
        }
        outcome => outcome,
    };
    let subject = Subject { part, defect: MELTS_FIRST, lane: Some(lane), kin: Some(fuse.rated) };
    out.put(solved, subject, outcome, Vec::new());
}

/// The fuse of a verdict, with the contactors that wait beside it.
fn melted_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Melted> {
    let plan = &solved.variant.plan;
    plan.melted.iter().find(|melted| {
        let opens = || melted.opened.iter().any(|&(one, _)| plan.conductors[one].part == worst.part);
        let is_kin = worst.kin == Some(plan.fuses[melted.fuse].rated);
        is_kin && (worst.defect == MELTS_FIRST || opens())
    })
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let melted = melted_of(worst, solved)?;
    let fuse = &plan.fuses[melted.fuse];
    let (part, own) = (variant.path(worst.part), variant.path(plan.conductors[fuse.conductor].part));
    let text = comparison(compared);
    let breaks = value(solved.input(fuse.least_breaking, lane)?, Dimension::Current);
    let mut because = Vec::new();
    for &(one, _) in &melted.opened {
        let conductor = &plan.conductors[one];
        let Some(opens) =
            conductor.opens.filter(|_| worst.defect == MELTS_FIRST || conductor.part == worst.part)
        else {
            continue;
        };
        let waits = solved.input(opens.after, lane).unwrap_or(f64::NAN);
        let label = if waits > 0.0 {
            format!("opens once it has flowed for {}", value(waits, Dimension::Time))
        } else {
            "opens at once, as nothing says how long it waits".to_owned()
        };
        because.extend(place(solved, opens.after, lane, label));
    }
    because.extend(place(solved, fuse.least_breaking, lane, format!("breaks from {breaks} up")));
    if worst.defect == MELTS_FIRST {
        let saying = format!(
            "an overload of up to {} may melt `{own}`, which does not break it, before a contactor opens: until then {} at most certainly does not",
            text.carried, text.limit
        );
        let at = part_at(solved, worst.part, format!("does not melt at {} until then", text.limit));
        return Some(Told { because, ..Told::new(saying, at) });
    }
    let saying = format!(
        "`{part}` opens an overload of up to {}, which `{own}` need not have ended by then, and breaks {}",
        text.carried, text.limit
    );
    let (_, limit) = breaks_of(worst, solved)?;
    let at = place(solved, limit, lane, format!("breaks up to {}", text.limit));
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, String::new()));
    Some(Told { because, ..Told::new(saying, at) })
}

/// What the contactor of a verdict breaks.
fn breaks_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Conductor, InputId)> {
    let own = solved.variant.plan.conductors.iter().find(|one| one.part == worst.part)?;
    Some((own, own.breaks?.current))
}

/// Contactors that break more, or that open sooner.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let Some((lane, compared)) = worst.lane().zip(worst.comparison()) else { return Vec::new() };
    if worst.defect == MELTS_FIRST {
        return sooner(worst, solved, lane).into_iter().collect();
    }
    let Some(melted) = melted_of(worst, solved) else { return Vec::new() };
    // All that the fuse leaves to break more than they can are one cause.
    let plan = &solved.variant.plan;
    let mut names: Vec<&str> = Vec::new();
    let mut limits: Vec<InputId> = Vec::new();
    for &(one, current) in &melted.opened {
        let conductor = &plan.conductors[one];
        let Some(limit) = conductor.breaks.map(|breaks| breaks.current) else { continue };
        let breaks_less = solved.figure(current, lane) > solved.input(limit, lane);
        if breaks_less && !limits.contains(&limit) {
            names.push(solved.variant.path(conductor.part));
            limits.push(limit);
        }
    }
    let name = format!("current that `{}` breaks", names.join("` and `"));
    let more = compared.carried_value / compared.allowed;
    vec![toward_all(&name, &limits, (Dimension::Current, ""), more, solved, lane)]
}

/// Shares of the time that contactors wait.
const SOONER: [f64; 6] = [0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

fn sooner(worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<Family> {
    let plan = &solved.variant.plan;
    let opened = &melted_of(worst, solved)?.opened;
    let opens = opened
        .iter()
        .filter_map(|&(one, _)| Some((&plan.conductors[one], plan.conductors[one].opens?.after)));
    let waits: Vec<_> =
        opens.filter(|&(_, after)| solved.input(after, lane).is_some_and(|s| s > 0.0)).collect();
    let step = |share: f64| {
        let (mut edits, mut says) = (Vec::new(), Vec::new());
        for &(conductor, input) in &waits {
            let now = solved.input(input, lane)?;
            let to = as_written(now * share);
            let [from, text] = [now, to].map(|time| value(time, Dimension::Time));
            says.push(format!("time that `{}` waits: {from} -> {text}", solved.variant.path(conductor.part)));
            edits.push((Edit { input, value: to }, written(to, Dimension::Time)));
        }
        (!edits.is_empty()).then(|| Proposal { say: says.join(", "), change: Change::Edit(edits) })
    };
    let ladder: Vec<Proposal> = SOONER.into_iter().filter_map(step).collect();
    let tried = ladder.last().map_or_else(String::new, |last| last.say.clone());
    Some(Family { tried, ladder })
}
