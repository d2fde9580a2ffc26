//! Does each duty point have a solution at all, and does the description say where its power comes from?
//!
//! A source behind a resistance gives at most Voc²/(4·R), whatever hangs on it. Beyond that there is no solution; close
//! to it each further watt costs more than a watt. Whether there is one also hangs on the structure: a bus needs a
//! source, stages that close a loop need to be told how they divide, and a rectifier passes power one way.

mod proposing;
mod structure;
mod telling;

use loadworthy_unit::plan::{Bus, Source};
use loadworthy_unit::{Cause, Dimension, LaneId, LaneState, PartId, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Subject, Verdicts};
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome};

/// Share of the power that can pass above which the rate q = I·R/(V − I·R) is above one half: a third of the voltage is lost
/// there, and a watt more at the bus costs two more inside the source.
const NEAR: f64 = 8.0 / 9.0;

const BEYOND_SOURCE: &str = "beyond-source";
const BEYOND_LINE: &str = "beyond-line";
const NEAR_LIMIT: &str = "near-limit";
const LOOP: &str = "loop";
const UNFED: &str = "unfed";
const ONE_WAY: &str = "one-way";
const LEFT_OVER: &str = "left-over";

static ABOUT: About = About {
    name: "power-balance",
    former_names: &[],
    question: "Does each duty point have a solution at all, and does its power come from somewhere?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (
            BEYOND_SOURCE,
            "the sources of a bus cannot give the power through their resistance: there is no solution",
        ),
        (
            BEYOND_LINE,
            "conductors cannot pass the power: what they drop leaves no voltage, and there is no solution",
        ),
        (NEAR_LIMIT, "the power is close to the most that can pass the resistance of the sources"),
        (LOOP, "stages close a loop of buses, and how they divide the power is not stated"),
        (UNFED, "something hangs on a bus that no source of the unit reaches"),
        (ONE_WAY, "a stage that passes power one way only is asked to pass it back"),
        (LEFT_OVER, "every source states its share, and the shares are not what is drawn"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct PowerBalance;

impl Check for PowerBalance {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn leaves_without_values(&self, defect: &str) -> bool {
        matches!(defect, UNFED | ONE_WAY | LOOP)
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        for bus in &plan.buses {
            for lane in solved.variant.lane_ids() {
                sources(bus, solved, lane, out);
            }
        }
        for source in &plan.sources {
            for lane in solved.variant.lane_ids() {
                idle(source, solved, lane, out);
            }
        }
        lines(solved, out);
        undecided(solved, out);
        structure::judge(solved, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        match failure.worst.defect {
            BEYOND_SOURCE => telling::beyond(failure.worst, solved),
            BEYOND_LINE => telling::beyond_line(failure.worst, solved),
            NEAR_LIMIT => telling::near(failure.worst, solved),
            _ => structure::told(failure.worst, solved),
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        match failure.worst.defect {
            BEYOND_SOURCE | NEAR_LIMIT => proposing::less_resistance(failure, solved),
            BEYOND_LINE => proposing::better_conductor(failure, solved),
            _ => Vec::new(),
        }
    }
}

/// What the sources that hold a bus give, against what can pass their resistance. Several count as one.
fn sources(bus: &Bus, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    if !bus.is_balanced_here {
        return;
    }
    let part = speaker(bus, solved, lane);
    let (defect, outcome) = match solved.state(lane) {
        LaneState::NoSolution { at, largest } if at == part => {
            let fault = Fault::Unsolved { largest_share: largest };
            (BEYOND_SOURCE, Outcome::Fails { fault, grade: Grade::Major })
        }
        LaneState::NoSolution { at, largest } => {
            (BEYOND_SOURCE, not_judged(Missing::Cause(Cause::NoSolution { at, largest })))
        }
        LaneState::Undecided { at } => (BEYOND_SOURCE, not_judged(Missing::Cause(Cause::Undecided { at }))),
        LaneState::Solved { .. } => passes(bus, solved, lane),
    };
    out.put(solved, subject(part, defect, lane), outcome, Vec::new());
}

/// Duty points whose power does not pass a conductor.
fn lines(solved: &Solved<'_>, out: &mut Verdicts) {
    let conductors = &solved.variant.plan.conductors;
    for lane in solved.variant.lane_ids() {
        let LaneState::NoSolution { at, largest } = solved.state(lane) else { continue };
        if conductors.iter().any(|conductor| conductor.part == at) {
            let fault = Fault::Unsolved { largest_share: largest };
            let outcome = Outcome::Fails { fault, grade: Grade::Major };
            out.put(solved, subject(at, BEYOND_LINE, lane), outcome, Vec::new());
        }
    }
}

/// Duty points that could not be decided where no source speaks of them.
fn undecided(solved: &Solved<'_>, out: &mut Verdicts) {
    if solved.variant.plan.buses.iter().any(|bus| bus.is_balanced_here) {
        return;
    }
    for lane in solved.variant.lane_ids() {
        if let LaneState::Undecided { at } = solved.state(lane) {
            let outcome = not_judged(Missing::Cause(Cause::Undecided { at }));
            out.put(solved, subject(at, BEYOND_SOURCE, lane), outcome, Vec::new());
        }
    }
}

fn passes(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> (&'static str, Outcome) {
    let Some(power) = solved.figure(bus.power, lane) else {
        return (BEYOND_SOURCE, not_judged(Missing::Figure(bus.power)));
    };
    let Some((volts, ohms)) = solved.behind(bus, lane) else {
        // The voltage is stated, or there is no resistance: any power passes.
        return (BEYOND_SOURCE, Outcome::Holds(None));
    };
    let most = transferable(volts, ohms);
    if most.is_nan() {
        return (BEYOND_SOURCE, not_judged(Missing::Figure(bus.voltage)));
    }
    if power <= 0.0 || most.is_infinite() {
        return (BEYOND_SOURCE, Outcome::Holds(None));
    }
    let near = Comparison::new((bus.power, power), (most, None), (NEAR * most, None), Dimension::Power);
    if near.holds() {
        (BEYOND_SOURCE, Outcome::Holds(Some(near)))
    } else {
        (NEAR_LIMIT, Outcome::Fails { fault: Fault::Exceeds(near), grade: Grade::Minor })
    }
}

/// Most power that passes a resistance from a voltage.
fn transferable(volts: f64, ohms: f64) -> f64 {
    volts * volts / (4.0 * ohms)
}

/// A source that shares a bus or an island with those that hold it, and says in no way how much it gives.
fn idle(source: &Source, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let states = |input| solved.input(input, lane).is_some();
    if source.may_balance || states(source.share_power) || states(source.share_current) {
        return;
    }
    let outcome = not_judged(Missing::Cause(Cause::Input(source.share_power)));
    out.put(solved, subject(source.part, BEYOND_SOURCE, lane), outcome, Vec::new());
}

/// The part that speaks for the sources of a bus in a lane: the first that takes what is left over.
fn speaker(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> PartId {
    solved.holder(bus, lane).map_or(bus.part, |source| source.part)
}

/// The bus that a source or the bus itself speaks for in a lane.
fn bus_of<'v>(part: PartId, solved: &Solved<'v>, lane: LaneId) -> Option<&'v Bus> {
    let mut buses = solved.variant.plan.buses.iter();
    buses.find(|bus| bus.is_balanced_here && speaker(bus, solved, lane) == part)
}

fn not_judged(missing: Missing) -> Outcome {
    Outcome::NotJudged(vec![missing])
}

const fn subject(part: PartId, defect: &'static str, lane: LaneId) -> Subject {
    Subject { part, defect, lane: Some(lane), kin: None }
}

/// Whether a bus is left without a source: sources that feed no bus, and conductors in no branch, are told with it as far as
/// anyone can tell.
pub(crate) fn lacks_a_feed(solved: &Solved<'_>) -> bool {
    structure::lacks_a_feed(solved)
}
