//! The charge of each bus: what takes it away at switch-off, which other charge follows through diodes, and through which
//! branches it is put there.

use loadworthy_language::Description;
use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::devices::Transistor;

use crate::build::power::place_of;
use crate::build::{Build, assumed, broken};
use crate::graph::PowerGraph;
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{ActiveDischarge, Making, Precharge, Role, Stage, Stored, StoredFigures, Topology};
use crate::solver::Late;
use crate::table::Stated;

/// Every bus with a bank or a discharge, and every branch around a contactor that leads to a bus.
pub(crate) fn charges(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    for bus in 0..build.plan.buses.len() {
        if let Some(stored) = stored(build, bus) {
            build.plan.stored.push(stored);
        }
    }
    follow(build);
    precharges(build, graph);
}

fn stored(build: &mut Build<'_>, bus: usize) -> Option<Stored> {
    let part = build.plan.buses[bus].part;
    let (name, at) = {
        let part = build.tables.part_of(part);
        (part.path.clone(), part.at)
    };
    let discharge = build.description.buses.entry(&name).and_then(|bus| bus.discharge.as_ref());
    if discharge.is_none() && build.plan.buses[bus].ripple.banks.is_empty() {
        return None;
    }
    let said = format!("buses.{name}.discharge");
    let resistor = discharge.and_then(|discharge| discharge.resistor.as_ref()).map(|ohms| {
        let power = discharge.and_then(|discharge| discharge.resistor_power.as_ref());
        let power = build.stated(power, Some(at), |watts| watts.si());
        let ohms = build.stated(Some(ohms), None, |ohms| ohms.si());
        (
            build.tables.input(format!("{said}.resistor"), Dimension::Resistance, ohms),
            build.tables.input(format!("{said}.resistor_power"), Dimension::Power, power),
        )
    });
    let active = discharge.and_then(|discharge| discharge.active.as_ref()).map(|active| {
        match (&active.power, &active.resistor) {
            (None, Some(ohms)) => {
                let ohms = build.stated(Some(ohms), None, |ohms| ohms.si());
                let path = format!("{said}.active.resistor");
                ActiveDischarge::Resistance(build.tables.input(path, Dimension::Resistance, ohms))
            }
            (watts, _) => {
                let watts = build.stated(watts.as_ref(), Some(at), |watts| watts.si());
                let path = format!("{said}.active.power");
                ActiveDischarge::Power(build.tables.input(path, Dimension::Power, watts))
            }
        }
    });
    let within = discharge.and_then(|discharge| discharge.within.as_ref());
    // Who has a resistor and nothing that is switched on is asked for no shorter time.
    let within = if resistor.is_some() && active.is_none() {
        build.stated(within, Some(at), |seconds| seconds.si())
    } else {
        build.stated_or(within, at, &defaults::DISCHARGED_WITHIN, |seconds| seconds.si())
    };
    let passively = discharge.and_then(|discharge| discharge.passively_within.as_ref());
    let passively =
        build.stated_or(passively, at, &defaults::DISCHARGED_PASSIVELY_WITHIN, |seconds| seconds.si());
    let within = build.tables.limit(format!("{said}.within"), Dimension::Time, within);
    let passively_within = build.tables.limit(format!("{said}.passively_within"), Dimension::Time, passively);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = StoredFigures {
        energy: figure("stored_energy", Dimension::Energy),
        passive_time: figure("passive_discharge_time", Dimension::Time),
        active_time: figure("active_discharge_time", Dimension::Time),
        resistor_loss: figure("discharge_resistor_loss", Dimension::Power),
    };
    let (followers, follows, unread) = (Vec::new(), None, None);
    let is_stated = discharge.is_some();
    Some(Stored {
        bus,
        is_stated,
        resistor,
        active,
        within,
        passively_within,
        followers,
        follows,
        unread,
        figures,
    })
}

/// The low bus of a chopper follows its high one down: the diode of the high side leads from the one to the other.
fn follow(build: &mut Build<'_>) {
    let lacking: Vec<Option<String>> =
        build.plan.stages.iter().map(|stage| lacks_diode(build.description, stage)).collect();
    let mut undescribed = Vec::new();
    let plan = &mut build.plan;
    let place = |stored: &[Stored], bus: Option<usize>| {
        bus.and_then(|bus| stored.iter().position(|one| one.bus == bus))
    };
    for (stage, lacking) in plan.stages.iter().zip(lacking) {
        let (Topology::Chopper(_), [low, high]) = (&stage.topology, stage.ports.as_slice()) else { continue };
        let (Some(low), Some(high)) = (place(&plan.stored, low.bus), place(&plan.stored, high.bus)) else {
            continue;
        };
        if let Some(device) = lacking {
            undescribed.push((low, device));
            continue;
        }
        if !plan.stored[high].followers.contains(&low) {
            plan.stored[high].followers.push(low);
        }
        let has_own = plan.stored[low].resistor.is_some() || plan.stored[low].active.is_some();
        if !has_own && plan.stored[low].follows.is_none() {
            plan.stored[low].follows = Some(high);
        }
    }
    for (low, device) in undescribed {
        let stored = &build.plan.stored[low];
        if stored.resistor.is_none() && stored.active.is_none() && stored.follows.is_none() {
            let near = build.description.devices.get(&device).map(|entry| entry.key);
            let absent = Stated { value: f64::NAN, origin: Origin::Absent { near } };
            let diode = build.tables.input(format!("devices.{device}.diode"), Dimension::Voltage, absent);
            build.plan.stored[low].unread = Some(diode);
        }
    }
    for own in 0..build.plan.stored.len() {
        let stored = &build.plan.stored[own];
        let is_open = stored.follows.is_none() && stored.unread.is_none();
        if stored.resistor.is_none() && stored.active.is_none() && is_open {
            build.plan.stored[own].unread = unread_above(build, build.plan.stored[own].bus);
        }
    }
}

/// The device on the high side of a chopper, where it is an IGBT of which no diode is described: nothing is known to lead back.
fn lacks_diode(description: &Description, stage: &Stage) -> Option<String> {
    let high = stage.positions.iter().find(|position| position.role == Role::HighSide)?;
    let name = stage.seats[high.seat].fitted.as_ref()?;
    let device = description.devices.entry(name)?;
    let is_bare = matches!(device.transistor, Some(Transistor::Igbt(_))) && device.diode.is_none();
    is_bare.then(|| name.clone())
}

/// The high bus of a chopper on a bus, or a stage that may be one, that could not be read.
fn unread_above(build: &mut Build<'_>, low: usize) -> Option<InputId> {
    let description = build.description;
    let high = |stage: &crate::plan::Stage| {
        let (Topology::Chopper(_), [own, high]) = (&stage.topology, stage.ports.as_slice()) else {
            return None;
        };
        let part = build.plan.buses[high.bus.filter(|_| own.bus == Some(low))?].part;
        let name = &build.tables.part_of(part).path;
        let entry = description.buses.get(name).filter(|bus| bus.read().is_none())?;
        Some((format!("buses.{name}"), entry.value))
    };
    let mut stages = description.stages.unread().map(|(name, entry)| (format!("stages.{name}"), entry.value));
    let gone = description.stages.unfound.first().zip(description.stages.at);
    let (path, at) = build
        .plan
        .stages
        .iter()
        .find_map(high)
        .or_else(|| stages.next())
        .or_else(|| gone.map(|(name, at)| (format!("stages.{name}"), at)))?;
    Some(build.tables.input(path, Dimension::Power, broken(at)))
}

/// Branches around a contactor that stands between a source and a bus.
fn precharges(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
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
        let both: Vec<(&str, &str)> = core::iter::once((name, feed))
            .chain(back)
            .flat_map(|(branch, written)| contactors(description, written).map(move |name| (branch, name)))
            .collect();
        let Some(&(first, _)) = both.first() else { continue };
        let around = build.drawn.around(both.iter().map(|(_, contactor)| *contactor));
        let around = around.and_then(|around| Some((around, description.branches.get(around)?)));
        let Some((around, (at, leads))) = around.and_then(|(name, at)| Some((name, (at, at.read()?)))) else {
            // A branch that could not be read may lead around it.
            if !description.branches.is_whole() {
                continue;
            }
            closed.extend(build.branch(first).map(|part| (part, bus)));
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
    let own = build.plan.stored.iter().position(|stored| stored.bus == bus);
    let behind = build.plan.stored.iter().enumerate();
    let behind = behind.filter(|(_, one)| own.is_some_and(|own| one.followers.contains(&own)));
    let charges: Vec<usize> = own.into_iter().chain(behind.map(|(place, _)| place)).collect();
    let load = match &branch.load {
        Some(amps) => build.stated(Some(amps), None, |amps| amps.si()),
        None if draws_meanwhile(build, bus, &charges) => assumed(&defaults::PRECHARGE_LOAD, at),
        // What a contactor or a control holds back is off while the bus is charged.
        None => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
    };
    let load = build.tables.input(format!("branches.{name}.load"), Dimension::Current, load);
    let rest = build.stated_or(branch.rest.as_ref(), at, &defaults::PRECHARGE_REST, |share| share.value());
    let rest = build.tables.input(format!("branches.{name}.rest"), Dimension::Ratio, rest);
    build.tables.read_by(Late::Stored, rest);
    let within = branch.within.as_ref().map(|given| {
        let stated = build.stated(Some(given), None, |seconds| seconds.si());
        build.tables.limit(format!("branches.{name}.within"), Dimension::Time, stated)
    });
    let span = build.plan.sources[source].limits.open_circuit;
    let highest = span.map_or(build.plan.buses[bus].highest, |(_, highest)| highest);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    Some(Precharge {
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
        time: figure("precharge_time", Dimension::Time),
        drop: figure("precharge_drop", Dimension::Voltage),
        rest_voltage: figure("precharge_rest_voltage", Dimension::Voltage),
        closing: figure("closing_current", Dimension::Current),
    })
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
