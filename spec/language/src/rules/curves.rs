//! Points and curves of data sheets.

use std::collections::HashMap;

use loadworthy_physics::{Current, Temperature, Voltage};
use loadworthy_source::Problem;

use super::Scope;
use crate::quantity::{Given, Points, Readable};

impl Scope<'_> {
    /// As many values as there are currents.
    pub(super) fn same_length<T: Readable>(
        &mut self,
        current: &Points<Current>,
        key: &'static str,
        other: &Points<T>,
    ) {
        if current.len() == other.len() {
            return;
        }
        let (at, also) = (self.tree.span(other.at), self.tree.span(current.at));
        self.ledger.note("conflict", at, key, || {
            let count =
                |number: usize| if number == 1 { "1 value".to_owned() } else { format!("{number} values") };
            let message =
                format!("`{key}` has {} where `current` has {}", count(other.len()), count(current.len()));
            Problem::new("conflict", at, message, count(other.len()))
                .with_also(also, count(current.len()))
                .with_way_out("state one value for each current")
        });
    }

    /// Currents above zero, each larger than the one before it.
    pub(super) fn rising(&mut self, current: &Points<Current>) {
        if let Some(first) = current.first()
            && first.value <= Current::ZERO
        {
            let message = || "currents of a curve are above zero".to_owned();
            return self.refuse(
                first.at,
                message,
                "not above zero",
                Some("leave out the point at no current"),
            );
        }
        for pair in current.windows(2) {
            if let [below, above] = pair
                && above.value <= below.value
            {
                let (at, also) = (self.tree.span(above.at), self.tree.span(below.at));
                self.ledger.note("conflict", at, "current", || {
                    Problem::new("conflict", at, "currents of a curve rise", "not above the one before")
                        .with_also(also, "the one before")
                });
            }
        }
    }

    /// Forward voltages above zero that do not fall with the current.
    pub(super) fn forward_voltages(&mut self, voltage: &Points<Voltage>) {
        for pair in voltage.windows(2) {
            if let [below, above] = pair
                && above.value < below.value
            {
                let (at, also) = (self.tree.span(above.at), self.tree.span(below.at));
                self.ledger.note("conflict", at, "voltage", || {
                    let message = "an on-state voltage does not fall with the current";
                    Problem::new("conflict", at, message, "below the one before")
                        .with_also(also, "the one before")
                });
            }
        }
        if let Some(first) = voltage.first() {
            self.above_zero("voltage", Some(*first), Voltage::si);
        }
    }

    /// No temperature twice among the curves of one figure.
    pub(super) fn distinct(&mut self, junctions: &[Given<Temperature>]) {
        let mut stated: HashMap<u64, Given<Temperature>> = HashMap::new();
        for later in junctions {
            // Zero has two signs and one temperature.
            let bits = (later.value.in_celsius() + 0.0).to_bits();
            if let Some(earlier) = stated.insert(bits, *later) {
                let (at, also) = (self.tree.span(later.at), self.tree.span(earlier.at));
                self.ledger.note("conflict", at, "junction", || {
                    Problem::new("conflict", at, "two curves at one junction temperature", "stated again")
                        .with_also(also, "stated here first")
                        .with_way_out("keep one of them, or correct a temperature")
                });
            }
        }
    }
}
