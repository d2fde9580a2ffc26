//! What feeds a fault: sources at its bus, those whose current diodes lead there, and banks.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Fuse, Protected, Stage, SurgeFigures, Topology};

/// A source that feeds a fault on a bus.
pub(crate) struct Feed {
    /// The source, in the plan.
    pub(crate) source: usize,
    /// The bus that it stands at, in the plan.
    pub(crate) bus: usize,
    /// Resistances between that bus and the one with the fault.
    pub(crate) further: Vec<InputId>,
    /// Whether it feeds it through diodes.
    pub(crate) is_beyond: bool,
}

/// Sources that feed a fault on a bus: those that stand at it, and those at the low bus of a boost or a buck that steps up
/// to it. Once the bus has fallen below them, the diodes across the high side of the legs conduct, whatever its control does.
pub(crate) fn feeding(build: &Build<'_>, bus: usize) -> Vec<Feed> {
    feeding_beside(build, bus, None)
}

/// The same without what leads there through one stage.
pub(crate) fn feeding_beside(build: &Build<'_>, bus: usize, without: Option<usize>) -> Vec<Feed> {
    let name = |bus: usize| build.tables.part_of(build.plan.buses[bus].part).path.as_str();
    let mut feeds: Vec<Feed> = Vec::new();
    let mut seen = vec![bus];
    let mut next = vec![(bus, Vec::new())];
    while let Some((at, further)) = next.pop() {
        let is_beyond = at != bus;
        let sources = build.plan.buses[at].sources.iter();
        feeds.extend(sources.map(|&source| Feed { source, bus: at, further: further.clone(), is_beyond }));
        for (place, stage) in build.plan.stages.iter().enumerate() {
            let Some(low) = low_of(stage, at) else { continue };
            if without == Some(place) || seen.contains(&low) {
                continue;
            }
            seen.push(low);
            let own = build.tables.part_of(stage.part).path.as_str();
            let mut further = further.clone();
            further.extend(build.lines.between(own, name(low)));
            further.extend(build.lines.between(own, name(at)));
            next.push((low, further));
        }
    }
    feeds
}

/// The low bus of a boost or a buck whose high one is the other.
fn low_of(stage: &Stage, high: usize) -> Option<usize> {
    match (&stage.topology, stage.ports.as_slice()) {
        (Topology::Chopper(_), [low, own]) if own.bus == Some(high) => low.bus,
        _ => None,
    }
}

/// The boost or buck between whose high side and a bus a branch leads: it is fed from both ends, and no fault in it by all.
pub(crate) fn stage_of(build: &Build<'_>, node: &str, bus: usize) -> Option<usize> {
    let stage = build.places.stages.get(node).copied()?;
    low_of(&build.plan.stages[stage], bus).filter(|&low| low != bus).map(|_| stage)
}

/// Sources that feed a fault through one stage, up to its high side.
pub(crate) fn feeding_through(build: &Build<'_>, stage: usize) -> Vec<Feed> {
    let stage = &build.plan.stages[stage];
    let Some(low) = stage.ports.first().and_then(|port| port.bus) else { return Vec::new() };
    let name = |part| build.tables.part_of(part).path.as_str();
    let before = build.lines.between(name(stage.part), name(build.plan.buses[low].part));
    let mut feeds = feeding(build, low);
    for feed in &mut feeds {
        feed.further.extend(&before);
        feed.is_beyond = true;
    }
    feeds
}

/// Adds what else drives faults, once banks and all fuses are known: banks at the bus of each fuse, and for what stands
/// behind several of them, the fuses of the other sources.
pub(crate) fn beside(build: &mut Build<'_>) {
    let mut of_sources: BTreeMap<PartId, usize> = BTreeMap::new();
    for (k, fuse) in build.plan.fuses.iter().enumerate().filter(|(_, fuse)| fuse.of_source) {
        for drive in &fuse.drives {
            of_sources.entry(drive.source).or_insert(k);
        }
    }
    for k in 0..build.plan.fuses.len() {
        let fuse = &build.plan.fuses[k];
        let Some(bus) = fuse.bus else { continue };
        let banks = build.plan.buses[bus].ripple.banks.clone();
        let part = build.plan.conductors[fuse.conductor].part;
        let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
        let surge = (!banks.is_empty()).then(|| SurgeFigures {
            let_through: figure("bank_let_through", Dimension::SquaredCurrentTime),
            current: figure("highest_fault_current_with_banks", Dimension::Current),
        });
        let fuse = &mut build.plan.fuses[k];
        (fuse.banks, fuse.surge) = (banks, surge);
        for place in 0..build.plan.fuses[k].protects.len() {
            let protected = sides(build, &of_sources, &build.plan.fuses[k], place);
            if let Some(mut protected) = protected {
                let part = build.plan.conductors[protected.conductor].part;
                let square = Dimension::SquaredCurrentTime;
                protected.of_banks = (!protected.banks.is_empty())
                    .then(|| build.tables.figure_if_asked(part, "bank_let_through", square));
                build.plan.fuses[k].protects[place] = protected;
            }
        }
    }
}

/// What else sends a fault current through a conductor behind the fuse of a source: with it, and from the other side.
fn sides(build: &Build<'_>, fuses: &BTreeMap<PartId, usize>, fuse: &Fuse, place: usize) -> Option<Protected> {
    let protected = &fuse.protects[place];
    let bus = protected.beyond.or(fuse.bus).filter(|_| fuse.of_source)?;
    let source = |feed: &Feed| build.plan.sources[feed.source].part;
    let own = |part: &PartId| fuse.drives.iter().any(|drive| drive.source == *part);
    let at_bus: Vec<PartId> = feeding_beside(build, bus, protected.output_of).iter().map(source).collect();
    let through = protected.output_of.map_or_else(Vec::new, |stage| feeding_through(build, stage));
    let through: Vec<PartId> = through.iter().map(source).collect();
    let is_at_bus = at_bus.iter().any(own);
    let (beside, against) = match (protected.is_own, is_at_bus) {
        (true, _) => (Vec::new(), at_bus.into_iter().filter(|part| !own(part)).collect()),
        (false, true) => (at_bus.into_iter().filter(|part| !own(part)).collect(), through),
        (false, false) => (through.into_iter().filter(|part| !own(part)).collect(), at_bus),
    };
    let ((beside, unfused), (against, more)) =
        (cleared(build, fuses, beside), cleared(build, fuses, against));
    let uncleared = unfused.into_iter().chain(more).collect();
    let banks = build.plan.buses[bus].ripple.banks.clone();
    let banks_at = protected.beyond.map(|bus| build.plan.buses[bus].highest);
    let banks_against = protected.is_own || !is_at_bus;
    Some(Protected { beside, against, uncleared, banks, banks_at, banks_against, ..protected.clone() })
}

/// What the fuses of sources let through, and sources without one.
fn cleared(
    build: &Build<'_>,
    fuses: &BTreeMap<PartId, usize>,
    sources: Vec<PartId>,
) -> (Vec<FigureId>, Vec<PartId>) {
    let (mut clearing, mut uncleared) = (Vec::new(), Vec::new());
    for source in sources {
        match fuses.get(&source) {
            Some(&fuse) => clearing.push(build.plan.fuses[fuse].figures.let_through),
            None => uncleared.push(source),
        }
    }
    (clearing, uncleared)
}
