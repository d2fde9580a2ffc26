//! The bus that a stage draws from: what it leaves, and the most that it can.

use loadworthy_physics::{Power, Resistance, Voltage, battery};
use loadworthy_unit::plan::{Bridge, Bus, Port, Source, Stage};
use loadworthy_unit::{Dimension, LaneId, Solved};

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
    if lifted(stage, solved, lane) {
        return None;
    }
    let (open, ohms) = solved.behind(bus, lane)?;
    let volts = battery::terminal_voltage(Voltage::new(open), Resistance::new(ohms), Power::new(least)).si();
    volts.is_finite().then_some(volts)
}

/// Whether anything but a stage gives power, or might, so that it could lift a bus above what its sources leave.
fn lifted(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> bool {
    let plan = &solved.variant.plan;
    let states = |input| solved.input(input, lane).is_some();
    let gives = |source: &Source| states(source.share_power) || states(source.share_current);
    let negative = |input| solved.input(input, lane).is_some_and(|asked| asked < 0.0);
    let loads = plan.loads.iter().any(|load| negative(load.power) || negative(load.current));
    let others = plan.stages.iter().filter(|other| other.part != stage.part && !rests(other, solved, lane));
    let mut bridges = others.filter_map(Stage::bridge);
    plan.sources.iter().any(gives) || loads || bridges.any(|bridge| recovers(bridge, solved, lane))
}

/// Whether a bridge gives power back, as far as that is known.
fn recovers(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> bool {
    let at_shaft = || {
        let constants = bridge.inputs.constants.as_ref()?;
        Some(solved.figure(constants.torque_asked, lane)? * solved.input(constants.speed, lane)?)
    };
    solved.figure(bridge.figures.output_power, lane).or_else(at_shaft).is_none_or(|power| power < 0.0)
}
