//! Ripple of the stages on a bus: together, divided among its banks, and what it makes of them. Reckoned once after
//! everything is solved.

use loadworthy_physics::capacitor_bank::{self, Branch};
use loadworthy_physics::link_pulses::{self, Pulses};
use loadworthy_physics::{
    Capacitance, Current, Frequency, Inductance, Law, Power, Resistance, Temperature, ThermalResistance,
};

use crate::plan::{Bank, Bus, Plan, Ripple, RippleTerm, Stage};
use crate::solver::bridge::modulation;
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::solver::supply::line_resistance;
use crate::trace::{Operand, Trace};

static TOGETHER: Law = Law {
    name: "ripple current of all stages on a bus, RMS",
    formula: "I² = Σ I_k², synchronised carriers + 2·I_i·I_k for each pair at worst, of two bridges with a stated shift 2·mean(i_1·i_2 − Ī_1·Ī_2)",
    validity: "unrelated carriers within 0.02 % of sampled waveforms over many beats; the plain sum of synchronised ones is a bound",
    source: link_pulses::IN_COMMON.source,
};

static BANK_RIPPLE: Law = Law {
    name: "ripple current of a bank, RMS",
    formula: "I_bank: as all stages together, each times |Z_all/Z_bank| at its strongest line",
    validity: capacitor_bank::SHARE.validity,
    source: capacitor_bank::SHARE.source,
};

static VOLTAGE: Law = Law {
    name: "ripple of a bus voltage, peak to peak",
    formula: "ΔV = Σ ΔV_k; of a bridge max|q|/(C·f), of others at most I_k/(2·f_k·C), C of all banks at the low end of its tolerance",
    validity: "sum over the stages, which they seldom reach together; series resistance and inductance of the capacitors left out",
    source: link_pulses::VOLTAGE_RIPPLE.source,
};

/// Ripple of every bus that has banks.
pub(crate) fn ripple<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    for bus in &plan.buses {
        if bus.ripple.figures.is_some() {
            of_bus(plan, bus, pass, scratch);
        }
    }
}

fn of_bus<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let (ripple, Some(figures)) = (&bus.ripple, bus.ripple.figures) else { return };
    let squares = &mut scratch.bank_squares;
    for &bank in &ripple.banks {
        squares[bank] = [0.0; L];
    }
    let (mut total, mut volts, mut largest) = ([0.0; L], [0.0; L], [0.0; L]);
    for l in 0..L {
        let farads = capacitance(plan, ripple, l, pass);
        for (place, term) in ripple.terms.iter().enumerate() {
            let amps = pass.figures[term.current.index()][l];
            // A stage at rest sends nothing.
            if amps.abs() <= 0.0 {
                continue;
            }
            let frequency = strongest(plan, term, l, pass);
            total[l] += amps * amps;
            volts[l] += of_voltage(plan, term, amps, frequency, farads, l, pass);
            for (k, &bank) in ripple.banks.iter().enumerate() {
                let share = share(plan, bus, k, frequency, l, pass);
                squares[bank][l] += share * share * amps * amps;
                // What is not known stays unknown.
                if share > largest[l] || share.is_nan() {
                    largest[l] = share;
                }
            }
            for other in &ripple.terms[..place] {
                let common = in_common(plan, other, term, l, pass);
                total[l] += common;
                let of_other = strongest(plan, other, l, pass);
                for (k, &bank) in ripple.banks.iter().enumerate() {
                    if common.abs() > 0.0 {
                        let own = share(plan, bus, k, frequency, l, pass);
                        squares[bank][l] += common * own * share(plan, bus, k, of_other, l, pass);
                    }
                }
            }
        }
        // What could not be read and may stand here leaves the ripple unknown.
        for unknown in &bus.drawn {
            if let Operand::Input(input) = unknown {
                total[l] += 0.0 * pass.inputs[input.index()][l];
            }
        }
    }
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from = operands(plan, ripple);
        from.extend(bus.drawn.iter().filter(|drawn| matches!(drawn, Operand::Input(_))));
    }
    pass.put(figures.current, &TOGETHER, &from, |l| root(total[l]));
    let divided = of_banks(plan, bus, &from, pass);
    pass.put(figures.largest_share, &capacitor_bank::SHARE, &divided, |l| largest[l]);
    if T::LISTENS {
        from.extend(ripple.banks.iter().flat_map(|&bank| {
            let each = &plan.banks[bank].each;
            [plan.banks[bank].parts, each.capacitance, each.tolerance].map(Operand::Input)
        }));
    }
    let swing = pass.put(figures.voltage, &VOLTAGE, &from, |l| volts[l]);
    for &bank in &ripple.banks {
        let square = scratch.bank_squares[bank];
        of_bank(plan, bus, &plan.banks[bank], &square, &swing, pass);
    }
}

/// A root, of what rounding may have left just below zero.
fn root(square: f64) -> f64 {
    if square < 0.0 { 0.0 } else { square.sqrt() }
}

fn operands(plan: &Plan, ripple: &Ripple) -> Vec<Operand> {
    let mut from: Vec<Operand> = Vec::new();
    for term in &ripple.terms {
        from.push(term.current.into());
        from.push(plan.stages[term.stage].carrier.into());
    }
    from
}

/// What decides how ripple divides; nothing where one bank takes it all.
fn of_banks<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    from: &[Operand],
    pass: &Pass<'_, L, T>,
) -> Vec<Operand> {
    if !T::LISTENS {
        return Vec::new();
    }
    let mut from = from.to_vec();
    let is_known = |source: usize| pass.inputs[plan.sources[source].inductance.index()][0].is_finite();
    if !divides(bus, is_known) {
        return from;
    }
    for &bank in &bus.ripple.banks {
        let bank = &plan.banks[bank];
        let each = &bank.each;
        from.extend(
            [bank.parts, each.capacitance, each.tolerance, each.series_resistance, each.inductance]
                .map(Operand::Input),
        );
        from.extend([bank.path_inductance, bank.path_resistance].map(Operand::Input));
    }
    for source in bus.sources.iter().filter(|&&source| is_known(source)).map(|&source| &plan.sources[source])
    {
        let own = [source.inductance, source.lowest_resistance];
        from.extend(own.into_iter().chain(source.line.iter().copied()).map(Operand::Input));
    }
    from
}

/// Whether a bank has anything beside it.
fn divides(bus: &Bus, is_known: impl Fn(usize) -> bool) -> bool {
    bus.ripple.banks.len() > 1 || bus.sources.iter().any(|&source| is_known(source))
}

/// The strongest line of a stage.
fn strongest<const L: usize, T: Trace>(
    plan: &Plan,
    term: &RippleTerm,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> Frequency {
    Frequency::new(term.multiple * pass.inputs[plan.stages[term.stage].carrier.index()][l])
}

/// Capacitance of all banks of a bus at the low end of its tolerance.
fn capacitance<const L: usize, T: Trace>(
    plan: &Plan,
    ripple: &Ripple,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    ripple.banks.iter().map(|&bank| low_capacitance(&plan.banks[bank], l, pass)).sum()
}

fn low_capacitance<const L: usize, T: Trace>(bank: &Bank, l: usize, pass: &Pass<'_, L, T>) -> f64 {
    let of = |input: crate::ids::InputId| pass.inputs[input.index()][l];
    of(bank.parts) * of(bank.each.capacitance) * (1.0 - of(bank.each.tolerance))
}

fn branch<const L: usize, T: Trace>(bank: &Bank, l: usize, pass: &Pass<'_, L, T>) -> Branch {
    let of = |input: crate::ids::InputId| pass.inputs[input.index()][l];
    let parts = of(bank.parts);
    Branch {
        resistance: Resistance::new(of(bank.path_resistance) + of(bank.each.series_resistance) / parts),
        inductance: Inductance::new(of(bank.path_inductance) + of(bank.each.inductance) / parts),
        capacitance: Some(Capacitance::new(low_capacitance(bank, l, pass))),
    }
}

/// Share of a ripple current that the k-th bank of a bus takes. A source that states no inductance takes none; the lowest
/// resistance of one that does damps a resonance least.
fn share<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    k: usize,
    frequency: Frequency,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let of = |input: crate::ids::InputId| pass.inputs[input.index()][l];
    let is_known = |source: usize| of(plan.sources[source].inductance).is_finite();
    if !divides(bus, is_known) {
        return 1.0;
    }
    let banks = &bus.ripple.banks;
    let others = banks.iter().enumerate().filter(|(place, _)| *place != k);
    let others = others.map(|(_, &bank)| branch(&plan.banks[bank], l, pass));
    let sources = bus.sources.iter().filter(|&&source| is_known(source)).map(|&source| {
        let source = &plan.sources[source];
        let line = line_resistance::<L>(&source.line, pass.inputs)[l];
        Branch {
            resistance: Resistance::new(of(source.lowest_resistance) + line),
            inductance: Inductance::new(of(source.inductance)),
            capacitance: None,
        }
    });
    capacitor_bank::share(&branch(&plan.banks[banks[k]], l, pass), others.chain(sources), frequency)
}

/// Ripple of the voltage from one stage.
fn of_voltage<const L: usize, T: Trace>(
    plan: &Plan,
    term: &RippleTerm,
    amps: f64,
    strongest: Frequency,
    farads: f64,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let stage = &plan.stages[term.stage];
    let farads = Capacitance::new(farads);
    let Some(bridge) = stage.bridge() else {
        return capacitor_bank::ripple_bound(Current::new(amps), strongest, farads).si();
    };
    let figure = |id: crate::ids::FigureId| pass.figures[id.index()][l];
    let figures = &bridge.figures;
    link_pulses::voltage_ripple(
        Current::new(figure(figures.phase_current_peak)),
        figure(figures.formed_index),
        figure(figures.power_factor),
        modulation(pass.inputs[bridge.inputs.modulation.index()][l]),
        farads,
        Frequency::new(pass.inputs[stage.carrier.index()][l]),
    )
    .si()
}

/// Twice the mean product of two ripple currents, in A²: none of unrelated carriers, all of synchronised ones, and of two
/// bridges with one carrier frequency and a stated shift what their pulses have in common.
fn in_common<const L: usize, T: Trace>(
    plan: &Plan,
    one: &RippleTerm,
    other: &RippleTerm,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let (root_of_one, one_lags) = followed(plan, one.stage, l, pass);
    let (root_of_other, other_lags) = followed(plan, other.stage, l, pass);
    if root_of_one != root_of_other {
        return 0.0;
    }
    let (a, b) = (pass.figures[one.current.index()][l], pass.figures[other.current.index()][l]);
    let worst = 2.0 * a * b;
    let (stage, beside) = (&plan.stages[one.stage], &plan.stages[other.stage]);
    let carrier = |stage: &Stage| pass.inputs[stage.carrier.index()][l];
    let is_equal = (carrier(stage) - carrier(beside)).abs() <= 1e-9 * carrier(stage);
    let shift = other_lags - one_lags;
    match (pulses(stage, l, pass), pulses(beside, l, pass)) {
        (Some((first, turning)), Some((second, turning_too))) if is_equal && shift.is_finite() => {
            let alike = (turning - turning_too).abs() <= ALIKE * turning.abs();
            let common = link_pulses::in_common(&first, &second, shift, alike);
            // No more than all of both.
            if common > worst { worst } else { common }
        }
        _ => worst,
    }
}

/// Output frequencies closer than this share count as one: over a beat the worst angle is met.
const ALIKE: f64 = 0.01;

/// The stage that a carrier follows in the end, and how far it lags behind, in turns.
fn followed<const L: usize, T: Trace>(
    plan: &Plan,
    stage: usize,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> (usize, f64) {
    let (mut at, mut lags) = (stage, 0.0);
    for _ in 0..plan.stages.len() {
        let Some(next) = plan.stages[at].synchronised else { break };
        lags += pass.inputs[next.shift.index()][l];
        at = next.with;
    }
    (at, lags)
}

/// Pulses of a bridge that turns, with its output frequency.
fn pulses<const L: usize, T: Trace>(stage: &Stage, l: usize, pass: &Pass<'_, L, T>) -> Option<(Pulses, f64)> {
    let bridge = stage.bridge()?;
    let figure = |id: crate::ids::FigureId| pass.figures[id.index()][l];
    let figures = &bridge.figures;
    let pulses = Pulses::of(
        Current::new(figure(figures.phase_current_peak)),
        figure(figures.formed_index),
        figure(figures.power_factor),
        modulation(pass.inputs[bridge.inputs.modulation.index()][l]),
    );
    Some((pulses, figure(figures.frequency)))
}

/// What its ripple makes of a bank.
fn of_bank<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    bank: &Bank,
    square: &[f64; L],
    swing: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let (figures, each) = (&bank.figures, &bank.each);
    let Some(of_bus) = bus.ripple.figures else { return };
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(of_bus.current.into());
        from.extend(of_banks(plan, bus, &[], pass));
    }
    let total = pass.figure(of_bus.current);
    let amps = pass.put(figures.ripple_current, &BANK_RIPPLE, &from, |l| root(square[l]) + 0.0 * total[l]);
    let parts = pass.input(bank.parts);
    let from: &[Operand] = &[figures.ripple_current.into(), bank.parts.into()];
    let one = pass.put(figures.each_ripple, &laws::SHARED_EVENLY, from, |l| amps[l] / parts[l]);
    let (ohms, warms, air) =
        (pass.input(each.series_resistance), pass.input(each.thermal_resistance), pass.input(bank.air));
    let from: &[Operand] = &[figures.each_ripple.into(), each.series_resistance.into()];
    let loss = pass.put(figures.loss, &capacitor_bank::LOSS, from, |l| {
        capacitor_bank::loss(Resistance::new(ohms[l]), Current::new(one[l])).si()
    });
    let from: &[Operand] = &[bank.air.into(), each.thermal_resistance.into(), figures.loss.into()];
    pass.put(figures.hot_spot, &capacitor_bank::HOT_SPOT, from, |l| {
        let (air, kelvins) = (Temperature::celsius(air[l]), ThermalResistance::new(warms[l]));
        capacitor_bank::hot_spot(air, kelvins, Power::new(loss[l])).in_celsius()
    });
    let highest = pass.figure(bus.highest_voltage);
    let from: &[Operand] = &[bus.highest_voltage.into(), of_bus.voltage.into()];
    pass.put(figures.peak_voltage, &laws::BANK_PEAK, from, |l| highest[l] + 0.5 * swing[l]);
}
