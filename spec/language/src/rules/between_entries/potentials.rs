//! Buses and the domains that they stand in.

use loadworthy_source::Problem;

use super::super::Scope;
use crate::document::Description;
use crate::sections::buses::Bus;
use crate::sections::isolation::DomainKind;

/// A bus whose highest voltage is so many times its nominal one has one that slipped.
const FAR_ABOVE: f64 = 2.0;

impl Scope<'_> {
    /// An impulse is more than what the buses of its domain come to in service. Mains bring their own.
    pub(super) fn impulses_of_buses(&mut self, description: &Description) {
        let Some(isolation) = description.isolation.read() else { return };
        for (name, domain) in isolation.domains.iter().flatten().filter(|(_, domain)| domain.mains.is_none())
        {
            let Some(impulse) = domain.impulse else { continue };
            let buses = description.buses.readable();
            let here =
                buses.filter(|(.., bus)| bus.domain.as_ref().is_some_and(|domain| domain.value == *name));
            // Up to its highest voltage a bus is in service, and an impulse comes on top. One far above the nominal voltage slipped
            // itself.
            let stands = |read: &Bus| match (read.nominal, read.highest) {
                (Some(nominal), Some(highest)) => {
                    let share = highest.value.si() / nominal.value.si();
                    Some(if share > FAR_ABOVE { nominal } else { highest })
                }
                (one, other) => one.or(other),
            };
            let stated = here.filter_map(|(bus, _, read)| Some((bus, stands(read)?)));
            let most = stated.max_by(|(_, one), (_, other)| one.value.si().total_cmp(&other.value.si()));
            let Some((bus, stands)) = most.filter(|(_, stands)| impulse.value < stands.value) else {
                continue;
            };
            let (at, also) = (self.tree.span(impulse.at), self.tree.span(stands.at));
            self.ledger.note("conflict", at, "impulse", || {
                let message = format!("an impulse of domain `{name}` is no less than what its bus `{bus}` comes to in service");
                Problem::new("conflict", at, message, "impulse")
                    .with_also(also, "voltage of the bus")
                    .with_way_out("state the impulse that its insulation must withstand, or leave `impulse` out where nothing brings one")
            });
        }
    }

    /// A domain that carries a bus is a circuit: metal and surfaces carry no current.
    pub(super) fn carried_by_metal(&mut self, description: &Description) {
        let Some(isolation) = description.isolation.read() else { return };
        for (name, domain) in isolation.domains.iter().flatten() {
            let Some(kind) = domain.kind.filter(|kind| kind.value != DomainKind::Circuit) else { continue };
            let mut buses = description.buses.readable();
            let here = buses.find_map(|(bus, _, read)| {
                let domain = read.domain.as_ref().filter(|domain| domain.value == *name)?;
                Some((bus, domain.at))
            });
            let Some((bus, stands)) = here else { continue };
            let (at, also) = (self.tree.span(kind.at), self.tree.span(stands));
            self.ledger.note("conflict", at, "kind", || {
                let message = format!("domain `{name}` carries the bus `{bus}`, and is a circuit");
                Problem::new("conflict", at, message, "carries no current")
                    .with_also(also, "a bus stands here")
                    .with_way_out("leave `kind` out here, or let the bus name the domain of its circuit")
            });
        }
    }
}
