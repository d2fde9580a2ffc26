//! Names in the list of a barrier that nothing is called, and what they are told with.
//!
//! Such a name is one end of a slip. Where its other end is found, one finding tells both: what passes no barrier, because
//! its name is misspelt here; or what lacks in the unit, because its entry is gone and its name was left.

use loadworthy_unit::Solved;
use loadworthy_unit::plan::{Barrier, Isolation};

use super::{bare, ordered};
use crate::isolation::Classes;
use crate::{control_cover, floating_supplies};

/// Names of a list that nothing is called.
pub(super) fn names(barrier: &Barrier) -> impl Iterator<Item = &str> {
    barrier.spanned_by.iter().filter(|(.., is_known)| !is_known).map(|(name, ..)| name.as_str())
}

/// Whether something else that is found tells of such names as well.
pub(super) fn is_told(
    solved: &Solved<'_>,
    isolation: &Isolation,
    classes: &Classes,
    barrier: &Barrier,
) -> bool {
    let passes_none = |between| bare(isolation, classes, between).next().is_some();
    names(barrier).all(|name| control_cover::lacks_its_coil(solved, name))
        || barrier.between.map(ordered).is_some_and(passes_none)
        || lacks_an_entry(solved, isolation, classes)
        || is_fed_by_nobody(solved, isolation)
}

/// Whether an output says neither its transformer nor what feeds it: the name may be that of its transformer, and what it does
/// not say is told as that for want of which it is not judged.
fn is_fed_by_nobody(solved: &Solved<'_>, isolation: &Isolation) -> bool {
    let plan = &solved.variant.plan;
    let is_wound = |place: usize| {
        plan.gate_transformers.iter().any(|one| one.outputs.iter().any(|&(output, _)| output == place))
    };
    plan.gate_supplies.iter().enumerate().any(|(place, supply)| {
        !is_wound(place) && isolation.unsaid.iter().any(|&(part, key)| part == supply.part && key == "from")
    })
}

/// Whether an output, a driver or a sensor lacks whose name may have been left, or an output names the transformer of others in
/// place of its own.
fn lacks_an_entry(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes) -> bool {
    // Nobody asks for a sensor of what does not hurt.
    let is_unwatched = || {
        isolation.domains().any(|(place, domain)| {
            classes.hurts(place) && domain.leakage.as_ref().is_some_and(|leakage| !leakage.is_watched)
        })
    };
    floating_supplies::lacks_an_output(solved)
        || floating_supplies::shares_a_transformer(solved)
        || control_cover::lacks_an_entry(solved)
        || is_unwatched()
}

/// Sections that are not stated, and whose entries a list may name: gate supplies, drivers and sensors.
pub(super) fn sections_left_out(solved: &Solved<'_>) -> Vec<String> {
    let plan = &solved.variant.plan;
    let control = plan.control.iter().flat_map(|control| [control.drivers_stated, control.sensors_stated]);
    let all = plan.gates_fed.into_iter().chain(control);
    let lacking = all.filter(|&section| solved.variant.tables.is_absent(section));
    // A concept without controllers leaves them to a later hour.
    let is_told = plan
        .control
        .as_ref()
        .is_some_and(|control| !solved.variant.tables.is_absent(control.controllers_stated));
    lacking.filter(|_| is_told).map(|section| solved.variant.tables.input_of(section).path.clone()).collect()
}

/// A line on the names of barriers between two domains that nothing is called, where there are any.
pub(super) fn line(isolation: &Isolation, between: (usize, usize)) -> Option<String> {
    line_of(isolation.barriers.iter().filter(|barrier| barrier.between.map(ordered) == Some(between)))
}

/// The same of all barriers.
pub(crate) fn left_names(solved: &Solved<'_>) -> Option<String> {
    line_of(solved.variant.plan.isolation.iter().flat_map(|isolation| &isolation.barriers))
}

fn line_of<'p>(barriers: impl Iterator<Item = &'p Barrier>) -> Option<String> {
    let said: Vec<String> = barriers
        .filter_map(|barrier| {
            let names: Vec<String> = names(barrier).map(|name| format!("`{name}`")).collect();
            (!names.is_empty()).then(|| format!("`{}` lists {}", barrier.name, names.join(", ")))
        })
        .collect();
    (!said.is_empty()).then(|| format!("{}, and nothing is called so", said.join("; ")))
}
