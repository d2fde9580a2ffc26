//! What the language can say and this version cannot solve. Said as a problem, so that nobody takes silence for an
//! answer.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::quantity::Given;
use loadworthy_language::sections::cooling::CooledFaces;
use loadworthy_language::sections::devices::Circuit;
use loadworthy_language::sections::stages::Stage;
use loadworthy_language::{Description, VariantReading};
use loadworthy_physics::{Temperature, ThermalResistance};
use loadworthy_source::{Located, NodeId, Problem, Span, Tree, shown};

use crate::build::cooling;
use crate::build::stage::{is_in_leg, legs_of};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// Problems of one variant.
pub(crate) fn problems(tree: &Tree, variant: &VariantReading) -> Vec<Problem> {
    let mut problems = Vec::new();
    second_faces(tree, variant, &mut problems);
    six_packs(tree, variant, &mut problems);
    two_places(tree, variant, &mut problems);
    feeders(tree, variant, &mut problems);
    coolant(tree, variant, &mut problems);
    colder(tree, variant, &mut problems);
    problems
}

/// A second face is cooled where the package has one.
fn second_faces(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    let Some(elements) = description.cooling.read().and_then(|cooling| cooling.elements.as_ref()) else {
        return;
    };
    let cooled = elements.values().filter_map(|element| element.cools.as_ref()).flatten();
    for (stage, faces) in cooled {
        let of_stage = stage.split('.').next().and_then(|name| description.stages.entry(name));
        let (Some(face_b), Some(written)) = (&faces.face_b, of_stage) else { continue };
        let seats = written.positions().into_iter().filter_map(|(_, seat)| seat);
        let one_faced = seats.filter_map(|seat| seat.fitted.as_ref()).find(|fitted| {
            let device = description.devices.entry(&fitted.value);
            let package = device.map(|device| device.package.as_ref());
            let faces = package.map(|package| package.and_then(|package| package.cooled_faces.as_ref()));
            faces.is_some_and(|stated| stated.is_none_or(|faces| faces.value != 2))
        });
        if let Some(fitted) = one_faced {
            let message = format!("`{}` has one cooled face, and a second is cooled here", fitted.value);
            let problem = Problem::new("second-face", tree.span(face_b.at), message, "cools a second face")
                .with_also(tree.span(fitted.at), "fitted here")
                .with_way_out("state `cooled_faces: 2` in the device's package, or leave `face_b` out");
            problems.push(problem);
        }
    }
}

/// A package of six positions stands where three legs do.
fn six_packs(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    for (name, _, stage) in description.stages.readable() {
        let legs = match stage {
            Stage::ThreePhaseBridge(_) => continue,
            Stage::Boost(_) | Stage::Buck(_) => legs_of(stage),
            Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_) => 2,
        };
        if legs % 3 == 0 {
            continue;
        }
        let six = stage.positions().into_iter().find_map(|(_, seat)| {
            let fitted = seat?.fitted.as_ref()?;
            let circuit = circuit_of(description, &fitted.value)?;
            (circuit.value == Circuit::SixPack).then_some((fitted, circuit))
        });
        if let Some((fitted, circuit)) = six {
            let message = format!(
                "`{}` holds both positions of three legs, and `{}` does not have legs by threes",
                shown(&fitted.value),
                shown(name)
            );
            let problem = Problem::new("six-pack", tree.span(fitted.at), message, "fitted here")
                .with_also(tree.span(circuit.at), "six positions in one package")
                .with_way_out("fit a device of `circuit: half_bridge` or `single`");
            problems.push(problem);
        }
    }
}

/// A position with the device fitted there and the places that cool it.
type Placed<'d> = (&'d str, &'d str, &'d [(&'d str, &'d CooledFaces)]);

/// Positions that one package holds stand where it does.
fn two_places(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    let cooled = cooling::cooled(description);
    for (name, _, stage) in description.stages.readable() {
        let mut placed: Vec<Placed<'_>> = Vec::new();
        for (key, seat) in stage.positions() {
            let Some(fitted) = seat.and_then(|seat| seat.fitted.as_ref()) else { continue };
            let circuit = circuit_of(description, &fitted.value).map(|circuit| circuit.value);
            let own = cooled.get(format!("{name}.{key}").as_str());
            let (Some(stands), true) = (
                own.or_else(|| cooled.get(name)).map(Vec::as_slice),
                is_in_leg(key) && circuit.is_some_and(|circuit| circuit != Circuit::Single),
            ) else {
                continue;
            };
            let known = placed.iter().find(|(_, other, _)| *other == fitted.value).copied();
            match known {
                Some((first, _, known)) if !are_alike(known, stands) => {
                    let places =
                        [known, stands].map(|stands| stands.iter().find_map(|(_, faces)| place_of(faces)));
                    let [Some(first_at), Some(at)] = places else { continue };
                    let (device, name) = (shown(&fitted.value), shown(name));
                    let message = format!(
                        "`{device}` holds `{name}.{first}` and `{name}.{key}` in one package, which stands at one place"
                    );
                    problems.push(
                        Problem::new("two-places", tree.span(at), message, "is said to stand here")
                            .with_also(tree.span(first_at), "and here")
                            .with_way_out(format!(
                                "cool `{name}` as a whole at one element, or fit devices of `circuit: single`"
                            )),
                    );
                }
                Some(_) => {}
                None => placed.push((key, fitted.value.as_str(), stands)),
            }
        }
    }
}

/// What the package of a device holds, where that is stated.
fn circuit_of<'d>(description: &'d Description, device: &str) -> Option<&'d Located<Circuit>> {
    description.devices.entry(device)?.package.as_ref()?.circuit.as_ref()
}

/// Whether two positions stand at the same elements, on the same faces and in the same numbers.
fn are_alike(one: &[(&str, &CooledFaces)], other: &[(&str, &CooledFaces)]) -> bool {
    let of = |&(element, faces): &(&str, &CooledFaces)| {
        let face =
            |given: &Option<Given<ThermalResistance>>| given.as_ref().map(|given| given.si().to_bits());
        let devices = faces.devices.as_ref().map(|devices| devices.value);
        (element.to_owned(), face(&faces.face_a), face(&faces.face_b), devices)
    };
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| of(one) == of(other))
}

/// Where it is said how devices stand at an element.
fn place_of(faces: &CooledFaces) -> Option<NodeId> {
    let face = faces.face_a.as_ref().or(faces.face_b.as_ref()).map(|face| face.at);
    face.or(faces.devices.as_ref().map(|devices| devices.at))
}

/// What is asked of a machine needs a stage that feeds it: one problem of a machine, however often it is asked.
fn feeders(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    // A stage that could not be read, or says not what it feeds, may be the one.
    let feeds_unknown = |stage: Option<&Stage>| match stage {
        Some(Stage::ThreePhaseBridge(bridge)) => bridge.feeds.is_none(),
        Some(_) => false,
        None => true,
    };
    if !description.stages.is_whole()
        || !description.machines.is_whole()
        || description.stages.values().any(|entry| feeds_unknown(entry.read()))
    {
        return;
    }
    let bridges = description.stages.readable().filter_map(|(_, _, stage)| match stage {
        Stage::ThreePhaseBridge(bridge) => bridge.feeds.as_ref(),
        _ => None,
    });
    let fed: BTreeSet<&str> = bridges.map(|feeds| feeds.value.as_str()).collect();
    let mut asked: BTreeMap<&str, Vec<Span>> = BTreeMap::new();
    for (_, _, point) in description.duty.readable() {
        for (name, demand) in point.loads.iter().flatten() {
            let power = demand.electrical_power.as_ref().map(|power| power.at);
            let at = power.or(demand.phase_current.as_ref().map(|current| current.at));
            let is_left = description.machines.contains_key(name) && !fed.contains(name.as_str());
            if let (Some(at), true) = (at, is_left) {
                asked.entry(name).or_default().push(tree.span(at));
            }
        }
    }
    for (name, places) in asked {
        let name = shown(name);
        let message = format!("`{name}` is asked for power, and no stage feeds it");
        let mut problem = Problem::new("unfed-machine", places[0], message, "nothing can give this")
            .with_way_out(format!("let a stage say `feeds: {name}`, or leave the machine out here"));
        for &also in places[1..].iter().take(MOST_PLACES) {
            problem = problem.with_also(also, "nor this");
        }
        problems.push(problem);
    }
}

/// No coolant arrives colder than the coldest that the unit meets, and inside the unit it is no colder.
fn colder(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let surroundings = variant.description.surroundings.read();
    let Some(coldest) = surroundings.and_then(|surroundings| surroundings.coldest.as_ref()) else { return };
    inside(tree, surroundings.and_then(|air| air.inside_air.as_ref()), coldest, problems);
    let points = variant.description.duty.readable().filter_map(|(_, _, point)| point.coolant.as_ref());
    let inlets = points.filter_map(|coolant| coolant.inlet.as_ref());
    let mut colder = inlets.filter(|inlet| inlet.in_celsius() < coldest.in_celsius());
    let Some(first) = colder.next() else { return };
    let message = "coolant arrives colder than the coldest surroundings";
    let mut problem = Problem::new("conflict", tree.span(first.at), message, "arrives at this")
        .with_also(tree.span(coldest.at), "no colder than this")
        .with_way_out("state the coldest that the unit meets, or what the coolant has then");
    for also in colder.take(MOST_PLACES) {
        problem = problem.with_also(tree.span(also.at), "and at this");
    }
    problems.push(problem);
}

fn inside(
    tree: &Tree,
    air: Option<&Given<Temperature>>,
    coldest: &Given<Temperature>,
    problems: &mut Vec<Problem>,
) {
    if let Some(air) = air.filter(|air| air.in_celsius() < coldest.in_celsius()) {
        let message = "the air inside is colder than the coldest surroundings";
        let problem = Problem::new("conflict", tree.span(air.at), message, "inside the unit")
            .with_also(tree.span(coldest.at), "no colder than this")
            .with_way_out("state the air that parts stand in while the unit runs; look at its sign");
        problems.push(problem);
    }
}

/// Coolant flows.
fn coolant(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let Some(cooling) = variant.description.cooling.read() else { return };
    let of_pump = cooling.pump.iter().filter_map(|pump| pump.flow.as_ref());
    let points = variant.description.duty.readable().filter_map(|(_, _, point)| point.coolant.as_ref());
    for flow in of_pump.chain(points.filter_map(|coolant| coolant.flow.as_ref())) {
        if flow.si() <= 0.0 {
            problems.push(
                Problem::new("no-flow", tree.span(flow.at), "no coolant flows", "heat cannot leave")
                    .with_way_out("write a flow above zero, e.g. `8 L/min`"),
            );
        }
    }
}
