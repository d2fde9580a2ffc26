//! Where sources and loads are connected: by a word of their own, or by a branch.

use std::collections::HashMap;

use indexmap::IndexMap;
use loadworthy_physics::Voltage;
use loadworthy_source::{Located, Problem};

use super::super::Scope;
use crate::document::Description;
use crate::quantity::Given;

/// The buses that branches lead to from sources and loads.
pub(super) struct Ends<'d>(HashMap<&'d str, IndexMap<&'d str, &'d Located<String>>>);

impl<'d> Ends<'d> {
    pub(super) fn of(description: &'d Description) -> Self {
        let mut ends: HashMap<&str, IndexMap<&str, &Located<String>>> = HashMap::new();
        for (_, _, branch) in description.branches.readable() {
            let (Some(from), Some(to)) = (&branch.from, &branch.to) else { continue };
            for (part, bus) in [(from, to), (to, from)] {
                let known = description.sources.contains_key(&part.value)
                    || description.loads.contains_key(&part.value);
                if known && description.buses.contains_key(&bus.value) {
                    ends.entry(&part.value).or_default().entry(&bus.value).or_insert(bus);
                }
            }
        }
        Self(ends)
    }

    /// The buses that branches lead to from a source or a load, each with one of its places.
    fn buses(&self, part: &str) -> impl Iterator<Item = &'d Located<String>> {
        self.0.get(part).into_iter().flat_map(|buses| buses.values()).copied()
    }

    /// Those of some buses that branches lead to from a source.
    pub(super) fn among<'b>(
        &self,
        part: &str,
        buses: &'b IndexMap<String, Given<Voltage>>,
    ) -> Vec<(&'b str, Given<Voltage>)> {
        let Some(ends) = self.0.get(part) else { return Vec::new() };
        let known = |name: &&str| ends.contains_key(name);
        // From the shorter side, so that many of both take no longer than their text.
        if ends.len() < buses.len() {
            let found = ends.keys().filter_map(|name| buses.get_key_value(*name));
            found.map(|(name, given)| (name.as_str(), *given)).collect()
        } else {
            let found = buses.iter().map(|(name, given)| (name.as_str(), *given));
            found.filter(|(name, _)| known(name)).collect()
        }
    }
}

impl Scope<'_> {
    /// A source or a load that names one bus while a branch of it leads to another.
    pub(super) fn two_ways(
        &mut self,
        ends: &Ends<'_>,
        what: &str,
        name: &str,
        bus: Option<&Located<String>>,
    ) {
        let Some(bus) = bus else { return };
        let Some(other) = ends.buses(name).find(|other| other.value != bus.value) else { return };
        let (at, also) = (self.tree.span(bus.at), self.tree.span(other.at));
        self.ledger.note("conflict", at, "bus", || {
            let message = format!(
                "{what} `{name}` names `{}`, and a branch of it leads to `{}`",
                bus.value, other.value
            );
            Problem::new("conflict", at, message, "one bus")
                .with_also(also, "another bus")
                .with_way_out("leave out `bus` where a branch leads there")
        });
    }
}
