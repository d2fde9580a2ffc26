//! Does each fuse carry the load, break every fault of its sources, and protect what stands behind it?
//!
//! A fault is driven by what the sources give behind their resistance: with the lowest resistance of the way against what
//! the fuse breaks at most, with the highest against what it breaks at least. What it lets through until it has cleared
//! stands against what the conductors behind it stand without losing heat.

mod other_fuse;
mod tell;

use loadworthy_unit::plan::{Fuse, Plan, Stands};
use loadworthy_unit::{Cause, Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, structural};
use crate::cycle::{Cycle, WARMED_THROUGH};
use crate::remarks::Remark;
use crate::verdict::{Comparison, Grade, Missing, Outcome};

/// Share of the voltage of a fuse that may be used.
pub(crate) static FUSE_VOLTAGE: PolicyItem = PolicyItem {
    name: "fuse_voltage",
    help: "Share of the rated voltage of a fuse that may stand across it once it has opened",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

/// Share of the current of a fuse that may be used.
pub(crate) static FUSE_CURRENT: PolicyItem = PolicyItem {
    name: "fuse_current",
    help: "Share of the current of a fuse, taken to its surroundings and to a load that comes and goes, that it may carry",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.7, 1.0) },
    since: 2026,
};

const VOLTAGE: &str = "voltage";
const OVERLOADED: &str = "overloaded";
const BREAKING: &str = "breaking-capacity";
const NOT_CLEARED: &str = "not-cleared";
const LET_THROUGH: &str = "let-through";
const UNFUSED: &str = "unfused";
const NOT_ON_THE_WAY: &str = "not-on-the-way";

static ABOUT: About = About {
    name: "fuse-coordination",
    former_names: &[],
    question: "Does each fuse carry its load, break every fault, and protect what stands behind it?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (VOLTAGE, "more may stand across the open fuse than it is rated for"),
        (OVERLOADED, "it carries more than it stands in its surroundings"),
        (BREAKING, "a fault drives more current than it breaks"),
        (NOT_CLEARED, "a fault at the far end may drive less current than it breaks at all"),
        (LET_THROUGH, "it lets more through until it has cleared than a conductor behind it stands"),
        (UNFUSED, "the branch of a battery has no fuse, and nothing says what protects it"),
        (NOT_ON_THE_WAY, "the fuse that a branch names lies between no source and the branch"),
    ],
    policy: &[&FUSE_VOLTAGE, &FUSE_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct FuseCoordination;

impl Check for FuseCoordination {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        for protection in &plan.protections {
            let is_there = match protection.stands {
                Stands::OnTheWay => Ok(true),
                Stands::In(_) | Stands::Nowhere => Ok(false),
                Stands::Unread(input) => Err(vec![Missing::Cause(Cause::Input(input))]),
            };
            let defect = if protection.fuse.is_some() { NOT_ON_THE_WAY } else { UNFUSED };
            let subject = Subject { part: protection.branch, defect, lane: None, kin: None };
            out.put(solved, subject, structural(is_there, Grade::Major), Vec::new());
        }
        for &(battery, branch) in &plan.bare_batteries {
            let subject = Subject { part: battery, defect: UNFUSED, lane: None, kin: None };
            let missing = vec![Missing::Cause(Cause::Input(branch))];
            out.put(solved, subject, Outcome::NotJudged(missing), Vec::new());
        }
        for fuse in &plan.fuses {
            // What a fault drives depends on no duty point: the first one stands for all.
            if let Some(lane) = solved.variant.lane_ids().next() {
                faults(fuse, solved, lane, out);
            }
            for lane in solved.variant.lane_ids() {
                let (outcome, remarks) = loaded(fuse, solved, lane);
                put(fuse, OVERLOADED, solved, lane, (outcome, remarks), out);
                for protected in &fuse.protects {
                    let part = solved.variant.plan.conductors[protected.conductor].part;
                    let through = (protected.through, Dimension::SquaredCurrentTime);
                    let compared = compare(solved, lane, through, Limit::Figure(protected.withstood), None);
                    let subject =
                        Subject { part, defect: LET_THROUGH, lane: Some(lane), kin: Some(fuse.clearing) };
                    let mut remarks = vec![Remark::FaultUntested];
                    if !protected.uncleared.is_empty() {
                        remarks.push(Remark::FeedsUncleared);
                    }
                    out.put(solved, subject, outcome_of(compared), remarks);
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        other_fuse::families(failure.worst, solved)
    }
}

fn outcome_of(compared: Result<Comparison, Vec<Missing>>) -> Outcome {
    outcome(compared, Grade::Major)
}

fn put(
    fuse: &Fuse,
    defect: &'static str,
    solved: &Solved<'_>,
    lane: LaneId,
    (outcome, remarks): (Outcome, Vec<Remark>),
    out: &mut Verdicts,
) {
    let part = solved.variant.plan.conductors[fuse.conductor].part;
    let subject = Subject { part, defect, lane: Some(lane), kin: Some(fuse.rated) };
    out.put(solved, subject, outcome, remarks);
}

/// What faults and open contacts ask of a fuse.
fn faults(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let figures = &fuse.figures;
    let amps = Dimension::Current;
    for (defect, carried, limit, policy) in [
        (
            VOLTAGE,
            (figures.highest_voltage, Dimension::Voltage),
            Limit::Input(fuse.voltage),
            Some(&FUSE_VOLTAGE),
        ),
        (BREAKING, (figures.highest_fault, amps), Limit::Input(fuse.breaking), None),
        (NOT_CLEARED, (figures.least_breaking, amps), Limit::Figure(figures.lowest_fault), None),
    ] {
        let compared = compare(solved, lane, carried, limit, policy);
        let mut remarks = vec![Remark::FaultUntested];
        if defect == BREAKING {
            remarks.extend(melted_by_banks(fuse, solved, lane));
        }
        put(fuse, defect, solved, lane, (outcome_of(compared), remarks), out);
    }
}

/// What banks do to a fuse in a fault, where their discharge melts it.
fn melted_by_banks(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let surge = fuse.surge?;
    let sent = solved.figure(surge.let_through, lane)?;
    let melts = solved.input(fuse.melting, lane)? <= sent;
    let peak = solved.figure(surge.current, lane)?;
    melts.then_some(Remark::BanksMelt { sent, peak })
}

/// What the duty points ask of a fuse.
fn loaded(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> (Outcome, Vec<Remark>) {
    let conductor = &solved.variant.plan.conductors[fuse.conductor];
    let current = (conductor.current, Dimension::Current);
    let against = |figure| compare(solved, lane, current, Limit::Figure(figure), Some(&FUSE_CURRENT));
    let duty = solved.variant.duty_of(lane);
    let Some(lasts) = duty.lasts else {
        return (outcome_of(against(fuse.figures.continuous)), Vec::new());
    };
    // A row of a mission may be part of a longer overload, which its own length does not tell.
    let curve = fuse.curve.as_ref().filter(|_| duty.stretch.is_none());
    let mut remarks = Vec::new();
    let above = solved.figure(conductor.current, lane).zip(solved.input(fuse.rated, lane));
    if let Some((carried, rated)) = above
        && rated < carried
    {
        remarks.push(match curve {
            Some(_) => Remark::MeltsFromCold { lasts },
            None => Remark::AboveRated { current: carried, lasts },
        });
    }
    match Cycle::of(conductor.current, solved, lane) {
        Err(missing) => (Outcome::NotJudged(missing), remarks),
        Ok(Some(cycle)) if lasts <= WARMED_THROUGH => {
            let each = curve.map(|curve| against(curve.cyclic));
            let weighed = against(fuse.figures.cyclic).map(|held| {
                let (limit, allowed) = ((held.limit, held.limit_from), (held.allowed, held.policy));
                Comparison::new((held.carried, cycle.rms()), limit, allowed, held.dimension)
            });
            match (each, weighed) {
                // Each time by itself, where that is closer.
                (Some(Ok(each)), Ok(weighed)) if share_left(&each) < share_left(&weighed) => {
                    (outcome_of(Ok(each)), remarks)
                }
                (_, weighed) => {
                    remarks.push(Remark::OverCycle { every: cycle.every });
                    (outcome_of(weighed), remarks)
                }
            }
        }
        Ok(Some(_)) => (outcome(against(fuse.figures.cyclic), Grade::Minor), remarks),
        Ok(None) => {
            let known = curve.filter(|curve| curve.points.first().is_some_and(|first| lasts <= first.1));
            if let Some(curve) = known {
                return (outcome_of(against(curve.overload)), remarks);
            }
            remarks.push(Remark::HeldContinuously { lasts });
            (outcome(against(fuse.figures.continuous), Grade::Minor), remarks)
        }
    }
}

/// What a comparison leaves, over what it allows.
fn share_left(comparison: &Comparison) -> f64 {
    1.0 - comparison.carried_value / comparison.allowed
}

/// The fuse that a verdict is about: of its own part, or the one that protects the part.
fn fuse_of<'v>(plan: &'v Plan, verdict: &crate::verdict::Verdict) -> Option<&'v Fuse> {
    let is_it = |fuse: &&Fuse| {
        if verdict.defect == LET_THROUGH {
            verdict.kin == Some(fuse.clearing)
        } else {
            plan.conductors[fuse.conductor].part == verdict.part
        }
    };
    plan.fuses.iter().find(is_it)
}
