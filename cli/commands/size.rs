//! `loadworthy size`: the smallest counts, parts, sections, fuses and coolant flow that hold.

use std::io::Read;

use crate::arguments::{self, AskedKind, SizeForm};
use crate::described::Source;
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::json;
use crate::show::size::{terminal, yaml};
use crate::show::terminal::Paint;
use crate::size::{Question, Sizes};

use super::one_file::tell_problems;

/// Prints the sizes.
pub(crate) fn run(
    asked: &arguments::Size,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    let mut source = match Source::open(&asked.file, &asked.with, input) {
        Ok(source) => source,
        Err(why) => {
            errors.tell(&format!("loadworthy: cannot read {}: {why}", shown_name(&asked.file)));
            return Outcome::Unreadable;
        }
    };
    let (described, roots) = source.described(&[]);
    if !described.problems.is_empty() {
        tell_problems(&described, errors);
        errors.tell("loadworthy: what is not read whole is not sized");
        return Outcome::Unreadable;
    }
    let question = Question {
        only: &asked.only,
        first: asked.first.map(AskedKind::kind),
        grade: asked.grade.lowest(),
        with: asked.with.iter().map(|(path, _)| path.as_str()).collect(),
        on: asked.on,
    };
    let sizes = match Sizes::of(&question, (&described, &roots), &mut source) {
        Ok(sizes) => sizes,
        Err(why) => {
            errors.tell(&format!("loadworthy: {why}"));
            return Outcome::Unreadable;
        }
    };
    let outcome = sizes.outcome();
    output.put(&match asked.format {
        SizeForm::Terminal => terminal::table(&described, &sizes, Paint { colored }),
        SizeForm::Json => json::size::sizes(&described, &sizes, outcome) + "\n",
        SizeForm::Yaml => yaml::patch(&described, &sizes),
    });
    outcome
}
