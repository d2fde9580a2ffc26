//! Gates that are fed twice, and outputs that feed what has no gate, in words and with what would be in order.

use loadworthy_unit::Solved;
use loadworthy_unit::plan::GateSupply;

use super::potentials::{Gate, entries, name, outputs_of, path};
use super::propose::{family, reviewed};
use crate::check::{Family, Told};
use crate::review::Place;

/// A gate that several outputs feed.
pub(super) fn doubled(solved: &Solved<'_>, gate: Gate) -> Option<Told> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let outputs = outputs_of(plan, gate);
    let names: Vec<&str> =
        outputs.iter().map(|&output| variant.path(plan.gate_supplies[output].part)).collect();
    let mut places = outputs.iter().filter_map(|&output| {
        let supply = &plan.gate_supplies[output];
        let (node, _) = entries(supply).into_iter().find(|(_, gates)| gates.contains(&gate))?;
        Some(Place { node, label: format!("{} feeds it", variant.path(supply.part)) })
    });
    let first = places.next()?;
    // The later entry is the one that was added to a gate with an output of its own.
    let at = places.next()?;
    let saying = format!(
        "`{}` is fed by {}: two outputs on one gate drive against each other",
        path(variant, gate),
        listed(&names)
    );
    let facts = vec![
        format!("outputs on this gate: {}", names.join(", ")),
        format!("driven from {}", name(plan, variant, gate)),
    ];
    Some(Told { because: core::iter::once(first).chain(places).collect(), facts, ..Told::new(saying, at) })
}

fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and ")
}

/// One output is left at a gate.
pub(super) fn one_left(solved: &Solved<'_>, gate: Gate) -> Vec<Family> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let Some(&first) = outputs_of(plan, gate).first() else { return Vec::new() };
    let kept = variant.path(plan.gate_supplies[first].part);
    let say = format!("feed `{}` from `{kept}` alone", path(variant, gate));
    vec![family(reviewed(say, "one output on this gate", Vec::new()))]
}

/// An output that feeds positions without a gate.
pub(super) fn idle(solved: &Solved<'_>, supply: &GateSupply) -> Option<Told> {
    let variant = solved.variant;
    let output = variant.path(supply.part);
    let names: Vec<&str> = supply.idle.iter().map(|(name, _)| name.as_str()).collect();
    let saying = format!("`{output}` feeds {}, where nothing is switched", listed(&names));
    let mut places = supply
        .idle
        .iter()
        .map(|(_, node)| Place { node: *node, label: "a diode alone, which has no gate".to_owned() });
    let at = places.next()?;
    let facts = vec![format!("positions without a gate on `{output}`: {}", names.join(", "))];
    Some(Told { because: places.collect(), facts, ..Told::new(saying, at) })
}

/// Leaves out what has no gate.
pub(super) fn left_out(supply: &GateSupply) -> Vec<Family> {
    let names: Vec<&str> = supply.idle.iter().map(|(name, _)| name.as_str()).collect();
    let say = format!("leave {} out of its list", listed(&names));
    vec![family(reviewed(say, "an output for gates alone", Vec::new()))]
}
