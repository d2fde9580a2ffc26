//! Trapped air in words, and what would let it leave.

use loadworthy_unit::plan::{CoolantPath, Place as CoolantPlace};
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use super::{OUTLET_BELOW, over_fall};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{percent, value};
use crate::high_points::{Profile, Summit, as_described};
use crate::steps::{more_flow, narrower};
use crate::tell::{part_at, place};

/// A failing summit, with the fall that decides.
struct Trap<'v> {
    path: &'v CoolantPath,
    summit: Summit,
    lane: LaneId,
    fall: usize,
}

impl<'v> Trap<'v> {
    fn of(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<Self> {
        let path = solved.variant.plan.coolant.as_ref()?;
        let lane = failure.worst.lane()?;
        let profile = Profile::of(solved, path, Some(lane), &as_described(path));
        let is_it = |summit: &Summit| path.places[summit.at.0].part == failure.worst.part;
        let summit = profile.summits(path).into_iter().find(is_it)?;
        let headroom =
            |fall: usize| over_fall(solved, path, fall, lane).map_or(f64::INFINITY, |one| one.headroom);
        let fall = summit
            .falls
            .iter()
            .copied()
            .reduce(|worst, fall| if headroom(fall) < headroom(worst) { fall } else { worst })?;
        Some(Self { path, summit, lane, fall })
    }

    fn high(&self) -> &'v CoolantPlace {
        &self.path.places[self.summit.at.0]
    }

    fn falling(&self) -> &'v CoolantPlace {
        &self.path.places[self.fall]
    }
}

pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    if failure.worst.defect == OUTLET_BELOW {
        return outlet_below(solved);
    }
    let trap = Trap::of(failure, solved)?;
    let (lane, high, falling) = (trap.lane, trap.high(), trap.falling());
    let name = |place: &CoolantPlace| solved.variant.path(place.part).to_owned();
    let compared = failure.worst.comparison()?;
    let (needed, is) =
        (value(compared.carried_value, Dimension::Velocity), value(compared.limit, Dimension::Velocity));
    let top = high.elevation[trap.summit.at.1];
    let height = solved.input(top, lane)?;
    let saying = format!(
        "`{}` is a high point without a vent, and air stays there: the coolant falls behind it at {is}, and it takes {needed} to carry air down, {} more than is allowed",
        name(high),
        percent(-compared.headroom),
    );
    let at = place(
        solved,
        top,
        lane,
        format!("higher than what stands before and behind it: {}", value(height, Dimension::Length)),
    )
    .unwrap_or_else(|| part_at(solved, high.part, "a high point".to_owned()));
    let bore = solved.input(falling.passage.bore, lane)?;
    let flow = solved.figure(falling.flow, lane)?;
    let mut because = Vec::new();
    because.extend(place(
        solved,
        falling.passage.bore,
        lane,
        format!(
            "{} through a bore of {}: {is}",
            value(flow, Dimension::VolumeFlow),
            value(bore, Dimension::Length)
        ),
    ));
    if falling.part != high.part
        && let Some(low) = solved.input(falling.elevation[1], lane)
    {
        let label = format!("the coolant falls to {}", value(low, Dimension::Length));
        because.extend(place(solved, falling.elevation[1], lane, label));
    }
    because.extend(solved.input(trap.path.flow, lane).and_then(|flow| {
        place(solved, trap.path.flow, lane, format!("{} in all", value(flow, Dimension::VolumeFlow)))
    }));
    let figure = |id| solved.variant.tables.figure_path(id);
    let mut worked =
        vec![format!("judged in `{}`, where most coolant flows", solved.variant.duty_of(lane).name)];
    worked.extend(falling.passage.velocity.map(|velocity| format!("{} = {is}", figure(velocity))));
    Some(Told { because, worked, ..Told::new(saying, at) })
}

fn outlet_below(solved: &Solved<'_>) -> Option<Told> {
    let path = solved.variant.plan.coolant.as_ref()?;
    let drop = Profile::of(solved, path, None, &as_described(path)).drop()?;
    let by = value(drop, Dimension::Length);
    let saying = format!(
        "the coolant leaves `cooling` {by} lower than it enters: air has to go against the flow, or be carried along"
    );
    let at = part_at(solved, path.part, format!("the outlet stands {by} below the inlet"));
    let no_proposal = "let the coolant enter at the low end and leave at the high one, or see that it is purged under pressure";
    Some(Told { no_proposal: Some(no_proposal.to_owned()), ..Told::new(saying, at) })
}

pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some(trap) = Trap::of(failure, solved).filter(|_| failure.worst.defect != OUTLET_BELOW) else {
        return Vec::new();
    };
    let vent = Proposal {
        say: format!("a vent at {}: vented: true", short(solved, trap.high())),
        change: Change::Edit(vec![(Edit { input: trap.high().vented, value: 1.0 }, "true".to_owned())]),
    };
    vec![
        Family { tried: "a vent".to_owned(), ladder: vec![vent] },
        narrower(trap.falling(), solved, trap.lane, short(solved, trap.falling())),
        more_flow(solved, trap.lane),
    ]
}

fn short<'s>(solved: &'s Solved<'_>, place: &CoolantPlace) -> &'s str {
    solved.variant.path(place.part).trim_start_matches("cooling.")
}
