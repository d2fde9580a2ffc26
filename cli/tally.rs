//! What a run over several files came to: a row for each file, and their sum.

use loadworthy_checks::review::{Counts, Finding};
use loadworthy_checks::verdict::Grade;

use crate::arguments::AskedGrade;
use crate::described::MORE_PROBLEMS;
use crate::outcome::Outcome;
use crate::reviewed::FileReview;

/// What the review of one file came to.
#[derive(Clone, Debug, Default)]
pub(crate) struct Row {
    /// The name of the file as it is shown.
    pub(crate) file: String,
    /// What the unit is called, as it stands in the description.
    pub(crate) unit: Option<String>,
    pub(crate) counts: Counts,
    pub(crate) findings: ByGrade,
    pub(crate) problems: usize,
    /// Why the file could not be opened.
    pub(crate) unreadable: Option<String>,
    pub(crate) ends: Ends,
}

/// Findings of each grade.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct ByGrade {
    pub(crate) major: usize,
    pub(crate) minor: usize,
    pub(crate) note: usize,
}

impl ByGrade {
    /// How many there are of each.
    pub(crate) fn of(findings: &[Finding]) -> Self {
        let number = |grade| findings.iter().filter(|finding| finding.grade == grade).count();
        Self { major: number(Grade::Major), minor: number(Grade::Minor), note: number(Grade::Note) }
    }
}

/// How the review of a file ends, in the order of gravity.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Ends {
    #[default]
    Holds,
    /// Findings of a lower grade than was asked for stand.
    HoldsAtMinor,
    HoldsAtMajor,
    NotJudged,
    Fails,
    /// Not all of it could be read.
    Problems,
    /// It could not be opened.
    Unreadable,
}

impl Ends {
    /// All, the gravest first.
    pub(crate) const ALL: [Self; 7] = [
        Self::Unreadable,
        Self::Problems,
        Self::Fails,
        Self::NotJudged,
        Self::HoldsAtMajor,
        Self::HoldsAtMinor,
        Self::Holds,
    ];

    /// How the review of a file ends that could be opened, where a grade was asked for.
    pub(crate) fn of(outcome: Outcome, asked: AskedGrade, findings: &[Finding]) -> Self {
        match (outcome, asked) {
            (Outcome::Holds, AskedGrade::Major) if !findings.is_empty() => Self::HoldsAtMajor,
            (Outcome::Holds, AskedGrade::Minor) if !findings.is_empty() => Self::HoldsAtMinor,
            (Outcome::Holds, _) => Self::Holds,
            (Outcome::NotJudged, _) => Self::NotJudged,
            (Outcome::Fails, _) => Self::Fails,
            (Outcome::Unreadable, _) => Self::Problems,
        }
    }

    /// How a run ends that has nothing graver.
    pub(crate) const fn outcome(self) -> Outcome {
        match self {
            Self::Holds | Self::HoldsAtMinor | Self::HoldsAtMajor => Outcome::Holds,
            Self::NotJudged => Outcome::NotJudged,
            Self::Fails => Outcome::Fails,
            Self::Problems | Self::Unreadable => Outcome::Unreadable,
        }
    }

    /// The words for it.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::HoldsAtMinor => "holds at grade minor",
            Self::HoldsAtMajor => "holds at grade major",
            Self::NotJudged => "not judged",
            Self::Fails => "fails",
            Self::Problems => "problems",
            Self::Unreadable => "unreadable",
        }
    }

    /// The words for it where there is little room.
    pub(crate) const fn short(self) -> &'static str {
        match self {
            Self::HoldsAtMinor => "holds at minor",
            Self::HoldsAtMajor => "holds at major",
            _ => self.words(),
        }
    }
}

impl Row {
    /// What the review of a file came to.
    pub(crate) fn of(file: &FileReview) -> Self {
        let made = match &file.made {
            Ok(made) => made,
            Err(why) => {
                let (file, unreadable) = (file.name.clone(), Some(why.clone()));
                return Self { file, unreadable, ends: Ends::Unreadable, ..Self::default() };
            }
        };
        Self {
            file: made.described.name.clone(),
            unit: made.described.unit.name.clone(),
            counts: made.review.counts,
            findings: ByGrade::of(&made.review.findings),
            problems: made.described.problems.iter().filter(|problem| problem.kind != MORE_PROBLEMS).count(),
            unreadable: None,
            ends: file.ends,
        }
    }
}

/// The sum of all rows.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sum {
    pub(crate) counts: Counts,
    pub(crate) findings: ByGrade,
    pub(crate) problems: usize,
    pub(crate) gravest: Ends,
}

impl Sum {
    /// The sum of some rows.
    pub(crate) fn of(rows: &[Row]) -> Self {
        let mut sum = Self::default();
        for row in rows {
            sum.counts.hold += row.counts.hold;
            sum.counts.fail += row.counts.fail;
            sum.counts.accepted += row.counts.accepted;
            sum.counts.not_judged += row.counts.not_judged;
            sum.findings.major += row.findings.major;
            sum.findings.minor += row.findings.minor;
            sum.findings.note += row.findings.note;
            sum.problems += row.problems;
            sum.gravest = sum.gravest.max(row.ends);
        }
        sum
    }
}
