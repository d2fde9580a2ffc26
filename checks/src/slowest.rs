//! What takes longest from the level of a trip until gates are off: its stated delay, or a driver with its device alone.

use loadworthy_unit::plan::Acting;
use loadworthy_unit::{InputId, LaneId, Solved};

/// The driver that takes longest, its delay, and the turn-off delay of its device, in seconds.
pub(crate) fn slowest_way(acting: &Acting, solved: &Solved<'_>, lane: LaneId) -> Option<(InputId, f64, f64)> {
    let time = |&(driver, off): &(InputId, Option<loadworthy_unit::FigureId>)| {
        let off = off.and_then(|off| solved.figure(off, lane)).unwrap_or(0.0);
        Some((driver, solved.input(driver, lane)?, off))
    };
    let ways = acting.ways.iter().filter_map(time);
    ways.max_by(|one, other| (one.1 + one.2).total_cmp(&(other.1 + other.2)))
}

/// What states the longest of a trip's delay and what its gates alone take, and that time in seconds.
pub(crate) fn slowest(
    stated: InputId,
    acting: Option<usize>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> (InputId, f64) {
    let own = solved.input(stated, lane).unwrap_or(f64::NAN);
    let acting = acting.map(|acting| &solved.variant.plan.acting[acting]);
    let way = acting.and_then(|acting| slowest_way(acting, solved, lane));
    match way {
        Some((driver, delay, off)) if delay + off > own => (driver, delay + off),
        _ => (stated, own),
    }
}
