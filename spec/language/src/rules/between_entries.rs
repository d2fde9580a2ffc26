//! Rules between entries of different sections.

use loadworthy_source::{NodeId, Problem};

use super::Scope;
use crate::document::Description;
use crate::references::entries;
use crate::sections::devices::Circuit;
use crate::sections::duty::{Demand, DutyPoint};
use crate::sections::sources::Source;
use crate::sections::stages::Stage;

/// Notes what does not go together, and voids the entries that say it.
pub(crate) fn check(description: &mut Description, scope: &mut Scope<'_>) {
    let mut stages = Vec::new();
    for (place, entry) in description.stages.values().enumerate() {
        if let Some(stage) = entry.read()
            && !scope.shared_module(stage, description)
        {
            stages.push(place);
        }
    }
    let mut duty = Vec::new();
    for (place, entry) in description.duty.values().enumerate() {
        if let Some(point) = entry.read() {
            let mark = scope.ledger.mark();
            scope.demands(entry.value, point, description);
            scope.set_voltages(point, description);
            if !scope.ledger.since(mark).is_empty() {
                duty.push(place);
            }
        }
    }
    description.stages.make_void(&stages);
    description.duty.make_void(&duty);
}

impl Scope<'_> {
    /// A half-bridge module that serves both positions of a leg is counted once.
    fn shared_module(&mut self, stage: &Stage, description: &Description) -> bool {
        let Stage::ThreePhaseBridge(bridge) = stage;
        let Some(switches) = &bridge.switches else { return true };
        let (Some(high), Some(low)) = (&switches.high_side, &switches.low_side) else { return true };
        let (Some(upper), Some(lower)) = (&high.fitted, &low.fitted) else { return true };
        let circuit =
            description.devices.entry(&upper.value).and_then(|device| device.package.as_ref()?.circuit);
        let shared = upper.value == lower.value
            && circuit.is_some_and(|circuit| matches!(circuit.value, Circuit::HalfBridge | Circuit::SixPack));
        let count = |parallel: Option<u32>| parallel.unwrap_or(1);
        let (above, below) = (high.parallel.map(|given| given.value), low.parallel.map(|given| given.value));
        if !shared || count(above) == count(below) {
            return true;
        }
        let upper_at = high.parallel.map_or(upper.at, |given| given.at);
        let lower_at = low.parallel.map_or(lower.at, |given| given.at);
        let (at, also) = (self.tree.span(lower_at), self.tree.span(upper_at));
        self.ledger.note("conflict", at, "parallel", || {
            let message = format!(
                "`{}` holds both positions of a leg, so both have the same count in parallel: {} above, {} below",
                upper.value,
                count(above),
                count(below)
            );
            Problem::new("conflict", at, message, format!("{} in parallel", count(below)))
                .with_also(also, format!("{} in parallel", count(above)))
                .with_way_out("state the same `parallel` at both positions")
        });
        false
    }

    /// A machine states what a machine takes, a load what a load takes.
    fn demands(&mut self, node: NodeId, point: &DutyPoint, description: &Description) {
        for entry in entries(self.tree, node, "loads") {
            let name = self.tree.key_text(entry.key);
            let Some(demand) = point.loads.as_ref().and_then(|loads| loads.get(name)) else { continue };
            if description.machines.contains_key(name) {
                self.machine_demand(name, demand);
            } else if description.loads.contains_key(name) {
                self.load_demand(name, demand);
            }
        }
    }

    fn machine_demand(&mut self, name: &str, demand: &Demand) {
        if let Some(power) = demand.power {
            let message = || format!("`{name}` is a machine, and `power` does not say at which side of it");
            self.refuse(power.at, message, "power of a load", Some("write `electrical_power`"));
        }
    }

    fn load_demand(&mut self, name: &str, demand: &Demand) {
        // What a key of a machine wants here is one slip, however many keys it took.
        if let Some((key, at)) = demand.machine_keys().next()
            && demand.power.is_none()
        {
            let message = || format!("`{name}` is a load on a bus, and `{key}` is a figure of a machine");
            self.refuse(at, message, "figure of a machine", Some("state `power` alone"));
        }
    }

    /// The voltage of a bus is stated once: by its source, or by itself.
    fn set_voltages(&mut self, point: &DutyPoint, description: &Description) {
        let Some(buses) = &point.buses else { return };
        for (name, state) in point.sources.iter().flatten() {
            let Some(Source::Battery(battery)) = description.sources.entry(name) else { continue };
            let Some(given) = state.terminal.or(state.open_circuit) else { continue };
            let Some(bus) = battery.bus.as_ref() else { continue };
            let Some(voltage) = buses.get(&bus.value) else { continue };
            let (at, also) = (self.tree.span(voltage.at), self.tree.span(given.at));
            self.ledger.note("conflict", at, "buses", || {
                let message = format!("the voltage of `{}` is set by `{name}`, which feeds it", bus.value);
                Problem::new("conflict", at, message, "stated again")
                    .with_also(also, format!("set by `{name}`"))
                    .with_way_out(format!("leave out `{}` under `buses`", bus.value))
            });
        }
    }
}
