//! What several barriers ask too much for at once: the pollution degree, the altitude, or the impulse of one domain.
//!
//! A barrier that would do with one of them eased is short because of it. Where that is so of several, it is one cause, and so it is of
//! one that stands too low an impulse as well.

use loadworthy_physics::insulation::clearance::clearance;
use loadworthy_physics::insulation::creepage::creepage;
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_physics::{Length, Voltage};
use loadworthy_unit::{InputId, LaneId};

use super::{CLEARANCE, CREEPAGE, Seen};

/// Share of the impulse with which a barrier would do that is short because of it.
const EASED: f64 = 1.0 / 3.0;
/// Altitude in m up to which distances are as they stand in the tables.
const USUAL: f64 = 2000.0;

/// What several barriers are too short for alike; nothing where one alone is.
pub(super) fn of(seen: &Seen<'_, '_>, defect: &str, lane: LaneId) -> Option<InputId> {
    let own = eased(seen, defect, lane)?;
    let others = seen.isolation.barriers.iter().filter(|other| other.part != seen.barrier.part);
    let mut others = others.map(|barrier| Seen { barrier, ..*seen });
    others.any(|other| eased(&other, defect, lane) == Some(own)).then_some(own)
}

/// What a barrier is too short for, where it is and would do with that eased.
fn eased(seen: &Seen<'_, '_>, defect: &str, lane: LaneId) -> Option<InputId> {
    let (figures, barrier) = (&seen.barrier.figures, seen.barrier);
    barrier.between?;
    let (needed, has) = match defect {
        CLEARANCE => (figures.clearance, barrier.clearance),
        CREEPAGE => (figures.creepage, barrier.creepage),
        _ => return None,
    };
    let has = seen.solved.input(has, lane)?;
    if seen.solved.figure(needed, lane)? <= has {
        return None;
    }
    if defect == CREEPAGE {
        let holds = along_at_less_dirt(seen, lane)? <= has;
        return (holds && !barrier.has_own_degree).then_some(barrier.degree_around);
    }
    let impulse = seen.solved.figure(figures.impulse, lane)?;
    let height = seen.solved.input(barrier.altitude, lane)?;
    if USUAL < height && through(seen, lane, impulse, USUAL)? <= has {
        return Some(barrier.altitude);
    }
    (through(seen, lane, EASED * impulse, height)? <= has).then(|| brings(seen, lane)).flatten()
}

/// The domain that brings most of the impulse, by what it states.
pub(super) fn brings(seen: &Seen<'_, '_>, lane: LaneId) -> Option<InputId> {
    let impulses = seen.barrier.carried_by().map(|end| seen.isolation.domain(end).stress.impulse.stated);
    let brought = impulses.filter_map(|input| Some((input, seen.solved.input(input, lane)?)));
    brought.reduce(|most, one| if one.1 > most.1 { one } else { most }).map(|(input, _)| input)
}

/// The clearance of another impulse at another height, in m.
pub(super) fn through(seen: &Seen<'_, '_>, lane: LaneId, impulse: f64, height: f64) -> Option<f64> {
    let by_mains = seen.isolation.is_fed_by_mains(seen.barrier);
    let mut asked = seen.barrier.clearance_asked(seen.input(lane), impulse, by_mains)?;
    asked.altitude = Length::new(height);
    Some(clearance(&asked).ok()?.required.si())
}

/// The creepage distance one pollution degree lower, in m.
fn along_at_less_dirt(seen: &Seen<'_, '_>, lane: LaneId) -> Option<f64> {
    let barrier = seen.barrier;
    let lower = seen.input(lane)(barrier.degree) - 1.0;
    let input = |id: InputId| if id == barrier.degree { lower } else { seen.input(lane)(id) };
    let impulse = seen.solved.figure(barrier.figures.impulse, lane)?;
    let through = barrier.clearance_asked(input, impulse, seen.isolation.is_fed_by_mains(barrier))?;
    let rms = seen.solved.figure(barrier.figures.rms, lane)?;
    let asked = barrier.creepage_asked(input, rms)?;
    Some(creepage(&asked, clearance(&through).ok().as_ref()).ok()?.required.si())
}

/// Whether a barrier would be wide enough for the impulse that it is made for: what is asked of it is then the cause of both.
pub(super) fn suits_its_impulse(seen: &Seen<'_, '_>, lane: LaneId) -> bool {
    let rated = seen.barrier.rated_impulse.and_then(|input| seen.solved.input(input, lane));
    let has = seen.solved.input(seen.barrier.clearance, lane);
    let needed = rated.and_then(|rated| {
        let by_mains = seen.isolation.is_fed_by_mains(seen.barrier);
        let mut asked = seen.barrier.clearance_asked(seen.input(lane), rated, by_mains)?;
        // What it is made for is raised already.
        (asked.insulation, asked.impulse) = (Insulation::Basic, Voltage::new(rated));
        Some(clearance(&asked).ok()?.required.si())
    });
    needed.zip(has).is_some_and(|(needed, has)| needed <= has)
}
