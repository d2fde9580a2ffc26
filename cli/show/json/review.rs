//! A review as JSON. The form only grows: a key that is there keeps its meaning.

mod faults;
mod finding;
mod problem;
mod verdict;

use std::path::PathBuf;

use loadworthy_checks::review::Counts;
use loadworthy_unit::NodeId;
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::files::shown_name;
use crate::gathered::Gathered;
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

/// What stands before the reviews of a run. They follow one by one, so that no more of them is kept than is being shown.
pub(crate) fn beginning(files: &Gathered) -> String {
    let program = concat!("loadworthy ", env!("CARGO_PKG_VERSION"));
    let names = |paths: &[PathBuf]| paths.iter().map(|path| shown_name(path)).collect();
    let left_out = files.from_folders.then(|| LeftOut {
        other: names(&files.left_out.other),
        links: names(&files.left_out.links),
        parts: names(&files.left_out.parts),
        nothing: files.nothing.clone(),
    });
    let (caution, reviews, exit) = (CAUTION, Vec::new(), 0);
    let whole = text(&Run { form: FORM, version: VERSION, program, caution, left_out, reviews, exit });
    // The last list is that of the reviews.
    whole.rsplit_once("],").map_or("", |(beginning, _)| beginning).to_owned()
}

/// One review, as it stands among others.
pub(crate) fn one(file: &FileReview) -> String {
    // No line feed stands within a string of JSON.
    format!("\n{}", text(&Reviewed::of(file))).replace('\n', "\n    ")
}

/// What stands behind the reviews.
pub(crate) fn end(outcome: Outcome) -> String {
    format!("\n  ],\n  \"exit\": {}\n}}\n", outcome.number())
}

/// What `review` found in all files of a run.
#[derive(Serialize, JsonSchema)]
pub(super) struct Run {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The program and its version.
    program: &'static str,
    /// What no output of this program is.
    caution: &'static str,
    /// What stands in the folders that were named and is not reviewed; absent where only files were named.
    #[serde(skip_serializing_if = "Option::is_none")]
    left_out: Option<LeftOut>,
    /// One for each file, in the order of the files.
    reviews: Vec<Reviewed>,
    /// The exit code of the run, which is that of its gravest file; 2 where a folder gave nothing.
    exit: u8,
}

/// What stands in folders and is not reviewed on its own.
#[derive(Serialize, JsonSchema)]
struct LeftOut {
    /// YAML files that are neither descriptions nor parts files.
    other: Vec<String>,
    /// Links, which are not followed.
    links: Vec<String>,
    /// Parts files, which are reviewed with the descriptions that name them.
    parts: Vec<String>,
    /// Folders that gave nothing to review, each with the reason in a sentence; any of them makes the exit code 2.
    nothing: Vec<String>,
}

/// The review of one file, or why there is none.
#[derive(Serialize, JsonSchema)]
struct Reviewed {
    /// The file, by the name that it was asked for.
    file: String,
    /// Why the file could not be opened.
    #[serde(skip_serializing_if = "Option::is_none")]
    unreadable: Option<String>,
    /// What is described.
    unit: Unit,
    /// How many verdicts ended in which way.
    counts: Count,
    /// What is wrong with the description itself.
    problems: Vec<ProblemShown>,
    /// What does not hold, the worst first.
    findings: Vec<Finding>,
    /// Absent without permits, so that no day stands in the review.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<Accepted>,
    /// What comes of single faults, for each variant; absent where it was not asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    faults: Option<Vec<FaultWalk>>,
    /// Inputs that are missing, and what waits for each.
    not_judged: Vec<NotJudged>,
    /// What is stated and judged by nothing yet.
    stated_not_judged: Vec<&'static str>,
    /// Whole sections that are not stated, of a unit with a bus that hurts; absent where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    left_out: Vec<&'static str>,
    /// Defaults of the edition that were used.
    assumptions: Vec<Assumption>,
    /// Duty points without a solution, or in which none was found.
    unsolved: Vec<Unsolved>,
    /// Checks that broke down, which is a defect of the program: what they judge is not judged.
    broken_checks: Vec<BrokenCheck>,
    /// Cautions that belong to what was judged.
    cautions: Vec<&'static str>,
    /// Every verdict of every check.
    verdicts: Vec<VerdictShown>,
}

#[derive(Default, Serialize, JsonSchema)]
struct Unit {
    /// What the unit is called.
    name: Option<String>,
    /// Its revision.
    revision: Option<String>,
    /// What it is, in a sentence or two; absent where the description does not say so.
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    /// The edition of the language and of its defaults.
    edition: Option<u32>,
    /// Its variants; one of them null where they have no names.
    variants: Vec<Option<String>>,
    /// The duty points of all variants.
    duty_points: Vec<String>,
}

#[derive(Default, Serialize, JsonSchema)]
struct Count {
    /// Verdicts that hold.
    hold: usize,
    /// Verdicts that fail.
    fail: usize,
    /// Verdicts that could not be given.
    not_judged: usize,
    /// Of those that fail, how many a permit accepts; absent without permits.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<usize>,
}

/// What permits accept, and the day that they are held against.
#[derive(Serialize, JsonSchema)]
struct Accepted {
    #[serde(flatten)]
    held_against: HeldAgainst,
    /// Findings that a permit accepts; they do not count.
    findings: Vec<Finding>,
}

#[derive(Serialize, JsonSchema)]
struct NotJudged {
    /// What is missing, in words.
    missing: String,
    /// Where it stands or would stand in the description, by path.
    paths: Vec<String>,
    /// The nearest place in the description.
    near: Option<Place>,
    /// The checks of these verdicts.
    checks: Vec<&'static str>,
    /// Stages, sources and other parts of which something waits for it.
    parts: Vec<String>,
    /// How many verdicts wait for it.
    verdicts: usize,
    /// Duty points.
    duty_points: Vec<String>,
    /// Names of variants.
    variants: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct Assumption {
    /// The name of the default.
    name: String,
    /// Its value.
    value: String,
    /// The usual range.
    usual: Option<String>,
    /// Why that value.
    why: &'static str,
    /// Where it stands or would stand in the description, by path.
    paths: Vec<String>,
    /// The nearest place in the description.
    near: Option<Place>,
    /// Verdicts that turn within the usual range, in words.
    decides: Vec<String>,
    /// Whether the usual range was tried; where it was not, an empty `decides` says nothing.
    tried: bool,
}

#[derive(Serialize, JsonSchema)]
struct Unsolved {
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// The duty point.
    duty_point: String,
    /// The corner of the duty point, in words; null where it has but one.
    corner: Option<String>,
    /// Where there is none.
    part: String,
    /// Largest share of what is asked that has a solution; absent where neither it nor its absence was found.
    largest_share: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct BrokenCheck {
    /// The name of the check.
    check: &'static str,
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// What it said as it broke down.
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
            left_out: Vec::new(),
            assumptions: Vec::new(),
            unsolved: Vec::new(),
            broken_checks: Vec::new(),
            cautions: Vec::new(),
            verdicts: Vec::new(),
        }
    }

    /// The review of a file, or why there is none.
    fn of(file: &FileReview) -> Self {
        match &file.made {
            Ok(made) => Self::made(made),
            Err(why) => Self::unreadable(file.name.clone(), why.clone()),
        }
    }

    /// A review of what could be read.
    fn made(Made { described, review, besides }: &Made) -> Self {
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
            left_out: review.left_out.as_ref().map_or_else(Vec::new, |one| one.sections.clone()),
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
            note: unit.note.clone(),
            edition: unit.edition,
            variants: unit.variants.iter().map(|variant| variant.name.clone()).collect(),
            duty_points,
        }
    }
}
