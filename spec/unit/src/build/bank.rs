//! Capacitor banks on their buses, and which stages send ripple into them.

use std::collections::BTreeMap;

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::capacitors::{Bank as Written, Capacitor, CapacitorType};
use loadworthy_source::NodeId;

use crate::build::power::place_of;
use crate::build::{Build, assumed, broken};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    Bank, BankFigures, CapacitorInputs, Life, Plan, RippleFigures, RippleTerm, Stage, Synchronised, Topology,
};
use crate::table::Stated;

/// Adds every bank, the stages that send ripple to its bus, and which carriers follow which.
pub(crate) fn banks(build: &mut Build<'_>) {
    synchronised(build);
    let description = build.description;
    for (name, entry, capacitor) in description.capacitors.readable() {
        let Capacitor::Bank(written) = capacitor else { continue };
        if written.bus.is_none() {
            let part = build.tables.part(name.to_owned(), entry.key, None);
            let unsaid = bus_of(build, name, entry.key);
            build.plan.adrift.push((part, unsaid));
        }
        let Some(named) = &written.bus else { continue };
        match place_of(build, Some(&named.value)) {
            Some(bus) => {
                let bank = bank(build, name, entry.key, written);
                build.plan.banks.push(bank);
                let place = build.plan.banks.len() - 1;
                build.plan.buses[bus].ripple.banks.push(place);
            }
            None => unread(build, (name, entry.key), named.at, None),
        }
    }
    let section = &description.capacitors;
    for (name, entry) in section.unread() {
        let word = |key: &str| {
            let value = build.tree.value_at(entry.value, &[key])?;
            Some(build.tree.scalar(value)?.text)
        };
        if word("kind") != Some("suppression") {
            let bus = place_of(build, word("bus"));
            unread(build, (name, entry.key), entry.value, bus);
        }
    }
    if let Some(at) = section.at.filter(|_| section.void) {
        unread(build, ("capacitors", at), at, None);
    }
    build.plan.capacitors_read = !section.void && section.iter().all(|(_, entry)| entry.read().is_some());
    for bus in 0..build.plan.buses.len() {
        if build.plan.buses[bus].ripple.banks.is_empty() {
            continue;
        }
        let terms = terms(&build.plan, bus);
        let part = build.plan.buses[bus].part;
        let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
        let figures = RippleFigures {
            current: figure("ripple_current", Dimension::Current),
            voltage: figure("ripple_voltage", Dimension::Voltage),
            largest_share: figure("largest_ripple_share", Dimension::Ratio),
        };
        let ripple = &mut build.plan.buses[bus].ripple;
        (ripple.terms, ripple.figures) = (terms, Some(figures));
    }
}

/// A bank of which nothing could be read, on its bus, or on every one where that is not known either: what it adds there is open.
fn unread(build: &mut Build<'_>, (name, key): (&str, NodeId), value: NodeId, bus: Option<usize>) {
    let part = build.tables.part(name.to_owned(), key, None);
    let path = if name == "capacitors" { name.to_owned() } else { format!("capacitors.{name}") };
    let open = build.tables.input(path, Dimension::Capacitance, broken(value));
    let each = CapacitorInputs {
        capacitance: open,
        tolerance: open,
        voltage: open,
        ripple_current: open,
        series_resistance: open,
        inductance: open,
        thermal_resistance: open,
        hottest: open,
    };
    let figures = figures(build, part);
    let (parts, path_inductance, path_resistance, air) = (open, open, open, open);
    build.plan.banks.push(Bank {
        part,
        parts,
        each,
        path_inductance,
        path_resistance,
        air,
        life: None,
        figures,
    });
    let place = build.plan.banks.len() - 1;
    let buses = match bus {
        Some(bus) => &mut build.plan.buses[bus..=bus],
        None => &mut build.plan.buses[..],
    };
    buses.iter_mut().for_each(|bus| bus.ripple.banks.push(place));
}

fn figures(build: &mut Build<'_>, part: PartId) -> BankFigures {
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    BankFigures {
        ripple_current: figure("ripple_current", Dimension::Current),
        each_ripple: figure("capacitor_ripple_current", Dimension::Current),
        loss: figure("capacitor_loss", Dimension::Power),
        hot_spot: figure("hot_spot_temperature", Dimension::Temperature),
        peak_voltage: figure("peak_voltage", Dimension::Voltage),
    }
}

fn bank(build: &mut Build<'_>, name: &str, at: NodeId, written: &Written) -> Bank {
    let part = build.tables.part(name.to_owned(), at, None);
    let said = format!("capacitors.{name}");
    let parts = match &written.parts {
        Some(parts) => Stated { value: f64::from(parts.value), origin: build.written(parts.at) },
        None => assumed(&defaults::BANK_PARTS, at),
    };
    let parts = build.tables.input(format!("{said}.parts"), Dimension::Ratio, parts);
    let path = written.path.as_ref();
    let inductance =
        build.stated(path.and_then(|path| path.inductance.as_ref()), Some(at), |henry| henry.si());
    let resistance = path.and_then(|path| path.resistance.as_ref());
    let resistance = build.stated_or(resistance, at, &defaults::BANK_PATH_RESISTANCE, |ohms| ohms.si());
    let path_inductance =
        build.tables.input(format!("{said}.path.inductance"), Dimension::Inductance, inductance);
    let path_resistance =
        build.tables.input(format!("{said}.path.resistance"), Dimension::Resistance, resistance);
    let each = each(build, &said, at, written);
    let air = build.surrounding(|air| air.inside_air.as_ref(), Some(at), |celsius| celsius.in_celsius());
    let air = shared(
        build,
        "surroundings.inside_air of capacitors",
        "surroundings.inside_air",
        Dimension::Temperature,
        air,
    );
    let life = life(build, (&said, part), written);
    let figures = figures(build, part);
    Bank { part, parts, each, path_inductance, path_resistance, air, life, figures }
}

/// What a bank has to last, and what its capacitors do; nothing where neither is stated.
fn life(build: &mut Build<'_>, (said, part): (&str, PartId), written: &Written) -> Option<Life> {
    let named = written.each.as_ref()?;
    let entry = build.description.capacitor_types.get(&named.value)?;
    let sheet = entry.read().and_then(|sheet| sheet.endurance.as_ref());
    if sheet.is_none() && written.life.is_none() {
        return None;
    }
    let (path, near) = (format!("capacitor_types.{}.endurance", named.value), entry.key);
    let lost = entry.read().is_none().then_some(entry.value);
    macro_rules! number {
        ($key:ident, $dimension:ident, $si:expr) => {{
            let stated = match lost {
                Some(at) => broken(at),
                None => build.stated(sheet.and_then(|sheet| sheet.$key.as_ref()), Some(near), $si),
            };
            let path = format!("{path}.{}", stringify!($key));
            shared(build, &path, &path, Dimension::$dimension, stated)
        }};
    }
    let halved_by = build.stated_or(
        sheet.and_then(|sheet| sheet.halved_by.as_ref()),
        near,
        &defaults::LIFE_HALVED_BY,
        |kelvins| kelvins.si(),
    );
    let of_halving = format!("{path}.halved_by");
    let asked = written.life.as_ref().map(|life| {
        let stated = build.stated(Some(life), None, |time| time.si());
        let input = build.tables.input(format!("{said}.life"), Dimension::Time, stated);
        (input, build.tables.figure_if_asked(part, "spent_endurance", Dimension::Time))
    });
    Some(Life {
        endurance: number!(life, Time, |time| time.si()),
        hot_spot: number!(hot_spot, Temperature, |celsius| celsius.in_celsius()),
        voltage: number!(voltage, Voltage, |volts| volts.si()),
        halved_by: shared(build, &of_halving, &of_halving, Dimension::TemperatureDifference, halved_by),
        lasts: build.tables.figure_if_asked(part, "life", Dimension::Time),
        asked,
    })
}

/// What the data sheet says of the capacitors of a bank; banks of one type share it.
fn each(build: &mut Build<'_>, said: &str, at: NodeId, written: &Written) -> CapacitorInputs {
    let named = written.each.as_ref();
    let entry = named.and_then(|each| build.description.capacitor_types.get(&each.value));
    let (path, near) = match (named, entry) {
        (Some(each), Some(entry)) => (format!("capacitor_types.{}", each.value), entry.key),
        (Some(each), None) => (format!("capacitor_types.{}", each.value), each.at),
        (None, _) => (format!("{said}.each"), at),
    };
    let lost = entry.filter(|entry| entry.read().is_none()).map(|entry| entry.value);
    let sheet: Option<&CapacitorType> = entry.and_then(|entry| entry.read());
    macro_rules! number {
        ($key:ident, $dimension:ident, $si:expr) => {{
            let given = sheet.and_then(|sheet| sheet.$key.as_ref());
            let stated = match lost {
                Some(at) => broken(at),
                None => build.stated(given, Some(near), $si),
            };
            let path = format!("{path}.{}", stringify!($key));
            shared(build, &path, &path, Dimension::$dimension, stated)
        }};
    }
    let tolerance = match (sheet.map(|sheet| &sheet.tolerance), lost) {
        (_, Some(at)) => broken(at),
        (Some(Some(given)), _) => build.stated(Some(given), Some(near), |share| share.value()),
        (Some(None), _) => assumed(&defaults::CAPACITANCE_TOLERANCE, near),
        (None, _) => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } },
    };
    let of_tolerance = format!("{path}.tolerance");
    CapacitorInputs {
        capacitance: number!(capacitance, Capacitance, |farad| farad.si()),
        tolerance: shared(build, &of_tolerance, &of_tolerance, Dimension::Ratio, tolerance),
        voltage: number!(voltage, Voltage, |volts| volts.si()),
        ripple_current: number!(ripple_current, Current, |amps| amps.si()),
        series_resistance: number!(series_resistance, Resistance, |ohms| ohms.si()),
        inductance: number!(inductance, Inductance, |henry| henry.si()),
        thermal_resistance: number!(thermal_resistance, ThermalResistance, |kelvins| kelvins.si()),
        hottest: number!(hottest, Temperature, |celsius| celsius.in_celsius()),
    }
}

/// What is missing where no bank is known to stand on a bus: a bank, or what could not be read and may be one.
pub(crate) fn missing_bank(build: &mut Build<'_>, bus: &str, at: NodeId) -> InputId {
    let section = &build.description.capacitors;
    let may_stand_here = |entry: NodeId| {
        let said = build.tree.value_at(entry, &["bus"]).and_then(|said| build.tree.scalar(said));
        said.is_none_or(|said| said.text == bus)
    };
    let unread = section.unread().find(|(_, entry)| may_stand_here(entry.value));
    let unread = unread.map(|(name, entry)| (format!("capacitors.{name}"), entry.value));
    let whole = section.at.filter(|_| section.void).map(|at| ("capacitors".to_owned(), at));
    // One that does not say where it stands may be the one.
    let adrift =
        section.readable().find(|(.., one)| matches!(one, Capacitor::Bank(bank) if bank.bus.is_none()));
    let (path, stated) = match (unread.or(whole), adrift) {
        (Some((path, at)), _) => (path, broken(at)),
        (None, Some((name, entry, _))) => return bus_of(build, name, entry.key),
        (None, None) => {
            let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
            (format!("capacitors: a bank on {bus}"), stated)
        }
    };
    shared(build, &path, &path, Dimension::Inductance, stated)
}

/// The bus that a bank does not state.
fn bus_of(build: &mut Build<'_>, bank: &str, at: NodeId) -> InputId {
    let path = format!("bus of {bank}");
    let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    shared(build, &path, &path, Dimension::Inductance, stated)
}

/// An input that several parts share.
pub(crate) fn shared(
    build: &mut Build<'_>,
    key: &str,
    path: &str,
    dimension: Dimension,
    stated: Stated,
) -> InputId {
    if let Some(&known) = build.shared.get(key) {
        return known;
    }
    let input = build.tables.input(path.to_owned(), dimension, stated);
    build.shared.insert(key.to_owned(), input);
    input
}

/// The stages that send ripple to a bus.
fn terms(plan: &Plan, bus: usize) -> Vec<RippleTerm> {
    let mut terms = Vec::new();
    for (stage, of) in plan.stages.iter().enumerate() {
        for (k, port) in of.ports.iter().enumerate() {
            if port.bus != Some(bus) {
                continue;
            }
            terms.push(RippleTerm { stage, port: k, current: ripple_at(of, k) });
        }
    }
    terms
}

/// Ripple current of a stage at one of its ports.
pub(crate) fn ripple_at(stage: &Stage, port: usize) -> FigureId {
    match &stage.topology {
        Topology::Bridge(bridge) => bridge.figures.link_ripple,
        Topology::Chopper(chopper) if port == 0 => chopper.figures.low_ripple,
        Topology::Chopper(chopper) => chopper.figures.high_ripple,
        Topology::Isolated(isolated) if port == 0 => isolated.figures.input_ripple,
        Topology::Isolated(isolated) => isolated.figures.output_ripple,
    }
}

/// Which carriers follow which.
fn synchronised(build: &mut Build<'_>) {
    let places: BTreeMap<String, usize> = build
        .plan
        .stages
        .iter()
        .enumerate()
        .map(|(k, stage)| (build.tables.part_of(stage.part).path.clone(), k))
        .collect();
    for (name, entry, written) in build.description.stages.readable() {
        let (Some(&own), Some(carrier)) = (places.get(name), written.carrier()) else { continue };
        let Some(&with) = carrier.synchronised_with.as_ref().and_then(|with| places.get(&with.value)) else {
            continue;
        };
        let shift = build.stated(carrier.shift.as_ref(), Some(entry.key), |angle| angle.si());
        let shift = build.tables.input(format!("stages.{name}.carrier.shift"), Dimension::Angle, shift);
        build.plan.stages[own].synchronised = Some(Synchronised { with, shift });
    }
}
