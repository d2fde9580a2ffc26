//! The coolant path as places, and the faces that are cooled at each.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::cooling::{CoolantElement, CoolantKind, CoolantReference, Cooling};
use loadworthy_physics::VolumeFlow;
use loadworthy_physics::coolant::Coolant;
use loadworthy_source::NodeId;

use crate::build::{Build, assumed, broken};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{CoolantPath, Place, Plate};
use crate::table::Stated;
use crate::trace::Operand;

/// The path and its places; the faces are joined once the packages are known.
pub(crate) fn path(build: &mut Build<'_>, order: &[&str]) {
    let Some(cooling) = build.description.cooling.read() else { return };
    let Some(at) = build.description.cooling.at() else { return };
    let part = build.tables.part("cooling".to_owned(), at, None);
    let coolant = cooling.coolant.as_ref();
    let curve_origin =
        if coolant.is_some() { Origin::Written(at) } else { Origin::Absent { near: Some(at) } };
    let coolant_curve = build.tables.curve("cooling.coolant".to_owned(), curve_origin);
    let inlet = inlet(build);
    let flow = flow(build, cooling, at);
    let of_loop = |build: &mut Build<'_>, name, dimension| build.tables.figure(part, name, dimension);
    let mut path = CoolantPath {
        part,
        coolant: coolant.map(|kind| match kind {
            CoolantKind::WaterGlycol(_) => Coolant::WaterGlycol50,
            CoolantKind::Water(_) => Coolant::Water,
        }),
        coolant_curve,
        inlet,
        flow,
        capacity_rate: of_loop(build, "capacity_rate", Dimension::HeatCapacityRate),
        outlet: of_loop(build, "outlet", Dimension::Temperature),
        heat: of_loop(build, "heat", Dimension::Power),
        places: Vec::new(),
    };
    let written_at = cooling.path.as_ref().map_or(at, |path| path.at);
    for &name in order {
        let element = cooling.elements.as_ref().and_then(|elements| elements.get(name));
        let named = cooling.path.iter().flat_map(|path| &path.value).find(|other| other.value == name);
        let at = named.map_or(written_at, |named| named.at);
        path.places.push(place(build, part, name, at, element));
    }
    build.plan.coolant = Some(path);
}

fn inlet(build: &mut Build<'_>) -> InputId {
    let values = build
        .points
        .iter()
        .map(|&(_, at, point)| {
            let inlet = point.coolant.as_ref().and_then(|coolant| coolant.inlet.as_ref());
            build.stated(inlet, Some(at), |t| t.in_celsius())
        })
        .collect();
    build.tables.input_by_duty("duty.*.coolant.inlet".to_owned(), Dimension::Temperature, values, false)
}

fn flow(build: &mut Build<'_>, cooling: &Cooling, at: NodeId) -> InputId {
    let of_pump = cooling.pump.as_ref().and_then(|pump| pump.flow.as_ref());
    let of_points: Vec<Option<&Given<VolumeFlow>>> = build
        .points
        .iter()
        .map(|&(_, _, point)| point.coolant.as_ref().and_then(|coolant| coolant.flow.as_ref()))
        .collect();
    if of_points.iter().all(Option::is_none) {
        let flow = build.stated(of_pump, Some(at), |flow| flow.si());
        return build.tables.input("cooling.pump.flow".to_owned(), Dimension::VolumeFlow, flow);
    }
    let values = of_points
        .into_iter()
        .map(|flow| build.stated(flow.or(of_pump), Some(at), |flow| flow.si()))
        .collect();
    build.tables.input_by_duty("duty.*.coolant.flow".to_owned(), Dimension::VolumeFlow, values, false)
}

fn place(
    build: &mut Build<'_>,
    path: PartId,
    name: &str,
    at: NodeId,
    element: Option<&CoolantElement>,
) -> Place {
    let part = build.tables.part(format!("cooling.{name}"), at, Some(path));
    let reference = match element.and_then(|element| element.referred_to.as_ref()) {
        Some(written) => {
            let value = match written.value {
                CoolantReference::Inlet => 0.0,
                CoolantReference::Mean => 0.5,
                CoolantReference::Outlet => 1.0,
            };
            Stated { value, origin: build.written(written.at) }
        }
        // A pipe has no resistance that could be referred to anything.
        None if element.is_none_or(cools_nothing) => {
            Stated { value: 1.0, origin: Origin::Absent { near: None } }
        }
        None => assumed(&defaults::REFERRED_TO, at),
    };
    let said = format!("cooling.elements.{name}");
    let reference = build.tables.input(format!("{said}.referred_to"), Dimension::Ratio, reference);
    let of_place =
        |build: &mut Build<'_>, name, dimension| -> FigureId { build.tables.figure(part, name, dimension) };
    let plate = element.and_then(|element| element.resistance.as_ref()).map(|plate| {
        let value = build.stated(Some(&plate.value), Some(at), |r| r.si());
        let flow = build.stated(plate.flow.as_ref(), Some(at), |flow| flow.si());
        Plate {
            resistance: build.tables.input(
                format!("{said}.resistance.value"),
                Dimension::ThermalResistance,
                value,
            ),
            flow: build.tables.input(format!("{said}.resistance.flow"), Dimension::VolumeFlow, flow),
            resistance_here: of_place(build, "plate_resistance", Dimension::ThermalResistance),
            temperature: of_place(build, "plate_temperature", Dimension::Temperature),
        }
    });
    Place {
        part,
        reference,
        plate,
        coolant_in: of_place(build, "inlet", Dimension::Temperature),
        coolant_out: of_place(build, "outlet", Dimension::Temperature),
        heat: of_place(build, "heat", Dimension::Power),
        reference_temperature: of_place(build, "coolant", Dimension::Temperature),
        faces: Vec::new(),
        heats: Vec::new(),
        unknown_heat: None,
    }
}

fn cools_nothing(element: &CoolantElement) -> bool {
    element.cools.as_ref().is_none_or(|cools| cools.is_empty())
}

/// The place that cools a face of a stage, with the resistance of that face.
pub(crate) fn face(build: &mut Build<'_>, stage: &str, at: NodeId, face: usize) -> (Option<usize>, InputId) {
    let name = if face == 0 { "face_a" } else { "face_b" };
    let cooling = build.description.cooling.read();
    let elements = cooling.and_then(|cooling| cooling.elements.as_ref());
    let found = elements.into_iter().flatten().find_map(|(element, what)| {
        let faces = what.cools.as_ref()?.get(stage)?;
        let given = if face == 0 { faces.face_a.as_ref() } else { faces.face_b.as_ref() };
        Some((element.as_str(), given?))
    });
    // An element that cools the stage and leaves this face out takes its heat all the same: how much is not known.
    let cools = |what: &CoolantElement| what.cools.as_ref().is_some_and(|cools| cools.contains_key(stage));
    let named = elements.into_iter().flatten().find(|(_, what)| cools(what));
    let found = match found {
        Some((element, given)) => Some((element, Some(given))),
        None => named.map(|(element, _)| (element.as_str(), None)),
    };
    if let Some((element, given)) = found {
        let stated = build.stated(given, Some(at), |r| r.si());
        let path = format!("cooling.elements.{element}.cools.{stage}.{name}");
        let resistance = build.tables.input(path, Dimension::ThermalResistance, stated);
        let wanted = format!("cooling.{element}");
        let places = build.plan.coolant.iter().flat_map(|path| &path.places);
        let place = places.into_iter().position(|place| build.tables.part_of(place.part).path == wanted);
        if place.is_none() {
            // No coolant passes an element that the path does not name: what it would do to this face is not known.
            let off_path = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
            let path = format!("cooling.path with `{element}`");
            return (None, build.tables.input(path, Dimension::ThermalResistance, off_path));
        }
        return (place, resistance);
    }
    let cooling = &build.description.cooling;
    let stated = match cooling.at() {
        Some(void) if cooling.is_void() => broken(void),
        _ => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let path = format!("cooling.elements.*.cools.{stage}.{name}");
    (None, build.tables.input(path, Dimension::ThermalResistance, stated))
}

/// Hangs the faces of all packages on their places.
pub(crate) fn join(build: &mut Build<'_>) {
    let plan = &mut build.plan;
    let Some(path) = &mut plan.coolant else { return };
    for (package_index, package) in plan.packages.iter().enumerate() {
        for (face_index, face) in package.faces.iter().enumerate() {
            let Some(place) = face.place else { continue };
            path.places[place].faces.push((package_index, face_index));
            path.places[place].heats.extend([Operand::Figure(face.heat), Operand::Input(package.count)]);
        }
    }
    let elements = build.description.cooling.read().and_then(|cooling| cooling.elements.as_ref());
    for (name, entry) in build.description.stages.iter().filter(|(_, entry)| entry.read().is_none()) {
        for place in &mut path.places {
            let element = build.tables.part_of(place.part).path.trim_start_matches("cooling.").to_owned();
            let cools = elements.and_then(|elements| elements.get(&element)?.cools.as_ref());
            if cools.is_some_and(|cools| cools.contains_key(name)) {
                // A stage that could not be read heats all the same.
                let heat =
                    build.tables.input(format!("stages.{name}"), Dimension::Power, broken(entry.value));
                place.unknown_heat = Some(heat);
                place.heats.extend([Operand::Input(heat), Operand::Input(heat)]);
            }
        }
    }
}
