//! The most that one of several sources on a bus gives or takes, wherever the resistances of all lie in their spans.
//!
//! The power flow is solved with the highest resistances. They leave the least voltage, but they also divide best: what sources
//! of unlike voltage drive through one another is largest where resistances are lowest, and a source carries most beside
//! others where its own is low and theirs are high.

use loadworthy_physics::{Law, Power, Resistance, Voltage, battery};

use crate::plan::{Bus, Plan, Source};
use crate::solver::pass::Pass;
use crate::solver::supply::{balances, behind, lowest_behind};
use crate::trace::{Operand, Trace};

static BESIDE_OTHERS: Law = Law {
    name: "largest current of a source beside others",
    formula: "I = (V_i − V)/R_i,min, V that the others leave at their lowest or at their highest resistances, or all at their highest; the largest of the three",
    validity: "power of the bus as solved; direct current",
    source: "Ohm's law, Kirchhoff's law",
};

static IN_ITS_BRANCH: Law = Law {
    name: "largest current of a conductor before a source beside others",
    formula: "I = |I_source|, the largest that its resistances leave room for",
    validity: "its loss, as power is drawn for it, is that of the current as solved",
    source: "Kirchhoff's current law",
};

/// Puts the largest current of each source that shares a bus with others, and that of the conductors before it.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for bus in &plan.buses {
        for &source in &bus.sources {
            if let Some(out) = plan.sources[source].largest_current {
                let largest: [f64; L] =
                    core::array::from_fn(|l| largest(plan, bus, &plan.sources[source], l, pass));
                let from = operands(plan, bus, &plan.sources[source], pass);
                pass.put(out, &BESIDE_OTHERS, &from, |l| largest[l]);
                let own = plan.sources[source].current;
                for conductor in plan.conductors.iter().filter(|one| one.carries == Some(own)) {
                    pass.put(conductor.current, &IN_ITS_BRANCH, &[out.into()], |l| largest[l].abs());
                }
            }
        }
    }
}

fn largest<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    source: &Source,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let (inputs, solved) = (pass.inputs, pass.figures[source.current.index()][l]);
    let others = || bus.sources.iter().map(|&other| &plan.sources[other]);
    let others = || others().filter(|other| other.part != source.part && balances(other, inputs, l));
    if !balances(source, inputs, l) || others().next().is_none() {
        return solved;
    }
    let (volts, ohms) = lowest_behind(source, inputs, l);
    let power = Power::new(pass.figures[bus.power.index()][l]);
    let mut most = solved;
    for at_lowest in [true, false] {
        let (mut conductance, mut amps) = (1.0 / ohms, volts / ohms);
        for other in others() {
            let (volts, ohms) =
                if at_lowest { lowest_behind(other, inputs, l) } else { behind(other, inputs, l) };
            conductance += 1.0 / ohms;
            amps += volts / ohms;
        }
        if conductance.is_infinite() {
            // Without any resistance nothing says how they divide; so it was solved.
            continue;
        }
        let (open, inner) = (Voltage::new(amps / conductance), Resistance::new(1.0 / conductance));
        let current = (volts - battery::terminal_voltage(open, inner, power).si()) / ohms;
        if current.abs() > most.abs() || current.is_nan() {
            most = current;
        }
    }
    most
}

/// What it follows from, for whoever listens.
fn operands<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    source: &Source,
    pass: &Pass<'_, L, T>,
) -> Vec<Operand> {
    if !T::LISTENS {
        return Vec::new();
    }
    let mut from: Vec<Operand> = vec![source.current.into(), bus.power.into()];
    for &other in &bus.sources {
        let other = &plan.sources[other];
        if !balances(other, pass.inputs, 0) {
            continue;
        }
        let is_at_terminals = pass.input(other.terminal)[0].is_finite();
        if is_at_terminals {
            from.push(other.terminal.into());
        } else {
            from.extend([other.open_circuit, other.lowest_resistance].map(Operand::Input));
            if other.part != source.part {
                from.push(other.resistance.into());
            }
        }
        from.extend(other.line.iter().map(|&ohms| Operand::Input(ohms)));
    }
    from
}
