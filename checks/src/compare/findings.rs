//! Findings of two reviews, matched and turned one way or the other.
//!
//! A finding is the same where check, part and defect are: that is what its fingerprint is made of, which holds no line. The
//! part is taken under its new name. What is left is matched by the stage, since the worst of a group of parts speaks for
//! all of them, and a change may make another one the worst.

use std::collections::{HashMap, HashSet};

use foldhash::fast::FixedState;

use super::names::Names;
use super::{Side, loss};
use crate::review::{Finding, Review};
use crate::seats::cause_at;
use crate::verdict::{Fault, Grade, Outcome, Verdict};

/// A finding before and after.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FindingChange {
    /// How it turned.
    pub turn: Turn,
    /// Where it stands in the old review; absent where it is new.
    pub old: Option<FindingAt>,
    /// Where it stands in the new review; absent where it is gone.
    pub new: Option<FindingAt>,
    /// Its grade in the new review, or in the old one where it is gone.
    pub grade: Grade,
}

/// Where a finding stands in a review.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FindingAt {
    /// Whether among the accepted ones.
    pub accepted: bool,
    /// Its place.
    pub place: usize,
}

impl FindingAt {
    /// The finding.
    #[must_use]
    pub fn of(self, review: &Review) -> Option<&Finding> {
        if self.accepted { review.accepted.get(self.place) } else { review.findings.get(self.place) }
    }
}

/// How a finding turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turn {
    /// It was none before.
    New,
    /// A permit accepted it and does so no more.
    NoLongerAccepted,
    /// Its grade is graver, less headroom is left, or with the same headroom more parts or duty points fail.
    Worse,
    /// It fails, and a permit accepts what was no finding before.
    NewAndAccepted,
    /// It is as it was.
    Unchanged,
    /// Its grade is lighter, more headroom is left, or with the same headroom fewer parts or duty points fail.
    Better,
    /// A permit accepts it now.
    NowAccepted,
    /// Nothing fails there any more because it is no longer judged, which is no cure.
    NoLongerJudged,
    /// It is none any more.
    Gone,
}

impl Turn {
    /// All of them, what is worse first.
    pub const ALL: [Self; 9] = [
        Self::New,
        Self::NoLongerAccepted,
        Self::Worse,
        Self::NewAndAccepted,
        Self::Unchanged,
        Self::Better,
        Self::NowAccepted,
        Self::NoLongerJudged,
        Self::Gone,
    ];

    /// The words that a reader sees.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::NoLongerAccepted => "no longer accepted",
            Self::Worse => "worse",
            Self::NewAndAccepted => "new, accepted",
            Self::Unchanged => "unchanged",
            Self::Better => "better",
            Self::NowAccepted => "now accepted",
            Self::NoLongerJudged => "no longer judged",
            Self::Gone => "gone",
        }
    }
}

impl FindingChange {
    /// Whether the change made something worse that is not accepted.
    #[must_use]
    pub fn counts(&self) -> bool {
        let is_open = self.new.is_some_and(|new| !new.accepted);
        is_open && matches!(self.turn, Turn::New | Turn::NoLongerAccepted | Turn::Worse)
    }
}

/// What a finding is matched by: check, defect, part, and whether it is accepted.
type Sign<'r> = (&'static str, &'static str, String, bool);

/// A finding that is to be matched.
struct Open<'r> {
    at: FindingAt,
    finding: &'r Finding,
    /// Its part under its new name.
    part: String,
    /// The stage, or what else its cause is sought in, under its new name.
    stage: String,
}

pub(super) fn changes(old: Side<'_>, new: Side<'_>, names: &Names<'_>) -> Vec<FindingChange> {
    let same = |path: &str| path.to_owned();
    let mut olds = open(old, &|path| names.now(path).into_owned()).into_iter().map(Some).collect::<Vec<_>>();
    let mut news = open(new, &same).into_iter().map(Some).collect::<Vec<_>>();
    let mut pairs: Vec<(Open<'_>, Open<'_>)> = Vec::new();
    let signs: [&dyn Fn(&Open<'_>) -> Sign<'static>; 4] = [
        &|one| (one.finding.check, one.finding.defect, one.part.clone(), one.at.accepted),
        &|one| (one.finding.check, one.finding.defect, one.part.clone(), false),
        &|one| (one.finding.check, one.finding.defect, one.stage.clone(), one.at.accepted),
        &|one| (one.finding.check, one.finding.defect, one.stage.clone(), false),
    ];
    for sign in signs {
        // The first of each sign first: looked up and never iterated.
        let mut waiting: HashMap<Sign<'_>, Vec<usize>, FixedState> = HashMap::default();
        for (place, one) in olds.iter().enumerate().rev() {
            if let Some(one) = one {
                waiting.entry(sign(one)).or_default().push(place);
            }
        }
        for slot in &mut news {
            let Some(place) = slot.as_ref().and_then(|one| waiting.get_mut(&sign(one))?.pop()) else {
                continue;
            };
            if let (Some(old), Some(new)) = (olds[place].take(), slot.take()) {
                pairs.push((old, new));
            }
        }
    }
    let mut changes =
        pairs.iter().map(|(one, other)| both((old.review, one), (new.review, other))).collect::<Vec<_>>();
    changes.extend(news.iter().flatten().map(|one| FindingChange {
        turn: if one.at.accepted { Turn::NewAndAccepted } else { Turn::New },
        old: None,
        new: Some(one.at),
        grade: one.finding.grade,
    }));
    let open = not_judged(new);
    changes.extend(olds.iter().flatten().map(|one| FindingChange {
        turn: if open.contains(&(one.finding.check, one.finding.defect, one.part.as_str())) {
            Turn::NoLongerJudged
        } else {
            Turn::Gone
        },
        old: Some(one.at),
        new: None,
        grade: one.finding.grade,
    }));
    let place = |at: Option<FindingAt>| at.map(|at| (at.accepted, at.place));
    changes.sort_by_key(|one| (one.turn, place(one.new), place(one.old)));
    changes
}

/// What is not judged: check, defect and part.
fn not_judged(side: Side<'_>) -> HashSet<(&'static str, &'static str, &str), FixedState> {
    let variants = side.unit.variants.iter().zip(&side.review.verdicts);
    let all = variants.flat_map(|(variant, verdicts)| verdicts.iter().map(move |one| (variant, one)));
    let open = all.filter(|(_, one)| matches!(one.outcome, Outcome::NotJudged(_)));
    open.map(|(variant, one)| (one.check, one.defect, variant.path(one.part))).collect()
}

fn open<'r>(side: Side<'r>, now: &dyn Fn(&str) -> String) -> Vec<Open<'r>> {
    let one = |accepted: bool| {
        move |(place, finding): (usize, &'r Finding)| Open {
            at: FindingAt { accepted, place },
            finding,
            part: now(&finding.part),
            stage: now(stage(side, finding)),
        }
    };
    let findings = side.review.findings.iter().enumerate().map(one(false));
    findings.chain(side.review.accepted.iter().enumerate().map(one(true))).collect()
}

fn stage<'r>(side: Side<'r>, finding: &'r Finding) -> &'r str {
    let variant = side.unit.variants.get(finding.variant);
    match (variant, verdict(side.review, finding)) {
        (Some(variant), Some(verdict)) => variant.path(cause_at(variant, verdict.part)),
        _ => &finding.part,
    }
}

fn verdict<'r>(review: &'r Review, finding: &Finding) -> Option<&'r Verdict> {
    review.verdicts.get(finding.variant)?.get(finding.verdict?)
}

fn both((old_review, old): (&Review, &Open<'_>), (new_review, new): (&Review, &Open<'_>)) -> FindingChange {
    let turn = match (old.at.accepted, new.at.accepted) {
        (true, false) => Turn::NoLongerAccepted,
        (false, true) => Turn::NowAccepted,
        _ => match worse_by((old_review, old.finding), (new_review, new.finding)) {
            core::cmp::Ordering::Greater => Turn::Worse,
            core::cmp::Ordering::Less => Turn::Better,
            core::cmp::Ordering::Equal => Turn::Unchanged,
        },
    };
    FindingChange { turn, old: Some(old.at), new: Some(new.at), grade: new.finding.grade }
}

/// Whether a finding is worse than it was: by grade, else by headroom, else by how much fails.
fn worse_by(
    (old_review, old): (&Review, &Finding),
    (new_review, new): (&Review, &Finding),
) -> core::cmp::Ordering {
    let by_headroom = || match (&old.comparison, &new.comparison) {
        (Some(before), Some(after)) => loss(before, after).map_or(0.0, f64::signum),
        _ => shortage(new_review, new) - shortage(old_review, old),
    };
    // Grades fall as they get lighter.
    old.grade
        .cmp(&new.grade)
        .then_with(|| by_headroom().partial_cmp(&0.0).unwrap_or(core::cmp::Ordering::Equal))
        .then_with(|| reach(new).cmp(&reach(old)))
}

/// How bad it is where there is no comparison: without a solution by the share of what is asked that has one, to three digits.
fn shortage(review: &Review, finding: &Finding) -> f64 {
    match verdict(review, finding).and_then(Verdict::fault) {
        Some(Fault::Unsolved { largest_share }) => {
            1.0 - libm::round(largest_share / super::MOVED) * super::MOVED
        }
        _ => 0.0,
    }
}

/// How many parts and duty points fail.
fn reach(finding: &Finding) -> usize {
    finding.also_parts + finding.also_in.len()
}
