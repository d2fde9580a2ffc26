//! Where stages and loads meet their buses, and the conductors on the way.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::Conductor as Written;
use loadworthy_language::sections::stages::Stage;
use loadworthy_language::{Description, Section, defaults};
use loadworthy_physics::conductors::cable;
use loadworthy_physics::conductors::copper::section_resistance;
use loadworthy_physics::{Area, Temperature};
use loadworthy_source::{Located, NodeId};

use crate::build::power::place_of;
use crate::build::stage::Design;
use crate::build::{Build, assumed, bank, broken};
use crate::graph::PowerGraph;
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Conductor, Port};
use crate::table::Stated;

/// Conductors by what they join: the name of a source, stage or load, and that of a bus.
#[derive(Default)]
pub(crate) struct Lines(BTreeMap<(String, String), Vec<Wire>>);

/// A conductor on the way, in the plan, with its resistance.
#[derive(Clone, Copy)]
pub(crate) struct Wire {
    conductor: usize,
    resistance: InputId,
}

impl Lines {
    /// Resistances on the way between two nodes.
    pub(crate) fn between(&self, one: &str, bus: &str) -> Vec<InputId> {
        let wires = self.0.get(&(one.to_owned(), bus.to_owned()));
        wires.map_or_else(Vec::new, |wires| wires.iter().map(|wire| wire.resistance).collect())
    }

    /// Conductors on the way between two nodes, in the plan.
    pub(crate) fn conductors(&self, one: &str, bus: &str) -> Vec<usize> {
        let wires = self.0.get(&(one.to_owned(), bus.to_owned()));
        wires.map_or_else(Vec::new, |wires| wires.iter().map(|wire| wire.conductor).collect())
    }
}

/// Adds every conductor of every branch to the plan.
pub(crate) fn lines(build: &mut Build<'_>, graph: &PowerGraph<'_>) -> Lines {
    let mut lines = Lines::default();
    let mut returned: BTreeSet<&str> = BTreeSet::new();
    let description = build.description;
    for (name, entry, branch) in description.branches.readable() {
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let ends = graph.ends_of(name).or_else(|| {
            // What a source gives comes back to it from the rail of its bus; the first way back counts as all of it.
            let ends = graph.returned_to(description, branch)?;
            returned.insert(ends.0).then_some(ends)
        });
        let through = branch.through.iter().flat_map(|through| &through.value);
        let mut conductors: Vec<(&Located<String>, bool)> = through.map(|one| (one, false)).collect();
        // What stands within a source stands at its end of the branch, the fuse before the contactor.
        let contactor = build.drawn.contactor_within(name);
        let fuse = build.drawn.fuse_within(name);
        let starts_there = branch.from.as_ref().map(|from| from.value.as_str()) == ends.map(|(node, _)| node);
        for own in [contactor, fuse].into_iter().flatten() {
            let place = if starts_there { 0 } else { conductors.len() };
            conductors.insert(place, (own, true));
        }
        for (conductor, is_within) in conductors {
            let Some(wire) = wire(build, conductor, (part, name), is_within) else { continue };
            if let Some((node, bus)) = ends {
                lines.0.entry((node.to_owned(), bus.to_owned())).or_default().push(wire);
            }
        }
    }
    lines
}

fn wire(
    build: &mut Build<'_>,
    name: &Located<String>,
    (branch, branch_name): (PartId, &str),
    is_within: bool,
) -> Option<Wire> {
    let entry = build.description.conductors.get(&name.value)?;
    let part = build.tables.part(name.value.clone(), entry.key, Some(branch));
    let said = format!("conductors.{}", name.value);
    let resistance = match entry.read() {
        None => broken(entry.value),
        // What stands within a source is part of its internal resistance unless it says otherwise.
        Some(written) if is_within && written.resistance().is_none() => {
            Stated { value: 0.0, origin: Origin::Absent { near: Some(entry.key) } }
        }
        Some(written) => resistance(build, written, entry.key),
    };
    let is_cable = matches!(entry.read(), Some(Written::Cable(_)));
    let rating = entry.read().and_then(Written::rated);
    let rated = rating
        .and_then(|rating| rating.continuous.as_ref())
        .map(|amps| build.stated(Some(amps), None, |i| i.si()));
    // Nothing else says what these stand; of a contact its temperature may, where it says how its heat leaves or how hot it may get.
    let is_rated_only = match entry.read() {
        Some(Written::Sensor(_) | Written::LineChoke(_)) => true,
        Some(Written::Contactor(one)) => one.thermal_resistance.is_none() && one.hottest.is_none(),
        Some(Written::Connector(one)) => one.thermal_resistance.is_none() && one.hottest.is_none(),
        _ => false,
    };
    let unrated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(entry.key) } };
    let rated = rated.or(is_rated_only.then_some(unrated));
    let rated_at = rating
        .and_then(|rating| rating.at.as_ref())
        .map(|at| build.stated(Some(at), None, |t| t.in_celsius()));
    let air = build.surrounding(|air| air.inside_air.as_ref(), None, |t| t.in_celsius());
    let path = match resistance {
        // A section that the table does not know: what would say it is its resistance.
        Stated { value, origin: Origin::Absent { .. } } if value.is_nan() && is_cable => {
            let (least, most) = cable::SECTIONS;
            format!("{said}.resistance (IEC 60228 has it of {least} to {most} mm² alone)")
        }
        _ => format!("{said}.resistance"),
    };
    let resistance = build.tables.input(path, Dimension::Resistance, resistance);
    let input = |build: &mut Build<'_>, path: String, dimension, stated: Option<Stated>| {
        stated.map(|stated| build.tables.input(path, dimension, stated))
    };
    let rated = input(build, format!("{said}.current.continuous"), Dimension::Current, rated);
    let rated_at = input(build, format!("{said}.current.at"), Dimension::Temperature, rated_at);
    if let Some(amps) = rating.and_then(|rating| rating.continuous.as_ref()).filter(|_| rated_at.is_none()) {
        // Nothing is taken down for warmer air; told as an input all the same.
        let anywhere = assumed(&defaults::RATED_AT, amps.at);
        build.tables.input(format!("{said}.current.at"), Dimension::Ratio, anywhere);
    }
    let (key, path) = ("surroundings.inside_air of conductors", "surroundings.inside_air");
    let surroundings = bank::shared(build, key, path, Dimension::Temperature, air);
    let place = build.plan.conductors.len();
    build.places.conductor((&name.value, branch_name), place);
    build.plan.conductors.push(Conductor {
        part,
        branch,
        is_contact: matches!(entry.read(), Some(Written::Connector(_) | Written::Contactor(_))),
        resistance,
        rated,
        rated_at,
        rated_section: None,
        surroundings,
        carries: None,
        unknown: None,
        current: build.tables.figure(part, "current", Dimension::Current),
        ripples: Vec::new(),
        rms: None,
        loss: build.tables.figure(part, "loss", Dimension::Power),
        heating_loss: None,
        drop: build.tables.figure(part, "voltage_drop", Dimension::Voltage),
        heat: None,
        density: None,
        breaks: None,
        opens: None,
        altitude: None,
        range: None,
        stands: None,
    });
    Some(Wire { conductor: place, resistance })
}

/// Resistance as stated, or from the copper's section and length. Of a resistor nothing else says it.
fn resistance(build: &Build<'_>, written: &Written, at: NodeId) -> Stated {
    if let Some(given) = written.resistance() {
        return build.stated(Some(given), None, |ohms| ohms.si());
    }
    if matches!(written, Written::Resistor(_)) {
        return Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    }
    let section = |width: Option<f64>, thickness: Option<f64>| Some(width? * thickness?);
    let (area, length, ways) = match written {
        Written::Busbar(bar) => {
            (section(bar.width.map(|w| w.si()), bar.thickness.map(|t| t.si())), bar.length, 1.0)
        }
        Written::LaminatedBusbar(bar) => {
            (section(bar.width.map(|w| w.si()), bar.thickness.map(|t| t.si())), bar.length, 2.0)
        }
        Written::Foil(foil) => {
            (section(foil.width.map(|w| w.si()), foil.thickness.map(|t| t.si())), foil.length, 1.0)
        }
        Written::Cable(cable) => (cable.section.map(|area| area.si()), cable.length, 1.0),
        _ => (None, None, 1.0),
    };
    let (Some(area), Some(length)) = (area, length) else {
        return assumed(&defaults::CONDUCTOR_RESISTANCE, at);
    };
    let surroundings = &build.description.surroundings;
    if let Some(at) = surroundings.at().filter(|_| surroundings.is_void()) {
        return broken(at);
    }
    let air = surroundings.read().and_then(|air| air.inside_air.as_ref());
    let copper = air.map_or(Temperature::celsius(defaults::COPPER_TEMPERATURE.value), |air| air.value);
    let (area, length_si) = (Area::new(area), length.value);
    let value = match written {
        Written::Cable(_) => cable::resistance(area, length_si, copper),
        _ => section_resistance(area, length_si, copper) * ways,
    };
    let value = value.si();
    let origin = match air {
        _ if value.is_nan() => Origin::Absent { near: Some(at) },
        Some(_) => build.written(length.at),
        None => Origin::Assumed { assumption: &defaults::COPPER_TEMPERATURE, near: at },
    };
    Stated { value, origin }
}

/// The ports of a stage, in the order of its buses.
pub(crate) fn of_stage(build: &mut Build<'_>, design: &Design<'_>) -> Vec<Port> {
    let is_buck = matches!(design.written, Stage::Buck(_));
    let mut buses = design.written.buses();
    if is_buck {
        // A chopper has its low bus first, whichever way it is named.
        buses.reverse();
    }
    let names: [[&'static str; 4]; 2] = match design.written {
        Stage::ThreePhaseBridge(_) => [["dc_voltage", "dc_power", "dc_current", "dc_drawn_power"]; 2],
        Stage::Boost(_) | Stage::Buck(_) => [
            ["low_voltage", "low_power", "low_current", "low_drawn_power"],
            ["high_voltage", "high_power", "high_current", "high_drawn_power"],
        ],
        Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_) => [
            ["input_voltage", "input_power", "input_current", "input_drawn_power"],
            ["output_voltage", "output_power", "output_current", "output_drawn_power"],
        ],
    };
    let outward = match design.written {
        Stage::ThreePhaseBridge(_) => [false, false],
        Stage::Buck(_) => [true, false],
        Stage::Boost(_) | Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_) => [false, true],
    };
    let at = design.entry.key;
    buses
        .into_iter()
        .enumerate()
        .map(|(k, (key, bus))| {
            let path = format!("stages.{}.{key}", design.name);
            port(build, (design.name, design.part, at), (path, bus), outward[k.min(1)], names[k.min(1)])
        })
        .collect()
}

/// A port of a stage or a load.
pub(crate) fn port(
    build: &mut Build<'_>,
    (name, part, at): (&str, PartId, NodeId),
    (path, bus): (String, Option<&Located<String>>),
    outward: bool,
    [voltage, power, current, drawn]: [&'static str; 4],
) -> Port {
    let named = match bus {
        Some(bus) => Stated { value: 0.0, origin: build.written(bus.at) },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let named = build.tables.input(path, Dimension::Ratio, named);
    let bus = bus.map(|bus| bus.value.as_str());
    let line = bus.map_or_else(Vec::new, |bus| build.lines.between(name, bus));
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    let port = Port {
        bus: None,
        named,
        line,
        outward,
        voltage: figure(voltage, Dimension::Voltage),
        power: figure(power, Dimension::Power),
        current: figure(current, Dimension::Current),
        drawn: figure(drawn, Dimension::Power),
        slot: build.plan.ports,
    };
    build.plan.ports += 1;
    if let Some(bus) = bus {
        carry(build, name, bus, port.current);
    }
    Port { bus: place_of(build, bus), ..port }
}

/// Conductors of which nothing says what they carry; those around another carry nothing in service.
pub(crate) fn unknown(build: &mut Build<'_>) {
    let description = build.description;
    let in_service: BTreeSet<&str> = description
        .branches
        .readable()
        .filter(|(_, _, branch)| branch.around.is_none())
        .flat_map(|(_, _, branch)| {
            let drawn = branch.through.iter().flat_map(|through| &through.value);
            // What stands within a source carries what comes of it.
            drawn.chain(&branch.protected_by).chain(&branch.parted_by)
        })
        .map(|name| name.value.as_str())
        .collect();
    for k in 0..build.plan.conductors.len() {
        let conductor = &build.plan.conductors[k];
        let part = build.tables.part_of(conductor.part);
        if conductor.carries.is_some() || !in_service.contains(part.path.as_str()) {
            continue;
        }
        let branch = build.tables.part_of(conductor.branch);
        let void_end = description.branches.entry(&branch.path).and_then(|written| {
            let ends = [&written.from, &written.to].into_iter().flatten();
            ends.map(|end| end.value.as_str()).find_map(|end| {
                let of = |section: &str, at: Option<NodeId>| at.map(|at| (format!("{section}.{end}"), at));
                of("sources", torn(&description.sources, end))
                    .or_else(|| of("buses", torn(&description.buses, end)))
                    .or_else(|| of("stages", torn(&description.stages, end)))
                    .or_else(|| of("loads", torn(&description.loads, end)))
            })
        });
        let (path, origin) = match void_end {
            // What the branch leads to could not be read, and that is told once for all that waits for it.
            Some((end, at)) => (end, Origin::Broken(at)),
            None => {
                let node =
                    description.branches.entry(&branch.path).and_then(|one| shared_by(description, one));
                let led = node.map(|node| format!("the share of `{node}` in the current of "));
                let path = format!("{}branches.{}", led.unwrap_or_default(), branch.path);
                (path, Origin::Absent { near: Some(branch.at) })
            }
        };
        let stated = Stated { value: f64::NAN, origin };
        build.plan.conductors[k].unknown = Some(build.tables.input(path, Dimension::Current, stated));
    }
}

/// The node whose current a branch leads back to a rail in part: beside another way back, or, of a boost or a buck, what its two
/// buses leave of one another. How much that is, and how it pulses, is not reckoned.
fn shared_by<'d>(description: &'d Description, branch: &'d Branch) -> Option<&'d str> {
    let ends = [&branch.from, &branch.to].into_iter().flatten().map(|end| end.value.as_str());
    let all = description;
    let is_node = |end: &&str| {
        all.sources.contains_key(*end) || all.stages.contains_key(*end) || all.loads.contains_key(*end)
    };
    ends.into_iter().find(is_node)
}

/// Where an entry stands that could not be read.
fn torn<T>(section: &Section<T>, name: &str) -> Option<NodeId> {
    section.get(name).filter(|entry| entry.read().is_none()).map(|entry| entry.value)
}

/// The conductors between two nodes carry a current.
pub(crate) fn carry(build: &mut Build<'_>, node: &str, bus: &str, current: FigureId) {
    for conductor in build.lines.conductors(node, bus) {
        build.plan.conductors[conductor].carries = Some(current);
    }
}
