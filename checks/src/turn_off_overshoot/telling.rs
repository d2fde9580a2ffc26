//! A spike that is too high in words, and what would change it.

use loadworthy_physics::{Capacitance, Current, Inductance, Time, turn_off};
use loadworthy_unit::plan::{TurnOff, Withstand};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::TURN_OFF_VOLTAGE;
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::collect::allowed;
use crate::figure_text::{comparison, value, written};
use crate::review::Place;
use crate::steps::as_written;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, EQUAL_WITHIN, Verdict};

/// Voltages that devices are commonly made for.
const CLASSES: [f64; 12] =
    [60.0, 80.0, 100.0, 120.0, 150.0, 200.0, 650.0, 750.0, 900.0, 1200.0, 1700.0, 3300.0];
/// How much more than a device blocks another one may that still falls as fast, or nearly so.
const NEAR: f64 = 1.5;
/// Shares of the inductance of the bars that a closer pair of them leaves.
const CLOSER: [f64; 6] = [0.8, 0.65, 0.5, 0.4, 0.3, 0.2];
/// Shares of the trip that are tried.
const SOONER: [f64; 6] = [0.95, 0.9, 0.85, 0.8, 0.7, 0.6];

fn withstand_of<'v>(turn_off: &TurnOff, solved: &Solved<'v>) -> &'v Withstand {
    &solved.variant.plan.stages[turn_off.stage].withstands[turn_off.withstand]
}

pub(super) fn told(turn_off: &TurnOff, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let (text, withstand) = (comparison(compared), withstand_of(turn_off, solved));
    let part = variant.path(withstand.part);
    let figure = |figure, dimension| {
        solved.figure(figure, lane).map(|solved| value(solved, dimension)).unwrap_or_default()
    };
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let amps = figure(turn_off.figures.current, Dimension::Current);
    let henry = figure(turn_off.figures.inductance, Dimension::Inductance);
    let saying = format!(
        "`{part}` turns {amps} off against {henry} and comes to {}, {}",
        text.carried,
        above(compared, "what its device blocks in the cold")
    );
    let fall = format!("{amps} fall in {}", stated(turn_off.fall, Dimension::Time));
    let at = place(solved, turn_off.fall, lane, fall.clone())
        .unwrap_or_else(|| part_at(solved, withstand.part, fall));
    let mut because: Vec<Place> = Vec::new();
    let bus = withstand.bus.map(|bus| &variant.plan.buses[bus]);
    because.extend(bus.and_then(|bus| {
        let label = format!("up to {}", figure(bus.highest_voltage, Dimension::Voltage));
        place(solved, bus.highest, lane, label)
    }));
    let bars = format!("{} of the loop's {henry}", stated(turn_off.bars, Dimension::Inductance));
    because.extend(place(solved, turn_off.bars, lane, bars));
    because.extend(turn_off.trip.and_then(|trip| {
        let most = turn_off.tripped.map_or_else(String::new, |tripped| {
            format!(", {} at most until it is off", figure(tripped, Dimension::Current))
        });
        let trips = stated(trip, Dimension::Current);
        place(solved, trip, lane, format!("switched off at {trips}{most}"))
    }));
    let blocks = format!("{} at {}", text.limit, stated(turn_off.coldest, Dimension::Temperature));
    because.extend(place(solved, withstand.blocking, lane, blocks));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let facts = slower(turn_off, compared, solved, lane).into_iter().collect();
    Some(Told { because, facts, ..Told::new(saying, at) })
}

/// The inductance and the time to fall with which the spike would be what is allowed, each by itself.
fn slower(turn_off: &TurnOff, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let (henry, amps) =
        (solved.figure(turn_off.figures.inductance, lane)?, solved.figure(turn_off.figures.current, lane)?);
    let (fall, farad) = (solved.input(turn_off.fall, lane)?, solved.input(turn_off.capacitance, lane));
    let adds = |henry: f64, fall: f64| {
        let (henry, amps, fall) = (Inductance::new(henry), Current::new(amps), Time::new(fall));
        if turn_off.rings {
            turn_off::undamped(henry, Capacitance::new(farad.unwrap_or(0.0)), amps, fall).si()
        } else {
            turn_off::plateau(henry, amps, fall).si()
        }
    };
    // What stands across it before the loop adds to it.
    let left = compared.allowed - (compared.carried_value - adds(henry, fall));
    if left <= 0.0 {
        return None;
    }
    let most = henry * share(|share| adds(henry * share, fall) <= left);
    let least = fall / share(|share| adds(henry, fall / share) <= left);
    Some(format!(
        "it would hold with a loop of at most {}, or where the current takes at least {} to fall: by a larger turn-off resistor, whose energies are then to be stated; snubbers and clamps are not reckoned with",
        value(most, Dimension::Inductance),
        value(least, Dimension::Time)
    ))
}

/// The largest share of one that holds, to a thousandth.
fn share(holds: impl Fn(f64) -> bool) -> f64 {
    let shares = (1..1000).rev().map(|share| f64::from(share) / 1000.0);
    shares.into_iter().find(|&share| holds(share)).unwrap_or(f64::NAN)
}

pub(super) fn propose(turn_off: &TurnOff, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let henry = (turn_off.bars, Dimension::Inductance);
    let closer = shares(henry, "bars closer together, inductance", &CLOSER, solved, lane);
    let sooner = turn_off
        .trip
        .and_then(|trip| shares((trip, Dimension::Current), "a trip at less", &SOONER, solved, lane));
    let device = other_device(turn_off, failure, solved, lane);
    [closer, sooner, device].into_iter().flatten().collect()
}

/// Less and less of an input.
fn shares(
    (input, dimension): (InputId, Dimension),
    what: &str,
    shares: &[f64],
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Family> {
    let now = solved.input(input, lane)?;
    let ladder: Vec<Proposal> = shares
        .iter()
        .map(|share| {
            let to = as_written(now * share);
            Proposal {
                say: format!("{what}: {} -> {}", value(now, dimension), value(to, dimension)),
                change: Change::Edit(vec![(Edit { input, value: to }, written(to, dimension))]),
            }
        })
        .collect();
    let last = ladder.last().and_then(|step| step.edits().first()).map(|(_, text)| text.clone())?;
    Some(Family { tried: format!("{what} down to {last}"), ladder })
}

/// A device that blocks more, by the classes that they are made in, as fast as this one.
fn other_device(
    turn_off: &TurnOff,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Family> {
    let withstand = withstand_of(turn_off, solved);
    let now = solved.input(withstand.blocking, lane)?;
    let cold = solved.figure(turn_off.figures.blocks, lane)? / now;
    let left = solved.variant.policy(&TURN_OFF_VOLTAGE)?.stated.value;
    let carried = failure.all.iter().filter_map(|verdict| Some(verdict.comparison()?.carried_value));
    let needed = carried.fold(0.0, f64::max) / (allowed(&TURN_OFF_VOLTAGE, 1.0, left) * cold);
    let is_near = |class: f64| class > now && class <= now * NEAR;
    let enough = CLASSES.iter().filter(|&&class| is_near(class) && class >= needed * (1.0 - EQUAL_WITHIN));
    let ladder: Vec<Proposal> = enough
        .map(|&class| {
            let (from, to) = (value(now, Dimension::Voltage), value(class, Dimension::Voltage));
            let edit = Edit { input: withstand.blocking, value: class };
            Proposal {
                say: format!("a device for more voltage that falls as fast: {from} -> {to}"),
                change: Change::Edit(vec![(edit, written(class, Dimension::Voltage))]),
            }
        })
        .collect();
    let last = ladder.last().and_then(|step| step.edits().first()).map(|(_, text)| text.clone())?;
    Some(Family { tried: format!("devices up to {last}"), ladder })
}
