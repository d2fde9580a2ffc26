//! How a variant stands before a change, and whether a change leaves it better and no worse.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use loadworthy_unit::{DutyId, PartId, Variant};

use super::anew::Judged;
use super::group::Key;
use crate::verdict::{Fault, Outcome, Verdict};

/// A verdict apart from how it ended.
type Identity = (&'static str, PartId, &'static str, Option<DutyId>);

fn identity_of(verdict: &Verdict) -> Identity {
    (verdict.check, verdict.part, verdict.defect, verdict.duty())
}

/// A failure as it stands before a change.
struct Failing<'u> {
    key: Key<'u>,
    /// Whether it says that there is no solution.
    is_unsolved: bool,
}

/// Which verdicts on a variant fail, and which are not given.
pub(super) struct Standing<'s, 'u> {
    variant: &'u Variant,
    failing: BTreeMap<Identity, Failing<'u>>,
    not_judged: BTreeSet<Identity>,
    verdicts: &'s [Verdict],
    /// What a check said anything of, by part and duty point; gathered once it is asked for, as few trials leave anything open.
    judged: OnceLock<BTreeSet<(&'static str, PartId, Option<DutyId>)>>,
}

impl<'s, 'u> Standing<'s, 'u> {
    pub(super) fn of(verdicts: &'s [Verdict], variant: &'u Variant) -> Self {
        let failing = verdicts.iter().filter_map(|verdict| {
            let is_unsolved = matches!(verdict.fault()?, Fault::Unsolved { .. });
            Some((identity_of(verdict), Failing { key: Key::of(verdict, variant), is_unsolved }))
        });
        let not_judged = verdicts.iter().filter(|v| matches!(v.outcome, Outcome::NotJudged(_)));
        Self {
            variant,
            failing: failing.collect(),
            not_judged: not_judged.map(identity_of).collect(),
            verdicts,
            judged: OnceLock::new(),
        }
    }

    /// Whether a check said anything of a part in a duty point.
    fn is_judged(&self, check: &'static str, part: PartId, duty: Option<DutyId>) -> bool {
        let judged = || {
            let given = self.verdicts.iter().filter(|v| !matches!(v.outcome, Outcome::NotJudged(_)));
            given.map(|v| (v.check, v.part, v.duty())).collect()
        };
        self.judged.get_or_init(judged).contains(&(check, part, duty))
    }

    /// Whether the finding is among the failures.
    pub(super) fn has(&self, key: &Key<'_>) -> bool {
        self.failing.values().any(|failing| failing.key == *key)
    }

    /// Whether a trial judges all that failed with the finding and finds that it holds, and harms nothing.
    pub(super) fn is_mended(&self, key: &Key<'_>, tried: &Judged<'_>) -> bool {
        // What was not judged before, such as in a duty point without a solution, need not be judged now.
        let is_open = |verdict: &Verdict| match verdict.outcome {
            Outcome::Holds(_) => false,
            Outcome::NotJudged(_) if self.not_judged.contains(&identity_of(verdict)) => false,
            _ => Key::of(verdict, self.variant) == *key,
        };
        let mut cured = self.failing.iter().filter(|(_, failing)| failing.key == *key);
        !self.is_harmed(tried)
            && !tried.of_check(key.check).any(is_open)
            && cured.all(|(identity, failing)| is_cured(identity, failing, tried))
    }

    /// Whether a trial fails what held or leaves open what was judged.
    pub(super) fn is_harmed(&self, tried: &Judged<'_>) -> bool {
        tried.iter().any(|verdict| match verdict.outcome {
            Outcome::Holds(_) => false,
            // Of a part that a check left open it may leave one thing more open, such as one that was no matter before.
            Outcome::NotJudged(_) => {
                !self.not_judged.contains(&identity_of(verdict))
                    && self.is_judged(verdict.check, verdict.part, verdict.duty())
            }
            Outcome::Fails { .. } => !self.fails_already(verdict),
        })
    }

    /// Whether what fails in a trial failed before: there, or, where nothing was known of that duty point, in another.
    fn fails_already(&self, verdict: &Verdict) -> bool {
        let identity = identity_of(verdict);
        self.failing.contains_key(&identity)
            || (self.not_judged.contains(&identity) && self.has(&Key::of(verdict, self.variant)))
    }
}

/// Whether a trial says that what failed holds; a failure that is merely no longer spoken of is not cured.
fn is_cured(identity: &Identity, failing: &Failing<'_>, tried: &Judged<'_>) -> bool {
    let holds = |verdict: &&Verdict| matches!(verdict.outcome, Outcome::Holds(_));
    let (check, part, defect, duty) = *identity;
    let is_same = |v: &&Verdict| v.part == part && v.duty() == duty && v.defect == defect;
    if let Some(same) = tried.of_check(check).find(is_same) {
        return holds(&same);
    }
    // A comparison may give way to another one of the same part. Where there was no solution the check, now that there
    // is one, speaks of other parts.
    let mut instead =
        tried.of_check(check).filter(|v| v.duty() == duty && (failing.is_unsolved || v.part == part));
    if failing.is_unsolved {
        instead.any(|verdict| holds(&verdict))
    } else {
        instead.next().is_some_and(|verdict| holds(&verdict)) && instead.all(|verdict| holds(&verdict))
    }
}
