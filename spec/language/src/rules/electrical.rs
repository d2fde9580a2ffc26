//! Sources, buses, stages, machines and loads.

use loadworthy_physics::{Current, Frequency, Inductance, Voltage};
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::sections::buses::Bus;
use crate::sections::machines::{Load, Machine};
use crate::sections::sources::{BatteryLimit, Source};
use crate::sections::stages::{Stage, ThreePhaseBridge};

impl Rules for Source {
    fn check(&self, scope: &mut Scope<'_>) {
        let Self::Battery(battery) = self;
        if let Some(span) = &battery.open_circuit {
            let stated = [("lowest", span.lowest), ("nominal", span.nominal), ("highest", span.highest)];
            for (key, given) in stated {
                scope.above_zero(key, given, Voltage::si);
            }
            scope.not_falling(&stated);
        }
        if let Some(span) = &battery.internal_resistance {
            scope.not_falling(&[("lowest", span.lowest), ("highest", span.highest)]);
        }
        for limit in [&battery.discharge, &battery.charge].into_iter().flatten() {
            scope.battery_limit(limit);
        }
    }
}

impl Rules for Bus {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("nominal", self.nominal, Voltage::si);
        scope.above_zero("highest", self.highest, Voltage::si);
        scope.not_falling(&[("nominal", self.nominal), ("highest", self.highest)]);
    }
}

impl Rules for Stage {
    fn check(&self, scope: &mut Scope<'_>) {
        let Self::ThreePhaseBridge(bridge) = self;
        scope.bridge(bridge);
    }
}

impl Rules for Machine {
    fn check(&self, scope: &mut Scope<'_>) {
        let Self::PermanentMagnet(machine) = self;
        if let Some(inductance) = &machine.inductance {
            scope.above_zero("d", inductance.d, Inductance::si);
            scope.above_zero("q", inductance.q, Inductance::si);
        }
    }
}

impl Rules for Load {
    fn check(&self, _: &mut Scope<'_>) {}
}

impl Scope<'_> {
    fn battery_limit(&mut self, limit: &BatteryLimit) {
        self.above_zero("continuous", limit.continuous, Current::si);
        for peak in limit.peaks.iter().flatten() {
            self.above_zero("current", Some(peak.current), Current::si);
            self.not_falling(&[("continuous", limit.continuous), ("current", Some(peak.current))]);
        }
    }

    fn bridge(&mut self, bridge: &ThreePhaseBridge) {
        let frequency = bridge.carrier.as_ref().and_then(|carrier| carrier.frequency);
        self.above_zero("frequency", frequency, Frequency::si);
        if let (Some(frequency), Some(dead_time)) = (frequency, bridge.dead_time)
            // Each carrier period holds two dead times of a leg.
            && 2.0 * dead_time.value.si() * frequency.value.si() >= 1.0
        {
            let (at, also) = (self.tree.span(dead_time.at), self.tree.span(frequency.at));
            self.ledger.note("conflict", at, "dead_time", || {
                Problem::new(
                    "conflict",
                    at,
                    "the dead time fills the whole carrier period",
                    "twice in each period",
                )
                .with_also(also, "carrier frequency")
                .with_way_out("write e.g. `2 us`")
            });
        }
    }
}
