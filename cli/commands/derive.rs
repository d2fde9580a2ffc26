//! `loadworthy derive`: every solved figure, or how one comes about.

use std::io::Read;

use loadworthy_unit::FigureId;

use crate::arguments::{self, DeriveForm};
use crate::described::Described;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::{csv, figures, json, tree, why};
use crate::solutions::{Found, Solutions, telling};

use super::one_file::about_one_taken;

/// Prints figures.
pub(crate) fn run(
    asked: &arguments::Derive,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
) -> Outcome {
    // Findings of a review name figures to look up, also those that follow from words as they are meant.
    let file = (asked.file.as_path(), asked.with.as_slice());
    about_one_taken(file, Described::taken_as_meant, input, errors, |described, errors| {
        shown(asked, described, output, errors)
    })
}

fn shown(
    asked: &arguments::Derive,
    described: &Described,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
) -> Result<Outcome, String> {
    if described.unit.variants.is_empty() {
        return Err("nothing of the description could be read".to_owned());
    }
    let solutions = Solutions::of(&described.unit, asked.variant.as_deref(), asked.duty.as_deref())?;
    let Some(figure) = &asked.figure else {
        output.put(&match asked.format {
            DeriveForm::Terminal => figures::table(&solutions),
            DeriveForm::Json => json::figures::table(described, &solutions) + "\n",
            DeriveForm::Csv => csv::table(&solutions),
        });
        return Ok(told_missing(described, &every(&solutions), errors));
    };
    let found = solutions.all(figure)?;
    if asked.format == DeriveForm::Csv {
        output.put(&csv::one(&found));
        return Ok(told_missing(described, &found, errors));
    }
    let Some(one) = telling(&found) else { return Err("there is no duty point to solve".to_owned()) };
    let derivation = one.solved.derivation(one.lane);
    output.put(&match asked.format {
        DeriveForm::Json => json::figures::derived(described, one, &derivation) + "\n",
        _ => tree::tree(described, one, &derivation, found.len(), asked.depth),
    });
    Ok(told_missing(described, &[one], errors))
}

/// Every figure in every lane that was asked for.
fn every<'s, 'u>(solutions: &'s Solutions<'u>) -> Vec<Found<'s, 'u>> {
    let mut every = Vec::new();
    for solved in &solutions.solved {
        for lane in solutions.lanes(solved) {
            let figures = (0..solved.variant.tables.figures().len()).map(FigureId::new);
            every.extend(figures.map(|figure| Found { solved, figure, lane }));
        }
    }
    every
}

/// Says how many figures are missing, and why the first of them is.
fn told_missing(described: &Described, found: &[Found<'_, '_>], errors: &mut Output<'_>) -> Outcome {
    // What a duty point does not ask of a shaft is no figure that is missing.
    let counts = |one: &&Found<'_, '_>| {
        found.len() == 1 || !one.solved.variant.tables.figure_of(one.figure).is_asked_for
    };
    let missing = found.iter().filter(counts).filter(|one| one.solved.figure(one.figure, one.lane).is_none());
    let missing = missing.collect::<Vec<_>>();
    let Some(first) = missing.first() else { return Outcome::Holds };
    if let number @ 2.. = missing.len() {
        errors.tell(&format!("loadworthy: {number} figures are not solved; the first:"));
    }
    for cause in first.solved.missing(first.figure, first.lane) {
        errors.tell(&format!(
            "loadworthy: not solved: {}",
            why::missing(described, first.solved.variant, first.lane, cause)
        ));
    }
    Outcome::NotJudged
}
