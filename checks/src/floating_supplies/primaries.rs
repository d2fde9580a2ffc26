//! Outputs of one transformer, and the bus that its primary is driven from.
//!
//! A transformer has one primary. Outputs of it that say different buses cannot both be right, and what they say decides
//! which barrier the transformer passes and what the gates are lost with.

use loadworthy_unit::plan::GateTransformer;
use loadworthy_unit::{NodeId, Solved, Variant};

use super::propose::{family, reviewed};
use super::tell::MOST_PLACES;
use crate::check::{Family, Told};
use crate::review::Place;

/// A bus, and the outputs of one transformer that say to take their power from it.
struct Taken<'p> {
    from: &'p str,
    /// Each by name, with the place where it says so.
    outputs: Vec<(&'p str, NodeId)>,
}

/// What the outputs of a transformer say, the bus that most of them name first; of equals the one that is named first.
fn taken<'p>(variant: &'p Variant, of: &GateTransformer) -> Vec<Taken<'p>> {
    let plan = &variant.plan;
    let mut all: Vec<Taken<'p>> = Vec::new();
    for &(output, _) in &of.outputs {
        let supply = &plan.gate_supplies[output];
        let said = plan.control.as_ref().and_then(|control| control.supplied_from.get(output)?.as_ref());
        let Some(said) = said else { continue };
        let named = (variant.path(supply.part), said.at);
        match all.iter_mut().find(|taken| taken.from == said.value) {
            Some(taken) => taken.outputs.push(named),
            None => all.push(Taken { from: &said.value, outputs: vec![named] }),
        }
    }
    all.sort_by_key(|taken| core::cmp::Reverse(taken.outputs.len()));
    all
}

/// Whether all outputs of a transformer take their power from one bus, as far as they say.
pub(super) fn is_one(solved: &Solved<'_>, of: &GateTransformer) -> bool {
    taken(solved.variant, of).len() < 2
}

pub(super) fn told(solved: &Solved<'_>, of: &GateTransformer) -> Option<Told> {
    let variant = solved.variant;
    let all = taken(variant, of);
    let (usual, strange) = all.split_first()?;
    let transformer = variant.path(of.part);
    let &(_, first) = strange.first()?.outputs.first()?;
    let names: Vec<String> =
        all.iter().map(|taken| format!("`{}` by {}", taken.from, listed(taken))).collect();
    let buses: Vec<String> = all.iter().map(|taken| format!("`{}`", taken.from)).collect();
    let saying = format!(
        "`{transformer}` has one primary, and its outputs take their power from {}",
        buses.join(" and ")
    );
    let at = Place { node: first, label: format!("not {}, as other outputs of it say", usual.from) };
    let places = strange.iter().chain([usual]).flat_map(|taken| {
        let label = |name: &str| format!("{name} takes it from {}", taken.from);
        taken.outputs.iter().map(move |&(name, node)| Place { node, label: label(name) })
    });
    let because = places.skip(1).take(MOST_PLACES).collect();
    let facts = vec![format!("one primary, which is driven from {}", names.join(", and from "))];
    let worked = vec![
        "the bus decides which barrier the transformer passes, and what its gates are lost with".to_owned(),
    ];
    Some(Told { because, facts, worked, ..Told::new(saying, at) })
}

/// The odd ones take their power where the others do, or stand on a transformer of their own.
pub(super) fn propose(solved: &Solved<'_>, of: &GateTransformer) -> Vec<Family> {
    let all = taken(solved.variant, of);
    let Some((usual, strange)) = all.split_first() else { return Vec::new() };
    let odd: Vec<String> = strange.iter().map(listed).collect();
    let odd = odd.join(", ");
    let say =
        format!("`from: {}` at {odd}, or a transformer of its own for what hangs on another bus", usual.from);
    vec![family(reviewed(say, "one bus for each transformer", Vec::new()))]
}

fn listed(taken: &Taken<'_>) -> String {
    taken.outputs.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
}
