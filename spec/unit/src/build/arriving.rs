//! Buses and loads that state the lowest voltage they work at.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_physics::Voltage;
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::bank::{missing_bank, shared};
use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Arriving, Dip, Gives, MagneticRole, Stage, Topology};
use crate::trace::Operand;

/// Gathers them.
pub(crate) fn all(build: &mut Build<'_>) {
    let description = build.description;
    for bus in 0..build.plan.buses.len() {
        let (part, voltage) = (build.plan.buses[bus].part, build.plan.buses[bus].voltage);
        let path = build.tables.part_of(part).path.clone();
        let Some(written) = description.buses.entry(&path) else { continue };
        let Some(lowest) = &written.lowest else { continue };
        let mut arriving = arriving(build, part, format!("buses.{path}.lowest"), (lowest, voltage));
        arriving.bus = Some(bus);
        arriving.dip = Some(dip(build, bus, part));
        build.plan.arriving.push(arriving);
    }
    for load in 0..build.plan.loads.len() {
        let own = &build.plan.loads[load];
        let (part, voltage, line, bus) = (own.part, own.port.voltage, own.port.line.clone(), own.port.bus);
        let path = build.tables.part_of(part).path.clone();
        let Some(lowest) = description.loads.entry(&path).and_then(|load| load.lowest.as_ref()) else {
            continue;
        };
        let arriving = arriving(build, part, format!("loads.{path}.lowest"), (lowest, voltage));
        let dip = bus.map(|bus| dip(build, bus, part));
        build.plan.arriving.push(Arriving { line, is_load: true, bus, dip, ..arriving });
    }
}

fn arriving(
    build: &mut Build<'_>,
    part: PartId,
    path: String,
    (lowest, voltage): (&Given<Voltage>, FigureId),
) -> Arriving {
    let stated = build.stated(Some(lowest), None, |volts| volts.si());
    let lowest = build.tables.input(path, Dimension::Voltage, stated);
    let needed = build.tables.figure(part, "needed_voltage", Dimension::Voltage);
    Arriving { part, lowest, needed, voltage, line: Vec::new(), is_load: false, bus: None, dip: None }
}

/// The dip of a bus, of itself or at a load on it.
fn dip(build: &mut Build<'_>, bus: usize, part: PartId) -> Dip {
    let of = &build.plan.buses[bus];
    let is_bare = of.ripple.banks.is_empty();
    let path = build.tables.part_of(of.part).path.clone();
    let holds = |stage: &Stage| stage.lead().is_some_and(|port| port.bus == Some(bus));
    let by_stage = build.plan.stages.iter().any(holds);
    let is_battery = |&source: &usize| build.plan.sources[source].is_battery;
    let by_batteries = !by_stage && !of.sources.is_empty() && of.sources.iter().all(is_battery);
    let at = build.tables.part_of(of.part).at;
    // Without a bank nothing holds it for a moment.
    let no_bank = is_bare.then(|| missing_bank(build, &path, at));
    let response = (!by_batteries).then(|| response(build, &path, at));
    let gives = gives(build, bus, part);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    Dip {
        response,
        no_bank,
        gives,
        step: figure("load_step", Dimension::Current),
        depth: figure("dip", Dimension::Voltage),
        bottom: figure("dipped_voltage", Dimension::Voltage),
    }
}

/// What a buck, or a stage with a transformer, gives to the bus that it holds before its chokes trip.
fn gives(build: &mut Build<'_>, bus: usize, part: PartId) -> Option<Gives> {
    let holds = |stage: &Stage| stage.lead().is_some_and(|port| port.bus == Some(bus));
    // A source beside it, or another stage, gives what is lacking at once.
    let gives_too = build.plan.stages.iter().filter(|stage| holds(stage)).count() > 1;
    if gives_too || !build.plan.buses[bus].sources.is_empty() {
        return None;
    }
    let stage = build.plan.stages.iter().position(holds)?;
    let of = &build.plan.stages[stage];
    let (level, stated, chokes): (Operand, InputId, InputId) = match &of.topology {
        // What a boost gives its high bus hangs on both voltages.
        Topology::Chopper(chopper) if of.ports.first()?.bus == Some(bus) => {
            let trip = build.plan.current_trips.iter().find(|trip| trip.stage == stage)?;
            (trip.lowest.into(), trip.level, chopper.inputs.legs)
        }
        Topology::Isolated(_) => {
            let own = of.magnetics.iter().map(|&one| &build.plan.magnetics[one]);
            let choke = own.into_iter().find(|one| one.role == MagneticRole::OutputChoke)?;
            (choke.core.trip?.into(), choke.core.trip?, choke.count)
        }
        _ => return None,
    };
    let part_of_stage = of.part;
    if !build.tables.is_written(stated) {
        return None;
    }
    let most = build.tables.figure_if_asked(part, "held_up_current", Dimension::Current);
    Some(Gives { stage: part_of_stage, level, stated, chokes, most })
}

fn response(build: &mut Build<'_>, path: &str, at: NodeId) -> InputId {
    let written = build.description.buses.entry(path).and_then(|bus| bus.response.as_ref());
    let stated = build.stated(written, Some(at), |seconds| seconds.si());
    let path = format!("buses.{path}.response");
    shared(build, &path, &path, Dimension::Time, stated)
}
