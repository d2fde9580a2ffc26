//! Lets every check judge solved variants, all of a unit together.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use loadworthy_unit::plan::Lost;
use loadworthy_unit::{Asked, BEGINS_UNKNOWN, Cause, Diagnosis, FigureId, LaneId, LaneState, Solved, Unit};

use super::BrokenCheck;
use super::throughout::said_once;
use crate::check::Check;
use crate::collect::Verdicts;
use crate::verdict::{Missing, Outcome, Verdict};
use loadworthy_unit::side_by_side::side_by_side;

/// A check that broke down.
#[derive(Clone, Debug)]
pub(super) struct Broke {
    pub(super) check: &'static str,
    /// The variant, where it was one.
    pub(super) variant: Option<usize>,
    pub(super) said: String,
}

/// How all checks judge a unit.
pub(super) struct Judged {
    /// For each variant, its verdicts in the order of the checks.
    pub(super) verdicts: Vec<Vec<Verdict>>,
    /// Checks that broke down: over the whole unit, then variant by variant.
    pub(super) broken: Vec<Broke>,
    /// What each check asked of each variant that notes it; none where it broke down.
    pub(super) asked: Vec<Vec<Option<Asked>>>,
}

/// Checks that judge one after another while others judge beside them.
const AT_ONCE: usize = 3;

/// All checks on all variants of a unit, several at once.
pub(super) fn judge(checks: &[&'static dyn Check], all: &[Solved<'_>]) -> Judged {
    let parts: Vec<_> = checks.chunks(AT_ONCE).collect();
    let parts = side_by_side(&parts, |checks| judge_some(checks, all));
    // Of a large unit, room for twice as many would be most of what a review takes.
    let room = |v: usize| Vec::with_capacity(parts.iter().map(|part| part.verdicts[v].len()).sum());
    let verdicts = (0..all.len()).map(room).collect();
    let mut judged = Judged { verdicts, broken: Vec::new(), asked: Vec::new() };
    for part in parts {
        judged.verdicts.iter_mut().zip(part.verdicts).for_each(|(all, own)| all.extend(own));
        judged.broken.extend(part.broken);
        judged.asked.extend(part.asked);
    }
    judged.broken.sort_by_key(|one: &Broke| one.variant);
    judged
}

/// Some checks, one after another.
fn judge_some(checks: &[&'static dyn Check], all: &[Solved<'_>]) -> Judged {
    let mut verdicts = vec![Vec::new(); all.len()];
    let (mut broken, mut asked) = (Vec::new(), Vec::with_capacity(checks.len()));
    if all.is_empty() {
        return Judged { verdicts, broken, asked };
    }
    // What one asks must not be taken for what another does.
    let all: Vec<Solved<'_>> = all.iter().map(Solved::beside_others).collect();
    let all: Vec<&Solved<'_>> = all.iter().collect();
    for &check in checks {
        let (judged, broke) = judge_one(check, &all, |_| Some(0));
        let is_whole = broke.is_empty();
        asked.push(all.iter().map(|solved| solved.take_asked().filter(|_| is_whole)).collect());
        broken.extend(broke);
        for (all, own) in verdicts.iter_mut().zip(judged) {
            // Of a large unit, room for twice as many would be most of what a review takes.
            if all.is_empty() {
                *all = own;
            } else {
                all.reserve_exact(own.len());
                all.extend(own);
            }
        }
    }
    Judged { verdicts, broken, asked }
}

/// Some checks on one variant that stands for itself; duty points that are trials side by side are each told of.
pub(crate) fn compared(checks: &[&dyn Check], solved: &Solved<'_>) -> (Vec<Verdict>, Vec<BrokenCheck>) {
    let (mut verdicts, mut broken) = (Vec::new(), Vec::new());
    for &check in checks {
        let (mut own, broke) = told_of_each(check, &[solved], |_| Some(0));
        verdicts.append(&mut own.swap_remove(0));
        broken.extend(broke);
    }
    broken.sort_by_key(|one: &Broke| one.variant);
    let variant_name = solved.variant.name.clone();
    let tell = |Broke { check, said, .. }| BrokenCheck { check, variant_name: variant_name.clone(), said };
    (verdicts, broken.into_iter().map(tell).collect())
}

/// A verdict with the causes behind the figures that it waits for.
pub(crate) fn explained(verdict: &Verdict, solved: &Solved<'_>) -> Verdict {
    let mut one = [verdict.clone()];
    explain_missing(&mut one, solved);
    let [one] = one;
    one
}

/// One check on all variants, for those of them that somebody asks for: `wanted` says how many verdicts are expected, and none
/// where nobody asks. What comes to the same in every duty point is said once.
pub(super) fn judge_one(
    check: &dyn Check,
    all: &[&Solved<'_>],
    wanted: impl Fn(usize) -> Option<usize>,
) -> (Vec<Vec<Verdict>>, Vec<Broke>) {
    let (mut verdicts, broken) = told_of_each(check, all, wanted);
    for (solved, verdicts) in all.iter().zip(&mut verdicts) {
        said_once(&[check], solved, verdicts);
        // They stay as long as the review does: room that was taken ahead is given back.
        verdicts.shrink_to_fit();
    }
    (verdicts, broken)
}

/// The same with a word on every duty point.
fn told_of_each(
    check: &dyn Check,
    all: &[&Solved<'_>],
    wanted: impl Fn(usize) -> Option<usize>,
) -> (Vec<Vec<Verdict>>, Vec<Broke>) {
    let name = check.about().name;
    let empty =
        |v| wanted(v).map_or_else(|| Verdicts::unwanted(name), |many| Verdicts::with_room(name, many));
    let mut out: Vec<Verdicts> = (0..all.len()).map(empty).collect();
    let mut broken = Vec::new();
    // A check that breaks down must not take the others with it, nor pass for one that found nothing.
    if let Err(said) = guarded(|| check.judge_unit(all, &mut out)) {
        broken.push(Broke { check: name, variant: None, said });
    }
    for (v, out) in out.iter_mut().enumerate() {
        broken.extend(out.take_broken().map(|said| Broke { check: name, variant: Some(v), said }));
    }
    let mut verdicts: Vec<Vec<Verdict>> = out.into_iter().map(Verdicts::into_list).collect();
    for (solved, verdicts) in all.iter().zip(&mut verdicts) {
        open_without(check, solved, verdicts);
    }
    (verdicts, broken)
}

/// Sections without which nobody knows what a unit carries.
const CARRYING: [&str; 7] = ["sources", "buses", "branches", "conductors", "stages", "machines", "loads"];

/// What adds up over a section is not known to hold while an entry of that could not be read.
fn open_without(check: &dyn Check, solved: &Solved<'_>, verdicts: &mut [Verdict]) {
    let lost = &solved.variant.plan.lost;
    if lost.is_empty() {
        return;
    }
    for verdict in verdicts.iter_mut().filter(|verdict| matches!(verdict.outcome, Outcome::Holds(_))) {
        let over = check.adds_up(verdict.defect);
        let is_missing =
            |lost: &&Lost| over.contains(&lost.section) || lost.is_whole && CARRYING.contains(&lost.section);
        let missing = lost.iter().filter(is_missing);
        let missing: Vec<Missing> = missing.map(|lost| Missing::Cause(Cause::Input(lost.input))).collect();
        if !missing.is_empty() {
            verdict.outcome = Outcome::NotJudged(missing);
        }
    }
}

/// Adds checks that broke down, each once; what is told of the whole unit is not told of a variant again.
pub(super) fn tell_broken(broke: impl IntoIterator<Item = Broke>, unit: &Unit, told: &mut Vec<BrokenCheck>) {
    for Broke { check, variant, said } in broke {
        let variant_name = variant.and_then(|v| unit.variants[v].name.clone());
        let is_told = |one: &BrokenCheck| {
            let covers = one.variant_name.is_none() || one.variant_name == variant_name;
            covers && one.check == check && one.said == said
        };
        if !told.iter().any(is_told) {
            told.push(BrokenCheck { check, variant_name, said });
        }
    }
}

/// What a check gives, or what it said as it broke down.
pub(crate) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
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
    let mut elsewhere: Vec<(usize, FigureId, LaneId)> = Vec::new();
    for (place, verdict) in verdicts.iter_mut().enumerate() {
        let lane = verdict.lane();
        let Outcome::NotJudged(missing) = &mut verdict.outcome else { continue };
        match lane {
            Some(lane) => by_lane.entry(lane).or_default().push(place),
            // What is judged whatever is asked names the lane of a figure that it waits for; no lane says more of the rest.
            None => missing.retain(|one| match *one {
                Missing::FigureIn(figure, lane) => {
                    elsewhere.push((place, figure, lane));
                    false
                }
                _ => true,
            }),
        }
    }
    for (lane, places) in by_lane {
        let mut replay = Replay::new(solved, lane);
        for place in places {
            let Outcome::NotJudged(missing) = &mut verdicts[place].outcome else { continue };
            let mut causes = Vec::new();
            for waits_for in core::mem::take(missing) {
                match waits_for {
                    Missing::Figure(figure) => {
                        let mut found = replay.causes(figure);
                        found.retain(|&cause| match before(cause, solved, lane) {
                            Some(lanes) => {
                                elsewhere.extend(lanes.map(|(figure, lane)| (place, figure, lane)));
                                false
                            }
                            None => true,
                        });
                        let found = found.into_iter().map(Missing::Cause);
                        // Each is found once; only those of several figures may be the same.
                        if causes.is_empty() {
                            causes.extend(found);
                        } else {
                            found.for_each(|cause| add(&mut causes, cause));
                        }
                    }
                    Missing::FigureIn(figure, other) => elsewhere.push((place, figure, other)),
                    known => add(&mut causes, known),
                }
            }
            *missing = causes;
        }
    }
    // What a duty point starts from may itself start from one in which something is missing.
    for _ in 0..=solved.variant.duties.len() {
        elsewhere.sort_by_key(|&(place, _, lane)| (lane, place));
        elsewhere.dedup();
        let mut replay: Option<Replay<'_, '_>> = None;
        for (place, figure, lane) in core::mem::take(&mut elsewhere) {
            let duty = solved.variant.lane(lane).duty;
            let replay = match &mut replay {
                Some(known) if known.lane == lane => known,
                other => other.insert(Replay::new(solved, lane)),
            };
            let Outcome::NotJudged(causes) = &mut verdicts[place].outcome else { continue };
            for cause in replay.causes(figure) {
                match before(cause, solved, lane) {
                    Some(lanes) => elsewhere.extend(lanes.map(|(figure, lane)| (place, figure, lane))),
                    None => add(causes, Missing::CauseIn(cause, duty)),
                }
            }
        }
    }
}

/// Where a lane begins as warm as others leave it and one of these lacks something: the figures that say what, each in its lane.
fn before<'v>(
    cause: Cause,
    solved: &Solved<'v>,
    lane: LaneId,
) -> Option<impl Iterator<Item = (FigureId, LaneId)> + use<'v>> {
    let Cause::Beyond { figure, law, reach: None } = cause else { return None };
    let variant = solved.variant;
    let from = variant.duty_of(lane).starts_from.filter(|_| core::ptr::eq(law, &BEGINS_UNKNOWN))?;
    let lanes = move || variant.lane_ids().filter(move |&lane| variant.lane(lane).duty == from);
    // One that has it all there waits for something else.
    let lacks = lanes().any(|lane| solved.figure(figure, lane).is_none());
    lacks.then(|| lanes().map(move |lane| (figure, lane)))
}

/// A lane that is replayed once something is asked of it.
struct Replay<'s, 'u> {
    solved: &'s Solved<'u>,
    lane: LaneId,
    diagnosis: Option<Diagnosis<'s, 'u>>,
}

impl<'s, 'u> Replay<'s, 'u> {
    const fn new(solved: &'s Solved<'u>, lane: LaneId) -> Self {
        Self { solved, lane, diagnosis: None }
    }

    /// Why a figure has no value; where the lane has no solution, that is why.
    fn causes(&mut self, figure: FigureId) -> Vec<Cause> {
        match self.solved.state(self.lane) {
            LaneState::NoSolution { at, largest } => vec![Cause::NoSolution { at, largest }],
            LaneState::Undecided { at } => vec![Cause::Undecided { at }],
            LaneState::Solved { .. } => {
                self.diagnosis.get_or_insert_with(|| Diagnosis::of(self.solved, self.lane)).causes(figure)
            }
        }
    }
}

fn add(causes: &mut Vec<Missing>, cause: Missing) {
    if !causes.contains(&cause) {
        causes.push(cause);
    }
}
