//! What `compare` may be asked.

use std::path::PathBuf;

use clap::{ArgGroup, Args};
use jiff::civil::Date;

use super::forms::{AskedGrade, CompareForm};
use super::values::{day_of, override_of};

/// What `compare` is asked.
#[derive(Debug, Args)]
#[command(override_usage = "loadworthy compare [OPTIONS] <OLD> [NEW]")]
#[command(group = ArgGroup::new("with_what").args(["new", "base", "variants", "with"]).required(true).multiple(true))]
pub(crate) struct Compare {
    /// The description before; with `--base`, `--variants` or only `--with`, the one description. `-` reads the standard
    /// input
    #[arg(value_name = "OLD")]
    pub(crate) old: PathBuf,
    /// The description after
    #[arg(value_name = "NEW", conflicts_with_all = ["base", "variants"])]
    pub(crate) new: Option<PathBuf>,
    /// Take the description before, and its parts files, from this revision of the git repository that it lies in, e.g.
    /// `main` or `HEAD~1`
    #[arg(long, value_name = "REVISION", allow_hyphen_values = true)]
    pub(crate) base: Option<String>,
    /// Take the description after from a revision as well, not from the file as it is
    #[arg(long, value_name = "REVISION", requires = "base", allow_hyphen_values = true)]
    pub(crate) at: Option<String>,
    /// Two variants of one description, before and after
    #[arg(long, num_args = 2, value_names = ["OLD", "NEW"], conflicts_with = "base")]
    pub(crate) variants: Vec<String>,
    /// Try a value on the side after, e.g. `stages.traction_bridge.carrier.frequency=6kHz`; alone, the description is compared
    /// with itself and that value
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = CompareForm::Terminal)]
    pub(crate) format: CompareForm,
    /// The lowest grade that makes a finding end the run with 1
    #[arg(long, value_enum, default_value_t = AskedGrade::Major)]
    pub(crate) grade: AskedGrade,
    /// End with 1 only for what the change made worse: findings that are new, worse or no longer accepted; and with 3 only for
    /// what is not judged any more
    #[arg(long)]
    pub(crate) only_worse: bool,
    /// Show every change, finding and headroom
    #[arg(long)]
    pub(crate) all: bool,
    /// The day that permits of both sides are held against; that of the system clock, in UTC, unless said otherwise
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
}
