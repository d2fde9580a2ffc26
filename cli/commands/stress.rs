//! `loadworthy stress`: what every part carries of what it may.

use std::io::Read;

use crate::arguments::{self, DeriveForm};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::permits::Accepted;
use crate::show::json;
use crate::show::stress::{Stresses, csv, terminal};
use crate::show::terminal::Paint;
use crate::show::tolerance::{self, Tolerances};
use crate::solutions::chosen;

use super::one_file::about_one;

/// Prints the table.
pub(crate) fn run(
    asked: &arguments::Stress,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    about_one(&asked.file, &asked.with, input, errors, |described, _| {
        if described.unit.variants.is_empty() {
            return Err("nothing of the description could be read".to_owned());
        }
        let variants = chosen(&described.unit, asked.variant.as_deref(), asked.duty.as_deref())?;
        let review = loadworthy_checks::review::judged(&described.unit);
        let accepted = Accepted::of(&described.unit, &review, asked.on);
        let duty = asked.duty.as_deref();
        let stresses = Stresses::of(&described.unit, &review, &variants, duty, &accepted);
        if asked.tolerance {
            let tolerances = Tolerances::of(&described.unit, &review, &variants, &stresses);
            let is_complete = stresses.are_complete() && tolerances.are_complete();
            let outcome = if is_complete { Outcome::Holds } else { Outcome::NotJudged };
            output.put(&match asked.format {
                DeriveForm::Terminal => {
                    tolerance::terminal::table(described, &tolerances, asked.all, Paint { colored })
                }
                DeriveForm::Json => json::tolerance::table(described, &tolerances, outcome) + "\n",
                DeriveForm::Csv => tolerance::csv::table(&tolerances),
            });
            return Ok(outcome);
        }
        let outcome = if stresses.are_complete() { Outcome::Holds } else { Outcome::NotJudged };
        output.put(&match asked.format {
            DeriveForm::Terminal => terminal::table(described, &stresses, asked.all, Paint { colored }),
            DeriveForm::Json => json::stress::table(described, &stresses, outcome) + "\n",
            DeriveForm::Csv => csv::table(&stresses),
        });
        Ok(outcome)
    })
}
