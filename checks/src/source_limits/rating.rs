//! Which of a source's ratings counts for how long a duty point lasts.

use loadworthy_unit::plan::{Source, SourceLimit};
use loadworthy_unit::{Cause, Duty, InputId, LaneId, Solved};

use crate::verdict::Missing;

/// Which way the current runs.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// Out of the source.
    Giving,
    /// Into it.
    Taking,
}

/// Ratings of the current, each with how long it may last.
pub(super) fn of_current(source: &Source, way: Way) -> &[SourceLimit] {
    match way {
        Way::Taking if source.is_battery => &source.limits.charge,
        // A generator or a fuel cell that says it takes power is held against what it gives.
        Way::Giving | Way::Taking => &source.limits.discharge,
    }
}

/// A rating that covers a duty point.
pub(super) struct Rating {
    pub(super) limit: f64,
    pub(super) input: InputId,
    /// How long it may last in s; infinite for good.
    pub(super) lasts: f64,
    /// The highest rating that lasts less long.
    pub(super) highest: Option<f64>,
    /// How often the shortest-spaced of the peaks may recur that would last long enough, in s, where the duty point recurs sooner.
    pub(super) too_often: Option<f64>,
}

/// Why no rating covers a duty point.
pub(super) enum NoRating {
    /// None is stated at all.
    NoneStated,
    /// Those that are stated do not last for good, nor as long as the duty point.
    NotForGood,
    /// It is stated, and could not be read.
    Unread(InputId),
}

impl NoRating {
    /// The missing value by name.
    pub(super) fn named(&self, source: &Source, key: &'static str) -> Vec<Missing> {
        let key = match (self, key) {
            (Self::Unread(input), _) => return vec![Missing::Cause(Cause::Input(*input))],
            (Self::NoneStated, key) => key,
            (Self::NotForGood, "charge") => "charge.continuous",
            (Self::NotForGood, "power") => "power.continuous",
            (Self::NotForGood, _) => "discharge.continuous",
        };
        vec![Missing::Key { of: source.part, key }]
    }
}

/// What a duty point asks of a rating.
#[derive(Clone, Copy)]
pub(super) struct Asks {
    /// How long it has to last in s; for good where absent.
    pub(super) lasts: Option<f64>,
    /// How often it recurs, where it does.
    every: Option<f64>,
    /// In a row of a mission, the peaks that recur too soon.
    too_soon: u64,
}

impl Asks {
    /// For good.
    pub(super) const FOR_GOOD: Self = Self { lasts: None, every: None, too_soon: 0 };

    /// What a duty point asks.
    pub(super) fn of(duty: &Duty) -> Self {
        Self { lasts: duty.asks_for(), every: duty.every, too_soon: duty.too_soon }
    }

    /// Whether a peak would have to be further from the next.
    fn is_too_often(self, limit: &SourceLimit) -> bool {
        let is_soon = limit.place < 62 && self.too_soon >> limit.place & 1 == 1;
        is_soon || self.every.is_some_and(|every| every < limit.every)
    }
}

impl Rating {
    /// The highest of the ratings that last as long as the duty point and may recur as often; for one without an end, that for
    /// good.
    pub(super) fn of(
        limits: &[SourceLimit],
        asks: Asks,
        solved: &Solved<'_>,
        lane: LaneId,
    ) -> Result<Self, NoRating> {
        let needed = asks.lasts.unwrap_or(f64::INFINITY);
        let mut best: Option<Self> = None;
        let mut highest: Option<f64> = None;
        let mut too_often: Option<f64> = None;
        for of in limits {
            let &SourceLimit { lasts, every: apart, most: input, .. } = of;
            let limit = solved.input(input, lane).ok_or(NoRating::Unread(input))?;
            if lasts >= needed && asks.is_too_often(of) {
                too_often = Some(too_often.map_or(apart, |least| least.min(apart)));
            } else if lasts >= needed {
                if best.as_ref().is_none_or(|best| limit > best.limit) {
                    best = Some(Self { limit, input, lasts, highest: None, too_often: None });
                }
            } else {
                highest = Some(highest.map_or(limit, |most| most.max(limit)));
            }
        }
        match best {
            Some(best) => Ok(Self { highest, too_often, ..best }),
            None if limits.is_empty() => Err(NoRating::NoneStated),
            None => Err(NoRating::NotForGood),
        }
    }
}
