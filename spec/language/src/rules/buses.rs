//! Buses, the loads on them, and the branches that lead to them.

use std::collections::HashMap;

use loadworthy_physics::{Inductance, Power, Resistance, Time, Voltage};
use loadworthy_source::{NodeId, Problem};

use super::{Rules, Scope};
use crate::quantity::shown;
use crate::sections::branches::Branch;
use crate::sections::buses::Bus;
use crate::sections::machines::Load;

impl Rules for Bus {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("nominal", self.nominal, Voltage::si);
        scope.above_zero("highest", self.highest, Voltage::si);
        scope.above_zero("lowest", self.lowest, Voltage::si);
        scope.above_zero("response", self.response, Time::si);
        scope.not_falling(&[("lowest", self.lowest), ("nominal", self.nominal), ("highest", self.highest)]);
        if let Some(trip) = &self.overvoltage_trip {
            scope.above_zero("voltage", trip.voltage, Voltage::si);
            scope.share("tolerance", trip.tolerance, 0.5);
            scope.credible_tolerance("tolerance", trip.tolerance, (1e-3, "a share of at least 0.1 %"));
            scope.above_zero("sensor_range", trip.sensor_range, Voltage::si);
            scope.credible_volts("sensor_range", trip.sensor_range);
        }
        if let Some(loop_inductance) = &self.loop_inductance {
            scope.above_zero("bars", loop_inductance.bars, Inductance::si);
        }
        if let Some(discharge) = &self.discharge {
            scope.above_zero("resistor", discharge.resistor, Resistance::si);
            scope.above_zero("resistor_power", discharge.resistor_power, Power::si);
            scope.above_zero("within", discharge.within, Time::si);
            scope.above_zero("passively_within", discharge.passively_within, Time::si);
            scope.credible_bleeder(discharge.resistor_power);
            scope.credible_wait("within", discharge.within);
            scope.credible_wait("passively_within", discharge.passively_within);
            // What is slower than the resistor alone need not be switched on.
            scope.not_falling(&[
                ("within", discharge.within),
                ("passively_within", discharge.passively_within),
            ]);
        }
        if let Some(active) = self.discharge.as_ref().and_then(|discharge| discharge.active.as_ref()) {
            scope.above_zero("power", active.power, Power::si);
            scope.credible_discharge(active.power);
            scope.above_zero("resistor", active.resistor, Resistance::si);
            if let (Some(power), Some(resistor)) = (active.power, active.resistor) {
                let why = "the discharge holds its power or its resistance";
                scope.only_one(("power", power.at), ("resistor", resistor.at), why);
            }
        }
    }
}

impl Rules for Load {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("lowest", self.lowest, Voltage::si);
    }
}

impl Rules for Branch {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(around) = &self.around {
            let ends = [("from", &self.from), ("to", &self.to)];
            // One end or both: it is one slip.
            if let Some((key, end)) = ends.into_iter().find_map(|(key, end)| Some((key, end.as_ref()?))) {
                let why = "a branch around a conductor has that conductor's ends";
                scope.only_one(("around", around.at), (key, end.at), why);
            }
        } else {
            scope.two_ends(self);
        }
        scope.each_once(self);
        scope.share_above_zero("rest", self.rest, 1.0);
    }
}

impl Scope<'_> {
    /// A branch that leads around nothing has two ends, and they differ.
    fn two_ends(&mut self, branch: &Branch) {
        let lacks = match (&branch.from, &branch.to) {
            (Some(from), Some(to)) => {
                if from.value == to.value {
                    let (at, also) = (self.tree.span(to.at), self.tree.span(from.at));
                    self.ledger.note("conflict", at, "to", || {
                        let message = format!("the branch leads from {} back to it", shown(&from.value));
                        Problem::new("conflict", at, message, "ends here").with_also(also, "starts here")
                    });
                }
                return;
            }
            (None, None) => "`from` and `to`, or `around`",
            (None, Some(_)) => "`from`",
            (Some(_), None) => "`to`",
        };
        let at = self.tree.span(self.entry);
        self.ledger.note("incomplete", at, "from", || {
            let message = format!("{} lacks {lacks}", shown(self.tree.key_text(self.entry)));
            Problem::new("incomplete", at, message, "where does it lead?")
                .with_way_out(format!("add {lacks}"))
        });
    }

    /// A conductor stands in at most one place of a branch.
    fn each_once(&mut self, branch: &Branch) {
        let mut passed: HashMap<&str, NodeId> = HashMap::new();
        for place in branch.around.iter().chain(branch.through.iter().flat_map(|through| &through.value)) {
            if let Some(first) = passed.insert(&place.value, place.at) {
                let (at, also) = (self.tree.span(place.at), self.tree.span(first));
                self.ledger.note("name-twice", at, "", || {
                    let message = format!("{} stands twice in one branch", shown(&place.value));
                    Problem::new("name-twice", at, message, "again")
                        .with_also(also, "stands here first")
                        .with_way_out("name each conductor once; describe a second one where there are two")
                });
            }
        }
    }
}
