//! Coolant that stands still: in the whole loop, or in one branch of it.

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{CoolantBranch as Branch, CoolantLeg, CoolantPath};

use super::fallen::fallen;
use super::found::{after, fault};
use super::left::Bench;
use super::{Effect, Fault, Kind};
use crate::dependence::Needs;

/// One branch of each split blocked: what stands in it is taken to stop, and the others keep their share of the flow.
pub(super) fn branches(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let Some(path) = &variant.plan.coolant else { return };
    for branch in path.splits.iter().flat_map(|split| &split.branches) {
        let stages = stages(variant, path, &places(path, branch));
        if stages.is_empty() {
            continue;
        }
        let mut effect = after(bench, &fallen(variant, needs, stages, None));
        effect.says.insert(
            0,
            "nothing in it settles at any temperature, so that it is taken to stop; the more that then flows elsewhere is not reckoned with"
                .to_owned(),
        );
        let at = variant.tables.part_of(branch.part).at;
        faults.push(fault(Kind::Branch, variant.path(branch.part), at, effect));
    }
}

/// Places of a branch and of all that divides within it.
fn places(path: &CoolantPath, branch: &Branch) -> Vec<usize> {
    let mut places = Vec::new();
    let mut open: Vec<&Branch> = vec![branch];
    while let Some(branch) = open.pop() {
        for leg in &branch.legs {
            match *leg {
                CoolantLeg::Place(place) => places.push(place),
                CoolantLeg::Split(split) => open.extend(&path.splits[split].branches),
            }
        }
    }
    places
}

/// Stages that have a case or a winding at some places.
fn stages(variant: &Variant, path: &CoolantPath, places: &[usize]) -> Vec<usize> {
    let stands_there = |stage: usize| {
        let of = &variant.plan.stages[stage];
        places.iter().map(|&place| &path.places[place]).any(|place| {
            place.faces.iter().any(|(package, _)| of.packages.contains(package))
                || place.magnetics.iter().any(|magnetic| of.magnetics.contains(magnetic))
        })
    };
    (0..variant.plan.stages.len()).filter(|&stage| stands_there(stage)).collect()
}

/// Without flow nothing on the loop settles at any temperature.
pub(super) fn pump(variant: &Variant) -> Option<Fault> {
    let coolant = variant.plan.coolant.as_ref()?;
    let cooled: Vec<&str> = variant
        .plan
        .stages
        .iter()
        .filter(|stage| {
            coolant
                .places
                .iter()
                .any(|place| place.faces.iter().any(|(package, _)| stage.packages.contains(package)))
        })
        .map(|stage| variant.path(stage.part))
        .collect();
    if cooled.is_empty() {
        return None;
    }
    let effect = Effect {
        not_served: variant.duties.iter().map(|duty| duty.name.clone()).collect(),
        says: vec![format!(
            "nothing on the loop settles at any temperature: {}; how long they last, the description does not say",
            cooled.join(", ")
        )],
        ..Effect::default()
    };
    Some(fault(Kind::Pump, "cooling", variant.tables.part_of(coolant.part).at, effect))
}
