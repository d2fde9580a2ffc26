//! Forms of results and grades of findings, as they are asked for.

use clap::ValueEnum;
use loadworthy_checks::verdict::Grade;

/// How a review is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReviewForm {
    /// For a person
    Terminal,
    /// For an editor or a hook: a line for each problem, finding and missing input, with its place
    Lines,
    /// For a program: everything, with places
    Json,
    /// For a comment beside a change
    Markdown,
    /// For a host that shows results beside the lines of a change
    Sarif,
    /// A page with drawings, in one file that asks for nothing else
    Html,
}

/// How a comparison is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CompareForm {
    /// For a person
    Terminal,
    /// For a program: everything, with places in both files
    Json,
    /// For a comment beside a change
    Markdown,
    /// A page in one file that asks for nothing else
    Html,
}

/// How a mission is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum MissionForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// For a spreadsheet: each row with what it came to, as soon as it is followed
    Csv,
}

/// How figures are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum DeriveForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// For a spreadsheet
    Csv,
}

/// How a curve is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CurveForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// For a spreadsheet
    Csv,
    /// A drawing
    Svg,
}

/// How sizes are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SizeForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// The changes alone, as a merge patch over the description
    Yaml,
}

/// How the list of checks is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ChecksForm {
    /// For a person
    Terminal,
    /// An index that leads to a page for each check
    Markdown,
}

/// How a resolved description is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ResolveForm {
    /// A description, with comments
    Yaml,
    /// For a program: the same tree, with a list of what is assumed and changed
    Json,
}

/// A grade as it is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AskedGrade {
    /// The concept does not carry the duty point as described
    Major,
    /// It does under a condition, or a reader should know
    Minor,
    /// Worth knowing
    Note,
}

impl AskedGrade {
    /// Whether a finding of a grade counts.
    pub(crate) fn counts(self, grade: Grade) -> bool {
        grade <= self.lowest()
    }

    /// The lowest grade that counts.
    pub(crate) const fn lowest(self) -> Grade {
        match self {
            Self::Major => Grade::Major,
            Self::Minor => Grade::Minor,
            Self::Note => Grade::Note,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_graver_finding_counts_at_a_lower_grade() {
        assert!(AskedGrade::Minor.counts(Grade::Major) && AskedGrade::Minor.counts(Grade::Minor));
        assert!(!AskedGrade::Minor.counts(Grade::Note) && !AskedGrade::Major.counts(Grade::Minor));
    }
}
