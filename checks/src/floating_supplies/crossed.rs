//! Outputs of two transformers of which each is named like the transformer of the other.
//!
//! Where both take their power from one bus and pass one barrier nothing that is solved tells such an exchange: what fails together is
//! another gate than meant, and the team may wire what is written. Names are no proof, so it is a note.

use loadworthy_unit::plan::GateTransformer;
use loadworthy_unit::{NodeId, Variant};

use crate::check::Told;
use crate::review::Place;

/// Pairs of transformers, as places in the plan.
pub(super) fn pairs(variant: &Variant) -> Vec<(usize, usize)> {
    let all = &variant.plan.gate_transformers;
    let mut sorted: Vec<(&str, usize)> =
        all.iter().enumerate().map(|(place, one)| (variant.path(one.part), place)).collect();
    sorted.sort_unstable();
    let most_like: Vec<Option<usize>> = all.iter().map(|one| most_like(variant, &sorted, one)).collect();
    let others = most_like.iter().enumerate().filter_map(|(one, other)| Some((one, (*other)?)));
    let mutual = others.filter(|&(one, other)| one < other && most_like[other] == Some(one));
    let is_it = |&(one, other): &(usize, usize)| {
        is_named_like(variant, &all[one], &all[other]) && is_named_like(variant, &all[other], &all[one])
    };
    mutual.filter(is_it).collect()
}

/// The transformer of which the name begins most like that of the first output of one: in the order of names it stands beside that.
fn most_like(variant: &Variant, sorted: &[(&str, usize)], of: &GateTransformer) -> Option<usize> {
    let (output, _) = of.outputs.first()?;
    let name = variant.path(variant.plan.gate_supplies[*output].part);
    let behind = sorted.partition_point(|(one, _)| *one < name);
    let beside = [behind.checked_sub(1), Some(behind)].into_iter().flatten();
    let beside = beside.filter_map(|place| sorted.get(place));
    beside.max_by_key(|(one, _)| alike(one, name)).map(|&(_, place)| place)
}

/// Whether every output of a transformer shares more of its beginning with the name of another one than with that of its own.
fn is_named_like(variant: &Variant, of: &GateTransformer, other: &GateTransformer) -> bool {
    let [own, theirs] = [of, other].map(|one| variant.path(one.part));
    let mut names = outputs(variant, of).into_iter().map(|(name, _)| name).peekable();
    names.peek().is_some() && names.all(|name| alike(name, own) < alike(name, theirs))
}

/// How many letters two names have in common at their beginning.
fn alike(one: &str, other: &str) -> usize {
    one.chars().zip(other.chars()).take_while(|(a, b)| a == b).count()
}

fn outputs<'v>(variant: &'v Variant, of: &GateTransformer) -> Vec<(&'v str, NodeId)> {
    let supply = |output: usize| variant.path(variant.plan.gate_supplies[output].part);
    of.outputs.iter().map(|&(output, at)| (supply(output), at)).collect()
}

pub(super) fn told(variant: &Variant, of: &GateTransformer) -> Option<Told> {
    let all = &variant.plan.gate_transformers;
    let (one, other) = pairs(variant).into_iter().find(|&(one, _)| all[one].part == of.part)?;
    let (one, other) = (&all[one], &all[other]);
    let [own, theirs] = [one, other].map(|one| variant.path(one.part));
    let [ours, others] = [one, other].map(|one| outputs(variant, one));
    let listed = |names: &[(&str, NodeId)]| {
        names.iter().map(|(name, _)| format!("`{name}`")).collect::<Vec<_>>().join(", ")
    };
    let saying = format!(
        "{} on `{own}` and {} on `{theirs}`: each is named like the transformer of the other",
        listed(&ours),
        listed(&others)
    );
    let place = |&(_, node): &(&str, NodeId), label: &str| Place { node, label: label.to_owned() };
    let at = place(ours.first()?, &format!("named like {theirs}"));
    let because =
        others.first().map(|output| place(output, &format!("named like {own}"))).into_iter().collect();
    let facts = vec![
        "nothing that is solved tells them apart: what changes is which gates are lost together".to_owned(),
    ];
    let why = format!(
        "exchange `transformer` where the names are right, or rename what is meant as it is: {own}, {theirs}"
    );
    Some(Told { because, facts, no_proposal: Some(why), ..Told::new(saying, at) })
}
