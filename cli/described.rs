//! A description read, resolved and ready to be asked.

use std::io::Read;
use std::path::Path;

use loadworthy_language::{Input, read};
use loadworthy_source::{Problem, Tree};
use loadworthy_unit::Unit;

use crate::files;

/// The kind of the problem that says how many more there are.
pub(crate) const MORE_PROBLEMS: &str = "more-problems";

/// A description that was read, as far as it could be.
pub(crate) struct Described {
    /// Its name as it is shown.
    pub(crate) name: String,
    /// Every file of it, with the place of every value.
    pub(crate) tree: Tree,
    /// Everything wrong with it, by place.
    pub(crate) problems: Vec<Problem>,
    /// What it describes.
    pub(crate) unit: Unit,
}

/// Opens, reads and resolves a description.
///
/// # Errors
/// A sentence that says why the file cannot be opened.
pub(crate) fn describe(
    path: &Path,
    overrides: &[(String, String)],
    input: &mut dyn Read,
) -> Result<Described, String> {
    let mut opened = files::open(path, input)?;
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let asked = Input { name: &opened.name, bytes: &opened.bytes, overrides, vocabulary: &vocabulary };
    let reading = read(asked, &mut opened.parts);
    let (unit, beyond) = Unit::build(&reading, &vocabulary);
    let mut problems = reading.problems;
    problems.extend(beyond);
    // How many more there are is said last.
    problems.sort_by_key(|problem| (problem.kind == MORE_PROBLEMS, problem.at));
    Ok(Described { name: opened.name, tree: reading.tree, problems, unit })
}
