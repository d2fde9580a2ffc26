//! Solves and judges trials: one condition with one load each, side by side.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::{DutyId, Edit, LANES_ABREAST, LaneState, PartId, Solved, Trials, Variant};

use super::{Limit, Question, Way};
use crate::check::Check;
use crate::collect::is_worse;
use crate::list::CHECKS;
use crate::review::{BrokenCheck, accepted_among, compared};
use crate::verdict::{Comparison, Fault, Outcome, Verdict};
use loadworthy_unit::side_by_side::side_by_side;

/// Trials that are solved side by side: so few that their figures stay near the processor while they are judged, so many
/// that what they start from, which is solved with them, does not weigh.
const TOGETHER: core::ops::RangeInclusive<usize> = 5..=8;
/// Headrooms below this are kept, to see from them where a comparison is about to fail.
const NEAR: f64 = 0.3;

/// A judgement apart from how it ended and from the duty point.
pub(super) type Identity = (PartId, &'static str, &'static str);

/// One condition with one factor.
#[derive(Clone, Copy)]
pub(super) struct Trial {
    pub(super) at: f64,
    pub(super) factor: f64,
}

/// How a trial was judged.
#[derive(Clone, Debug, Default)]
pub(super) struct Judged {
    /// The worst of what does not hold, beside what fails anyway.
    pub(super) limit: Option<Limit>,
    /// What does not hold, all of it.
    pub(super) failing: Vec<Verdict>,
    /// Where there is no solution.
    pub(super) unsolved: Option<Limit>,
    /// What is not judged.
    pub(super) open: BTreeSet<Identity>,
    pub(super) is_solved: bool,
    /// What is close to its limit or beyond.
    pub(super) near: Vec<Near>,
    /// Permits, by their places, that accept failures in it.
    pub(super) accepted: BTreeSet<usize>,
}

/// A comparison that is close to its limit or beyond.
#[derive(Clone, Debug)]
pub(super) struct Near {
    pub(super) of: Identity,
    /// Its rank.
    pub(super) headroom: f64,
    pub(super) compared: Option<Comparison>,
}

impl Judged {
    /// Headroom of a comparison, where it is small.
    pub(super) fn headroom(&self, of: Identity) -> Option<f64> {
        self.near.iter().find(|near| near.of == of).map(|near| near.headroom)
    }

    /// Whether a comparison fails.
    pub(super) fn fails(&self, of: Identity) -> bool {
        self.failing.iter().any(|verdict| identity(verdict) == of)
    }

    /// Says what limits, beside what fails anyway.
    pub(super) fn limit_beside(&mut self, anyway: &BTreeSet<Identity>) {
        // What is wrong with the structure fails whatever is asked.
        let limits = |verdict: &&Verdict| verdict.duty().is_some() && !anyway.contains(&identity(verdict));
        let worse = |known, verdict| if is_worse(verdict, known) { verdict } else { known };
        let worst = self.failing.iter().filter(limits).reduce(worse).map(limit_of);
        let is_told = matches!(&worst, Some(Limit { way: Way::NoSolution, .. }));
        self.limit = self.unsolved.clone().filter(|_| !is_told).or(worst);
    }

    /// A comparison whose headroom is small.
    pub(super) fn compared(&self, of: Identity) -> Option<Comparison> {
        self.near.iter().find(|near| near.of == of)?.compared
    }
}

/// Solves and judges trials.
pub(super) struct Bench<'q, 'u> {
    pub(super) question: &'q Question<'u>,
    checks: Vec<&'static dyn Check>,
    /// How many trials are solved side by side.
    together: usize,
    /// What fails at any load and condition, and so limits none.
    pub(super) anyway: BTreeSet<Identity>,
    pub(super) broken: Vec<BrokenCheck>,
}

/// How many trials leave the fewest lanes for each that are solved for nothing.
fn together(variant: &Variant, duty: DutyId) -> usize {
    let lanes = |trials: usize| Trials::of(variant, duty, &vec![Vec::new(); trials]).variant.lanes.len();
    let solved = |trials: usize| lanes(trials).next_multiple_of(LANES_ABREAST);
    let fewer = |&one: &usize, &other: &usize| (solved(one) * other).cmp(&(solved(other) * one));
    TOGETHER.min_by(fewer).unwrap_or(*TOGETHER.end())
}

impl<'q, 'u> Bench<'q, 'u> {
    pub(super) fn new(question: &'q Question<'u>) -> Self {
        let checks = CHECKS.iter().copied().filter(|check| check.compares()).collect();
        let together = together(&question.unit.variants[question.variant], question.duty);
        Self { question, checks, together, anyway: BTreeSet::new(), broken: Vec::new() }
    }

    pub(super) fn variant(&self) -> &Variant {
        &self.question.unit.variants[self.question.variant]
    }

    pub(super) fn judge(&mut self, trials: &[Trial]) -> Vec<Judged> {
        // How many are solved side by side changes nothing of what comes of one.
        let shares: Vec<&[Trial]> = trials.chunks(self.together).collect();
        let judged = side_by_side(&shares, |together| {
            let wide = self.wide(together);
            let solved = Solved::without_shares(&wide.variant);
            let (verdicts, broken) = compared(&self.checks, &solved);
            (self.sorted(&wide, &solved, &verdicts, together.len()), broken)
        });
        let mut all = Vec::with_capacity(trials.len());
        for (judged, broken) in judged {
            all.extend(judged);
            self.note(broken);
        }
        all
    }

    fn note(&mut self, broken: Vec<BrokenCheck>) {
        for one in broken {
            if !self.broken.contains(&one) {
                self.broken.push(one);
            }
        }
    }

    pub(super) fn wide(&self, trials: &[Trial]) -> Trials {
        let Question { demand, condition, duty, .. } = self.question;
        let edits = |trial: &Trial| {
            let scaled = demand.asked.iter();
            let scaled = scaled.map(|&(input, asked)| Edit { input, value: asked * trial.factor });
            scaled.chain(condition.edits(trial.at)).collect()
        };
        Trials::of(self.variant(), *duty, &trials.iter().map(edits).collect::<Vec<_>>())
    }

    pub(super) fn verdicts(&mut self, solved: &Solved<'_>) -> Vec<Verdict> {
        let (verdicts, broken) = compared(&self.checks, solved);
        self.note(broken);
        verdicts
    }

    /// Whether a verdict is a failure of the asked grade.
    fn fails(&self, verdict: &Verdict) -> bool {
        matches!(verdict.outcome, Outcome::Fails { grade, .. } if grade <= self.question.grade)
    }

    /// Verdicts by trial.
    pub(super) fn sorted(
        &self,
        wide: &Trials,
        solved: &Solved<'_>,
        verdicts: &[Verdict],
        count: usize,
    ) -> Vec<Judged> {
        let mut all = vec![Judged { is_solved: true, ..Judged::default() }; count];
        let accepted = self.accepted(wide, verdicts);
        for (place, verdict) in verdicts.iter().enumerate() {
            let Some(trial) = verdict.duty().and_then(|duty| wide.trial(duty)) else {
                // What is wrong with the structure fails in every trial alike.
                if verdict.duty().is_none() && self.fails(verdict) && !accepted.contains_key(&place) {
                    all.iter_mut().for_each(|judged| judged.failing.push(verdict.clone()));
                }
                continue;
            };
            if let Some(&permit) = accepted.get(&place) {
                all[trial].accepted.insert(permit);
                continue;
            }
            if let Some(compared) = verdict.comparison().filter(|compared| compared.rank() < NEAR) {
                let near =
                    Near { of: identity(verdict), headroom: compared.rank(), compared: Some(*compared) };
                let known = all[trial].near.iter_mut().find(|known| known.of == near.of);
                match known {
                    Some(known) if known.headroom <= near.headroom => {}
                    Some(known) => *known = near,
                    None => all[trial].near.push(near),
                }
            }
            match verdict.outcome {
                Outcome::Holds(_) => {}
                Outcome::NotJudged(_) => {
                    all[trial].open.insert(identity(verdict));
                }
                Outcome::Fails { grade, .. } if grade <= self.question.grade => {
                    all[trial].failing.push(verdict.clone());
                }
                Outcome::Fails { .. } => {}
            }
        }
        for lane in solved.variant.lane_ids() {
            let Some(trial) = wide.trial(solved.variant.lane(lane).duty) else { continue };
            let (at, way) = match solved.state(lane) {
                LaneState::Solved { .. } => continue,
                LaneState::NoSolution { at, .. } => (at, Way::NoSolution),
                LaneState::Undecided { at } => (at, Way::Undecided),
            };
            let one = &mut all[trial];
            one.is_solved = false;
            one.open.clear();
            if !matches!(&one.unsolved, Some(Limit { way: Way::NoSolution, .. })) {
                // Where the coolant gets hotter than it is known, junctions are what is not judged.
                let path = solved.variant.plan.coolant.as_ref();
                let (check, defect) = match path.and_then(|path| path.place_of(at)) {
                    Some(_) => ("junction-temperature", "no-steady-temperature"),
                    None => ("power-balance", "no-solution"),
                };
                one.unsolved = Some(Limit { check, part: at, defect, way });
            }
        }
        all.iter_mut().for_each(|judged| judged.limit_beside(&self.anyway));
        all
    }

    /// Failures that permits accept, each trial by itself: places among the verdicts, and the place of the permit.
    fn accepted(&self, wide: &Trials, verdicts: &[Verdict]) -> BTreeMap<usize, usize> {
        let permits = &self.question.unit.permits;
        let Some(day) = self.question.day.filter(|_| !permits.is_empty()) else { return BTreeMap::new() };
        let mut failing: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (place, verdict) in verdicts.iter().enumerate().filter(|(_, verdict)| verdict.fails()) {
            if let Some(trial) = verdict.duty().and_then(|duty| wide.trial(duty)) {
                failing.entry(trial).or_default().push(place);
            }
        }
        let variants = core::slice::from_ref(&wide.variant);
        let of_trial = |places: Vec<usize>| {
            let own: Vec<Verdict> = places.iter().map(|&place| verdicts[place].clone()).collect();
            let accepted = accepted_among(permits, variants, &[own], day);
            accepted.into_iter().map(move |((_, own), permit)| (places[own], permit)).collect::<Vec<_>>()
        };
        failing.into_values().flat_map(of_trial).collect()
    }
}

pub(super) const fn identity(verdict: &Verdict) -> Identity {
    (verdict.part, verdict.check, verdict.defect)
}

fn limit_of(verdict: &Verdict) -> Limit {
    let way = match verdict.fault() {
        Some(Fault::Exceeds(compared)) => Way::Exceeds(*compared),
        Some(Fault::Unsolved { .. }) => Way::NoSolution,
        Some(Fault::Structural) | None => Way::Structural,
    };
    Limit { check: verdict.check, part: verdict.part, defect: verdict.defect, way }
}
