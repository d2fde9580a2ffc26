//! What the ripple of a stage makes of the voltage of a bus.

use loadworthy_physics::link_voltage::{self, Across, BridgePulses};
use loadworthy_physics::{Capacitance, Current, Frequency, Inductance, Law, Resistance, Voltage};

use crate::ids::InputId;
use crate::plan::{Bank, Plan, Ripple, RippleTerm};
use crate::solver::bridge::modulation;
use crate::solver::pass::Pass;
use crate::solver::ripple_lines::RippleLines;
use crate::trace::{Operand, Trace};

pub(crate) static VOLTAGE: Law = Law {
    name: "ripple of a bus voltage, peak to peak",
    formula: "ΔV = Σ ΔV_k; of a bridge max v − min v of its pulses in Z, of others at most I_k/(2·f_k·C) + R·ΔI_k + 2·√2·Σ I_h·|ΔZ_h|; of a bank alone Z = R + 1/(j·ω·C), for currents without jumps with L·f_k·Σ|Δs|/2 beside it, else that of all branches at each line up to the 12th, ΔZ = Z − R − 1/(j·ω·C) with R at the 12th, and what rings above the 8th is followed from edge to edge",
    validity: "sum over the stages, which they seldom reach together; capacitances at the low end of their tolerance, and where a line resonates; resistance as stated for the ripple frequency; what an edge adds in the inductance of all branches side by side left out, and that of a bank alone where it is not stated",
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

/// Inductance of the bank that takes all ripple of a bus, with that of its path; not a number where it is not stated.
pub(crate) fn inductance<const L: usize, T: Trace>(
    plan: &Plan,
    ripple: &Ripple,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let of = |input: InputId| pass.inputs[input.index()][l];
    let banks = ripple.banks.iter().map(|&bank| &plan.banks[bank]);
    banks.map(|bank| of(bank.path_inductance) + of(bank.each.inductance) / of(bank.parts)).sum()
}

/// Ripple of the voltage from one stage, told for each of what stands across the bus at several places within the tolerance;
/// `alone` is the inductance of the bank, where one takes all.
pub(crate) fn of_stage<const L: usize, T: Trace>(
    plan: &Plan,
    (term, lines): (&RippleTerm, &RippleLines),
    (across, alone): (&[Across], Option<f64>),
    l: usize,
    pass: &Pass<'_, L, T>,
    pulses: &mut BridgePulses,
    mut tell: impl FnMut(usize, f64),
) {
    let stage = &plan.stages[term.stage];
    let Some(bridge) = stage.bridge() else {
        let rms = Current::new(pass.figures[term.current.index()][l]);
        let swing = plan.swing(term, pass.at(l));
        let edges = plan.edges(term, pass.at(l));
        // Of a bank alone a current without jumps meets the inductance as well, where that is stated.
        let henry = alone.filter(|henry| henry.is_finite() && !stage.chops(term.port));
        let leap = henry.map_or(Voltage::ZERO, |henry| {
            link_voltage::across_inductance(edges, Inductance::new(henry), lines.first)
        });
        for (place, across) in across.iter().enumerate() {
            let volts = link_voltage::bound(rms, swing, &lines.shares, across, lines.first, edges);
            tell(place, (volts + leap).si());
        }
        return;
    };
    let figure = |id: crate::ids::FigureId| pass.figures[id.index()][l];
    let figures = &bridge.figures;
    let peak = Current::new(figure(figures.phase_current_peak));
    let carrier = Frequency::new(pass.inputs[stage.carrier.index()][l]);
    let modulation = modulation(pass.inputs[bridge.inputs.modulation.index()][l]);
    pulses.take(figure(figures.formed_index), figure(figures.power_factor), modulation, across);
    for (place, across) in across.iter().enumerate() {
        tell(place, pulses.ripple(peak, across, carrier).si());
    }
}

/// Squares of the steps of the current of a stage in a period of its first line, all together, in A²: of a bridge the mean
/// over a turn of two edges of each leg, of others two edges alike.
pub(crate) fn steps<const L: usize, T: Trace>(
    plan: &Plan,
    term: &RippleTerm,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    if let Some(bridge) = plan.stages[term.stage].bridge() {
        let crest = pass.figures[bridge.figures.phase_current_peak.index()][l];
        return 3.0 * crest * crest;
    }
    let jumps = plan.edges(term, pass.at(l)).jumps.si();
    0.5 * jumps * jumps
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
        if ripple.banks.len() == 1 {
            out.extend([each.inductance, bank.path_inductance].map(Operand::Input));
        }
    }
}
