//! What a fuse carries in a duty point against what it stands for that time.
//!
//! A time-current curve is one from cold. A fuse that carried something before is part of the way to melting: an overload
//! after it melts it as soon as a larger one from cold does, and that one is held against the curve.

use loadworthy_physics::{Current, fuse};
use loadworthy_unit::plan::Fuse;
use loadworthy_unit::{Dimension, FigureId, LaneId, Solved};

use super::outcome_of;
use crate::carried;
use crate::collect::{Limit, compare, outcome};
use crate::cycle::{Cycle, WARMED_THROUGH};
use crate::deratings::FUSE_CURRENT;
use crate::remarks::Remark;
use crate::verdict::{Comparison, Grade, Missing, Outcome};

/// What the duty points ask of a fuse.
pub(super) fn loaded(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> (Outcome, Vec<Remark>) {
    let conductor = &solved.variant.plan.conductors[fuse.conductor];
    carried::judged(conductor, |current| loaded_with(current, fuse, solved, lane))
}

fn loaded_with(current: FigureId, fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> (Outcome, Vec<Remark>) {
    let carried = (current, Dimension::Current);
    let against = |figure| compare(solved, lane, carried, Limit::Figure(figure), Some(&FUSE_CURRENT));
    let duty = solved.variant.duty_of(lane);
    let Some(lasts) = duty.lasts else {
        return (outcome_of(against(fuse.figures.continuous)), Vec::new());
    };
    // A row of a mission may be part of a longer overload, which its own length does not tell.
    let curve = fuse.curve.as_ref().filter(|_| duty.stretch.is_none());
    let mut remarks = Vec::new();
    let above = solved.figure(current, lane).zip(solved.input(fuse.rated, lane));
    if let (None, Some((carried, rated))) = (curve, above)
        && rated < carried
    {
        remarks.push(Remark::AboveRated { current: carried, lasts });
    }
    match Cycle::of(current, solved, lane) {
        Err(missing) => (Outcome::NotJudged(missing), remarks),
        // What it carries all the time wears none of its notches.
        Ok(Some(cycle)) if !cycle.comes_and_goes() => {
            (outcome_of(against(fuse.figures.continuous)), Vec::new())
        }
        Ok(Some(cycle)) if lasts <= WARMED_THROUGH => {
            let weighed = against(fuse.figures.cyclic).map(|held| with(&held, cycle.rms()));
            let each = curve.and_then(|curve| {
                // What went before one time counts as no more than the mean of all: the rest lies next to it.
                let overload = Overload::of(fuse, current, solved, lane, cycle.rms())?;
                let held = against(curve.cyclic).ok()?;
                Some((with(&held, overload.as_from_cold()?), overload))
            });
            match (each, weighed) {
                // Each time by itself, where that is closer.
                (Some((each, overload)), Ok(weighed)) if share_left(&each) < share_left(&weighed) => {
                    remarks.extend(overload.remark(lasts));
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
                let held = against(curve.overload);
                let Some(overload) = Overload::of(fuse, current, solved, lane, 0.0).filter(Overload::is_one)
                else {
                    return (outcome_of(held), remarks);
                };
                let before = match before(current, solved, lane) {
                    Ok(before) => before,
                    Err(missing) => return (Outcome::NotJudged(missing), remarks),
                };
                let Some(before) = before else {
                    remarks.push(Remark::MeltsFromCold { lasts });
                    return (outcome_of(held), remarks);
                };
                let overload = Overload { before, ..overload };
                if let Some(from_cold) = overload.as_from_cold() {
                    remarks.extend(overload.remark(lasts));
                    return (outcome_of(held.map(|held| with(&held, from_cold))), remarks);
                }
                // What goes before is more than it carries for good: how far that has brought it no curve says.
            }
            remarks.push(Remark::HeldContinuously { lasts });
            (outcome(against(fuse.figures.continuous), Grade::Minor), remarks)
        }
    }
}

/// A load above what the fuse carries for good, after another one.
#[derive(Clone, Copy)]
pub(super) struct Overload {
    pub(super) carried: f64,
    pub(super) before: f64,
    pub(super) for_good: f64,
}

impl Overload {
    /// Of a lane, after a load of so many A; none where a figure is missing.
    pub(super) fn of(
        fuse: &Fuse,
        current: FigureId,
        solved: &Solved<'_>,
        lane: LaneId,
        before: f64,
    ) -> Option<Self> {
        let carried = solved.figure(current, lane)?;
        Some(Self { carried, before, for_good: solved.figure(fuse.figures.continuous, lane)? })
    }

    /// The load from cold that melts it as soon; none where what went before is itself more than it carries for good.
    fn as_from_cold(&self) -> Option<f64> {
        let amps = Current::new;
        let as_soon = fuse::from_cold(amps(self.carried), amps(self.before), amps(self.for_good)).si();
        as_soon.is_finite().then_some(as_soon)
    }

    /// Whether it is more than the fuse carries for good, so that its curve counts.
    fn is_one(&self) -> bool {
        self.for_good < self.carried
    }

    fn remark(&self, lasts: f64) -> Option<Remark> {
        self.is_one().then_some(Remark::MeltsAfter { lasts, before: self.before })
    }
}

/// The largest current of the duty points that one starts from, one after another; none where it does not say.
pub(super) fn before(
    current: FigureId,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<Option<f64>, Vec<Missing>> {
    let variant = solved.variant;
    let mut most: Option<f64> = None;
    let mut next = variant.duty_of(lane).starts_from;
    // Descriptions in which they start from one another in a circle are refused.
    for _ in 0..variant.duties.len() {
        let Some(duty) = next else { break };
        for other in variant.lane_ids().filter(|&other| variant.lane(other).duty == duty) {
            let amps =
                solved.figure(current, other).ok_or_else(|| vec![Missing::FigureIn(current, other)])?.abs();
            most = Some(most.map_or(amps, |most| most.max(amps)));
        }
        // What goes on for good has left nothing of what was before it.
        let own = &variant.duties[duty.index()];
        next = own.lasts.and(own.starts_from);
    }
    Ok(most)
}

/// A comparison with another current.
fn with(held: &Comparison, amps: f64) -> Comparison {
    let (limit, allowed) = ((held.limit, held.limit_from), (held.allowed, held.policy));
    Comparison::new((held.carried, amps), limit, allowed, held.dimension)
}

/// What a comparison leaves, over what it allows.
fn share_left(comparison: &Comparison) -> f64 {
    1.0 - comparison.carried_value / comparison.allowed
}
