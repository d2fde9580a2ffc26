//! Duty points.

use loadworthy_physics::{Time, Voltage, VolumeFlow};
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::quantity::TimeOr;
use crate::sections::duty::DutyPoint;

impl Rules for DutyPoint {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.times(self);
        if let Some(coolant) = &self.coolant {
            scope.above_zero("flow", coolant.flow, VolumeFlow::si);
        }
        for state in self.sources.iter().flat_map(|sources| sources.values()) {
            scope.above_zero("terminal", state.terminal, Voltage::si);
            scope.above_zero("open_circuit", state.open_circuit, Voltage::si);
            if let (Some(terminal), Some(open_circuit)) = (state.terminal, state.open_circuit) {
                let (first, second) = (("terminal", terminal.at), ("open_circuit", open_circuit.at));
                scope.only_one(first, second, "one follows from the other");
            }
            if let (Some(power), Some(current)) = (state.power, state.current) {
                let (first, second) = (("power", power.at), ("current", current.at));
                scope.only_one(first, second, "one follows from the other");
            }
        }
        for voltage in self.buses.iter().flat_map(|buses| buses.values()) {
            scope.above_zero("buses", Some(*voltage), Voltage::si);
        }
        for demand in self.loads.iter().flat_map(|loads| loads.values()) {
            demand.check(scope);
        }
    }
}

impl Scope<'_> {
    fn times(&mut self, point: &DutyPoint) {
        let Some(lasts) = point.lasts else { return };
        match (lasts.value, point.every) {
            (TimeOr::Time(time), _) if time <= Time::ZERO => {
                self.refuse(
                    lasts.at,
                    || "a duty point lasts for some time".to_owned(),
                    "no time at all",
                    None,
                );
            }
            (TimeOr::Continuous, Some(every)) => {
                self.only_one(("lasts", lasts.at), ("every", every.at), "what is continuous does not recur");
            }
            (TimeOr::Time(time), Some(every)) if every.value < time => {
                let (at, also) = (self.tree.span(every.at), self.tree.span(lasts.at));
                self.ledger.note("conflict", at, "every", || {
                    Problem::new("conflict", at, "the duty point recurs before it has ended", "recurs after")
                        .with_also(also, "lasts")
                });
            }
            _ => {}
        }
    }
}
