//! What is asked of the search for the smallest sizes, and what comes of it.

use super::Kind;
use super::tried::Stop;

/// The sizes of one choice, as places from 0 up.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// What it is.
    pub kind: Kind,
    /// How many sizes there are.
    pub sizes: usize,
    /// Where to begin.
    pub start: usize,
    /// Paths of parts whose failures it is likely to mend.
    pub near: Vec<String>,
    /// The sizes themselves.
    pub values: Vec<f64>,
    /// Of a width: the ladder of the thickness that makes a section with it.
    pub thickness: Option<usize>,
}

/// What came of it.
#[derive(Clone, Debug)]
pub struct Sized {
    /// For each choice, in the order that they were given.
    pub choices: Vec<Sizing>,
    /// What no size mends.
    pub spared: Vec<Spared>,
    /// What fails with the sizes that were found and not as described, of a lower grade than counts; worst first.
    pub lesser: Vec<Stop>,
    /// What is not judged at any size, for want of an input.
    pub open: Vec<Stop>,
    /// Checks that broke down.
    pub broken: Vec<String>,
    /// Whether anything is judged in a duty point.
    pub judges_a_duty_point: bool,
    /// Descriptions that were solved and judged.
    pub tried: usize,
}

/// The smallest size of a choice that holds.
#[derive(Clone, Debug)]
pub struct Sizing {
    /// Place of the size.
    pub at: usize,
    /// What does not hold one step smaller, worst first; nothing where there is no smaller one.
    pub smaller: Vec<Stop>,
    /// What is not judged of it, or fails whatever its section, so that it is not made smaller than described.
    pub waits: Option<Stop>,
    /// Of a fuse: the place of the largest size up to which everything holds, and what does not hold beyond.
    pub largest: Option<(usize, Vec<Stop>)>,
}

/// What no size mends.
#[derive(Clone, Debug)]
pub struct Spared {
    /// As it stands with the sizes that were found.
    pub now: Stop,
    /// Where some size changes it: the best that was reached, with the places of all sizes there.
    pub best: Option<(Stop, Vec<usize>)>,
}

impl Spared {
    /// Whether it stands worse than another.
    #[must_use]
    pub fn is_worse(&self, other: &Self) -> bool {
        self.now.rank < other.now.rank
    }
}
