//! What a person may ask on the command line.

mod compare;
mod forms;
mod review;
mod size;
mod texts;
mod values;
mod views;

use std::ffi::OsString;

use clap::{Parser, Subcommand};
use loadworthy_source::escape_text;

pub(crate) use compare::Compare;
pub(crate) use forms::{
    AskedGrade, ChecksForm, CompareForm, CurveForm, DeriveForm, MissionForm, ResolveForm, ReviewForm,
    SizeForm,
};
pub(crate) use review::Review;
pub(crate) use size::{AskedKind, Size};
pub(crate) use texts::{AskedSchema, Checks, Completions, Outline, Resolve, Schema};
pub(crate) use views::{Balance, Capability, Derive, Mission, Stress};

/// Reviews the concept of a power control unit from one text file.
///
/// It solves every duty point of every variant, judges what each part carries against what it may carry, and says what
/// does not hold, where in the file, by how much, why, and what would hold. It is a concept-stage aid: standards in force,
/// local codes and a qualified person decide.
#[derive(Debug, Parser)]
#[command(name = "loadworthy", version, max_term_width = 80, disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

/// A command with what was asked of it.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Solve every duty point of every variant, run every check, and print what does not hold
    ///
    /// Ends with 2 if something could not be read, otherwise with 1 if a finding has the asked grade, otherwise with 3 if
    /// something could not be judged, otherwise with 0. What a permit accepts is shown and does not count.
    Review(Review),
    /// Print what changed from one description to another, and what that does to every finding and headroom
    ///
    /// Compared are two files, one file and an earlier revision of it (`--base`), two variants of one file (`--variants`), or
    /// a file and what is tried on it (`--with`). What means the same is no change: order of keys, comments, another unit,
    /// another file of parts, and what follows from another name.
    ///
    /// Ends as `review` of the description after; with `--only-worse` only for what the change made worse. Ends with 2 if either
    /// side could not be read in full.
    Compare(Compare),
    /// Print what every part carries of what it may, in its worst duty point and variant, worst first
    ///
    /// Ends with 2 if something could not be read, otherwise with 3 if something could not be judged, otherwise with 0.
    Stress(Stress),
    /// Print where the power of every duty point goes: sources, stages, losses, loads, and the coolant
    ///
    /// Ends with 2 if something could not be read, otherwise with 3 if the balance of a duty point is not known,
    /// otherwise with 0.
    Balance(Balance),
    /// Follow a mission over time and print the worst of every comparison, where it happened, and where the energy went
    ///
    /// Ends with 2 if something could not be read, otherwise with 1 if something fails gravely, otherwise with 3 if
    /// something could not be judged, otherwise with 0.
    Mission(Mission),
    /// Print the largest load of a stage over a condition that varies, and what limits it where
    ///
    /// What the duty point asks of the stage is scaled as a whole: power, current or torque at the machine of a bridge; of a
    /// converter, all that hangs behind it. Everything else stays as described. The largest load is the last one, going
    /// up, at which every comparison of that duty point still holds, policy included; what a permit accepts limits nothing up
    /// to its bound.
    ///
    /// Below it loads are tried at every sixteenth of what is asked, above what is asked at every eighth of it, beyond twice
    /// that at every eighth of the load, and up to three more where the headrooms of neighbouring loads fall towards one
    /// another. A range that fails and is narrower than these steps may be missed.
    ///
    /// Ends with 2 if something could not be read or is not known by that name, otherwise with 3 if something could not be
    /// judged, otherwise with 0.
    Capability(Capability),
    /// Print the smallest counts, parts, sections, fuses and coolant flow that hold, and what fails one step smaller
    ///
    /// Sized are the legs of converters, the devices in parallel at switch positions, the capacitors of banks, which devices,
    /// capacitors and chokes of the parts files are fitted, widths and thicknesses of bars and foil and sections of cables,
    /// rated currents of fuses, and the flow of the coolant, which is never more than described. First the sizes go to where
    /// everything holds, if they must; then down, in the order in which they are named here, each as far as every check holds
    /// in every duty point of every variant beside the others as they stand, again and again until none can be one step
    /// smaller. Every step is the whole description solved and judged anew.
    ///
    /// Ends with 2 if something could not be read, is not known by that name, or nothing can be sized; otherwise with 1 if
    /// a failure of the asked grade remains that no size mends; otherwise with 3 if something could not be judged,
    /// otherwise with 0.
    Size(Size),
    /// Print every solved figure, or how one of them comes about
    Derive(Derive),
    /// Print a description as it is understood: parts joined, a variant laid over it, defaults filled in
    ///
    /// What a variant changed and what is assumed is marked by a comment. What is printed is itself a description, and
    /// means the same.
    Resolve(Resolve),
    /// List the checks, or print what one of them means, with an example that fails and one that holds
    Checks(Checks),
    /// Print a description to start from, with comments that say what each key is
    Outline(Outline),
    /// Print the JSON Schema of the description language, for an editor, or that of a JSON form of output
    Schema(Schema),
    /// Print a script that completes commands and options in a shell
    Completions(Completions),
    /// Print the manual of all commands as a man page
    Manual,
}

/// The whole command line, for what is made of it.
pub(crate) fn command_line() -> clap::Command {
    <Arguments as clap::CommandFactory>::command()
}

/// Why there is no command to run.
pub(crate) struct Stopped {
    /// What to print.
    pub(crate) text: String,
    /// Whether it was asked for, as help is.
    pub(crate) is_answer: bool,
}

/// Reads the command line.
///
/// # Errors
/// Help or version where that was asked for; otherwise what is wrong with the command line.
pub(crate) fn parse(arguments: Vec<OsString>) -> Result<Command, Stopped> {
    let visible = arguments.iter().map(visible).collect::<Vec<_>>();
    match Arguments::try_parse_from(arguments) {
        Ok(arguments) => Ok(arguments.command),
        // The message quotes what was typed. It is made once more from arguments in which everything can be seen.
        Err(stopped) => {
            let told = Arguments::try_parse_from(visible).err().unwrap_or(stopped);
            Err(Stopped { text: told.render().to_string(), is_answer: !told.use_stderr() })
        }
    }
}

/// An argument as it may be shown: escaped, and cut where it is long.
fn visible(argument: &OsString) -> String {
    const LONGEST: usize = 200;
    let text = argument.to_string_lossy();
    let text = escape_text(&text);
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(line: &[&str]) -> Result<Command, Stopped> {
        parse(std::iter::once(&"loadworthy").chain(line).map(OsString::from).collect())
    }

    #[test]
    fn the_command_line_is_consistent() {
        <Arguments as clap::CommandFactory>::command().debug_assert();
    }

    #[test]
    fn what_is_wrong_is_told_without_hidden_characters() {
        let Err(stopped) = parsed(&["review", "--\u{1b}[31m\nforged"]) else { panic!("accepted") };
        assert!(!stopped.is_answer);
        assert!(stopped.text.contains("\\u{001B}[31m\\u{000A}forged"), "{}", stopped.text);
        assert!(!stopped.text.contains('\u{1b}'), "{}", stopped.text);
    }

    #[test]
    fn help_is_an_answer() {
        let Err(stopped) = parsed(&["--help"]) else { panic!("no help") };
        assert!(stopped.is_answer && stopped.text.contains("review"));
    }
}
