//! Resistances from cases to coolant: those that state the flow at which they were measured follow the flow at hand; and how far they
//! may lie off.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_physics::VolumeFlow;

use crate::build::{Build, assumed};
use crate::plan::AtFlow;

/// Gives each face of a package, and each magnetic component, whose resistance states its flow what it is at the flow at hand.
/// Called once they hang on their places.
pub(crate) fn follow(build: &mut Build<'_>) {
    let mut stated: Vec<(String, &Given<VolumeFlow>)> = Vec::new();
    for (key, elements) in &build.cooled {
        for (element, faces) in elements {
            let path = format!("cooling.elements.{element}.cools.{key}");
            stated.extend(faces.flow.as_ref().map(|flow| (path, flow)));
        }
    }
    same_at_any_flow(build);
    for (path, flow) in stated {
        let flow = build.stated(Some(flow), None, |flow| flow.si());
        let flow = build.tables.input(format!("{path}.flow"), Dimension::VolumeFlow, flow);
        let is_here = |build: &Build<'_>, resistance| {
            let own = &build.tables.input_of(resistance).path;
            own.strip_prefix(&path).is_some_and(|face| matches!(face, ".face_a" | ".face_b"))
        };
        for k in 0..build.plan.packages.len() {
            for face in 0..build.plan.packages[k].faces.len() {
                let (part, of) = (build.plan.packages[k].part, &build.plan.packages[k].faces[face]);
                if of.place.is_none() || !is_here(build, of.resistance) {
                    continue;
                }
                let name = if face == 0 { "face_a_resistance" } else { "face_b_resistance" };
                let here = build.tables.figure(part, name, Dimension::ThermalResistance);
                build.plan.packages[k].faces[face].at_flow = Some(AtFlow { flow, here });
            }
        }
        for k in 0..build.plan.magnetics.len() {
            let magnetic = &build.plan.magnetics[k];
            if magnetic.place.is_none() || !is_here(build, magnetic.heat.case) {
                continue;
            }
            let part = magnetic.part;
            let here = build.tables.figure(part, "face_a_resistance", Dimension::ThermalResistance);
            build.plan.magnetics[k].heat.at_flow = Some(AtFlow { flow, here });
        }
    }
}

/// Tells of the resistances to the coolant that name no flow. What leads to a plate with a resistance of its own hangs on none.
fn same_at_any_flow(build: &mut Build<'_>) {
    let elements = build.description.cooling.read().and_then(|cooling| cooling.elements.as_ref());
    let is_plate = |element: &str| {
        elements.and_then(|all| all.get(element)).is_some_and(|element| element.resistance.is_some())
    };
    let mut unsaid = Vec::new();
    for (key, cooled) in &build.cooled {
        for (element, faces) in
            cooled.iter().filter(|(element, faces)| faces.flow.is_none() && !is_plate(element))
        {
            let face = faces.face_a.as_ref().or(faces.face_b.as_ref());
            unsaid.extend(face.map(|face| (format!("cooling.elements.{element}.cools.{key}.flow"), face.at)));
        }
    }
    for (path, at) in unsaid {
        build.tables.input(path, Dimension::Ratio, assumed(&defaults::FACE_FLOW, at));
    }
}

/// How far resistances to the coolant may lie off, where that is stated: whoever varies them asks for it.
pub(crate) fn tolerances(build: &mut Build<'_>) {
    let mut stated = Vec::new();
    for (key, elements) in &build.cooled {
        for (element, faces) in elements {
            let path = format!("cooling.elements.{element}.cools.{key}.tolerance");
            stated.extend(faces.tolerance.as_ref().map(|share| (path, share)));
        }
    }
    for (path, share) in stated {
        let share = build.stated(Some(share), None, |share| share.value());
        build.tables.limit(path, Dimension::Ratio, share);
    }
}
