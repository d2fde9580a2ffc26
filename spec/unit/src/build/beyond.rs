//! What the language can say and this version cannot solve. Said as a problem, so that nobody takes silence for an
//! answer.

use loadworthy_language::VariantReading;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;
use loadworthy_source::{Problem, Tree};

use crate::graph::PowerGraph;

/// Problems of one variant.
pub(crate) fn problems(tree: &Tree, variant: &VariantReading) -> Vec<Problem> {
    let mut problems = Vec::new();
    second_sources(tree, variant, &mut problems);
    second_faces(tree, variant, &mut problems);
    problems
}

/// A bus takes one source: how several divide its current is not solved.
fn second_sources(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    let graph = PowerGraph::of(description);
    for bus in graph.buses() {
        let sources = graph.sources_of(bus);
        let place = |name: &str| match description.sources.entry(name) {
            Some(Source::Battery(battery)) => battery.bus.as_ref().map(|bus| tree.span(bus.at)),
            None => None,
        };
        let [first, more @ ..] = sources.as_slice() else { continue };
        for source in more {
            let Some(at) = place(source) else { continue };
            let message = format!("bus `{bus}` is fed by `{first}` already");
            let mut problem = Problem::new("second-source", at, message, "a second source on this bus")
                .with_way_out(
                    "describe the sources of a bus as one: how several divide its current is not solved yet",
                );
            if let Some(first) = place(first) {
                problem = problem.with_also(first, "fed from here");
            }
            problems.push(problem);
        }
    }
}

/// A second face is cooled where the package has one.
fn second_faces(tree: &Tree, variant: &VariantReading, problems: &mut Vec<Problem>) {
    let description = &variant.description;
    let Some(elements) = description.cooling.read().and_then(|cooling| cooling.elements.as_ref()) else {
        return;
    };
    let cooled = elements.values().filter_map(|element| element.cools.as_ref()).flatten();
    for (stage, faces) in cooled {
        let (Some(face_b), Some(Stage::ThreePhaseBridge(bridge))) =
            (&faces.face_b, description.stages.entry(stage))
        else {
            continue;
        };
        let seats = bridge.switches.iter().flat_map(|both| [&both.high_side, &both.low_side]).flatten();
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
