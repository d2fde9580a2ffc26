//! The coolant path as places and splits, and the faces that are cooled at each.

mod place;

use std::collections::BTreeMap;

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::cooling::{CoolantElement, CoolantKind, CooledFaces, Cooling, PumpCurve};
use loadworthy_physics::VolumeFlow;
use loadworthy_physics::coolant::Coolant;
use loadworthy_source::{Located, NodeId};

use crate::build::{Build, broken, passage};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{CoolantBranch, CoolantLeg, CoolantPath, Pump, PumpPressure, Split};
use crate::table::Stated;
use crate::trace::Operand;

/// Elements by what they cool: stage, position or magnetic component.
pub(crate) type Cooled<'d> = BTreeMap<&'d str, Vec<(&'d str, &'d CooledFaces)>>;

/// Which elements cool what.
pub(crate) fn cooled(description: &loadworthy_language::Description) -> Cooled<'_> {
    let mut cooled: Cooled<'_> = BTreeMap::new();
    let elements = description.cooling.read().and_then(|cooling| cooling.elements.as_ref());
    for (name, element) in elements.into_iter().flatten() {
        for (what, faces) in element.cools.iter().flatten() {
            cooled.entry(what).or_default().push((name, faces));
        }
    }
    cooled
}

/// Whether a loop is described and the way that its coolant takes is not.
pub(crate) fn has_no_path(description: &loadworthy_language::Description) -> bool {
    let cooling = description.cooling.read();
    cooling.is_some_and(|cooling| cooling.path.as_ref().is_none_or(|path| path.value.is_empty()))
}

/// The path with its places; the faces are joined once the packages are known.
pub(crate) fn path(build: &mut Build<'_>) {
    let Some(cooling) = build.description.cooling.read() else { return };
    let Some(at) = build.description.cooling.at() else { return };
    let part = build.tables.part("cooling".to_owned(), at, None);
    let coolant = cooling.coolant.as_ref();
    let curve_origin =
        if coolant.is_some() { Origin::Written(at) } else { Origin::Absent { near: Some(at) } };
    let coolant_curve = build.tables.curve("cooling.coolant".to_owned(), curve_origin);
    let inlet = inlet(build);
    let flow = flow(build, cooling, at);
    let around = passage::around(build, at);
    let share = around.glycol.map_or(f64::NAN, |glycol| {
        build.tables.input_of(glycol).values.first().map_or(f64::NAN, |stated| stated.value)
    });
    let pump = cooling.pump.as_ref().and_then(|pump| pump.curve.as_ref()).map(|curve| pump(build, curve));
    let written: Vec<&Located<String>> = cooling.path.iter().flat_map(|path| &path.value).collect();
    let drop_known = drop_known(build, cooling, &written, at);
    let total_drop = build.tables.figure_if_asked(part, "pressure_drop", Dimension::Pressure);
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    let heat = figure("heat", Dimension::Power);
    let mut path = CoolantPath {
        part,
        drop_known,
        coolant: coolant.map(|kind| match kind {
            CoolantKind::WaterGlycol(_) => Coolant::WaterGlycol { glycol: share },
            CoolantKind::Water(_) => Coolant::Water,
        }),
        coolant_curve,
        glycol: around.glycol,
        stated_pressure: around.pressure,
        altitude: around.altitude,
        coldest: around.coldest,
        most_warming: around.warming,
        outlet_pressure: figure("absolute_pressure", Dimension::Pressure),
        freezing_point: figure("freezing_point", Dimension::Temperature),
        inlet,
        flow,
        pump,
        total_flow: figure("flow", Dimension::VolumeFlow),
        total_drop,
        capacity_rate: figure("capacity_rate", Dimension::HeatCapacityRate),
        outlet: figure("outlet", Dimension::Temperature),
        heat,
        whole: passage::row(build, part, Some(heat)),
        places: Vec::new(),
        splits: Vec::new(),
        legs: Vec::new(),
        steps: Vec::new(),
    };
    let row = Row { cooling, part, flow: path.total_flow, capacity_rate: path.capacity_rate };
    path.legs = legs(build, &mut path, &row, &written);
    path.lay();
    for (k, place) in path.places.iter().enumerate() {
        let name = build.tables.part_of(place.part).path.trim_start_matches("cooling.").to_owned();
        build.places.coolant.insert(name, k);
    }
    build.plan.coolant = Some(path);
}

/// Elements one after another, with the flow through all of them.
struct Row<'d> {
    cooling: &'d Cooling,
    part: PartId,
    flow: FigureId,
    capacity_rate: FigureId,
}

/// Adds what stands one after another.
fn legs(
    build: &mut Build<'_>,
    path: &mut CoolantPath,
    row: &Row<'_>,
    names: &[&Located<String>],
) -> Vec<CoolantLeg> {
    let mut legs = Vec::new();
    for name in names {
        let element = row.cooling.elements.as_ref().and_then(|elements| elements.get(&name.value));
        match element.and_then(|element| element.split.as_ref()) {
            None => {
                let place = place::place(build, row, &name.value, name.at, element);
                path.places.push(place);
                legs.push(CoolantLeg::Place(path.places.len() - 1));
            }
            Some(split) => {
                let part = build.tables.part(format!("cooling.{}", name.value), name.at, Some(row.part));
                let outlet = build.tables.figure(part, "outlet", Dimension::Temperature);
                let mut branches = Vec::new();
                for (branch, elements) in split {
                    branches.push(self::branch(
                        build,
                        path,
                        row,
                        (part, &name.value, name.at),
                        (branch, elements),
                    ));
                }
                path.splits.push(Split { part, branches, outlet });
                legs.push(CoolantLeg::Split(path.splits.len() - 1));
            }
        }
    }
    legs
}

fn branch(
    build: &mut Build<'_>,
    path: &mut CoolantPath,
    row: &Row<'_>,
    (split, split_name, at): (PartId, &str, NodeId),
    (name, elements): (&str, &[Located<String>]),
) -> CoolantBranch {
    let at = elements.first().map_or(at, |element| element.at);
    let part = build.tables.part(format!("cooling.{split_name}.{name}"), at, Some(split));
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    let flow = figure("flow", Dimension::VolumeFlow);
    let share = figure("flow_share", Dimension::Ratio);
    let capacity_rate = figure("capacity_rate", Dimension::HeatCapacityRate);
    let names: Vec<&Located<String>> = elements.iter().collect();
    let drop_known = drop_known(build, row.cooling, &names, at);
    let figures = passage::row(build, part, None);
    let inner = Row { cooling: row.cooling, part, flow, capacity_rate };
    let legs = legs(build, path, &inner, &names);
    CoolantBranch { part, legs, flow, share, capacity_rate, row: figures, drop_known }
}

/// Zero where everything that stands one after another says how it drops pressure; else missing, by the name of the first
/// that does not.
fn drop_known(
    build: &mut Build<'_>,
    cooling: &Cooling,
    elements: &[&Located<String>],
    at: NodeId,
) -> InputId {
    let says = |element: &&&Located<String>| {
        let element = cooling.elements.as_ref().and_then(|elements| elements.get(&element.value));
        element.is_some_and(|element| {
            let passage = element.passage.as_ref();
            let is_duct = passage.is_some_and(|passage| passage.bore.is_some() && passage.length.is_some());
            element.pressure_drop.is_some() || element.split.is_some() || is_duct
        })
    };
    let silent = elements.iter().find(|element| !says(element));
    let value = if silent.is_none() && !elements.is_empty() { 0.0 } else { f64::NAN };
    let near = silent.map_or(at, |element| element.at);
    // Which places there are nobody says where there is no path.
    let name = silent.or(elements.first()).map_or_else(
        || "cooling.path".to_owned(),
        |element| format!("cooling.elements.{}.pressure_drop", element.value),
    );
    let drop = Stated { value, origin: Origin::Absent { near: Some(near) } };
    build.tables.input(name, Dimension::Pressure, drop)
}

/// Share of the pressure without flow within which a parabola must pass every point.
const LIKE: f64 = 0.02;

/// A falling parabola through the points of a pump's curve, by least squares, or where none is like them the points.
fn pump(build: &mut Build<'_>, curve: &PumpCurve) -> Pump {
    let id = build.tables.curve("cooling.pump.curve".to_owned(), build.written(curve.pressure.at));
    let points: Vec<_> =
        curve.flow.iter().zip(curve.pressure.iter()).map(|(q, p)| (q.si(), p.si())).collect();
    let largest = points.last().map_or(f64::NAN, |point| point.0);
    let parabola = PumpPressure::Parabola(parabola(&points, largest));
    let most = points.first().map_or(f64::NAN, |point| point.1);
    let is_like = points.iter().all(|&(flow, pressure)| (parabola.at(flow) - pressure).abs() <= LIKE * most);
    let pressure = if is_like { parabola } else { PumpPressure::Points(points) };
    Pump { curve: id, pressure, largest_flow: largest }
}

/// Coefficients of p = p0 - a·Q - b·Q² closest to some points. Flows are scaled to the largest, so that the equations are
/// well conditioned.
fn parabola(points: &[(f64, f64)], largest: f64) -> [f64; 3] {
    let mut normal = [[0.0; 4]; 3];
    for &(flow, pressure) in points {
        let x = flow / largest;
        let powers = [1.0, x, x * x];
        for (row, left) in powers.iter().enumerate() {
            for (column, right) in powers.iter().enumerate() {
                normal[row][column] += left * right;
            }
            normal[row][3] += left * pressure;
        }
    }
    for pivot in 0..3 {
        for row in 0..3 {
            if row != pivot {
                let factor = normal[row][pivot] / normal[pivot][pivot];
                let above = normal[pivot];
                normal[row].iter_mut().zip(above).for_each(|(value, above)| *value -= factor * above);
            }
        }
    }
    let of = |row: usize| normal[row][3] / normal[row][row];
    [of(0), -of(1) / largest, -of(2) / (largest * largest)]
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

fn cools_nothing(element: &CoolantElement) -> bool {
    element.cools.as_ref().is_none_or(|cools| cools.is_empty())
}

/// Devices that stand together: on which faces, and how many of them at each position.
pub(crate) struct Stand {
    /// The element, where the devices of a position stand at several.
    pub(crate) label: Option<String>,
    /// How many.
    pub(crate) count: InputId,
    /// Their faces: the place, and the resistance to it.
    pub(crate) faces: Vec<(Option<usize>, InputId)>,
}

/// Where the devices of a position stand.
pub(crate) fn stands(
    build: &mut Build<'_>,
    stage: &str,
    seat: &str,
    at: NodeId,
    faces: usize,
    parallel: InputId,
) -> Vec<Stand> {
    let own = format!("{stage}.{seat}");
    let key = if build.cooled.contains_key(own.as_str()) { own } else { stage.to_owned() };
    let found = build.cooled.get(key.as_str()).cloned().unwrap_or_default();
    let counted: Vec<_> = found.iter().filter(|(_, faces)| faces.devices.is_some()).copied().collect();
    if counted.is_empty() {
        let faces = (0..faces).map(|face| self::face(build, &key, at, face, &found)).collect();
        return vec![Stand { label: None, count: parallel, faces }];
    }
    counted
        .into_iter()
        .map(|(element, cooled)| {
            let count = match &cooled.devices {
                Some(devices) => {
                    Stated { value: f64::from(devices.value), origin: build.written(devices.at) }
                }
                None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
            };
            let path = format!("cooling.elements.{element}.cools.{key}.devices");
            let count = once(build, path, Dimension::Ratio, count);
            let only = [(element, cooled)];
            let faces = (0..faces).map(|face| self::face(build, &key, at, face, &only)).collect();
            Stand { label: Some(element.to_owned()), count, faces }
        })
        .collect()
}

/// An input that several positions share: added at its first use.
fn once(build: &mut Build<'_>, path: String, dimension: Dimension, stated: Stated) -> InputId {
    if let Some(&known) = build.shared.get(&path) {
        return known;
    }
    let input = build.tables.input(path.clone(), dimension, stated);
    build.shared.insert(path, input);
    input
}

/// The place that cools a face, with the resistance of that face.
fn face(
    build: &mut Build<'_>,
    key: &str,
    at: NodeId,
    face: usize,
    elements: &[(&str, &CooledFaces)],
) -> (Option<usize>, InputId) {
    let name = if face == 0 { "face_a" } else { "face_b" };
    let of = |faces: &CooledFaces| if face == 0 { faces.face_a } else { faces.face_b };
    let given = elements.iter().find_map(|(element, faces)| Some((*element, Some(of(faces)?))));
    // An element that cools the stage and leaves this face out takes its heat all the same: how much is not known.
    let found = given.or_else(|| elements.first().map(|(element, _)| (*element, None)));
    if let Some((element, given)) = found {
        let stated = build.stated(given.as_ref(), Some(at), |r| r.si());
        let path = format!("cooling.elements.{element}.cools.{key}.{name}");
        let resistance = once(build, path, Dimension::ThermalResistance, stated);
        let place = build.places.coolant.get(element).copied();
        if place.is_none() {
            // No coolant passes an element that the path does not name: what it would do to this face is not known.
            let off_path = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
            let path = match has_no_path(build.description) {
                true => "cooling.path".to_owned(),
                false => format!("cooling.path with `{element}`"),
            };
            return (None, once(build, path, Dimension::ThermalResistance, off_path));
        }
        return (place, resistance);
    }
    let cooling = &build.description.cooling;
    if let Some(void) = cooling.at().filter(|_| cooling.is_void()) {
        // Any of its elements might have cooled it: the section is told, once for all faces.
        return (None, once(build, "cooling".to_owned(), Dimension::ThermalResistance, broken(void)));
    }
    let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    let path = format!("cooling.elements.*.cools.{key}.{name}");
    (None, once(build, path, Dimension::ThermalResistance, stated))
}

/// The place that takes the heat of a magnetic component.
pub(crate) fn place_cooling(build: &Build<'_>, name: &str) -> Option<usize> {
    let elements = build.cooled.get(name)?;
    elements.iter().find_map(|(element, _)| build.places.coolant.get(*element).copied())
}

/// Hangs the faces of all packages, and the magnetic components, on their places.
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
    for (k, magnetic) in plan.magnetics.iter().enumerate() {
        let Some(place) = magnetic.place else { continue };
        path.places[place].magnetics.push(k);
        path.places[place].heats.extend([Operand::Figure(magnetic.loss), Operand::Input(magnetic.count)]);
    }
    for (name, entry) in build.description.stages.iter().filter(|(_, entry)| entry.read().is_none()) {
        for (element, _) in build.cooled.get(name.as_str()).into_iter().flatten() {
            let Some(&place) = build.places.coolant.get(*element) else { continue };
            // A stage that could not be read heats all the same.
            let heat = build.tables.input(format!("stages.{name}"), Dimension::Power, broken(entry.value));
            path.places[place].unknown_heat = Some(heat);
            path.places[place].heats.extend([Operand::Input(heat), Operand::Input(heat)]);
        }
    }
}
