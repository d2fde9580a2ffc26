//! How sure a copied figure is.

use core::fmt;

/// How sure a figure of a table, or a rule of its use, is. The lesser is the less sure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Certainty {
    /// Written down from memory: to be compared with the standard before it decides anything.
    FromMemory,
    /// Seen in one public place, or fits the pattern of its neighbours.
    OnePlace,
    /// Seen in two independent public places, or in one and held by an identity.
    TwoPlaces,
}

impl Certainty {
    /// The less sure of two.
    #[must_use]
    pub fn worst(self, other: Self) -> Self {
        self.min(other)
    }

    /// In words, as they end a sentence about a figure.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::FromMemory => "from memory",
            Self::OnePlace => "seen in one place",
            Self::TwoPlaces => "seen in two places",
        }
    }
}

impl fmt::Display for Certainty {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_of_two_is_the_less_sure_in_either_order() {
        assert_eq!(Certainty::TwoPlaces.worst(Certainty::FromMemory), Certainty::FromMemory);
        assert_eq!(Certainty::FromMemory.worst(Certainty::OnePlace), Certainty::FromMemory);
        assert_eq!(Certainty::OnePlace.to_string(), "seen in one place");
    }
}
