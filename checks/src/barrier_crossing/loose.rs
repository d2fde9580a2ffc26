//! Metal and nets that nobody bonds: what lacks is their bonding, and what joins them to the chassis is told with that.

use loadworthy_physics::insulation::protection::Bonding;
use loadworthy_unit::plan::{Crossing, Domain, Form, Isolation, Joins};

use super::mend::unbonded;
use crate::isolation::{Classes, part_of, ways, weak};

/// Metals whose bonding is the second means that something weak lacks.
pub(super) fn metals(isolation: &Isolation, classes: &Classes) -> Vec<usize> {
    let is_loose = |domain: &Domain| domain.form == Form::Metal && domain.bonding < Bonding::Stated;
    // Where all metal is bonded nobody need ask what is weak.
    if !isolation.domains().any(|(_, domain)| is_loose(domain)) {
        return Vec::new();
    }
    let weak = weak(isolation, &ways(isolation, classes));
    let parts = weak.iter().filter_map(|way| part_of(isolation, way.culprit(isolation)?));
    parts.filter_map(|part| unbonded(part, isolation, classes)).collect()
}

/// Whether something leads from such a metal to what is bonded: once both are bonded nothing has to stand between them.
pub(super) fn waits(isolation: &Isolation, metals: &[usize], crossing: &Crossing) -> bool {
    let is_bonded = |place: usize| isolation.domain(place).bonding >= Bonding::Stated;
    let (one, other) = crossing.between;
    crossing.kind == Joins::Signal
        && (metals.contains(&one) && is_bonded(other) || metals.contains(&other) && is_bonded(one))
}

/// What leads from a metal to what is bonded, by place of the crossings.
pub(super) fn waiting(isolation: &Isolation, metal: usize) -> impl Iterator<Item = &Crossing> {
    isolation.crossings.iter().filter(move |one| {
        one.listed_by.is_empty() && one.names_barrier.is_none() && waits(isolation, &[metal], one)
    })
}

/// Of two domains of which neither hurts the one that nobody bonds, where the other is bonded: what joins them asks for nothing once both
/// are.
pub(super) fn net(isolation: &Isolation, classes: &Classes, (one, other): (usize, usize)) -> Option<usize> {
    let is_bonded = |place: usize| isolation.domain(place).bonding >= Bonding::Stated;
    let harmless = |place: usize| classes.missing(place).is_none() && !classes.hurts(place);
    let loose = match (is_bonded(one), is_bonded(other)) {
        (true, false) => other,
        (false, true) => one,
        _ => return None,
    };
    (harmless(one) && harmless(other)).then_some(loose)
}
