//! What `review` may be asked.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::forms::{AskedGrade, ReviewForm};
use super::values::{day_of, override_of};

/// What `review` is asked.
#[derive(Debug, Args)]
pub(crate) struct Review {
    /// Descriptions to review, or folders, of which every description in a `*.yaml` or `*.yml` file is reviewed, hidden
    /// folders and links left out; `-` reads the standard input
    #[arg(required = true, value_name = "FILE|FOLDER")]
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
    /// Print one line for the whole run and nothing else: the gravest outcome, with counts
    #[arg(long, short, conflicts_with = "format")]
    pub(crate) quiet: bool,
}
