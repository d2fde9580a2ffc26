//! Gates with the driver and the output that drive them, wherever a description says how gates are driven.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::Description;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::drivers::{Driver, ShortCircuit};
use loadworthy_language::sections::gate_supplies::GateSupply as Written;
use loadworthy_source::NodeId;

use crate::build::bank::shared;
use crate::build::gate_sheet::GateSheet;
use crate::build::{Build, assumed, bootstrap, broken, dead_time, gates};
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Channel, GateDrive, GateDriveFigures, GateFeed, GateResistors, Rails, Role};
use crate::table::Stated;

/// A position with a gate: its stage in the plan, and its place in the stage.
type Gate = (usize, usize);

/// Adds what drives each gate, the outputs with all that they feed, dead times and bootstraps.
pub(crate) fn join(build: &mut Build<'_>) {
    if !is_described(build.description) {
        return;
    }
    let driven = driven(build);
    let mut fed: BTreeMap<Gate, usize> = BTreeMap::new();
    for (supply, of) in build.plan.gate_supplies.iter().enumerate() {
        fed.extend(of.alone().map(|gate| (gate, supply)));
    }
    let bare_of_driver = bare(build, |gate| driven.contains_key(&gate));
    let bare_of_output = bare(build, |gate| fed.contains_key(&gate));
    for stage in 0..build.plan.stages.len() {
        let groups = groups(build, stage, &driven, &fed);
        let is_driven = groups.iter().any(|group| group.driver.is_some());
        let is_fed = groups.iter().any(|group| group.supply.is_some());
        let lacks = Lacks {
            driver: match &bare_of_driver {
                Some(names) if !is_driven => Some(names.clone()),
                _ => lacking(build, stage, |place| driven.contains_key(&(stage, place))),
            },
            output: match &bare_of_output {
                Some(names) if !is_fed => Some(names.clone()),
                _ => lacking(build, stage, |place| fed.contains_key(&(stage, place))),
            },
        };
        for group in groups {
            let drive = drive(build, stage, group, &lacks);
            fit(build, &drive);
            build.plan.gate_drives.push(drive);
        }
    }
    feeds(build);
    dead_time::join(build);
    bootstrap::join(build);
}

/// Tells the chips of a drive what resistance turns them on, where their data sheet states none.
fn fit(build: &mut Build<'_>, drive: &GateDrive) {
    let fitted = GateResistors {
        outside: drive.channel.turn_on_resistor,
        for_each: drive.channel.resistor_for_each,
        internal: drive.gate.internal,
    };
    for &position in &drive.positions {
        let chips = build.plan.stages[drive.stage].positions[position].chips.clone();
        for chip in &mut build.plan.chips[chips] {
            let Some(threshold) = &mut chip.sharing_inputs.threshold else { continue };
            let stated = build.tables.input_of(threshold.resistance).values[0].origin;
            if matches!(stated, Origin::Absent { .. }) {
                threshold.fitted = Some(fitted);
            }
        }
    }
}

/// Whether a description says more of gate drives than which output feeds what.
fn is_described(description: &Description) -> bool {
    let says = |supply: &Written| {
        [supply.on.is_some(), supply.off.is_some(), supply.power.is_some(), supply.bootstrap.is_some()]
            .contains(&true)
            || supply.bootstrap_from.is_some()
    };
    let drives = |driver: Option<&Driver>| driver.is_none_or(Driver::says_how);
    description.drivers.void
        || description.drivers.values().any(|entry| drives(entry.read()))
        || description.gate_supplies.readable().any(|(.., one)| says(one))
}

/// The driver of each gate, as its place in the section; of a gate that two drive neither counts.
fn driven(build: &Build<'_>) -> BTreeMap<Gate, usize> {
    let gates = gates::gates(build);
    let mut driven = BTreeMap::new();
    let mut fought = BTreeSet::new();
    let is_exchanged =
        |place: usize| build.plan.exchanged_drivers.iter().any(|one| one.places.contains(&place));
    for (place, (_, entry)) in build.description.drivers.iter().enumerate() {
        if is_exchanged(place) {
            continue;
        }
        let drives = entry.read().and_then(|driver| driver.drives.as_ref());
        for name in drives.iter().flat_map(|drives| &drives.value) {
            for &gate in gates.get(name.value.as_str()).into_iter().flatten() {
                if *driven.entry(gate).or_insert(place) != place {
                    fought.insert(gate);
                }
            }
        }
    }
    driven.retain(|gate, _| !fought.contains(gate));
    driven
}

/// Positions of one kind with one driver and one output.
struct Group {
    seat: usize,
    driver: Option<usize>,
    supply: Option<usize>,
    positions: Vec<usize>,
}

fn groups(
    build: &Build<'_>,
    stage: usize,
    driven: &BTreeMap<Gate, usize>,
    fed: &BTreeMap<Gate, usize>,
) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (place, position) in build.plan.stages[stage].positions.iter().enumerate() {
        if position.gate.is_none() {
            continue;
        }
        let gate = (stage, place);
        let (seat, driver, supply) = (position.seat, driven.get(&gate).copied(), fed.get(&gate).copied());
        let alike = |group: &&mut Group| (group.seat, group.driver, group.supply) == (seat, driver, supply);
        match groups.iter_mut().find(alike) {
            Some(group) => group.positions.push(place),
            None => groups.push(Group { seat, driver, supply, positions: vec![place] }),
        }
    }
    groups
}

/// Stages of which no gate is driven, or fed, in a few words, where there are several: they lack one entry, as far as anyone can tell.
fn bare(build: &Build<'_>, is_known: impl Fn(Gate) -> bool) -> Option<String> {
    const NAMED: usize = 4;
    let is_bare = |&s: &usize| {
        let positions = build.plan.stages[s].positions.iter().enumerate();
        let mut gates = positions.filter(|(_, position)| position.gate.is_some()).peekable();
        gates.peek().is_some() && gates.all(|(p, _)| !is_known((s, p)))
    };
    let stages: Vec<usize> = (0..build.plan.stages.len()).filter(is_bare).collect();
    let names =
        stages.iter().take(NAMED).map(|&s| build.tables.part_of(build.plan.stages[s].part).path.as_str());
    let names = names.collect::<Vec<_>>().join(", ");
    match stages.len() {
        0 | 1 => None,
        few if few <= NAMED => Some(names),
        many => Some(format!("{names} and {} more", many - NAMED)),
    }
}

/// The gates that nothing drives, and those that nothing feeds, in a few words; none where that is a whole stage.
struct Lacks {
    driver: Option<String>,
    output: Option<String>,
}

/// The gates of a stage that are not known, a whole kind of position by its own name; none where that is all or nothing.
fn lacking(build: &Build<'_>, stage: usize, is_known: impl Fn(usize) -> bool) -> Option<String> {
    let of = &build.plan.stages[stage];
    let gates: Vec<usize> = (0..of.positions.len()).filter(|&p| of.positions[p].gate.is_some()).collect();
    let open: Vec<usize> = gates.iter().copied().filter(|&place| !is_known(place)).collect();
    if open.is_empty() || open.len() == gates.len() {
        return None;
    }
    let name = |part: PartId| build.tables.part_of(part).path.clone();
    let mut names: Vec<String> = Vec::new();
    for (seat, key) in of.seats.iter().enumerate().map(|(place, seat)| (place, seat.key)) {
        let own = |all: &[usize]| all.iter().copied().filter(|&p| of.positions[p].seat == seat).collect();
        let (all, lacks): (Vec<usize>, Vec<usize>) = (own(&gates), own(&open));
        if !lacks.is_empty() && all.len() == lacks.len() {
            names.push(format!("{}.{key}", name(of.part)));
        } else {
            names.extend(lacks.iter().map(|&p| name(of.positions[p].part)));
        }
    }
    Some(names.join(", "))
}

fn drive(build: &mut Build<'_>, stage: usize, group: Group, lacks: &Lacks) -> GateDrive {
    let Group { seat, driver, supply, positions } = group;
    let of = &build.plan.stages[stage];
    let first = &of.positions[positions[0]];
    let role = first.role;
    let withstand = of.withstands.iter().position(|one| one.seat == seat).unwrap_or_default();
    let all = of.positions.iter().filter(|position| position.seat == seat).count();
    let part = match of.withstands.get(withstand) {
        Some(whole) if positions.len() == all => whole.part,
        _ => first.part,
    };
    let known = build.plan.chips.get(first.chips.start).and_then(|chip| chip.sharing_inputs.threshold);
    let sheet = GateSheet::of(build, stage, seat);
    let withstands = sheet.withstands();
    let gate = sheet.inputs(build, known);
    let entry = driver.and_then(|driver| build.description.drivers.get_index(driver));
    let read = entry.and_then(|(name, entry)| Some((name.as_str(), entry.key, entry.read()?)));
    let notices = read.is_some_and(|(_, _, driver)| driver.short_circuit.is_some());
    let channel = match read {
        Some(read) => channel(build, read),
        None => {
            let missing = undriven(build, stage, lacks.driver.as_deref());
            Channel {
                turn_on_resistor: missing,
                turn_off_resistor: missing,
                clamp: None,
                resistor_for_each: missing,
                peak_current: None,
                own_power: missing,
                undervoltage: missing,
                blanking: missing,
                filter: missing,
                delay: missing,
                turn_off: missing,
            }
        }
    };
    let is_bootstrap = supply.is_some_and(|supply| build.plan.gate_supplies[supply].bootstrap_from.is_some());
    let rails = rails(build, stage, supply, lacks.output.as_deref());
    let turns_a_bus_off =
        matches!(role, Role::HighSide | Role::LowSide | Role::BridgeHigh | Role::BridgeLow | Role::Main);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = GateDriveFigures {
        charge: figure("gate_charge", Dimension::Charge),
        power: figure("gate_power", Dimension::Power),
        peak_current: figure("gate_current", Dimension::Current),
        highest: figure("highest_gate_voltage", Dimension::Voltage),
        below_zero: figure("gate_voltage_below_zero", Dimension::Voltage),
        below_zero_limit: figure("gate_limit_below_zero", Dimension::Voltage),
        rail_fall: figure("gate_rail_fall", Dimension::Voltage),
        lockout_distance: figure("lockout_distance", Dimension::Voltage),
        shortfall: figure("drive_level_shortfall", Dimension::Voltage),
        lowest: figure("lowest_gate_voltage", Dimension::Voltage),
        linear_level: figure("linear_gate_level", Dimension::Voltage),
        lift: figure("held_off_lift", Dimension::Voltage),
        lift_limit: figure("held_off_distance", Dimension::Voltage),
        reaction: figure("short_circuit_reaction", Dimension::Time),
        withstand: figure("short_circuit_withstand", Dimension::Time),
        turn_on_time: figure("turn_on_time", Dimension::Time),
        on_resistance: figure("turn_on_gate_resistance", Dimension::Resistance),
        off_resistance: figure("turn_off_gate_resistance", Dimension::Resistance),
        apart: figure("gate_resistance_factor", Dimension::Ratio),
        turn_off_delay: figure("turn_off_delay", Dimension::Time),
        turn_on_delay: figure("turn_on_delay", Dimension::Time),
    };
    GateDrive {
        part,
        stage,
        seat,
        withstand,
        positions,
        driver,
        supply,
        is_bootstrap,
        may_short: turns_a_bus_off && (withstands || notices),
        rails,
        gate,
        channel,
        figures,
    }
}

/// What would have to say who drives the gates of a stage.
fn undriven(build: &mut Build<'_>, stage: usize, gates: Option<&str>) -> InputId {
    let drivers = &build.description.drivers;
    let unread = drivers.iter().find(|(_, entry)| entry.read().is_none());
    let unsaid = drivers.readable().find(|(_, _, driver)| driver.drives.is_none());
    let of = build.tables.part_of(build.plan.stages[stage].part);
    let absent = |near| Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    let (path, stated) = match (drivers.at.filter(|_| drivers.void), unread, unsaid) {
        (Some(at), ..) => ("drivers".to_owned(), broken(at)),
        (_, Some((name, entry)), _) => (format!("drivers.{name}"), broken(entry.value)),
        (_, _, Some((name, entry, _))) => (format!("drivers.{name}.drives"), absent(entry.key)),
        // Without any driver it is the section that is missing, for whoever asks.
        _ if drivers.is_empty() && drivers.at.is_none() => ("drivers".to_owned(), absent(of.at)),
        _ => (format!("drivers: one that drives {}", gates.unwrap_or(&of.path)), absent(of.at)),
    };
    shared(build, &path, &path, Dimension::Ratio, stated)
}

/// What would have to say what feeds the gates of a stage.
fn unfed(build: &mut Build<'_>, stage: usize, gates: Option<&str>) -> InputId {
    let supplies = &build.description.gate_supplies;
    let unread = supplies.iter().find(|(_, entry)| entry.read().is_none());
    let of = build.tables.part_of(build.plan.stages[stage].part);
    let absent = |near| Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    let unsaid = supplies.readable().find(|(_, _, supply)| supply.feeds.is_none());
    let (path, stated) = match (supplies.at.filter(|_| supplies.void), unread, unsaid) {
        (Some(at), ..) => ("gate_supplies".to_owned(), broken(at)),
        // Without any output it is the section that is missing, for whoever asks.
        _ if supplies.at.is_none() => (
            "gate_supplies".to_owned(),
            Stated { value: f64::NAN, origin: Origin::Absent { near: build.description.stages.at } },
        ),
        (_, Some((name, entry)), _) => (format!("gate_supplies.{name}"), broken(entry.value)),
        (_, _, Some((name, entry, _))) => (format!("gate_supplies.{name}.feeds"), absent(entry.key)),
        _ => (format!("gate_supplies: one that feeds {}", gates.unwrap_or(&of.path)), absent(of.at)),
    };
    shared(build, &path, &path, Dimension::Ratio, stated)
}

/// A number that an entry states, or should.
fn number<T>(
    build: &mut Build<'_>,
    path: String,
    dimension: Dimension,
    (given, near): (Option<&Given<T>>, NodeId),
    si: impl Fn(&T) -> f64,
) -> InputId {
    let stated = build.stated(given, Some(near), si);
    shared(build, &path, &path, dimension, stated)
}

fn channel(build: &mut Build<'_>, (name, at, driver): (&str, NodeId, &Driver)) -> Channel {
    let said = format!("drivers.{name}");
    macro_rules! number {
        ($key:ident, $dimension:ident) => {
            number(
                build,
                format!("{said}.{}", stringify!($key)),
                Dimension::$dimension,
                (driver.$key.as_ref(), at),
                |amount| amount.si(),
            )
        };
    }
    let each = match &driver.resistor_for_each {
        Some(each) => Stated { value: f64::from(u8::from(each.value)), origin: build.written(each.at) },
        None => assumed(&defaults::OWN_GATE_RESISTORS, at),
    };
    let of_each = format!("{said}.resistor_for_each");
    let [blanking, filter, delay, turn_off] = times(build, &said, at, driver.short_circuit.as_ref());
    let has_clamp = driver.clamp_resistance.is_some();
    // A driver that states what its gates are driven through is asked for what it gives.
    let asks_peak = driver.peak_current.is_some() || driver.turn_on_resistor.is_some();
    Channel {
        turn_on_resistor: number!(turn_on_resistor, Resistance),
        turn_off_resistor: number!(turn_off_resistor, Resistance),
        clamp: has_clamp.then(|| number!(clamp_resistance, Resistance)),
        resistor_for_each: shared(build, &of_each, &of_each, Dimension::Ratio, each),
        peak_current: asks_peak.then(|| number!(peak_current, Current)),
        own_power: number!(own_power, Power),
        undervoltage: number!(undervoltage, Voltage),
        blanking,
        filter,
        delay,
        turn_off,
    }
}

/// Times of a protection, in the order in which they pass.
fn times(build: &mut Build<'_>, said: &str, at: NodeId, short: Option<&ShortCircuit>) -> [InputId; 4] {
    let said = format!("{said}.short_circuit");
    let Some(short) = short else {
        let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
        return [shared(build, &said, &said, Dimension::Time, stated); 4];
    };
    let keys = [
        ("blanking", &short.blanking),
        ("filter", &short.filter),
        ("delay", &short.delay),
        ("turn_off", &short.turn_off),
    ];
    keys.map(|(key, given)| {
        number(build, format!("{said}.{key}"), Dimension::Time, (given.as_ref(), at), |time| time.si())
    })
}

/// What an output gives; a bootstrap gives what it is charged from, and nothing below zero.
fn rails(build: &mut Build<'_>, stage: usize, supply: Option<usize>, unfed_gates: Option<&str>) -> Rails {
    let supplies = &build.description.gate_supplies;
    let named = |place: usize| {
        let (name, entry) = supplies.get_index(place)?;
        Some((name.as_str(), entry.key, entry.read()?))
    };
    let Some((supply, (name, at, read))) = supply.and_then(|place| Some((place, named(place)?))) else {
        let missing = unfed(build, stage, unfed_gates);
        return Rails { on: missing, off: missing, tolerance: missing };
    };
    let from = build.plan.gate_supplies[supply].bootstrap_from.and_then(named);
    // What a bootstrap does not say of itself is said of the output that charges it.
    let source = |says: bool| if says { None } else { from };
    let (of, near, given) = source(read.on.is_some()).unwrap_or((name, at, read));
    let on_path = format!("gate_supplies.{of}.drive_on");
    let on = number(build, on_path, Dimension::Voltage, (given.on.as_ref(), near), |volts| volts.si());
    let off = match (&read.off, from) {
        (None, Some(_)) => assumed(&defaults::BOOTSTRAP_OFF, at),
        (given, _) => build.stated(given.as_ref(), Some(at), |volts| volts.si()),
    };
    let off_path = format!("gate_supplies.{name}.drive_off");
    let off = shared(build, &off_path, &off_path, Dimension::Voltage, off);
    let (of, near, given) = source(read.tolerance.is_some()).unwrap_or((name, at, read));
    Rails { on, off, tolerance: tolerance(build, of, near, given) }
}

/// How far the voltages of an output lie off.
pub(crate) fn tolerance(build: &mut Build<'_>, name: &str, at: NodeId, supply: &Written) -> InputId {
    let stated =
        build.stated_or(supply.tolerance.as_ref(), at, &defaults::GATE_RAIL_TOLERANCE, |share| share.value());
    let path = format!("gate_supplies.{name}.tolerance");
    shared(build, &path, &path, Dimension::Ratio, stated)
}

/// Outputs with all that takes power from them, bootstraps that they charge included.
fn feeds(build: &mut Build<'_>) {
    let section = &build.description.gate_supplies;
    for (supply, (name, entry)) in section.iter().enumerate() {
        let Some(read) = entry.read() else { continue };
        let supplies = &build.plan.gate_supplies;
        let charges = |other: usize| supplies[other].bootstrap_from == Some(supply);
        let drives: Vec<usize> = (0..build.plan.gate_drives.len())
            .filter(|&drive| {
                build.plan.gate_drives[drive].supply.is_some_and(|by| by == supply || charges(by))
            })
            .collect();
        // A bootstrap has no power but what charges it.
        let is_own = supplies[supply].bootstrap_from.is_none() || read.power.is_some();
        if drives.is_empty() || !is_own {
            continue;
        }
        let part = supplies[supply].part;
        let power = build.stated(read.power.as_ref(), Some(entry.key), |watts| watts.si());
        let power = build.tables.limit(format!("gate_supplies.{name}.power"), Dimension::Power, power);
        let efficiency = read.efficiency.as_ref().map(|share| {
            let stated = build.stated(Some(share), Some(entry.key), |share| share.value());
            build.tables.input(format!("gate_supplies.{name}.efficiency"), Dimension::Ratio, stated)
        });
        let asked = build.tables.figure_if_asked(part, "gate_power", Dimension::Power);
        let taken = efficiency.map(|_| build.tables.figure_if_asked(part, "power_taken", Dimension::Power));
        build.plan.gate_feeds.push(GateFeed { supply, drives, power, efficiency, asked, taken });
    }
}
