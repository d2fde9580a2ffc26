//! What a check is: a question, a judgement, words for its failures, and what could be changed.

use loadworthy_unit::{Edit, PolicyItem, Solved};

use crate::collect::Verdicts;
use crate::review::Place;
use crate::verdict::Verdict;

/// A check.
pub trait Check: Sync {
    /// What it is called, asks and rests on.
    fn about(&self) -> &'static About;

    /// Judges every part that it is about, in every lane.
    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts);

    /// Puts a failure into words; nothing where it is none of its own, which counts as a defect of the check.
    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told>;

    /// What could be changed, a family for each kind of change. Nothing of it is shown before it was solved anew.
    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family>;
}

/// What a check is called, asks and rests on.
#[derive(Debug)]
pub struct About {
    /// Its name, in kebab case.
    pub name: &'static str,
    /// Names that it had before; they keep working.
    pub former_names: &'static [&'static str],
    /// What it asks, in one sentence.
    pub question: &'static str,
    /// Its page: physics, worked reason, sources, accuracy, when a permit is reasonable. Markdown.
    pub page: &'static str,
    /// The smallest description that fails it.
    pub fails: &'static str,
    /// The same, holding.
    pub holds: &'static str,
    /// What each of its defects says, in one line.
    pub defects: &'static [(&'static str, &'static str)],
    /// The policy items that it uses.
    pub policy: &'static [&'static PolicyItem],
    /// The edition that introduced it.
    pub since: u32,
}

/// Failures of one check with one defect and one cause in one variant.
#[derive(Clone, Copy, Debug)]
pub struct Failure<'v> {
    /// The worst.
    pub worst: &'v Verdict,
    /// All of them, the worst included, in the order of the parts.
    pub all: &'v [&'v Verdict],
}

/// A failure in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// What is wrong in one sentence: subject, value, excess, limit, condition.
    pub saying: String,
    /// The place it is about, with the cause in a few words.
    pub at: Place,
    /// Places that caused it.
    pub because: Vec<Place>,
    /// Why the check has nothing to propose, where it has not.
    pub no_proposal: Option<String>,
}

/// Changes of one kind, from the least to the most.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// What was tried, with how far, such as `up to 8 in parallel`.
    pub tried: String,
    /// The changes. The first one that holds is shown.
    pub ladder: Vec<Proposal>,
}

/// A change.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// What a person would change, such as `parallel: 1 -> 3 at high_side and low_side`.
    pub say: String,
    /// The values, with what would be written for each.
    pub edits: Vec<(Edit, String)>,
}
