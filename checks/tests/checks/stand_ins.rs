//! Checks made for a test: of functions, each of which does nothing until a test says otherwise.

use loadworthy_checks::check::{Failure, Family, Told};
use loadworthy_checks::list::by_name;
use loadworthy_checks::review::review_with;
use loadworthy_checks::{About, Check, Review, Verdicts};
use loadworthy_unit::Solved;

use crate::descriptions::{unit, unit_despite_problems};

/// A check made of functions.
pub(crate) struct StandIn {
    pub(crate) about: &'static About,
    pub(crate) judge: fn(&Solved<'_>, &mut Verdicts),
    pub(crate) tell: fn(&Failure<'_>, &Solved<'_>) -> Option<Told>,
    pub(crate) propose: fn(&Failure<'_>, &Solved<'_>) -> Vec<Family>,
}

impl StandIn {
    /// Judges nothing, has no words and proposes nothing.
    pub(crate) const fn idle(about: &'static About) -> Self {
        Self { about, judge: |_, _| {}, tell: |_, _| None, propose: |_, _| Vec::new() }
    }
}

impl Check for StandIn {
    fn about(&self) -> &'static About {
        self.about
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        (self.judge)(solved, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        (self.tell)(failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        (self.propose)(failure, solved)
    }
}

/// A check that judges all variants together; the rest is that of a stand-in.
pub(crate) struct Together {
    pub(crate) rest: StandIn,
    pub(crate) judge_unit: fn(&[&Solved<'_>], &mut [Verdicts]),
}

impl Check for Together {
    fn about(&self) -> &'static About {
        self.rest.about
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        (self.rest.judge)(solved, out);
    }

    fn judges_variants_together(&self) -> bool {
        true
    }

    fn judge_unit(&self, all: &[&Solved<'_>], out: &mut [Verdicts]) {
        (self.judge_unit)(all, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        (self.rest.tell)(failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        (self.rest.propose)(failure, solved)
    }
}

/// What a stand-in is called and asks.
pub(crate) const fn about(
    name: &'static str,
    question: &'static str,
    defects: &'static [(&'static str, &'static str)],
) -> About {
    About {
        name,
        former_names: &[],
        question,
        page: "",
        fails: "",
        holds: "",
        defects,
        policy: &[],
        since: 2026,
    }
}

/// A check of the list.
pub(crate) fn listed(name: &str) -> &'static dyn Check {
    by_name(name).expect(name)
}

/// The review with some checks of a description of which something cannot be read.
pub(crate) fn reviewed_despite_problems(checks: &[&'static dyn Check], text: &str) -> Review {
    review_with(checks, &unit_despite_problems(text))
}

/// The review of a description with some checks.
pub(crate) fn reviewed_with(checks: &[&'static dyn Check], text: &str) -> Review {
    review_with(checks, &unit(text))
}
