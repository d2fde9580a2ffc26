//! The commands, one file each: read, ask, show.

mod balance;
mod capability;
mod checks;
mod compare;
mod derive;
mod mission;
mod one_file;
mod outline;
mod resolve;
mod review;
mod schema;
mod shell;
mod size;
mod stress;

use std::io::Read;

use crate::arguments::Command;
use crate::outcome::Outcome;
use crate::output::Output;

/// Runs a command.
pub(crate) fn run(
    command: Command,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    match command {
        Command::Review(asked) => review::run(&asked, input, output, errors, colored),
        Command::Compare(asked) => compare::run(&asked, input, output, errors, colored),
        Command::Stress(asked) => stress::run(&asked, input, output, errors, colored),
        Command::Balance(asked) => balance::run(&asked, input, output, errors, colored),
        Command::Mission(asked) => mission::run(&asked, input, output, errors, colored),
        Command::Capability(asked) => capability::run(&asked, input, output, errors, colored),
        Command::Size(asked) => size::run(&asked, input, output, errors, colored),
        Command::Derive(asked) => derive::run(&asked, input, output, errors),
        Command::Resolve(asked) => resolve::run(&asked, input, output, errors),
        Command::Checks(asked) => checks::run(&asked, output, errors),
        Command::Outline(asked) => outline::run(&asked, output, errors),
        Command::Schema(asked) => schema::run(&asked, output),
        Command::Completions(asked) => shell::completions(&asked, output),
        Command::Manual => shell::manual(output),
    }
}
