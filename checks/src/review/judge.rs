//! Lets every check judge a solved variant.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use loadworthy_unit::trace::{Operand, Step};
use loadworthy_unit::{Cause, FigureId, LaneId, LaneState, Solved};

use crate::check::Check;
use crate::collect::Verdicts;
use crate::verdict::{Missing, Outcome, Verdict};

/// The verdicts of all checks, and the checks that broke down with what they said.
pub(super) fn judge(
    checks: &[&dyn Check],
    solved: &Solved<'_>,
) -> (Vec<Verdict>, Vec<(&'static str, String)>) {
    let mut verdicts = Vec::new();
    let mut broken = Vec::new();
    for check in checks {
        let name = check.about().name;
        let mut out = Verdicts::new(name);
        // A check that breaks down must not take the others with it, nor pass for one that found nothing.
        let ended = catch_unwind(AssertUnwindSafe(|| check.judge(solved, &mut out)));
        if let Err(said) = ended {
            broken.push((name, words(said.as_ref())));
        }
        verdicts.extend(out.into_list());
    }
    (verdicts, broken)
}

fn words(said: &(dyn std::any::Any + Send)) -> String {
    let text = said.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| said.downcast_ref::<String>().cloned()).unwrap_or_else(|| "without a word".to_owned())
}

/// Replaces missing figures by the inputs, curves and ranges that they wait for.
///
/// Each lane that is asked about is replayed once; causes found for one figure serve all others.
pub(super) fn explain_missing(verdicts: &mut [Verdict], solved: &Solved<'_>) {
    let mut by_lane: BTreeMap<LaneId, Vec<usize>> = BTreeMap::new();
    for (place, verdict) in verdicts.iter().enumerate() {
        if matches!(verdict.outcome, Outcome::NotJudged(_)) {
            by_lane.entry(verdict.lane).or_default().push(place);
        }
    }
    for (lane, places) in by_lane {
        let whole = match solved.state(lane) {
            LaneState::NoSolution { at, largest } => Some(Cause::NoSolution { at, largest }),
            LaneState::Undecided { at } => Some(Cause::Undecided { at }),
            LaneState::Solved { .. } => None,
        };
        let mut replay = None;
        for place in places {
            let Outcome::NotJudged(missing) = &mut verdicts[place].outcome else { continue };
            let mut causes = Vec::new();
            for waits_for in core::mem::take(missing) {
                match (waits_for, whole) {
                    (Missing::Figure(_), Some(cause)) => add(&mut causes, Missing::Cause(cause)),
                    (Missing::Figure(figure), None) => {
                        let replay = replay.get_or_insert_with(|| Replay::of(solved, lane));
                        for cause in replay.causes(figure, solved, lane) {
                            add(&mut causes, Missing::Cause(cause));
                        }
                    }
                    (other, _) => add(&mut causes, other),
                }
            }
            *missing = causes;
        }
    }
}

fn add(causes: &mut Vec<Missing>, cause: Missing) {
    if !causes.contains(&cause) {
        causes.push(cause);
    }
}

/// One lane, replayed, with the step that gave each figure.
struct Replay {
    steps: Vec<Option<Step>>,
    figures: Vec<f64>,
    known: BTreeMap<FigureId, Vec<Cause>>,
}

impl Replay {
    fn of(solved: &Solved<'_>, lane: LaneId) -> Self {
        let derivation = solved.derivation(lane);
        let mut steps = vec![None; derivation.figures.len()];
        for step in derivation.steps.steps {
            let place = step.out.index();
            steps[place] = Some(step);
        }
        Self { steps, figures: derivation.figures, known: BTreeMap::new() }
    }

    fn causes(&mut self, figure: FigureId, solved: &Solved<'_>, lane: LaneId) -> Vec<Cause> {
        if let Some(known) = self.known.get(&figure) {
            return known.clone();
        }
        let mut causes: Vec<Cause> = Vec::new();
        let mut seen = vec![false; self.steps.len()];
        let mut open = vec![figure];
        while let Some(figure) = open.pop() {
            if core::mem::replace(&mut seen[figure.index()], true) {
                continue;
            }
            let Some(step) = &self.steps[figure.index()] else { continue };
            let mut found: Vec<Cause> = Vec::new();
            let mut explained = false;
            for operand in &step.from {
                match *operand {
                    Operand::Figure(id) if !self.figures[id.index()].is_finite() => {
                        explained = true;
                        open.push(id);
                    }
                    Operand::Input(id) if solved.input(id, lane).is_none() => found.push(Cause::Input(id)),
                    Operand::Curve(id) if !solved.variant.tables.curve_of(id).origin.is_written() => {
                        found.push(Cause::Curve(id));
                    }
                    Operand::Figure(_) | Operand::Input(_) | Operand::Curve(_) => {}
                }
            }
            // A step from nothing has no range of its own: it is open because of what stands beside it.
            if !explained && found.is_empty() && !step.from.is_empty() {
                found.push(Cause::Beyond { figure, law: step.law });
            }
            for cause in found {
                if !causes.contains(&cause) {
                    causes.push(cause);
                }
            }
        }
        if let (true, Some(step)) = (causes.is_empty(), &self.steps[figure.index()]) {
            causes.push(Cause::Beyond { figure, law: step.law });
        }
        self.known.insert(figure, causes.clone());
        causes
    }
}
