//! Controllers, drivers and sensors, with what they refer to.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::machines::Machine;
use loadworthy_language::sections::sensors::Measured;
use loadworthy_language::{Section, SectionEntry};
use loadworthy_source::{Located, NodeId};

use crate::build::gates::gates;
use crate::build::{Build, broken};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{Coil, Commanded, Control, Controller, Driver, Quantity, Sensor};
use crate::table::Stated;

/// Gathers everything about control, once stages and gate supplies are in the plan.
pub(crate) fn join(build: &mut Build<'_>) {
    let description = build.description;
    let drivers_stated = stated(build, "drivers", &description.drivers);
    let sensors_stated = stated(build, "sensors", &description.sensors);
    let controllers_stated = stated(build, "controllers", &description.controllers);
    let stages_stated = stated(build, "stages", &description.stages);
    let stages = build.plan.stages.iter().map(|stage| {
        let written = description.stages.entry(&build.tables.part_of(stage.part).path);
        written.map_or_else(Commanded::default, |written| Commanded {
            controller: written.controller().cloned(),
            independent_of: list(written.independent_of()),
            rotor: stage.bridge().and_then(|bridge| bridge.machine).filter(|&machine| {
                let name = &build.tables.part_of(machine).path;
                matches!(description.machines.entry(name), Some(Machine::PermanentMagnet(_)))
            }),
        })
    });
    let stages = stages.collect();
    let supplied_from = description.gate_supplies.values();
    let supplied_from = supplied_from.map(|entry| entry.read()?.from.clone()).collect();
    let supplied_also = description.gate_supplies.values();
    let supplied_also = supplied_also.map(|entry| entry.read()?.also_from.clone()).collect();
    let surroundings = description.surroundings.read();
    let at = description.surroundings.at().or_else(|| description.edition.as_ref().map(|edition| edition.at));
    let Some(at) = at else { return };
    let undeclared = [
        ("coldest", surroundings.is_none_or(|air| air.coldest.is_none())),
        ("altitude", surroundings.is_none_or(|air| air.altitude.is_none())),
        ("pollution_degree", surroundings.is_none_or(|air| air.pollution_degree.is_none())),
    ];
    // What a broken section would say is not known.
    let is_void = description.surroundings.is_void();
    let undeclared = undeclared.into_iter().filter_map(|(key, is_open)| (is_open && !is_void).then_some(key));
    let control = Control {
        drivers_stated,
        sensors_stated,
        controllers_stated,
        stages_stated,
        controllers: controllers(build),
        drivers: drivers(build),
        sensors: sensors(build),
        stages,
        supplied_from,
        supplied_also,
        discharges: discharges(build),
        coils: coils(build),
        surroundings: build.tables.part("surroundings".to_owned(), at, None),
        undeclared: undeclared.collect(),
    };
    build.plan.control = Some(control);
}

/// Whether a section is stated and was read, as a number that is missing where it is not.
fn stated<T>(build: &mut Build<'_>, name: &'static str, section: &Section<T>) -> InputId {
    let unread = section.values().find(|entry| entry.read().is_none());
    let stated = match (section.at, unread) {
        (Some(at), _) if section.void => broken(at),
        (_, Some(unread)) => broken(unread.value),
        (Some(at), None) => Stated { value: 0.0, origin: build.written(at) },
        (None, _) => {
            Stated { value: f64::NAN, origin: Origin::Absent { near: build.description.controllers.at } }
        }
    };
    build.tables.limit(name.to_owned(), Dimension::Ratio, stated)
}

fn list(names: Option<&Located<Vec<Located<String>>>>) -> Vec<Located<String>> {
    names.map(|names| names.value.clone()).unwrap_or_default()
}

/// The entries of a section that could be read, in the order of the file.
fn read<T>(section: &Section<T>) -> impl Iterator<Item = (&String, NodeId, &T)> {
    section
        .iter()
        .filter_map(|(name, entry): (&String, &SectionEntry<T>)| Some((name, entry.key, entry.read()?)))
}

fn controllers(build: &mut Build<'_>) -> Vec<Controller> {
    let tables = &mut build.tables;
    read(&build.description.controllers)
        .map(|(name, at, written)| Controller {
            part: tables.part(name.clone(), at, None),
            name: name.clone(),
            from: written.from.clone(),
            also: written.also_from.clone(),
            depends_on: list(written.depends_on.as_ref()),
            hardware_enable: written.hardware_enable,
        })
        .collect()
}

fn drivers(build: &mut Build<'_>) -> Vec<Driver> {
    let gates = gates(build);
    let tables = &mut build.tables;
    read(&build.description.drivers)
        .map(|(name, at, written)| {
            let named = written.drives.iter().flat_map(|drives| &drives.value);
            let drives = named.flat_map(|drives| {
                let found = gates.get(drives.value.as_str()).into_iter().flatten();
                found.map(|&(stage, position)| (stage, position, drives.at))
            });
            Driver {
                part: tables.part(name.clone(), at, None),
                drives: drives.collect(),
                controller: written.controller.clone(),
            }
        })
        .collect()
}

fn sensors(build: &mut Build<'_>) -> Vec<Sensor> {
    let tables = &mut build.tables;
    let machines = &build.description.machines;
    let is_synchronous =
        |name: &Located<String>| matches!(machines.entry(&name.value), Some(Machine::PermanentMagnet(_)));
    read(&build.description.sensors)
        .map(|(name, at, written)| Sensor {
            part: tables.part(name.clone(), at, None),
            measures: written.measures.as_ref().map(|measured| match measured.value {
                Measured::Current => Quantity::Current,
                Measured::Voltage => Quantity::Voltage,
                Measured::Temperature => Quantity::Temperature,
                Measured::Position if written.of.iter().flat_map(|of| &of.value).any(is_synchronous) => {
                    Quantity::Position
                }
                Measured::Position | Measured::Isolation | Measured::Flow => Quantity::Other,
            }),
            of: list(written.of.as_ref()),
            read_by: list(written.read_by.as_ref()),
            redundant: written.redundant.map_or(1, |redundant| redundant.value),
        })
        .collect()
}

fn discharges(build: &Build<'_>) -> Vec<(usize, Option<Located<String>>)> {
    let buses = build.plan.buses.iter().enumerate();
    let active = buses.filter_map(|(place, bus)| {
        let written = build.description.buses.entry(&build.tables.part_of(bus.part).path)?;
        let active = written.discharge.as_ref()?.active.as_ref()?;
        Some((place, active.from.clone()))
    });
    active.collect()
}

fn coils(build: &Build<'_>) -> Vec<Coil> {
    let contactors = build.plan.openings.iter().filter(|opening| opening.is_contactor);
    let coils = contactors.filter_map(|opening| {
        let part = build.plan.conductors[opening.conductor].part;
        let coil = build.description.conductors.entry(&build.tables.part_of(part).path)?.coil()?;
        Some(Coil {
            conductor: opening.conductor,
            from: coil.from.clone(),
            also: coil.also_from.clone(),
            controller: coil.controller.clone(),
        })
    });
    coils.collect()
}
