//! Can air leave the coolant?
//!
//! Heights and vents are the same in every duty point. Air leaves at the latest where most coolant flows, so the duty point
//! with the largest flow is the one that is judged.

mod tell;

use std::collections::BTreeMap;

use loadworthy_unit::plan::CoolantPath;
use loadworthy_unit::{Cause, Dimension, LaneId, Lanes, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, structural};
use crate::high_points::{Profile, Summit, as_described};
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome};

const TRAPPED: &str = "air-trapped";
const OUTLET_BELOW: &str = "outlet-below-inlet";

static PURGING_VELOCITY: PolicyItem = PolicyItem {
    name: "purging_velocity",
    help: "How much of the coolant's velocity may be needed to carry air down from a high point without a vent.",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.75, 1.0) },
    since: 2026,
};

static ABOUT: About = About {
    name: "coolant-purging",
    former_names: &[],
    question: "Can air leave the coolant?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (TRAPPED, "a high point without a vent, from which the coolant is too slow to carry air down"),
        (OUTLET_BELOW, "the coolant leaves the unit lower than it enters"),
    ],
    policy: &[&PURGING_VELOCITY],
    since: 2026,
};

/// The check.
pub(crate) struct CoolantPurging;

impl Check for CoolantPurging {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        defect == TRAPPED
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(path) = &solved.variant.plan.coolant else { return };
        if path.places.is_empty() {
            return;
        }
        for lanes in solved.variant.together() {
            judge_in(solved, path, most_flow(solved, path, lanes), out);
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::families(failure, solved)
    }
}

fn judge_in(solved: &Solved<'_>, path: &CoolantPath, lane: Option<LaneId>, out: &mut Verdicts) {
    let profile = Profile::of(solved, path, lane, &as_described(path));
    let summits: BTreeMap<usize, Summit> =
        profile.summits(path).into_iter().map(|summit| (summit.at.0, summit)).collect();
    // One place alone has nothing between inlet and outlet.
    let is_single = path.places.len() == 1;
    for (k, place) in path.places.iter().enumerate() {
        let outcome = match summits.get(&k) {
            _ if is_single => Outcome::Holds(None),
            _ if !profile.is_known(k) => Outcome::NotJudged(
                place
                    .elevation
                    .into_iter()
                    .filter(|&end| !solved.variant.tables.input_of(end).values[0].value.is_finite())
                    .map(|end| Missing::Cause(Cause::Input(end)))
                    .collect(),
            ),
            Some(summit) => of_summit(solved, path, summit, lane),
            None => Outcome::Holds(None),
        };
        out.put(solved, Subject { part: place.part, defect: TRAPPED, lane, kin: None }, outcome, Vec::new());
    }
    if (0..path.places.len()).all(|place| profile.is_known(place)) {
        let subject = Subject { part: path.part, defect: OUTLET_BELOW, lane: None, kin: None };
        out.put(solved, subject, structural(Ok(profile.drop().is_none()), Grade::Note), Vec::new());
    }
}

/// The lane in which most coolant flows, of equals the first.
pub(crate) fn most_flow(solved: &Solved<'_>, path: &CoolantPath, lanes: Lanes) -> Option<LaneId> {
    let flow = |lane: LaneId| solved.figure(path.total_flow, lane).unwrap_or(-1.0);
    lanes.ids().reduce(|most, lane| if flow(lane) > flow(most) { lane } else { most })
}

/// Whether the coolant carries air down from a summit, over each fall behind it; the worst decides.
pub(crate) fn of_summit(
    solved: &Solved<'_>,
    path: &CoolantPath,
    summit: &Summit,
    lane: Option<LaneId>,
) -> Outcome {
    let mut missing: Vec<Missing> =
        summit.unknown.iter().map(|&height| Missing::Cause(Cause::Input(height))).collect();
    let Some(lane) = lane else {
        missing.push(Missing::Cause(Cause::Input(path.flow)));
        return Outcome::NotJudged(missing);
    };
    let mut worst: Option<Comparison> = None;
    for &fall in &summit.falls {
        match over_fall(solved, path, fall, lane) {
            Ok(compared) => {
                worst = Some(worst.filter(|worst| worst.headroom <= compared.headroom).unwrap_or(compared));
            }
            Err(more) => missing.extend(more),
        }
    }
    match worst {
        Some(compared) if missing.is_empty() => {
            if compared.holds() {
                Outcome::Holds(Some(compared))
            } else {
                Outcome::Fails { fault: Fault::Exceeds(compared), grade: Grade::Major }
            }
        }
        _ => Outcome::NotJudged(missing),
    }
}

/// The velocity that carries air down a fall against that of the coolant.
pub(super) fn over_fall(
    solved: &Solved<'_>,
    path: &CoolantPath,
    fall: usize,
    lane: LaneId,
) -> Result<Comparison, Vec<Missing>> {
    let passage = &path.places[fall].passage;
    let (Some(velocity), Some(clearing)) = (passage.velocity, passage.clearing_velocity) else {
        return Err(vec![Missing::Cause(Cause::Input(passage.bore))]);
    };
    let compared = compare(
        solved,
        lane,
        (clearing, Dimension::Velocity),
        Limit::Figure(velocity),
        Some(&PURGING_VELOCITY),
    )?;
    // A vent mends it and changes neither figure: whether it holds, only the whole check says.
    Ok(Comparison { limit_from: None, ..compared })
}
