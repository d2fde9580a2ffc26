//! Does every switch position block what its topology puts across it at the highest bus voltage?
//!
//! Between the rails of a bus a position blocks the highest voltage of that bus; behind a transformer what the turns make
//! of it, with the ringing that the clamp or snubber leaves; in a forward converter what resets the transformer on top. Between the
//! windings of a machine and its frame it is the bus, what a turn-off adds and what the cable reflects.
//! What does not state what it blocks, or how high its bus may come, is not judged, unless the bus alone is more than its
//! device may block.

mod beyond_highest;
mod frames;
mod telling;

use loadworthy_unit::plan::{Bus, Plan, Role, Stage, Withstand};
use loadworthy_unit::{Cause, Dimension, FigureId, LaneId, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, or_of_the_least, outcome};
use crate::deratings::BLOCKING_VOLTAGE;
use crate::short_circuit_response::BUS_AS_AN_ESTIMATE;
use crate::verdict::{Comparison, Grade, Missing};

const BLOCKED: &str = "blocked-voltage";
const WINDINGS: &str = "winding-peak";
const BEYOND_HIGHEST: &str = "beyond-highest";

static ABOUT: About = About {
    name: "voltage-headroom",
    former_names: &[],
    question: "Does every switch position block what its topology puts across it at the highest bus voltage, and does every winding stand it?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (BLOCKED, "a position holds more voltage than the policy leaves of what its device blocks"),
        (BEYOND_HIGHEST, "a duty point or a source brings a bus above the highest voltage that it states"),
        (WINDINGS, "more recurs between the windings of a machine and its frame than they are made for"),
    ],
    policy: &[&BLOCKING_VOLTAGE],
    since: 2026,
};

/// The check.
pub(crate) struct VoltageHeadroom;

impl Check for VoltageHeadroom {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for stage in &solved.variant.plan.stages {
            for withstand in &stage.withstands {
                for lane in solved.variant.lane_ids() {
                    judge(stage, withstand, solved, lane, out);
                }
            }
        }
        for bus in &solved.variant.plan.buses {
            for lane in solved.variant.lane_ids() {
                beyond_highest::judge(bus, solved, lane, out);
            }
        }
        for frame in &solved.variant.plan.frames {
            for lane in solved.variant.lane_ids() {
                frames::judge(frame, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        if failure.worst.defect == WINDINGS {
            return frames::told(failure.worst, solved);
        }
        if failure.worst.defect == BEYOND_HIGHEST {
            return beyond_highest::told(failure.worst, solved);
        }
        let (stage, withstand) = withstand_of(failure, solved)?;
        telling::told(stage, withstand, failure.worst, solved)
    }

    fn outruns(&self, defect: &str) -> &'static [&'static str] {
        if defect == BLOCKED { &["voltage", BUS_AS_AN_ESTIMATE] } else { &[] }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        if failure.worst.defect == WINDINGS {
            return frames::propose(failure.worst, solved);
        }
        if failure.worst.defect == BEYOND_HIGHEST {
            return beyond_highest::propose(failure.worst, solved);
        }
        let Some((stage, withstand)) = withstand_of(failure, solved) else { return Vec::new() };
        // How much more than the least it blocks is not known, so that no change can be shown to hold.
        if failure.worst.comparison().is_none_or(|compared| compared.carried != withstand.blocked) {
            return Vec::new();
        }
        telling::propose(stage, withstand, failure, solved)
    }
}

fn judge(stage: &Stage, withstand: &Withstand, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let against = |carried| {
        let carried = (carried, Dimension::Voltage);
        compare(solved, lane, carried, Limit::Input(withstand.blocking), Some(&BLOCKING_VOLTAGE))
    };
    let compared = against(withstand.blocked);
    let (compared, _) = or_of_the_least(compared, || least(stage, withstand, &against, solved, lane));
    let compared = compared.map_err(|missing| {
        // How high the bus may come is asked for by its own name.
        let highest = withstand.bus.map(|bus| solved.variant.plan.buses[bus].highest);
        let is_open = |input: &loadworthy_unit::InputId| solved.input(*input, lane).is_none();
        let unstated = highest.filter(is_open).map(|input| Missing::Cause(Cause::Input(input)));
        let is_figure = |one: &Missing| matches!(one, Missing::Figure(_));
        let rest = missing.into_iter().filter(|one| unstated.is_none() || !is_figure(one));
        unstated.into_iter().chain(rest).collect()
    });
    let subject =
        Subject { part: withstand.part, defect: BLOCKED, lane: Some(lane), kin: Some(withstand.blocking) };
    out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
}

/// What a position blocks in any case: its bus at its highest, where that is known, or as it was solved.
fn least(
    stage: &Stage,
    withstand: &Withstand,
    against: &impl Fn(FigureId) -> Result<Comparison, Vec<Missing>>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<Comparison, Vec<Missing>> {
    let bus = stands_on(stage, withstand, &solved.variant.plan).ok_or_else(Vec::new)?;
    let mut known = withstand.at_highest.into_iter().chain([bus.highest_voltage, bus.voltage]);
    known.find(|&volts| solved.figure(volts, lane).is_some()).map_or_else(|| Err(Vec::new()), against)
}

/// The bus of which a position blocks at least the voltage: the one that it stands on, and of what rectifies behind a
/// transformer the one that it feeds, since no winding gives less than that.
fn stands_on<'p>(stage: &Stage, withstand: &Withstand, plan: &'p Plan) -> Option<&'p Bus> {
    let rectifies = matches!(withstand.role, Role::Rectifier | Role::Forward | Role::Freewheel);
    let bus = if rectifies { stage.ports.last()?.bus } else { withstand.bus };
    plan.buses.get(bus?)
}

fn withstand_of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<(&'v Stage, &'v Withstand)> {
    let mut all = solved
        .variant
        .plan
        .stages
        .iter()
        .flat_map(|stage| stage.withstands.iter().map(move |withstand| (stage, withstand)));
    all.find(|(_, withstand)| withstand.part == failure.worst.part)
}
