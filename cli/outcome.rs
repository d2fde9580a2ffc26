//! How a run ends, as an exit code that a pipeline can act on.

use std::process::ExitCode;

/// How a run ends. The order is that of gravity: of several files the gravest decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// Everything was judged, and nothing fails at the asked grade.
    Holds,
    /// Something could not be judged, or nothing was.
    NotJudged,
    /// Something fails at the asked grade.
    Fails,
    /// Something could not be read, or not be written.
    Unreadable,
}

impl Outcome {
    pub(crate) const fn number(self) -> u8 {
        match self {
            Self::Holds => 0,
            Self::Fails => 1,
            Self::Unreadable => 2,
            Self::NotJudged => 3,
        }
    }

    pub(crate) fn code(self) -> ExitCode {
        ExitCode::from(self.number())
    }
}

#[cfg(test)]
mod tests {
    use super::Outcome;

    #[test]
    fn the_gravest_of_several_decides() {
        let gravest = [Outcome::Fails, Outcome::Holds, Outcome::NotJudged].into_iter().max();
        assert_eq!(gravest.map(Outcome::number), Some(1));
        assert_eq!(Outcome::Unreadable.max(Outcome::Fails).number(), 2);
        assert_eq!(Outcome::NotJudged.max(Outcome::Holds).number(), 3);
    }
}
