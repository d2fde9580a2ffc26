//! Conductors that no fuse protects from the banks of their bus: in a fault these empty through them.

use std::collections::BTreeSet;

use crate::build::Build;
use crate::build::fuse::protected;
use crate::build::power::place_of;
use crate::build::ways::{Way, from_bus, fuse_of, to_the_worst_place, written};
use crate::graph::PowerGraph;
use crate::plan::Emptied;

/// Adds every such conductor that says how large it is, or what its contacts stand; once fuses and banks are known.
pub(crate) fn join<'d>(build: &mut Build<'d>, graph: &PowerGraph<'d>) {
    let behind_fuses: BTreeSet<usize> =
        build.plan.fuses.iter().flat_map(|fuse| &fuse.protects).map(|one| one.conductor).collect();
    for way in Way::all(build, graph) {
        let Some(bus) = place_of(build, Some(way.bus)) else { continue };
        if build.plan.buses[bus].ripple.banks.is_empty() {
            continue;
        }
        for &k in &way.conductors {
            // What could not be read before it may be a fuse.
            let line = from_bus(build, &way, k);
            let is_open =
                line.iter().all(|&one| written(build, one).is_some() && fuse_of(build, one).is_none());
            if !is_open || behind_fuses.contains(&k) {
                continue;
            }
            let line = to_the_worst_place(build, &line, k);
            let Some(protected) = protected(build, k, (false, line)) else { continue };
            // Contacts that do not say what they stand are asked by what protects them.
            if protected.stated.is_none_or(|stands| build.tables.is_written(stands)) {
                let of = &build.plan.buses[bus];
                let is_stated = build.tables.is_written(of.highest);
                let across = if is_stated { of.highest.into() } else { of.voltage.into() };
                build.plan.emptied.push(Emptied { bus, across, protected });
            }
        }
    }
}
