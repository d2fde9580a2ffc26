//! Trips of chokes at the output of stages with a transformer, against what these carry in service.

use loadworthy_unit::plan::{MagneticRole, Topology};
use loadworthy_unit::{Dimension, FigureId, InputId, LaneId, PartId, Solved};

use super::{IN_SERVICE, SERVICE_CURRENT};
use crate::check::{Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::comparison;
use crate::seats::rests;
use crate::steps::toward;
use crate::tell::{above, demand, part_at, place, policy_place};
use crate::verdict::{Grade, Verdict};

/// A choke with its trip, the crest of its current, and its stage in the plan.
struct Choke {
    part: PartId,
    stage: usize,
    trip: InputId,
    peak: FigureId,
}

fn all<'s>(solved: &'s Solved<'_>) -> impl Iterator<Item = Choke> + 's {
    let plan = &solved.variant.plan;
    plan.stages.iter().enumerate().flat_map(move |(place, stage)| {
        let own = stage.magnetics.iter().map(|&one| &plan.magnetics[one]);
        own.filter_map(move |magnetic| {
            let Topology::Isolated(isolated) = &stage.topology else { return None };
            let peak = magnetic.uneven.map_or(isolated.figures.choke_peak, |uneven| uneven.peak);
            let trip = magnetic.core.trip.filter(|_| magnetic.role == MagneticRole::OutputChoke)?;
            Some(Choke { part: magnetic.part, stage: place, trip, peak })
        })
    })
}

pub(super) fn judge(solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    for choke in all(solved).filter(|choke| !rests(&solved.variant.plan.stages[choke.stage], solved, lane)) {
        let peak = (choke.peak, Dimension::Current);
        let compared = compare(solved, lane, peak, Limit::Input(choke.trip), Some(&SERVICE_CURRENT));
        let subject = Subject { part: choke.part, defect: IN_SERVICE, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    }
}

/// The words of a verdict about such a choke; nothing of another one.
pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let choke = all(solved).find(|choke| choke.part == worst.part)?;
    let text = comparison(compared);
    let saying = format!(
        "`{}` comes to {} in service, {}",
        solved.variant.path(worst.part),
        text.carried,
        above(compared, "the level at which its stage trips")
    );
    let at = place(solved, choke.trip, lane, format!("trips at {}", text.limit))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let stage = &solved.variant.plan.stages[choke.stage];
    let mut because: Vec<_> = demand(stage, solved, lane).into_iter().collect();
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// A higher trip; nothing of another verdict.
pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Vec<Family>> {
    let worst = failure.worst;
    let choke = all(solved).find(|choke| choke.part == worst.part)?;
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let more = compared.carried_value / compared.allowed;
    Some(vec![toward("trip", choke.trip, (Dimension::Current, ""), more, solved, lane)])
}
