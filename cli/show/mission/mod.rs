//! What a mission came to, for a person and for a program; no figure is reckoned here.

pub(crate) mod rows;
pub(crate) mod terminal;

use loadworthy_checks::cause::cause_text;
use loadworthy_checks::mission::{Lost, Tally, Worst};
use loadworthy_checks::verdict::{Grade, Outcome as Verdict, When};
use loadworthy_unit::{Cause, Mission, Permit, Unit, Variant};

use crate::mission::accepted;
use crate::outcome::Outcome;
use crate::permits::Day;

/// A mission and what it came to.
pub(crate) struct Course<'u> {
    pub(crate) variant: &'u Variant,
    pub(crate) mission: &'u Mission,
    pub(crate) tally: &'u Tally,
    /// The worst of every verdict, worst first; each as a verdict on the duty point that its row is made of.
    pub(crate) worst: Vec<Worst>,
    /// The permit that accepts each of them.
    pub(crate) accepted: Vec<Option<&'u Permit>>,
    /// The day that permits were held against; none without permits.
    pub(crate) day: Option<Day>,
}

impl<'u> Course<'u> {
    /// Holds what a mission came to against the permits of a day.
    pub(crate) fn of(
        unit: &'u Unit,
        (variant, mission): (&'u Variant, &'u Mission),
        tally: &'u Tally,
        day: Option<Day>,
    ) -> Self {
        let mut worst = worst(variant, tally);
        let mut found = match day {
            Some(day) => accepted(unit, variant, &worst, day.date),
            None => vec![None; worst.len()],
        };
        if found.iter().any(Option::is_some) {
            // What is accepted stands behind what fails.
            let mut both: Vec<(Worst, Option<&'u Permit>)> = worst.into_iter().zip(found).collect();
            both.sort_by_key(|(worst, permit)| (!worst.verdict.fails(), permit.is_some()));
            (worst, found) = both.into_iter().unzip();
        }
        Self { variant, mission, tally, worst, accepted: found, day }
    }

    /// How the command ends.
    pub(crate) fn outcome(&self) -> Outcome {
        let all = || self.worst.iter();
        let is_major = |(worst, permit): (&Worst, &Option<&Permit>)| {
            permit.is_none() && matches!(worst.verdict.outcome, Verdict::Fails { grade: Grade::Major, .. })
        };
        if all().zip(&self.accepted).any(is_major) {
            Outcome::Fails
        } else if all().any(|worst| worst.not_judged > 0) || self.tally.not_followed > 0 {
            Outcome::NotJudged
        } else {
            Outcome::Holds
        }
    }
}

/// What a row that could not be followed waits for, each once.
pub(crate) fn why(variant: &Variant, lost: &Lost) -> Vec<String> {
    let name = &variant.duties[lost.duty.index()].name;
    let mut said: Vec<String> = Vec::new();
    let is_plain = |cause: &Cause| matches!(cause, Cause::Beyond { reach: None, .. });
    // A number outside a range says more than the laws that wait for it.
    let says_more = lost.causes.iter().any(|cause| !is_plain(cause));
    for &cause in lost.causes.iter().filter(|cause| !says_more || !is_plain(cause)) {
        let text = cause_text(variant, Some(lost.duty), cause);
        let one = format!("{} {}", text.subject_in(name), text.trouble).trim_end().to_owned();
        if !said.contains(&one) {
            said.push(one);
        }
    }
    if said.is_empty() {
        said.push("a value of which nothing says what it waits for".to_owned());
    }
    said
}

/// The worst of every verdict, worst first; each as a verdict on the duty point that its row is made of.
fn worst(variant: &Variant, tally: &Tally) -> Vec<Worst> {
    let mut all: Vec<Worst> = tally.worst.values().cloned().collect();
    for worst in &mut all {
        let same = |lane: &loadworthy_unit::LaneId| variant.lane(*lane).duty == worst.duty;
        let alike = |lane: &loadworthy_unit::LaneId| (variant.lane(*lane).crest == 1) == worst.stands;
        let lanes = || variant.lane_ids().filter(same);
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
