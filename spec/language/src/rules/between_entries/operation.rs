//! Duty points, held against what they name.

use loadworthy_source::{NodeId, Problem};

use super::super::Scope;
use super::ends::Ends;
use crate::document::Description;
use crate::references::entries;
use crate::sections::duty::{Demand, DutyPoint};
use crate::sections::machines::Machine;
use crate::sections::sources::Source;

impl Scope<'_> {
    /// A machine states what a machine takes, a load what a load takes.
    pub(super) fn demands(&mut self, node: NodeId, point: &DutyPoint, description: &Description) {
        for entry in entries(self.tree, node, "loads") {
            let name = self.tree.key_text(entry.key);
            let Some(demand) = point.loads.as_ref().and_then(|loads| loads.get(name)) else { continue };
            if description.machines.contains_key(name) {
                self.machine_demand(name, demand, description.machines.entry(name));
            } else if description.loads.contains_key(name) {
                self.load_demand(name, demand);
            }
        }
    }

    fn machine_demand(&mut self, name: &str, demand: &Demand, machine: Option<&Machine>) {
        if let Some((key, at)) = demand.load_keys().next() {
            let (why, label, way_out) = match key {
                "power" => {
                    ("does not say at which side of it", "power of a load", "write `electrical_power`")
                }
                _ => ("does not say which of its currents", "current of a load", "write `phase_current`"),
            };
            let message = || format!("`{name}` is a machine, and `{key}` {why}");
            self.refuse(at, message, label, Some(way_out));
        } else if let Some(Machine::Induction(_)) = machine
            && let Some((key, at)) = demand.shaft_keys().next()
        {
            let message = || {
                format!(
                    "`{name}` is an induction machine, and `{key}` does not say what flows at its terminals"
                )
            };
            let way_out =
                "state `electrical_power` or `phase_current`, `line_voltage`, `power_factor` and `frequency`";
            self.refuse(at, message, "figure of a shaft", Some(way_out));
        }
    }

    fn load_demand(&mut self, name: &str, demand: &Demand) {
        // What a key of a machine wants here is one slip, however many keys it took.
        if let Some((key, at)) = demand.machine_keys().next()
            && demand.load_keys().next().is_none()
        {
            let message = || format!("`{name}` is a load on a bus, and `{key}` is a figure of a machine");
            self.refuse(at, message, "figure of a machine", Some("state `power` or `current` alone"));
        }
    }

    /// An open circuit has a voltage of its own only where a resistance is known behind the terminals.
    pub(super) fn source_states(&mut self, node: NodeId, point: &DutyPoint, description: &Description) {
        for entry in entries(self.tree, node, "sources") {
            let name = self.tree.key_text(entry.key);
            let Some(state) = point.sources.as_ref().and_then(|sources| sources.get(name)) else { continue };
            let Some(open_circuit) = state.open_circuit else { continue };
            let kind = match description.sources.entry(name) {
                Some(Source::FuelCell(_)) => "a fuel cell",
                Some(Source::Generator(_)) => "a generator",
                Some(Source::Battery(_)) | None => continue,
            };
            let message = || format!("`{name}` is {kind}, and `open_circuit` is a voltage of a battery");
            self.refuse(open_circuit.at, message, "no internal resistance", Some("write `terminal`"));
        }
    }

    /// The voltage of a bus is stated once: by its source, at the bus or through a branch, or by itself.
    pub(super) fn set_voltages(&mut self, point: &DutyPoint, description: &Description, ends: &Ends<'_>) {
        let Some(buses) = &point.buses else { return };
        for (name, state) in point.sources.iter().flatten() {
            let Some(given) = state.terminal.or(state.open_circuit) else { continue };
            let own = description.sources.entry(name).and_then(Source::bus);
            let own = own.and_then(|bus| Some((bus.value.as_str(), *buses.get(&bus.value)?)));
            for (bus, voltage) in own.into_iter().chain(ends.among(name, buses)) {
                let (at, also) = (self.tree.span(voltage.at), self.tree.span(given.at));
                self.ledger.note("conflict", at, "buses", || {
                    let message = format!("the voltage of `{bus}` is set by `{name}`, which feeds it");
                    Problem::new("conflict", at, message, "stated again")
                        .with_also(also, format!("set by `{name}`"))
                        .with_way_out(format!("leave out `{bus}` under `buses`"))
                });
            }
        }
    }
}
