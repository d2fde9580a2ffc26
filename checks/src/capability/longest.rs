//! How long a duty point may last as it asks.

use super::Limit;
use super::bench::{Judged, Trial};
use super::condition::is_followed;
use super::search::Search;

/// How long what is asked holds.
#[derive(Clone, Debug)]
pub struct Longest {
    /// The longest time in s at which all holds, going up from the shortest that was asked for.
    pub lasts: f64,
    /// What does not hold beyond; none where all holds up to the longest that was asked for.
    pub limit: Option<Limit>,
}

/// Times tried between two, round after round: what is left is a four-thousandth of what was between two values.
const BETWEEN: usize = 7;
const ROUNDS: usize = 4;

impl Search<'_, '_> {
    /// How long the duty point may last, where that is what varies; none where it does not hold for the shortest time.
    pub(super) fn longest(&mut self) -> Option<Longest> {
        let question = self.bench.question;
        let variant = &question.unit.variants[question.variant];
        if !is_followed(variant, question.duty, question.condition.input) {
            return None;
        }
        let asked = question.at.clone();
        let (mut holds, mut fails) = self.first_failing(&asked)?;
        for _ in 0..ROUNDS {
            let Some((end, _)) = &fails else { break };
            let step = (end - holds) / (BETWEEN + 1) as f64;
            let between: Vec<f64> = (0..=BETWEEN).map(|place| step.mul_add(place as f64, holds)).collect();
            if let Some((longest, failing)) = self.first_failing(&between) {
                holds = longest;
                fails = failing.or(fails);
            }
        }
        let limit = fails.and_then(|(_, judged)| judged.limit.clone().or_else(|| self.unjudged(&judged)));
        Some(Longest { lasts: holds, limit })
    }

    /// The last of some rising times at which all holds, and the next one, at which something does not.
    fn first_failing(&mut self, times: &[f64]) -> Option<(f64, Option<(f64, Judged)>)> {
        let trials: Vec<Trial> = times.iter().map(|&at| Trial { at, factor: 1.0 }).collect();
        let judged = self.bench.judge(&trials);
        let place = judged.iter().position(|one| !self.holds(one));
        let last = place.unwrap_or(times.len()).checked_sub(1)?;
        Some((times[last], place.map(|place| (times[place], judged[place].clone()))))
    }
}
