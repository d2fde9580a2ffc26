//! Buses with their sources, and loads.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::sources::Source as WrittenSource;

use crate::build::{Build, broken};
use crate::graph::PowerGraph;
use crate::ids::PartId;
use crate::origin::Origin;
use crate::plan::{Bus, Load, Source};
use crate::table::Stated;

/// Every bus, with the source that feeds it.
pub(crate) fn buses(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    for name in graph.buses() {
        let Some(entry) = build.description.buses.get(name) else { continue };
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let fed_by = graph.sources_of(name).first().copied();
        let source = fed_by.and_then(|source| self::source(build, source));
        let stated = voltage(build, name, fed_by);
        let of_part = |build: &mut Build<'_>, name, dimension| build.tables.figure(part, name, dimension);
        let bus = Bus {
            part,
            stated,
            source,
            voltage: of_part(build, "voltage", Dimension::Voltage),
            power: of_part(build, "power", Dimension::Power),
            current: of_part(build, "current", Dimension::Current),
            drawn: Vec::new(),
        };
        build.plan.buses.push(bus);
    }
}

/// The voltage that duty points state for a bus, or for the terminals of its source.
fn voltage(build: &mut Build<'_>, bus: &str, source: Option<&str>) -> crate::ids::InputId {
    // A source that could not be read may be the one that feeds this bus.
    let lost =
        build.description.sources.values().find(|entry| entry.read().is_none()).map(|entry| entry.value);
    let values = build
        .points
        .iter()
        .map(|&(_, at, point)| {
            let of_bus = point.buses.as_ref().and_then(|buses| buses.get(bus));
            let of_source = source
                .and_then(|source| point.sources.as_ref()?.get(source))
                .and_then(|state| state.terminal.as_ref());
            match (of_bus.or(of_source), lost) {
                (None, Some(lost)) if source.is_none() => broken(lost),
                (given, _) => build.stated(given, Some(at), |volts| volts.si()),
            }
        })
        .collect();
    let at_bus = build
        .points
        .iter()
        .any(|(_, _, point)| point.buses.as_ref().is_some_and(|buses| buses.contains_key(bus)));
    let path = match source {
        Some(source) if !at_bus => format!("duty.*.sources.{source}.terminal"),
        _ => format!("duty.*.buses.{bus}"),
    };
    build.tables.input_by_duty(path, Dimension::Voltage, values, false)
}

fn source(build: &mut Build<'_>, name: &str) -> Option<Source> {
    let entry = build.description.sources.get(name)?;
    let WrittenSource::Battery(battery) = entry.read()?;
    let part = build.tables.part(name.to_owned(), entry.key, None);
    let open_circuit = build
        .points
        .iter()
        .map(|&(_, at, point)| {
            let state = point.sources.as_ref().and_then(|sources| sources.get(name));
            build.stated(state.and_then(|state| state.open_circuit.as_ref()), Some(at), |volts| volts.si())
        })
        .collect();
    let open_circuit = build.tables.input_by_duty(
        format!("duty.*.sources.{name}.open_circuit"),
        Dimension::Voltage,
        open_circuit,
        false,
    );
    let highest = battery.internal_resistance.as_ref().and_then(|span| span.highest.as_ref());
    let resistance = build.stated(highest, Some(entry.value), |ohms| ohms.si());
    let resistance = build.tables.input(
        format!("sources.{name}.internal_resistance.highest"),
        Dimension::Resistance,
        resistance,
    );
    Some(Source {
        part,
        open_circuit,
        resistance,
        current: build.tables.figure(part, "current", Dimension::Current),
        power: build.tables.figure(part, "power", Dimension::Power),
        loss: build.tables.figure(part, "loss", Dimension::Power),
    })
}

/// Place of a bus in the plan.
pub(crate) fn place_of(build: &Build<'_>, bus: Option<&str>) -> Option<usize> {
    let bus = bus?;
    build.plan.buses.iter().position(|other| build.tables.part_of(other.part).path == bus)
}

/// Loads that take power from a bus.
pub(crate) fn loads(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    for (name, entry, _) in build.description.loads.readable() {
        let part: PartId = build.tables.part(name.to_owned(), entry.key, None);
        let asked = build.demands(name);
        let values = asked
            .iter()
            .zip(&build.points)
            .map(|(demand, &(_, at, _))| match demand {
                // A load that a duty point does not name takes nothing.
                None => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
                Some(demand) => build.stated(demand.power.as_ref(), Some(at), |watts| watts.si()),
            })
            .collect();
        let power =
            build.tables.input_by_duty(format!("duty.*.loads.{name}.power"), Dimension::Power, values, true);
        let bus = place_of(build, graph.around(name).0);
        let current = build.tables.figure(part, "current", Dimension::Current);
        build.plan.loads.push(Load { part, bus, power, current });
    }
}

/// Hangs bridges and loads on their buses.
pub(crate) fn join(build: &mut Build<'_>) {
    // A stage or load that could not be read draws from one of the buses; which, and how much, nobody knows.
    let description = build.description;
    let stages = description.stages.iter().filter(|(_, entry)| entry.read().is_none());
    let loads = description.loads.iter().filter(|(_, entry)| entry.read().is_none());
    let lost = stages
        .map(|(name, entry)| (format!("stages.{name}"), entry.value))
        .chain(loads.map(|(name, entry)| (format!("loads.{name}"), entry.value)));
    for (path, at) in lost {
        let unknown = build.tables.input(path, Dimension::Power, broken(at));
        for bus in &mut build.plan.buses {
            bus.drawn.push(unknown.into());
        }
    }
    let plan = &mut build.plan;
    for bridge in &plan.bridges {
        if let Some(bus) = bridge.bus {
            plan.buses[bus].drawn.push(bridge.figures.dc_power.into());
        }
    }
    for load in &plan.loads {
        if let Some(bus) = load.bus {
            plan.buses[bus].drawn.push(load.power.into());
        }
    }
}
