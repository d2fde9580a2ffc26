//! `loadworthy compare`: what changed, and what that does.

use std::io::Read;

use crate::arguments::{self, CompareForm};
use crate::compared::Compared;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::compare::terminal;
use crate::show::html;
use crate::show::json;
use crate::show::markdown;
use crate::show::terminal::Paint;

/// Compares two descriptions.
pub(crate) fn run(
    asked: &arguments::Compare,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    let compared = Compared::of(asked, input);
    let mut told: Vec<String> = Vec::new();
    for side in [&compared.old, &compared.new] {
        let said = match &side.made {
            Err(why) => format!("loadworthy: cannot read {}: {why}", side.name),
            Ok(made) if !made.described.problems.is_empty() => {
                format!("loadworthy: {} has problems, and nothing is compared with it", side.name)
            }
            Ok(_) => continue,
        };
        // Of one file that cannot be opened both sides say the same.
        if !told.contains(&said) {
            errors.tell(&said);
            told.push(said);
        }
    }
    match asked.format {
        CompareForm::Terminal => output.put(&terminal::comparison(&compared, asked.all, Paint { colored })),
        CompareForm::Markdown => output.put(&markdown::change::comparison(&compared, asked)),
        CompareForm::Html => output.put(&html::change::page(&compared, asked.grade)),
        CompareForm::Json => output.line(&json::compare::comparison(&compared, asked)),
    }
    compared.outcome
}
