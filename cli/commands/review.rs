//! `loadworthy review`: the main job.

use std::io::Read;

use crate::arguments::{self, ReviewForm};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::reviewed::FileReview;
use crate::show::html;
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
    let mut sheets = Vec::new();
    for path in &asked.files {
        let file = FileReview::of(path, asked, input);
        outcome = outcome.max(file.outcome);
        if let Err(why) = &file.made {
            errors.tell(&format!("loadworthy: cannot read {}: {why}", file.name));
        }
        match asked.format {
            ReviewForm::Json => machine.push(Reviewed::of(&file)),
            ReviewForm::Html => sheets.push(file),
            ReviewForm::Terminal => terminal(&file, asked, output, Paint { colored }),
        }
    }
    if asked.format == ReviewForm::Json {
        output.line(&reviews(machine, outcome));
    }
    if asked.format == ReviewForm::Html {
        output.put(&html::page(&sheets));
    }
    outcome
}

fn terminal(file: &FileReview, asked: &arguments::Review, output: &mut Output<'_>, paint: Paint) {
    let Ok(made) = &file.made else { return };
    if asked.quiet {
        output.put(&terminal::one_line(made));
        return;
    }
    if asked.files.len() > 1 {
        output.line(&format!("— {}", file.name));
    }
    output.put(&terminal::review(made, asked.all, paint));
    if asked.files.len() > 1 {
        output.line("");
    }
}
