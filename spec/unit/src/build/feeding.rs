//! What feeds a fault: sources at its bus, those whose current diodes lead there, and banks.

use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Fuse, Protected, SurgeFigures, Topology};

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
    let name = |bus: usize| build.tables.part_of(build.plan.buses[bus].part).path.as_str();
    let mut feeds: Vec<Feed> = Vec::new();
    let mut seen = vec![bus];
    let mut next = vec![(bus, Vec::new())];
    while let Some((at, further)) = next.pop() {
        let is_beyond = at != bus;
        let sources = build.plan.buses[at].sources.iter();
        feeds.extend(sources.map(|&source| Feed { source, bus: at, further: further.clone(), is_beyond }));
        for stage in &build.plan.stages {
            let (Topology::Chopper(_), [low, high]) = (&stage.topology, stage.ports.as_slice()) else {
                continue;
            };
            let (Some(low), true) = (low.bus, high.bus == Some(at)) else { continue };
            if seen.contains(&low) {
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

/// Adds what else drives faults, once banks and all fuses are known: banks at the bus of each fuse, and for what stands
/// behind several of them, the fuses of the other sources.
pub(crate) fn beside(build: &mut Build<'_>) {
    for k in 0..build.plan.fuses.len() {
        let fuse = &build.plan.fuses[k];
        let Some(bus) = fuse.bus else { continue };
        let banks = build.plan.buses[bus].ripple.banks.clone();
        let (clearing, uncleared) = cleared(build, fuse.others.iter().map(|other| other.source));
        let part = build.plan.conductors[fuse.conductor].part;
        let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
        let surge = (!banks.is_empty()).then(|| SurgeFigures {
            let_through: figure("bank_let_through", Dimension::SquaredCurrentTime),
            current: figure("highest_fault_current_with_banks", Dimension::Current),
        });
        let fuse = &mut build.plan.fuses[k];
        (fuse.banks, fuse.surge) = (banks, surge);
        if fuse.of_source {
            for protected in &mut fuse.protects {
                protected.others.clone_from(&clearing);
                protected.uncleared.clone_from(&uncleared);
                protected.banks.clone_from(&fuse.banks);
            }
        }
        for place in 0..build.plan.fuses[k].protects.len() {
            let fuse = &build.plan.fuses[k];
            let Some(bus) = fuse.protects[place].beyond else { continue };
            let own: Vec<PartId> = fuse.drives.iter().map(|drive| drive.source).collect();
            let fed = feeding(build, bus).into_iter().map(|feed| build.plan.sources[feed.source].part);
            let (others, uncleared) = cleared(build, fed.filter(|source| !own.contains(source)));
            let (banks, banks_at) =
                (build.plan.buses[bus].ripple.banks.clone(), Some(build.plan.buses[bus].highest));
            let protected = &mut build.plan.fuses[k].protects[place];
            *protected = Protected { others, uncleared, banks, banks_at, ..protected.clone() };
        }
    }
}

/// What the fuses of sources let through, and sources without one.
fn cleared(build: &Build<'_>, sources: impl Iterator<Item = PartId>) -> (Vec<FigureId>, Vec<PartId>) {
    let (mut clearing, mut uncleared) = (Vec::new(), Vec::new());
    for source in sources {
        let own = |one: &&Fuse| one.of_source && one.drives.iter().any(|own| own.source == source);
        match build.plan.fuses.iter().find(own) {
            Some(fuse) => clearing.push(fuse.figures.let_through),
            None => uncleared.push(source),
        }
    }
    (clearing, uncleared)
}
