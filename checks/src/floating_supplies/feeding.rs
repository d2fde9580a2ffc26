//! Gates that are fed twice, and outputs that feed what has no gate, in words and with what would be in order.

use std::collections::BTreeSet;

use loadworthy_unit::Solved;
use loadworthy_unit::plan::{GateDrive, GateSupply, Plan};

use super::potentials::{Gate, Outputs, at, by_potential, entries, fed_by, gates, name, path};
use super::propose::{family, reviewed};
use super::tell::{MOST_PLACES, drawn};
use crate::check::{Family, Told};
use crate::review::Place;

/// Gates that no output feeds, of as many potentials, or kinds of position, as there are outputs that feed a gate which another one feeds
/// already: each of those is meant for one of these.
pub(super) fn slipped(plan: &Plan, outputs: &Outputs) -> Vec<Gate> {
    let unfed: Vec<Gate> = gates(plan).filter(|&gate| outputs.feeding(gate).is_empty()).collect();
    let is_known =
        plan.gate_supplies.iter().all(|supply| !fed_by(supply).is_empty() || !supply.idle.is_empty());
    let potentials = by_potential(plan, unfed.iter().copied()).len();
    let seats: BTreeSet<(usize, usize)> = unfed.iter().map(|&gate| (gate.0, at(plan, gate).1.seat)).collect();
    let doubling = outputs.doubling(plan).len();
    if is_known && [potentials, seats.len()].contains(&doubling) { unfed } else { Vec::new() }
}

/// What waits for an output that feeds what another one feeds: all of their stages and of those left without an output.
pub(super) fn keeps_open(solved: &Solved<'_>, supply: &GateSupply) -> Vec<String> {
    let plan = &solved.variant.plan;
    let Some(Doubled { gates, .. }) = Doubled::of(solved, supply) else { return Vec::new() };
    let slips = slipped(plan, &Outputs::of(plan));
    let is_told = |of: &GateDrive| gates.iter().chain(&slips).any(|gate| gate.0 == of.stage);
    let open = plan.gate_drives.iter().filter(|drive| drive.supply.is_none() && is_told(drive));
    open.map(|drive| solved.variant.tables.input_of(drive.rails.on).path.clone()).collect()
}

/// Gates of an output that others feed as well, and those others.
struct Doubled {
    gates: Vec<Gate>,
    others: Vec<usize>,
}

impl Doubled {
    fn of(solved: &Solved<'_>, supply: &GateSupply) -> Option<Self> {
        let plan = &solved.variant.plan;
        let own = plan.gate_supplies.iter().position(|other| other.part == supply.part)?;
        let others = Outputs::of(plan).doubling(plan).remove(&own)?;
        let theirs: Vec<Gate> = others.iter().flat_map(|&other| fed_by(&plan.gate_supplies[other])).collect();
        let gates = fed_by(supply).into_iter().filter(|gate| theirs.contains(gate)).collect();
        Some(Self { gates, others })
    }
}

/// An output that feeds gates which others feed as well.
pub(super) fn doubled(solved: &Solved<'_>, supply: &GateSupply) -> Option<Told> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let Doubled { gates, others } = Doubled::of(solved, supply)?;
    let output = variant.path(supply.part);
    let names = drawn(gates.iter().map(|&gate| path(variant, gate).to_owned()).collect());
    let others: Vec<&GateSupply> = others.iter().map(|&other| &plan.gate_supplies[other]).collect();
    let other_names = listed(&others.iter().map(|other| variant.path(other.part)).collect::<Vec<_>>());
    let place = |supply: &GateSupply| {
        let feeds = |of: &[Gate]| of.iter().any(|gate| gates.contains(gate));
        let (node, _) = entries(supply).into_iter().find(|(_, of)| feeds(of))?;
        Some(Place { node, label: format!("{} feeds it", variant.path(supply.part)) })
    };
    let saying = format!(
        "`{output}` and {other_names} feed {names}: two outputs on one gate drive against each other"
    );
    let mut facts = vec![
        format!("fed by `{output}` and {other_names}: {names}"),
        format!("driven from {}", name(plan, variant, *gates.first()?)),
    ];
    let slips = slipped(plan, &Outputs::of(plan));
    if !slips.is_empty() {
        let left = drawn(slips.iter().map(|&gate| path(variant, gate).to_owned()).collect());
        facts.push(format!("without an output: {left}"));
    }
    let because = others.iter().filter_map(|other| place(other)).take(MOST_PLACES).collect();
    Some(Told { because, facts, ..Told::new(saying, place(supply)?) })
}

fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and ")
}

/// One output is left at each gate.
pub(super) fn one_left(solved: &Solved<'_>, supply: &GateSupply) -> Vec<Family> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let Some(Doubled { gates, others }) = Doubled::of(solved, supply) else { return Vec::new() };
    let names = drawn(gates.iter().map(|&gate| path(variant, gate).to_owned()).collect());
    let output = variant.path(supply.part);
    let slips = slipped(plan, &Outputs::of(plan));
    let others: Vec<&str> =
        others.iter().map(|&other| variant.path(plan.gate_supplies[other].part)).collect();
    let say = if !slips.is_empty() {
        let left = drawn(slips.iter().map(|&gate| path(variant, gate).to_owned()).collect());
        format!("let `{output}` or {} feed {left} instead", listed(&others))
    } else if gates.len() == fed_by(supply).len() {
        format!("leave `{output}` out, or name the gate that it is meant for")
    } else {
        format!("leave {names} out of `feeds` of {output}")
    };
    vec![family(reviewed(say, "one output on each gate", Vec::new()))]
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
