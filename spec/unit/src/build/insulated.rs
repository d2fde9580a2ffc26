//! Domains with their buses, and barriers with their domains.

use crate::build::Build;
use crate::plan::{Between, Insulated};

pub(crate) fn join(build: &mut Build<'_>) {
    let description = build.description;
    let Some((isolation, at)) = description.isolation.read().zip(description.isolation.at()) else { return };
    for (name, domain) in isolation.domains.iter().flatten() {
        let buses = build.plan.buses.iter().enumerate().filter(|(_, bus)| {
            let written = description.buses.entry(&build.tables.part_of(bus.part).path);
            written.and_then(|bus| bus.domain.as_ref()).is_some_and(|own| own.value == *name)
        });
        let buses = buses.map(|(place, _)| place).collect();
        build.plan.insulated.push(Insulated {
            name: name.clone(),
            is_touchable: domain.touchable.is_some_and(|touchable| touchable.value),
            is_bonded: domain.bonded.is_some_and(|bonded| bonded.value),
            buses,
        });
    }
    for (name, barrier) in isolation.barriers.iter().flatten() {
        let Some(between) = &barrier.between else { continue };
        let place = |name: &str| build.plan.insulated.iter().position(|domain| domain.name == name);
        let [one, other] = between.value.as_slice() else { continue };
        let (Some(one), Some(other)) = (place(&one.value), place(&other.value)) else { continue };
        let key = build.tree.value_at(at, &["barriers", name]).unwrap_or(between.at);
        let part = build.tables.part(name.clone(), key, None);
        let spanned_by = barrier.spanned_by.iter().flat_map(|all| &all.value);
        let spanned_by = spanned_by.map(|name| name.value.clone()).collect();
        build.plan.barriers.push(Between { part, domains: [one, other], spanned_by });
    }
}
