//! What a machine or a load takes, stated once.

use loadworthy_physics::{Frequency, Power, Voltage};
use loadworthy_source::{NodeId, Problem};

use super::{Rules, Scope, Stated};
use crate::sections::duty::Demand;

fn stated<const N: usize>(keys: [(&'static str, Option<NodeId>); N]) -> impl Iterator<Item = Stated> {
    keys.into_iter().filter_map(|(key, at)| Some((key, at?)))
}

impl Demand {
    /// The keys of a load that are stated.
    pub(super) fn load_keys(&self) -> impl Iterator<Item = Stated> {
        stated([("power", self.power.map(|given| given.at)), ("current", self.current.map(|given| given.at))])
    }

    /// The keys of a shaft that are stated.
    pub(super) fn shaft_keys(&self) -> impl Iterator<Item = Stated> {
        stated([
            ("torque", self.torque.map(|given| given.at)),
            ("shaft_power", self.shaft_power.map(|given| given.at)),
            ("speed", self.speed.map(|given| given.at)),
        ])
    }

    /// The keys of the terminals of a machine that are stated.
    fn terminal_keys(&self) -> impl Iterator<Item = Stated> {
        stated([
            ("electrical_power", self.electrical_power.map(|given| given.at)),
            ("phase_current", self.phase_current.map(|given| given.at)),
            ("line_voltage", self.line_voltage.map(|given| given.at)),
            ("power_factor", self.power_factor.map(|given| given.at)),
            ("frequency", self.frequency.map(|given| given.at)),
        ])
    }

    /// The keys of a machine that are stated.
    pub(super) fn machine_keys(&self) -> impl Iterator<Item = Stated> {
        self.shaft_keys().chain(self.terminal_keys())
    }
}

impl Rules for Demand {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(of_load) = self.load_keys().next() {
            // One word for each stray key would be four echoes of one slip.
            if let Some(other) = self.machine_keys().next() {
                let why = "one is that of a load, the other a machine's";
                scope.only_one(of_load, other, why);
            } else if let Some(other) = self.load_keys().nth(1) {
                scope.only_one(of_load, other, "one follows from the other");
            }
            return;
        }
        if let Some(of_shaft) = self.shaft_keys().next() {
            match self.terminal_keys().next() {
                Some(other) => {
                    let why = "with a speed, the constants of the machine give what flows at its terminals";
                    scope.only_one(of_shaft, other, why);
                }
                None => self.shaft(scope),
            }
            return;
        }
        if let Some(frequency) = self.frequency
            && frequency.value <= Frequency::ZERO
        {
            let moving =
                self.terminal_keys().filter(|(key, _)| !matches!(*key, "phase_current" | "frequency"));
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
    fn shaft(&self, scope: &mut Scope<'_>) {
        let Some(power) = self.shaft_power else { return };
        if let Some(torque) = self.torque {
            let (first, second) = (("torque", torque.at), ("shaft_power", power.at));
            scope.only_one(first, second, "one follows from the other");
        } else if let Some(speed) = self.speed
            && speed.value.si().abs() <= 0.0
            && power.value.si().abs() > 0.0
        {
            let (at, also) = (scope.tree.span(power.at), scope.tree.span(speed.at));
            scope.ledger.note("conflict", at, "shaft_power", || {
                Problem::new("conflict", at, "a shaft that stands still gives no power", "power")
                    .with_also(also, "no speed")
                    .with_way_out("state its `torque`")
            });
        }
    }

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
