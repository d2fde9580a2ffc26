//! The day that permits are held against. The clock is read here and nowhere else, and only where a permit asks for it.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::Offset;
use loadworthy_checks::Review;
use loadworthy_checks::review::accepted_on;
use loadworthy_unit::{Permit, Unit};

/// A day, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Day {
    pub(crate) date: Date,
    pub(crate) from: DayFrom,
}

/// Where a day comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DayFrom {
    /// The person asked for it.
    Asked,
    /// The clock of the system, in UTC, so that it is the same day on every machine.
    Clock,
}

impl DayFrom {
    /// The words for a program.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Asked => "--on",
            Self::Clock => "system clock, UTC",
        }
    }
}

/// What the permits of a judged unit accept on a day.
pub(crate) struct Accepted<'u> {
    unit: &'u Unit,
    /// The day; none without permits.
    pub(crate) day: Option<Day>,
    failures: BTreeMap<(usize, usize), usize>,
}

impl<'u> Accepted<'u> {
    /// Holds the permits of a unit against how it is judged.
    pub(crate) fn of(unit: &'u Unit, review: &Review, asked: Option<Date>) -> Self {
        Self::on(unit, review, day(unit, asked))
    }

    /// The same on a day that is known already.
    pub(crate) fn on(unit: &'u Unit, review: &Review, day: Option<Day>) -> Self {
        let failures = day.map(|day| accepted_on(unit, &review.verdicts, day.date)).unwrap_or_default();
        Self { unit, day, failures }
    }

    /// The permit that accepts a failure, by the places of its variant and its verdict.
    pub(crate) fn by(&self, variant: usize, verdict: usize) -> Option<&'u Permit> {
        self.unit.permits.get(*self.failures.get(&(variant, verdict))?)
    }
}

/// The day that a unit's permits are held against; none where it has no permits, so that nothing hangs on a clock.
pub(crate) fn day(unit: &Unit, asked: Option<Date>) -> Option<Day> {
    if unit.permits.is_empty() {
        return None;
    }
    Some(match asked {
        Some(date) => Day { date, from: DayFrom::Asked },
        None => Day { date: Offset::UTC.to_datetime(jiff::Timestamp::now()).date(), from: DayFrom::Clock },
    })
}
