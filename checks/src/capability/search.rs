//! Finds the largest load for all values of the condition at once, and says what limits it.

use std::collections::BTreeSet;

use loadworthy_unit::{Cause, PartId, Solved};

use super::bench::{Bench, Identity, Judged, Trial, identity};
use super::bracket::{self, Bracket, FIRST, HEAVY};
use super::{Anyway, Curve, Limit, Point, Question, Way};
use crate::cause::missing_text;
use crate::review::explained;
use crate::verdict::{Missing, Outcome, Verdict};

/// The largest load for every value of the condition.
#[must_use]
pub fn curve(question: &Question<'_>) -> Curve {
    let mut search = Search { bench: Bench::new(question), known_open: BTreeSet::new() };
    let mut brackets = search.bracket();
    bracket::seek(&mut brackets, &mut |asks| search.judge(asks));
    let points = search.points(&brackets);
    let longest = search.longest();
    let open = search.open(&brackets);
    let anyway = search.bench.anyway.into_iter();
    let anyway = anyway.map(|(part, check, defect)| Anyway { check, part, defect }).collect();
    Curve { points, longest, anyway, open, broken: search.bench.broken }
}

pub(super) struct Search<'q, 'u> {
    pub(super) bench: Bench<'q, 'u>,
    /// What no trial at all could be judged in: something is missing from the description.
    known_open: BTreeSet<Identity>,
}

impl Search<'_, '_> {
    /// Tries the first factors everywhere.
    fn bracket(&mut self) -> Vec<Bracket> {
        let at = self.bench.question.at.clone();
        let everywhere = (0..at.len()).flat_map(|place| FIRST.map(|factor| (place, factor)));
        let ends = (0..at.len()).filter(|&place| place == 0 || place + 1 == at.len());
        let asks: Vec<(usize, f64)> = everywhere.chain(ends.map(|place| (place, HEAVY))).collect();
        let trials: Vec<Trial> =
            asks.iter().map(|&(place, factor)| Trial { at: at[place], factor }).collect();
        let mut judged = self.bench.judge(&trials);
        let mut solved = judged.iter().filter(|one| one.is_solved).map(|one| &one.open);
        if let Some(first) = solved.next().cloned() {
            self.known_open = solved.fold(first, |known, one| known.intersection(one).copied().collect());
        }
        // What is not judged in some trials, of a heavy load or at an end of the condition, fails there as far as anyone knows.
        let solved = || trials.iter().zip(&judged).filter(|(_, one)| one.is_solved);
        let without_load = solved().filter(|(trial, _)| trial.factor <= 0.0);
        let mut anyway: BTreeSet<Identity> =
            without_load.flat_map(|(_, one)| &one.failing).map(identity).collect();
        anyway.retain(|own| solved().all(|(_, one)| one.fails(*own) || one.open.contains(own)));
        judged.iter_mut().for_each(|one| one.limit_beside(&anyway));
        self.bench.anyway = anyway;
        let mut brackets = vec![Bracket::default(); at.len()];
        for ((place, factor), judged) in asks.into_iter().zip(judged) {
            let holds = self.holds(&judged);
            brackets[place].put(factor, judged, holds);
        }
        brackets
    }

    /// Tries factors, each at a value of the condition by its place; says of each how it was judged and whether it holds.
    fn judge(&mut self, asks: &[(usize, f64)]) -> Vec<(Judged, bool)> {
        let at = &self.bench.question.at;
        let trials: Vec<Trial> =
            asks.iter().map(|&(place, factor)| Trial { at: at[place], factor }).collect();
        let judged = self.bench.judge(&trials);
        let with_verdict = |judged: Judged| {
            let holds = self.holds(&judged);
            (judged, holds)
        };
        judged.into_iter().map(with_verdict).collect()
    }

    pub(super) fn holds(&self, judged: &Judged) -> bool {
        judged.limit.is_none() && judged.open.is_subset(&self.known_open)
    }

    /// Points of the curve, each with what limits it.
    fn points(&mut self, brackets: &[Bracket]) -> Vec<Point> {
        let at = self.bench.question.at.clone();
        let of = |(bracket, at): (&Bracket, f64)| Point {
            at,
            factor: bracket.largest_factor(),
            limit: self.limit(bracket, at),
            lighter: bracket.lighter().and_then(|(factor, judged, _)| {
                Some((*factor, judged.limit.clone().or_else(|| self.unjudged(judged))?))
            }),
            accepted: bracket.largest().into_iter().flat_map(|judged| &judged.accepted).copied().collect(),
        };
        brackets.iter().zip(at).map(of).collect()
    }

    /// What does not hold just above the largest load, compared as at the largest load where it is compared.
    fn limit(&mut self, bracket: &Bracket, at: f64) -> Option<Limit> {
        let (factor, known, _) = bracket.failing()?;
        let limit = match &known.limit {
            Some(limit) => limit.clone(),
            None => self.not_judged(Trial { at, factor: *factor }).or_else(|| self.unjudged(known))?,
        };
        let (Way::Exceeds(_), Some(largest)) = (&limit.way, bracket.largest()) else { return Some(limit) };
        let of = (limit.part, limit.check, limit.defect);
        let compared = |own: &[&Verdict]| {
            own.iter()
                .find(|verdict| identity(verdict) == of)
                .and_then(|verdict| verdict.comparison().copied())
        };
        let holding = largest.compared(of).or_else(|| {
            let factor = bracket.holds()?;
            self.alone(Trial { at, factor }, |_, own| compared(own))
        });
        Some(Limit { way: holding.map_or(limit.way.clone(), Way::Exceeds), ..limit })
    }

    /// Solves and judges a trial by itself, for a look at what all checks say of it.
    fn alone<T>(&mut self, trial: Trial, look: impl FnOnce(&Solved<'_>, &[&Verdict]) -> T) -> T {
        let wide = self.bench.wide(&[trial]);
        let solved = Solved::without_shares(&wide.variant);
        let verdicts = self.bench.verdicts(&solved);
        let own: Vec<&Verdict> =
            verdicts.iter().filter(|verdict| verdict.duty() == Some(wide.duty(0))).collect();
        look(&solved, &own)
    }

    /// What is not judged in a trial that was judged before, without a word why.
    pub(super) fn unjudged(&self, judged: &Judged) -> Option<Limit> {
        let &(part, check, defect) = judged.open.difference(&self.known_open).next()?;
        Some(Limit { check, part, defect, way: Way::NotJudged(Vec::new()) })
    }

    /// What is not judged in a trial although the description says all that it needs.
    fn not_judged(&mut self, trial: Trial) -> Option<Limit> {
        let known_open = self.known_open.clone();
        self.alone(trial, |solved, own| {
            let open =
                || own.iter().filter(|verdict| is_open(verdict) && !known_open.contains(&identity(verdict)));
            let first = open().next()?;
            // Where it was lost there may be a verdict on that very part, such as on the coolant.
            let lost = lost_at(first, solved);
            let verdict = open().find(|verdict| Some(verdict.part) == lost).unwrap_or(first);
            let way = Way::NotJudged(why(verdict, solved));
            Some(Limit { check: verdict.check, part: verdict.part, defect: verdict.defect, way })
        })
    }

    /// What is not judged at all, in sentences.
    fn open(&mut self, brackets: &[Bracket]) -> Vec<String> {
        let found = brackets
            .iter()
            .zip(&self.bench.question.at)
            .find_map(|(one, &at)| Some(Trial { at, factor: one.holds()? }));
        let Some(trial) = found.filter(|_| !self.known_open.is_empty()) else { return Vec::new() };
        let known_open = self.known_open.clone();
        self.alone(trial, |solved, own| {
            let mut said: Vec<String> = Vec::new();
            for verdict in own.iter().filter(|one| is_open(one) && known_open.contains(&identity(one))) {
                for why in why(verdict, solved) {
                    let line = format!("{} ({})", why, verdict.check);
                    if !said.contains(&line) {
                        said.push(line);
                    }
                }
            }
            said
        })
    }
}

const fn is_open(verdict: &Verdict) -> bool {
    matches!(verdict.outcome, Outcome::NotJudged(_))
}

/// The part at which a law was asked beyond its range, or beyond a curve or an input, for a verdict that is not given.
fn lost_at(verdict: &Verdict, solved: &Solved<'_>) -> Option<PartId> {
    let Outcome::NotJudged(missing) = explained(verdict, solved).outcome else { return None };
    let mut lost = missing.iter().filter_map(|one| match one {
        Missing::Cause(Cause::Beyond { figure, reach: Some(_), .. }) => Some(*figure),
        _ => None,
    });
    lost.next().map(|figure| solved.variant.tables.figure_of(figure).part)
}

/// Why a verdict is not given, in sentences.
fn why(verdict: &Verdict, solved: &Solved<'_>) -> Vec<String> {
    let Outcome::NotJudged(missing) = explained(verdict, solved).outcome else { return Vec::new() };
    let variant = solved.variant;
    // A number outside a range says more than the laws that wait for it.
    let is_plain = |one: &Missing| matches!(one, Missing::Cause(Cause::Beyond { reach: None, .. }));
    let says_more = missing.iter().any(|one| !is_plain(one));
    let said = missing.into_iter().filter(|one| !says_more || !is_plain(one)).map(|one| {
        let text = missing_text(variant, verdict.duty(), one);
        let duty = one.duty(verdict).map_or("*", |duty| variant.duties[duty.index()].name.as_str());
        format!("{} {}", text.subject_in(duty), text.trouble).trim_end().to_owned()
    });
    said.collect()
}
