//! Two outputs that were exchanged, in words and put back.

use loadworthy_unit::plan::{GateSupply, Misfit};
use loadworthy_unit::{Solved, Variant};

use super::potentials::{Gate, fed_by, name, path};
use super::propose::{family, reviewed};
use super::tell::drawn;
use crate::check::{Family, Told};
use crate::review::Place;

fn other<'v>(variant: &'v Variant, supply: &GateSupply) -> Option<&'v GateSupply> {
    variant.plan.gate_supplies.get(supply.exchanged.as_ref()?.with)
}

fn gates(variant: &Variant, supply: &GateSupply) -> String {
    drawn(fed_by(supply).iter().map(|&gate| path(variant, gate).to_owned()).collect())
}

pub(super) fn told(variant: &Variant, supply: &GateSupply) -> Option<Told> {
    let other = other(variant, supply)?;
    let [own, theirs] = [supply, other].map(|one| variant.path(one.part));
    let saying = format!(
        "`{own}` feeds {} and `{theirs}` {}: each suits the gates of the other",
        gates(variant, supply),
        gates(variant, other)
    );
    let at = place(variant, supply)?;
    let facts = [supply, other].into_iter().map(|one| against(variant, one)).collect();
    Some(Told { because: place(variant, other).into_iter().collect(), facts, ..Told::new(saying, at) })
}

fn place(variant: &Variant, supply: &GateSupply) -> Option<Place> {
    let &(stage, position, node) = supply.feeds.first()?;
    let gate: Gate = (stage, position);
    Some(Place { node, label: format!("driven from {}", name(&variant.plan, variant, gate)) })
}

/// What speaks against an output where it is named.
fn against(variant: &Variant, supply: &GateSupply) -> String {
    let misfits = supply.exchanged.iter().flat_map(|exchanged| &exchanged.misfits);
    let words: Vec<String> = misfits
        .map(|misfit| match misfit {
            Misfit::Rail => {
                format!("it is tied to rail {}", supply.rail.as_deref().unwrap_or_default())
            }
            Misfit::Levels => "other outputs give the same device in that stage other voltages".to_owned(),
            Misfit::Barrier => "no barrier that lists it stands between them and what feeds it".to_owned(),
            Misfit::Transformer => "the other windings of its transformer feed another stage".to_owned(),
            Misfit::Side => {
                "the other windings of its transformer feed the other side of that stage".to_owned()
            }
            Misfit::Power => {
                "other outputs that feed as many gates of that side give another power".to_owned()
            }
            Misfit::Bootstrap => "what charges it feeds no low side of that leg".to_owned(),
        })
        .collect();
    format!("against `{}` at {}: {}", variant.path(supply.part), gates(variant, supply), words.join("; "))
}

/// What waits for either.
pub(super) fn keeps_open(solved: &Solved<'_>, supply: &GateSupply) -> Vec<String> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let named = |stage: usize| {
        let both = [Some(supply), other(variant, supply)].into_iter().flatten();
        both.flat_map(|one| &one.feeds).any(|of| of.0 == stage)
    };
    let open = plan.gate_drives.iter().filter(|drive| drive.supply.is_none() && named(drive.stage));
    open.map(|drive| variant.tables.input_of(drive.rails.on).path.clone()).collect()
}

/// Exchanges what they feed once more.
pub(super) fn back(variant: &Variant, supply: &GateSupply) -> Vec<Family> {
    let Some(other) = other(variant, supply) else { return Vec::new() };
    let say = format!("exchange `feeds` of {} and {}", variant.path(supply.part), variant.path(other.part));
    vec![family(reviewed(say, "each output at gates that it suits", Vec::new()))]
}
