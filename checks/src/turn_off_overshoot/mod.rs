//! Does the voltage spike of every turn-off stay below what the device blocks?
//!
//! The current falls in the time that the device states, and the inductance of the loop through bars, banks and packages
//! answers with a voltage on top of the highest one of the bus. It stands against the blocking voltage in the coldest
//! surroundings, where it is least.

mod telling;

use loadworthy_unit::plan::{CurrentTrip, TurnOff};
use loadworthy_unit::{Cause, Dimension, FigureId, InputId, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, unless_more};
use crate::remarks::Remark;
use crate::seats::blocks_highest;
use crate::verdict::{Comparison, Grade, Missing, Outcome};

/// Share of the blocking voltage that the spike of a turn-off may reach.
pub(crate) static TURN_OFF_VOLTAGE: PolicyItem = PolicyItem {
    name: "turn_off_voltage",
    help: "Share of its blocking voltage in the cold that a device may hold while it turns off, spike included",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.8, 0.95) },
    since: 2026,
};

/// What the check is called.
pub(crate) const NAME: &str = "turn-off-overshoot";
pub(crate) const SPIKE: &str = "spike";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Does the voltage spike of every turn-off stay below what the device blocks?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[(
        SPIKE,
        "turning off adds more voltage than the policy leaves of what the device blocks in the cold",
    )],
    policy: &[&TURN_OFF_VOLTAGE],
    since: 2026,
};

/// The check.
pub(crate) struct TurnOffOvershoot;

impl Check for TurnOffOvershoot {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn is_of_the_entry(&self, _defect: &str) -> bool {
        // One device falls too fast, or has too long leads, for all stages that it serves; one bus has too long bars for all on it.
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for turn_off in &solved.variant.plan.turn_offs {
            for lane in solved.variant.lane_ids() {
                judge(turn_off, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(turn_off_of(failure, solved)?, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let turn_off = turn_off_of(failure, solved);
        turn_off.map_or_else(Vec::new, |turn_off| telling::propose(turn_off, failure, solved))
    }
}

fn judge(turn_off: &TurnOff, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let withstand = &plan.stages[turn_off.stage].withstands[turn_off.withstand];
    if !blocks_highest(withstand, solved, lane) {
        return;
    }
    let against = |figure: FigureId| against(turn_off, figure, solved, lane);
    let plateau = against(turn_off.figures.plateau).map_err(|missing| {
        // How high the bus may come is asked for by its own name.
        let highest = withstand.bus.map(|bus| plan.buses[bus].highest);
        let unstated = highest.filter(|&input| solved.input(input, lane).is_none());
        unstated.map(|input| Missing::Cause(Cause::Input(input))).into_iter().chain(missing).collect()
    });
    let mut remarks = Vec::new();
    if turn_off.trip.is_none() {
        remarks.push(Remark::TripNotCounted);
    }
    let undamped = if turn_off.rings { against(turn_off.figures.undamped).ok() } else { None };
    let outcome = match (plateau, undamped) {
        // The bound is what is held in either case, so that one headroom tells how near all of it is.
        (Ok(plateau), Some(undamped)) => {
            remarks.push(Remark::Undamped);
            outcome(Ok(undamped), if holds(plateau) { Grade::Minor } else { Grade::Major })
        }
        (plateau, _) => outcome(plateau, Grade::Major),
    };
    let delay = turn_off.tripped.and_then(|tripped| CurrentTrip::lacks_delay(plan, tripped));
    let outcome = unless_more(outcome, delay);
    // What a trip lets flow nobody knows, where the unit should have one and states none.
    let outcome = unless_more(outcome, unstated_trip(turn_off, solved, lane));
    let kin = if is_of_its_bus(turn_off, solved, lane) { turn_off.bars } else { turn_off.fall };
    let subject = Subject { part: withstand.part, defect: SPIKE, lane: Some(lane), kin: Some(kin) };
    out.put(solved, subject, outcome, remarks);
}

/// A voltage of a turn-off against what the policy leaves of what the device blocks.
fn against(
    turn_off: &TurnOff,
    figure: FigureId,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<Comparison, Vec<Missing>> {
    let limit = Limit::Figure(turn_off.figures.blocks);
    compare(solved, lane, (figure, Dimension::Voltage), limit, Some(&TURN_OFF_VOLTAGE))
}

/// Whether the voltage while the current falls is too much by itself, without any ring: a major failure.
pub(crate) fn is_major(turn_off: &TurnOff, solved: &Solved<'_>, lane: LaneId) -> bool {
    against(turn_off, turn_off.figures.plateau, solved, lane).is_ok_and(|compared| !holds(compared))
}

/// The trip that the stage should have, as what reads its currents or the unit's control says, and does not state.
fn unstated_trip(turn_off: &TurnOff, solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    let plan = &solved.variant.plan;
    let part = plan.stages[turn_off.stage].part;
    let sensed = plan.current_trips.iter().filter(|trip| trip.stage == turn_off.stage).map(|trip| trip.level);
    let lacking = plan.untripped.iter().filter(|(stage, _)| *stage == part).map(|&(_, level)| level);
    sensed.chain(lacking).find(|&level| solved.input(level, lane).is_none())
}

/// Whether more of its loop lies in the bars and the banks of the bus than in the packages, so that other devices there have it as well.
fn is_of_its_bus(turn_off: &TurnOff, solved: &Solved<'_>, lane: LaneId) -> bool {
    let packages = turn_off
        .packages
        .iter()
        .map(|&(each, parallel)| Some(solved.input(each, lane)? / solved.input(parallel, lane)?));
    let packages: Option<f64> = packages.sum();
    let all = solved.figure(turn_off.figures.inductance, lane);
    packages.zip(all).is_some_and(|(packages, all)| packages < 0.5 * all)
}

fn holds(compared: Comparison) -> bool {
    matches!(outcome(Ok(compared), Grade::Major), Outcome::Holds(_))
}

fn turn_off_of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<&'v TurnOff> {
    let plan = &solved.variant.plan;
    plan.turn_offs
        .iter()
        .find(|one| plan.stages[one.stage].withstands[one.withstand].part == failure.worst.part)
}
