//! A three-phase bridge: what duty points ask of its machine, and what the machine states.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::duty::Demand;
use loadworthy_language::sections::machines::{Machine, PermanentMagnet};
use loadworthy_language::sections::stages::{ModulationKind, Overmodulation, ThreePhaseBridge};
use loadworthy_physics::{Inductance, Modulation};
use loadworthy_source::NodeId;

use crate::build::bank::shared;
use crate::build::stage::{Design, Place, leg_name};
use crate::build::{Build, assumed, broken};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Bridge, BridgeFigures, BridgeInputs, MachineConstants, Role, Topology};
use crate::solver::bridge::modulation_code;
use crate::table::Stated;

/// Inputs and figures of a bridge, and its positions.
pub(crate) fn bridge(
    build: &mut Build<'_>,
    graph: &PowerGraph<'_>,
    design: &Design<'_>,
    written: &ThreePhaseBridge,
) -> (Topology, Vec<Place>) {
    let machine = graph.machine_of(design.name);
    let inputs = inputs(build, design, written, machine);
    let figures = figures(build, design.part, inputs.inductance.is_some());
    let overmodulation = written.overmodulation.as_ref().map(|written| written.value);
    let of_machine =
        machine.and_then(|machine| build.description.machines.get(machine).map(|entry| (machine, entry.key)));
    let machine = of_machine.map(|(name, at)| build.tables.part(name.to_owned(), at, None));
    let read = of_machine.and_then(|(name, _)| build.description.machines.entry(name));
    let bridge = Bridge {
        is_excited: matches!(read, Some(Machine::Induction(_))),
        overmodulation_excluded: overmodulation == Some(Overmodulation::Excluded),
        machine,
        inputs,
        figures,
    };
    let places = (0..3)
        .flat_map(|leg| [(Role::HighSide, 0, leg), (Role::LowSide, 1, leg)])
        .map(|(role, seat, leg)| Place { role, seat, leg, label: Some(leg_name(design.written, leg)) })
        .collect();
    (Topology::Bridge(bridge), places)
}

fn inputs(
    build: &mut Build<'_>,
    design: &Design<'_>,
    written: &ThreePhaseBridge,
    machine: Option<&str>,
) -> BridgeInputs {
    let (name, at) = (design.name, design.entry.key);
    let said = format!("stages.{name}");
    let modulation = match &written.modulation {
        Some(kind) => Stated {
            value: modulation_code(match kind.value {
                ModulationKind::Sinusoidal => Modulation::Sinusoidal,
                ModulationKind::ThirdHarmonic => Modulation::ThirdHarmonic,
                ModulationKind::SpaceVector => Modulation::SpaceVector,
            }),
            origin: build.written(kind.at),
        },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let modulation = build.tables.input(format!("{said}.modulation"), Dimension::Ratio, modulation);
    let asked = asked(build, name, at, machine);
    let (phase_resistance, inductance, ripple_inductance) = of_machine(build, (name, at), machine);
    let constants = constants(build, design, written, machine);
    BridgeInputs {
        active: asked.active,
        power: asked.power,
        phase_current: asked.phase_current,
        line_voltage: asked.line_voltage,
        power_factor: asked.power_factor,
        frequency: asked.frequency,
        phase_resistance,
        inductance,
        ripple_inductance,
        constants,
        modulation,
    }
}

/// What duty points ask of the machine.
struct Asked {
    active: InputId,
    power: InputId,
    phase_current: InputId,
    line_voltage: InputId,
    power_factor: InputId,
    frequency: InputId,
}

fn asked(build: &mut Build<'_>, stage: &str, at: NodeId, machine: Option<&str>) -> Asked {
    let Some(machine) = machine else {
        // Without a machine nobody knows what is asked of the bridge: it does not rest, it is not judged.
        let feeds = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
        let feeds = build.tables.input(format!("stages.{stage}.feeds"), Dimension::Ratio, feeds);
        return Asked {
            active: feeds,
            power: feeds,
            phase_current: feeds,
            line_voltage: feeds,
            power_factor: feeds,
            frequency: feeds,
        };
    };
    let demands = build.demands(machine);
    // A machine that is named and not there may be any of those that duty points name.
    let machines = &build.description.machines;
    let lost = machines.get(machine).filter(|_| machines.unfound.iter().any(|name| name == machine));
    let lost = lost.map(|entry| broken(entry.value));
    let active = demands
        .iter()
        .map(|demand| match (demand, lost) {
            (None, Some(lost)) => lost,
            _ => Stated {
                value: if demand.is_some() { 1.0 } else { 0.0 },
                origin: Origin::Absent { near: None },
            },
        })
        .collect();
    let active =
        build.tables.input_by_duty(format!("duty.*.loads.{machine}"), Dimension::Ratio, active, false);
    let mut number =
        |key: &str, dimension, is_demand, read: &dyn Fn(&Build<'_>, &Demand, NodeId) -> Stated| {
            let values = demands
                .iter()
                .zip(&build.points)
                .map(|(demand, &(_, at, _))| match (demand, lost) {
                    (Some(demand), _) => read(build, demand, at),
                    (None, Some(lost)) => lost,
                    // A machine that a duty point does not name rests.
                    (None, None) => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
                })
                .collect();
            build.tables.input_by_duty(format!("duty.*.loads.{machine}.{key}"), dimension, values, is_demand)
        };
    Asked {
        active,
        power: number("electrical_power", Dimension::Power, true, &|build, demand, at| {
            build.stated(demand.electrical_power.as_ref(), Some(at), |p| p.si())
        }),
        phase_current: number("phase_current", Dimension::Current, true, &|build, demand, at| {
            build.stated(demand.phase_current.as_ref(), Some(at), |i| i.rms().si())
        }),
        line_voltage: number("line_voltage", Dimension::Voltage, false, &|build, demand, at| {
            build.stated(demand.line_voltage.as_ref(), Some(at), |v| v.rms().si())
        }),
        power_factor: number("power_factor", Dimension::Ratio, false, &|build, demand, at| {
            build.stated(demand.power_factor.as_ref(), Some(at), |c| c.value())
        }),
        frequency: number("frequency", Dimension::Frequency, false, &|build, demand, at| {
            build.stated(demand.frequency.as_ref(), Some(at), |f| f.si())
        }),
    }
}

/// A machine by name, where it is one with permanent magnets.
fn magnet_of<'d>(build: &Build<'d>, machine: &str) -> Option<(&'d PermanentMagnet, NodeId)> {
    let entry = build.description.machines.get(machine)?;
    match entry.read()? {
        Machine::PermanentMagnet(magnet) => Some((magnet, entry.key)),
        Machine::Induction(_) => None,
    }
}

/// Constants of the machine, where a duty point states torque or shaft power.
fn constants(
    build: &mut Build<'_>,
    design: &Design<'_>,
    written: &ThreePhaseBridge,
    machine: Option<&str>,
) -> Option<MachineConstants> {
    let machine = machine?;
    let demands = build.demands(machine);
    let asks = |demand: &Demand| demand.torque.is_some() || demand.shaft_power.is_some();
    if !demands.iter().flatten().any(|demand| asks(demand)) {
        return None;
    }
    let (magnet, at) = match magnet_of(build, machine) {
        Some((magnet, at)) => (Some(magnet), at),
        None => (None, build.description.machines.get(machine)?.key),
    };
    let number =
        |build: &mut Build<'_>, key: &str, dimension, read: &dyn Fn(&Demand) -> Option<(f64, NodeId)>| {
            let values = build
                .demands(machine)
                .iter()
                .zip(build.points.clone())
                .map(|(demand, (_, at, _))| match demand.and_then(read) {
                    Some((value, at)) => Stated { value, origin: build.written(at) },
                    None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
                })
                .collect();
            let is_demand = key != "speed";
            build.tables.input_by_duty(format!("duty.*.loads.{machine}.{key}"), dimension, values, is_demand)
        };
    let torque = number(build, "torque", Dimension::Torque, &|demand| {
        demand.torque.as_ref().map(|given| (given.si(), given.at))
    });
    let shaft_power = number(build, "shaft_power", Dimension::Power, &|demand| {
        demand.shaft_power.as_ref().map(|given| (given.si(), given.at))
    });
    let speed = number(build, "speed", Dimension::Speed, &|demand| {
        demand.speed.as_ref().map(|given| (given.si(), given.at))
    });
    let said = format!("machines.{machine}");
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    let pairs = match magnet.and_then(|magnet| magnet.pole_pairs.as_ref()) {
        Some(pairs) => Stated { value: f64::from(pairs.value), origin: build.written(pairs.at) },
        None => absent,
    };
    let flux = magnet.and_then(|magnet| magnet.flux_linkage.as_ref());
    let flux = build.stated(flux, Some(at), |flux| flux.si());
    let axes = magnet.and_then(|magnet| magnet.inductance.as_ref());
    let axis = |build: &Build<'_>, given: Option<&loadworthy_language::quantity::Given<Inductance>>| {
        build.stated(given, Some(at), |henry| henry.si())
    };
    let d = axis(build, axes.and_then(|axes| axes.d.as_ref()));
    let q = axis(build, axes.and_then(|axes| axes.q.as_ref()));
    let share = build.stated_or(
        written.field_weakening.as_ref(),
        design.entry.key,
        &defaults::FIELD_WEAKENING,
        |share| share.value(),
    );
    let mut input = |name: &str, dimension, stated| {
        let path = format!("{said}.{name}");
        shared(build, &path, &path, dimension, stated)
    };
    let pole_pairs = input("pole_pairs", Dimension::Ratio, pairs);
    let flux_linkage = input("flux_linkage", Dimension::FluxLinkage, flux);
    let d = input("inductance.d", Dimension::Inductance, d);
    let q = input("inductance.q", Dimension::Inductance, q);
    let path = format!("stages.{}.field_weakening", design.name);
    let field_weakening = build.tables.input(path, Dimension::Ratio, share);
    let mut figure = |name, dimension| build.tables.figure_if_asked(design.part, name, dimension);
    Some(MachineConstants {
        torque,
        shaft_power,
        speed,
        pole_pairs,
        flux_linkage,
        d,
        q,
        field_weakening,
        d_current: figure("d_current", Dimension::Current),
        q_current: figure("q_current", Dimension::Current),
        torque_asked: figure("torque", Dimension::Torque),
        available_voltage: figure("available_phase_voltage", Dimension::Voltage),
    })
}

/// Phase resistance and the smaller inductance of a machine, and what states that or would have to.
fn of_machine(
    build: &mut Build<'_>,
    (stage, at): (&str, NodeId),
    machine: Option<&str>,
) -> (InputId, Option<InputId>, InputId) {
    // Of a machine that is not named all is missing with its name.
    let said = |key: &str| {
        machine.map_or_else(|| format!("stages.{stage}.feeds"), |name| format!("machines.{name}.{key}"))
    };
    let name = machine.unwrap_or("*");
    let entry = build.description.machines.get(name);
    let read = entry.and_then(|entry| entry.read());
    let written = read.map(|machine| match machine {
        Machine::PermanentMagnet(magnet) => magnet.phase_resistance.as_ref(),
        Machine::Induction(induction) => induction.phase_resistance.as_ref(),
    });
    // Only standstill asks for the resistance; elsewhere duty points state the voltage.
    let stands = build.demands(name).iter().flatten().any(|demand| {
        demand.line_voltage.is_none()
            && demand.frequency.as_ref().is_some_and(|frequency| frequency.si() <= 0.0)
    });
    let resistance = match (written, entry) {
        (Some(None), Some(entry)) if stands => assumed(&defaults::STANDSTILL_RESISTANCE, entry.key),
        (Some(given), Some(entry)) => build.stated(given, Some(entry.key), |r| r.si()),
        (None, Some(entry)) => broken(entry.value),
        _ => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let resistance = build.tables.input(said("phase_resistance"), Dimension::Resistance, resistance);
    let smaller = match read {
        Some(Machine::PermanentMagnet(magnet)) => {
            magnet.inductance.as_ref().and_then(|both| match (&both.d, &both.q) {
                (Some(d), Some(q)) if q.si() < d.si() => Some((q, "inductance.q")),
                (Some(d), _) => Some((d, "inductance.d")),
                // The ripple of a salient machine is set by the smaller one, which q alone does not tell.
                (None, _) => None,
            })
        }
        Some(Machine::Induction(induction)) => {
            induction.leakage_inductance.as_ref().map(|henry| (henry, "leakage_inductance"))
        }
        None => None,
    };
    let inductance = smaller.map(|(henry, key)| {
        let stated = build.stated(Some(henry), Some(at), |l| l.si());
        let path = format!("machines.{name}.{key}");
        shared(build, &path, &path, Dimension::Inductance, stated)
    });
    let ripple_inductance = inductance.unwrap_or_else(|| {
        let key = match read {
            Some(Machine::Induction(_)) => "leakage_inductance",
            _ => "inductance.d",
        };
        let stated = match (read, entry) {
            (None, Some(entry)) => broken(entry.value),
            (_, entry) => absent_near(entry.map_or(at, |entry| entry.key)),
        };
        let path = said(key);
        shared(build, &path, &path, Dimension::Inductance, stated)
    });
    (resistance, inductance, ripple_inductance)
}

fn absent_near(at: NodeId) -> Stated {
    Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } }
}

fn figures(build: &mut Build<'_>, part: PartId, has_ripple: bool) -> BridgeFigures {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    BridgeFigures {
        frequency: figure("frequency", Dimension::Frequency),
        line_voltage: figure("line_voltage", Dimension::Voltage),
        power_factor: figure("power_factor", Dimension::Ratio),
        phase_current: figure("phase_current", Dimension::Current),
        phase_current_peak: figure("phase_current_peak", Dimension::Current),
        largest_current: figure("largest_phase_current", Dimension::Current),
        output_power: figure("output_power", Dimension::Power),
        device_drop: figure("device_drop", Dimension::Voltage),
        voltage_drop: figure("voltage_drop", Dimension::Voltage),
        modulation_index: figure("modulation_index", Dimension::Ratio),
        formed_index: figure("formed_index", Dimension::Ratio),
        carrier_ratio: figure("carrier_ratio", Dimension::Ratio),
        phase_ripple: has_ripple.then(|| figure("phase_ripple_current", Dimension::Current)),
        ripple_factor: has_ripple.then(|| figure("ripple_factor", Dimension::Ratio)),
        link_ripple: figure("link_ripple_current", Dimension::Current),
    }
}
