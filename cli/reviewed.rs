//! A file with its review, ready to be shown in any form.

use std::io::Read;

use loadworthy_checks::Review;
use loadworthy_checks::faults::walk;

use crate::arguments::{self, AskedGrade};
use crate::described::{Described, describe};
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::permits::{self, Day};
use crate::show::besides::Besides;
use crate::show::layout::free_text;
use crate::tally::Ends;

/// A file that was to be reviewed.
pub(crate) struct FileReview {
    /// Its name as it is shown.
    pub(crate) name: String,
    /// Where it is, as it was given.
    pub(crate) path: std::path::PathBuf,
    /// What came of it, or a sentence that says why it could not be opened.
    pub(crate) made: Result<Made, String>,
    /// How the review of this file ends.
    pub(crate) ends: Ends,
}

/// A description, what a review says of it, and what was asked for besides.
pub(crate) struct Made {
    pub(crate) described: Described,
    pub(crate) review: Review,
    pub(crate) besides: Besides,
}

impl FileReview {
    /// Opens and reviews one file.
    pub(crate) fn of(path: &std::path::Path, asked: &arguments::Review, input: &mut dyn Read) -> Self {
        let (name, path) = (shown_name(path), path.to_owned());
        let described = match describe(&path, &asked.with, input) {
            Ok(described) => described,
            Err(why) => return Self { name, path, made: Err(why), ends: Ends::Unreadable },
        };
        let day = permits::day(&described.unit, asked.on);
        let mut made = Made::on(described, day);
        let ends = Ends::of(made.outcome(asked.grade), asked.grade, &made.review.findings);
        // What comes of a fault is told of what is written alone.
        let unit = &made.described.unit;
        let mut faults = asked.faults.then(|| walk(unit.written.as_deref().unwrap_or(unit)));
        if unit.written.is_some() {
            // Its figures are none of the unit that is shown.
            let all = faults.iter_mut().flatten().flat_map(|one| &mut one.faults);
            all.flat_map(|fault| &mut fault.effect.worse).for_each(|worse| worse.comparison = None);
        }
        made.besides.faults = faults;
        Self { name, path, made: Ok(made), ends }
    }

    /// A file on which the program broke down, with what it said.
    pub(crate) fn broken_down(path: &std::path::Path, said: &str) -> Self {
        let why =
            format!("this program broke down on it, which is a defect of the program: {}", free_text(said));
        Self { name: shown_name(path), path: path.to_owned(), made: Err(why), ends: Ends::Unreadable }
    }
}

impl Made {
    /// Reviews a description, its permits held against a day.
    pub(crate) fn on(described: Described, day: Option<Day>) -> Self {
        let described = described.taken_as_meant();
        let review = match day {
            Some(day) => loadworthy_checks::review::review_on(&described.unit, day.date),
            None => loadworthy_checks::review(&described.unit),
        };
        Self { described, review, besides: Besides { day, faults: None } }
    }

    /// Reviews a description for its verdicts and findings alone, without what would hold.
    pub(crate) fn findings_on(described: Described, day: Option<Day>) -> Self {
        let described = described.taken_as_meant();
        let review = loadworthy_checks::review::findings_on(&described.unit, day.map(|day| day.date));
        Self { described, review, besides: Besides { day, faults: None } }
    }

    /// How the review ends.
    pub(crate) fn outcome(&self, grade: AskedGrade) -> Outcome {
        outcome_of(&self.described, &self.review, grade)
    }
}

/// How a review ends.
fn outcome_of(described: &Described, review: &Review, grade: AskedGrade) -> Outcome {
    let counts = review.counts;
    let undecided = review.unsolved.iter().any(|one| one.largest.is_none());
    // A structure in order says nothing of what it carries.
    let nothing = !review.judges_a_duty_point();
    if !described.problems.is_empty() {
        Outcome::Unreadable
    } else if review.findings.iter().any(|finding| grade.counts(finding.grade)) {
        Outcome::Fails
    } else if counts.not_judged > 0 || undecided || nothing || !review.broken_checks.is_empty() {
        Outcome::NotJudged
    } else {
        Outcome::Holds
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tally::Row;

    #[test]
    fn a_form_may_take_whole_reviews_from_the_threads_that_made_them() {
        const fn goes_between_threads<T: Send>() {}
        goes_between_threads::<FileReview>();
    }

    #[test]
    fn a_file_on_which_the_program_breaks_down_is_one_that_could_not_be_read() {
        let file = FileReview::broken_down(std::path::Path::new("a\u{1b}.yaml"), "index\nout of bounds");
        assert_eq!((file.name.as_str(), file.ends.outcome()), ("a\\u{001B}.yaml", Outcome::Unreadable));
        let row = Row::of(&file);
        assert_eq!(row.ends, Ends::Unreadable);
        let why = row.unreadable.unwrap_or_default();
        assert!(why.contains("a defect of the program: index\\u{000A}out of bounds"), "{why}");
    }
}
