//! What every command about one description does around its own work.

use std::io::Read;
use std::path::Path;

use crate::described::{Described, describe};
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::layout::counted;
use crate::show::places;

/// Opens a description and shows something of it. What is shown of a description with problems is not shown as if there
/// were none.
pub(super) fn about_one(
    file: &Path,
    overrides: &[(String, String)],
    input: &mut dyn Read,
    errors: &mut Output<'_>,
    show: impl FnOnce(&Described, &mut Output<'_>) -> Result<Outcome, String>,
) -> Outcome {
    about_one_taken((file, overrides), |written| written, input, errors, show)
}

/// The same of a description taken as it is written, or as it is meant.
pub(super) fn about_one_taken(
    (file, overrides): (&Path, &[(String, String)]),
    taken: impl FnOnce(Described) -> Described,
    input: &mut dyn Read,
    errors: &mut Output<'_>,
    show: impl FnOnce(&Described, &mut Output<'_>) -> Result<Outcome, String>,
) -> Outcome {
    let described = match describe(file, overrides, input) {
        Ok(described) => taken(described),
        Err(why) => {
            errors.tell(&format!("loadworthy: cannot read {}: {why}", shown_name(file)));
            return Outcome::Unreadable;
        }
    };
    tell_problems(&described, errors);
    match show(&described, errors) {
        Ok(outcome) if described.problems.is_empty() => outcome,
        Ok(_) => Outcome::Unreadable,
        Err(why) => {
            errors.tell(&format!("loadworthy: {why}"));
            Outcome::Unreadable
        }
    }
}

/// Problems that are told beside what is shown; a review tells all of them.
const MOST_PROBLEMS: usize = 10;

pub(super) fn tell_problems(described: &Described, errors: &mut Output<'_>) {
    if described.problems.is_empty() {
        return;
    }
    for problem in described.problems.iter().take(MOST_PROBLEMS) {
        let places::Place { file, line, column, .. } = places::of_span(&described.tree, problem.at);
        errors.tell(&format!("{file}:{line}:{column}: {}", problem.message));
    }
    let problems = counted(described.problems.len(), "problem", "problems");
    errors.tell(&format!("loadworthy: {problems}; `loadworthy review` shows what to write"));
    if described.unit.written.is_some() {
        errors.tell(
            "loadworthy: what follows is so if words that could not be read are meant as their problems say",
        );
    }
}
