//! The program `loadworthy`: reads descriptions, asks for a review, and shows it.
//!
//! This is the only floor that opens files, writes to a terminal or knows a form of output. Each command is a thin
//! file: read, ask, show.

mod arguments;
mod commands;
mod compared;
mod described;
mod files;
mod gathered;
mod in_order;
mod mission;
mod outcome;
mod output;
mod permits;
mod progress;
mod reviewed;
mod revision;
mod show;
mod size;
mod solutions;
mod tally;

use std::ffi::{OsStr, OsString};
use std::io::{Read, Write};
use std::process::ExitCode;

use outcome::Outcome;
use output::{End, Output};

/// What the program touches of the world around it, apart from files.
pub struct Surroundings<'w> {
    /// Where a description named `-` comes from.
    pub input: &'w mut dyn Read,
    /// Where results go.
    pub output: &'w mut dyn Write,
    /// Where everything else that must be said goes.
    pub errors: &'w mut dyn Write,
    /// Whether results may have colours.
    pub colored: bool,
}

/// Whether results may have colours: a person reads them, and did not ask for none by `NO_COLOR`, which counts unless it is
/// empty.
#[must_use]
pub fn wants_color(is_terminal: bool, no_color: Option<&OsStr>) -> bool {
    is_terminal && no_color.is_none_or(OsStr::is_empty)
}

/// Runs the program with its arguments, the first of which is its own name.
///
/// Exit code 2: something could not be read or written. Otherwise 1: a finding at the asked grade. Otherwise 3:
/// something could not be judged. Otherwise 0.
pub fn run(arguments: impl IntoIterator<Item = OsString>, surroundings: Surroundings<'_>) -> ExitCode {
    let Surroundings { input, output, errors, colored } = surroundings;
    let mut output = Output::new(output);
    let mut errors = Output::new(errors);
    let outcome = match arguments::parse(arguments.into_iter().collect()) {
        Ok(command) => commands::run(command, input, &mut output, &mut errors, colored),
        Err(stopped) => {
            if stopped.is_answer {
                output.put(&stopped.text)
            } else {
                errors.put(&stopped.text)
            }
            if stopped.is_answer { Outcome::Holds } else { Outcome::Unreadable }
        }
    };
    let outcome = match output.end() {
        End::Written | End::Closed => outcome,
        End::Failed(why) => {
            errors.tell(&format!("loadworthy: the result could not be written: {}", output::reason(&why)));
            Outcome::Unreadable
        }
    };
    // Nobody is left to tell that errors cannot be told.
    let _ = errors.end();
    outcome.code()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_for_terminals_whose_owner_did_not_refuse_them() {
        assert!(wants_color(true, None));
        assert!(wants_color(true, Some(OsStr::new(""))));
        assert!(!wants_color(true, Some(OsStr::new("1"))));
        assert!(!wants_color(true, Some(OsStr::new("0"))));
        assert!(!wants_color(false, None));
    }
}
