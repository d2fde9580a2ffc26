//! What `size` may be asked.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;
use loadworthy_checks::size::Kind;

use super::forms::{AskedGrade, SizeForm};
use super::values::{day_of, override_of};

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
    /// The day that permits are held against; that of the system clock, in UTC, unless said otherwise
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = day_of)]
    pub(crate) on: Option<Date>,
}

/// A kind of what is sized.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AskedKind {
    /// Interleaved legs of converters
    Legs,
    /// Devices in parallel
    Devices,
    /// Capacitors of banks
    Banks,
    /// Which devices, capacitors and chokes of parts files are fitted
    Parts,
    /// Sections of bars, cables and foil
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
            Self::Legs => Kind::Legs,
            Self::Devices => Kind::Devices,
            Self::Banks => Kind::Banks,
            Self::Parts => Kind::Parts,
            Self::Sections => Kind::Sections,
            Self::Fuses => Kind::Fuses,
            Self::Flow => Kind::Flow,
        }
    }
}
