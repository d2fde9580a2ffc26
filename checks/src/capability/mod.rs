//! The largest load that still holds over a condition that varies, and what limits it where.
//!
//! The load of a stage is what a duty point asks of it, scaled as a whole; everything else of the duty point stays as it is
//! described, but for the condition. Every check that compares judges every trial, policy included; a failure that a permit
//! accepts limits nothing. All trials of a round are lanes side by side.

mod bench;
mod between;
mod bracket;
mod condition;
mod demand;
mod longest;
mod search;

use jiff::civil::Date;
use loadworthy_unit::{DutyId, PartId, Unit};

use crate::review::BrokenCheck;
use crate::verdict::{Comparison, Grade};

pub use between::STEP;
pub use condition::{Condition, Unvaried, condition, conditions};
pub use demand::{Demand, Unasked, demand, names};
pub use longest::Longest;
pub use search::curve;

/// What is asked for a curve.
#[derive(Clone, Debug)]
pub struct Question<'u> {
    /// The unit.
    pub unit: &'u Unit,
    /// Place of the variant in the unit.
    pub variant: usize,
    /// The duty point.
    pub duty: DutyId,
    /// What is scaled.
    pub demand: Demand,
    /// What varies.
    pub condition: Condition,
    /// Its values.
    pub at: Vec<f64>,
    /// The lowest grade of failure that limits.
    pub grade: Grade,
    /// The day that permits are held against; none where none is in force.
    pub day: Option<Date>,
}

/// The largest load over a condition.
#[derive(Clone, Debug)]
pub struct Curve {
    /// A point for each value of the condition.
    pub points: Vec<Point>,
    /// How long what is asked holds, where how long it lasts is what varies.
    pub longest: Option<Longest>,
    /// What fails in every trial, at no load as well: it limits none, and the curve is drawn beside it.
    pub anyway: Vec<Anyway>,
    /// What is not judged at any load and condition, for want of an input, in sentences: nothing of it limits.
    pub open: Vec<String>,
    /// Checks that broke down: what they would have limited is not known.
    pub broken: Vec<BrokenCheck>,
}

/// What fails at any load and condition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Anyway {
    /// The check that says so.
    pub check: &'static str,
    /// The part.
    pub part: PartId,
    /// What is wrong with it.
    pub defect: &'static str,
}

/// One value of the condition.
#[derive(Clone, Debug)]
pub struct Point {
    /// The value.
    pub at: f64,
    /// The factor of what is asked at which everything still holds, and nothing more does: going up from what is asked
    /// where that holds, down from it where it does not. None where nothing holds, not even no load.
    pub factor: Option<f64>,
    /// The nearest lighter load that was tried and does not hold, as a factor with what does not; of what holds at no load
    /// there is none.
    pub lighter: Option<(f64, Limit)>,
    /// What does not hold just above the largest factor, or without load where nothing holds; none where nothing limits up
    /// to [`MOST`] times what is asked.
    pub limit: Option<Limit>,
    /// Permits, by their places in the unit, that accept failures at the largest load.
    pub accepted: Vec<usize>,
}

/// What limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// The check that says so.
    pub check: &'static str,
    /// The part.
    pub part: PartId,
    /// What is wrong with it.
    pub defect: &'static str,
    /// In what way.
    pub way: Way,
}

/// In what way something limits.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// More would be carried than is allowed: the comparison at the largest load.
    Exceeds(Comparison),
    /// Beyond it there is no solution.
    NoSolution,
    /// Beyond it the search for a solution ends undecided.
    Undecided,
    /// The parts cannot do what would be asked.
    Structural,
    /// Beyond it something is not judged, and this is why.
    NotJudged(Vec<String>),
}

/// Times what is asked that are tried at most.
pub const MOST: f64 = 64.0;
