//! Windings of gate supplies on one another's cores, and a side of a stage that the driver of another one names.

use std::collections::BTreeMap;

use loadworthy_language::sections::gate_supplies::GateSupply;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list, word};

/// Outputs of a unit whose bootstraps are looked at: each is held against all others.
const MOST_OUTPUTS: usize = 256;

pub(super) fn transformers(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all = seen.description.gate_supplies.readable().map(|(name, _, one)| (name, one));
    let strange: Vec<(&str, &GateSupply)> = all.filter(|(name, _)| seen.is_bare(name)).collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one)) in strange.iter().enumerate() {
        for &(far, other) in &strange[place + 1..] {
            let (Some(own), Some(theirs)) = (&one.transformer, &other.transformer) else { continue };
            if own.value == theirs.value {
                continue;
            }
            let pair = [(name, own), (far, theirs)];
            out.push(seen.exchanged(("gate_supplies", "transformer"), pair, |all, name, named| {
                all.gate_supplies.change(name, |supply| supply.transformer = Some(named.clone()));
            }));
        }
    }
}

/// A driver that names a side which another one drives, where a side that nothing drives is left.
pub(super) fn moved_sides(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let (variant, description) = (seen.variant, seen.description);
    let Some(control) = &variant.plan.control else { return };
    let mut drives: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for &(stage, position, _) in control.drivers.iter().flat_map(|driver| &driver.drives) {
        *drives.entry((stage, position)).or_default() += 1;
    }
    let undriven = undriven(seen, &drives);
    if undriven.is_empty() || undriven.len() > MOST_STRANGE {
        return;
    }
    for driver in &control.drivers {
        let name = seen.path(driver.part);
        let Some(named) = description.drivers.entry(name).and_then(|one| one.drives.as_ref()) else {
            continue;
        };
        for (place, one) in named.value.iter().enumerate() {
            let mut own = driver.drives.iter().filter(|drives| drives.2 == one.at).peekable();
            let is_contested =
                own.peek().is_some() && own.all(|&(stage, position, _)| drives[&(stage, position)] > 1);
            for side in undriven.iter().filter(|_| is_contested) {
                let mut then = named.value.clone();
                then[place] = Located { value: side.clone(), at: one.at };
                let moves = vec![list(("drivers", name, "drives"), named, &then)];
                out.push(seen.draft(moves, |all| {
                    all.drivers.change(name, |driver| {
                        driver.drives = Some(Located { value: then, at: named.at });
                    });
                }));
            }
        }
    }
}

/// An output that takes its power from another bus than all others of its transformer.
pub(super) fn fed_apart(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let mut wound: BTreeMap<&str, Vec<(&str, &Located<String>)>> = BTreeMap::new();
    for (name, _, supply) in seen.description.gate_supplies.readable() {
        if let (Some(transformer), Some(from)) = (&supply.transformer, &supply.from) {
            wound.entry(&transformer.value).or_default().push((name, from));
        }
    }
    for outputs in wound.values().filter(|outputs| 2 < outputs.len()) {
        for &(name, own) in outputs {
            let mut others = outputs.iter().filter(|(other, _)| *other != name).map(|(_, from)| *from);
            let Some(usual) = others.next().filter(|usual| usual.value != own.value) else { continue };
            if !others.all(|other| other.value == usual.value) {
                continue;
            }
            let moves = vec![word(("gate_supplies", name, "from"), own, &usual.value)];
            let from = Located { value: usual.value.clone(), at: own.at };
            out.push(seen.draft(moves, |all| {
                all.gate_supplies.change(name, |supply| supply.from = Some(from));
            }));
        }
    }
}

/// A bootstrap that is charged by the output of another stage, or of the side that it should feed: two lists of gates exchanged, or another
/// output meant.
pub(super) fn bootstraps(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    type Fed<'d> = (&'d str, &'d Located<Vec<Located<String>>>);
    let supplies = || seen.description.gate_supplies.readable().map(|(name, _, one)| (name, one));
    let all: Vec<Fed<'_>> = supplies().filter_map(|(name, one)| Some((name, one.feeds.as_ref()?))).collect();
    if all.len() > MOST_OUTPUTS {
        return;
    }
    // A bootstrap feeds the high side of the leg whose low side its output feeds.
    let sides = |feeds: &Located<Vec<Located<String>>>| -> Vec<(String, String)> {
        let steps = feeds.value.iter().map(|one| {
            let mut steps = one.value.split('.').map(str::to_owned);
            (steps.next().unwrap_or_default(), steps.next().unwrap_or_default())
        });
        steps.collect()
    };
    let suits = |high: &Located<Vec<Located<String>>>, low: &Located<Vec<Located<String>>>| {
        let (high, low) = (sides(high), sides(low));
        high.iter().all(|(stage, side)| {
            side.contains("high") && low.iter().any(|(other, side)| other == stage && side.contains("low"))
        })
    };
    let mut drafts = Vec::new();
    for (name, one) in supplies() {
        let (Some(from), Some(high)) = (&one.bootstrap_from, &one.feeds) else { continue };
        let Some(&(source, low)) = all.iter().find(|(other, _)| *other == from.value) else { continue };
        if suits(high, low) {
            continue;
        }
        if suits(low, high) {
            drafts.push(fed_otherwise(seen, (name, high), (source, low)));
        }
        for &(far, theirs) in all.iter().filter(|(far, _)| *far != name && *far != source) {
            if suits(theirs, low) {
                drafts.push(fed_otherwise(seen, (name, high), (far, theirs)));
            }
            if suits(high, theirs) {
                drafts.push(fed_otherwise(seen, (source, low), (far, theirs)));
                let moves = vec![word(("gate_supplies", name, "bootstrap_from"), from, far)];
                let then = Located { value: far.to_owned(), at: from.at };
                drafts.push(seen.draft(moves, |all| {
                    all.gate_supplies.change(name, |supply| supply.bootstrap_from = Some(then));
                }));
            }
        }
    }
    if drafts.len() <= 2 * MOST_STRANGE {
        out.extend(drafts);
    }
}

/// Two outputs, each with the gates of the other.
fn fed_otherwise(
    seen: &Seen<'_>,
    one: (&str, &Located<Vec<Located<String>>>),
    other: (&str, &Located<Vec<Located<String>>>),
) -> Draft {
    // In the order of the text, whichever of them is odd.
    let is_first = one.1.at <= other.1.at;
    let ((name, own), (far, theirs)) = if is_first { (one, other) } else { (other, one) };
    let moves = vec![
        list(("gate_supplies", name, "feeds"), own, &theirs.value),
        list(("gate_supplies", far, "feeds"), theirs, &own.value),
    ];
    seen.draft(moves, |all| {
        all.gate_supplies.change(name, |supply| supply.feeds = Some(theirs.clone()));
        all.gate_supplies.change(far, |supply| supply.feeds = Some(own.clone()));
    })
}

/// Sides of stages with gates of which none is driven.
fn undriven(seen: &Seen<'_>, drives: &BTreeMap<(usize, usize), usize>) -> Vec<String> {
    let mut found = Vec::new();
    for (place, stage) in seen.variant.plan.stages.iter().enumerate() {
        for (seat, of) in stage.seats.iter().enumerate() {
            let positions = stage.positions.iter().enumerate();
            let mut gates = positions
                .filter(|(_, one)| one.seat == seat && one.gate.is_some())
                .map(|(k, _)| k)
                .peekable();
            if gates.peek().is_some() && gates.all(|position| !drives.contains_key(&(place, position))) {
                found.push(format!("{}.{}", seen.path(stage.part), of.key));
            }
        }
    }
    found
}
