//! What a review is shown with beside what it says of the unit as described.

use loadworthy_checks::faults::FaultWalk;

use crate::permits::Day;

/// What was asked for beside the review itself.
#[derive(Default)]
pub(crate) struct Besides {
    /// The day that permits were held against; none without permits.
    pub(crate) day: Option<Day>,
    /// The single faults of each variant, where they were asked for.
    pub(crate) faults: Option<Vec<FaultWalk>>,
}
