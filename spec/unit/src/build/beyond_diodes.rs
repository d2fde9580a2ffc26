//! What fuses of sources protect beyond the diodes of boosts and bucks: a fault there is fed through them, whatever control does.

use crate::build::Build;
use crate::build::feeding::{feeding, stage_of};
use crate::build::fuse::protected;
use crate::build::power::place_of;
use crate::build::ways::{Way, from_bus, may_be_fused};
use crate::plan::{Fuse, Protected};

/// Adds to each fuse of a source what stands beyond the diodes that its source feeds: branches that name it, and those
/// without a fuse and a word of one that no fuse protects from their own bus.
pub(crate) fn join(build: &mut Build<'_>, ways: &[Way<'_>]) {
    for way in ways {
        let Some(bus) = place_of(build, Some(way.bus)) else { continue };
        let feeds: Vec<_> = feeding(build, bus).into_iter().filter(|feed| feed.is_beyond).collect();
        let feeds: Vec<_> = feeds.iter().map(|feed| build.plan.sources[feed.source].part).collect();
        let named = build.description.branches.entry(way.name).and_then(|one| one.protected_by.as_ref());
        let named = named.map(|named| named.value.clone());
        let protects = |fuse: &Fuse| fuse.protects.iter().any(|one| way.conductors.contains(&one.conductor));
        let is_source = build.description.sources.contains_key(way.node);
        let is_left = !is_source && !may_be_fused(way, build) && !build.plan.fuses.iter().any(protects);
        for k in 0..build.plan.fuses.len() {
            let fuse = &build.plan.fuses[k];
            let drives = fuse.of_source && fuse.drives.iter().any(|drive| feeds.contains(&drive.source));
            let name = &build.tables.part_of(build.plan.conductors[fuse.conductor].part).path;
            if drives && named.as_ref().map_or(is_left, |named| named == name) {
                let all = exposed(build, way, bus);
                build.plan.fuses[k].protects.extend(all);
            }
        }
    }
}

/// The conductors of a branch at a bus beyond diodes.
fn exposed(build: &mut Build<'_>, way: &Way<'_>, bus: usize) -> Vec<Protected> {
    let output_of = stage_of(build, way.node, bus);
    let mut all = Vec::new();
    for &one in &way.conductors {
        let line = from_bus(build, way, one);
        let line = line.iter().map(|&one| build.plan.conductors[one].resistance).collect();
        let one = protected(build, one, (false, line));
        all.extend(one.map(|one| Protected { beyond: Some(bus), output_of, ..one }));
    }
    all
}
