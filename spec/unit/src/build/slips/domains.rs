//! Domains of another kind than what stands in them, and entries in other domains than all that is beside them.

use loadworthy_language::sections::isolation::DomainKind;
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, word};
use crate::plan::{Form, Joins};
use crate::slip::Move;

/// A domain that carries nothing and is called a circuit or a surface, where parts stand on cooled metal and no domain is metal.
pub(super) fn metal(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let isolation = seen.variant.plan.isolation.as_ref().filter(|one| !one.without_metal.is_empty());
    let Some((_, section)) = isolation.zip(seen.description.isolation.read()) else { return };
    let holds = |name: &str| {
        let is_it = |domain: Option<&Located<String>>| domain.is_some_and(|domain| domain.value == name);
        seen.description.buses.readable().any(|(.., bus)| is_it(bus.domain.as_ref()))
            || seen.description.controllers.readable().any(|(.., one)| is_it(one.domain.as_ref()))
    };
    for (name, domain) in section.domains.iter().flatten().filter(|(name, _)| !holds(name)) {
        let Some(kind) = &domain.kind else { continue };
        let now = if kind.value == DomainKind::Surface { "surface" } else { "circuit" };
        let moves = vec![Move {
            path: format!("isolation.domains.{name}.kind"),
            entry: name.clone(),
            key: "kind".to_owned(),
            now: now.to_owned(),
            then: "metal".to_owned(),
            at: kind.at,
            word: now.to_owned(),
            meant: "metal".to_owned(),
            word_at: kind.at,
        }];
        let metal = Located { value: DomainKind::Metal, at: kind.at };
        out.push(seen.draft(moves, |all| {
            all.isolation.change(|section| {
                if let Some(domain) = section.domains.as_mut().and_then(|all| all.get_mut(name)) {
                    domain.kind = Some(metal);
                }
            });
        }));
    }
}

/// A bus in a domain that others stand in as well, where a circuit with a barrier is left without any bus.
pub(super) fn of_buses(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let Some(isolation) = &seen.variant.plan.isolation else { return };
    let has_barrier = |place: usize| {
        let mut between = isolation.barriers.iter().filter_map(|barrier| barrier.between);
        between.any(|(one, other)| one == place || other == place)
    };
    let bare = isolation.domains().filter(|(place, domain)| {
        matches!(domain.form, Form::Circuit { .. }) && domain.stress.is_empty() && has_barrier(*place)
    });
    let bare: Vec<&str> = bare.map(|(_, domain)| domain.name.as_str()).collect();
    if bare.len() > MOST_STRANGE {
        return;
    }
    for (name, _, bus) in seen.description.buses.readable() {
        let Some(own) = &bus.domain else { continue };
        for there in bare.iter().filter(|there| **there != own.value) {
            let moves = vec![word(("buses", name, "domain"), own, there)];
            let domain = Located { value: (*there).to_owned(), at: own.at };
            out.push(seen.draft(moves, |all| {
                all.buses.change(name, |bus| bus.domain = Some(domain));
            }));
        }
    }
}

/// A bus that hurts in a circuit that may be touched, with one that does not hurt in a circuit out of reach: their domains exchanged.
pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let Some(isolation) = &seen.variant.plan.isolation else { return };
    let may_touch = |name: &str| {
        let domain = isolation.domains().find(|(_, domain)| domain.name == name);
        domain.and_then(|(_, domain)| match domain.form {
            Form::Circuit { touchable } => Some(touchable),
            Form::Gates | Form::Metal | Form::Surface => None,
        })
    };
    let strange = |hurts: bool| {
        let buses = seen.description.buses.readable().filter_map(|(name, _, bus)| {
            let own = bus.domain.as_ref()?;
            let is_so = (HARMLESS.si() < seen.highest(name)?) == hurts && may_touch(&own.value)? == hurts;
            is_so.then_some((name, own))
        });
        buses.collect::<Vec<_>>()
    };
    let (within_reach, out_of_reach) = (strange(true), strange(false));
    if MOST_STRANGE < within_reach.len() * out_of_reach.len() {
        return;
    }
    for one in &within_reach {
        for other in &out_of_reach {
            out.push(seen.exchanged(("buses", "domain"), [*one, *other], |all, name, domain| {
                all.buses.change(name, |bus| bus.domain = Some(domain.clone()));
            }));
        }
    }
}

/// A controller in another domain than the bus that it takes its power from, without a barrier for that.
pub(super) fn of_controllers(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, controller) in
        seen.description.controllers.readable().filter(|(name, ..)| is_fed_bare(seen, name))
    {
        let from = controller.from.as_ref().and_then(|from| seen.description.buses.entry(&from.value));
        let (Some(own), Some(there)) = (&controller.domain, from.and_then(|bus| bus.domain.as_ref())) else {
            continue;
        };
        let moves = vec![word(("controllers", name, "domain"), own, &there.value)];
        out.push(seen.draft(moves, |all| {
            all.controllers.change(name, |controller| controller.domain = Some(there.clone()));
        }));
    }
}

fn is_fed_bare(seen: &Seen<'_>, name: &str) -> bool {
    seen.crossings(name).any(|one| one.kind == Joins::Controller && one.listed_by.is_empty())
}

/// A discharge whose control takes its power from another bus than the one that it discharges.
pub(super) fn of_discharges(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, bus) in seen.description.buses.readable() {
        let active = bus.discharge.as_ref().and_then(|discharge| discharge.active.as_ref());
        let Some(from) = active.and_then(|active| active.from.as_ref()) else { continue };
        if from.value == name {
            continue;
        }
        let moves = vec![word(("buses", name, "discharge.active.from"), from, name)];
        let own = Located { value: name.to_owned(), at: from.at };
        out.push(seen.draft(moves, |all| {
            all.buses.change(name, |bus| {
                let active = bus.discharge.as_mut().and_then(|discharge| discharge.active.as_mut());
                if let Some(active) = active {
                    active.from = Some(own);
                }
            });
        }));
    }
}
