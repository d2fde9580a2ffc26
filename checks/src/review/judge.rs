//! Lets every check judge a solved variant.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use loadworthy_unit::{Cause, Diagnosis, LaneId, LaneState, Solved};

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
        if let Err(said) = guarded(|| check.judge(solved, &mut out)) {
            broken.push((name, said));
        }
        verdicts.extend(out.into_list());
    }
    (verdicts, broken)
}

/// What a check gives, or what it said as it broke down.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|said| words(said.as_ref()))
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
                        let replay = replay.get_or_insert_with(|| Diagnosis::of(solved, lane));
                        for cause in replay.causes(figure) {
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
