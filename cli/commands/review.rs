//! `loadworthy review`: the main job.

use std::io::Read;

use loadworthy_checks::Review;

use crate::arguments::{self, AskedGrade, ReviewForm};
use crate::described::{Described, describe};
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::permits;
use crate::show::besides::Besides;
use crate::show::json::review::{Reviewed, reviews};
use crate::show::terminal::{self, Paint};

/// Reviews every file; of several the gravest outcome counts.
pub(crate) fn run(
    asked: &arguments::Review,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    let mut outcome = Outcome::Holds;
    let mut machine = Vec::new();
    for path in &asked.files {
        let name = shown_name(path);
        match describe(path, &asked.with, input) {
            Ok(described) => {
                let day = permits::day(&described.unit, asked.on);
                let review = match day {
                    Some(day) => loadworthy_checks::review::review_on(&described.unit, day.date),
                    None => loadworthy_checks::review(&described.unit),
                };
                outcome = outcome.max(outcome_of(&described, &review, asked.grade));
                let faults = asked.faults.then(|| loadworthy_checks::faults::walk(&described.unit));
                let besides = Besides { day, faults };
                match asked.format {
                    ReviewForm::Json => machine.push(Reviewed::of(&described, &review, &besides)),
                    ReviewForm::Terminal if asked.quiet => {
                        output.put(&terminal::one_line(&described, &review))
                    }
                    ReviewForm::Terminal => {
                        if asked.files.len() > 1 {
                            output.line(&format!("— {name}"));
                        }
                        output.put(&terminal::review(
                            &described,
                            &review,
                            &besides,
                            asked.all,
                            Paint { colored },
                        ));
                        if asked.files.len() > 1 {
                            output.line("");
                        }
                    }
                }
            }
            Err(why) => {
                outcome = Outcome::Unreadable;
                errors.tell(&format!("loadworthy: cannot read {name}: {why}"));
                machine.push(Reviewed::unreadable(name, why));
            }
        }
    }
    if asked.format == ReviewForm::Json {
        output.line(&reviews(machine, outcome));
    }
    outcome
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
