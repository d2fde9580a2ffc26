//! What a mission came to, for a person and for a program; no figure is reckoned here.

pub(crate) mod terminal;

use loadworthy_checks::mission::{Tally, Worst};
use loadworthy_checks::verdict::{Grade, Outcome as Verdict, When};
use loadworthy_unit::{Mission, Variant};

use crate::outcome::Outcome;

/// A mission and what it came to.
pub(crate) struct Course<'u> {
    pub(crate) variant: &'u Variant,
    pub(crate) mission: &'u Mission,
    pub(crate) tally: &'u Tally,
}

impl Course<'_> {
    /// How the command ends.
    pub(crate) fn outcome(&self) -> Outcome {
        let all = || self.tally.worst.values();
        let is_major =
            |worst: &Worst| matches!(worst.verdict.outcome, Verdict::Fails { grade: Grade::Major, .. });
        if all().any(is_major) {
            Outcome::Fails
        } else if all().any(|worst| worst.not_judged > 0) || self.tally.not_followed > 0 {
            Outcome::NotJudged
        } else {
            Outcome::Holds
        }
    }

    /// The worst of every verdict, worst first; each as a verdict on the duty point that its row is made of.
    pub(crate) fn worst(&self) -> Vec<Worst> {
        let mut all: Vec<Worst> = self.tally.worst.values().cloned().collect();
        for worst in &mut all {
            let same = |lane: &loadworthy_unit::LaneId| self.variant.lane(*lane).duty == worst.duty;
            let alike =
                |lane: &loadworthy_unit::LaneId| (self.variant.lane(*lane).crest == 1) == worst.stands;
            let lanes = || self.variant.lane_ids().filter(same);
            let lane = lanes().find(alike).or_else(|| lanes().next());
            if let Some(lane) = lane {
                worst.verdict.when = When::In { duty: worst.duty, lane };
            }
        }
        all.sort_by(|a, b| {
            let order = |one: &Worst| (!one.verdict.fails(), one.verdict.rank());
            let (a, b) = (order(a), order(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        all
    }
}
