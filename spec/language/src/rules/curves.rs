//! Points and curves of data sheets.

use std::collections::HashMap;

use loadworthy_physics::{Current, Temperature, Voltage};
use loadworthy_source::Problem;

use super::Scope;
use crate::quantity::{Given, Points, Readable};

impl Scope<'_> {
    /// As many values as there are on the other axis.
    pub(super) fn same_length<A: Readable, T: Readable>(
        &mut self,
        axis_key: &'static str,
        axis: &Points<A>,
        key: &'static str,
        other: &Points<T>,
    ) {
        if axis.len() == other.len() {
            return;
        }
        let (at, also) = (self.tree.span(other.at), self.tree.span(axis.at));
        self.ledger.note("conflict", at, key, || {
            let count =
                |number: usize| if number == 1 { "1 value".to_owned() } else { format!("{number} values") };
            let message =
                format!("`{key}` has {} where `{axis_key}` has {}", count(other.len()), count(axis.len()));
            Problem::new("conflict", at, message, count(other.len()))
                .with_also(also, count(axis.len()))
                .with_way_out(format!("state one value for each {}", axis_key))
        });
    }

    /// Enough points for a curve.
    pub(super) fn at_least<T: Readable>(
        &mut self,
        least: usize,
        what: &'static str,
        axis: &Points<T>,
        label: &'static str,
    ) {
        let found = axis.len();
        if found < least {
            let message = || format!("{what} has {} or more points, found {found}", number_word(least));
            self.refuse(axis.at, message, label, Some("state another point of the curve"));
        }
    }

    /// No value below zero.
    pub(super) fn not_negative<T: Readable + Copy>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        si: impl Fn(T) -> f64,
    ) {
        if let Some(negative) = points.iter().find(|point| si(point.value) < 0.0) {
            let message = || format!("`{key}` of a curve is not negative");
            self.refuse(negative.at, message, "negative", None);
        }
    }

    /// Each value larger than the one before it.
    pub(super) fn each_above<T: Readable + PartialOrd>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        why: &'static str,
    ) {
        self.in_order(key, points, why, "not above the one before", |below, above| below < above);
    }

    /// Each value smaller than the one before it.
    pub(super) fn each_below<T: Readable + PartialOrd>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        why: &'static str,
    ) {
        self.in_order(key, points, why, "not below the one before", |before, after| after < before);
    }

    /// No value larger than the one before it.
    pub(super) fn none_above<T: Readable + PartialOrd>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        why: &'static str,
    ) {
        self.in_order(key, points, why, "above the one before", |before, after| after <= before);
    }

    /// No value smaller than the one before it.
    pub(super) fn none_below<T: Readable + PartialOrd>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        why: &'static str,
    ) {
        self.in_order(key, points, why, "below the one before", |before, after| before <= after);
    }

    fn in_order<T: Readable + PartialOrd>(
        &mut self,
        key: &'static str,
        points: &Points<T>,
        why: &'static str,
        label: &'static str,
        holds: impl Fn(&T, &T) -> bool,
    ) {
        for pair in points.windows(2) {
            if let [before, after] = pair
                && !holds(&before.value, &after.value)
            {
                let (at, also) = (self.tree.span(after.at), self.tree.span(before.at));
                self.ledger.note("conflict", at, key, || {
                    Problem::new("conflict", at, why, label).with_also(also, "the one before")
                });
            }
        }
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
        self.each_above("current", current, "currents of a curve rise");
    }

    /// Forward voltages above zero that do not fall with the current.
    pub(super) fn forward_voltages(&mut self, voltage: &Points<Voltage>) {
        self.none_below("voltage", voltage, "an on-state voltage does not fall with the current");
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

fn number_word(number: usize) -> &'static str {
    match number {
        2 => "two",
        3 => "three",
        _ => "several",
    }
}
