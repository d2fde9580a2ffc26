//! Where along the coolant air gathers as a unit is described, for whoever draws it.

use loadworthy_unit::plan::CoolantPath;
use loadworthy_unit::{LaneId, Solved};

use crate::high_points::{Profile, as_described};

/// Places from whose high end air cannot leave by itself, each with that end: 0 where the coolant enters, 1 where it leaves.
/// Whether the coolant carries the air away is for the check to say.
#[must_use]
pub fn traps(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Vec<(usize, usize)> {
    let profile = Profile::of(solved, path, Some(lane), &as_described(path));
    let known = profile.summits(path).into_iter().filter(|summit| summit.unknown.is_empty());
    known.map(|summit| summit.at).collect()
}
