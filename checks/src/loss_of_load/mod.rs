//! How high does a bus rise when what takes its power opens?
//!
//! Until the trip of the bus has turned all gates off, machines go on recovering into its banks, or a boost or buck that holds the
//! bus goes on feeding it. After that the windings empty through the diodes, chokes as well, and a machine that turns fast enough feeds the bus until it has come to the crest
//! of its line voltage. The question is asked of every bus whose sink takes power in a duty point and that has a bank, a trip
//! or a highest voltage.

mod telling;

use loadworthy_unit::plan::{Coasting, LossOfLoad as Lost, Source, VoltageTrip};
use loadworthy_unit::{Cause, Dimension, FigureId, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::seats::{standing_across, standing_banks};
use crate::verdict::{Fault, Grade, Missing, Outcome};

/// Share of a voltage rating that a bus may come to once its sink has opened.
pub(crate) static LOST_LOAD_VOLTAGE: PolicyItem = PolicyItem {
    name: "lost_load_voltage",
    help: "Share of their voltage that devices and capacitors may hold after what takes the power of a bus has opened",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.8, 1.0) },
    since: 2026,
};

const RISES: &str = "bus-rise";
const NO_TRIP: &str = "no-trip";
const IN_PART: &str = "rise-in-part";

static ABOUT: About = About {
    name: "loss-of-load",
    former_names: &[],
    question: "How high does a bus rise when what takes its power opens?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (RISES, "once its sink has opened a bus rises above what is stated for it, or what stands across it"),
        (
            IN_PART,
            "what a bus comes to after its gates are off, or what stands across it, is not known beside what is",
        ),
        (NO_TRIP, "nothing switches off what lifts a bus once its sink has opened"),
    ],
    policy: &[&LOST_LOAD_VOLTAGE],
    since: 2026,
};

/// The check.
pub(crate) struct LossOfLoad;

impl Check for LossOfLoad {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for lost in &solved.variant.plan.losses_of_load {
            for lane in solved.variant.lane_ids() {
                // A bus that a source feeds does not rise, unless what stands on it lifts it by itself.
                if solved.figure(lost.recovered, lane).is_none_or(|watts| watts > 0.0) {
                    judge(lost, solved, lane, out);
                } else if is_lifted(lost, solved, lane) {
                    let trip = &solved.variant.plan.voltage_trips[lost.trip];
                    let missing = [trip.level, trip.delay].map(|input| Missing::Cause(Cause::Input(input)));
                    let outcome = Outcome::NotJudged(missing.into());
                    out.put(solved, subject(lost, solved, lane), outcome, Vec::new());
                }
            }
        }
    }

    /// What else waits for the trip that is not there.
    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let plan = &solved.variant.plan;
        let is_it = |trip: &&VoltageTrip| plan.buses[trip.bus].part == failure.worst.part;
        let trip = plan.voltage_trips.iter().filter(|_| failure.worst.defect == NO_TRIP).find(is_it);
        let missing = trip.into_iter().flat_map(|trip| [trip.level, trip.delay]);
        let missing = missing.map(|input| Missing::Cause(Cause::Input(input)));
        missing.map(|missing| missing_text(solved.variant, None, missing).subject).collect()
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

fn subject(lost: &Lost, solved: &Solved<'_>, lane: LaneId) -> Subject {
    let plan = &solved.variant.plan;
    let part = plan.buses[plan.voltage_trips[lost.trip].bus].part;
    Subject { part, defect: RISES, lane: Some(lane), kin: None }
}

/// Whether a bus rises without anything that recovers in a duty point: a machine is to be shorted before it lifts the bus above
/// what that may reach, which something has to notice, or a generator stands on it that goes on giving as its load opens. A
/// battery and a fuel cell give no more than their open-circuit voltage.
fn is_lifted(lost: &Lost, solved: &Solved<'_>, lane: LaneId) -> bool {
    let plan = &solved.variant.plan;
    let trip = &plan.voltage_trips[lost.trip];
    let bus = &plan.buses[trip.bus];
    if trip.is_stated {
        return false;
    }
    let highest = solved.figure(bus.highest_voltage, lane);
    let lifts = |machine: &Coasting| {
        let crest = solved.figure(machine.line_crest, lane);
        machine.short.is_some() && crest.zip(highest).is_some_and(|(crest, highest)| highest < crest)
    };
    let goes_on = |source: &Source| !source.is_battery && source.without_load.is_none();
    let mut machines = plan
        .coasting
        .iter()
        .filter(|coasting| coasting.bus == trip.bus)
        .flat_map(|coasting| &coasting.machines);
    machines.any(lifts) || bus.sources.iter().any(|&source| goes_on(&plan.sources[source]))
}

fn judge(lost: &Lost, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let bus_place = plan.voltage_trips[lost.trip].bus;
    let bus = &plan.buses[bus_place];
    // One bus is one cause, whatever stands across it: what has the least left speaks.
    let subject = subject(lost, solved, lane);
    // Whether anything lifts the bus comes first.
    if solved.figure(lost.recovered, lane).is_none() {
        out.put(solved, subject, Outcome::NotJudged(vec![Missing::Figure(lost.recovered)]), Vec::new());
        return;
    }
    let trip = &plan.voltage_trips[lost.trip];
    let lacks = [trip.level, trip.delay].iter().all(|&input| solved.variant.tables.is_absent(input));
    if lost.asks_trip && !trip.is_stated && lacks {
        let fault = Outcome::Fails { fault: Fault::Structural, grade: Grade::Major };
        out.put(solved, Subject { defect: NO_TRIP, ..subject }, fault, Vec::new());
        return;
    }
    if let Some(missing) = unstated(lost, solved, lane) {
        out.put(solved, subject, Outcome::NotJudged(missing), Vec::new());
        return;
    }
    let hold = |figure: FigureId, limit, policy| {
        compare(solved, lane, (figure, Dimension::Voltage), Limit::Input(limit), policy)
    };
    // Up to the highest voltage that is stated all stages may switch; after that they have stopped.
    let stated = solved.variant.tables.is_written(bus.highest);
    let until = stated.then(|| hold(lost.as_gates_go_off, bus.highest, None));
    let across = across_bus(bus_place, solved, lane).into_iter();
    let after = across.map(|(_, limit)| hold(lost.highest, limit, Some(&LOST_LOAD_VOLTAGE)));
    let (known, lacking): (Vec<_>, Vec<_>) = until.into_iter().chain(after).partition(Result::is_ok);
    // What fails already must not hide what is not known yet, which may be worse.
    let of_lacking = if known.is_empty() { RISES } else { IN_PART };
    for compared in known {
        out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    }
    for compared in lacking {
        let subject = Subject { defect: of_lacking, ..subject };
        out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    }
}

/// Everything across a bus, with what each stands.
fn across_bus(bus: usize, solved: &Solved<'_>, lane: LaneId) -> Vec<(PartId, InputId)> {
    let positions = standing_across(bus, solved, lane).map(|withstand| (withstand.part, withstand.blocking));
    let banks = standing_banks(bus, solved, lane).map(|bank| (bank.part, bank.each.voltage));
    positions.chain(banks).collect()
}

/// What the description lacks of the trip and the bank, without which nothing is known of the bus.
fn unstated(lost: &Lost, solved: &Solved<'_>, lane: LaneId) -> Option<Vec<Missing>> {
    let trip = &solved.variant.plan.voltage_trips[lost.trip];
    let lacks = |input: &InputId| solved.input(*input, lane).is_none();
    let missing = [Some(trip.level), Some(trip.delay), lost.no_bank].into_iter().flatten().filter(lacks);
    let missing: Vec<Missing> = missing.map(|input| Missing::Cause(Cause::Input(input))).collect();
    (!missing.is_empty()).then_some(missing)
}
