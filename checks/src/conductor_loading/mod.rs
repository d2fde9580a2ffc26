//! Do bars, cables, foil and contacts without a rated current stay cool enough?
//!
//! What states a rated current belongs to `current-headroom`; what states none is judged here by the temperature that its
//! direct current and the ripple that passes with it bring it to: where it settles, or what it reaches while a duty point
//! lasts that says what it starts from. What recurs and does not say so is weighed over its cycle.

mod contacts;
mod instead;
mod larger;
mod tell;

use loadworthy_physics::conductors::foil;
use loadworthy_unit::plan::{Body, Conductor, ConductorHeat, Source};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, LaneId, PolicyForm, PolicyItem, Reach, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::cycle::{Cycle, WARMED_THROUGH};
use crate::link_ripple;
use crate::remarks::{self, Remark};
use crate::verdict::{Comparison, Grade, Missing, Outcome};

/// Distance that is kept from the highest temperature.
pub(crate) static CONDUCTOR_TEMPERATURE: PolicyItem = PolicyItem {
    name: "conductor_temperature",
    help: "Distance that bars, cables, foil and contacts keep from the highest temperature of what touches them",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 10.0, usual: (0.0, 20.0) },
    since: 2026,
};

const TOO_HOT: &str = "too-hot";
const BEYOND_FOIL: &str = "beyond-foil";
const IMPLAUSIBLE: &str = "no-such-contact";

/// Rise in K above which the law of a bar is an estimate.
const MOST_RISE: f64 = 100.0;

static ABOUT: About = About {
    name: "conductor-loading",
    former_names: &[],
    question: "Do bars, cables, foil and contacts without a rated current stay cool enough?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (TOO_HOT, "it gets hotter than the policy leaves of the highest that what touches it stands"),
        (BEYOND_FOIL, "printed foil carries more than any foil is known for; a bar or an inlay is needed"),
        (IMPLAUSIBLE, "contacts state a resistance that no contacts for that current have"),
    ],
    policy: &[&CONDUCTOR_TEMPERATURE],
    since: 2026,
};

/// The check.
pub(crate) struct ConductorLoading;

impl Check for ConductorLoading {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for (conductor, heat) in heated(solved) {
            for lane in solved.variant.lane_ids() {
                let put = |out: &mut Verdicts, defect, outcome, remarks| {
                    let subject = Subject { part: conductor.part, defect, lane: Some(lane), kin: None };
                    out.put(solved, subject, outcome, remarks);
                };
                if let Some(beyond) = beyond_foil(heat, solved, lane) {
                    let is_beyond = !beyond.holds();
                    put(out, BEYOND_FOIL, outcome(Ok(beyond), Grade::Major), Vec::new());
                    if is_beyond {
                        // The law of foil says nothing of its temperature there.
                        continue;
                    }
                }
                let (outcome, remarks) = judged(conductor, heat, solved, lane);
                // All ripple passes here because a bank lacks, and that is told of the bus.
                if matches!(outcome, Outcome::Fails { .. }) && takes_what_a_bank_would(conductor, solved) {
                    continue;
                }
                let outcome = match outcome {
                    Outcome::Fails { .. } => wider_than_known(heat, solved, lane).unwrap_or(outcome),
                    outcome => outcome,
                };
                put(out, TOO_HOT, outcome, remarks);
            }
        }
        contacts::judge(solved, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        match failure.worst.defect {
            IMPLAUSIBLE => contacts::told(failure.worst, failure.worst.lane()?, solved),
            _ => tell::told(failure.worst, solved),
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        if failure.worst.defect == IMPLAUSIBLE {
            return Vec::new();
        }
        let mut families = larger::families(failure, solved);
        families.extend(instead::bar_in_place_of_foil(failure, solved));
        families
    }
}

/// Every conductor that is judged by its temperature.
fn heated<'v>(solved: &Solved<'v>) -> impl Iterator<Item = (&'v Conductor, &'v ConductorHeat)> + use<'v> {
    let conductors = &solved.variant.plan.conductors;
    conductors.iter().filter_map(|conductor| Some((conductor, conductor.heat.as_ref()?)))
}

/// Whether a conductor towards a source carries ripple that a bank lacks for.
fn takes_what_a_bank_would(conductor: &Conductor, solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    let own = |source: &&Source| Some(source.current) == conductor.carries;
    let bus = plan.sources.iter().find(own).and_then(|source| source.bus);
    !conductor.ripples.is_empty() && bus.is_some_and(|bus| link_ripple::is_bare(plan, &plan.buses[bus]))
}

/// A foil that is wider than its law knows, and counts as less wide: what holds then holds, and what fails may hold.
fn wider_than_known(heat: &ConductorHeat, solved: &Solved<'_>, lane: LaneId) -> Option<Outcome> {
    let Body::Foil { width, .. } = heat.body else { return None };
    let (value, high) = (solved.input(width, lane)?, foil::MOST_WIDTH.si());
    let (of, dimension) = (Operand::Input(width), Dimension::Length);
    let reach = Reach { what: "width", of, value, low: 0.0, high, dimension };
    let beyond = Cause::Beyond { figure: heat.figures.temperature, law: &foil::FOIL, reach: Some(reach) };
    (high < value).then(|| Outcome::NotJudged(vec![Missing::Cause(beyond)]))
}

/// The current of foil against the largest that its law knows.
fn beyond_foil(heat: &ConductorHeat, solved: &Solved<'_>, lane: LaneId) -> Option<Comparison> {
    let Body::Foil { .. } = heat.body else { return None };
    let current = (heat.figures.heating_current, Dimension::Current);
    // What is missing is told of the temperature, which waits for the current.
    compare(solved, lane, current, Limit::Law(foil::MOST_CURRENT.si()), None).ok()
}

fn judged(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    lane: LaneId,
) -> (Outcome, Vec<Remark>) {
    let against = |temperature| {
        let carried = (temperature, Dimension::Temperature);
        compare(solved, lane, carried, Limit::Input(heat.hottest), Some(&CONDUCTOR_TEMPERATURE))
    };
    let mut remarks = Vec::new();
    let duty = solved.variant.duty_of(lane);
    if let (true, Some(lasts)) = (solved.is_warmed(lane), duty.lasts) {
        let reached = against(heat.figures.highest());
        let unsure = remarks::of_body(heat.holds_heat(), heat.pad_place(), lasts, solved);
        let grade = if unsure.is_some() { Grade::Minor } else { Grade::Major };
        remarks.extend(unsure);
        remarks.extend(reached.as_ref().ok().and_then(|held| estimate(heat, conductor, solved, lane, held)));
        return (outcome(reached, grade), remarks);
    }
    let held = against(heat.figures.temperature);
    let (Ok(held), Some(lasts)) = (&held, duty.lasts) else {
        remarks.extend(held.as_ref().ok().and_then(|held| estimate(heat, conductor, solved, lane, held)));
        return (outcome(held, Grade::Major), remarks);
    };
    match over_cycle(conductor, heat, solved, lane, held) {
        Err(missing) => return (Outcome::NotJudged(missing), remarks),
        Ok(Some((cycle, weighed))) if lasts <= WARMED_THROUGH => {
            remarks.push(Remark::OverCycle { every: cycle.every });
            remarks.extend(estimate(heat, conductor, solved, lane, &weighed));
            return (outcome(Ok(weighed), Grade::Major), remarks);
        }
        // It is warmed through before the duty point ends; what it is over the cycle still says how sure that is.
        Ok(Some((_, weighed))) if !weighed.holds() => {
            remarks.extend(estimate(heat, conductor, solved, lane, held));
            return (outcome(Ok(*held), Grade::Major), remarks);
        }
        Ok(_) => {}
    }
    remarks.push(if heat.holds_heat() {
        Remark::FromNothing { lasts }
    } else {
        Remark::HeldContinuously { lasts }
    });
    remarks.extend(estimate(heat, conductor, solved, lane, held));
    (outcome(Ok(*held), Grade::Minor), remarks)
}

/// The cycle of a duty point that recurs, with the temperature that its heat comes to. Foil and contacts follow every
/// duty point and are not weighed.
fn over_cycle(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    lane: LaneId,
    held: &Comparison,
) -> Result<Option<(Cycle, Comparison)>, Vec<Missing>> {
    if matches!(heat.body, Body::Foil { .. } | Body::Contact { .. }) {
        return Ok(None);
    }
    let Some(cycle) = Cycle::of(heat.figures.heating_current, solved, lane)? else { return Ok(None) };
    let settles = temperature_with(conductor, heat, solved, lane, cycle.rms());
    let carried = (held.carried, settles);
    let weighed =
        Comparison::new(carried, (held.limit, held.limit_from), (held.allowed, held.policy), held.dimension);
    Ok(Some((cycle, weighed)))
}

/// Temperature at which a conductor settles with another heating current in the surroundings of a lane.
fn temperature_with(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    lane: LaneId,
    amps: f64,
) -> f64 {
    heat.temperature(conductor, amps, |operand| {
        let value = match operand {
            Operand::Figure(id) => solved.figure(id, lane),
            Operand::Input(id) => solved.input(id, lane),
            Operand::Curve(_) => None,
        };
        value.unwrap_or(f64::NAN)
    })
}

/// What makes the temperature of a bar an estimate.
fn estimate(
    heat: &ConductorHeat,
    conductor: &Conductor,
    solved: &Solved<'_>,
    lane: LaneId,
    held: &Comparison,
) -> Option<Remark> {
    let Body::Bar { pad: None, .. } = heat.body else { return None };
    let rise = held.carried_value - solved.input(conductor.surroundings, lane)?;
    (rise > MOST_RISE).then_some(Remark::RisesFar { rise })
}
