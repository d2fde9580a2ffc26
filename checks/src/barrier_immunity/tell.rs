//! Edges that are too steep for what spans a barrier, in words, and what would stand them.

use loadworthy_unit::plan::{Jumping, Through};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{COUPLING, DRIVEN, EDGE};
use crate::check::{Family, Told};
use crate::figure_text::{comparison, value};
use crate::steps::toward;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// What sees an edge, across a barrier or within its own domain.
struct Sees<'v> {
    jumping: &'v [usize],
    is_beside: bool,
    immunity: Option<InputId>,
    through: Option<Through>,
}

fn sees<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<Sees<'v>> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    let mut crossings = isolation.crossings.iter();
    if let Some(one) = crossings.find(|one| one.part == worst.part && one.edge.is_some()) {
        let (immunity, through) = (one.immunity, one.through);
        return Some(Sees { jumping: &one.jumping, is_beside: one.is_beside, immunity, through });
    }
    let rider = isolation.riders.iter().find(|rider| rider.part == worst.part)?;
    let (immunity, through) = (rider.immunity, rider.through);
    Some(Sees { jumping: &rider.jumping, is_beside: false, immunity, through })
}

fn jumping<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Jumping> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    isolation.jumping.iter().find(|one| one.part == worst.part)
}

/// The potential with the steepest edge among those that something hangs on.
fn steepest<'v>(of: &Sees<'_>, solved: &Solved<'v>, lane: LaneId) -> Option<&'v Jumping> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    let edge = |one: &&Jumping| solved.figure(one.edge, lane).unwrap_or(0.0);
    let all = of.jumping.iter().map(|&place| &isolation.jumping[place]);
    all.reduce(|most, one| if edge(&one) > edge(&most) { one } else { most })
}

/// The device that makes an edge.
fn maker(jumping: &Jumping, solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    let slope = |input: &InputId| solved.input(*input, lane).unwrap_or(0.0);
    jumping.edges.iter().copied().reduce(|most, one| if slope(&one) > slope(&most) { one } else { most })
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let text = comparison(compared);
    let name = solved.variant.path(worst.part);
    if worst.defect == COUPLING {
        let node = jumping(worst, solved)?;
        let amps = solved.figure(node.current, lane).map(|amps| value(amps, Dimension::Current));
        let drives =
            amps.clone().map_or_else(String::new, |amps| format!("; an edge drives {amps} through it"));
        let saying = format!(
            "{} lead from the potential of `{name}` across barriers, more than the {} that are aimed at{drives}",
            text.carried, text.limit
        );
        let at = part_at(solved, worst.part, format!("{} in all", text.carried));
        let because = node
            .couplings
            .iter()
            .filter_map(|&input| {
                let farad = solved.input(input, lane)?;
                place(solved, input, lane, value(farad, Dimension::Capacitance))
            })
            .collect();
        let worked = amps.into_iter().map(|amps| format!("C·dv/dt = {amps} while the edge lasts")).collect();
        return Some(Told { because, worked, ..Told::new(saying, at) });
    }
    if worst.defect != EDGE && worst.defect != DRIVEN {
        return None;
    }
    let of = sees(worst, solved)?;
    let node = steepest(&of, solved, lane)?;
    let edge = value(solved.figure(node.edge, lane)?, Dimension::SlewRate);
    let lies = if of.is_beside { "lies beside" } else { "rides on" };
    let on = solved.variant.path(node.part);
    let (saying, limit) = if worst.defect == EDGE {
        let over = above(compared, "its transient immunity");
        (format!("`{name}` {lies} {on} and sees edges of {edge}, {over}"), of.immunity?)
    } else {
        let over = above(compared, "the current that it stands");
        let carried = &text.carried;
        (
            format!("`{name}` {lies} {on}, whose edges of {edge} drive {carried} through it, {over}"),
            of.through?.limit,
        )
    };
    let at = place(solved, limit, lane, format!("stands {}", text.limit))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("stands {}", text.limit)));
    let mut because: Vec<_> = maker(node, solved, lane)
        .and_then(|input| place(solved, input, lane, format!("{edge} at light load and cold")))
        .into_iter()
        .collect();
    if let Some(through) = of.through.filter(|_| worst.defect == DRIVEN) {
        let farad = value(solved.input(through.coupling, lane)?, Dimension::Capacitance);
        because.extend(place(solved, through.coupling, lane, format!("{farad} across it")));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

pub(super) fn propose(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let over = compared.carried_value / compared.allowed;
    if worst.defect == EDGE {
        let Some(immunity) = sees(worst, solved).and_then(|of| of.immunity) else { return Vec::new() };
        return vec![toward("transient immunity", immunity, (Dimension::SlewRate, ""), over, solved, lane)];
    }
    if worst.defect == DRIVEN {
        let Some(through) = sees(worst, solved).and_then(|of| of.through) else { return Vec::new() };
        let least =
            toward("coupling", through.coupling, (Dimension::Capacitance, ""), over.recip(), solved, lane);
        let most = toward("immunity current", through.limit, (Dimension::Current, ""), over, solved, lane);
        return vec![least, most];
    }
    let Some(node) = jumping(worst, solved) else { return Vec::new() };
    let size = |input: &InputId| solved.input(*input, lane).unwrap_or(0.0);
    let largest =
        node.couplings.iter().copied().reduce(|most, one| if size(&one) > size(&most) { one } else { most });
    let Some(input) = largest else { return Vec::new() };
    // The largest gives what is too much in all.
    let left = size(&input) - (compared.carried_value - compared.allowed);
    if left <= 0.0 {
        return Vec::new();
    }
    vec![toward("largest coupling", input, (Dimension::Capacitance, ""), left / size(&input), solved, lane)]
}
