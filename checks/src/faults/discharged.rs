//! Discharges that do not act: what is left takes the charge of the bus, later or not at all.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::Stored;
use loadworthy_unit::{Dimension, Edit, LaneId, Solved, Variant};

use super::found::fault;
use super::left::Bench;
use super::{Effect, Fault, Kind};
use crate::figure_text::value;

/// A resistance that takes nothing, ohm.
const OPEN: f64 = 1e15;

/// The resistor and the discharge that is switched on, of each bus whose voltage hurts.
pub(super) fn all(bench: &mut Bench<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for stored in &variant.plan.stored {
        let bus = &variant.plan.buses[stored.bus];
        let highest = variant.lane_ids().filter_map(|lane| bench.solved.figure(bus.highest_voltage, lane));
        if highest.reduce(f64::max).is_some_and(|volts| volts <= HARMLESS.si()) {
            continue;
        }
        let part = variant.tables.part_of(bus.part);
        let mut put = |kind, effect| faults.push(fault(kind, &part.path, part.at, effect));
        if let Some((resistor, _)) = stored.resistor {
            put(
                Kind::DischargeResistor,
                without_resistor(bench, stored, Edit { input: resistor, value: OPEN }),
            );
        }
        if stored.active.is_some() {
            let passive = longest(&bench.solved, stored.figures.passive_time);
            let is_there = stored.resistor.is_some();
            put(Kind::ActiveDischarge, left(bench, stored, "resistor", is_there.then_some(passive)));
        }
    }
}

/// The longest time over all duty points.
fn longest(solved: &Solved<'_>, figure: loadworthy_unit::FigureId) -> Option<f64> {
    let lanes = (0..solved.variant.lanes.len()).map(LaneId::new);
    lanes.filter_map(|lane| solved.figure(figure, lane)).reduce(f64::max)
}

fn without_resistor(bench: &mut Bench<'_>, stored: &Stored, edit: Edit) -> Effect {
    let variant = bench.solved.variant;
    let time = || {
        let solved = Solved::with(variant, &[vec![edit]]).pop()?;
        longest(&solved, stored.figures.active_time)
    };
    let acts = stored.active.is_some();
    if let (false, Some(into)) = (acts, into(variant, stored)) {
        return through(bench, stored, into, edit);
    }
    let time = if acts && bench.affords() { time() } else { None };
    left(bench, stored, "active discharge", acts.then_some(time))
}

/// Another bus with a discharge of its own that the charge of a bus flows to through diodes.
fn into<'v>(variant: &'v Variant, stored: &Stored) -> Option<&'v Stored> {
    let all = &variant.plan.stored;
    let own = all.iter().position(|one| one.bus == stored.bus)?;
    let takes = |one: &&Stored| one.resistor.is_some() || one.active.is_some();
    all.iter().filter(takes).find(|one| one.followers.contains(&own))
}

/// What is left once the charge of a bus has to leave through that of another one, with its time where that is known.
fn through(bench: &mut Bench<'_>, stored: &Stored, into: &Stored, edit: Edit) -> Effect {
    let variant = bench.solved.variant;
    let solved = if bench.affords() { Solved::with(variant, &[vec![edit]]).pop() } else { None };
    let figure = if into.active.is_some() { into.figures.active_time } else { into.figures.passive_time };
    let time = solved.and_then(|solved| longest(&solved, figure)).filter(|time| time.is_finite());
    let [name, other] = [stored, into].map(|one| variant.path(variant.plan.buses[one.bus].part));
    let takes = time.map_or_else(
        || "; how long that takes is not known".to_owned(),
        |time| format!(", in {}", value(time, Dimension::Time)),
    );
    let says = format!("{name}: through diodes by the discharge of {other} alone{takes}");
    Effect { discharge: vec![says], ..Effect::default() }
}

/// What is left of two discharges, with its time where that is known.
fn left(bench: &Bench<'_>, stored: &Stored, what: &str, left: Option<Option<f64>>) -> Effect {
    let variant = bench.solved.variant;
    let name = variant.path(variant.plan.buses[stored.bus].part);
    let says = match left {
        Some(Some(time)) => format!("{name}: by its {what} alone, in {}", value(time, Dimension::Time)),
        Some(None) => format!("{name}: by its {what} alone; how long that takes is not known"),
        None => format!("{name}: nothing else is described that takes its charge: it stays charged"),
    };
    Effect { is_hazard: left.is_none(), discharge: vec![says], ..Effect::default() }
}
