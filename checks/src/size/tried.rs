//! How a description with other sizes is judged, in a form that outlives its unit.

use std::collections::BTreeMap;

use loadworthy_unit::{Cause, Unit, Variant};

use crate::cause::missing_text;
use crate::review::judged;
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome, Verdict};

/// A judgement apart from how it ended. Two descriptions that differ in sizes alone have the same ones.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Identity {
    variant: usize,
    check: &'static str,
    part: String,
    defect: &'static str,
    duty: Option<String>,
}

impl Identity {
    /// Whether it is about a part or what belongs to it.
    pub(super) fn is_at(&self, path: &str) -> bool {
        self.part.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    }
}

/// How a description was judged.
#[derive(Clone, Debug, Default)]
pub struct Tried {
    pub(super) failing: BTreeMap<Identity, Stop>,
    pub(super) open: BTreeMap<Identity, Stop>,
    /// How many judgements there are, good or bad.
    pub(super) judged: usize,
    /// Checks that broke down.
    pub(super) broken: Vec<String>,
    /// Whether anything is judged in a duty point.
    pub(super) judges_a_duty_point: bool,
}

impl Tried {
    /// Of a description that could not be read as it was written down: nothing of it holds.
    #[must_use]
    pub fn unread(message: String) -> Self {
        let mut tried = Self::default();
        tried.fail("", Way::NotJudged(vec![message]), f64::NEG_INFINITY);
        tried
    }

    /// Adds a grave failure of a part that no check speaks of.
    pub(super) fn fail(&mut self, part: &str, way: Way, rank: f64) {
        let (identity, stop) = of_no_check(part, Some(Grade::Major), way, rank);
        self.failing.insert(identity, stop);
    }

    /// Adds a part that no check speaks of and that is not judged.
    #[cfg(test)]
    pub(super) fn leave_open(&mut self, part: &str) {
        let (identity, stop) = of_no_check(part, None, Way::NotJudged(Vec::new()), 0.0);
        self.open.insert(identity, stop);
    }
}

fn of_no_check(part: &str, grade: Option<Grade>, way: Way, rank: f64) -> (Identity, Stop) {
    let (check, defect, part) = ("reading", "unread", part.to_owned());
    let (duty, variant) = (None, None);
    let identity = Identity { variant: 0, check, part: part.clone(), defect, duty: None };
    (identity, Stop { check, part, defect, grade, duty, variant, way, is_beyond: false, rank })
}

/// What does not hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// The check that says so.
    pub check: &'static str,
    /// Path of the part.
    pub part: String,
    /// What is wrong with it.
    pub defect: &'static str,
    /// How much it matters; of what is not judged there is none.
    pub grade: Option<Grade>,
    /// The duty point; none where it is so whatever is asked.
    pub duty: Option<String>,
    /// The variant, where it has a name.
    pub variant: Option<String>,
    /// In what way.
    pub way: Way,
    /// Whether it is not judged because a number is outside a range.
    pub(super) is_beyond: bool,
    /// By how much: the lower, the worse.
    pub(super) rank: f64,
}

impl Stop {
    /// Whether a verdict is about the same.
    pub(super) fn is_of(&self, variant: &Variant, verdict: &Verdict) -> bool {
        (self.check, self.defect) == (verdict.check, verdict.defect)
            && self.part == variant.path(verdict.part)
            && self.variant == variant.name
            && self.duty == duty(verdict, variant)
    }
}

/// In what way something does not hold.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// More of a figure, named here, is carried than is allowed.
    Exceeds(&'static str, Comparison),
    /// What is asked has no solution; the largest share of it that has one.
    NoSolution(f64),
    /// The parts stand or are joined wrongly.
    Structural,
    /// It can no longer be judged, and this is why.
    NotJudged(Vec<String>),
}

/// Solves and judges a unit with every check.
#[must_use]
pub fn tried(unit: &Unit) -> Tried {
    let review = judged(unit);
    let mut tried = Tried {
        broken: review.broken_checks.iter().map(|one| format!("{}: {}", one.check, one.said)).collect(),
        judges_a_duty_point: review.judges_a_duty_point(),
        ..Tried::default()
    };
    for (place, (variant, verdicts)) in unit.variants.iter().zip(&review.verdicts).enumerate() {
        for verdict in verdicts {
            let identity = || Identity {
                variant: place,
                check: verdict.check,
                part: variant.path(verdict.part).to_owned(),
                defect: verdict.defect,
                duty: duty(verdict, variant),
            };
            match &verdict.outcome {
                Outcome::Holds(_) => tried.judged += 1,
                Outcome::Fails { fault, grade } => {
                    tried.judged += 1;
                    let way = match *fault {
                        Fault::Exceeds(compared) => {
                            let name = variant.tables.figure_of(compared.carried).name;
                            Way::Exceeds(name, compared)
                        }
                        Fault::Unsolved { largest_share } => Way::NoSolution(largest_share),
                        Fault::Structural => Way::Structural,
                    };
                    tried.failing.insert(identity(), stop(verdict, variant, Some(*grade), way));
                }
                Outcome::NotJudged(missing) => {
                    let why = missing.iter().map(|&one| {
                        let text = missing_text(variant, verdict.duty(), one);
                        let named = one.duty(verdict).map(|duty| &variant.duties[duty.index()].name);
                        let subject = text.subject_in(named.map_or("*", String::as_str));
                        format!("{subject} {}", text.trouble).trim_end().to_owned()
                    });
                    let way = Way::NotJudged(why.collect());
                    tried.open.insert(identity(), stop(verdict, variant, None, way));
                }
            }
        }
    }
    tried
}

fn duty(verdict: &Verdict, variant: &Variant) -> Option<String> {
    verdict.duty().map(|duty| variant.duties[duty.index()].name.clone())
}

fn stop(verdict: &Verdict, variant: &Variant, grade: Option<Grade>, way: Way) -> Stop {
    Stop {
        check: verdict.check,
        part: variant.path(verdict.part).to_owned(),
        defect: verdict.defect,
        grade,
        duty: duty(verdict, variant),
        variant: variant.name.clone(),
        way,
        is_beyond: is_beyond(verdict),
        rank: verdict.rank(),
    }
}

/// Whether a judgement waits for nothing but numbers inside their ranges.
fn is_beyond(verdict: &Verdict) -> bool {
    let is_range = |missing: &Missing| {
        matches!(missing, Missing::Cause(Cause::Beyond { .. }) | Missing::CauseIn(Cause::Beyond { .. }, _))
    };
    matches!(&verdict.outcome, Outcome::NotJudged(missing) if missing.iter().all(is_range))
}
