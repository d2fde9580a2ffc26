//! Trips that are stated or lack, and buses that machines lift once what takes their power opens.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::machines::Machine;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::{CurrentSensing, OnFault, Stage as Written};
use loadworthy_source::NodeId;

use crate::build::bank::{missing_bank, shared};
use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{
    ChipKind, CurrentTrip, LeftFlowing, LeftTurning, LossOfLoad, MagneticRole, Topology, TrippedSeat,
    VoltageTrip,
};
use crate::table::Stated;

/// Every bus that states a trip or may be lifted, then every stage that states one.
pub(crate) fn join(build: &mut Build<'_>) {
    for bus in 0..build.plan.buses.len() {
        let (name, at) = {
            let part = build.tables.part_of(build.plan.buses[bus].part);
            (part.path.clone(), part.at)
        };
        let is_stated =
            build.description.buses.entry(&name).is_some_and(|bus| bus.overvoltage_trip.is_some());
        let may_rise = may_rise(build, bus);
        if !is_stated && !may_rise {
            continue;
        }
        let trip = voltage_trip(build, bus, (&name, at), is_stated);
        build.plan.voltage_trips.push(trip);
        if may_rise {
            let trip = build.plan.voltage_trips.len() - 1;
            let lost = loss_of_load(build, bus, trip, (&name, at));
            build.plan.losses_of_load.push(lost);
        }
    }
    for stage in 0..build.plan.stages.len() {
        if let Some(trip) = current_trip(build, stage) {
            let turned_off = build.tables.is_written(trip.delay).then_some(trip.turned_off);
            for &magnetic in &build.plan.stages[stage].magnetics {
                build.plan.magnetics[magnetic].core.late_trip = Some((trip.highest, turned_off));
            }
            let is_stated = build.tables.is_written(trip.level);
            for turn_off in build.plan.turn_offs.iter_mut().filter(|one| is_stated && one.stage == stage) {
                turn_off.tripped = Some(turned_off.unwrap_or(trip.highest));
            }
            // What reads its currents switches nothing off without a level.
            if build.tables.is_absent(trip.level) {
                build.plan.untripped.push((build.plan.stages[stage].part, trip.level));
            }
            build.plan.current_trips.push(trip);
        } else if let Some(level) = untripped(build, stage) {
            build.plan.untripped.push((build.plan.stages[stage].part, level));
        }
        unlimited(build, stage);
    }
}

/// What would state the trip of a stage that states nothing of one, where the description tells how the unit is controlled
/// and what is measured. A concept without these leaves protection to a later hour.
fn untripped(build: &mut Build<'_>, stage: usize) -> Option<InputId> {
    let description = build.description;
    let of = &build.plan.stages[stage];
    let own = build.tables.part_of(of.part);
    let senses = match description.stages.entry(&own.path) {
        Some(Written::Boost(boost)) => boost.current_sensing.is_some(),
        Some(Written::Buck(buck)) => buck.current_sensing.is_some(),
        _ => false,
    };
    if !(senses || tells_of_control(build)) {
        return None;
    }
    match of.topology {
        Topology::Bridge(_) => {
            let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(own.at) } };
            let path = format!("stages.{}.trip", own.path);
            Some(shared(build, &path, &path, Dimension::Current, stated))
        }
        // A chopper is switched off by the current of its choke.
        Topology::Chopper(_) => unstated_of_choke(build, stage, *of.magnetics.first()?),
        Topology::Isolated(_) => None,
    }
}

/// Whether the description tells how the unit is controlled and what is measured.
fn tells_of_control(build: &Build<'_>) -> bool {
    build.description.controllers.at.is_some() && build.description.sensors.at.is_some()
}

/// What would state the trip of a choke.
pub(super) fn unstated_of_choke(build: &mut Build<'_>, stage: usize, magnetic: usize) -> Option<InputId> {
    let own = build.tables.part_of(build.plan.stages[stage].part);
    let choke = build.tables.part_of(build.plan.magnetics[magnetic].part);
    let name = choke.path.strip_prefix(&format!("{}.", own.path))?;
    let lost = build.description.magnetics.get(name).filter(|entry| entry.read().is_none());
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(choke.at) } };
    let stated = lost.map_or(absent, |entry| broken(entry.value));
    let path = format!("magnetics.{name}.trip");
    Some(shared(build, &path, &path, Dimension::Current, stated))
}

/// Chokes of a stage with a transformer that have no trip: they are held against nothing but the flux of their cores.
fn unlimited(build: &mut Build<'_>, stage: usize) {
    if !matches!(build.plan.stages[stage].topology, Topology::Isolated(_)) || !tells_of_control(build) {
        return;
    }
    for magnetic in build.plan.stages[stage].magnetics.clone() {
        let of = &build.plan.magnetics[magnetic];
        if of.role == MagneticRole::OutputChoke && of.core.trip.is_none() {
            build.plan.magnetics[magnetic].core.unstated_trip = unstated_of_choke(build, stage, magnetic);
        }
    }
}

/// Whether a bridge or a chopper may feed the bus and the description says how high it may come, or has a bank on it.
fn may_rise(build: &Build<'_>, bus: usize) -> bool {
    let of = &build.plan.buses[bus];
    let name = &build.tables.part_of(of.part).path;
    let written = build.description.buses.entry(name);
    let says = written.is_some_and(|bus| bus.highest.is_some() || bus.overvoltage_trip.is_some());
    let feeds = |stage: &crate::plan::Stage| {
        !matches!(stage.topology, Topology::Isolated(_))
            && stage.ports.iter().any(|port| port.bus == Some(bus))
    };
    (says || !of.ripple.banks.is_empty()) && build.plan.stages.iter().any(feeds)
}

fn voltage_trip(
    build: &mut Build<'_>,
    bus: usize,
    (name, at): (&str, NodeId),
    is_stated: bool,
) -> VoltageTrip {
    let written = build.description.buses.entry(name).and_then(|bus| bus.overvoltage_trip.as_ref());
    // A bus that could not be read may state all of it.
    let unread = build.description.buses.get(name).filter(|entry| entry.read().is_none());
    let unread = unread.map(|entry| broken(entry.value));
    let level = build.stated(written.and_then(|trip| trip.voltage.as_ref()), Some(at), |volts| volts.si());
    let level = unread.unwrap_or(level);
    // A trip that nobody states has no tolerance that could be assumed.
    let tolerance = match written {
        Some(trip) => {
            let given = trip.tolerance.as_ref();
            build.stated_or(given, at, &defaults::VOLTAGE_TRIP_TOLERANCE, |share| share.value())
        }
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let delay = build.stated(written.and_then(|trip| trip.delay.as_ref()), Some(at), |time| time.si());
    let delay = unread.unwrap_or(delay);
    let range =
        build.stated(written.and_then(|trip| trip.sensor_range.as_ref()), Some(at), |volts| volts.si());
    let part = build.plan.buses[bus].part;
    let mut input = |key: &str, dimension, stated| {
        build.tables.input(format!("buses.{name}.overvoltage_trip.{key}"), dimension, stated)
    };
    let (level, tolerance, delay) = (
        input("voltage", Dimension::Voltage, level),
        input("tolerance", Dimension::Ratio, tolerance),
        input("delay", Dimension::Time, delay),
    );
    let path = format!("buses.{name}.overvoltage_trip.sensor_range");
    let sensor_range = build.tables.limit(path, Dimension::Voltage, range);
    let spans = spans(build, bus, is_stated);
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Voltage);
    VoltageTrip {
        spans,
        bus,
        is_stated,
        level,
        tolerance,
        delay,
        acting: None,
        sensor_range,
        normal: figure("highest_service_voltage"),
        lowest: figure("lowest_trip_voltage"),
        highest: figure("highest_trip_voltage"),
    }
}

/// Highest open-circuit voltage of each battery on a bus.
fn spans(build: &mut Build<'_>, bus: usize, is_asked: bool) -> Vec<InputId> {
    let mut spans = Vec::new();
    for source in build.plan.buses[bus].sources.clone() {
        let source = &build.plan.sources[source];
        if let Some((_, highest)) = source.limits.open_circuit {
            spans.push(highest);
            continue;
        }
        let part = build.tables.part_of(source.part);
        let (name, at) = (part.path.clone(), part.at);
        if let Some(Source::Battery(battery)) = build.description.sources.entry(&name).filter(|_| is_asked) {
            let given = battery.open_circuit.as_ref().and_then(|span| span.highest.as_ref());
            let stated = build.stated(given, Some(at), |volts| volts.si());
            let path = format!("sources.{name}.open_circuit.highest");
            spans.push(build.tables.input(path, Dimension::Voltage, stated));
        }
    }
    spans
}

fn loss_of_load(build: &mut Build<'_>, bus: usize, trip: usize, (name, at): (&str, NodeId)) -> LossOfLoad {
    let no_bank = build.plan.buses[bus].ripple.banks.is_empty().then(|| missing_bank(build, name, at));
    let (mut machines, mut chokes) = (Vec::new(), Vec::new());
    for stage in 0..build.plan.stages.len() {
        let of = &build.plan.stages[stage];
        let Some(port) = of.ports.iter().position(|port| port.bus == Some(bus)) else { continue };
        match of.topology {
            Topology::Bridge(_) => machines.extend(left_turning(build, stage)),
            Topology::Chopper(_) => chokes.push(LeftFlowing { stage, is_high: port == 1 }),
            Topology::Isolated(_) => {}
        }
    }
    let part = build.plan.buses[bus].part;
    let asks_trip = tells_of_control(build);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    LossOfLoad {
        trip,
        asks_trip,
        no_bank,
        machines,
        chokes,
        recovered: figure("recovered_power", Dimension::Power),
        time: figure("time_to_gates_off", Dimension::Time),
        as_gates_go_off: figure("gates_off_voltage", Dimension::Voltage),
        highest: figure("loss_of_load_voltage", Dimension::Voltage),
    }
}

/// The machine of a bridge, unless the bridge shorts it.
fn left_turning(build: &mut Build<'_>, stage: usize) -> Option<LeftTurning> {
    let of = &build.plan.stages[stage];
    let name = build.tables.part_of(of.part).path.clone();
    if let Some(Written::ThreePhaseBridge(bridge)) = build.description.stages.entry(&name)
        && bridge.on_fault.as_ref().is_some_and(|said| said.value == OnFault::ThreePhaseShort)
    {
        return None;
    }
    let machine = of.bridge()?.machine?;
    let (name, at) = {
        let part = build.tables.part_of(machine);
        (part.path.clone(), part.at)
    };
    let henry = |build: &mut Build<'_>, key| of_machine(build, (&name, at), key, Dimension::Inductance);
    match build.description.machines.entry(&name) {
        Some(Machine::Induction(_)) => {
            let leakage = henry(build, "leakage_inductance");
            Some(LeftTurning { stage, flux_linkage: None, inductances: [leakage; 2] })
        }
        _ => {
            let inductances = [henry(build, "inductance.d"), henry(build, "inductance.q")];
            let flux_linkage = of_machine(build, (&name, at), "flux_linkage", Dimension::FluxLinkage);
            Some(LeftTurning { stage, flux_linkage: Some(flux_linkage), inductances })
        }
    }
}

/// A constant of a machine, which others may use as well.
fn of_machine(build: &mut Build<'_>, (name, at): (&str, NodeId), key: &str, dimension: Dimension) -> InputId {
    let entry = build.description.machines.get(name);
    let stated = match entry.and_then(|entry| entry.read()) {
        Some(Machine::PermanentMagnet(magnet)) => {
            let axes = magnet.inductance.as_ref();
            match key {
                "flux_linkage" => build.stated(magnet.flux_linkage.as_ref(), Some(at), |flux| flux.si()),
                "inductance.q" => {
                    build.stated(axes.and_then(|axes| axes.q.as_ref()), Some(at), |henry| henry.si())
                }
                _ => build.stated(axes.and_then(|axes| axes.d.as_ref()), Some(at), |henry| henry.si()),
            }
        }
        Some(Machine::Induction(induction)) => {
            build.stated(induction.leakage_inductance.as_ref(), Some(at), |henry| henry.si())
        }
        None => match entry {
            Some(entry) => broken(entry.value),
            None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
        },
    };
    let path = format!("machines.{name}.{key}");
    shared(build, &path, &path, dimension, stated)
}

/// The trip of a stage, where it states one or what reads its currents.
fn current_trip(build: &mut Build<'_>, stage: usize) -> Option<CurrentTrip> {
    let of = &build.plan.stages[stage];
    let (name, at) = {
        let part = build.tables.part_of(of.part);
        (part.path.clone(), part.at)
    };
    let (sensing, level, own) = match build.description.stages.entry(&name)? {
        Written::ThreePhaseBridge(bridge) => {
            let sensing = bridge.current_sensing.as_ref();
            if bridge.trip.is_none() && sensing.is_none() {
                return None;
            }
            let stated = build.stated(bridge.trip.as_ref(), Some(at), |amps| amps.si());
            let path = format!("stages.{name}.trip");
            let level = shared(build, &path, &path, Dimension::Current, stated);
            (sensing, level, phase_inductance(build, stage, &name, at))
        }
        Written::Boost(boost) => choke_trip(build, stage, boost.current_sensing.as_ref())?,
        Written::Buck(buck) => choke_trip(build, stage, buck.current_sensing.as_ref())?,
        Written::PhaseShiftedFullBridge(_) | Written::ActiveClampForward(_) => return None,
    };
    let range = build.stated(sensing.and_then(|own| own.range.as_ref()), Some(at), |amps| amps.si());
    let tolerance = sensing.and_then(|own| own.trip_tolerance.as_ref());
    let tolerance = build.stated_or(tolerance, at, &defaults::CURRENT_TRIP_TOLERANCE, |share| share.value());
    let delay = build.stated(sensing.and_then(|own| own.trip_delay.as_ref()), Some(at), |time| time.si());
    let fault = sensing.and_then(|own| own.fault_inductance.as_ref());
    let said = format!("stages.{name}.current_sensing");
    let inductance = match fault {
        Some(henry) => {
            let stated = build.stated(Some(henry), None, |henry| henry.si());
            build.tables.input(format!("{said}.fault_inductance"), Dimension::Inductance, stated)
        }
        None => own,
    };
    let range = build.tables.limit(format!("{said}.range"), Dimension::Current, range);
    let tolerance = build.tables.input(format!("{said}.trip_tolerance"), Dimension::Ratio, tolerance);
    let delay = build.tables.input(format!("{said}.trip_delay"), Dimension::Time, delay);
    let part = build.plan.stages[stage].part;
    let seats = seats(build, stage);
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
    Some(CurrentTrip {
        stage,
        level,
        tolerance,
        delay,
        acting: None,
        range,
        inductance,
        is_fault_stated: fault.is_some(),
        normal: figure("highest_service_current"),
        lowest: figure("lowest_trip_current"),
        highest: figure("highest_trip_current"),
        turned_off: figure("tripped_current"),
        seats,
    })
}

type Tripped<'d> = (Option<&'d CurrentSensing>, InputId, InputId);

/// The trip of the choke of a chopper, and what holds its current back.
fn choke_trip<'d>(
    build: &Build<'_>,
    stage: usize,
    sensing: Option<&'d CurrentSensing>,
) -> Option<Tripped<'d>> {
    let of = &build.plan.stages[stage];
    let Topology::Chopper(chopper) = &of.topology else { return None };
    // A choke without a trip has none to be held against.
    let level = of.magnetics.iter().find_map(|&magnetic| build.plan.magnetics[magnetic].core.trip)?;
    Some((sensing, level, chopper.inputs.inductance))
}

/// The smaller inductance of a phase of the machine at a bridge, or what would state it.
fn phase_inductance(build: &mut Build<'_>, stage: usize, name: &str, at: NodeId) -> InputId {
    let bridge = build.plan.stages[stage].bridge();
    if let Some(known) = bridge.and_then(|bridge| bridge.inputs.inductance) {
        return known;
    }
    let Some(machine) = bridge.and_then(|bridge| bridge.machine) else {
        let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
        let path = format!("stages.{name}.feeds");
        return shared(build, &path, &path, Dimension::Inductance, stated);
    };
    let (machine, at) = {
        let part = build.tables.part_of(machine);
        (part.path.clone(), part.at)
    };
    let key = match build.description.machines.entry(&machine) {
        Some(Machine::Induction(_)) => "leakage_inductance",
        _ => "inductance.d",
    };
    of_machine(build, (&machine, at), key, Dimension::Inductance)
}

/// Kinds of position with a transistor.
fn seats(build: &mut Build<'_>, stage: usize) -> Vec<TrippedSeat> {
    let of = &build.plan.stages[stage];
    let mut seats = Vec::new();
    for withstand in &of.withstands {
        let first = of.positions.iter().find(|position| position.seat == withstand.seat);
        let chips = first.map_or(0..0, |position| position.chips.clone());
        let transistor = build.plan.chips[chips].iter().find(|chip| chip.kind != ChipKind::Diode);
        let Some(transistor) = transistor else { continue };
        seats.push(TrippedSeat {
            part: withstand.part,
            seat: withstand.seat,
            repetitive_peak: transistor.inputs.repetitive_peak,
            each: build.tables.figure_if_asked(withstand.part, "tripped_current", Dimension::Current),
        });
    }
    seats
}
