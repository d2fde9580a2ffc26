//! The loads that were tried at one value of the condition, and which to try next.

use super::bench::Judged;
use super::{MOST, between};

/// Factors that are tried first: from no load up, so that what fails at light load alone is seen too.
pub(super) const FIRST: [f64; 6] = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0];
/// Factors above what is asked: these two, then ever twice as much, as long as everything holds.
const ABOVE: [f64; 2] = [1.25, 2.0];
/// The factor that is tried first as well, at both ends of the condition: what fails at any load fails there too.
pub(super) const HEAVY: f64 = 2.0;
/// What is asked.
pub(super) const ASKED: f64 = 1.0;
/// Share of a factor to which the largest one is found.
const CLOSE: f64 = 1e-5;
/// A factor below this is next to no load.
const LEAST: f64 = 0.01;
/// A factor below this is what the search leaves of no load at all.
const NO_LOAD: f64 = 1e-5;
/// Rounds that may leave more than half of a bracket before it is halved.
const SLOW: u8 = 2;

/// Takes loads with the places of their values of the condition, and says of each how it was judged and whether it holds.
pub(super) type Judge<'j> = dyn FnMut(&[(usize, f64)]) -> Vec<(Judged, bool)> + 'j;

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
    #[cfg(test)]
    pub(super) fn of(tried: Vec<(f64, Judged, bool)>) -> Self {
        Self { tried, ..Self::default() }
    }

    pub(super) fn put(&mut self, factor: f64, judged: Judged, holds: bool) {
        let place = self.tried.partition_point(|&(known, ..)| known < factor);
        self.tried.insert(place, (factor, judged, holds));
    }

    /// The place of the largest load: up from what is asked as long as everything holds, or down from it to where it does.
    pub(super) fn place(&self) -> Option<usize> {
        let asked = self.tried.iter().rposition(|&(factor, _, holds)| factor <= ASKED && holds)?;
        let beyond = self.tried[asked..].iter().position(|&(.., holds)| !holds);
        Some(beyond.map_or(self.tried.len(), |beyond| asked + beyond) - 1)
    }

    /// How that was judged.
    pub(super) fn largest(&self) -> Option<&Judged> {
        self.place().map(|place| &self.tried[place].1)
    }

    /// The largest factor known to hold.
    pub(super) fn holds(&self) -> Option<f64> {
        self.place().map(|place| self.tried[place].0)
    }

    /// The same as it is told: what only just differs from no load is none.
    pub(super) fn largest_factor(&self) -> Option<f64> {
        self.holds().map(|factor| if factor < NO_LOAD { 0.0 } else { factor })
    }

    /// The least factor above it that is known not to, with how it was judged; the least of all where none holds.
    pub(super) fn failing(&self) -> Option<&(f64, Judged, bool)> {
        self.tried.get(self.place().map_or(0, |place| place + 1))
    }

    pub(super) fn fails(&self) -> Option<f64> {
        self.failing().map(|&(factor, ..)| factor)
    }

    /// The nearest lighter load that does not hold.
    pub(super) fn lighter(&self) -> Option<&(f64, Judged, bool)> {
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

    /// Takes a trial that was to close it, or that lies beside its ends.
    fn take(&mut self, factor: f64, judged: Judged, holds: bool) {
        let width = |(low, high): (f64, f64)| high - low;
        let before = self.holds().zip(self.fails());
        self.put(factor, judged, holds);
        let after = self.holds().zip(self.fails());
        // One beside changes nothing, or the place of the largest load.
        if before.is_none_or(|(low, high)| factor <= low || high <= factor) {
            self.slow = if after == before { self.slow } else { 0 };
            return;
        }
        let slow = before.zip(after).is_some_and(|(before, after)| width(after) > 0.5 * width(before));
        self.slow = if slow { self.slow + 1 } else { 0 };
        self.last_held = holds;
    }
}

/// Tries loads for all values of the condition at once until the largest one is known at each, and looks between them.
pub(super) fn seek(brackets: &mut [Bracket], judge: &mut Judge<'_>) {
    let grow = |bracket: &Bracket| {
        let largest = bracket.holds().filter(|&largest| bracket.fails().is_none() && largest < MOST);
        let above = |largest| ABOVE.into_iter().find(|&above| largest < above).unwrap_or(2.0 * largest);
        largest.map(above).into_iter().collect()
    };
    while round(brackets, judge, grow) {}
    settle(brackets, judge);
    for _ in 0..between::MOST_PROBES {
        if !round(brackets, judge, |bracket| between::dip(bracket).into_iter().collect()) {
            return;
        }
        settle(brackets, judge);
    }
}

/// Closes in on the largest load, with the even steps below it beside: few trials together leave cores without work.
fn settle(brackets: &mut [Bracket], judge: &mut Judge<'_>) {
    brackets.iter_mut().for_each(|bracket| bracket.slow = 0);
    let next = |bracket: &Bracket| {
        let mut next = between::untried(bracket);
        next.extend(bracket.closing());
        next
    };
    while round(brackets, judge, next) {}
}

/// Tries more loads in each bracket that asks for any; says whether any did.
fn round(brackets: &mut [Bracket], judge: &mut Judge<'_>, next: impl Fn(&Bracket) -> Vec<f64>) -> bool {
    let asks = brackets.iter().enumerate();
    let asks = asks.flat_map(|(place, bracket)| next(bracket).into_iter().map(move |load| (place, load)));
    let asks: Vec<(usize, f64)> = asks.collect();
    if asks.is_empty() {
        return false;
    }
    for (&(place, load), (judged, holds)) in asks.iter().zip(judge(&asks)) {
        brackets[place].take(load, judged, holds);
    }
    true
}

#[cfg(test)]
mod tests;
