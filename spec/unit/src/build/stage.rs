//! A converter: its ports, its positions with their chips, and the packages that these are in.

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::devices::Circuit;
use loadworthy_language::sections::stages::{RectifierLead, Stage as Written};
use loadworthy_source::NodeId;

use crate::build::device::{Devices, ResolvedDevice, Switch};
use crate::build::{
    Build, assumed, bridge, chopper, cooling, gates, isolated, magnetic, ports, power_cycling, withstand,
};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    BodyDiode, Chip, ChipFigures, ChipKind, Face, Package, Position, Role, Seat, SharingFigures, Side, Stage,
    StageFigures, UnevenChip,
};
use crate::table::Stated;
use crate::trace::Operand;

/// A switch position as its topology has it.
pub(crate) struct Place {
    pub(crate) role: Role,
    pub(crate) seat: usize,
    pub(crate) leg: usize,
    /// Its name among those of its kind; none where there is but one.
    pub(crate) label: Option<String>,
}

/// What a stage is built from.
pub(crate) struct Design<'d> {
    pub(crate) name: &'d str,
    pub(crate) entry: &'d SectionEntry<Written>,
    pub(crate) written: &'d Written,
    pub(crate) part: PartId,
    /// Device of each seat, and where it is named.
    pub(crate) fitted: Vec<(ResolvedDevice, NodeId)>,
}

/// Adds a stage to the plan.
pub(crate) fn stage<'d>(
    build: &mut Build<'d>,
    graph: &PowerGraph<'_>,
    devices: &mut Devices,
    (name, entry, written): (&'d str, &'d SectionEntry<Written>, &'d Written),
) {
    let part = build.tables.part(name.to_owned(), entry.key, None);
    let seats = seats(build, name, entry.key, written);
    let fitted: Vec<_> = written
        .positions()
        .iter()
        .map(|(key, seat)| match seat.and_then(|seat| seat.fitted.as_ref()) {
            Some(fitted) => (devices.get(build, &fitted.value, fitted.at), fitted.at),
            None => {
                let path = format!("stages.{name}.switches.{key}.fitted");
                (Devices::none(build, path, entry.key), entry.key)
            }
        })
        .collect();
    let design = Design { name, entry, written, part, fitted };
    let carrier = written.carrier().and_then(|carrier| carrier.frequency.as_ref());
    let carrier = build.stated(carrier, Some(entry.key), |f| f.si());
    let carrier =
        build.tables.input(format!("stages.{name}.carrier.frequency"), Dimension::Frequency, carrier);
    let dead_time = dead_time(build, &design);
    let ports = ports::of_stage(build, &design);
    let stage_place = build.plan.stages.len();
    let (topology, places) = match written {
        Written::ThreePhaseBridge(bridge) => bridge::bridge(build, graph, &design, bridge),
        Written::Boost(_) | Written::Buck(_) => chopper::chopper(build, &design),
        Written::PhaseShiftedFullBridge(_) | Written::ActiveClampForward(_) => {
            isolated::isolated(build, &design)
        }
    };
    let first_package = build.plan.packages.len();
    let positions = positions(build, &design, &seats, &places, stage_place);
    let withstands = withstand::of_stage(build, &design, &seats, &positions, &ports);
    let magnetics = magnetic::of_stage(build, &design, &topology);
    // The rectifiers of a current doubler take the whole current in turn, whatever its chokes make of it.
    let has_legs = matches!(written, Written::Boost(_) | Written::Buck(_));
    if has_legs && magnetics.iter().any(|&magnetic| build.plan.magnetics[magnetic].uneven.is_some()) {
        for chip in positions.iter().flat_map(|position| position.chips.clone()) {
            let part = build.plan.chips[chip].part;
            build.plan.chips[chip].figures.uneven = Some(uneven_figures(build, part));
        }
    }
    let mut losses = Vec::new();
    for package in &build.plan.packages[first_package..] {
        for &chip in &package.chips {
            losses.extend([
                Operand::Figure(build.plan.chips[chip].figures.loss),
                Operand::Input(package.count),
            ]);
        }
    }
    for &magnetic in &magnetics {
        let magnetic = &build.plan.magnetics[magnetic];
        losses.extend([Operand::Figure(magnetic.loss), Operand::Input(magnetic.count)]);
    }
    let figures = StageFigures {
        loss: build.tables.figure(part, "loss", Dimension::Power),
        efficiency: build.tables.figure(part, "efficiency", Dimension::Ratio),
    };
    build.places.stages.insert(design.name.to_owned(), build.plan.stages.len());
    build.plan.stages.push(Stage {
        part,
        topology,
        carrier,
        synchronised: None,
        dead_time,
        ports,
        led_by: None,
        unsaid: None,
        seats,
        positions,
        withstands,
        packages: first_package..build.plan.packages.len(),
        magnetics,
        figures,
        losses,
    });
}

/// The dead time as stated, or as usual for what switches; where neither is known, what switches is missing.
fn dead_time(build: &mut Build<'_>, design: &Design<'_>) -> InputId {
    let given = design.written.dead_time();
    let has = |switch| design.fitted.iter().any(|(device, _)| device.switch == Some(switch));
    let usual = if has(Switch::Mosfet) {
        Some(&defaults::DEAD_TIME_MOSFET)
    } else {
        has(Switch::Igbt).then_some(&defaults::DEAD_TIME_IGBT)
    };
    let unknown = design.fitted.iter().find(|(device, _)| device.switch.is_none());
    let (path, stated) = match (given, usual, unknown) {
        (None, None, Some((device, _))) => {
            let (path, origin) = device.switch_kind.clone();
            (path, Stated { value: f64::NAN, origin })
        }
        _ => {
            let usual = usual.unwrap_or(&defaults::DEAD_TIME_IGBT);
            let stated = build.stated_or(given, design.entry.key, usual, |time| time.si());
            (format!("stages.{}.dead_time", design.name), stated)
        }
    };
    build.tables.input(path, Dimension::Time, stated)
}

fn seats(build: &mut Build<'_>, name: &str, at: NodeId, written: &Written) -> Vec<Seat> {
    let mut seats = Vec::new();
    for (key, seat) in written.positions() {
        let fitted = seat.and_then(|seat| seat.fitted.as_ref());
        let count = match seat.and_then(|seat| seat.parallel.as_ref()) {
            Some(count) => Stated { value: f64::from(count.value), origin: build.written(count.at) },
            None => assumed(&defaults::PARALLEL, fitted.map_or(at, |fitted| fitted.at)),
        };
        let path = format!("stages.{name}.switches.{key}.parallel");
        let parallel = build.tables.input(path, Dimension::Ratio, count);
        let power_cycling = fitted.and_then(|fitted| power_cycling::of(build, &fitted.value));
        seats.push(Seat { key, fitted: fitted.map(|fitted| fitted.value.clone()), parallel, power_cycling });
    }
    seats
}

/// The number of legs of a chopper as it is written.
pub(crate) fn legs_of(written: &Written) -> usize {
    let legs = match written {
        Written::Boost(boost) => boost.legs.as_ref(),
        Written::Buck(buck) => buck.legs.as_ref(),
        _ => None,
    };
    legs.map_or(1, |legs| usize::try_from(legs.value).unwrap_or(1))
}

/// The lead that the rectifiers of a stage stand in, with where it is said.
pub(crate) fn rectifier_lead(written: &Written) -> Option<(RectifierLead, NodeId)> {
    let lead = match written {
        Written::PhaseShiftedFullBridge(bridge) => bridge.rectifier_lead.as_ref(),
        Written::ActiveClampForward(forward) => forward.rectifier_lead.as_ref(),
        _ => None,
    };
    lead.map(|lead| (lead.value, lead.at))
}

/// Every position with its chips, then the packages.
fn positions(
    build: &mut Build<'_>,
    design: &Design<'_>,
    seats: &[Seat],
    places: &[Place],
    stage: usize,
) -> Vec<Position> {
    let in_bridge = matches!(design.written, Written::ThreePhaseBridge(_));
    let mut positions: Vec<Position> = Vec::new();
    let mut stands = Vec::new();
    for place in places {
        let (device, at) = &design.fitted[place.seat];
        let key = seats[place.seat].key;
        let path = match &place.label {
            Some(label) => format!("{}.{key}.{label}", design.name),
            None => format!("{}.{key}", design.name),
        };
        let part = build.tables.part(path, *at, Some(design.part));
        let stands_as = standing_key(build, design, seats, place.seat);
        let parallel = seats[place.seat].parallel;
        let standing = cooling::stands(build, design.name, stands_as, *at, device.faces, parallel);
        let first = build.plan.chips.len();
        for stand in &standing {
            chips(build, device, (part, in_bridge), *at, stand.label.as_deref());
        }
        let gate = gates::node(build, design, place, device);
        let chips = first..build.plan.chips.len();
        positions.push(Position { part, seat: place.seat, role: place.role, leg: place.leg, chips, gate });
        stands.push(standing);
    }
    packages(build, design, seats, &positions, &stands, stage);
    positions
}

/// Whether positions of that name are the sides of legs, which one package may hold together.
pub(crate) fn is_in_leg(key: &str) -> bool {
    matches!(key, "high_side" | "low_side" | "bridge_high" | "bridge_low")
}

/// The positions whose entry says where those of a seat stand: of what is in one package with them, the first that says so.
fn standing_key(build: &Build<'_>, design: &Design<'_>, seats: &[Seat], seat: usize) -> &'static str {
    let own = &seats[seat];
    if design.fitted[seat].0.circuit == Circuit::Single || !is_in_leg(own.key) {
        return own.key;
    }
    let says = |other: &&Seat| {
        let is_with_it = is_in_leg(other.key) && other.fitted.is_some() && other.fitted == own.fitted;
        is_with_it && build.cooled.contains_key(format!("{}.{}", design.name, other.key).as_str())
    };
    seats.iter().find(says).map_or(own.key, |other| other.key)
}

/// The chips of one device at a position.
fn chips(
    build: &mut Build<'_>,
    device: &ResolvedDevice,
    (position, in_bridge): (PartId, bool),
    at: NodeId,
    stand: Option<&str>,
) {
    let mut path = build.tables.part_of(position).path.clone();
    if let Some(stand) = stand {
        path = format!("{path}.{stand}");
    }
    for chip in &device.chips {
        let what = if chip.kind == ChipKind::Diode { "diode" } else { "transistor" };
        let part = build.tables.part(format!("{path}.{what}"), at, Some(position));
        let figures = chip_figures(build, part, in_bridge);
        let body_diode = device.body.as_ref().map(|(conduction, energy)| {
            let body = build.tables.part(format!("{path}.body_diode"), at, Some(position));
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
        let unluckiest = build.tables.part(format!("{path}.{what}.unluckiest"), at, Some(part));
        let sharing = sharing_figures(build, unluckiest);
        build.plan.chips.push(Chip {
            part,
            kind: chip.kind,
            conduction: chip.conduction.clone(),
            energy: chip.energy.clone(),
            edges: chip.edges.clone(),
            body_diode,
            foster: chip.foster.clone(),
            inputs: chip.inputs,
            figures,
            sharing_inputs: chip.sharing,
            sharing,
        });
    }
}

fn chip_figures(build: &mut Build<'_>, part: PartId, in_bridge: bool) -> ChipFigures {
    let is_followed = build.plan.duration.is_some();
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    let average_current = figure("average_current", Dimension::Current);
    let rms_current = figure("rms_current", Dimension::Current);
    let peak_current = figure("peak_current", Dimension::Current);
    ChipFigures {
        average_current,
        rms_current,
        peak_current,
        // The crests of other stages hold their ripple.
        largest_current: if in_bridge { figure("largest_current", Dimension::Current) } else { peak_current },
        knee: figure("knee_voltage", Dimension::Voltage),
        slope: figure("slope_resistance", Dimension::Resistance),
        energy: figure("switching_energy", Dimension::Energy),
        conduction_loss: figure("conduction_loss", Dimension::Power),
        switching_loss: figure("switching_loss", Dimension::Power),
        loss: figure("loss", Dimension::Power),
        loss_per_kelvin: figure("loss_per_kelvin", Dimension::HeatCapacityRate),
        mean_junction_temperature: figure("mean_junction_temperature", Dimension::Temperature),
        junction_ripple: figure("junction_ripple", Dimension::TemperatureDifference),
        junction_temperature: figure("junction_temperature", Dimension::Temperature),
        hottest_junction: is_followed.then(|| figure("hottest_junction_temperature", Dimension::Temperature)),
        rated_current: figure("rated_current", Dimension::Current),
        uneven: None,
    }
}

fn uneven_figures(build: &mut Build<'_>, part: PartId) -> UnevenChip {
    let is_followed = build.plan.duration.is_some();
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    UnevenChip {
        rms_current: figure("uneven_rms_current", Dimension::Current),
        largest_current: figure("uneven_peak_current", Dimension::Current),
        loss: figure("uneven_loss", Dimension::Power),
        junction_temperature: figure("uneven_junction_temperature", Dimension::Temperature),
        hottest_junction: is_followed
            .then(|| figure("uneven_hottest_junction_temperature", Dimension::Temperature)),
        rated_current: figure("uneven_rated_current", Dimension::Current),
    }
}

fn sharing_figures(build: &mut Build<'_>, part: PartId) -> SharingFigures {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    SharingFigures {
        factor: figure("current_factor", Dimension::Ratio),
        rms_current: figure("rms_current", Dimension::Current),
        peak_current: figure("peak_current", Dimension::Current),
        loss: figure("loss", Dimension::Power),
        junction_temperature: figure("junction_temperature", Dimension::Temperature),
        edge_skew: figure("edge_skew", Dimension::Ratio),
        hogging_gain: figure("hogging_gain", Dimension::Ratio),
        likely_factor: figure("likely_current_factor", Dimension::Ratio),
        likely_rms_current: figure("likely_rms_current", Dimension::Current),
        likely_peak_current: figure("likely_peak_current", Dimension::Current),
        likely_junction_temperature: figure("likely_junction_temperature", Dimension::Temperature),
    }
}

/// Positions that one package holds: all six of three legs, both of a leg, or one.
fn groups(design: &Design<'_>, seats: &[Seat], positions: &[Position]) -> Vec<(Option<String>, Vec<usize>)> {
    let mut groups: Vec<(Option<String>, Vec<usize>)> = Vec::new();
    let mut taken = vec![false; positions.len()];
    for (k, position) in positions.iter().enumerate() {
        if taken[k] {
            continue;
        }
        let circuit = design.fitted[position.seat].0.circuit;
        let alike = |other: &Position| {
            let (own, its) = (&seats[position.seat].fitted, &seats[other.seat].fitted);
            own.is_some() && own == its
        };
        let legs =
            |role: Role| matches!(role, Role::HighSide | Role::LowSide | Role::BridgeHigh | Role::BridgeLow);
        let joins = |other: &Position| match circuit {
            Circuit::Single => false,
            Circuit::HalfBridge => {
                legs(position.role)
                    && legs(other.role)
                    && other.leg == position.leg
                    && other.role.side() != position.role.side()
                    && alike(other)
            }
            Circuit::SixPack => {
                let is_by_legs = matches!(
                    design.written,
                    Written::ThreePhaseBridge(_) | Written::Boost(_) | Written::Buck(_)
                );
                is_by_legs && other.leg / 3 == position.leg / 3 && legs(other.role) && alike(other)
            }
        };
        let mut group = vec![k];
        group.extend((k + 1..positions.len()).filter(|&n| !taken[n] && joins(&positions[n])));
        for &n in &group {
            taken[n] = true;
        }
        let name = match (circuit, group.len()) {
            (_, 1) => None,
            (Circuit::SixPack, _) if legs_of(design.written) <= 3 => Some(String::new()),
            (Circuit::SixPack, _) => Some((position.leg / 3 + 1).to_string()),
            _ => Some(leg_name(design.written, position.leg)),
        };
        groups.push((name, group));
    }
    groups
}

/// What a leg is called.
pub(crate) fn leg_name(written: &Written, leg: usize) -> String {
    match written {
        Written::ThreePhaseBridge(_) => {
            ["u", "v", "w"].get(leg).map_or_else(String::new, |name| (*name).to_owned())
        }
        Written::PhaseShiftedFullBridge(_) => {
            ["a", "b"].get(leg).map_or_else(String::new, |name| (*name).to_owned())
        }
        _ => (leg + 1).to_string(),
    }
}

/// Puts the chips into packages.
fn packages(
    build: &mut Build<'_>,
    design: &Design<'_>,
    seats: &[Seat],
    positions: &[Position],
    stands: &[Vec<cooling::Stand>],
    stage: usize,
) {
    for (name, group) in groups(design, seats, positions) {
        let first = group[0];
        let path = match name {
            Some(leg) if leg.is_empty() => format!("{}.package", design.name),
            Some(leg) => format!("{}.package.{leg}", design.name),
            None => format!("{}.package", build.tables.part_of(positions[first].part).path),
        };
        let at = build.tables.part_of(positions[first].part).at;
        for (k, stand) in stands[first].iter().enumerate() {
            let path = stand.label.as_ref().map_or(path.clone(), |label| format!("{path}.{label}"));
            let part = build.tables.part(path, at, Some(design.part));
            // Each stand has as many chips at every position of the group.
            let chips: Vec<usize> = group
                .iter()
                .flat_map(|&position| {
                    let all = positions[position].chips.clone();
                    let each = all.len() / stands[position].len().max(1);
                    all.start + k * each..all.start + (k + 1) * each
                })
                .collect();
            package(build, part, stage, &chips, stand);
        }
    }
}

fn package(build: &mut Build<'_>, part: PartId, stage: usize, chips: &[usize], stand: &cooling::Stand) {
    let count = stand.faces.len();
    let faces: Vec<Face> = stand
        .faces
        .iter()
        .enumerate()
        .map(|(face, &(place, resistance))| {
            let (case, heat) = match (count, face) {
                (1, _) => ("case_temperature", "heat"),
                (_, 0) => ("case_a_temperature", "face_a_heat"),
                _ => ("case_b_temperature", "face_b_heat"),
            };
            Face {
                place,
                resistance,
                at_flow: None,
                case_temperature: build.tables.figure(part, case, Dimension::Temperature),
                heat: build.tables.figure(part, heat, Dimension::Power),
            }
        })
        .collect();
    let losses = chips.iter().map(|&chip| build.plan.chips[chip].figures.loss.into()).collect();
    let junctions_and_case = faces
        .iter()
        .map(|face| {
            let mut from = vec![Operand::Figure(face.case_temperature)];
            for &chip in chips {
                let chip = &build.plan.chips[chip];
                from.push(chip.figures.mean_junction_temperature.into());
                from.push(chip.inputs.junction_to_case.into());
            }
            from
        })
        .collect();
    build.plan.packages.push(Package {
        part,
        stage,
        chips: chips.to_vec(),
        count: stand.count,
        faces,
        losses,
        junctions_and_case,
    });
}

/// An input that is missing for want of a key.
pub(crate) fn absent(build: &mut Build<'_>, path: String, dimension: Dimension, at: NodeId) -> InputId {
    let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    build.tables.input(path, dimension, stated)
}

/// Whether a side of a leg is a diode alone.
pub(crate) fn diode_side(design: &Design<'_>) -> Option<Side> {
    let is_diode = |k: usize| design.fitted.get(k).is_some_and(|(device, _)| device.is_diode());
    match (is_diode(0), is_diode(1)) {
        (true, false) => Some(Side::High),
        (false, true) => Some(Side::Low),
        _ => None,
    }
}
