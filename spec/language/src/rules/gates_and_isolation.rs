//! What feeds and commands gates, and what stays isolated.

use loadworthy_physics::{Length, Power, Voltage};
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::sections::gate_supplies::{Controller, GateSupply};
use crate::sections::isolation::{Barrier, Isolation};

impl Rules for GateSupply {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("power", self.power, Power::si);
        scope.share_above_zero("efficiency", self.efficiency, 1.0);
        scope.not_falling(&[("drive_off", self.off), ("drive_on", self.on)]);
        if let (Some(transformer), Some(bootstrap)) = (&self.transformer, &self.bootstrap_from) {
            let (first, second) = (("transformer", transformer.at), ("bootstrap_from", bootstrap.at));
            scope.only_one(first, second, "a bootstrap is charged through a diode, without a transformer");
        }
        if let (Some(rail), Some(bootstrap)) = (&self.rail, &self.bootstrap_from) {
            let (first, second) = (("rail", rail.at), ("bootstrap_from", bootstrap.at));
            scope.only_one(first, second, "a bootstrap floats on what it feeds");
        }
    }
}

impl Rules for Controller {
    fn check(&self, _: &mut Scope<'_>) {}
}

impl Rules for Isolation {
    fn check(&self, scope: &mut Scope<'_>) {
        for domain in self.domains.iter().flat_map(|domains| domains.values()) {
            scope.above_zero("impulse", domain.impulse, Voltage::si);
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
        // A path along a surface is never shorter than one through air.
        self.not_falling(&[("clearance", barrier.clearance), ("creepage", barrier.creepage)]);
        if let Some([one, other]) = barrier.between.as_ref().map(|between| between.value.as_slice())
            && one.value == other.value
        {
            let (at, also) = (self.tree.span(other.at), self.tree.span(one.at));
            self.ledger.note("name-twice", at, "", || {
                Problem::new("name-twice", at, "a barrier stands between two domains", "the same domain")
                    .with_also(also, "named here first")
                    .with_way_out("name the domain on the other side")
            });
        }
    }
}
