//! What a figure is computed by, in words that a person can check.

/// A formula as it is shown beside the numbers that went into it.
///
/// Each module has one of these next to each of its functions, under the function's name in capitals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Law {
    /// What it gives, in a few words.
    pub name: &'static str,
    /// The formula, to be read by a person.
    pub formula: &'static str,
    /// Where it holds, and how well.
    pub validity: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

impl Law {
    /// The validity of what has no range to leave.
    pub const ALWAYS: &str = "always";

    /// Whether it holds whatever it is asked.
    #[must_use]
    pub fn always_holds(&self) -> bool {
        self.validity == Self::ALWAYS
    }
}
