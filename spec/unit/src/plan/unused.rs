//! Entries that are stated and used by nothing.

use crate::ids::{InputId, PartId};

/// An entry that is stated and used by nothing.
#[derive(Clone, Debug)]
pub struct Unused {
    /// The entry.
    pub part: PartId,
    /// The section that it stands in, as a number: what nothing of it is used for is one cause.
    pub section: InputId,
    /// What it declares.
    pub what: Declared,
    /// Why nothing uses it.
    pub why: WhyUnused,
    /// Whether the variant itself adds it, so that no other one could use it.
    pub is_own: bool,
}

/// What an entry declares.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Declared {
    /// A source.
    Source,
    /// A bus.
    Bus,
    /// A load.
    Load,
    /// A machine.
    Machine,
    /// A choke or a transformer.
    Magnetic,
    /// A conductor.
    Conductor,
    /// A controller.
    Controller,
    /// A device of the stock.
    Device,
    /// A capacitor of the stock.
    CapacitorType,
    /// An element of the coolant.
    Element,
}

impl Declared {
    /// The section that it stands in.
    #[must_use]
    pub const fn section(self) -> &'static str {
        match self {
            Self::Source => "sources",
            Self::Bus => "buses",
            Self::Load => "loads",
            Self::Machine => "machines",
            Self::Magnetic => "magnetics",
            Self::Conductor => "conductors",
            Self::Controller => "controllers",
            Self::Device => "devices",
            Self::CapacitorType => "capacitor_types",
            Self::Element => "elements",
        }
    }
}

/// Why nothing uses an entry.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WhyUnused {
    /// Nothing names it.
    Unnamed,
    /// A source or a load reaches no bus.
    NoBus {
        /// Whether a duty point counts on what it gives, or on what it takes.
        is_counted_on: bool,
    },
    /// No duty point asks anything for a load.
    NeverAsked,
    /// The coolant path does not visit an element.
    OffThePath {
        /// Whether it cools something, which no coolant passes then.
        cools: bool,
    },
}

impl Unused {
    /// Whether it cools something that no coolant passes.
    #[must_use]
    pub fn is_dead_end(&self) -> bool {
        self.why == WhyUnused::OffThePath { cools: true }
    }

    /// Whether a duty point counts on what it gives or takes.
    #[must_use]
    pub fn is_counted_on(&self) -> bool {
        self.why == WhyUnused::NoBus { is_counted_on: true }
    }
}
