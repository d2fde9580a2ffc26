//! How the solution of a lane ends.

use crate::ids::PartId;
use crate::plan::Place;
use crate::solver::scratch::Reduced;

/// How the solution of a lane ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LaneState {
    /// All figures hold together.
    Solved {
        /// Largest loop gain from a loss through its temperature back to the loss; 1 would run away.
        loop_gain: f64,
    },
    /// What the duty point asks has no solution.
    NoSolution {
        /// Where it fails: a source that cannot give the power, or a part whose heat cannot leave.
        at: PartId,
        /// Largest share of what the duty point asks that has a solution.
        largest: f64,
    },
    /// Neither a solution nor its absence was established.
    Undecided {
        /// Where the search ended.
        at: PartId,
    },
}

/// What went wrong in the lanes of a pass, and how close the others came to it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Trouble<const L: usize> {
    pub(crate) at: [Option<PartId>; L],
    pub(crate) stiffness: [f64; L],
}

impl<const L: usize> Trouble<L> {
    pub(crate) fn new() -> Self {
        Self { at: [None; L], stiffness: [1.0; L] }
    }

    /// Forgets what the last pass found in the lanes that are still open.
    pub(crate) fn forget(&mut self, open: &[bool; L]) {
        for l in 0..L {
            if open[l] {
                self.at[l] = None;
                self.stiffness[l] = 1.0;
            }
        }
    }

    /// There is no steady state at a part; the first one found stays.
    #[inline]
    pub(crate) fn note(&mut self, l: usize, part: PartId) {
        self.at[l].get_or_insert(part);
    }

    /// Takes note of how far a place and its packages are from running away.
    ///
    /// The reductions of a chain multiply: 1 − gain of the whole is the product of those of its links.
    #[inline]
    pub(crate) fn gain(&mut self, l: usize, place: &Place, reduced: &[Reduced<L>], stiffness: f64) {
        for &(package, _) in &place.faces {
            let whole = stiffness * reduced[package].stiffness[l];
            if whole < self.stiffness[l] {
                self.stiffness[l] = whole;
            }
        }
    }
}
