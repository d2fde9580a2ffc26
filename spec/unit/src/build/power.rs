//! Buses with their sources, loads, and the order in which their powers are reckoned.

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::buses::Bus as WrittenBus;
use loadworthy_language::sections::duty::SourceState;
use loadworthy_language::sections::sources::{CurrentSpan, Polarisation, Source as WrittenSource};
use loadworthy_physics::{Current, Voltage, fuel_cell};
use loadworthy_source::NodeId;

use crate::build::{Build, assumed, broken, gates, ports, rails, source_limits, torn};
use crate::graph::PowerGraph;
use crate::ids::{FigureId, InputId};
use crate::origin::Origin;
use crate::plan::{Bus, Load, Loop, Outlets, Reckoned, Ripple, Source};
use crate::table::Stated;

/// Every bus, with the sources that feed it.
pub(crate) fn buses(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let leads = torn::Leads::of(build);
    for name in graph.buses() {
        let Some(entry) = build.description.buses.get(name) else { continue };
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let stated = voltage(build, name, graph.sources_of(name), leads.at(name));
        let highest = match entry.read() {
            Some(bus) => build.stated(bus.highest.as_ref(), Some(entry.key), |volts| volts.si()),
            None => broken(entry.value),
        };
        let highest = build.tables.input(format!("buses.{name}.highest"), Dimension::Voltage, highest);
        let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
        let bus = Bus {
            part,
            stated,
            highest,
            highest_voltage: FigureId::new(0),
            sources: Vec::new(),
            is_balanced_here: graph.sources_of(name).iter().any(|source| graph.balances(source)),
            voltage: figure("voltage", Dimension::Voltage),
            power: figure("power", Dimension::Power),
            current: figure("current", Dimension::Current),
            is_fed: false,
            ripple: Ripple::default(),
            negative_rail: gates::rail_of(build, name),
            drawn: Vec::new(),
            shares: Vec::new(),
            outlets: Outlets::default(),
        };
        let highest_voltage = build.tables.figure_if_asked(part, "highest_voltage", Dimension::Voltage);
        let bus = Bus { highest_voltage, ..bus };
        build.places.buses.insert(name.to_owned(), build.plan.buses.len());
        build.plan.buses.push(bus);
        own_rail(build, name, entry);
    }
    for name in graph.buses() {
        let Some(place) = place_of(build, Some(name)) else { continue };
        for source in graph.sources_of(name) {
            if let Some(source) = self::source(build, graph, source, name) {
                build.plan.buses[place].shares.push(build.plan.sources[source].share.into());
                build.plan.buses[place].sources.push(source);
            }
        }
    }
}

/// Tells that a bus has a negative rail of its own, where nobody says so and gate supplies rest on it.
fn own_rail(build: &mut Build<'_>, name: &str, entry: &SectionEntry<WrittenBus>) {
    let is_alone = build.rails.is_alone(&rails::own_rail(name));
    let others = is_alone && build.description.buses.len() > 1 && !build.description.gate_supplies.is_empty();
    if others && entry.read().is_some_and(|bus| bus.negative_rail.is_none()) {
        let stated = assumed(&defaults::NEGATIVE_RAIL, entry.key);
        build.tables.input(format!("buses.{name}.negative_rail"), Dimension::Ratio, stated);
    }
}

/// The voltage that duty points state for a bus; where they state none and no source sets it, its nominal voltage.
/// `lost` is what could not be read and may be what sets it.
fn voltage(build: &mut Build<'_>, bus: &str, sources: &[&str], lost: Option<NodeId>) -> InputId {
    let nominal = build.description.buses.entry(bus).and_then(|bus| bus.nominal.as_ref());
    let unread = build.description.buses.get(bus).filter(|bus| bus.read().is_none()).map(|bus| bus.value);
    let sets = |state: &SourceState| state.terminal.is_some() || state.open_circuit.is_some();
    let points = build.points.clone();
    let values = points
        .iter()
        .map(|&(_, at, point)| {
            let of_bus = point.buses.as_ref().and_then(|buses| buses.get(bus));
            let states = sources.iter().filter_map(|source| point.sources.as_ref()?.get(*source));
            let is_set = states.into_iter().any(sets) || !sources.is_empty();
            match (of_bus, lost.or(unread)) {
                (None, Some(lost)) if sources.is_empty() => broken(lost),
                (None, _) if !is_set && nominal.is_some() => {
                    build.stated(nominal, Some(at), |volts| volts.si())
                }
                (given, _) => build.stated(given, Some(at), |volts| volts.si()),
            }
        })
        .collect();
    build.tables.input_by_duty(format!("duty.*.buses.{bus}"), Dimension::Voltage, values, false)
}

/// Adds a source, and says where it stands in the plan.
fn source(build: &mut Build<'_>, graph: &PowerGraph<'_>, name: &str, bus: &str) -> Option<usize> {
    let entry = build.description.sources.get(name)?;
    let written = entry.read()?;
    let part = build.tables.part(name.to_owned(), entry.key, None);
    let of_points = |build: &mut Build<'_>,
                     key: &str,
                     dimension,
                     read: &dyn Fn(&Build<'_>, &SourceState) -> Option<Stated>| {
        let points = build.points.clone();
        let values = points
            .iter()
            .map(|&(_, at, point)| {
                let state = point.sources.as_ref().and_then(|sources| sources.get(name));
                state
                    .and_then(|state| read(build, state))
                    .unwrap_or(Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } })
            })
            .collect();
        let is_demand = false;
        build.tables.input_by_duty(format!("duty.*.sources.{name}.{key}"), dimension, values, is_demand)
    };
    // What only a battery may state is no answer for another: its terminal voltage is what lacks.
    let own = if matches!(written, WrittenSource::Battery(_)) { "open_circuit" } else { "terminal" };
    let open_circuit = of_points(build, own, Dimension::Voltage, &|build, state| {
        state.open_circuit.as_ref().map(|volts| build.stated(Some(volts), None, |volts| volts.si()))
    });
    let curve = match written {
        WrittenSource::FuelCell(cell) => cell.polarisation.as_ref(),
        _ => None,
    };
    let terminal = of_points(build, "terminal", Dimension::Voltage, &|build, state| match &state.terminal {
        Some(volts) => Some(build.stated(Some(volts), None, |volts| volts.si())),
        None => from_curve(build, curve?, state),
    });
    let share_power = of_points(build, "power", Dimension::Power, &|build, state| {
        state.power.as_ref().map(|power| build.stated(Some(power), None, |power| power.si()))
    });
    let share_current = of_points(build, "current", Dimension::Current, &|build, state| {
        state.current.as_ref().map(|current| build.stated(Some(current), None, |current| current.si()))
    });
    let said = format!("sources.{name}");
    let resistance = match written {
        WrittenSource::Battery(battery) => {
            let highest = battery.internal_resistance.as_ref().and_then(|span| span.highest.as_ref());
            build.stated(highest, Some(entry.value), |ohms| ohms.si())
        }
        // Of others the voltage at the terminals is what is stated; what they lose inside is not looked at.
        _ => Stated { value: 0.0, origin: Origin::Absent { near: None } },
    };
    let resistance =
        build.tables.input(format!("{said}.internal_resistance.highest"), Dimension::Resistance, resistance);
    // The power flow is solved with the highest one; the lowest damps least, and drives the largest fault.
    let lowest_resistance = match written {
        WrittenSource::Battery(battery) => {
            let lowest = battery.internal_resistance.as_ref().and_then(|span| span.lowest.as_ref());
            let stated = build.stated(lowest, Some(entry.value), |ohms| ohms.si());
            build.tables.input(format!("{said}.internal_resistance.lowest"), Dimension::Resistance, stated)
        }
        _ => resistance,
    };
    let absorbs = match (written, written.absorbs()) {
        (_, Some(absorbs)) => {
            Stated { value: f64::from(u8::from(absorbs.value)), origin: build.written(absorbs.at) }
        }
        (WrittenSource::Battery(_), None) => {
            Stated { value: 1.0, origin: Origin::Absent { near: Some(entry.key) } }
        }
        (_, None) => assumed(&defaults::ABSORBS, entry.key),
    };
    let absorbs = build.tables.input(format!("{said}.absorbs"), Dimension::Ratio, absorbs);
    let inductance = build.stated(written.inductance(), Some(entry.key), |henry| henry.si());
    let inductance = build.tables.input(format!("{said}.inductance"), Dimension::Inductance, inductance);
    let limits = source_limits::limits(build, &said, written);
    let has_missions = !build.description.missions.is_empty();
    let memory = (has_missions || source_limits::are_outlasted(build, &limits))
        .then(|| source_limits::memory(build, &said, written, &limits, entry.key));
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    let current = figure("current", Dimension::Current);
    let source = Source {
        part,
        is_battery: matches!(written, WrittenSource::Battery(_)),
        bus: place_of(build, Some(bus)),
        may_balance: graph.balances(name),
        open_circuit,
        terminal,
        curve_end: curve.and_then(|curve| {
            let last = (curve.current.last()?.si(), curve.voltage.last()?.si());
            Some((last.0, last.0 * last.1))
        }),
        without_load: without_load(build, written),
        short_circuit: match written {
            WrittenSource::Battery(_) => None,
            WrittenSource::FuelCell(cell) => most(build, cell.short_circuit.as_ref()),
            WrittenSource::Generator(generator) => most(build, generator.short_circuit.as_ref()),
        },
        resistance,
        lowest_resistance,
        inductance,
        line: build.lines.between(name, bus),
        share_power,
        share_current,
        absorbs,
        limits,
        share: build.tables.figure(part, "share", Dimension::Power),
        terminal_voltage: build.tables.figure(part, "terminal_voltage", Dimension::Voltage),
        current,
        largest_current: (graph.sources_of(bus).iter().filter(|source| graph.balances(source)).count() > 1)
            .then(|| build.tables.figure_if_asked(part, "largest_current", Dimension::Current)),
        power: build.tables.figure(part, "power", Dimension::Power),
        loss: build.tables.figure(part, "loss", Dimension::Power),
        memory,
        over_rows: memory
            .filter(|_| has_missions)
            .map(|memory| (build.tables.figure_if_asked(part, "rms_current", Dimension::Current), memory)),
    };
    ports::carry(build, name, bus, current);
    let place = build.plan.sources.len();
    build.places.sources.insert(name.to_owned(), place);
    build.plan.sources.push(source);
    Some(place)
}

/// Highest voltage of a source without a load, in V.
fn without_load(build: &Build<'_>, written: &WrittenSource) -> Option<f64> {
    let volts = match written {
        WrittenSource::Battery(battery) => battery.open_circuit.as_ref()?.highest.as_ref()?,
        // A curve that begins under load says nothing of what is above.
        WrittenSource::FuelCell(cell) => {
            let curve = cell.polarisation.as_ref()?;
            curve.current.first().filter(|amps| amps.si() == 0.0)?;
            curve.voltage.first()?
        }
        WrittenSource::Generator(_) => return None,
    };
    Some(build.stated(Some(volts), None, |volts| volts.si()).value).filter(|volts| volts.is_finite())
}

/// Highest current that a source drives into a short circuit, in A.
fn most(build: &Build<'_>, span: Option<&CurrentSpan>) -> Option<f64> {
    let amps = build.stated(Some(span?.highest.as_ref()?), None, |amps| amps.si()).value;
    Some(amps).filter(|amps| amps.is_finite())
}

/// Terminal voltage of a fuel cell at its share, from its curve.
fn from_curve(build: &Build<'_>, curve: &Polarisation, state: &SourceState) -> Option<Stated> {
    let points: Vec<(Current, Voltage)> =
        curve.current.iter().zip(curve.voltage.iter()).map(|(i, v)| (i.value, v.value)).collect();
    let volts = |amps: f64| fuel_cell::voltage(&points, Current::new(amps)).si();
    let (amps, at) = match (&state.current, &state.power) {
        (Some(current), _) => (current.si(), current.at),
        (None, Some(power)) => {
            // Power rises along the curve until its crest: halve between no current and the last point.
            let (mut low, mut high) = (points.first()?.0.si(), points.last()?.0.si());
            if volts(high) * high < power.si() {
                return Some(Stated { value: f64::NAN, origin: build.written(power.at) });
            }
            for _ in 0..80 {
                let middle = 0.5 * (low + high);
                if volts(middle) * middle < power.si() { low = middle } else { high = middle }
            }
            (0.5 * (low + high), power.at)
        }
        (None, None) => return None,
    };
    Some(Stated { value: volts(amps), origin: build.written(at) })
}

/// Place of a bus in the plan.
pub(crate) fn place_of(build: &Build<'_>, bus: Option<&str>) -> Option<usize> {
    build.places.buses.get(bus?).copied()
}

/// Loads that take power from a bus.
pub(crate) fn loads(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    for (name, entry, written) in description.loads.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let asked = build.demands(name);
        let points = build.points.clone();
        let number = |build: &mut Build<'_>,
                      key: &str,
                      dimension,
                      rest: f64,
                      read: &dyn Fn(
            &loadworthy_language::sections::duty::Demand,
        ) -> Option<(f64, NodeId)>| {
            let values = asked
                .iter()
                .zip(&points)
                .map(|(demand, &(_, at, _))| match demand {
                    // A load that a duty point does not name takes nothing.
                    None => Stated { value: rest, origin: Origin::Absent { near: Some(at) } },
                    Some(demand) => match read(demand) {
                        Some((value, at)) => Stated { value, origin: build.written(at) },
                        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
                    },
                })
                .collect();
            build.tables.input_by_duty(format!("duty.*.loads.{name}.{key}"), dimension, values, true)
        };
        let power = number(build, "power", Dimension::Power, 0.0, &|demand| {
            demand.power.as_ref().map(|given| (given.si(), given.at))
        });
        let current = number(build, "current", Dimension::Current, f64::NAN, &|demand| {
            demand.current.as_ref().map(|given| (given.si(), given.at))
        });
        let bus = graph.bus_of_load(name, written.bus.as_ref());
        let named = written.bus.as_ref().map(|bus| (*bus).clone());
        // A branch may lead to the load in place of a name.
        let named =
            named.or_else(|| Some(loadworthy_source::Located { value: bus?.to_owned(), at: entry.key }));
        let path = format!("loads.{name}.bus");
        let names = ["voltage", "power", "current", "drawn_power"];
        let port = ports::port(build, (name, part, entry.key), (path, named.as_ref()), false, names);
        build.places.loads.insert(name.to_owned(), build.plan.loads.len());
        build.plan.loads.push(Load { part, port, power, current });
    }
}

/// Hangs stages and loads on their buses, and finds the order in which powers are known.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    torn::draws(build);
    let torn = torn::is_torn(build);
    let islands = graph.islands();
    for island in &islands {
        for reached in &island.buses {
            let Some(bus) = place_of(build, Some(reached.bus)) else { continue };
            build.plan.buses[bus].is_fed = island.has_source || torn;
            let Some(&stage) = reached.through.and_then(|stage| build.places.stages.get(stage)) else {
                continue;
            };
            // A stage is led by the bus that is reached through it.
            let stage = &mut build.plan.stages[stage];
            stage.led_by = stage.ports.iter().position(|port| port.bus == Some(bus));
        }
        for (stage, others) in &island.loops {
            let Some(&place) = build.places.stages.get(*stage) else { continue };
            let others = others.iter().filter_map(|other| build.places.stages.get(*other).copied()).collect();
            build.plan.loops.push(Loop { stage: place, others });
        }
    }
    unsaid(build);
    hang(build);
    order(build, &islands);
}

/// A stage between two buses that no bus leads: how much it passes is nowhere said.
fn unsaid(build: &mut Build<'_>) {
    for k in 0..build.plan.stages.len() {
        let stage = &build.plan.stages[k];
        if stage.bridge().is_some() || stage.led_by.is_some() {
            continue;
        }
        let is_unnamed = |input: InputId| build.tables.inputs()[input.index()].values[0].value.is_nan();
        if let Some(port) = stage.ports.iter().find(|port| is_unnamed(port.named)) {
            // The name of the bus would say it.
            build.plan.stages[k].unsaid = Some(port.named);
            continue;
        }
        let part = build.tables.part_of(stage.part);
        let (path, at) = (format!("power that `{}` passes", part.path), part.at);
        let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
        build.plan.stages[k].unsaid = Some(build.tables.input(path, Dimension::Power, stated));
    }
}

fn hang(build: &mut Build<'_>) {
    let plan = &mut build.plan;
    for stage in &plan.stages {
        for (k, port) in stage.ports.iter().enumerate() {
            if let Some(bus) = port.bus.filter(|_| stage.led_by != Some(k)) {
                plan.buses[bus].drawn.push(port.drawn.into());
            }
        }
        if let Some(bridge) = stage.bridge() {
            if let Some(bus) = stage.ports.first().and_then(|port| port.bus) {
                plan.buses[bus].outlets.bridges.push(bridge.figures.output_power);
            }
            continue;
        }
        let Some(far) = stage.led_by.and_then(|led| stage.ports[led].bus) else { continue };
        for near in stage.ports.iter().filter_map(|port| port.bus).filter(|&near| near != far) {
            plan.buses[near].outlets.beyond.push(far);
        }
    }
    for load in &plan.loads {
        if let Some(bus) = load.port.bus {
            plan.buses[bus].drawn.push(load.port.drawn.into());
            plan.buses[bus].outlets.loads.push(load.power);
        }
    }
}

/// What hangs on a bus, the bus, the stage that it leads, and so on to where the island is balanced.
fn order(build: &mut Build<'_>, islands: &[crate::graph::Island<'_>]) {
    let mut order: Vec<Reckoned> = (0..build.plan.loads.len()).map(Reckoned::Load).collect();
    for (k, stage) in build.plan.stages.iter().enumerate() {
        if stage.bridge().is_some() || stage.led_by.is_none() {
            order.push(Reckoned::Stage(k));
        }
    }
    for island in islands {
        // Walked from the root outward, so reckoned backward.
        for reached in island.buses.iter().rev() {
            if let Some(bus) = place_of(build, Some(reached.bus)) {
                order.push(Reckoned::Bus(bus));
            }
            if let Some(&stage) = reached.through.and_then(|stage| build.places.stages.get(stage)) {
                order.push(Reckoned::Stage(stage));
            }
        }
    }
    build.plan.order = order;
}
