//! The review of a unit: every check on every variant, as data for whoever shows it.
//!
//! Findings come last: failures are grouped by cause, the worst speaks for its group, and what is proposed was solved
//! anew with all checks, or says which check alone stands for it.

mod also_in;
mod anew;
mod assumptions;
mod elsewhere;
mod findings;
mod fingerprint;
mod group;
mod judge;
mod left_out;
mod meant;
mod not_judged;
mod permits;
mod propose;
mod ranked;
mod run;
mod side_effects;
mod slips;
mod standing;
mod throughout;
mod withdrawn;
mod worked;

use loadworthy_unit::{NodeId, PartId};

use crate::check::Proof;
use crate::verdict::{Comparison, Grade, Verdict};

pub(crate) use judge::{compared, explained, guarded};
pub(crate) use throughout::said_once;
pub(crate) use withdrawn::CHANGE;

pub use also_in::{AlsoIn, also_in_words};
pub use assumptions::Assumed;
pub use fingerprint::fingerprint;
pub use left_out::LeftOut;
pub(crate) use meant::MEANT;
pub use not_judged::NotJudged;
pub use permits::{OnRecord, Standing, asks_at_least, kind_word};
pub(crate) use run::accepted_among;
pub use run::{accepted_on, findings_on, judged, review, review_on, review_with};

/// A reviewed unit.
#[derive(Clone, Debug, Default)]
pub struct Review {
    /// How many verdicts ended in which way.
    pub counts: Counts,
    /// Failures by cause: gravest first, then the least headroom, then by path.
    pub findings: Vec<Finding>,
    /// Failures that a permit accepts, in the same order; they are no findings, and are never hidden.
    pub accepted: Vec<Finding>,
    /// All verdicts of each variant, in the order of the unit's variants.
    pub verdicts: Vec<Vec<Verdict>>,
    /// Missing inputs, each with what it keeps from being judged.
    pub not_judged: Vec<NotJudged>,
    /// Whole sections that a unit with high voltage does not state.
    pub left_out: Option<LeftOut>,
    /// Defaults of the edition that are in use, those that decide a verdict first.
    pub assumed: Vec<Assumed>,
    /// Duty points without a solution, and those that could not be decided.
    pub unsolved: Vec<Unsolved>,
    /// Checks that broke down; their verdicts are incomplete.
    pub broken_checks: Vec<BrokenCheck>,
}

impl Review {
    /// Whether anything was judged in a duty point. A structure in order is no word on what a unit carries.
    #[must_use]
    pub fn judges_a_duty_point(&self) -> bool {
        self.verdicts.iter().flatten().any(|verdict| verdict.duty().is_some())
    }
}

/// How many verdicts ended in which way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Verdicts that hold.
    pub hold: usize,
    /// Verdicts that fail.
    pub fail: usize,
    /// Of those that fail, how many a permit accepts.
    pub accepted: usize,
    /// Verdicts that could not be given.
    pub not_judged: usize,
}

/// Failures of one check with one defect and one cause; the worst of them speaks.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Name of the check.
    pub check: &'static str,
    /// What is wrong, in one kebab-case word.
    pub defect: &'static str,
    /// How much it matters.
    pub grade: Grade,
    /// Path of the part.
    pub part: String,
    /// Place of the variant in the unit.
    pub variant: usize,
    /// Name of the variant, where it has one.
    pub variant_name: Option<String>,
    /// Place of the worst verdict among those of its variant in [`Review::verdicts`]; none where a permit itself is at fault.
    pub verdict: Option<usize>,
    /// Name of the duty point; absent where it is so whatever is asked.
    pub duty: Option<String>,
    /// The corner of the duty point, in words; absent where the duty point has but one.
    pub corner: Option<String>,
    /// What is wrong in one sentence: subject, value, excess, limit, condition.
    pub saying: String,
    /// How it compares, where there is a figure to compare.
    pub comparison: Option<Comparison>,
    /// What is known in place of a comparison, such as `3 potentials: lift_bridge.u, .v, .w`.
    pub facts: Vec<String>,
    /// Where there is no solution: the largest share of what is asked that has one.
    pub largest_share: Option<f64>,
    /// The place in the description that it is about, and what to write beside it.
    pub at: Place,
    /// Places that caused it.
    pub because: Vec<Place>,
    /// Other parts with the same cause, in short, such as `high_side.v, w` or `low_side.u, v, w`.
    pub also: Vec<String>,
    /// How many other parts that is.
    pub also_parts: usize,
    /// Other duty points in which it fails, with the variant where it is another one; `variant` and its name where it is
    /// so whatever is asked.
    pub also_in: Vec<String>,
    /// The same by variant.
    pub elsewhere: Vec<AlsoIn>,
    /// How the carried figure comes about, or how the check knows where there is none; a line for each step.
    pub worked: Vec<String>,
    /// Changes that hold.
    pub proposals: Vec<Held>,
    /// Why there is no proposal, where there is none.
    pub no_proposal: Option<String>,
    /// What makes the figures less sure than they look.
    pub estimate: Vec<String>,
    /// The permit that accepts it, or how one stands to it that does not.
    pub permit: Option<OnRecord>,
    /// Other permits that accept it together with that one, each a part of what it names.
    pub permits_beside: Vec<usize>,
    /// Identity of the finding over edits of the file: 16 hexadecimal digits of check, part and defect.
    pub fingerprint: String,
}

impl Finding {
    /// Whether a permit accepts it.
    #[must_use]
    pub fn is_accepted(&self) -> bool {
        self.permit.is_some_and(|of| of.standing == Standing::Accepts)
    }
}

/// A place in the description and what to write beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The place.
    pub node: NodeId,
    /// The cause in a few words.
    pub label: String,
}

/// A change with which the finding is gone.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Who found out that it is.
    pub judged_by: JudgedBy,
    /// What to change, such as `parallel: 1 -> 3 at high_side and low_side`.
    pub say: String,
    /// The same, value by value; nothing where no value expresses it.
    pub set: Vec<Setting>,
    /// The least headroom that it leaves, such as `29 K (126 °C) in climb`.
    pub leaves: String,
    /// What else it changes.
    pub side_effects: Vec<String>,
}

/// Who found out that a change holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JudgedBy {
    /// The review: the whole unit was solved with it and judged by all checks.
    AllChecks,
    /// The check that proposes it, which no other check has followed.
    OwnCheck(Proof),
}

impl JudgedBy {
    /// The words that a reader sees.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::AllChecks => "all checks, solved again",
            Self::OwnCheck(Proof::SolvedAgain) => "this check alone, solved again",
            Self::OwnCheck(Proof::ExactRule) => "this check alone, by an exact rule",
        }
    }
}

/// A value to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Its path in the description.
    pub path: String,
    /// What to write there.
    pub written: String,
    /// What stands there now; absent where nothing does.
    pub instead_of: Option<NodeId>,
}

/// A duty point without figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsolved {
    /// Place of the variant in the unit.
    pub variant: usize,
    /// Name of the variant, where it has one.
    pub variant_name: Option<String>,
    /// Name of the duty point.
    pub duty: String,
    /// Its corner in words, where it has several.
    pub corner: Option<String>,
    /// Where it fails.
    pub part: PartId,
    /// Path of that part.
    pub path: String,
    /// Largest share of what is asked that has a solution; absent where that is not decided.
    pub largest: Option<f64>,
}

/// A check that broke down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BrokenCheck {
    /// Name of the check.
    pub check: &'static str,
    /// Name of the variant over which it did, where it was one and has a name.
    pub variant_name: Option<String>,
    /// What it said as it broke down.
    pub said: String,
}
