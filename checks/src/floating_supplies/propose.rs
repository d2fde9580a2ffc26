//! What would be in order. Another supply is no value of the description, so nothing here is tried by the review: the rule
//! is exact, and each change leaves one potential for each output.

use loadworthy_unit::Solved;
use loadworthy_unit::plan::GateSupply;

use super::potentials::{
    Alike, Gate, alike, at, by_potential, charges, fed_alone, fed_by, gates, on_rail, path,
};
use super::tell::{drawn, stages, transformer};
use super::{
    ACROSS_STAGES, BOOTSTRAP, COMMON, DOUBLED, EXCHANGED, IDLE, MISSING, MUTUAL, ONE_PRIMARY,
    ONE_TRANSFORMER, SHARED, TIED,
};
use super::{exchanged, feeding, mutual, primaries, returns};
use crate::check::{Change, Failure, Family, Proof, Proposal};

/// Changes that put a failure in order.
pub(super) fn changes(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let part = failure.worst.part;
    let gate_of = |part| gates(plan).find(|&gate| at(plan, gate).1.part == part);
    let supply = plan.gate_supplies.iter().find(|supply| supply.part == part);
    match (failure.worst.defect, supply) {
        (MISSING, _) => {
            let unfed: Vec<Gate> = failure.all.iter().filter_map(|verdict| gate_of(verdict.part)).collect();
            vec![outputs_for(solved, &unfed, None)]
        }
        (COMMON, _) => returns::propose(failure, solved),
        (ONE_PRIMARY, _) => {
            transformer(plan, part).map_or_else(Vec::new, |of| primaries::propose(solved, of))
        }
        (MUTUAL, _) => mutual::propose(solved),
        (DOUBLED, Some(supply)) => feeding::one_left(solved, supply),
        (EXCHANGED, Some(supply)) => exchanged::back(solved.variant, supply),
        (IDLE, Some(supply)) => feeding::left_out(supply),
        (SHARED, Some(supply)) => {
            let first = fed_alone(supply).first().copied();
            let away: Vec<Gate> = fed_alone(supply)
                .into_iter()
                .filter(|&gate| first.is_some_and(|first| alike(plan, first, gate) == Alike::No))
                .collect();
            vec![outputs_for(solved, &away, Some(supply))]
        }
        (TIED, Some(supply)) => {
            let rail = supply.rail.as_deref().unwrap_or_default();
            let away: Vec<Gate> = fed_alone(supply)
                .into_iter()
                .filter(|&gate| on_rail(plan, gate, rail) == Alike::No)
                .collect();
            vec![outputs_for(solved, &away, Some(supply))]
        }
        (BOOTSTRAP, Some(supply)) => bootstrap(solved, supply),
        (ACROSS_STAGES, Some(supply)) => {
            let names = stages(plan, solved.variant, &fed_alone(supply));
            let say = format!("an output for each of {}", names.join(", "));
            let more = names.len().saturating_sub(1);
            vec![family(reviewed(say, "one stage to a shorted gate", vec![isolated(more)]))]
        }
        (ONE_TRANSFORMER, _) => {
            let leaves = "one stage, and one side of each leg, to a fault of one";
            let effect = "more cores, and a smaller coupling capacitance at each".to_owned();
            vec![family(reviewed(
                "a transformer for each stage, and in a leg one for either side".to_owned(),
                leaves,
                vec![effect],
            ))]
        }
        _ => Vec::new(),
    }
}

pub(super) fn reviewed(say: String, leaves: &str, side_effects: Vec<String>) -> Proposal {
    let change = Change::Reviewed { proof: Proof::ExactRule, leaves: leaves.to_owned(), side_effects };
    Proposal { say, change }
}

pub(super) fn family(proposal: Proposal) -> Family {
    Family { tried: String::new(), ladder: vec![proposal] }
}

pub(super) fn isolated(more: usize) -> String {
    if more == 1 { "1 more isolated output".to_owned() } else { format!("{more} more isolated outputs") }
}

/// Gates that need another output than they have: where one stands on their potential and in their stage they go there,
/// the others get one for each potential.
fn outputs_for(solved: &Solved<'_>, away: &[Gate], from: Option<&GateSupply>) -> Family {
    let variant = solved.variant;
    let plan = &variant.plan;
    let mut moves: Vec<String> = Vec::new();
    let mut own: Vec<String> = Vec::new();
    for group in by_potential(plan, away.iter().copied()) {
        let names = drawn(group.iter().map(|&gate| path(variant, gate).to_owned()).collect());
        let fits = |supply: &&GateSupply| {
            let fed = fed_by(supply);
            let is_other = from.is_none_or(|from| from.part != supply.part);
            let on_rail =
                supply.rail.as_deref().is_none_or(|rail| on_rail(plan, group[0], rail) == Alike::Yes);
            is_other
                && supply.bootstrap_from.is_none()
                && on_rail
                && !fed.is_empty()
                && fed.iter().all(|&gate| gate.0 == group[0].0 && alike(plan, gate, group[0]) == Alike::Yes)
        };
        match plan.gate_supplies.iter().find(fits) {
            Some(supply) => moves.push(format!("{names} to `feeds` of {}", variant.path(supply.part))),
            None => own.push(names),
        }
    }
    let mut say: Vec<String> = Vec::new();
    match own.as_slice() {
        [] => {}
        [one] => say.push(format!("an output of its own for {one}")),
        several => say.push(format!("an output of its own for each of {}", several.join(", "))),
    }
    say.extend(moves);
    let effects = if own.is_empty() { Vec::new() } else { vec![isolated(own.len())] };
    family(reviewed(say.join(", and "), "one potential for each output, and every gate here fed", effects))
}

/// The output that feeds the low side of the same leg charges it, where there is one; or an isolated output does without.
fn bootstrap(solved: &Solved<'_>, supply: &GateSupply) -> Vec<Family> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let fed = fed_alone(supply);
    let leaves = "charged while the low side of its own leg conducts";
    let mut families = Vec::new();
    let right =
        (0..plan.gate_supplies.len()).find(|&output| fed.iter().all(|&gate| charges(plan, output, gate)));
    if let Some(output) = right {
        let say = format!("bootstrap_from: {}", variant.path(plan.gate_supplies[output].part));
        families.push(family(reviewed(say, leaves, Vec::new())));
    }
    let names = drawn(fed.iter().map(|&gate| path(variant, gate).to_owned()).collect());
    let say = format!("an isolated output for {names}, without `bootstrap_from`");
    families.push(family(reviewed(say, "charged whatever the leg does", vec![isolated(1)])));
    families
}
