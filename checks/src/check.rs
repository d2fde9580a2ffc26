//! What a check is: a question, a judgement, words for its failures, and what could be changed.
//!
//! Most checks judge one variant at a time ([`Check::judge`]). One that must see all of them, such as whether a part is
//! used by any, judges the unit ([`Check::judge_unit`]).

use loadworthy_unit::{Edit, PartId, PolicyItem, Solved};

use crate::collect::Verdicts;
use crate::review::{Place, guarded};
use crate::verdict::Verdict;

/// A check.
pub trait Check: Sync {
    /// What it is called, asks and rests on.
    fn about(&self) -> &'static About;

    /// Whether it holds figures against what is allowed; a check that judges the structure alone has nothing to say of how
    /// much a load may be.
    fn compares(&self) -> bool {
        true
    }

    /// Whether what it judges hangs on the coolant: on temperatures, or on the flow itself.
    fn feels_the_coolant(&self) -> bool {
        false
    }

    /// Whether failures of a defect are one cause wherever their parts stand, as long as the entry behind them is one.
    fn is_of_the_entry(&self, _defect: &str) -> bool {
        false
    }

    /// Whether it holds fuses against what they protect.
    fn holds_fuses(&self) -> bool {
        false
    }

    /// Sections of which every entry may add to what a defect compares: while one could not be read, what holds without it is not
    /// known to hold.
    fn adds_up(&self, _defect: &str) -> &'static [&'static str] {
        &[]
    }

    /// Judges every part that it is about, in every lane, or whatever is asked.
    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts);

    /// Judges all variants of a unit together, one place of `out` for each; of its own accord variant by variant. A check that
    /// does otherwise says so ([`Check::judges_variants_together`]).
    ///
    /// A change is tried in one variant, beside the others as they are described, and only the verdicts on that variant are
    /// asked for ([`Verdicts::is_wanted`]). What is put into the others is not kept, so a check may put its verdicts
    /// everywhere. Before a proposal is shown, every variant that shares the changed values is judged with the change as well.
    fn judge_unit(&self, all: &[&Solved<'_>], out: &mut [Verdicts]) {
        for (solved, out) in all.iter().zip(out).filter(|(_, out)| out.is_wanted()) {
            // Over one variant it may break down and yet judge the others.
            if let Err(said) = guarded(|| self.judge(solved, out)) {
                out.note_broken(said);
            }
        }
    }

    /// Whether what it says of one variant hangs on the others; such a check judges the unit itself.
    fn judges_variants_together(&self) -> bool {
        false
    }

    /// Whether it judges each duty point by itself, so that it can judge the rows of a mission.
    fn judges_each_duty_point(&self) -> bool {
        true
    }

    /// Failures with which this one is told, as long as one of them is a finding: one cause brings both. It counts
    /// as a failure all the same, and is told by itself where a permit accepts the other.
    fn told_with(&self, _failing: &Verdict, _solved: &Solved<'_>) -> Vec<With> {
        Vec::new()
    }

    /// Whether what it says of a defect hangs on the description alone, so that it is said once where it comes to the same
    /// in every duty point.
    fn is_said_once(&self, _defect: &str) -> bool {
        !self.judges_each_duty_point()
    }

    /// Whether one duty point speaks for the unit of a defect: it is no matter of what is asked, and nobody judges it again in
    /// another duty point.
    fn is_of_the_unit(&self, _defect: &str) -> bool {
        false
    }

    /// Whether the figure of a defect is what is asked of a part, and its limit what the part has, such as a distance: a permit
    /// in its unit then bounds the least that the part may have.
    fn asks_at_least(&self, _defect: &str) -> bool {
        false
    }

    /// Puts a failure into words; nothing where it is none of its own, which counts as a defect of the check.
    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told>;

    /// Paths and sentences of what others wait for because of this failure, as they stand where something is not judged. They
    /// are told with the finding, and not once more by themselves.
    fn keeps_open(&self, _failure: &Failure<'_>, _solved: &Solved<'_>) -> Vec<String> {
        Vec::new()
    }

    /// Whether duty points in which a defect is found have no figures because of it, as one without a solution has none. What
    /// waits for them is told with the finding.
    fn leaves_without_values(&self, _defect: &str) -> bool {
        false
    }

    /// What the numbers are that a defect finds too far out for an entry, as ranges of that entry are called: its curves may end
    /// before that, and what waits for them is told with the finding.
    fn outruns(&self, _defect: &str) -> &'static [&'static str] {
        &[]
    }

    /// What could be changed, a family for each kind of change. Edits are shown only after they were solved anew with all
    /// checks; what no edit expresses, only where the check judged it itself ([`Change::Reviewed`]).
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

/// A failure with which another one is told.
#[derive(Clone, Copy, Debug)]
pub struct With {
    /// Its check.
    pub check: &'static str,
    /// Its defect.
    pub defect: &'static str,
    /// The part that fails; none where it may be any.
    pub part: Option<PartId>,
}

impl With {
    /// A failure of one part.
    #[must_use]
    pub const fn of(check: &'static str, defect: &'static str, part: PartId) -> Self {
        Self { check, defect, part: Some(part) }
    }
}

/// Failures of one check with one defect and one cause in one variant.
#[derive(Clone, Copy, Debug)]
pub struct Failure<'v> {
    /// The worst.
    pub worst: &'v Verdict,
    /// All of them, the worst included, in the order of the parts.
    pub all: &'v [&'v Verdict],
    /// All variants of the unit as they are described, for checks that judge them together.
    pub unit: &'v [Solved<'v>],
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
    /// What is known in place of carried, limit and allowed, such as `3 potentials: lift_bridge.u, .v, .w`; for what
    /// compares no figure.
    pub facts: Vec<String>,
    /// How it is known, a line for each step. Where a figure is compared the review adds how that one comes about, so that
    /// only what the check made of it is to be said.
    pub worked: Vec<String>,
    /// Why the check has nothing to propose, where it has not.
    pub no_proposal: Option<String>,
}

impl Told {
    /// A sentence and a place, without causes, facts, steps or a word on proposals.
    #[must_use]
    pub const fn new(saying: String, at: Place) -> Self {
        Self { saying, at, because: Vec::new(), facts: Vec::new(), worked: Vec::new(), no_proposal: None }
    }
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
    /// How it is known whether it holds.
    pub change: Change,
}

/// What a proposal changes, and who finds out whether it holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Values, with what would be written for each. The review solves the unit with them and lets all checks judge it; with
    /// no values nothing is changed, so that what fails still fails and it is not shown.
    Edit(Vec<(Edit, String)>),
    /// Something that no value expresses, such as another order along the coolant or one more supply, of which the check
    /// itself found out that it holds. The review cannot try it and says so.
    Reviewed {
        /// How the check found out.
        proof: Proof,
        /// What it leaves of what failed, such as `12 K (143 °C) in climb` or `one potential for each supply`.
        leaves: String,
        /// What else it changes.
        side_effects: Vec<String>,
    },
}

/// How a check knows that a change holds which the review cannot try.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// The check solved the changed unit, in every duty point that is concerned.
    SolvedAgain,
    /// The rule is exact, such as which nodes are joined, and no figure takes part in it.
    ExactRule,
}

impl Proposal {
    /// The values that it changes; none for what no value expresses.
    #[must_use]
    pub fn edits(&self) -> &[(Edit, String)] {
        match &self.change {
            Change::Edit(edits) => edits,
            Change::Reviewed { .. } => &[],
        }
    }
}
