//! `loadworthy derive`: every solved figure, or how one comes about.

use std::io::Read;

use loadworthy_checks::cause::cause_text;
use loadworthy_checks::figure_text;
use loadworthy_unit::{Cause, FigureId};

use crate::arguments::{self, DeriveForm};
use crate::described::{Described, describe};
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::layout::counted;
use crate::show::{csv, figures, json, places, tree};
use crate::solutions::{Found, Solutions, telling};

/// Prints figures.
pub(crate) fn run(
    asked: &arguments::Derive,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
) -> Outcome {
    let name = shown_name(&asked.file);
    let described = match describe(&asked.file, &asked.with, input) {
        Ok(described) => described,
        Err(why) => {
            errors.tell(&format!("loadworthy: cannot read {name}: {why}"));
            return Outcome::Unreadable;
        }
    };
    tell_problems(&described, errors);
    let shown = shown(asked, &described, output, errors);
    match shown {
        Ok(outcome) if described.problems.is_empty() => outcome,
        Ok(_) => Outcome::Unreadable,
        Err(why) => {
            errors.tell(&format!("loadworthy: {why}"));
            Outcome::Unreadable
        }
    }
}

/// Figures of a description with problems may be shown, but not as if there were none.
fn tell_problems(described: &Described, errors: &mut Output<'_>) {
    let Some(first) = described.problems.first() else { return };
    let places::Place { file, line, column, .. } = places::of_span(&described.tree, first.at);
    errors.tell(&format!("{file}:{line}:{column}: {}", first.message));
    let problems = counted(described.problems.len(), "problem", "problems");
    errors.tell(&format!("loadworthy: {problems}; `loadworthy review` shows what to write"));
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
    let missing = found.iter().filter(|one| one.solved.figure(one.figure, one.lane).is_none());
    let missing = missing.collect::<Vec<_>>();
    let Some(first) = missing.first() else { return Outcome::Holds };
    if let number @ 2.. = missing.len() {
        errors.tell(&format!("loadworthy: {number} figures are not solved; the first:"));
    }
    for cause in first.solved.missing(first.figure, first.lane) {
        errors.tell(&format!("loadworthy: not solved: {}", why_missing(described, **first, cause)));
    }
    Outcome::NotJudged
}

/// Why a figure is missing, and where.
fn why_missing(described: &Described, one: Found<'_, '_>, cause: Cause) -> String {
    let variant = one.solved.variant;
    let text = cause_text(variant, variant.lane(one.lane).duty, cause);
    let subject = text.subject_in(&variant.duty_of(one.lane).name);
    let mut said = if text.is_path { format!("`{subject}` {}", text.trouble) } else { subject };
    match cause {
        Cause::NoSolution { largest, .. } if largest.is_finite() => {
            said.push_str(&format!("; at most {} of what it asks has one", figure_text::percent(largest)));
        }
        Cause::Beyond { figure, .. } => {
            said = format!("{} has no value: {said}", variant.tables.figure_path(figure));
        }
        _ => {}
    }
    if let Some(node) = text.near {
        said.push_str(&format!(", near {}", places::in_short(&described.tree, node)));
    }
    said
}
