//! A trip outside its window in words, and a level inside it.

use loadworthy_unit::plan::CurrentTrip;
use loadworthy_unit::{Dimension, Edit, LaneId, PartId, Solved};

use super::window::Window;
use super::{BEFORE_GATES, BLIND, IN_SERVICE, NO_TRIP};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{comparison, value, written};
use crate::slowest::{slowest, slowest_way};
use crate::steps::{family, more_parallel, scaled, toward};
use crate::tell::{above, demand, part_at, place, policy_place};
use crate::verdict::Verdict;

/// Places within the window that are tried: near its middle first, then towards its ends.
const WITHIN: [f64; 5] = [0.5, 0.3, 0.7, 0.1, 0.9];
/// Shares of a delay that are tried.
const SOONER: [f64; 4] = [0.7, 0.5, 0.3, 0.2];

fn current_trip<'v>(part: PartId, solved: &Solved<'v>) -> Option<&'v CurrentTrip> {
    let plan = &solved.variant.plan;
    plan.current_trips.iter().find(|trip| plan.stages[trip.stage].part == part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    if worst.defect == BEFORE_GATES {
        return before_its_gates(worst, solved);
    }
    if worst.defect == NO_TRIP {
        return Some(no_trip(worst, solved));
    }
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let window = Window::of(worst.part, solved, lane)?;
    let part = variant.path(worst.part);
    let text = comparison(compared);
    let level = value(window.at.0, window.dimension);
    let saying = match worst.defect {
        IN_SERVICE => format!(
            "`{part}` comes to {} in service, {}",
            text.carried,
            above(compared, "the level at which the earliest unit trips")
        ),
        BLIND => format!(
            "the latest unit of `{part}` trips at {}, {}",
            text.carried,
            above(compared, "what its sensor reads")
        ),
        _ if window.dimension == Dimension::Current => format!(
            "once its trip has acted, each device of `{part}` turns {} off, {}",
            text.carried,
            above(compared, "its repetitive peak")
        ),
        _ => format!(
            "the latest unit of `{part}` trips at {}, {}",
            text.carried,
            above(compared, "what stands across it")
        ),
    };
    let at = place(solved, window.level, lane, format!("trips at {level}"))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let mut because = Vec::new();
    if worst.defect == IN_SERVICE {
        let plan = &variant.plan;
        let stage = plan.stages.iter().find(|stage| stage.part == worst.part);
        because.extend(stage.and_then(|stage| demand(stage, solved, lane)));
    } else if let Some(loadworthy_unit::trace::Operand::Input(limit)) = compared.limit_from {
        let what = if worst.defect == BLIND { "reads" } else { "stands" };
        because.extend(place(solved, limit, lane, format!("{what} {}", text.limit)));
    }
    if let Some(trip) =
        current_trip(worst.part, solved).filter(|_| worst.defect != IN_SERVICE && worst.defect != BLIND)
    {
        let (input, time) = slowest(trip.delay, trip.acting, solved, lane);
        because.extend(place(
            solved,
            input,
            lane,
            format!("rises for {} more", value(time, Dimension::Time)),
        ));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let facts = vec![window.chain()];
    Some(Told { because, facts, no_proposal: too_small(&window), ..Told::new(saying, at) })
}

/// A stage that nothing switches off.
fn no_trip(worst: &Verdict, solved: &Solved<'_>) -> Told {
    let variant = solved.variant;
    let level = variant.plan.untripped.iter().find(|(part, _)| *part == worst.part);
    let key =
        level.map_or_else(|| "trip".to_owned(), |&(_, level)| variant.tables.input_of(level).path.clone());
    let saying = format!(
        "nothing switches `{}` off at a current that is too much for it: no trip is stated",
        variant.path(worst.part)
    );
    let at = part_at(solved, worst.part, "no trip".to_owned());
    let why = format!(
        "state `{key}`, above what flows in service and below what devices, chokes and sensors stand"
    );
    Told { no_proposal: Some(why), ..Told::new(saying, at) }
}

/// A delay that is shorter than what its gates alone take.
fn before_its_gates(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, text) = (worst.lane()?, comparison(worst.comparison()?));
    let acting = solved.variant.plan.acting.iter().find(|one| one.part == worst.part)?;
    let saying = format!(
        "`{}` is said to be off {} after its trip, and its gates alone take {}: no such delay can be",
        solved.variant.path(worst.part),
        text.limit,
        text.carried
    );
    let at = place(solved, acting.stated, lane, format!("{} until all gates are off", text.limit))
        .unwrap_or_else(|| part_at(solved, worst.part, String::new()));
    let because = slowest_way(acting, solved, lane).and_then(|(driver, own, off)| {
        let [own, off] = [own, off].map(|time| value(time, Dimension::Time));
        place(
            solved,
            driver,
            lane,
            format!("{own} from command to gate, and {off} until its device turns off"),
        )
    });
    let why = "state the whole delay: filter, comparator, decision, driver and turn-off together";
    Some(Told {
        because: because.into_iter().collect(),
        no_proposal: Some(why.to_owned()),
        ..Told::new(saying, at)
    })
}

/// Why no level would do, where none would.
fn too_small(window: &Window) -> Option<String> {
    let text = |figure: f64| value(figure, window.dimension);
    if window.from <= window.up_to() || !window.from.is_finite() {
        return None;
    }
    let mut small = Vec::new();
    if window.sensed_to < window.from {
        small.push(format!("the sensor reads no more than a trip at {}", text(window.sensed_to)));
    }
    if window.in_time_to < window.from {
        small.push(format!(
            "what turns off or stands across bears no more than one at {}",
            text(window.in_time_to)
        ));
    }
    (!small.is_empty())
        .then(|| format!("service asks for a trip from {} on, and {}", text(window.from), small.join("; ")))
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    if [BEFORE_GATES, NO_TRIP].contains(&worst.defect) {
        return Vec::new();
    }
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let Some(window) = Window::of(worst.part, solved, lane) else { return Vec::new() };
    let mut families = vec![within(&window)];
    let over = compared.carried_value / compared.allowed;
    if worst.defect == BLIND || window.sensed_to < window.from {
        let factor = if worst.defect == BLIND { over } else { window.from / window.sensed_to };
        families.push(toward(
            "range of the sensor",
            window.range,
            (window.dimension, ""),
            factor,
            solved,
            lane,
        ));
    }
    if let Some(trip) = current_trip(worst.part, solved).filter(|_| worst.defect != BLIND) {
        families.extend(stronger(trip, worst, solved, lane));
    }
    families
}

/// Levels inside the window, rounded as a person would write them.
fn within(window: &Window) -> Family {
    let (from, to) = (window.from, window.up_to());
    let now = value(window.at.0, window.dimension);
    let mut ladder: Vec<Proposal> = Vec::new();
    let levels = WITHIN.iter().filter_map(|share| rounded_within(from, to, from + share * (to - from)));
    for level in levels {
        let text = written(level, window.dimension);
        let say = format!("trip: {now} -> {}", value(level, window.dimension));
        let edit = (Edit { input: window.level, value: level }, text);
        if ladder.iter().all(|known| known.say != say) {
            ladder.push(Proposal { say, change: Change::Edit(vec![edit]) });
        }
    }
    family("trip within its window, such as", ladder)
}

/// The roundest value near another that stays between two ends; nothing where they leave no room.
fn rounded_within(from: f64, to: f64, near: f64) -> Option<f64> {
    if !(from <= to && from > 0.0 && to.is_finite()) {
        return None;
    }
    (1..=3).find_map(|digits: usize| {
        let text = format!("{near:.*e}", digits - 1);
        let rounded: f64 = text.parse().ok()?;
        (from..=to).contains(&rounded).then_some(rounded)
    })
}

/// A faster trip, or more devices to turn it off.
fn stronger(trip: &CurrentTrip, worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Vec<Family> {
    if worst.defect == IN_SERVICE {
        return Vec::new();
    }
    let plan = &solved.variant.plan;
    let stage = &plan.stages[trip.stage];
    let kinds: Vec<usize> = trip.seats.iter().map(|seat| seat.seat).collect();
    let delay = slowest(trip.delay, trip.acting, solved, lane).0;
    let what = if delay == trip.delay { "delay of the trip" } else { "delay of the driver" };
    vec![
        family("delay down to", scaled(what, &[delay], Dimension::Time, &SOONER, solved, lane)),
        more_parallel(plan, stage, &kinds, solved, lane),
    ]
}
