//! The bus that a stage draws from: what it leaves, and the most that it can.

use core::f64::consts::TAU;

use loadworthy_physics::{Power, Resistance, Voltage, battery};
use loadworthy_unit::plan::{Bridge, Bus, Load, Port, Source, Stage};
use loadworthy_unit::{Dimension, InputId, LaneId, Origin, Solved};

use crate::figure_text::value;
use crate::review::Place;
use crate::seats::rests;
use crate::tell::place;

/// The bus that a stage draws from.
pub(super) fn bus_of<'v>(stage: &Stage, solved: &Solved<'v>) -> Option<&'v Bus> {
    solved.variant.plan.buses.get(stage.ports.first()?.bus?)
}

/// The bus of a port.
pub(super) fn bus_at<'v>(port: &Port, solved: &Solved<'v>) -> Option<&'v Bus> {
    solved.variant.plan.buses.get(port.bus?)
}

/// Where the voltage of a bus is said, with what it is.
pub(super) fn leaves(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let volts = solved.figure(bus.voltage, lane);
    let is_stated = solved.input(bus.stated, lane).is_some();
    let source = solved.holder(bus, lane);
    let name = solved.variant.path(bus.part);
    match (source, volts) {
        (Some(source), None) if !is_stated => {
            let open = value(solved.input(source.open_circuit, lane)?, Dimension::Voltage);
            place(solved, source.open_circuit, lane, format!("{open} behind its resistance"))
        }
        (Some(source), Some(volts)) if !is_stated => {
            let label = format!("leaves {} at `{name}`", value(volts, Dimension::Voltage));
            place(solved, source.open_circuit, lane, label)
        }
        _ => {
            let volts = value(volts.or(solved.input(bus.stated, lane))?, Dimension::Voltage);
            place(solved, bus.stated, lane, format!("leaves {volts} at `{name}`"))
        }
    }
}

/// The voltage of a bus in a lane. Where it has none because a stage on it is beyond what it can do: the highest that it could
/// have while that stage takes at least `least`. Nothing where that is not certain.
pub(super) fn highest(
    bus: &Bus,
    stage: &Stage,
    least: f64,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<f64> {
    if let Some(volts) = solved.figure(bus.voltage, lane).or(solved.input(bus.stated, lane)) {
        return Some(volts);
    }
    let given = given(stage, solved, lane)?;
    let (open, ohms) = solved.behind(bus, lane)?;
    let taken = least - given;
    let volts = battery::terminal_voltage(Voltage::new(open), Resistance::new(ohms), Power::new(taken)).si();
    // Where no voltage is left for so much, none lies above that without a load.
    let bound = if volts.is_nan() && taken > 0.0 { open } else { volts };
    bound.is_finite().then_some(bound)
}

/// The most power in W that anything but a stage gives, and that could lift a bus above what its sources leave: as if all of it
/// came there. Nothing where it is not known.
fn given(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let plan = &solved.variant.plan;
    let input = |id| solved.input(id, lane);
    // A current that gives nothing does so at any voltage.
    let of_current = |amps: f64, volts: Option<f64>| if amps > 0.0 { Some(amps * volts?) } else { Some(0.0) };
    let at = |bus: Option<usize>| {
        let bus = plan.buses.get(bus?)?;
        solved.figure(bus.voltage, lane).or(input(bus.stated))
    };
    // What is stated and could not be read is not nothing.
    let unless_unread = |either: [InputId; 2]| {
        let duty = solved.variant.lane(lane).duty;
        let mut origins = either.map(|input| solved.variant.tables.stated(input, duty).origin).into_iter();
        origins.all(|origin| !matches!(origin, Origin::Broken(_))).then_some(0.0)
    };
    let of_source = |source: &Source| match (input(source.share_power), input(source.share_current)) {
        (Some(watts), _) => Some(watts),
        (None, Some(amps)) => of_current(amps, input(source.terminal).or_else(|| at(source.bus))),
        (None, None) => unless_unread([source.share_power, source.share_current]),
    };
    let of_load = |load: &Load| match (input(load.power), input(load.current)) {
        (Some(watts), _) => Some(-watts),
        (None, Some(amps)) => of_current(-amps, at(load.port.bus)),
        (None, None) => unless_unread([load.power, load.current]),
    };
    let others = plan.stages.iter().filter(|other| other.part != stage.part && !rests(other, solved, lane));
    let bridges = others.filter_map(Stage::bridge).map(|bridge| Some(-drawn(bridge, solved, lane)?));
    let all = plan.sources.iter().map(of_source).chain(plan.loads.iter().map(of_load)).chain(bridges);
    all.map(|watts| watts.map(|watts| if watts > 0.0 { watts } else { 0.0 })).sum()
}

/// What a bridge puts out in W, without its losses, as far as that is known.
fn drawn(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let at_shaft = || {
        let constants = bridge.inputs.constants.as_ref()?;
        Some(TAU * solved.figure(constants.torque_asked, lane)? * solved.input(constants.speed, lane)?)
    };
    solved.figure(bridge.figures.output_power, lane).or_else(at_shaft)
}
