//! `loadworthy balance`: where the power of every duty point goes.

use std::io::Read;

use crate::arguments::{self, DeriveForm};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::balance::{Account, accounts, csv, terminal};
use crate::show::json;
use crate::show::terminal::Paint;
use crate::solutions::Solutions;

use super::one_file::about_one;

/// Prints the balances.
pub(crate) fn run(
    asked: &arguments::Balance,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    about_one(&asked.file, &asked.with, input, errors, |described, _| {
        if described.unit.variants.is_empty() {
            return Err("nothing of the description could be read".to_owned());
        }
        let solutions = Solutions::of(&described.unit, asked.variant.as_deref(), asked.duty.as_deref())?;
        let accounts = accounts(&solutions);
        let are_complete = !accounts.is_empty() && accounts.iter().all(Account::is_complete);
        let outcome = if are_complete { Outcome::Holds } else { Outcome::NotJudged };
        output.put(&match asked.format {
            DeriveForm::Terminal => terminal::balance(described, &accounts, Paint { colored }),
            DeriveForm::Json => json::balance::balance(described, &accounts, outcome) + "\n",
            DeriveForm::Csv => csv::table(&accounts),
        });
        Ok(outcome)
    })
}
