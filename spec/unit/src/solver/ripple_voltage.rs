//! What the ripple of a stage makes of the voltage of a bus.

use loadworthy_physics::link_voltage::{self, Across};
use loadworthy_physics::{Capacitance, Current, Frequency, Law, Resistance};

use crate::ids::InputId;
use crate::plan::{Bank, Plan, Ripple, RippleTerm};
use crate::solver::bridge::modulation;
use crate::solver::pass::Pass;
use crate::solver::ripple_lines::RippleLines;
use crate::trace::{Operand, Trace};

pub(crate) static VOLTAGE: Law = Law {
    name: "ripple of a bus voltage, peak to peak",
    formula: "ΔV = Σ ΔV_k; of a bridge max v − min v of its pulses in Z, of others at most I_k/(2·f_k·C) + R·ΔI_k + 2·√2·Σ I_h·|ΔZ_h|; of a bank alone Z = R + 1/(j·ω·C), else that of all branches at each line up to the 12th, ΔZ = Z − R − 1/(j·ω·C) with R at the 12th, and what rings above the 8th is followed from edge to edge",
    validity: "sum over the stages, which they seldom reach together; capacitances at the low end of their tolerance, and where a line resonates; resistance as stated for the ripple frequency; what an edge adds in the inductance of all branches side by side left out",
    source: link_voltage::FROM_BRIDGE.source,
};

/// What stands across a bus on which one bank takes all ripple: its inductance is met by edges alone.
pub(crate) fn alone<const L: usize, T: Trace>(
    plan: &Plan,
    ripple: &Ripple,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> Across {
    let of = |input: InputId| pass.inputs[input.index()][l];
    let (mut farads, mut ohms) = (0.0, 0.0);
    for &bank in &ripple.banks {
        let bank = &plan.banks[bank];
        farads += low_capacitance(bank, of);
        ohms += of(bank.path_resistance) + of(bank.each.series_resistance) / of(bank.parts);
    }
    Across::in_series(Capacitance::new(farads), Resistance::new(ohms))
}

fn low_capacitance(bank: &Bank, of: impl Fn(InputId) -> f64) -> f64 {
    of(bank.parts) * of(bank.each.capacitance) * (1.0 - of(bank.each.tolerance))
}

/// Ripple of the voltage from one stage.
pub(crate) fn of_stage<const L: usize, T: Trace>(
    plan: &Plan,
    (term, lines): (&RippleTerm, &RippleLines),
    across: &Across,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let stage = &plan.stages[term.stage];
    let Some(bridge) = stage.bridge() else {
        let rms = Current::new(pass.figures[term.current.index()][l]);
        let swing = plan.swing(term, pass.at(l));
        let edges = plan.edges(term, pass.at(l));
        return link_voltage::bound(rms, swing, &lines.shares, across, lines.first, edges).si();
    };
    let figure = |id: crate::ids::FigureId| pass.figures[id.index()][l];
    let figures = &bridge.figures;
    link_voltage::from_bridge(
        Current::new(figure(figures.phase_current_peak)),
        figure(figures.formed_index),
        figure(figures.power_factor),
        modulation(pass.inputs[bridge.inputs.modulation.index()][l]),
        across,
        Frequency::new(pass.inputs[stage.carrier.index()][l]),
    )
    .si()
}

/// What the swing of a bus follows from, beside what decides how its ripple divides.
pub(crate) fn from(plan: &Plan, ripple: &Ripple, out: &mut Vec<Operand>) {
    for term in &ripple.terms {
        let stage = &plan.stages[term.stage];
        if let Some(bridge) = stage.bridge() {
            out.push(bridge.figures.phase_current_peak.into());
        }
        crate::solver::ripple_lines::from(stage, out);
    }
    for &bank in &ripple.banks {
        let (bank, each) = (&plan.banks[bank], &plan.banks[bank].each);
        let all =
            [bank.parts, each.capacitance, each.tolerance, each.series_resistance, bank.path_resistance];
        out.extend(all.map(Operand::Input));
    }
}
