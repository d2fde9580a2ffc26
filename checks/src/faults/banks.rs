//! Capacitors that come apart: one of a bank, and a whole bank. What is left carries the ripple.

use loadworthy_unit::plan::Bank;
use loadworthy_unit::{Edit, LaneId};

use super::found::fault;
use super::left::Bench;
use super::{Effect, Fault, Kind};

/// A resistance that no ripple passes, ohm.
const OPEN: f64 = 1e9;

/// One capacitor of every bank of several, and every bank of a bus that has ripple.
pub(super) fn all(bench: &mut Bench<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    for bus in plan.buses.iter().filter(|bus| !bus.ripple.terms.is_empty()) {
        let banks: Vec<&Bank> = bus.ripple.banks.iter().map(|&bank| &plan.banks[bank]).collect();
        for bank in &banks {
            let part = variant.tables.part_of(bank.part);
            let of = bench.solved.input(bank.parts, LaneId::new(0)).filter(|&parts| 1.5 < parts);
            if let Some(of) = of {
                let mut effect = bench.with(vec![Edit { input: bank.parts, value: of - 1.0 }]);
                effect.says.insert(
                    0,
                    format!("goes on with {} of {of} capacitors, which carry its ripple", of - 1.0),
                );
                faults.push(fault(Kind::Capacitor, &part.path, part.at, effect));
            }
            let others: Vec<&str> = banks
                .iter()
                .filter(|other| other.part != bank.part)
                .map(|other| variant.path(other.part))
                .collect();
            let effect = if others.is_empty() {
                let mut senders: Vec<&str> =
                    bus.ripple.terms.iter().map(|term| variant.path(plan.stages[term.stage].part)).collect();
                senders.dedup();
                let says = format!(
                    "nothing else across {} takes the ripple of {} and what they turn off: its voltages then are not reckoned",
                    variant.path(bus.part),
                    senders.join(", ")
                );
                Effect { says: vec![says], is_open: true, ..Effect::default() }
            } else {
                let mut effect = bench.with(vec![Edit { input: bank.path_resistance, value: OPEN }]);
                effect.says.insert(0, format!("its ripple goes to {}", others.join(", ")));
                effect
            };
            faults.push(fault(Kind::BankOpen, &part.path, part.at, effect));
        }
    }
}
