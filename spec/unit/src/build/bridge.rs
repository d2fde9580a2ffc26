//! A three-phase bridge: its inputs, its positions, its chips and the packages they are in.

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::devices::Circuit;
use loadworthy_language::sections::duty::Demand;
use loadworthy_language::sections::machines::Machine;
use loadworthy_language::sections::stages::{
    ModulationKind, Overmodulation, Stage, SwitchPosition, ThreePhaseBridge,
};
use loadworthy_physics::Modulation;
use loadworthy_source::NodeId;

use crate::build::device::{Devices, ResolvedDevice};
use crate::build::power::place_of;
use crate::build::{Build, assumed, broken, cooling};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    BodyDiode, Bridge, BridgeFigures, BridgeInputs, Chip, ChipFigures, ChipKind, Face, Package, Position,
    Side,
};
use crate::solver::bridge::modulation_code;
use crate::table::Stated;
use crate::trace::Operand;

const LEGS: [&str; 3] = ["u", "v", "w"];
const SIDES: [(Side, &str); 2] = [(Side::High, "high_side"), (Side::Low, "low_side")];

/// Adds a bridge to the plan.
pub(crate) fn bridge(
    build: &mut Build<'_>,
    graph: &PowerGraph<'_>,
    devices: &mut Devices,
    name: &str,
    entry: &SectionEntry<Stage>,
    stage: &Stage,
) {
    let Stage::ThreePhaseBridge(written) = stage;
    let part = build.tables.part(name.to_owned(), entry.key, None);
    let (bus, machine) = graph.around(name);
    let switches = written.switches.as_ref();
    let seats = [
        switches.and_then(|switches| switches.high_side.as_ref()),
        switches.and_then(|switches| switches.low_side.as_ref()),
    ];
    let fitted: Vec<(ResolvedDevice, NodeId)> = seats
        .iter()
        .zip(SIDES)
        .map(|(seat, (_, side))| match seat.and_then(|seat| seat.fitted.as_ref()) {
            Some(fitted) => (devices.get(build, &fitted.value, fitted.at), fitted.at),
            None => (devices.get(build, &format!("{name}.{side}.fitted"), entry.key), entry.key),
        })
        .collect();
    let is_mosfet = fitted.iter().any(|(device, _)| device.is_mosfet);
    let inputs = inputs(build, name, entry.key, written, machine, seats, is_mosfet);
    let figures = figures(build, part, inputs.inductance.is_some());

    let first_package = build.plan.packages.len();
    let mut positions = Vec::new();
    for (leg, leg_name) in LEGS.iter().enumerate() {
        for (k, (side, side_name)) in SIDES.into_iter().enumerate() {
            let (device, at) = &fitted[k];
            let path = format!("{name}.{side_name}.{leg_name}");
            let place = build.tables.part(path.clone(), *at, Some(part));
            let first = build.plan.chips.len();
            for chip in &device.chips {
                let what = if chip.kind == ChipKind::Diode { "diode" } else { "transistor" };
                let chip_part = build.tables.part(format!("{path}.{what}"), *at, Some(place));
                let figures = chip_figures(build, chip_part);
                let body_diode = device.body.as_ref().map(|(conduction, energy)| {
                    let body = build.tables.part(format!("{path}.body_diode"), *at, Some(place));
                    let mut figure = |name, dimension| build.tables.figure(body, name, dimension);
                    BodyDiode {
                        conduction: conduction.clone(),
                        energy: energy.clone(),
                        average_current: figure("average_current", Dimension::Current),
                        rms_current: figure("rms_current", Dimension::Current),
                        loss: figure("conduction_loss", Dimension::Power),
                        recovery_energy: figure("recovery_energy", Dimension::Energy),
                        recovery_loss: figure("recovery_loss", Dimension::Power),
                    }
                });
                build.plan.chips.push(Chip {
                    part: chip_part,
                    kind: chip.kind,
                    conduction: chip.conduction.clone(),
                    energy: chip.energy.clone(),
                    body_diode,
                    foster: chip.foster.clone(),
                    inputs: chip.inputs,
                    figures,
                });
            }
            positions.push(Position { part: place, side, leg, chips: first..build.plan.chips.len() });
        }
    }
    let [high, low] =
        seats.map(|seat| seat.and_then(|seat| seat.fitted.as_ref()).map(|fitted| &fitted.value));
    let stage =
        Seated { name, part, at: entry.key, fitted: &fitted, alike: high == low, parallel: inputs.parallel };
    packages(build, &stage, &positions);
    let losses = positions
        .iter()
        .flat_map(|position| {
            let count = inputs.parallel[usize::from(position.side == Side::Low)];
            position.chips.clone().map(move |chip| (chip, count))
        })
        .flat_map(|(chip, count)| [build.plan.chips[chip].figures.loss.into(), Operand::Input(count)])
        .collect();
    let overmodulation = written.overmodulation.as_ref().map(|written| written.value);
    build.plan.bridges.push(Bridge {
        part,
        bus: place_of(build, bus),
        overmodulation_excluded: overmodulation == Some(Overmodulation::Excluded),
        inputs,
        figures,
        positions,
        packages: first_package..build.plan.packages.len(),
        losses,
    });
}

fn inputs(
    build: &mut Build<'_>,
    name: &str,
    at: NodeId,
    written: &ThreePhaseBridge,
    machine: Option<&str>,
    seats: [Option<&SwitchPosition>; 2],
    is_mosfet: bool,
) -> BridgeInputs {
    let said = format!("stages.{name}");
    let carrier = written.carrier.as_ref().and_then(|carrier| carrier.frequency.as_ref());
    let carrier = build.stated(carrier, Some(at), |f| f.si());
    let dead_time = if is_mosfet { &defaults::DEAD_TIME_MOSFET } else { &defaults::DEAD_TIME_IGBT };
    let dead_time = build.stated_or(written.dead_time.as_ref(), at, dead_time, |t| t.si());
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
    let parallel = [0, 1].map(|k| {
        let count = match seats[k].and_then(|seat| seat.parallel.as_ref()) {
            Some(count) => Stated { value: f64::from(count.value), origin: build.written(count.at) },
            None => {
                let near = seats[k].and_then(|seat| seat.fitted.as_ref()).map_or(at, |fitted| fitted.at);
                assumed(&defaults::PARALLEL, near)
            }
        };
        build.tables.input(format!("{said}.switches.{}.parallel", SIDES[k].1), Dimension::Ratio, count)
    });
    let carrier = build.tables.input(format!("{said}.carrier.frequency"), Dimension::Frequency, carrier);
    let dead_time = build.tables.input(format!("{said}.dead_time"), Dimension::Time, dead_time);
    let modulation = build.tables.input(format!("{said}.modulation"), Dimension::Ratio, modulation);
    let dc_bus = match &written.dc_bus {
        Some(bus) => Stated { value: 0.0, origin: build.written(bus.at) },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let dc_bus = build.tables.input(format!("{said}.dc_bus"), Dimension::Ratio, dc_bus);
    let asked = asked(build, name, at, machine);
    let (phase_resistance, inductance) = of_machine(build, at, machine);
    BridgeInputs {
        active: asked.active,
        power: asked.power,
        phase_current: asked.phase_current,
        line_voltage: asked.line_voltage,
        power_factor: asked.power_factor,
        frequency: asked.frequency,
        phase_resistance,
        inductance,
        carrier,
        dead_time,
        modulation,
        dc_bus,
        parallel,
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
    let active = demands
        .iter()
        .map(|demand| Stated {
            value: if demand.is_some() { 1.0 } else { 0.0 },
            origin: Origin::Absent { near: None },
        })
        .collect();
    let active =
        build.tables.input_by_duty(format!("duty.*.loads.{machine}"), Dimension::Ratio, active, false);
    let mut number =
        |key: &str, dimension, is_demand, read: &dyn Fn(&Build<'_>, &Demand, NodeId) -> Stated| {
            let values = demands
                .iter()
                .zip(&build.points)
                .map(|(demand, &(_, at, _))| match demand {
                    Some(demand) => read(build, demand, at),
                    // A machine that a duty point does not name rests.
                    None => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
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

/// Phase resistance and the smaller inductance of a machine.
fn of_machine(build: &mut Build<'_>, at: NodeId, machine: Option<&str>) -> (InputId, Option<InputId>) {
    let name = machine.unwrap_or("*");
    let entry = build.description.machines.get(name);
    let read = entry.and_then(|entry| entry.read());
    let magnet = read.map(|Machine::PermanentMagnet(magnet)| magnet);
    // Only standstill asks for the resistance; elsewhere duty points state the voltage.
    let stands = build.demands(name).iter().flatten().any(|demand| {
        demand.line_voltage.is_none()
            && demand.frequency.as_ref().is_some_and(|frequency| frequency.si() <= 0.0)
    });
    let resistance = match (magnet.map(|magnet| magnet.phase_resistance.as_ref()), entry) {
        (Some(None), Some(entry)) if stands => assumed(&defaults::STANDSTILL_RESISTANCE, entry.key),
        (Some(given), Some(entry)) => build.stated(given, Some(entry.key), |r| r.si()),
        (None, Some(entry)) => broken(entry.value),
        _ => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let resistance =
        build.tables.input(format!("machines.{name}.phase_resistance"), Dimension::Resistance, resistance);
    let inductance = magnet.and_then(|magnet| magnet.inductance.as_ref());
    let smaller = inductance.and_then(|both| match (&both.d, &both.q) {
        (Some(d), Some(q)) if q.si() < d.si() => Some((q, "q")),
        (Some(d), _) => Some((d, "d")),
        // The ripple of a salient machine is set by the smaller one, which q alone does not tell.
        (None, _) => None,
    });
    let inductance = smaller.map(|(henry, axis)| {
        let stated = build.stated(Some(henry), Some(at), |l| l.si());
        build.tables.input(format!("machines.{name}.inductance.{axis}"), Dimension::Inductance, stated)
    });
    (resistance, inductance)
}

fn figures(build: &mut Build<'_>, part: PartId, has_ripple: bool) -> BridgeFigures {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    BridgeFigures {
        line_voltage: figure("line_voltage", Dimension::Voltage),
        power_factor: figure("power_factor", Dimension::Ratio),
        phase_current: figure("phase_current", Dimension::Current),
        phase_current_peak: figure("phase_current_peak", Dimension::Current),
        output_power: figure("output_power", Dimension::Power),
        device_drop: figure("device_drop", Dimension::Voltage),
        voltage_drop: figure("voltage_drop", Dimension::Voltage),
        modulation_index: figure("modulation_index", Dimension::Ratio),
        formed_index: figure("formed_index", Dimension::Ratio),
        phase_ripple: has_ripple.then(|| figure("phase_ripple_current", Dimension::Current)),
        ripple_factor: has_ripple.then(|| figure("ripple_factor", Dimension::Ratio)),
        link_ripple: figure("link_ripple_current", Dimension::Current),
        loss: figure("loss", Dimension::Power),
        dc_power: figure("dc_power", Dimension::Power),
        dc_current: figure("dc_current", Dimension::Current),
        efficiency: figure("efficiency", Dimension::Ratio),
    }
}

fn chip_figures(build: &mut Build<'_>, part: PartId) -> ChipFigures {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    ChipFigures {
        average_current: figure("average_current", Dimension::Current),
        rms_current: figure("rms_current", Dimension::Current),
        peak_current: figure("peak_current", Dimension::Current),
        knee: figure("knee_voltage", Dimension::Voltage),
        slope: figure("slope_resistance", Dimension::Resistance),
        energy: figure("switching_energy", Dimension::Energy),
        conduction_loss: figure("conduction_loss", Dimension::Power),
        switching_loss: figure("switching_loss", Dimension::Power),
        loss: figure("loss", Dimension::Power),
        mean_junction_temperature: figure("mean_junction_temperature", Dimension::Temperature),
        junction_ripple: figure("junction_ripple", Dimension::TemperatureDifference),
        junction_temperature: figure("junction_temperature", Dimension::Temperature),
        rated_current: figure("rated_current", Dimension::Current),
    }
}

/// What the positions of a stage are fitted with.
struct Seated<'s> {
    name: &'s str,
    part: PartId,
    at: NodeId,
    /// Device of the high side, then of the low side, and where it is named.
    fitted: &'s [(ResolvedDevice, NodeId)],
    /// Whether both sides are fitted with one device.
    alike: bool,
    parallel: [InputId; 2],
}

/// Puts the chips into packages: all six positions, one leg, or one position each.
fn packages(build: &mut Build<'_>, stage: &Seated<'_>, positions: &[Position]) {
    let name = stage.name;
    let circuit = if stage.alike { stage.fitted[0].0.circuit } else { Circuit::Single };
    let groups: Vec<(String, Vec<&Position>)> = match circuit {
        Circuit::SixPack => vec![(format!("{name}.package"), positions.iter().collect())],
        Circuit::HalfBridge => LEGS
            .iter()
            .enumerate()
            .map(|(leg, leg_name)| {
                (format!("{name}.package.{leg_name}"), positions.iter().filter(|p| p.leg == leg).collect())
            })
            .collect(),
        Circuit::Single => positions
            .iter()
            .map(|position| (build.tables.part_of(position.part).path.clone() + ".package", vec![position]))
            .collect(),
    };
    // Packages of one kind stand on the same faces.
    let most = stage.fitted.iter().map(|(device, _)| device.faces).max().unwrap_or(1);
    let places: Vec<_> = (0..most).map(|face| cooling::face(build, name, stage.at, face)).collect();
    for (path, group) in groups {
        let side = group.first().map_or(Side::High, |position| position.side);
        let face_count = stage.fitted[usize::from(side == Side::Low)].0.faces;
        let at = group.first().map_or(stage.at, |position| build.tables.part_of(position.part).at);
        let package = build.tables.part(path, at, Some(stage.part));
        let chips: Vec<usize> = group.iter().flat_map(|position| position.chips.clone()).collect();
        let faces: Vec<Face> = places
            .iter()
            .take(face_count)
            .enumerate()
            .map(|(face, &(place, resistance))| {
                let (case, heat) = match (face_count, face) {
                    (1, _) => ("case_temperature", "heat"),
                    (_, 0) => ("case_a_temperature", "face_a_heat"),
                    _ => ("case_b_temperature", "face_b_heat"),
                };
                Face {
                    place,
                    resistance,
                    case_temperature: build.tables.figure(package, case, Dimension::Temperature),
                    heat: build.tables.figure(package, heat, Dimension::Power),
                }
            })
            .collect();
        let losses = chips.iter().map(|&chip| build.plan.chips[chip].figures.loss.into()).collect();
        let junctions_and_case = faces
            .iter()
            .map(|face| {
                let mut from = vec![Operand::Figure(face.case_temperature)];
                for &chip in &chips {
                    let chip = &build.plan.chips[chip];
                    from.push(chip.figures.mean_junction_temperature.into());
                    from.push(chip.inputs.junction_to_case.into());
                }
                from
            })
            .collect();
        build.plan.packages.push(Package {
            part: package,
            chips,
            count: stage.parallel[usize::from(side == Side::Low)],
            faces,
            losses,
            junctions_and_case,
        });
    }
}
