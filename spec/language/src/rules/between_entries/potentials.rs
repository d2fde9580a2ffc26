//! Buses and the domains that they stand in.

use loadworthy_source::Problem;

use super::super::Scope;
use crate::document::Description;
use crate::sections::isolation::DomainKind;

impl Scope<'_> {
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
