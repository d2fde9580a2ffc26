//! Is normal peak < trip < sensor range < turn-off capability?
//!
//! A trip stands in a window: above what flows or stands in service, by its tolerance; below what its sensor still reads; and
//! so low that what has risen until it acts is no more than the devices turn off, or than what stands across the bus
//! withstands. The question is asked of every stage that states a trip or what reads its currents, and of every bus that
//! states an overvoltage trip. Where control is described, or what reads its currents, a stage that states no trip has none.

mod chokes;
mod telling;
mod window;

use loadworthy_unit::plan::{CurrentTrip, VoltageTrip};
use loadworthy_unit::{Cause, Dimension, FigureId, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, or_of_the_least, outcome, structural};
use crate::deratings::{BLOCKING_VOLTAGE, CAPACITOR_VOLTAGE};
use crate::remarks::Remark;
use crate::seats::{rests, standing_across, standing_banks};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};
use window::Window;

/// Share of the lowest trip level that a current may come to in service.
pub(crate) static SERVICE_CURRENT: PolicyItem = PolicyItem {
    name: "service_current",
    help: "Share of the level at which the earliest unit trips that the largest current in service may come to, ripple included",
    form: PolicyForm::UseAtMost { default: 0.95, usual: (0.85, 1.0) },
    since: 2026,
};

/// Share of the lowest trip level that a bus may come to in service.
pub(crate) static SERVICE_VOLTAGE: PolicyItem = PolicyItem {
    name: "service_voltage",
    help: "Share of the level at which the earliest unit trips that the highest bus voltage in service may come to",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.95, 1.0) },
    since: 2026,
};

/// Share of the repetitive peak that may be turned off once a trip has acted.
pub(crate) static TRIPPED_CURRENT: PolicyItem = PolicyItem {
    name: "tripped_current",
    help: "Share of the repetitive peak current of its device that a position may turn off once a trip has acted",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

const IN_SERVICE: &str = "trips-in-service";
const BLIND: &str = "blind-sensor";
const TOO_LATE: &str = "too-late";
const NO_TRIP: &str = "no-trip";
const BEFORE_GATES: &str = "before-its-gates";

static ABOUT: About = About {
    name: "trip-window",
    former_names: &[],
    question: "Is normal peak < trip < sensor range < turn-off capability?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (IN_SERVICE, "what flows or stands in service comes to the level at which the earliest unit trips"),
        (BLIND, "the sensor does not read up to the level at which the latest unit trips"),
        (
            TOO_LATE,
            "once the latest unit has tripped there is more than devices turn off or what stands across the bus withstands",
        ),
        (NO_TRIP, "nothing switches a stage off at a current that is too much for it"),
        (BEFORE_GATES, "a trip is said to have acted sooner than its driver and its device alone take"),
    ],
    policy: &[&SERVICE_CURRENT, &SERVICE_VOLTAGE, &TRIPPED_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct TripWindow;

impl Check for TripWindow {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        if defect == BEFORE_GATES { &["stages", "drivers"] } else { &[] }
    }

    fn is_said_once(&self, defect: &str) -> bool {
        defect != IN_SERVICE
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        for &(part, level) in &plan.untripped {
            // What could not be read may be its trip.
            let is_known = solved.variant.tables.is_absent(level);
            let missing = Missing::Cause(Cause::Input(level));
            let held = if is_known { Ok(false) } else { Err(vec![missing]) };
            let subject = Subject { part, defect: NO_TRIP, lane: None, kin: None };
            out.put(solved, subject, structural(held, Grade::Major), Vec::new());
        }
        for lane in solved.variant.lane_ids() {
            let has_level = |trip: &&CurrentTrip| !solved.variant.tables.is_absent(trip.level);
            for trip in plan.current_trips.iter().filter(has_level) {
                of_current(trip, solved, lane, out);
            }
            for trip in plan.voltage_trips.iter().filter(|trip| trip.is_stated) {
                of_voltage(trip, solved, lane, out);
            }
            chokes::judge(solved, lane, out);
            for acting in &plan.acting {
                let needed = (acting.needed, Dimension::Time);
                let compared = compare(solved, lane, needed, Limit::Input(acting.stated), None);
                let subject =
                    Subject { part: acting.part, defect: BEFORE_GATES, lane: Some(lane), kin: None };
                let outcome = match outcome(compared, Grade::Minor) {
                    // A driver that does not say how long it takes may take longer.
                    Outcome::Holds(_) if !acting.unstated.is_empty() => {
                        let missing =
                            acting.unstated.iter().map(|&input| Missing::Cause(Cause::Input(input)));
                        Outcome::NotJudged(missing.collect())
                    }
                    outcome => outcome,
                };
                out.put(solved, subject, outcome, Vec::new());
            }
        }
    }

    /// What is too late with the delay of a driver is told of that.
    fn told_with(&self, failing: &Verdict, _: &Solved<'_>) -> Vec<With> {
        match failing.defect {
            BEFORE_GATES => vec![With::of(ABOUT.name, TOO_LATE, failing.part)],
            _ => Vec::new(),
        }
    }

    /// What else waits for the trip that is not there.
    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let untripped = solved.variant.plan.untripped.iter();
        let own =
            untripped.filter(|(part, _)| failure.worst.defect == NO_TRIP && *part == failure.worst.part);
        let missing = own.map(|&(_, level)| Missing::Cause(Cause::Input(level)));
        missing.map(|missing| missing_text(solved.variant, None, missing).subject).collect()
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        chokes::told(failure.worst, solved).or_else(|| telling::told(failure.worst, solved))
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        chokes::propose(failure, solved).unwrap_or_else(|| telling::propose(failure, solved))
    }
}

type Compared = Result<Comparison, Vec<Missing>>;

fn of_current(trip: &CurrentTrip, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let stage = &solved.variant.plan.stages[trip.stage];
    let against = |figure: FigureId, limit, policy| {
        let compared = compare(solved, lane, (figure, Dimension::Current), limit, policy);
        // Its delay is asked for where it is reckoned with.
        let own = [trip.level, trip.delay];
        let is_late = trip.seats.iter().any(|seat| seat.each == figure);
        named(compared, if is_late { &own } else { &own[..1] }, solved, lane)
    };
    let mut put = |defect, compared: Compared, remarks| {
        let subject = Subject { part: stage.part, defect, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome(compared, Grade::Major), remarks);
    };
    if !rests(stage, solved, lane) {
        let service = |figure| against(figure, Limit::Figure(trip.lowest), Some(&SERVICE_CURRENT));
        // A window is asked for only where the figure itself is not known.
        let crest = || window::crest(stage).filter(|_| Window::of(stage.part, solved, lane).is_some());
        let (compared, is_least) =
            or_of_the_least(service(trip.normal), || crest().map_or(Err(Vec::new()), service));
        put(IN_SERVICE, compared, is_least.then_some(Remark::AtLeast).into_iter().collect());
    }
    put(BLIND, against(trip.highest, Limit::Input(trip.range), None), Vec::new());
    // The kind of position with the least left speaks for its stage.
    for seat in &trip.seats {
        let compared = against(seat.each, Limit::Input(seat.repetitive_peak), Some(&TRIPPED_CURRENT));
        put(TOO_LATE, compared, Vec::new());
    }
}

fn of_voltage(trip: &VoltageTrip, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let bus = &solved.variant.plan.buses[trip.bus];
    let against = |figure: FigureId, limit, policy| {
        let compared = compare(solved, lane, (figure, Dimension::Voltage), limit, policy);
        named(compared, &[trip.level], solved, lane)
    };
    let mut put = |defect, compared: Compared, remarks| {
        let subject = Subject { part: bus.part, defect, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome(compared, Grade::Major), remarks);
    };
    let service = |figure| against(figure, Limit::Figure(trip.lowest), Some(&SERVICE_VOLTAGE));
    let (compared, is_least) = or_of_the_least(service(trip.normal), || service(bus.voltage));
    put(IN_SERVICE, compared, is_least.then_some(Remark::AtLeast).into_iter().collect());
    put(BLIND, against(trip.highest, Limit::Input(trip.sensor_range), None), Vec::new());
    for (_, limit, policy) in withstands(trip, solved, lane) {
        put(TOO_LATE, against(trip.highest, Limit::Input(limit), policy), Vec::new());
    }
}

/// What a bus must not come to: the highest voltage stated for it, and what stands across it.
fn withstands(
    trip: &VoltageTrip,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Vec<(PartId, InputId, Option<&'static PolicyItem>)> {
    let plan = &solved.variant.plan;
    let bus = &plan.buses[trip.bus];
    let stated = solved.variant.tables.is_written(bus.highest).then_some((bus.part, bus.highest, None));
    let positions = standing_across(trip.bus, solved, lane)
        .map(|withstand| (withstand.part, withstand.blocking, Some(&BLOCKING_VOLTAGE)));
    let banks = standing_banks(trip.bus, solved, lane)
        .map(|bank| (bank.part, bank.each.voltage, Some(&CAPACITOR_VOLTAGE)));
    stated.into_iter().chain(positions).chain(banks).collect()
}

/// What a trip lacks by its own name, in place of the figures that wait for it.
fn named(compared: Compared, own: &[InputId], solved: &Solved<'_>, lane: LaneId) -> Compared {
    compared.map_err(|missing| {
        let unstated = own.iter().filter(|input| solved.input(**input, lane).is_none());
        let unstated: Vec<Missing> = unstated.map(|&input| Missing::Cause(Cause::Input(input))).collect();
        let is_behind = |one: &Missing| !unstated.is_empty() && matches!(one, Missing::Figure(_));
        let rest: Vec<Missing> = missing.into_iter().filter(|one| !is_behind(one)).collect();
        unstated.into_iter().chain(rest).collect()
    })
}
