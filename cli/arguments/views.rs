//! What the commands that print solved figures may be asked.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::forms::{AskedGrade, CurveForm, DeriveForm, MissionForm};
use super::values::{day_of, override_of};

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
    /// The day that permits are held against; that of the system clock, in UTC, unless said otherwise. Without effect on
    /// `--tolerance`
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
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
    #[arg(long, value_enum, default_value_t = MissionForm::Terminal)]
    pub(crate) format: MissionForm,
    /// A figure of each row for `--format csv`, as `derive` names it; may be repeated. Without it voltages of buses, currents
    /// and powers of sources, losses of stages, and how hot junctions, conductors, windings, cores and the coolant get
    #[arg(long, value_name = "PATH")]
    pub(crate) column: Vec<String>,
    /// This variant; without it the first
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// Show every comparison, not the worst twenty
    #[arg(long)]
    pub(crate) all: bool,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
    /// The day that permits are held against; that of the system clock, in UTC, unless said otherwise
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
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
    /// What varies, by its name in the duty point, e.g. `coolant.inlet=20degC..80degC`, `buses.link=560V..640V`; with
    /// `lasts=1s..60s` of a duty point that says what it starts from, how long it may last as it asks is told as well
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
    /// The day that permits are held against; that of the system clock, in UTC, unless said otherwise
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
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
