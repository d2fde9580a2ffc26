//! The defects in words.

use loadworthy_unit::plan::{GateSupply, GateTransformer, Plan};
use loadworthy_unit::{NodeId, PartId, Solved, Variant};

use super::potentials::{
    Alike, Count, Gate, alike, at, by_potential, charges, count, entries, fed_alone, fed_by, gates, name,
    on_rail, path,
};
use super::splits::Apart;
use super::{
    ACROSS_STAGES, BOOTSTRAP, COMMON, CROSSED, DOUBLED, EXCHANGED, IDLE, MISSING, MUTUAL, ONE_PRIMARY,
    ONE_TRANSFORMER, SHARED, TIED, TWO_NAMES,
};
use super::{crossed, exchanged, feeding, mutual, primaries, rails, returns, shared};
use crate::barrier_crossing;
use crate::check::{Failure, Told};
use crate::review::Place;
use crate::tell::part_at;

/// Places that are shown beside the first.
pub(super) const MOST_PLACES: usize = 4;

/// A failure in words.
pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let part = failure.worst.part;
    match failure.worst.defect {
        ONE_TRANSFORMER => return one_transformer(solved, part),
        ONE_PRIMARY => return primaries::told(solved, transformer(plan, part)?),
        CROSSED => return crossed::told(variant, transformer(plan, part)?),
        MUTUAL => return mutual::told(solved),
        COMMON => return returns::told(failure, solved),
        TWO_NAMES => return rails::told(solved, part),
        _ => {}
    }
    if let Some(gate) = gates(plan).find(|&gate| at(plan, gate).1.part == part) {
        return (failure.worst.defect == MISSING).then(|| missing(failure, solved, gate));
    }
    let supply = plan.gate_supplies.iter().find(|supply| supply.part == part)?;
    match failure.worst.defect {
        SHARED => shared(variant, supply),
        TIED => tied(variant, supply),
        BOOTSTRAP => bootstrap(variant, supply),
        ACROSS_STAGES => across_stages(variant, supply),
        DOUBLED => feeding::doubled(solved, supply),
        EXCHANGED => exchanged::told(variant, supply),
        IDLE => feeding::idle(solved, supply),
        _ => None,
    }
}

/// What a whole unit takes: isolated outputs for so many potentials, and those where no two stages share one.
fn of_unit(variant: &Variant) -> String {
    let Count { potentials, isolated, contained, declared, is_open } = count(&variant.plan);
    let at_most = if is_open { "at most " } else { "" };
    let apart = if contained == isolated {
        String::new()
    } else {
        format!(", {contained} where no two stages share one")
    };
    format!(
        "isolated outputs in the unit: {at_most}{isolated} needed for {potentials} potentials{apart}; {declared} declared"
    )
}

/// Names in short: those that begin alike are drawn together, such as `lift_bridge.u, .v, .w; rail hv_minus`.
pub(super) fn drawn(names: Vec<String>) -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for name in names {
        let (first, rest) = match name.split_once('.') {
            Some((first, rest)) if !name.starts_with("rail ") => (first.to_owned(), Some(rest.to_owned())),
            _ => (name, None),
        };
        match groups.iter_mut().find(|(known, list)| *known == first && !list.is_empty()) {
            Some((_, list)) => list.extend(rest),
            None => groups.push((first, rest.into_iter().collect())),
        }
    }
    let text = groups
        .into_iter()
        .map(|(first, rest)| if rest.is_empty() { first } else { format!("{first}.{}", rest.join(", .")) });
    text.collect::<Vec<_>>().join("; ")
}

fn quoted(variant: &Variant, gates: &[Gate]) -> String {
    gates.iter().map(|&gate| format!("`{}`", path(variant, gate))).collect::<Vec<_>>().join(", ")
}

/// Potentials in short, each by one of its gates.
fn potentials(variant: &Variant, groups: &[Vec<Gate>]) -> String {
    drawn(groups.iter().map(|group| name(&variant.plan, variant, group[0])).collect())
}

/// How it is known where a gate is driven from.
fn reason(variant: &Variant, gate: Gate) -> String {
    let plan = &variant.plan;
    format!("gate of {} is driven from {}", path(variant, gate), name(plan, variant, gate))
}

/// The lists of some outputs, where they name a gate.
fn entry_of(supply: &GateSupply, gate: Gate) -> Option<NodeId> {
    entries(supply).into_iter().find(|(_, gates)| gates.contains(&gate)).map(|(at, _)| at)
}

fn missing(failure: &Failure<'_>, solved: &Solved<'_>, gate: Gate) -> Told {
    let variant = solved.variant;
    let plan = &variant.plan;
    let unfed = failure.all.len();
    let others = if unfed > 1 { format!(", nor {} more of its stage", unfed - 1) } else { String::new() };
    let potential = name(plan, variant, gate);
    let saying = format!("no output of `gate_supplies` feeds `{}`{others}", path(variant, gate));
    let label = format!("no output feeds this gate, which is driven from {potential}");
    let mut because = Vec::new();
    // An output on the same potential is where it was forgotten, if anywhere.
    let near = plan.gate_supplies.iter().find_map(|supply| {
        let fed = fed_by(supply).into_iter().find(|&fed| alike(plan, fed, gate) == Alike::Yes)?;
        Some((supply, entry_of(supply, fed)?))
    });
    if let Some((supply, node)) = near {
        let output = variant.path(supply.part);
        because.push(Place { node, label: format!("{output} stands on the same potential") });
    }
    let mut all = vec![format!("{unfed} without an output: {}", drawn(paths(variant, failure)))];
    all.push(of_unit(variant));
    let worked =
        vec![reason(variant, gate), format!("outputs that feed it: none of {}", plan.gate_supplies.len())];
    let at = part_at(solved, failure.worst.part, label);
    Told { because, facts: all, worked, ..Told::new(saying, at) }
}

fn paths(variant: &Variant, failure: &Failure<'_>) -> Vec<String> {
    failure.all.iter().map(|verdict| variant.path(verdict.part).to_owned()).collect()
}

/// The entry that leads to another potential than the first, and the entries before it.
fn shared(variant: &Variant, supply: &GateSupply) -> Option<Told> {
    let plan = &variant.plan;
    let fed = fed_alone(supply);
    let first = *fed.first()?;
    let groups = by_potential(plan, fed.iter().copied());
    let names = potentials(variant, &groups);
    let entries = entries(supply);
    let differs = |gates: &[Gate]| gates.iter().any(|&gate| alike(plan, first, gate) == Alike::No);
    let at = entries.iter().find(|(_, gates)| differs(gates))?;
    let output = variant.path(supply.part);
    let saying = format!(
        "`{output}` is one output and feeds gates on {} potentials: {names}; it would short them",
        groups.len()
    );
    let place = |(node, gates): &(NodeId, Vec<Gate>)| {
        let label = format!("leads to {}", potentials(variant, &by_potential(plan, gates.iter().copied())));
        Place { node: *node, label }
    };
    let mut because: Vec<Place> =
        entries.iter().filter(|entry| entry.0 != at.0).take(MOST_PLACES).map(place).collect();
    let apart = Apart::of(plan, None, &fed);
    because.extend(apart.places);
    let mut facts = vec![format!("{} potentials on `{output}`, which it would short: {names}", groups.len())];
    facts.extend(apart.facts);
    facts.push(of_unit(variant));
    let worked = groups.iter().map(|group| reason(variant, group[0])).collect();
    Some(Told { because, facts, worked, ..Told::new(saying, place(at)) })
}

fn tied(variant: &Variant, supply: &GateSupply) -> Option<Told> {
    let plan = &variant.plan;
    let rail = supply.rail.as_deref()?;
    let others: Vec<Gate> =
        fed_alone(supply).into_iter().filter(|&gate| on_rail(plan, gate, rail) == Alike::No).collect();
    let first = *others.first()?;
    let output = variant.path(supply.part);
    let potential = name(plan, variant, first);
    let saying = format!(
        "`{output}` is tied to rail {rail} and feeds {}, driven from {potential}",
        quoted(variant, &others)
    );
    let at = Place { node: entry_of(supply, first)?, label: format!("leads to {potential}") };
    let label = format!("an output that is tied to rail {rail}");
    let mut because = vec![Place { node: variant.tables.part_of(supply.part).at, label }];
    let apart = Apart::of(plan, Some(rail), &others);
    because.extend(apart.places);
    let mut all = vec![format!("{} of its gates on another potential", others.len())];
    all.extend(apart.facts);
    all.push(of_unit(variant));
    let mut worked = vec![format!("{output} is driven from rail {rail}")];
    worked.extend(others.iter().map(|&gate| reason(variant, gate)));
    Some(Told { because, facts: all, worked, ..Told::new(saying, at) })
}

fn bootstrap(variant: &Variant, supply: &GateSupply) -> Option<Told> {
    let plan = &variant.plan;
    let from = supply.bootstrap_from?;
    let uncharged: Vec<Gate> =
        fed_alone(supply).into_iter().filter(|&gate| !charges(plan, from, gate)).collect();
    let first = *uncharged.first()?;
    let (output, charger) = (variant.path(supply.part), &plan.gate_supplies[from]);
    let saying = format!(
        "`{output}` is a bootstrap for {}, and `{}` does not feed the low side of the same leg",
        quoted(variant, &uncharged),
        variant.path(charger.part)
    );
    let at = Place {
        node: entry_of(supply, first)?,
        label: "charged only while the low side of the same leg conducts".to_owned(),
    };
    let label = "charges it, and feeds another place".to_owned();
    let because = vec![Place { node: variant.tables.part_of(charger.part).at, label }];
    let feeds = drawn(fed_by(charger).iter().map(|&gate| path(variant, gate).to_owned()).collect());
    let all = vec![format!("`{}` feeds {feeds}", variant.path(charger.part))];
    Some(Told { because, facts: all, worked: vec![reason(variant, first)], ..Told::new(saying, at) })
}

/// Names of the stages of some gates.
pub(super) fn stages(plan: &Plan, variant: &Variant, gates: &[Gate]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for &gate in gates {
        let name = variant.path(at(plan, gate).0.part).to_owned();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

fn across_stages(variant: &Variant, supply: &GateSupply) -> Option<Told> {
    let plan = &variant.plan;
    let fed = fed_alone(supply);
    let names = stages(plan, variant, &fed);
    let first = *fed.first()?;
    let (at, _) =
        entries(supply).into_iter().find(|(_, gates)| gates.iter().any(|gate| gate.0 != first.0))?;
    let output = variant.path(supply.part);
    let saying = format!(
        "`{output}` feeds gates of {}: one potential, and one shorted gate takes all of them",
        names.join(", ")
    );
    let at = Place { node: at, label: "another stage on the same output".to_owned() };
    let because = entry_of(supply, first).map(|node| Place { node, label: "fed by it as well".to_owned() });
    let mut all = vec![format!("{} stages on `{output}`: {}", names.len(), names.join(", "))];
    if !plan.shared_returns.iter().any(|of| of.part == supply.part) {
        all.push(
            "`common_inductance` is not stated: what stands between their sources at an edge is not known"
                .to_owned(),
        );
    }
    all.push(of_unit(variant));
    let worked = vec![reason(variant, first)];
    Some(Told { because: because.into_iter().collect(), facts: all, worked, ..Told::new(saying, at) })
}

/// The transformer of gate supplies that a part is.
pub(super) fn transformer(plan: &Plan, part: PartId) -> Option<&GateTransformer> {
    plan.gate_transformers.iter().find(|transformer| transformer.part == part)
}

fn one_transformer(solved: &Solved<'_>, part: PartId) -> Option<Told> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let group = shared::groups(plan).into_iter().find(|group| group[0].part == part)?;
    let outputs = || group.iter().flat_map(|one| &one.outputs);
    let mut fed: Vec<Gate> =
        outputs().flat_map(|(output, _)| fed_alone(&plan.gate_supplies[*output])).collect();
    fed.sort_unstable();
    let names = stages(plan, variant, &fed);
    let crosses =
        group.iter().filter_map(|one| shared::fed(plan, one)).any(|fed| super::spans_a_leg(plan, &fed));
    let sides = if crosses { ", both sides of a leg among them" } else { "" };
    let called: Vec<String> = group.iter().map(|one| format!("`{}`", variant.path(one.part))).collect();
    let saying = match called.as_slice() {
        [one] => format!("{one} feeds gates of {}{sides}: they are lost with it", names.join(", ")),
        more => format!(
            "{} each feed gates of {}{sides}: they are lost with any of them",
            more.join(", "),
            names.join(", ")
        ),
    };
    let mut places = outputs().map(|(output, node)| {
        let fed = fed_alone(&plan.gate_supplies[*output]);
        let fed = drawn(fed.iter().map(|&gate| path(variant, gate).to_owned()).collect());
        Place { node: *node, label: format!("a winding of it for {fed}") }
    });
    let at = places.next()?;
    let mut facts = vec![format!("lost together: {}", names.join(", "))];
    for transformer in &group {
        let of =
            if called.len() == 1 { String::new() } else { format!("`{}`: ", variant.path(transformer.part)) };
        let windings = transformer.outputs.len();
        facts.push(match windings * (windings - 1) / 2 {
            1 => format!("{of}{windings} windings, 1 insulation between them"),
            between => format!("{of}{windings} windings, {between} insulations between them"),
        });
        facts.extend(mutual::line(solved, transformer));
    }
    facts.extend(barrier_crossing::left_names(solved));
    Some(Told { because: places.take(MOST_PLACES).collect(), facts, ..Told::new(saying, at) })
}
