//! What a machine or a load takes, stated once.

use loadworthy_physics::{Frequency, Power, Voltage};
use loadworthy_source::{NodeId, Problem};

use super::{Rules, Scope, Stated};
use crate::sections::duty::Demand;

impl Demand {
    /// The keys of a machine that are stated.
    pub(super) fn machine_keys(&self) -> impl Iterator<Item = Stated> {
        let stated: [(&'static str, Option<NodeId>); 5] = [
            ("electrical_power", self.electrical_power.map(|given| given.at)),
            ("phase_current", self.phase_current.map(|given| given.at)),
            ("line_voltage", self.line_voltage.map(|given| given.at)),
            ("power_factor", self.power_factor.map(|given| given.at)),
            ("frequency", self.frequency.map(|given| given.at)),
        ];
        stated.into_iter().filter_map(|(key, at)| Some((key, at?)))
    }
}

impl Rules for Demand {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(power) = self.power {
            // One word for each stray key would be four echoes of one slip.
            if let Some(other) = self.machine_keys().next() {
                let why = "`power` is that of a load, the other a machine's";
                scope.only_one(("power", power.at), other, why);
            }
            return;
        }
        if let Some(frequency) = self.frequency
            && frequency.value <= Frequency::ZERO
        {
            let moving =
                self.machine_keys().filter(|(key, _)| !matches!(*key, "phase_current" | "frequency"));
            for other in moving.collect::<Vec<_>>() {
                let why = "a machine at standstill states `phase_current` alone";
                scope.only_one(("frequency", frequency.at), other, why);
            }
            return;
        }
        if let (Some(power), Some(current)) = (self.electrical_power, self.phase_current) {
            let (first, second) = (("electrical_power", power.at), ("phase_current", current.at));
            scope.only_one(first, second, "one follows from the other");
        }
        if let Some(voltage) = self.line_voltage
            && voltage.value.rms() <= Voltage::ZERO
        {
            scope.refuse(voltage.at, || "`line_voltage` is above zero".to_owned(), "no voltage", None);
        }
        self.power_factor(scope);
    }
}

impl Demand {
    fn power_factor(&self, scope: &mut Scope<'_>) {
        let Some(factor) = self.power_factor else { return };
        let Some(power) = self.electrical_power else { return };
        let tree = scope.tree;
        let (at, also) = (tree.span(factor.at), tree.span(power.at));
        if factor.value.value() < 0.0 && Power::ZERO < power.value {
            scope.ledger.note("conflict", at, "power_factor", || {
                let message =
                    "a negative power factor says that the machine recovers, a positive power that it drives";
                Problem::new("conflict", at, message, "negative").with_also(also, "positive").with_way_out(
                    "give the sign to `electrical_power`, and write the power factor without one",
                )
            });
        } else if factor.value.value().abs() <= 0.0 && power.value.si().abs() > 0.0 {
            scope.ledger.note("conflict", at, "power_factor", || {
                Problem::new("conflict", at, "no power flows at a power factor of zero", "zero")
                    .with_also(also, "power")
            });
        }
    }
}
