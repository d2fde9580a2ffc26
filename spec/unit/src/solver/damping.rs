//! How much power that is held a bus stands before its swings grow. Reckoned once after everything is solved.

use loadworthy_physics::bus_damping::{self, Banks, Feed};
use loadworthy_physics::{Capacitance, Inductance, Law, Resistance, Voltage};

use crate::ids::InputId;
use crate::plan::{Damping, Plan};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static HELD_POWER: Law = Law {
    name: "power that is drawn from a bus and may be held",
    formula: "P = Σ max(P_k, 0) of all that hangs on it",
    validity: "what feeds in beside the batteries is no damping: it may hold its current, and then does not care for the voltage",
    source: "definition",
};

/// Every bus that may swing.
pub(crate) fn damp<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for damping in &plan.damping {
        let fed = damping.fed.iter().map(|fed| (fed.source, fed.resistance));
        let feed = feed(plan, fed, pass);
        let banks = banks(plan, damping.bus, pass);
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from = operands(plan, damping);
        }
        pass.put(damping.resonance, &bus_damping::RESONANCE, &from, |l| {
            bus_damping::resonance(feed[l], banks[l]).si()
        });
        let drawn = &plan.buses[damping.bus].drawn;
        let mut held = [0.0; L];
        for &one in drawn {
            let watts = pass.operand(one);
            for l in 0..L {
                // What is missing stays missing.
                held[l] += if watts[l] < 0.0 { 0.0 } else { watts[l] };
            }
        }
        pass.put(damping.held_power, &HELD_POWER, drawn, |l| held[l]);
        let voltage = plan.buses[damping.bus].voltage;
        let volts = pass.figure(voltage);
        if T::LISTENS {
            from.push(voltage.into());
        }
        pass.put(damping.largest_power, &bus_damping::LARGEST_POWER, &from, |l| {
            bus_damping::largest_power(Voltage::new(volts[l]), feed[l], banks[l]).si()
        });
    }
}

/// Batteries side by side as one, each with a resistance of its own: exact for one, and for several where ωL is well above R.
pub(crate) fn feed<const L: usize, T: Trace>(
    plan: &Plan,
    fed: impl Iterator<Item = (usize, InputId)>,
    pass: &Pass<'_, L, T>,
) -> [Feed; L] {
    let (mut inverse, mut share) = ([0.0; L], [0.0; L]);
    for (source, resistance) in fed {
        let source = &plan.sources[source];
        let (mut ohms, henry) = (pass.input(resistance), pass.input(source.inductance));
        for &line in &source.line {
            let more = pass.input(line);
            ohms = core::array::from_fn(|l| ohms[l] + more[l]);
        }
        for l in 0..L {
            inverse[l] += 1.0 / henry[l];
            share[l] += ohms[l] / (henry[l] * henry[l]);
        }
    }
    core::array::from_fn(|l| Feed {
        resistance: Resistance::new(share[l] / (inverse[l] * inverse[l])),
        inductance: Inductance::new(1.0 / inverse[l]),
    })
}

/// Banks side by side as one, at the low end of their capacitance: exact for alike ones, and for others where their
/// resistance is small beside 1/(ωC).
pub(crate) fn banks<const L: usize, T: Trace>(plan: &Plan, bus: usize, pass: &Pass<'_, L, T>) -> [Banks; L] {
    let (mut farads, mut share) = ([0.0; L], [0.0; L]);
    for &bank in &plan.buses[bus].ripple.banks {
        let bank = &plan.banks[bank];
        let (parts, each) = (pass.input(bank.parts), pass.input(bank.each.capacitance));
        let tolerance = pass.input(bank.each.tolerance);
        let (own, path) = (pass.input(bank.each.series_resistance), pass.input(bank.path_resistance));
        for l in 0..L {
            let farad = parts[l] * each[l] * (1.0 - tolerance[l]);
            farads[l] += farad;
            share[l] += (own[l] / parts[l] + path[l]) * farad * farad;
        }
    }
    core::array::from_fn(|l| Banks {
        capacitance: Capacitance::new(farads[l]),
        resistance: Resistance::new(share[l] / (farads[l] * farads[l])),
    })
}

fn operands(plan: &Plan, damping: &Damping) -> Vec<Operand> {
    let mut from = Vec::new();
    for fed in &damping.fed {
        let source = &plan.sources[fed.source];
        from.extend([source.inductance, fed.resistance].map(Operand::Input));
        from.extend(source.line.iter().map(|&line| Operand::Input(line)));
    }
    from.extend(of_banks(plan, damping.bus));
    from
}

/// What the banks of a bus follow from.
pub(crate) fn of_banks(plan: &Plan, bus: usize) -> Vec<Operand> {
    let mut from = Vec::new();
    for &bank in &plan.buses[bus].ripple.banks {
        let bank = &plan.banks[bank];
        let each = &bank.each;
        from.extend([bank.parts, each.capacitance, each.tolerance].map(Operand::Input));
        from.extend([each.series_resistance, bank.path_resistance].map(Operand::Input));
    }
    from
}
