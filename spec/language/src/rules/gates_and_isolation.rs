//! What feeds and commands gates, and what stays isolated.

use loadworthy_physics::{
    Capacitance, Current, Frequency, Inductance, Length, Power, Resistance, SlewRate, Time, Voltage,
};
use loadworthy_source::{Located, Problem};

use super::{Rules, Scope};
use crate::quantity::{Charge, shown};
use crate::sections::drivers::Driver;
use crate::sections::gate_supplies::{Controller, GateSupply};
use crate::sections::isolation::{Barrier, Isolation};
use crate::sections::sensors::{Measured, Measurement, Signal};

impl Rules for GateSupply {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("power", self.power, Power::si);
        scope.credible_for_gates(self.power);
        scope.share_above_zero("efficiency", self.efficiency, 1.0);
        scope.share("tolerance", self.tolerance, 1.0);
        scope.credible_tolerance("tolerance", self.tolerance, (1e-3, "a share of at least 0.1 %"));
        scope.above_zero("coupling", self.coupling, Capacitance::si);
        scope.credible_coupling(self.coupling);
        scope.above_zero("common_inductance", self.common_inductance, Inductance::si);
        if let Some(bootstrap) = &self.bootstrap {
            scope.above_zero("capacitance", bootstrap.capacitance, Capacitance::si);
            scope.above_zero("blocking_voltage", bootstrap.blocking_voltage, Voltage::si);
            scope.credible_volts("blocking_voltage", bootstrap.blocking_voltage);
            scope.above_zero("resistance", bootstrap.resistance, Resistance::si);
            scope.not_below_zero("diode_drop", bootstrap.diode_drop, Voltage::si);
            scope.not_below_zero("leakage", bootstrap.leakage, Current::si);
            scope.not_below_zero("shift_charge", bootstrap.shift_charge, Charge::si);
        }
        scope.not_falling(&[("drive_off", self.off), ("drive_on", self.on)]);
        if let (Some(transformer), Some(bootstrap)) = (&self.transformer, &self.bootstrap_from) {
            let (first, second) = (("transformer", transformer.at), ("bootstrap_from", bootstrap.at));
            scope.only_one(first, second, "a bootstrap is charged through a diode, without a transformer");
        }
        if let (Some(rail), Some(bootstrap)) = (&self.rail, &self.bootstrap_from) {
            let (first, second) = (("rail", rail.at), ("bootstrap_from", bootstrap.at));
            scope.only_one(first, second, "a bootstrap floats on what it feeds");
        }
        if let (Some(second), Some(bootstrap)) = (&self.also_from, &self.bootstrap_from) {
            let (first, second) = (("also_from", second.at), ("bootstrap_from", bootstrap.at));
            scope.only_one(first, second, "a bootstrap lives on what charges it");
        }
        if let (Some(off), Some(bootstrap)) = (self.off, &self.bootstrap_from)
            && off.value < Voltage::ZERO
        {
            let (at, also) = (scope.tree.span(off.at), scope.tree.span(bootstrap.at));
            scope.ledger.note("conflict", at, "bootstrap_from", || {
                let message = "a bootstrap gives nothing below zero";
                Problem::new("conflict", at, message, "below zero")
                    .with_also(also, "charged to one voltage, through a diode")
                    .with_way_out(
                        "leave out `drive_off`, or let an output with a winding of its own feed the gate",
                    )
            });
        }
    }
}

impl Rules for Controller {
    fn check(&self, _: &mut Scope<'_>) {}
}

impl Rules for Driver {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("transient_immunity", self.transient_immunity, SlewRate::si);
        scope.credible_immunity(self.transient_immunity);
        scope.above_zero("immunity_current", self.immunity_current, Current::si);
        scope.credible_immunity_current(self.immunity_current);
        scope.above_zero("coupling", self.coupling, Capacitance::si);
        scope.above_zero("peak_current", self.peak_current, Current::si);
        scope.above_zero("undervoltage", self.undervoltage, Voltage::si);
        scope.not_below_zero("turn_on_resistor", self.turn_on_resistor, Resistance::si);
        scope.not_below_zero("turn_off_resistor", self.turn_off_resistor, Resistance::si);
        scope.not_below_zero("clamp_resistance", self.clamp_resistance, Resistance::si);
        scope.not_below_zero("own_power", self.own_power, Power::si);
        scope.not_below_zero("delay", self.delay, Time::si);
        scope.credible_gate_delay(self.delay);
        scope.credible_driver(self);
        scope.not_below_zero("skew", self.skew, Time::si);
        let Some(short) = &self.short_circuit else { return };
        scope.not_below_zero("blanking", short.blanking, Time::si);
        scope.not_below_zero("filter", short.filter, Time::si);
        scope.not_below_zero("delay", short.delay, Time::si);
        scope.above_zero("turn_off", short.turn_off, Time::si);
    }
}

impl Rules for Measurement {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("transient_immunity", self.transient_immunity, SlewRate::si);
        scope.credible_immunity(self.transient_immunity);
        scope.above_zero("immunity_current", self.immunity_current, Current::si);
        scope.credible_immunity_current(self.immunity_current);
        scope.above_zero("coupling", self.coupling, Capacitance::si);
        scope.credible_coupling(self.coupling);
        scope.above_zero("resistance", self.resistance, Resistance::si);
        scope.warm_phase(self);
    }
}

impl Rules for Signal {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("transient_immunity", self.transient_immunity, SlewRate::si);
        scope.credible_immunity(self.transient_immunity);
        scope.above_zero("immunity_current", self.immunity_current, Current::si);
        scope.credible_immunity_current(self.immunity_current);
        scope.above_zero("coupling", self.coupling, Capacitance::si);
        scope.credible_coupling(self.coupling);
        if let Some(joins) = &self.joins {
            scope.two_domains("a signal joins two domains", &joins.value);
        }
    }
}

impl Rules for Isolation {
    fn check(&self, scope: &mut Scope<'_>) {
        for domain in self.domains.iter().flat_map(|domains| domains.values()) {
            scope.above_zero("impulse", domain.impulse, Voltage::si);
            scope.credible_impulse(domain.impulse);
            scope.above_zero("isolation_resistance", domain.isolation_resistance, Resistance::si);
            for beside in domain.beside.iter().flat_map(|beside| &beside.value) {
                scope.above_zero("beside", Some(*beside), Resistance::si);
            }
        }
        for barrier in self.barriers.iter().flat_map(|barriers| barriers.values()) {
            scope.barrier(barrier);
        }
    }
}

impl Scope<'_> {
    fn barrier(&mut self, barrier: &Barrier) {
        self.above_zero("clearance", barrier.clearance, Length::si);
        self.above_zero("creepage", barrier.creepage, Length::si);
        self.credible_distance("clearance", barrier.clearance);
        self.credible_distance("creepage", barrier.creepage);
        self.above_zero("impulse", barrier.impulse, Voltage::si);
        self.credible_impulse(barrier.impulse);
        self.above_zero("recurring_peak", barrier.recurring_peak, |volts| volts.peak().si());
        self.credible_stood("recurring_peak", barrier.recurring_peak, |volts| volts.peak().si());
        self.credible_stood("working_voltage", barrier.working_voltage, |volts| volts.rms().si());
        self.above_zero("frequency", barrier.frequency, Frequency::si);
        self.credible_frequency(barrier.frequency);
        self.above_zero("transient_immunity", barrier.transient_immunity, SlewRate::si);
        self.credible_immunity(barrier.transient_immunity);
        self.above_zero("immunity_current", barrier.immunity_current, Current::si);
        self.credible_immunity_current(barrier.immunity_current);
        self.above_zero("coupling", barrier.coupling, Capacitance::si);
        if let Some(between) = &barrier.between {
            self.two_domains("a barrier stands between two domains", &between.value);
        }
    }

    /// A phase or a leg has a current: what is warm is the stage, or what it stands on.
    fn warm_phase(&mut self, sensor: &Measurement) {
        let Some(what) = sensor.measures.filter(|what| what.value == Measured::Temperature) else { return };
        let mut of = sensor.of.iter().flat_map(|of| &of.value);
        let Some(phase) = of.find(|of| of.value.contains('.')) else { return };
        let (at, also) = (self.tree.span(phase.at), self.tree.span(what.at));
        self.ledger.note("conflict", at, "of", || {
            let message = format!(
                "{} is a phase or a leg, and has a current: a temperature is that of a stage, a magnetic component or a coolant element",
                shown(&phase.value)
            );
            Problem::new("conflict", at, message, "a phase or a leg")
                .with_also(also, "a temperature")
                .with_way_out("name the stage, or measure the current")
        });
    }

    /// Two domains that must differ; how many there are is a rule of the schema.
    fn two_domains(&mut self, rule: &str, domains: &[Located<String>]) {
        if let [one, other] = domains
            && one.value == other.value
        {
            let (at, also) = (self.tree.span(other.at), self.tree.span(one.at));
            self.ledger.note("name-twice", at, "", || {
                Problem::new("name-twice", at, rule, "the same domain")
                    .with_also(also, "named here first")
                    .with_way_out("name the domain on the other side")
            });
        }
    }
}
