//! The smallest counts, parts, sections, fuses and coolant flow that hold, solved together.
//!
//! What may be sized is found in each variant, with the series that its sizes come from, or with the parts that parts files
//! offer. The search knows nothing of a
//! description: it asks for a judgement of every point that it tries, so that whoever writes the point down also has it
//! solved and judged as it would stand.

mod accepted;
mod search;
pub(crate) mod series;
mod sizable;
mod sized;
mod tried;

pub use accepted::accepted;
pub use search::size;
pub use sizable::{Follower, Offered, Sizable, Unsizable, of_variant};
pub use sized::{Ladder, Sized, Sizing, Spared};
pub use tried::{Stop, Tried, Way, tried};

/// What is sized, in the order of the objectives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Interleaved legs of a converter.
    Legs,
    /// Devices in parallel at switch positions.
    Devices,
    /// Capacitors of a bank.
    Banks,
    /// Which devices, capacitors, chokes, transformers and outputs for gates of parts files are fitted.
    Parts,
    /// Sections of bars, cables and foil.
    Sections,
    /// Rated currents of fuses.
    Fuses,
    /// Flow of the coolant.
    Flow,
}

impl Kind {
    /// All of them, in the order of the objectives.
    pub const ALL: [Self; 7] =
        [Self::Legs, Self::Devices, Self::Banks, Self::Parts, Self::Sections, Self::Fuses, Self::Flow];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Legs => "legs",
            Self::Devices => "devices",
            Self::Banks => "banks",
            Self::Parts => "parts",
            Self::Sections => "sections",
            Self::Fuses => "fuses",
            Self::Flow => "flow",
        }
    }
}
