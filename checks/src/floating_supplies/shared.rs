//! Transformers that feed gates of several stages, or both sides of a leg: what fails with one takes them all.

use std::collections::BTreeMap;

use loadworthy_unit::Solved;
use loadworthy_unit::plan::{GateTransformer, Plan};

use super::potentials::Gate;
use super::{fed_alone, spans_a_leg, spans_stages};

/// The gates that a transformer feeds, where it feeds more than should be lost at once.
pub(super) fn fed(plan: &Plan, transformer: &GateTransformer) -> Option<Vec<Gate>> {
    let outputs = transformer.outputs.iter().map(|(output, _)| &plan.gate_supplies[*output]);
    let fed: Vec<Gate> = outputs.flat_map(fed_alone).collect();
    // What fails with the one output of a transformer is told of the output.
    (transformer.outputs.len() > 1 && (spans_stages(&fed) || spans_a_leg(plan, &fed))).then_some(fed)
}

/// Transformers that feed more than should be lost at once, in order; together those that feed gates of the same stages, since
/// two outputs that were exchanged are one slip.
pub(super) fn groups(plan: &Plan) -> Vec<Vec<&GateTransformer>> {
    let mut places: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    let mut groups: Vec<Vec<&GateTransformer>> = Vec::new();
    for transformer in &plan.gate_transformers {
        let Some(fed) = fed(plan, transformer) else { continue };
        let mut stages: Vec<usize> = fed.into_iter().map(|gate| gate.0).collect();
        stages.sort_unstable();
        stages.dedup();
        let place = *places.entry(stages).or_insert(groups.len());
        match groups.get_mut(place) {
            Some(group) => group.push(transformer),
            None => groups.push(vec![transformer]),
        }
    }
    groups
}

/// Whether any transformer feeds more than should be lost at once.
pub(crate) fn shares_a_transformer(solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    plan.gate_transformers.iter().any(|one| fed(plan, one).is_some())
}
