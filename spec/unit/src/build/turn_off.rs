//! Positions that turn a current off between the rails of a bus, wherever a description speaks of their loop.

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::devices::{Circuit, Device, Transistor};
use loadworthy_language::sections::stages::Stage as Written;
use loadworthy_physics::Time;
use loadworthy_source::NodeId;

use crate::build::bank::{missing_bank, shared};
use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::plan::{Role, TurnOff, TurnOffFigures};
use crate::solver::Late;
use crate::table::Stated;

/// Adds every kind of position whose bus states the inductance of its bars, or has a bank where its device states its
/// fall time.
pub(crate) fn join(build: &mut Build<'_>) {
    for stage in 0..build.plan.stages.len() {
        for withstand in 0..build.plan.stages[stage].withstands.len() {
            if let Some(turn_off) = turn_off(build, stage, withstand) {
                build.plan.turn_offs.push(turn_off);
            }
        }
    }
}

/// The device of a kind of position.
struct Sheet<'d> {
    path: String,
    entry: &'d SectionEntry<Device>,
}

impl<'d> Sheet<'d> {
    fn of(build: &Build<'d>, stage: usize, seat: usize) -> Option<Self> {
        let name = build.plan.stages[stage].seats[seat].fitted.as_ref()?;
        let entry = build.description.devices.get(name)?;
        Some(Self { path: format!("devices.{name}"), entry })
    }

    fn fall(&self) -> Option<&'d Given<Time>> {
        match self.entry.read()?.transistor.as_ref()? {
            Transistor::Igbt(igbt) => igbt.current_fall_time.as_ref(),
            Transistor::Mosfet(mosfet) => mosfet.current_fall_time.as_ref(),
        }
    }

    fn circuit(&self) -> Circuit {
        let package = self.entry.read().and_then(|device| device.package.as_ref());
        package.and_then(|package| package.circuit.as_ref()).map_or(Circuit::Single, |circuit| circuit.value)
    }

    /// An input that all positions with this device share.
    fn input(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        let stated = if self.entry.read().is_none() { broken(self.entry.value) } else { stated };
        let path = format!("{}.{key}", self.path);
        let input = shared(build, &path, &path, dimension, stated);
        build.tables.read_by(Late::TurnOff, input)
    }

    /// Inductance of its package.
    fn inductance(&self, build: &mut Build<'_>) -> InputId {
        let package = self.entry.read().and_then(|device| device.package.as_ref());
        let given = package.and_then(|package| package.inductance.as_ref());
        let stated = build.stated(given, Some(self.entry.key), |henry| henry.si());
        self.input(build, "package.inductance", Dimension::Inductance, stated)
    }
}

fn turn_off(build: &mut Build<'_>, stage: usize, withstand: usize) -> Option<TurnOff> {
    let of = &build.plan.stages[stage].withstands[withstand];
    let (seat, role, part, bus) = (of.seat, of.role, of.part, of.bus);
    let other_role = match role {
        Role::HighSide => Role::LowSide,
        Role::LowSide => Role::HighSide,
        Role::BridgeHigh => Role::BridgeLow,
        Role::BridgeLow => Role::BridgeHigh,
        // What resets a transformer or rectifies turns off against its leakage.
        Role::Rectifier | Role::Main | Role::Clamp | Role::Forward | Role::Freewheel => return None,
    };
    let sheet = Sheet::of(build, stage, seat)?;
    let transistor = match sheet.entry.read() {
        // A diode alone turns nothing off.
        Some(device) => Some(device.transistor.as_ref()?),
        None => None,
    };
    let bus = build.tables.part_of(build.plan.buses[bus?].part);
    let (bus_name, bus_at) = (bus.path.clone(), bus.at);
    let loop_of = build.description.buses.entry(&bus_name).and_then(|bus| bus.loop_inductance.as_ref());
    let bars = loop_of.and_then(|loop_of| loop_of.bars.as_ref());
    let no_bank = no_bank(build, &bus_name, bus_at);
    // A description that speaks of no loop and of no fall time asks nothing of them.
    if bars.is_none() && sheet.fall().is_none() {
        return None;
    }
    let bars = build.stated(bars, Some(bus_at), |henry| henry.si());
    let path = format!("buses.{bus_name}.loop_inductance.bars");
    let bars = shared(build, &path, &path, Dimension::Inductance, bars);
    let packages = packages(build, stage, (seat, &sheet), other_role);
    let fall = build.stated(sheet.fall(), Some(sheet.entry.key), |time| time.si());
    let fall = sheet.input(build, "transistor.current_fall_time", Dimension::Time, fall);
    let (capacitance, growth) = match transistor {
        Some(Transistor::Mosfet(mosfet)) => {
            (mosfet.output_capacitance.as_ref(), mosfet.blocking_temperature_coefficient.as_ref())
        }
        Some(Transistor::Igbt(igbt)) => (None, igbt.blocking_temperature_coefficient.as_ref()),
        None => (None, None),
    };
    let near = sheet.entry.key;
    let capacitance = build.stated_or(capacitance, near, &defaults::OUTPUT_CAPACITANCE, |farad| farad.si());
    let capacitance =
        sheet.input(build, "transistor.output_capacitance", Dimension::Capacitance, capacitance);
    let growth = build.stated_or(growth, near, &defaults::COLD_BLOCKING, |growth| growth.value());
    let per_kelvin =
        sheet.input(build, "transistor.blocking_temperature_coefficient", Dimension::PerKelvin, growth);
    let coldest = build.surrounding(|air| air.coldest.as_ref(), Some(bus_at), |celsius| celsius.in_celsius());
    let key = "surroundings.coldest of devices";
    let coldest = shared(build, key, "surroundings.coldest", Dimension::Temperature, coldest);
    let trip = trip(build, stage);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = TurnOffFigures {
        inductance: figure("loop_inductance", Dimension::Inductance),
        current: figure("turn_off_current", Dimension::Current),
        plateau: figure("turn_off_voltage", Dimension::Voltage),
        undamped: figure("undamped_turn_off_voltage", Dimension::Voltage),
        blocks: figure("cold_blocking_voltage", Dimension::Voltage),
    };
    let rings = matches!(transistor, Some(Transistor::Mosfet(_)));
    Some(TurnOff {
        stage,
        withstand,
        rings,
        bars,
        no_bank,
        packages,
        fall,
        capacitance,
        per_kelvin,
        coldest,
        trip,
        tripped: None,
        figures,
    })
}

/// What is missing where no bank stands on a bus.
fn no_bank(build: &mut Build<'_>, bus: &str, at: NodeId) -> Option<InputId> {
    let place = build.places.buses.get(bus).copied()?;
    if !build.plan.buses[place].ripple.banks.is_empty() {
        return None;
    }
    Some(missing_bank(build, bus, at))
}

/// Packages that the current crosses: one that holds the whole leg, or one of each side.
fn packages(
    build: &mut Build<'_>,
    stage: usize,
    (seat, own): (usize, &Sheet<'_>),
    other_role: Role,
) -> Vec<(InputId, InputId)> {
    let of = &build.plan.stages[stage];
    let parallel = of.seats[seat].parallel;
    let other = of.withstands.iter().find(|one| one.role == other_role).map(|one| one.seat);
    let its_parallel = other.map(|seat| of.seats[seat].parallel);
    let is_same = other.is_some_and(|other| of.seats[other].fitted == of.seats[seat].fitted);
    let mut all = vec![(own.inductance(build), parallel)];
    let is_one = is_same && own.circuit() != Circuit::Single;
    if !is_one
        && let Some(other) = other
        && let Some(sheet) = Sheet::of(build, stage, other)
    {
        let inductance = sheet.inductance(build);
        all.push((inductance, its_parallel.unwrap_or(parallel)));
    }
    all
}

/// Current at which a stage is switched off: of a bridge its own, of a chopper that of its choke.
fn trip(build: &mut Build<'_>, stage: usize) -> Option<InputId> {
    let of = &build.plan.stages[stage];
    let name = build.tables.part_of(of.part).path.clone();
    match build.description.stages.entry(&name)? {
        Written::ThreePhaseBridge(bridge) => {
            let given = bridge.trip.as_ref()?;
            let stated = build.stated(Some(given), None, |amps| amps.si());
            let path = format!("stages.{name}.trip");
            Some(shared(build, &path, &path, Dimension::Current, stated))
        }
        Written::Boost(_) | Written::Buck(_) => {
            of.magnetics.iter().find_map(|&magnetic| build.plan.magnetics[magnetic].core.trip)
        }
        Written::PhaseShiftedFullBridge(_) | Written::ActiveClampForward(_) => None,
    }
}
