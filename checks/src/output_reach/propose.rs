//! What would bring an output into reach: another modulation, a higher or lower bus, other turns.

use loadworthy_physics::Modulation;
use loadworthy_unit::plan::{Bridge, Bus, Chopper, ChopperKind, Isolated, Stage, Topology};
use loadworthy_unit::solver::bridge::{modulation, modulation_code};
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use super::{bridge, supply};
use crate::check::{Change, Failure, Family, Proposal};
use crate::dead_time;
use crate::figure_text::{value, written};
use crate::steps::{as_written, toward};

/// Multiples of a bus voltage that are tried where no equation gives the one that is needed.
const HIGHER: [f64; 8] = [1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.4, 1.5];
/// Shares of a bus voltage that are tried.
const LOWER: [f64; 6] = [0.95, 0.9, 0.85, 0.8, 0.75, 0.7];
/// Shares of the turns ratio that are tried.
const FEWER_TURNS: [f64; 8] = [0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.6, 0.5];

pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let stage = solved.variant.plan.stages.iter().find(|stage| stage.part == failure.worst.part);
    let (Some(stage), Some(lane)) = (stage, failure.worst.lane()) else { return Vec::new() };
    match &stage.topology {
        Topology::Bridge(bridge) => for_bridge(stage, bridge, failure, solved, lane),
        Topology::Chopper(chopper) => for_chopper(stage, chopper, failure, solved, lane),
        Topology::Isolated(isolated) => vec![fewer_turns(isolated, solved, lane)],
    }
}

fn for_bridge(
    stage: &Stage,
    bridge: &Bridge,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Vec<Family> {
    let mut families = Vec::new();
    if let Some((share, allowed)) = dead_time::excess(stage, solved, lane) {
        let time = (Dimension::Time, "");
        families.push(toward("dead time", stage.dead_time, time, allowed / share, solved, lane));
    }
    if solved.input(bridge.inputs.modulation, lane).map(modulation) == Some(Modulation::Sinusoidal) {
        let edit = Edit { input: bridge.inputs.modulation, value: modulation_code(Modulation::SpaceVector) };
        families.push(Family {
            tried: "space_vector".to_owned(),
            ladder: vec![Proposal {
                say: "modulation: sinusoidal -> space_vector".to_owned(),
                change: Change::Edit(vec![(edit, "space_vector".to_owned())]),
            }],
        });
    }
    let of_index = failure.worst.comparison().is_some();
    let share =
        bridge.inputs.constants.as_ref().filter(|_| !of_index).map(|constants| constants.field_weakening);
    if let Some(input) = share
        && let Some(now) = solved.input(input, lane).filter(|&share| share < 1.0)
    {
        let edit = (Edit { input, value: 1.0 }, "100 %".to_owned());
        let say = format!("field weakening: {} -> 1 of the linear limit", value(now, Dimension::Ratio));
        let ladder = vec![Proposal { say, change: Change::Edit(vec![edit]) }];
        families.push(Family { tried: "the field weakened at the linear limit".to_owned(), ladder });
    }
    let Some(bus) = supply::bus_of(stage, solved) else { return families };
    families.extend(if of_index {
        index_bus(stage, bridge, bus, failure, solved)
    } else {
        higher_bus(bus, solved)
    });
    families
}

/// Voltages that duty points state for a bus which no source sets, the highest and lowest of them; nothing elsewhere.
fn stated(bus: &Bus, solved: &Solved<'_>) -> Option<(f64, f64)> {
    let values = &solved.variant.tables.input_of(bus.stated).values;
    let all_stated = values.iter().all(|stated| stated.value.is_finite()) && !values.is_empty();
    if !bus.sources.is_empty() || !all_stated {
        return None;
    }
    let volts = values.iter().map(|stated| stated.value);
    Some((volts.clone().fold(f64::INFINITY, f64::min), volts.fold(0.0, f64::max)))
}

/// Another voltage of a bus in every duty point.
fn at_volts(bus: &Bus, solved: &Solved<'_>, now: f64, volts: f64) -> Proposal {
    let name = solved.variant.path(bus.part);
    let text = written(volts, Dimension::Voltage);
    let several = solved.variant.tables.input_of(bus.stated).values.len() > 1;
    let everywhere = if several { " in every duty point" } else { "" };
    Proposal {
        say: format!("{name}: {} -> {text}{everywhere}", value(now, Dimension::Voltage)),
        change: Change::Edit(vec![(Edit { input: bus.stated, value: volts }, text)]),
    }
}

fn family(bus: &Bus, solved: &Solved<'_>, volts: &[f64], now: f64) -> Option<Family> {
    let name = solved.variant.path(bus.part);
    let tried = format!("{name} at {}", value(*volts.last()?, Dimension::Voltage));
    Some(Family { tried, ladder: volts.iter().map(|&volts| at_volts(bus, solved, now, volts)).collect() })
}

/// The voltage at which the index is what is allowed, where duty points state one and no source sets it.
fn index_bus(
    stage: &Stage,
    own: &Bridge,
    bus: &Bus,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
) -> Option<Family> {
    let (_, highest) = stated(bus, solved)?;
    let needed =
        failure.all.iter().map(|verdict| bridge::needed_voltage(stage, own, bus, verdict.lane()?, solved));
    let needed = needed.collect::<Option<Vec<f64>>>()?.into_iter().fold(0.0, f64::max);
    // Drops rise a little with the voltage: a volt more each time until it holds. One value serves every duty point, so
    // none may be lowered by it.
    let least = needed.max(highest).ceil();
    let now = solved.figure(bus.voltage, failure.worst.lane()?)?;
    let volts: Vec<f64> = (0..4).map(|step| least + f64::from(step)).collect();
    family(bus, solved, &volts, now)
}

/// Higher voltages for a torque, which no equation gives.
fn higher_bus(bus: &Bus, solved: &Solved<'_>) -> Option<Family> {
    let (_, highest) = stated(bus, solved)?;
    let volts: Vec<f64> = HIGHER.iter().map(|factor| as_written(highest * factor)).collect();
    family(bus, solved, &volts, highest)
}

fn for_chopper(
    stage: &Stage,
    chopper: &Chopper,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Vec<Family> {
    // What a buck feeds is asked for; what a boost makes is a choice.
    let ([low, high], ChopperKind::Boost) = (stage.ports.as_slice(), chopper.kind) else { return Vec::new() };
    let Some(bus) = supply::bus_at(high, solved) else { return Vec::new() };
    let Some((lowest, highest)) = stated(bus, solved) else { return Vec::new() };
    let Some(now) = solved.figure(bus.voltage, lane) else { return Vec::new() };
    let is_low = failure.worst.comparison().is_some_and(|compared| compared.carried == low.voltage);
    let volts: Vec<f64> = if is_low {
        let lanes = failure.all.iter().filter_map(|verdict| verdict.lane());
        let most = lanes.filter_map(|lane| solved.figure(low.voltage, lane)).fold(highest, f64::max);
        HIGHER.iter().map(|factor| as_written(most * factor)).collect()
    } else {
        LOWER.iter().map(|factor| as_written(lowest * factor)).collect()
    };
    family(bus, solved, &volts, now).into_iter().collect()
}

fn fewer_turns(isolated: &Isolated, solved: &Solved<'_>, lane: LaneId) -> Family {
    let input = isolated.inputs.turns_ratio;
    let now = solved.input(input, lane);
    let step = |now: f64, factor: &f64| {
        let to = as_written(now * factor);
        let text = value(to, Dimension::Ratio);
        let say = format!("turns ratio: {} -> {text}", value(now, Dimension::Ratio));
        Proposal { say, change: Change::Edit(vec![(Edit { input, value: to }, text)]) }
    };
    let ladder: Vec<Proposal> =
        now.map_or_else(Vec::new, |now| FEWER_TURNS.iter().map(|factor| step(now, factor)).collect());
    let tried = now.map_or_else(String::new, |now| {
        format!("a turns ratio down to {}", value(0.5 * now, Dimension::Ratio))
    });
    Family { tried, ladder }
}
