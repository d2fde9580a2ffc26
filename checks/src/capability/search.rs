//! Finds the largest load by bracketing and halving, for all values of the condition at once.

use std::collections::BTreeSet;

use loadworthy_unit::{Edit, LaneState, PartId, Solved, Trials, Variant};

use super::{Curve, Limit, MOST, Point, Question, Way};
use crate::cause::missing_text;
use crate::check::Check;
use crate::collect::is_worse;
use crate::list::CHECKS;
use crate::review::{BrokenCheck, compared, explained};
use crate::side_by_side::side_by_side;
use crate::verdict::{Fault, Outcome, Verdict};

/// Factors that are tried first: from no load up, so that what fails at light load alone is seen too.
const FIRST: [f64; 9] = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0];
/// The place of what is asked among them.
const ASKED: usize = 5;
/// Share of a factor to which the largest one is found.
const CLOSE: f64 = 1e-5;
/// A factor below this is next to no load.
const LEAST: f64 = 0.01;
/// Trials that are solved side by side.
const TOGETHER: usize = 256;
/// Shares that trials are solved in, on the cores there are, of no fewer than so many.
const SHARES: usize = 4;
const LEAST_TOGETHER: usize = 4;

/// A judgement apart from how it ended and from the duty point.
type Identity = (&'static str, PartId, &'static str);

/// One condition with one factor.
#[derive(Clone, Copy)]
struct Trial {
    at: f64,
    factor: f64,
}

/// How a trial was judged.
#[derive(Clone, Debug, Default)]
struct Judged {
    /// What does not hold, worst first in the first place.
    limit: Option<Limit>,
    /// What is not judged.
    open: BTreeSet<Identity>,
    is_solved: bool,
}

/// A bracket of one value of the condition.
#[derive(Clone, Debug)]
struct Bracket {
    /// The largest factor known to hold.
    holds: Option<f64>,
    /// The least factor above it that is known not to; the least of all where none holds.
    fails: Option<f64>,
    /// The nearest factor below that does not hold.
    lighter: Option<(f64, Judged)>,
}

/// The largest load for every value of the condition.
#[must_use]
pub fn curve(question: &Question<'_>) -> Curve {
    let checks: Vec<&'static dyn Check> = CHECKS.iter().copied().filter(|check| check.compares()).collect();
    let mut bench = Bench { question, checks, known_open: BTreeSet::new(), broken: Vec::new() };
    let mut brackets = bench.bracket();
    bench.grow(&mut brackets);
    bench.halve(&mut brackets);
    let points = bench.points(&brackets);
    let open = bench.open(&brackets);
    Curve { points, open, broken: bench.broken }
}

/// Solves and judges trials.
struct Bench<'q, 'u> {
    question: &'q Question<'u>,
    checks: Vec<&'static dyn Check>,
    /// What no trial at all could be judged in: something is missing from the description.
    known_open: BTreeSet<Identity>,
    broken: Vec<BrokenCheck>,
}

impl Bench<'_, '_> {
    fn variant(&self) -> &Variant {
        &self.question.unit.variants[self.question.variant]
    }

    /// Tries the first factors everywhere.
    fn bracket(&mut self) -> Vec<Bracket> {
        let at = self.question.at.clone();
        let trials: Vec<Trial> =
            at.iter().flat_map(|&at| FIRST.iter().map(move |&factor| Trial { at, factor })).collect();
        let judged = self.judge(&trials);
        let mut solved = judged.iter().filter(|one| one.is_solved).map(|one| &one.open);
        if let Some(first) = solved.next().cloned() {
            self.known_open = solved.fold(first, |known, one| known.intersection(one).copied().collect());
        }
        judged.chunks(FIRST.len()).map(|of_point| self.first_bracket(of_point)).collect()
    }

    fn first_bracket(&self, judged: &[Judged]) -> Bracket {
        let holds: Vec<bool> = judged.iter().map(|one| self.holds(one)).collect();
        let Some(asked) = (0..=ASKED).rev().find(|&place| holds[place]) else {
            return Bracket { holds: None, fails: Some(FIRST[0]), lighter: None };
        };
        let beyond = (asked..FIRST.len()).find(|&place| !holds[place]);
        let largest = beyond.unwrap_or(FIRST.len()) - 1;
        let lighter = (0..asked).rev().find(|&place| !holds[place]);
        Bracket {
            holds: Some(FIRST[largest]),
            fails: beyond.map(|place| FIRST[place]),
            lighter: lighter.map(|place| (FIRST[place], judged[place].clone())),
        }
    }

    /// Doubles the factor where everything has held so far.
    fn grow(&mut self, brackets: &mut [Bracket]) {
        loop {
            let next = |bracket: &Bracket| match bracket {
                Bracket { holds: Some(largest), fails: None, .. } if *largest < MOST => Some(2.0 * largest),
                _ => None,
            };
            if !self.round(brackets, next) {
                return;
            }
        }
    }

    /// Halves every bracket until its ends are close.
    fn halve(&mut self, brackets: &mut [Bracket]) {
        loop {
            let next = |bracket: &Bracket| match bracket {
                Bracket { holds: Some(low), fails: Some(high), .. }
                    if high - low > CLOSE * high.max(LEAST) =>
                {
                    Some(0.5 * (low + high))
                }
                _ => None,
            };
            if !self.round(brackets, next) {
                return;
            }
        }
    }

    /// Tries one more factor in each bracket that asks for one; says whether any did.
    fn round(&mut self, brackets: &mut [Bracket], next: impl Fn(&Bracket) -> Option<f64>) -> bool {
        let at = &self.question.at;
        let asks = brackets.iter().zip(at).enumerate();
        let asks = asks.filter_map(|(place, (one, &at))| Some((place, Trial { at, factor: next(one)? })));
        let (places, trials): (Vec<usize>, Vec<Trial>) = asks.unzip();
        for ((place, trial), judged) in places.iter().zip(&trials).zip(self.judge(&trials)) {
            let bracket = &mut brackets[*place];
            match &mut bracket.holds {
                Some(largest) if self.holds(&judged) => *largest = trial.factor,
                _ => bracket.fails = Some(trial.factor),
            }
        }
        !trials.is_empty()
    }

    fn holds(&self, judged: &Judged) -> bool {
        judged.limit.is_none() && judged.open.is_subset(&self.known_open)
    }

    fn judge(&mut self, trials: &[Trial]) -> Vec<Judged> {
        // How many are solved side by side changes nothing of what comes of one.
        let each = trials.len().div_ceil(SHARES).clamp(LEAST_TOGETHER, TOGETHER);
        let shares: Vec<&[Trial]> = trials.chunks(each).collect();
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

    fn wide(&self, trials: &[Trial]) -> Trials {
        let Question { demand, condition, duty, .. } = self.question;
        let edits = |trial: &Trial| {
            let scaled = demand.asked.iter().map(|&(input, asked)| (input, asked * trial.factor));
            let all = scaled.chain([(*condition, trial.at)]);
            all.map(|(input, value)| Edit { input, value }).collect()
        };
        Trials::of(self.variant(), *duty, &trials.iter().map(edits).collect::<Vec<_>>())
    }

    fn verdicts(&mut self, solved: &Solved<'_>) -> Vec<Verdict> {
        let (verdicts, broken) = compared(&self.checks, solved);
        self.note(broken);
        verdicts
    }

    /// Verdicts by trial.
    fn sorted(&self, wide: &Trials, solved: &Solved<'_>, verdicts: &[Verdict], count: usize) -> Vec<Judged> {
        let mut all = vec![Judged { is_solved: true, ..Judged::default() }; count];
        let mut worst: Vec<Option<&Verdict>> = vec![None; count];
        for verdict in verdicts {
            let Some(trial) = verdict.duty().and_then(|duty| wide.trial(duty)) else { continue };
            match verdict.outcome {
                Outcome::Holds(_) => {}
                Outcome::NotJudged(_) => {
                    all[trial].open.insert(identity(verdict));
                }
                Outcome::Fails { grade, .. } if grade <= self.question.grade => {
                    if worst[trial].is_none_or(|known| is_worse(verdict, known)) {
                        worst[trial] = Some(verdict);
                    }
                }
                Outcome::Fails { .. } => {}
            }
        }
        for (judged, worst) in all.iter_mut().zip(worst) {
            judged.limit = worst.map(limit_of);
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
            if !matches!(&one.limit, Some(Limit { way: Way::NoSolution, .. })) {
                one.limit = Some(Limit { check: "power-balance", part: at, defect: "no-solution", way });
            }
        }
        all
    }

    /// Points of the curve, each with what limits it.
    fn points(&mut self, brackets: &[Bracket]) -> Vec<Point> {
        let at = self.question.at.clone();
        let trial = |at: f64, factor: f64| Trial { at, factor };
        let above: Vec<Trial> =
            brackets.iter().zip(&at).map(|(one, &at)| trial(at, one.fails.unwrap_or(MOST))).collect();
        let below: Vec<Trial> =
            brackets.iter().zip(&at).map(|(one, &at)| trial(at, one.holds.unwrap_or(0.0))).collect();
        let mut points = Vec::with_capacity(at.len());
        for (place, (above, below)) in above.chunks(TOGETHER / 2).zip(below.chunks(TOGETHER / 2)).enumerate()
        {
            let both: Vec<Trial> = above.iter().chain(below).copied().collect();
            let wide = self.wide(&both);
            let solved = Solved::without_shares(&wide.variant);
            let verdicts = self.verdicts(&solved);
            let judged = self.sorted(&wide, &solved, &verdicts, both.len());
            for (own, one) in above.iter().enumerate() {
                let bracket = &brackets[place * (TOGETHER / 2) + own];
                let limit = bracket.fails.and_then(|_| {
                    let limit = judged[own].limit.clone();
                    let limit = limit.or_else(|| self.not_judged(&wide, &solved, &verdicts, own))?;
                    let holding = bracket.holds.and_then(|_| {
                        let duty = wide.duty(above.len() + own);
                        let mut own = verdicts.iter().filter(|verdict| verdict.duty() == Some(duty));
                        own.find(|verdict| identity(verdict) == (limit.check, limit.part, limit.defect))
                    });
                    Some(match (holding.and_then(Verdict::comparison), &limit.way) {
                        (Some(compared), Way::Exceeds(_)) => Limit { way: Way::Exceeds(*compared), ..limit },
                        _ => limit,
                    })
                });
                let lighter = bracket.lighter.as_ref().and_then(|(factor, judged)| {
                    let open = || judged.open.difference(&self.known_open).next().copied();
                    let limit = judged.limit.clone().or_else(|| {
                        let (check, part, defect) = open()?;
                        Some(Limit { check, part, defect, way: Way::NotJudged(Vec::new()) })
                    });
                    Some((*factor, limit?))
                });
                points.push(Point { at: one.at, factor: bracket.holds, lighter, limit });
            }
        }
        points
    }

    /// What is not judged in a trial although the description says all that it needs.
    fn not_judged(
        &self,
        wide: &Trials,
        solved: &Solved<'_>,
        verdicts: &[Verdict],
        trial: usize,
    ) -> Option<Limit> {
        let duty = wide.duty(trial);
        let verdict = verdicts.iter().find(|verdict| {
            let is_open = matches!(verdict.outcome, Outcome::NotJudged(_));
            verdict.duty() == Some(duty) && is_open && !self.known_open.contains(&identity(verdict))
        })?;
        let way = Way::NotJudged(why(verdict, solved));
        Some(Limit { check: verdict.check, part: verdict.part, defect: verdict.defect, way })
    }

    /// What is not judged at all, in sentences.
    fn open(&mut self, brackets: &[Bracket]) -> Vec<String> {
        let found = brackets
            .iter()
            .zip(&self.question.at)
            .find_map(|(one, &at)| Some(Trial { at, factor: one.holds? }));
        let Some(trial) = found.filter(|_| !self.known_open.is_empty()) else { return Vec::new() };
        let wide = self.wide(&[trial]);
        let solved = Solved::without_shares(&wide.variant);
        let mut said: Vec<String> = Vec::new();
        for verdict in self.verdicts(&solved) {
            let is_own =
                verdict.duty() == Some(wide.duty(0)) && self.known_open.contains(&identity(&verdict));
            if is_own && matches!(verdict.outcome, Outcome::NotJudged(_)) {
                for why in why(&verdict, &solved) {
                    let line = format!("{} ({})", why, verdict.check);
                    if !said.contains(&line) {
                        said.push(line);
                    }
                }
            }
        }
        said
    }
}

const fn identity(verdict: &Verdict) -> Identity {
    (verdict.check, verdict.part, verdict.defect)
}

fn limit_of(verdict: &Verdict) -> Limit {
    let way = match verdict.fault() {
        Some(Fault::Exceeds(compared)) => Way::Exceeds(*compared),
        Some(Fault::Unsolved { .. }) => Way::NoSolution,
        Some(Fault::Structural) | None => Way::Structural,
    };
    Limit { check: verdict.check, part: verdict.part, defect: verdict.defect, way }
}

/// Why a verdict is not given, in sentences.
fn why(verdict: &Verdict, solved: &Solved<'_>) -> Vec<String> {
    let Outcome::NotJudged(missing) = explained(verdict, solved).outcome else { return Vec::new() };
    let variant = solved.variant;
    let said = missing.into_iter().map(|one| {
        let text = missing_text(variant, verdict.duty(), one);
        let duty = one.duty(verdict).map_or("*", |duty| variant.duties[duty.index()].name.as_str());
        format!("{} {}", text.subject_in(duty), text.trouble).trim_end().to_owned()
    });
    said.collect()
}
