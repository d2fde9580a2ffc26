//! Currents of conductors and windings against the current that they are rated for.
//!
//! What states no rated current is judged by its temperature elsewhere. A rating holds in surroundings that are at most as
//! hot as those it is stated for.

use loadworthy_unit::plan::{Conductor, Magnetic, Stage};
use loadworthy_unit::{Dimension, Edit, FigureId, InputId, LaneId, PartId, Solved};

use super::RATED;
use crate::carried;
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::collect::{Limit, Subject, Verdicts, allowed, compare, outcome};
use crate::cycle::{Cycle, WARMED_THROUGH};
use crate::deratings::CONDUCTOR_CURRENT;
use crate::figure_text::{comparison, value, written};
use crate::rated::{LARGER, preferred, rated_for, rated_there};
use crate::remarks::Remark;
use crate::tell::{above, asked_at_end, demand, part_at, place, policy_place};
use crate::verdict::{Comparison, Grade, Missing, Verdict};
use crate::wound::everywhere;

/// Edits of one step, and what they come to in words.
type Step = (Vec<(Edit, String)>, Vec<String>);

/// Something that states a rated current.
#[derive(Clone, Copy)]
struct Carrier<'v> {
    part: PartId,
    current: FigureId,
    rated: InputId,
    /// Temperature that the rating is stated for, and that of the surroundings.
    surroundings: Option<(InputId, InputId)>,
    /// Whether the rating says nothing of its surroundings, although it should.
    is_bare: bool,
    of: Kind<'v>,
}

#[derive(Clone, Copy)]
enum Kind<'v> {
    Conductor(&'v Conductor),
    /// A winding of a component, with its key where there are several.
    Winding(&'v Stage, &'v Magnetic, Option<&'static str>),
}

fn of_conductor(conductor: &Conductor) -> Option<Carrier<'_>> {
    // One around another carries nothing in service.
    conductor.carries.or(conductor.unknown.map(|_| conductor.current))?;
    Some(Carrier {
        part: conductor.part,
        current: conductor.current,
        rated: conductor.rated?,
        surroundings: conductor.rated_at.map(|at| (at, conductor.surroundings)),
        is_bare: conductor.rated_at.is_none(),
        of: Kind::Conductor(conductor),
    })
}

fn of_magnetic<'v>(stage: &'v Stage, magnetic: &'v Magnetic) -> impl Iterator<Item = Carrier<'v>> {
    let has_several = magnetic.windings.len() > 1;
    magnetic.windings.iter().filter_map(move |winding| {
        Some(Carrier {
            part: winding.part,
            // Of several legs the one that carries most.
            current: magnetic.uneven.map_or(winding.rms, |uneven| uneven.rms),
            rated: winding.rated?,
            // A winding stands on its cooling, which its rating takes for granted.
            surroundings: None,
            is_bare: false,
            of: Kind::Winding(stage, magnetic, has_several.then_some(winding.key)),
        })
    })
}

/// Everything that states a rated current and carries current in service.
fn all<'v>(solved: &Solved<'v>) -> Vec<Carrier<'v>> {
    let plan = &solved.variant.plan;
    let windings = plan.stages.iter().flat_map(|stage| {
        let own = stage.magnetics.iter().filter_map(|&magnetic| plan.magnetics.get(magnetic));
        own.flat_map(move |magnetic| of_magnetic(stage, magnetic))
    });
    plan.conductors.iter().filter_map(of_conductor).chain(windings).collect()
}

/// The carrier that a verdict is about.
fn carrier_of<'c, 'v>(carriers: &'c [Carrier<'v>], verdict: &Verdict) -> Option<&'c Carrier<'v>> {
    carriers.iter().find(|carrier| carrier.part == verdict.part)
}

/// A carrier in words.
fn named(carrier: &Carrier<'_>, solved: &Solved<'_>, quote: &str) -> String {
    let path = |part| format!("{quote}{}{quote}", solved.variant.path(part));
    match carrier.of {
        Kind::Winding(_, magnetic, Some(key)) => format!("{key} of {}", path(magnetic.part)),
        _ => path(carrier.part),
    }
}

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    for carrier in all(solved) {
        for lane in solved.variant.lane_ids() {
            let judged = |current| judged(&Carrier { current, ..carrier }, solved, lane);
            let (outcome, remarks) = match carrier.of {
                Kind::Conductor(conductor) => carried::judged(conductor, judged),
                Kind::Winding(..) => judged(carrier.current),
            };
            // Conductors of a branch that fail together are one cause; so is what a stage does to its windings.
            let subject = Subject { part: carrier.part, defect: RATED, lane: Some(lane), kin: None };
            out.put(solved, subject, outcome, remarks);
        }
    }
}

fn judged(
    carrier: &Carrier<'_>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> (crate::verdict::Outcome, Vec<Remark>) {
    let mut remarks = Vec::new();
    if carrier.is_bare {
        remarks.push(Remark::RatedAnywhere);
    }
    let held = match in_its_surroundings(carrier, solved, lane) {
        Ok(()) => held(carrier, solved, lane),
        Err(mut missing) => {
            missing.extend(held(carrier, solved, lane).err().unwrap_or_default());
            Err(missing)
        }
    };
    let duty = solved.variant.duty_of(lane);
    let (Ok(held), Some(lasts)) = (&held, duty.lasts) else { return (outcome(held, Grade::Major), remarks) };
    let over_cycle = match Cycle::of(carrier.current, solved, lane) {
        Err(missing) => return (outcome(Err(missing), Grade::Major), remarks),
        Ok(cycle) => cycle.map(|cycle| (cycle, weighed(held, &cycle))),
    };
    match over_cycle {
        Some((cycle, over_cycle)) if lasts <= WARMED_THROUGH => {
            remarks.push(Remark::OverCycle { every: cycle.every });
            (outcome(Ok(over_cycle), Grade::Major), remarks)
        }
        // It is warmed through before the duty point ends; what it is over the cycle still says how sure that is.
        Some((_, over_cycle)) if !over_cycle.holds() => (outcome(Ok(*held), Grade::Major), remarks),
        _ => {
            remarks.push(Remark::HeldContinuously { lasts });
            (outcome(Ok(*held), Grade::Minor), remarks)
        }
    }
}

/// The current as if it flowed for good.
fn held(carrier: &Carrier<'_>, solved: &Solved<'_>, lane: LaneId) -> Result<Comparison, Vec<Missing>> {
    let current = (carrier.current, Dimension::Current);
    compare(solved, lane, current, Limit::Input(carrier.rated), Some(&CONDUCTOR_CURRENT))
}

fn weighed(held: &Comparison, cycle: &Cycle) -> Comparison {
    let carried = (held.carried, cycle.rms());
    Comparison::new(carried, (held.limit, held.limit_from), (held.allowed, held.policy), held.dimension)
}

/// Whether the rating is one for these surroundings; otherwise what would have to be stated.
fn in_its_surroundings(carrier: &Carrier<'_>, solved: &Solved<'_>, lane: LaneId) -> Result<(), Vec<Missing>> {
    carrier.surroundings.map_or(Ok(()), |stated| rated_there(carrier.current, stated, solved, lane))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let carriers = all(solved);
    let carrier = carrier_of(&carriers, worst)?;
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let cycle = Cycle::of(compared.carried, solved, lane).ok().flatten();
    let cycle = cycle.filter(|_| remarked(worst));
    let own = named(carrier, solved, "`");
    let (name, over) = match carrier.of {
        Kind::Conductor(conductor) => {
            (format!("{own} in `{}`", variant.path(conductor.branch)), carried::rms(conductor, compared))
        }
        Kind::Winding(_, _, Some(_)) => (format!("the {own}"), " rms"),
        Kind::Winding(_, _, None) => (format!("the winding of {own}"), " rms"),
    };
    let over = if cycle.is_some() { " rms over its cycle" } else { over };
    let saying = format!("{name} carries {}{over}, {}", text.carried, above(compared, "its rated current"));
    let label = match &cycle {
        Some(cycle) => format!(
            "{} for {} in each {}: {} rms",
            value(cycle.current, Dimension::Current),
            value(cycle.lasts, Dimension::Time),
            value(cycle.every, Dimension::Time),
            text.carried
        ),
        None => format!("{}{over} pass here", text.carried),
    };
    let at = match carrier.of {
        Kind::Conductor(conductor) => part_at(solved, conductor.branch, label),
        Kind::Winding(..) => part_at(solved, carrier.part, label),
    };
    let mut because = Vec::new();
    because.extend(match carrier.of {
        Kind::Conductor(conductor) => asked_at_end(conductor, solved, lane),
        Kind::Winding(stage, ..) => demand(stage, solved, lane),
    });
    let rated = solved.input(carrier.rated, lane).map(|amps| value(amps, Dimension::Current));
    let surroundings = carrier.surroundings.and_then(|(at, _)| solved.input(at, lane));
    let rating = rated.map(|amps| match surroundings {
        Some(at) => format!("rated {amps} in surroundings of {}", value(at, Dimension::Temperature)),
        None => format!("rated {amps}"),
    });
    because.extend(rating.and_then(|rating| place(solved, carrier.rated, lane, rating)));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = cycle.iter().map(Cycle::worked).collect();
    Some(Told { because, worked, ..Told::new(saying, at) })
}

/// Whether a verdict was given over the cycle.
fn remarked(worst: &Verdict) -> bool {
    worst.remarks.iter().any(|remark| matches!(remark, Remark::OverCycle { .. }))
}

/// Conductors or windings for more current, by preferred numbers.
pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let carriers = all(solved);
    let mut families = Vec::new();
    let mut done: Vec<InputId> = Vec::new();
    let Some(left) = solved.variant.policy(&CONDUCTOR_CURRENT).map(|value| value.stated.value) else {
        return families;
    };
    let mut ladder: Vec<Option<Step>> = vec![Some(Step::default()); LARGER];
    for verdict in failure.all {
        let Some(carrier) = carrier_of(&carriers, verdict) else { continue };
        let (Some(compared), false) = (verdict.comparison(), done.contains(&carrier.rated)) else { continue };
        // What is written once is changed wherever it is read: in the other half of a centre tap, in another stage.
        let inputs = everywhere(solved, carrier.rated);
        let parts: Vec<PartId> =
            carriers.iter().filter(|one| inputs.contains(&one.rated)).map(|one| one.part).collect();
        // The worst of all duty points decides what is needed.
        let alike = failure.all.iter().filter(|other| parts.contains(&other.part));
        let carried = alike.filter_map(|other| Some(other.comparison()?.carried_value)).fold(0.0, f64::max);
        let needed = (carried / allowed(&CONDUCTOR_CURRENT, 1.0, left)).max(compared.limit);
        let name = named(carrier, solved, "");
        for (step, amps) in ladder.iter_mut().zip(preferred(needed)) {
            let changed = match (carrier.of, verdict.lane()) {
                (Kind::Conductor(conductor), Some(lane)) => {
                    rated_for(conductor, (carrier.rated, amps), &name, (solved, lane))
                }
                _ => {
                    let text = written(amps, Dimension::Current);
                    let edits = inputs.iter().map(|&input| (Edit { input, value: amps }, text.clone()));
                    Some((edits.collect(), format!("{name} rated {text}")))
                }
            };
            // What one of them is not made for is no step for the others either.
            *step = step.take().zip(changed).map(|((mut edits, mut says), (more, say))| {
                edits.extend(more);
                says.push(say);
                (edits, says)
            });
        }
        done.extend(inputs);
    }
    let steps: Vec<Proposal> = ladder
        .into_iter()
        .flatten()
        .filter(|(edits, _)| !edits.is_empty())
        .map(|(edits, says)| Proposal { say: says.join(", "), change: Change::Edit(edits) })
        .collect();
    if let Some(last) = steps.last() {
        families.push(Family { tried: format!("up to {}", last.say), ladder: steps });
    }
    families
}
