//! A review as JSON. The form only grows: a key that is there keeps its meaning.

mod faults;
mod finding;
mod problem;
mod verdict;

use loadworthy_checks::review::Counts;
use loadworthy_unit::NodeId;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::reviewed::{FileReview, Made};
use crate::show::cautions;
use crate::show::places::{self, Place};
use crate::show::terminal::CAUTION;

use super::permit::HeldAgainst;
use super::text;
use faults::FaultWalk;
use finding::Finding;

pub(super) use finding::Finding as FindingShown;
pub(super) use problem::ProblemShown;
pub(super) use verdict::{Compared as ComparedShown, VerdictShown};

const FORM: &str = "loadworthy-review";
const VERSION: u32 = 1;

/// All reviews of a run.
pub(crate) fn reviews(reviews: Vec<Reviewed>, outcome: Outcome) -> String {
    #[derive(Serialize)]
    struct Run {
        form: &'static str,
        version: u32,
        program: &'static str,
        exit: u8,
        caution: &'static str,
        reviews: Vec<Reviewed>,
    }
    let program = concat!("loadworthy ", env!("CARGO_PKG_VERSION"));
    text(&Run { form: FORM, version: VERSION, program, exit: outcome.number(), caution: CAUTION, reviews })
}

/// The review of one file, or why there is none.
#[derive(Serialize)]
pub(crate) struct Reviewed {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    unreadable: Option<String>,
    unit: Unit,
    counts: Count,
    problems: Vec<ProblemShown>,
    findings: Vec<Finding>,
    /// Absent without permits, so that no day stands in the review.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<Accepted>,
    /// What comes of single faults, for each variant; absent where it was not asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    faults: Option<Vec<FaultWalk>>,
    not_judged: Vec<NotJudged>,
    /// What is stated and judged by nothing yet.
    stated_not_judged: Vec<&'static str>,
    assumptions: Vec<Assumption>,
    unsolved: Vec<Unsolved>,
    broken_checks: Vec<BrokenCheck>,
    /// Cautions that belong to what was judged.
    cautions: Vec<&'static str>,
    verdicts: Vec<VerdictShown>,
}

#[derive(Default, Serialize)]
struct Unit {
    name: Option<String>,
    revision: Option<String>,
    edition: Option<u32>,
    variants: Vec<Option<String>>,
    duty_points: Vec<String>,
}

#[derive(Default, Serialize)]
struct Count {
    hold: usize,
    fail: usize,
    not_judged: usize,
    /// Of those that fail, how many a permit accepts; absent without permits.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<usize>,
}

/// What permits accept, and the day that they are held against.
#[derive(Serialize)]
struct Accepted {
    #[serde(flatten)]
    held_against: HeldAgainst,
    findings: Vec<Finding>,
}

#[derive(Serialize)]
struct NotJudged {
    missing: String,
    paths: Vec<String>,
    near: Option<Place>,
    checks: Vec<&'static str>,
    /// Stages, sources and other parts of which something waits for it.
    parts: Vec<String>,
    verdicts: usize,
    duty_points: Vec<String>,
    variants: Vec<String>,
}

#[derive(Serialize)]
struct Assumption {
    name: String,
    value: String,
    usual: Option<String>,
    why: &'static str,
    paths: Vec<String>,
    near: Option<Place>,
    decides: Vec<String>,
    /// Whether the usual range was tried; where it was not, an empty `decides` says nothing.
    tried: bool,
}

#[derive(Serialize)]
struct Unsolved {
    variant: Option<String>,
    duty_point: String,
    corner: Option<String>,
    part: String,
    /// Largest share of what is asked that has a solution; absent where neither it nor its absence was found.
    largest_share: Option<f64>,
}

#[derive(Serialize)]
struct BrokenCheck {
    check: &'static str,
    variant: Option<String>,
    said: String,
}

impl Reviewed {
    /// A file that could not be opened.
    fn unreadable(file: String, why: String) -> Self {
        Self {
            file,
            unreadable: Some(why),
            unit: Unit::default(),
            counts: Count::default(),
            problems: Vec::new(),
            findings: Vec::new(),
            accepted: None,
            faults: None,
            not_judged: Vec::new(),
            stated_not_judged: Vec::new(),
            assumptions: Vec::new(),
            unsolved: Vec::new(),
            broken_checks: Vec::new(),
            cautions: Vec::new(),
            verdicts: Vec::new(),
        }
    }

    /// The review of a file, or why there is none.
    pub(crate) fn of(file: &FileReview) -> Self {
        match &file.made {
            Ok(made) => Self::made(made),
            Err(why) => Self::unreadable(file.name.clone(), why.clone()),
        }
    }

    /// A review of what could be read.
    pub(crate) fn made(Made { described, review, besides }: &Made) -> Self {
        let day = besides.day;
        let Described { name, tree, problems, unit } = described;
        let place = |node: Option<NodeId>| node.map(|node| places::of_node(tree, node));
        let Counts { hold, fail, not_judged, accepted } = review.counts;
        let variants = || unit.variants.iter().zip(&review.verdicts);
        Self {
            file: name.clone(),
            unreadable: None,
            unit: Unit::of(unit),
            counts: Count { hold, fail, not_judged, accepted: day.map(|_| accepted) },
            problems: problems.iter().map(|problem| ProblemShown::of(tree, problem)).collect(),
            findings: review.findings.iter().map(|finding| Finding::of(described, finding)).collect(),
            accepted: day.map(|day| Accepted {
                held_against: HeldAgainst::of(day),
                findings: review.accepted.iter().map(|finding| Finding::of(described, finding)).collect(),
            }),
            faults: besides
                .faults
                .as_ref()
                .map(|walks| walks.iter().map(|walk| FaultWalk::of(described, walk)).collect()),
            not_judged: review
                .not_judged
                .iter()
                .map(|one| NotJudged {
                    missing: one.missing.clone(),
                    paths: one.paths.clone(),
                    near: place(one.near),
                    checks: one.checks.clone(),
                    parts: one.parts.clone(),
                    verdicts: one.verdicts,
                    duty_points: one.duties.clone(),
                    variants: one.variants.clone(),
                })
                .collect(),
            stated_not_judged: described.unit.unjudged.clone(),
            assumptions: review
                .assumed
                .iter()
                .map(|one| Assumption {
                    name: one.id.clone(),
                    value: one.value.clone(),
                    usual: one.usual.clone(),
                    why: one.why,
                    paths: one.paths.clone(),
                    near: place(one.near),
                    decides: one.decides.clone(),
                    tried: one.tried,
                })
                .collect(),
            unsolved: review
                .unsolved
                .iter()
                .map(|one| Unsolved {
                    variant: one.variant_name.clone(),
                    duty_point: one.duty.clone(),
                    corner: one.corner.clone(),
                    part: one.path.clone(),
                    largest_share: one.largest.filter(|share| share.is_finite()),
                })
                .collect(),
            broken_checks: review
                .broken_checks
                .iter()
                .map(|one| BrokenCheck {
                    check: one.check,
                    variant: one.variant_name.clone(),
                    said: one.said.clone(),
                })
                .collect(),
            cautions: cautions::of(review),
            verdicts: variants()
                .flat_map(|(variant, verdicts)| {
                    verdicts.iter().map(|verdict| VerdictShown::of(tree, variant, verdict))
                })
                .collect(),
        }
    }
}

impl Unit {
    fn of(unit: &loadworthy_unit::Unit) -> Self {
        let mut duty_points: Vec<String> = Vec::new();
        for duty in unit.variants.iter().flat_map(|variant| &variant.duties) {
            if !duty_points.contains(&duty.name) {
                duty_points.push(duty.name.clone());
            }
        }
        Self {
            name: unit.name.clone(),
            revision: unit.revision.clone(),
            edition: unit.edition,
            variants: unit.variants.iter().map(|variant| variant.name.clone()).collect(),
            duty_points,
        }
    }
}
