//! The smallest counts, banks, sections, fuses and coolant flow that hold, solved together.
//!
//! What may be sized is found in each variant, with the series that its sizes come from. The search knows nothing of a
//! description: it asks for a judgement of every point that it tries, so that whoever writes the point down also has it
//! solved and judged as it would stand.

mod accepted;
mod search;
mod series;
mod sizable;
mod tried;

pub use accepted::accepted;
pub use search::{Ladder, Sized, Sizing, Spared, size};
pub use sizable::{Follower, Sizable, Unsizable, of_variant};
pub use tried::{Stop, Tried, Way, tried};

/// What is sized, in the order of the objectives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Devices in parallel at switch positions.
    Devices,
    /// Capacitors of a bank.
    Banks,
    /// Sections of bars and cables.
    Sections,
    /// Rated currents of fuses.
    Fuses,
    /// Flow of the coolant.
    Flow,
}

impl Kind {
    /// All of them, in the order of the objectives.
    pub const ALL: [Self; 5] = [Self::Devices, Self::Banks, Self::Sections, Self::Fuses, Self::Flow];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Devices => "devices",
            Self::Banks => "banks",
            Self::Sections => "sections",
            Self::Fuses => "fuses",
            Self::Flow => "flow",
        }
    }
}
