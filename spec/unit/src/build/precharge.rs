//! Through what each bus is charged before a contactor closes on it: a branch around that contactor, or what the source has within it.

use loadworthy_language::Description;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given, Ratio};
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::sources::OwnPrecharge;
use loadworthy_physics::{Current, Time};
use loadworthy_source::NodeId;

use crate::build::power::place_of;
use crate::build::{Build, assumed, broken, protection};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Making, Precharge};
use crate::solver::Late;
use crate::table::Stated;

/// Branches around a contactor that stands between a source and a bus, and pre-charges within sources.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    let mut closed = Vec::new();
    for (name, _, feed) in description.branches.readable() {
        let Some((node, bus)) = graph.ends_of(name) else { continue };
        let (Some(bus), Some(&source)) = (place_of(build, Some(bus)), build.places.sources.get(node)) else {
            continue;
        };
        // One pole that closes through a resistor is enough: it may be the one that leads back.
        let ends = build.drawn.of_source(node).iter().filter(|branch| graph.ends_of(branch).is_none());
        let back = ends.filter_map(|branch| Some((*branch, description.branches.entry(branch)?)));
        let back = back.filter(|(_, written)| written.around.is_none());
        let circuit: Vec<(&str, &Branch)> = core::iter::once((name, feed)).chain(back).collect();
        let both: Vec<(&str, &str)> = circuit
            .iter()
            .flat_map(|&(branch, written)| contactors(description, written).map(move |name| (branch, name)))
            .collect();
        let parted = circuit.iter().find_map(|(branch, _)| build.drawn.contactor_within(branch));
        let first = both.first().map(|&(first, _)| first);
        let Some(first) = first.or_else(|| parted.map(|_| name)) else { continue };
        let around = build.drawn.around(both.iter().map(|(_, contactor)| *contactor));
        let around = around.and_then(|around| Some((around, description.branches.get(around)?)));
        let Some((around, (at, leads))) = around.and_then(|(name, at)| Some((name, (at, at.read()?)))) else {
            // A branch that could not be read may lead around it.
            if !description.branches.is_whole() {
                continue;
            }
            let own =
                description.sources.get(node).and_then(|entry| Some((entry, entry.read()?.precharge()?)));
            if let (Some(contactor), Some((entry, own))) = (parted, own) {
                let main = making(build, &contactor.value);
                let precharge = within(build, (node, entry.key, own), (bus, source), main);
                build.plan.precharges.push(precharge);
                continue;
            }
            // One within the source speaks for itself: its branch may be drawn without fault.
            let within = parted.filter(|_| both.is_empty());
            let within = within.and_then(|named| build.places.conductors_named(&named.value).first());
            let within = within.map(|&one| build.plan.conductors[one].part);
            closed.extend(within.or_else(|| build.branch(first)).map(|part| (part, bus)));
            continue;
        };
        // One that leads through nothing limits nothing.
        if leads.through.is_none() {
            let part = build.tables.part(around.to_owned(), at.key, None);
            closed.push((part, bus));
            continue;
        }
        // Nor does one without a resistor; what could not be read may be one.
        let limits = leads.through.iter().flat_map(|through| &through.value).any(|name| {
            let read = description.conductors.get(&name.value).and_then(|entry| entry.read());
            read.is_none_or(|conductor| matches!(conductor, Conductor::Resistor(_)))
        });
        if !limits {
            let known = build.branch(around);
            let part = known.unwrap_or_else(|| build.tables.part(around.to_owned(), at.key, None));
            closed.push((part, bus));
            build.plan.unlimited.push(part);
            continue;
        }
        let main = leads.around.as_ref().and_then(|main| making(build, &main.value));
        let precharge = precharge(build, around, (bus, source), main);
        build.plan.precharges.extend(precharge);
    }
    if closed.len() > 1 {
        protection::lack_together(build);
    }
    build.plan.closed_unprecharged = closed;
}

/// The contactors that a branch leads through.
pub(crate) fn contactors<'d>(
    description: &'d Description,
    branch: &'d Branch,
) -> impl Iterator<Item = &'d str> {
    let named = branch.through.iter().flat_map(|through| &through.value);
    named
        .map(|name| name.value.as_str())
        .filter(|&name| matches!(description.conductors.entry(name), Some(Conductor::Contactor(_))))
}

fn precharge(
    build: &mut Build<'_>,
    name: &str,
    (bus, source): (usize, usize),
    around: Option<Making>,
) -> Option<Precharge> {
    let description = build.description;
    let entry = description.branches.get(name)?;
    let (branch, at) = (entry.read()?, entry.key);
    let part = build.branch(name)?;
    let own = build.places.conductors_in(name).iter();
    let resistances = own.map(|&one| build.plan.conductors[one].resistance).collect();
    let resistor = branch.through.iter().flat_map(|through| &through.value).find_map(|name| {
        let entry = description.conductors.get(&name.value)?;
        match entry.read()? {
            Conductor::Resistor(resistor) => Some((name.value.clone(), entry.key, resistor)),
            _ => None,
        }
    });
    let opens = branch.through.iter().flat_map(|through| &through.value).any(|name| {
        let read = description.conductors.get(&name.value).and_then(|entry| entry.read());
        read.is_none_or(|conductor| matches!(conductor, Conductor::Contactor(_)))
    });
    let named = || branch.through.iter().flat_map(|through| &through.value);
    // Without a resistor that is known nobody knows on how much they close, and that is said of it.
    let is_known = resistor.is_some();
    let contactors = named().filter(|_| is_known).filter_map(|name| making(build, &name.value)).collect();
    let unread = named().find_map(|name| {
        let entry = description.conductors.get(&name.value)?;
        entry.read().is_none().then(|| (name.value.clone(), entry.value))
    });
    let energy = match (&resistor, &unread) {
        (Some((_, at, resistor)), _) => {
            build.stated(resistor.energy.as_ref(), Some(*at), |joules| joules.si())
        }
        (None, Some((_, at))) => broken(*at),
        (None, None) => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let path = match (resistor, unread) {
        (Some((name, ..)), _) => format!("conductors.{name}.energy"),
        (None, Some((name, _))) => format!("conductors.{name}"),
        (None, None) => format!("a resistor in branches.{name}.through"),
    };
    let rated_energy = build.tables.input(path, Dimension::Energy, energy);
    let way =
        Way { said: format!("branches.{name}"), part, at, resistances, contactors, opens, rated_energy };
    let terms = (branch.load.as_ref(), branch.rest.as_ref(), branch.within.as_ref());
    Some(charging(build, way, terms, (bus, source), around))
}

/// The pre-charge within a source, around its own contactor. What closes it is the source's own affair.
fn within(
    build: &mut Build<'_>,
    (name, at, own): (&str, NodeId, &OwnPrecharge),
    (bus, source): (usize, usize),
    main: Option<Making>,
) -> Precharge {
    let said = format!("sources.{name}.precharge");
    let ohms = build.stated(own.resistor.as_ref(), Some(at), |ohms| ohms.si());
    let joules = build.stated(own.energy.as_ref(), Some(at), |joules| joules.si());
    let resistances = vec![build.tables.input(format!("{said}.resistor"), Dimension::Resistance, ohms)];
    let rated_energy = build.tables.input(format!("{said}.energy"), Dimension::Energy, joules);
    let part = build.plan.sources[source].part;
    let contactors = Vec::new();
    let way = Way { said, part, at, resistances, contactors, opens: true, rated_energy };
    let terms = (own.load.as_ref(), own.rest.as_ref(), own.within.as_ref());
    charging(build, way, terms, (bus, source), main)
}

/// What a pre-charge leads through.
struct Way {
    /// Where it is stated.
    said: String,
    part: PartId,
    at: NodeId,
    resistances: Vec<InputId>,
    contactors: Vec<Making>,
    opens: bool,
    rated_energy: InputId,
}

/// What is drawn meanwhile, what may be left, and how long it may take, where that is stated.
type Terms<'d> = (Option<&'d Given<Current>>, Option<&'d Given<Ratio>>, Option<&'d Given<Time>>);

fn charging(
    build: &mut Build<'_>,
    way: Way,
    (load, rest, within): Terms<'_>,
    (bus, source): (usize, usize),
    around: Option<Making>,
) -> Precharge {
    let Way { said, part, at, resistances, contactors, opens, rated_energy } = way;
    let own = build.plan.stored.iter().position(|stored| stored.bus == bus);
    let behind = build.plan.stored.iter().enumerate();
    let behind = behind.filter(|(_, one)| own.is_some_and(|own| one.followers.contains(&own)));
    let charges: Vec<usize> = own.into_iter().chain(behind.map(|(place, _)| place)).collect();
    let load = match load {
        Some(amps) => build.stated(Some(amps), None, |amps| amps.si()),
        None if draws_meanwhile(build, bus, &charges) => assumed(&defaults::PRECHARGE_LOAD, at),
        // What a contactor or a control holds back is off while the bus is charged.
        None => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
    };
    let load = build.tables.input(format!("{said}.load"), Dimension::Current, load);
    let rest = build.stated_or(rest, at, &defaults::PRECHARGE_REST, |share| share.value());
    let rest = build.tables.input(format!("{said}.rest"), Dimension::Ratio, rest);
    build.tables.read_by(Late::Stored, rest);
    let within = within.map(|given| {
        let stated = build.stated(Some(given), None, |seconds| seconds.si());
        build.tables.limit(format!("{said}.within"), Dimension::Time, stated)
    });
    let span = build.plan.sources[source].limits.open_circuit;
    let highest = span.map_or(build.plan.buses[bus].highest, |(_, highest)| highest);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    Precharge {
        part,
        bus,
        charges,
        opens,
        source: highest,
        resistances,
        contactors,
        from: source,
        around,
        rated_energy,
        load,
        rest,
        within,
        inrush: figure("precharge_inrush", Dimension::Current),
        peak_power: figure("precharge_peak_power", Dimension::Power),
        energy: figure("precharge_energy", Dimension::Energy),
        pulse: figure("precharge_let_through", Dimension::SquaredCurrentTime),
        time: figure("precharge_time", Dimension::Time),
        drop: figure("precharge_drop", Dimension::Voltage),
        rest_voltage: figure("precharge_rest_voltage", Dimension::Voltage),
        closing: figure("closing_current", Dimension::Current),
    }
}

/// Whether a load that draws in every duty point hangs on what is charged, with no contactor to hold it back.
fn draws_meanwhile(build: &Build<'_>, bus: usize, charges: &[usize]) -> bool {
    let is_charged =
        |other: usize| other == bus || charges.iter().any(|&charge| build.plan.stored[charge].bus == other);
    build.plan.loads.iter().any(|load| {
        let Some(bus) = load.port.bus.filter(|&bus| is_charged(bus)) else { return false };
        let name = &build.tables.part_of(load.part).path;
        let between = build.lines.conductors(name, &build.tables.part_of(build.plan.buses[bus].part).path);
        let is_held = between.iter().any(|&one| {
            let conductor = &build.tables.part_of(build.plan.conductors[one].part).path;
            let entry = build.description.conductors.get(conductor);
            entry.is_none_or(|entry| entry.read().is_none_or(|read| matches!(read, Conductor::Contactor(_))))
        });
        !is_held && build.demands(name).iter().all(Option::is_some)
    })
}

/// What a contactor makes and breaks.
pub(crate) fn making(build: &mut Build<'_>, name: &str) -> Option<Making> {
    let entry = build.description.conductors.get(name)?;
    let Conductor::Contactor(contactor) = entry.read()? else { return None };
    let part = build.plan.conductors[*build.places.conductors_named(name).first()?].part;
    let breaks = contactor.breaks.as_ref().and_then(|breaks| breaks.current.as_ref());
    let mut current = |key: &str, given| {
        let stated = build.stated(given, Some(entry.key), |amps: &loadworthy_physics::Current| amps.si());
        build.tables.limit(format!("conductors.{name}.{key}"), Dimension::Current, stated)
    };
    let makes = current("makes", contactor.makes.as_ref());
    Some(Making { part, makes, breaks: current("breaks.current", breaks) })
}
