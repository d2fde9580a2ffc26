//! Rules between entries of different sections.

mod cooled;
mod ends;
mod fitted;
mod gating;
mod operation;
mod potentials;

use super::Scope;
use crate::document::{Description, Section};

/// Notes what does not go together, and voids the entries that say it.
pub(crate) fn check(description: &mut Description, scope: &mut Scope<'_>) {
    let ends = ends::Ends::of(description);
    let sources = conflicting(&description.sources, scope, |scope, name, source| {
        scope.two_ways(&ends, "source", name, source.bus());
    });
    let loads = conflicting(&description.loads, scope, |scope, name, load| {
        scope.two_ways(&ends, "load", name, load.bus.as_ref());
    });
    let stages = conflicting(&description.stages, scope, |scope, _, stage| {
        scope.shared_modules(stage, description);
        scope.unswitched(stage, description);
    });
    let drivers = conflicting(&description.drivers, scope, |scope, _, driver| {
        scope.late_commands(driver, description);
    });
    let mut duty = Vec::new();
    for (place, entry) in description.duty.values().enumerate() {
        if let Some(point) = entry.read() {
            let mark = scope.ledger.mark();
            scope.demands(entry.value, point, description);
            scope.source_states(entry.value, point, description);
            scope.set_voltages(point, description, &ends);
            if !scope.ledger.since(mark).is_empty() {
                duty.push(place);
            }
        }
    }
    let mark = scope.ledger.mark();
    scope.cooled_devices(description);
    let cooling = !scope.ledger.since(mark).is_empty();
    let mark = scope.ledger.mark();
    scope.carried_by_metal(description);
    scope.impulses_of_buses(description);
    let isolation = !scope.ledger.since(mark).is_empty();
    description.sources.make_void(&sources);
    description.loads.make_void(&loads);
    description.stages.make_void(&stages);
    description.drivers.make_void(&drivers);
    description.duty.make_void(&duty);
    if cooling {
        description.cooling.make_void();
    }
    if isolation {
        description.isolation.make_void();
    }
}

/// The places of the entries of which something was noted.
fn conflicting<T>(
    section: &Section<T>,
    scope: &mut Scope<'_>,
    mut check: impl FnMut(&mut Scope<'_>, &str, &T),
) -> Vec<usize> {
    let mut found = Vec::new();
    for (place, (name, entry)) in section.iter().enumerate() {
        let Some(value) = entry.read() else { continue };
        let mark = scope.ledger.mark();
        check(scope, name, value);
        if !scope.ledger.since(mark).is_empty() {
            found.push(place);
        }
    }
    found
}
