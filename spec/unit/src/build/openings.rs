//! Fuses, contactors and other conductors of branches, with the source, stage or load that each cuts off once it is open.

use loadworthy_language::sections::conductors::Conductor as Written;

use crate::build::Build;
use crate::graph::PowerGraph;
use crate::plan::{Circuit, Lead, Opening};

/// Adds all of them, those of branches back to a negative rail as well.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let all = (0..build.plan.conductors.len()).filter_map(|conductor| opening(build, graph, conductor));
    build.plan.openings = all.collect();
    let all = (0..build.plan.conductors.len()).filter_map(|conductor| lead(build, graph, conductor));
    let mut leads: Vec<Lead> = Vec::new();
    for lead in all {
        // Conductors of one branch stand in a row.
        if leads.last().is_none_or(|last| last.branch != lead.branch) {
            leads.push(lead);
        }
    }
    build.plan.leads = leads;
}

fn opening(build: &Build<'_>, graph: &PowerGraph<'_>, conductor: usize) -> Option<Opening> {
    let description = build.description;
    let path = |part| build.tables.part_of(part).path.as_str();
    let own = &build.plan.conductors[conductor];
    let is_contactor = match description.conductors.entry(path(own.part))? {
        Written::Contactor(_) => true,
        Written::Fuse(_) => false,
        _ => return None,
    };
    let (around, of) = circuit(build, graph, conductor)?;
    Some(Opening { conductor, is_contactor, around, of })
}

fn lead(build: &Build<'_>, graph: &PowerGraph<'_>, conductor: usize) -> Option<Lead> {
    let own = &build.plan.conductors[conductor];
    let written = build.description.conductors.entry(&build.tables.part_of(own.part).path)?;
    if matches!(written, Written::Contactor(_) | Written::Fuse(_)) {
        return None;
    }
    let (around, of) = circuit(build, graph, conductor)?;
    Some(Lead { branch: own.branch, around, of })
}

/// What the branch of a conductor leads around, and what stands at the end of its circuit.
fn circuit(build: &Build<'_>, graph: &PowerGraph<'_>, conductor: usize) -> Option<(Option<usize>, Circuit)> {
    let description = build.description;
    let path = |part| build.tables.part_of(part).path.as_str();
    let branch = path(build.plan.conductors[conductor].branch);
    let circuit = build.drawn.circuit_of(branch);
    let around = description.branches.entry(branch).and_then(|branch| branch.around.as_ref());
    let around = around.and_then(|around| build.places.conductors_named(&around.value).first().copied());
    let node = graph.ends_of(circuit).map(|(node, _)| node);
    let node = node.or_else(|| build.drawn.source_of(circuit))?;
    let places = &build.places;
    let source = places.sources.get(node).copied().map(Circuit::Source);
    let stage = || places.stages.get(node).copied().map(Circuit::Stage);
    let load = || places.loads.get(node).copied().map(Circuit::Load);
    Some((around, source.or_else(stage).or_else(load)?))
}
