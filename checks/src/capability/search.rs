//! Finds the largest load for all values of the condition at once: brackets it, and closes in on it.

use std::collections::BTreeSet;

use loadworthy_unit::{Solved, Trials};

use super::bench::{Bench, Identity, Judged, TOGETHER, Trial, identity};
use super::between;
use super::{Curve, Limit, MOST, Point, Question, Way};
use crate::cause::missing_text;
use crate::review::explained;
use crate::verdict::{Outcome, Verdict};

/// Factors that are tried first: from no load up, so that what fails at light load alone is seen too.
const FIRST: [f64; 9] = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0];
/// What is asked.
pub(super) const ASKED: f64 = 1.0;
/// Share of a factor to which the largest one is found.
const CLOSE: f64 = 1e-5;
/// A factor below this is next to no load.
const LEAST: f64 = 0.01;
/// Rounds that may leave more than half of a bracket before it is halved.
const SLOW: u8 = 2;

/// What is known of one value of the condition.
#[derive(Clone, Debug, Default)]
pub(super) struct Bracket {
    /// Factors that were tried, rising, each with how it was judged and whether it holds.
    pub(super) tried: Vec<(f64, Judged, bool)>,
    /// Rounds in which little of the bracket went.
    slow: u8,
    /// Whether the last trial held.
    last_held: bool,
}

impl Bracket {
    fn put(&mut self, factor: f64, judged: Judged, holds: bool) {
        let place = self.tried.partition_point(|&(known, ..)| known < factor);
        self.tried.insert(place, (factor, judged, holds));
    }

    /// The place of the largest load: up from what is asked as long as everything holds, or down from it to where it does.
    fn place(&self) -> Option<usize> {
        let asked = self.tried.iter().rposition(|&(factor, _, holds)| factor <= ASKED && holds)?;
        let beyond = self.tried[asked..].iter().position(|&(.., holds)| !holds);
        Some(beyond.map_or(self.tried.len(), |beyond| asked + beyond) - 1)
    }

    /// The largest factor known to hold.
    pub(super) fn holds(&self) -> Option<f64> {
        self.place().map(|place| self.tried[place].0)
    }

    /// The least factor above it that is known not to, with how it was judged; the least of all where none holds.
    fn failing(&self) -> Option<&(f64, Judged, bool)> {
        self.tried.get(self.place().map_or(0, |place| place + 1))
    }

    fn fails(&self) -> Option<f64> {
        self.failing().map(|&(factor, ..)| factor)
    }

    /// The nearest lighter load that does not hold.
    fn lighter(&self) -> Option<&(f64, Judged, bool)> {
        self.tried[..self.place()?].iter().rev().find(|(.., holds)| !holds)
    }

    /// Where to try next for the ends to close in; nothing once they are close.
    fn closing(&self) -> Option<f64> {
        let (low, high) = (self.place()?, self.place()? + 1);
        let ((low, below, _), (high, above, _)) = (&self.tried[low], self.tried.get(high)?);
        let close = CLOSE * high.max(LEAST);
        if high - low <= close {
            return None;
        }
        let middle = 0.5 * (low + high);
        let limit = above.limit.as_ref().map(|limit| (limit.part, limit.check, limit.defect));
        let headrooms = limit.and_then(|limit| Some((below.headroom(limit)?, above.headroom(limit)?)));
        let Some((left, beyond)) = headrooms.filter(|&(left, beyond)| left >= 0.0 && beyond < 0.0) else {
            return Some(middle);
        };
        if self.slow >= SLOW || high - low <= 2.0 * close {
            return Some(middle);
        }
        // Where the straight line between the ends crosses, and a little beyond on the side that did not move last.
        let crossing = low + (high - low) * left / (left - beyond);
        let aside = if self.last_held { 0.4 * close } else { -0.4 * close };
        Some((crossing + aside).clamp(low + 0.2 * close, high - 0.2 * close))
    }

    /// Takes a trial that was to close it.
    fn close(&mut self, factor: f64, judged: Judged, holds: bool) {
        let width = |bracket: &Self| bracket.fails().zip(bracket.holds()).map_or(f64::INFINITY, |(f, h)| f - h);
        let before = width(self);
        self.put(factor, judged, holds);
        self.slow = if width(self) > 0.5 * before { self.slow + 1 } else { 0 };
        self.last_held = holds;
    }
}

/// The largest load for every value of the condition.
#[must_use]
pub fn curve(question: &Question<'_>) -> Curve {
    let mut search = Search { bench: Bench::new(question), known_open: BTreeSet::new() };
    let mut brackets = search.bracket();
    search.settle(&mut brackets);
    while search.round(&mut brackets, between::untried) {
        search.settle(&mut brackets);
    }
    for _ in 0..between::MOST_PROBES {
        if !search.round(&mut brackets, |bracket| between::dip(bracket).into_iter().collect()) {
            break;
        }
        search.settle(&mut brackets);
    }
    let points = search.points(&brackets);
    let open = search.open(&brackets);
    Curve { points, open, broken: search.bench.broken }
}

struct Search<'q, 'u> {
    bench: Bench<'q, 'u>,
    /// What no trial at all could be judged in: something is missing from the description.
    known_open: BTreeSet<Identity>,
}

impl Search<'_, '_> {
    /// Tries the first factors everywhere.
    fn bracket(&mut self) -> Vec<Bracket> {
        let at = self.bench.question.at.clone();
        let trials: Vec<Trial> =
            at.iter().flat_map(|&at| FIRST.iter().map(move |&factor| Trial { at, factor })).collect();
        let judged = self.bench.judge(&trials);
        let mut solved = judged.iter().filter(|one| one.is_solved).map(|one| &one.open);
        if let Some(first) = solved.next().cloned() {
            self.known_open = solved.fold(first, |known, one| known.intersection(one).copied().collect());
        }
        let mut brackets = vec![Bracket::default(); at.len()];
        for (place, (trial, judged)) in trials.iter().zip(judged).enumerate() {
            let holds = self.holds(&judged);
            brackets[place / FIRST.len()].put(trial.factor, judged, holds);
        }
        brackets
    }

    /// Doubles the factor where everything has held so far, and closes in on the largest one.
    fn settle(&mut self, brackets: &mut [Bracket]) {
        brackets.iter_mut().for_each(|bracket| bracket.slow = 0);
        let grow = |bracket: &Bracket| {
            let largest = bracket.holds().filter(|&largest| bracket.fails().is_none() && largest < MOST);
            largest.map(|largest| 2.0 * largest).into_iter().collect()
        };
        while self.round(brackets, grow) {}
        let close = |bracket: &Bracket| bracket.closing().into_iter().collect();
        while self.round(brackets, close) {}
    }

    /// Tries more factors in each bracket that asks for any; says whether any did.
    fn round(&mut self, brackets: &mut [Bracket], next: impl Fn(&Bracket) -> Vec<f64>) -> bool {
        let asks = brackets.iter().zip(&self.bench.question.at).enumerate();
        let asks = asks.flat_map(|(place, (bracket, &at))| {
            next(bracket).into_iter().map(move |factor| (place, Trial { at, factor }))
        });
        let (places, trials): (Vec<usize>, Vec<Trial>) = asks.unzip();
        for ((place, trial), judged) in places.iter().zip(&trials).zip(self.bench.judge(&trials)) {
            let holds = self.holds(&judged);
            brackets[*place].close(trial.factor, judged, holds);
        }
        !trials.is_empty()
    }

    fn holds(&self, judged: &Judged) -> bool {
        judged.limit.is_none() && judged.open.is_subset(&self.known_open)
    }

    /// Points of the curve, each with what limits it.
    fn points(&mut self, brackets: &[Bracket]) -> Vec<Point> {
        let at = self.bench.question.at.clone();
        let trial = |at: f64, factor: f64| Trial { at, factor };
        let above: Vec<Trial> =
            brackets.iter().zip(&at).map(|(one, &at)| trial(at, one.fails().unwrap_or(MOST))).collect();
        let below: Vec<Trial> =
            brackets.iter().zip(&at).map(|(one, &at)| trial(at, one.holds().unwrap_or(0.0))).collect();
        let mut points = Vec::with_capacity(at.len());
        for (place, (above, below)) in above.chunks(TOGETHER / 2).zip(below.chunks(TOGETHER / 2)).enumerate()
        {
            let both: Vec<Trial> = above.iter().chain(below).copied().collect();
            let wide = self.bench.wide(&both);
            let solved = Solved::without_shares(&wide.variant);
            let verdicts = self.bench.verdicts(&solved);
            let judged = self.bench.sorted(&wide, &solved, &verdicts, both.len());
            for (own, one) in above.iter().enumerate() {
                let bracket = &brackets[place * (TOGETHER / 2) + own];
                let limit = bracket.fails().and_then(|_| {
                    let limit = judged[own].limit.clone();
                    let limit = limit.or_else(|| self.not_judged(&wide, &solved, &verdicts, own))?;
                    let holding = bracket.holds().and_then(|_| {
                        let duty = wide.duty(above.len() + own);
                        let mut own = verdicts.iter().filter(|verdict| verdict.duty() == Some(duty));
                        own.find(|verdict| identity(verdict) == (limit.part, limit.check, limit.defect))
                    });
                    Some(match (holding.and_then(Verdict::comparison), &limit.way) {
                        (Some(compared), Way::Exceeds(_)) => Limit { way: Way::Exceeds(*compared), ..limit },
                        _ => limit,
                    })
                });
                let lighter = bracket.lighter().and_then(|(factor, judged, _)| {
                    let open = || judged.open.difference(&self.known_open).next().copied();
                    let limit = judged.limit.clone().or_else(|| {
                        let (part, check, defect) = open()?;
                        Some(Limit { check, part, defect, way: Way::NotJudged(Vec::new()) })
                    });
                    Some((*factor, limit?))
                });
                let accepted = bracket.place().map(|place| bracket.tried[place].1.accepted.iter().copied());
                let accepted = accepted.into_iter().flatten().collect();
                points.push(Point { at: one.at, factor: bracket.holds(), lighter, limit, accepted });
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
            .zip(&self.bench.question.at)
            .find_map(|(one, &at)| Some(Trial { at, factor: one.holds()? }));
        let Some(trial) = found.filter(|_| !self.known_open.is_empty()) else { return Vec::new() };
        let wide = self.bench.wide(&[trial]);
        let solved = Solved::without_shares(&wide.variant);
        let mut said: Vec<String> = Vec::new();
        for verdict in self.bench.verdicts(&solved) {
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
