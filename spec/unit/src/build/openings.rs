//! Fuses and contactors of branches, with the source, stage or load that each cuts off once it is open.

use loadworthy_language::sections::conductors::Conductor as Written;

use crate::build::{Build, protection};
use crate::graph::PowerGraph;
use crate::plan::{Circuit, Opening};

/// Adds all of them, those of branches back to a negative rail as well.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let all = (0..build.plan.conductors.len()).filter_map(|conductor| opening(build, graph, conductor));
    build.plan.openings = all.collect();
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
    let branch = path(own.branch);
    let circuit = protection::circuit_of(description, branch);
    let around = description.branches.entry(branch).and_then(|branch| branch.around.as_ref());
    let around = around
        .and_then(|around| build.plan.conductors.iter().position(|other| path(other.part) == around.value));
    let node = graph.ends_of(circuit).map(|(node, _)| node);
    let node = node.or_else(|| protection::source_of(description, graph, circuit))?;
    let plan = &build.plan;
    let source = plan.sources.iter().position(|one| path(one.part) == node).map(Circuit::Source);
    let stage = || plan.stages.iter().position(|one| path(one.part) == node).map(Circuit::Stage);
    let load = || plan.loads.iter().position(|one| path(one.part) == node).map(Circuit::Load);
    let of = source.or_else(stage).or_else(load)?;
    Some(Opening { conductor, is_contactor, around, of })
}
