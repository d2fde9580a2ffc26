//! Machines that turn so slowly that cases follow each half wave: there the mean of a turn says too little.
//!
//! A case that follows is hottest while the current stands at its crest for good, so that standstill is a bound, of junctions and
//! of what a hot case leaves of a rating. What holds there holds; what does not hold as it turns fails all the more; between them nothing is known.

use std::collections::BTreeMap;

use loadworthy_physics::junction_ripple::{CASE_AT_REST, LEAST_FREQUENCY};
use loadworthy_unit::plan::{Bridge, Stage};
use loadworthy_unit::solver::Scratch;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, FigureId, Glance, LaneId, PartId, Reach, Solved};

use crate::collect::outcome;
use crate::verdict::{Comparison, Grade, Missing, Outcome};

/// The angles at which a phase has its crest, in either direction.
const CRESTS: [i8; 6] = [1, -1, 2, -2, 3, -3];

/// Lanes held still, each once for all chips of a stage.
pub(crate) struct HeldStill<'s, 'u> {
    solved: &'s Solved<'u>,
    scratch: Option<Scratch<1>>,
    known: BTreeMap<(PartId, LaneId), Option<Vec<Glance>>>,
}

impl<'s, 'u> HeldStill<'s, 'u> {
    pub(crate) fn of(solved: &'s Solved<'u>) -> Self {
        Self { solved, scratch: None, known: BTreeMap::new() }
    }

    /// What comes of the comparison of a junction temperature, which may turn too slowly for its mean to say enough.
    pub(crate) fn judged(
        &mut self,
        compared: Result<Comparison, Vec<Missing>>,
        grade: Grade,
        stage: &Stage,
        lane: LaneId,
    ) -> Outcome {
        self.bounded(compared, grade, stage, lane, |turning, glances| {
            let hottest = most(glances, |glance| glance.figure(turning.carried))?;
            let (carried, limit) = ((turning.carried, hottest), (turning.limit, turning.limit_from));
            Some(Comparison::new(carried, limit, (turning.allowed, turning.policy), turning.dimension))
        })
    }

    /// The same of a current and a rating that hangs on the case: what the hottest case leaves of it.
    pub(crate) fn rated(
        &mut self,
        compared: Result<Comparison, Vec<Missing>>,
        grade: Grade,
        (stage, rating): (&Stage, FigureId),
        lane: LaneId,
    ) -> Outcome {
        self.bounded(compared, grade, stage, lane, |turning, glances| {
            let least = -most(glances, |glance| glance.figure(rating).map(|amps| -amps))?;
            let share = if turning.limit > 0.0 { turning.allowed / turning.limit } else { 1.0 };
            let (carried, limit) = ((turning.carried, turning.carried_value), (least, turning.limit_from));
            Some(Comparison::new(carried, limit, (share * least, turning.policy), turning.dimension))
        })
    }

    /// A comparison as it turns, and where that is too slow for it, the one that standstill bounds it by.
    fn bounded(
        &mut self,
        compared: Result<Comparison, Vec<Missing>>,
        grade: Grade,
        stage: &Stage,
        lane: LaneId,
        bound: impl FnOnce(&Comparison, &[Glance]) -> Option<Comparison>,
    ) -> Outcome {
        let creeps = stage.bridge().and_then(|bridge| {
            let frequency = self.solved.figure(bridge.figures.frequency, lane)?;
            (0.0 < frequency && frequency < LEAST_FREQUENCY.si()).then_some((bridge, frequency))
        });
        let (Ok(turning), Some((bridge, frequency))) = (&compared, creeps) else {
            return outcome(compared, grade);
        };
        if !turning.holds() {
            return outcome(compared, grade);
        }
        let held = self.glances((stage, bridge), lane).and_then(|glances| bound(turning, glances));
        if let Some(held) = held.filter(Comparison::holds) {
            return Outcome::Holds(Some(held));
        }
        let reach = Reach {
            what: "output frequency",
            of: Operand::Figure(bridge.figures.frequency),
            value: frequency,
            low: LEAST_FREQUENCY.si(),
            high: f64::INFINITY,
            dimension: Dimension::Frequency,
        };
        let figure = turning.carried;
        Outcome::NotJudged(vec![Missing::Cause(Cause::Beyond {
            figure,
            law: &CASE_AT_REST,
            reach: Some(reach),
        })])
    }

    /// The lane with the rotor held, wherever the crest stands.
    fn glances(&mut self, (stage, bridge): (&Stage, &Bridge), lane: LaneId) -> Option<&[Glance]> {
        let Self { solved, scratch, known } = self;
        let held = known.entry((stage.part, lane)).or_insert_with(|| {
            let scratch = scratch.get_or_insert_with(|| Scratch::new(&solved.variant.plan));
            CRESTS.into_iter().map(|crest| solved.held(lane, bridge, crest, scratch)).collect()
        });
        held.as_deref()
    }
}

/// The largest of something in some lanes; none where one of them does not know it.
fn most(glances: &[Glance], of: impl Fn(&Glance) -> Option<f64>) -> Option<f64> {
    glances.iter().map(of).try_fold(f64::NEG_INFINITY, |most, one| Some(most.max(one?)))
}
