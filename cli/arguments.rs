//! What a person may ask on the command line.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;
use loadworthy_checks::size::Kind;
use loadworthy_checks::verdict::Grade;
use loadworthy_source::escape_text;

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
    /// up, at which every comparison of that duty point still holds, policy included.
    ///
    /// Ends with 2 if something could not be read or is not known by that name, otherwise with 3 if something could not be
    /// judged, otherwise with 0.
    Capability(Capability),
    /// Print the smallest counts, banks, sections, fuses and coolant flow that hold, and what fails one step smaller
    ///
    /// Sized are the devices in parallel at switch positions, the capacitors of banks, widths of bars (at their stated
    /// thickness) and sections of cables, rated currents of fuses, and the flow of the coolant, which is never more than
    /// described. First the sizes go to where everything holds, if they must; then down, in the order in which they are named
    /// here, each as far as every check holds in every duty point of every variant beside the others as they stand, again
    /// and again until none can be one step smaller. Every step is the whole description solved and judged anew.
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
    /// Print the JSON Schema of the description language, for an editor
    Schema,
}

/// What `review` is asked.
#[derive(Debug, Args)]
pub(crate) struct Review {
    /// Descriptions to review; `-` reads the standard input
    #[arg(required = true, value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = ReviewForm::Terminal)]
    pub(crate) format: ReviewForm,
    /// The lowest grade that makes a finding end the run with 1
    #[arg(long, value_enum, default_value_t = AskedGrade::Major)]
    pub(crate) grade: AskedGrade,
    /// Show every finding, every assumption, and what holds
    #[arg(long)]
    pub(crate) all: bool,
    /// The day that permits are held against; that of the system clock, in UTC, unless said otherwise. Without permits no
    /// day matters
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
    /// Show what comes of every single fault of what is declared: gate supplies, drivers, controllers, buses that feed them,
    /// insulation, devices open or shorted, the coolant standing still. None of it counts for how the run ends
    #[arg(long)]
    pub(crate) faults: bool,
    /// Try a value without editing the file, e.g. `stages.traction_bridge.carrier.frequency=6kHz`
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
    /// Print one line for each file
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

/// What `stress` is asked.
#[derive(Debug, Args)]
pub(crate) struct Stress {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = DeriveForm::Terminal)]
    pub(crate) format: DeriveForm,
    /// Only this duty point
    #[arg(long, value_name = "NAME")]
    pub(crate) duty: Option<String>,
    /// Only this variant
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// Show every part, not the worst twenty
    #[arg(long)]
    pub(crate) all: bool,
    /// How far each headroom shrinks within the tolerances that the description states, and within the usual ranges of
    /// defaults: all at their bad ends, the root of the sum of squares, and which three take most
    #[arg(long)]
    pub(crate) tolerance: bool,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `balance` is asked.
#[derive(Debug, Args)]
pub(crate) struct Balance {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = DeriveForm::Terminal)]
    pub(crate) format: DeriveForm,
    /// Only this duty point
    #[arg(long, value_name = "NAME")]
    pub(crate) duty: Option<String>,
    /// Only this variant
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `mission` is asked.
#[derive(Debug, Args)]
pub(crate) struct Mission {
    /// The description
    pub(crate) file: PathBuf,
    /// The mission; without it the only one
    pub(crate) name: Option<String>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = ReviewForm::Terminal)]
    pub(crate) format: ReviewForm,
    /// This variant; without it the first
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// Show every comparison, not the worst twenty
    #[arg(long)]
    pub(crate) all: bool,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `capability` is asked.
#[derive(Debug, Args)]
pub(crate) struct Capability {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// The stage, or the load of a bus, whose load is scaled
    #[arg(long, value_name = "NAME")]
    pub(crate) stage: String,
    /// The duty point; not needed where there is but one
    #[arg(long, value_name = "NAME")]
    pub(crate) duty: Option<String>,
    /// What varies, by its name in the duty point, e.g. `coolant.inlet=20degC..80degC`, `buses.link=560V..640V`
    #[arg(long, value_name = "NAME=FROM..TO")]
    pub(crate) over: String,
    /// How many values of it
    #[arg(long, value_name = "NUMBER", default_value_t = 13, value_parser = clap::value_parser!(u16).range(2..=1000))]
    pub(crate) points: u16,
    /// Only this variant
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// The lowest grade of failure that limits
    #[arg(long, value_enum, default_value_t = AskedGrade::Minor)]
    pub(crate) grade: AskedGrade,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = CurveForm::Terminal)]
    pub(crate) format: CurveForm,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `size` is asked.
#[derive(Debug, Args)]
pub(crate) struct Size {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// Size only this: a part, such as a stage, bank, conductor or `cooling`, or a kind; everything else stays as described
    #[arg(long, value_name = "PART|KIND")]
    pub(crate) only: Vec<String>,
    /// Make this kind smallest before the others
    #[arg(long, value_enum, value_name = "KIND")]
    pub(crate) first: Option<AskedKind>,
    /// The lowest grade of failure that counts
    #[arg(long, value_enum, default_value_t = AskedGrade::Minor)]
    pub(crate) grade: AskedGrade,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = SizeForm::Terminal)]
    pub(crate) format: SizeForm,
    /// Try a value without editing the file; what it sets is not sized
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// A kind of what is sized.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AskedKind {
    /// Devices in parallel
    Devices,
    /// Capacitors of banks
    Banks,
    /// Sections of bars and cables
    Sections,
    /// Rated currents of fuses
    Fuses,
    /// Flow of the coolant
    Flow,
}

impl AskedKind {
    /// The kind.
    pub(crate) const fn kind(self) -> Kind {
        match self {
            Self::Devices => Kind::Devices,
            Self::Banks => Kind::Banks,
            Self::Sections => Kind::Sections,
            Self::Fuses => Kind::Fuses,
            Self::Flow => Kind::Flow,
        }
    }
}

/// What `derive` is asked.
#[derive(Debug, Args)]
pub(crate) struct Derive {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// A figure by its path, e.g. `traction_bridge.high_side.u.diode.junction_temperature`; without it all are listed
    pub(crate) figure: Option<String>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = DeriveForm::Terminal)]
    pub(crate) format: DeriveForm,
    /// Only this duty point
    #[arg(long, value_name = "NAME")]
    pub(crate) duty: Option<String>,
    /// Only this variant
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// How many steps of a figure to show, one inside the other
    #[arg(long, value_name = "STEPS", default_value_t = 4)]
    pub(crate) depth: usize,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `resolve` is asked.
#[derive(Debug, Args)]
pub(crate) struct Resolve {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// This variant; without it the only one, or the description without any of several
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = ResolveForm::Yaml)]
    pub(crate) format: ResolveForm,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `checks` is asked.
#[derive(Debug, Args)]
pub(crate) struct Checks {
    /// The check to explain
    pub(crate) name: Option<String>,
}

/// What `outline` is asked.
#[derive(Debug, Args)]
pub(crate) struct Outline {
    /// Sections to write that are otherwise left as comments
    #[arg(long, value_name = "SECTION", num_args = 1..)]
    pub(crate) with: Vec<String>,
}

/// How a review is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReviewForm {
    /// For a person
    Terminal,
    /// For a program: everything, with places
    Json,
}

/// How figures are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum DeriveForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// For a spreadsheet
    Csv,
}

/// How a curve is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CurveForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// For a spreadsheet
    Csv,
    /// A drawing
    Svg,
}

/// How sizes are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SizeForm {
    /// For a person
    Terminal,
    /// For a program
    Json,
    /// The changes alone, as a merge patch over the description
    Yaml,
}

/// How a resolved description is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ResolveForm {
    /// A description, with comments
    Yaml,
    /// For a program: the same tree, with a list of what is assumed and changed
    Json,
}

/// A grade as it is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AskedGrade {
    /// The concept does not carry the duty point as described
    Major,
    /// It does under a condition, or a reader should know
    Minor,
    /// Worth knowing
    Note,
}

impl AskedGrade {
    /// Whether a finding of a grade counts.
    pub(crate) fn counts(self, grade: Grade) -> bool {
        grade <= self.lowest()
    }

    /// The lowest grade that counts.
    pub(crate) const fn lowest(self) -> Grade {
        match self {
            Self::Major => Grade::Major,
            Self::Minor => Grade::Minor,
            Self::Note => Grade::Note,
        }
    }
}

fn override_of(text: &str) -> Result<(String, String), &'static str> {
    match text.split_once('=') {
        Some((path, value)) if !path.is_empty() => Ok((path.to_owned(), value.to_owned())),
        _ => Err("write the path of a value, `=`, and the value to try"),
    }
}

fn day_of(text: &str) -> Result<Date, &'static str> {
    // The only form of a day that permits know as well.
    let is_plain = text.len() == "2027-03-31".len();
    text.parse().ok().filter(|_| is_plain).ok_or("write year, month and day of the calendar: 2027-03-31")
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
    fn a_value_to_try_has_a_path() {
        assert_eq!(override_of("a.b=6 kHz"), Ok(("a.b".to_owned(), "6 kHz".to_owned())));
        assert_eq!(override_of("a.b=c=d"), Ok(("a.b".to_owned(), "c=d".to_owned())));
        assert!(override_of("=6").is_err() && override_of("a.b").is_err());
    }

    #[test]
    fn a_day_is_one_of_the_calendar() {
        assert_eq!(day_of("2028-02-29"), Ok(jiff::civil::date(2028, 2, 29)));
        for bad in ["2027-02-29", "20270331", "2027-03-31T12:00", "31.03.2027", "today", ""] {
            assert!(day_of(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_graver_finding_counts_at_a_lower_grade() {
        assert!(AskedGrade::Minor.counts(Grade::Major) && AskedGrade::Minor.counts(Grade::Minor));
        assert!(!AskedGrade::Minor.counts(Grade::Note) && !AskedGrade::Major.counts(Grade::Minor));
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
