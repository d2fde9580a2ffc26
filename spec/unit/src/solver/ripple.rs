//! Ripple of the stages on a bus: together, divided among its banks, and what it makes of them. Reckoned once after
//! everything is solved.

use loadworthy_physics::capacitor_bank;
use loadworthy_physics::capacitor_life::{self, Endurance};
use loadworthy_physics::link_pulses::{self, Pulses};
use loadworthy_physics::{
    Current, Law, Power, Resistance, Temperature, TemperatureDifference, ThermalResistance, Time, Voltage,
};

use crate::plan::{Bank, Bus, Life, Plan, Ripple, RippleTerm, Stage};
use crate::solver::bridge::modulation;
use crate::solver::division::{self, Division, divides};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::ripple_voltage;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

static TOGETHER: Law = Law {
    name: "ripple current of all stages on a bus, RMS",
    formula: "I² = Σ I_k², synchronised carriers + 2·I_i·I_k for each pair at worst, of two bridges with a stated shift 2·mean(i_1·i_2 − Ī_1·Ī_2)",
    validity: "unrelated carriers within 0.02 % of sampled waveforms over many beats; the plain sum of synchronised ones is a bound",
    source: link_pulses::IN_COMMON.source,
};

static BANK_RIPPLE: Law = Law {
    name: "ripple current of a bank, RMS",
    formula: "I_bank: as all stages together, each line times |Z_all/Z_bank| there; the worst of lowest, nominal and highest capacitance, and of each place between where a line resonates; and what rings above the 12th, V·|Y_bank|",
    validity: capacitor_bank::SHARE.validity,
    source: capacitor_bank::SHARE.source,
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
    let division = &mut scratch.division;
    let (mut total, alone) = together(plan, ripple, pass, division);
    // What could not be read and may stand here leaves the ripple unknown.
    for unknown in &bus.drawn {
        if let Operand::Input(input) = unknown {
            for l in 0..L {
                total[l] += 0.0 * pass.inputs[input.index()][l];
            }
        }
    }
    let is_divided: [bool; L] = core::array::from_fn(|l| divides(plan, bus, pass.inputs, l));
    if is_divided != [false; L] {
        division.divide(plan, bus, pass);
    }
    for l in (0..L).filter(|&l| !is_divided[l]) {
        division.largest[l] = alone[l];
        taken_by_one(plan, ripple, (l, total[l]), pass, division);
    }
    // A stage whose ripple is not known may send a line that resonates, and swing the bus by anything.
    let largest: [f64; L] = core::array::from_fn(|l| division.largest[l] + 0.0 * total[l]);
    let volts: [f64; L] = core::array::from_fn(|l| division.volts[l] + 0.0 * total[l]);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from = operands(plan, ripple);
        from.extend(bus.drawn.iter().filter(|drawn| matches!(drawn, Operand::Input(_))));
    }
    pass.put(figures.current, &TOGETHER, &from, |l| root(total[l]));
    let mut divided = from.clone();
    divided.extend(division::from(plan, bus, pass));
    pass.put(figures.largest_share, &capacitor_bank::SHARE, &divided, |l| largest[l]);
    if T::LISTENS {
        ripple_voltage::from(plan, ripple, &mut divided);
    }
    let swing = pass.put(figures.voltage, &ripple_voltage::VOLTAGE, &divided, |l| volts[l]);
    for &bank in &ripple.banks {
        let square = scratch.division.squares[bank];
        of_bank(plan, bus, &plan.banks[bank], &square, &swing, pass);
    }
}

/// Mean square of all that stages send into a bus, and 1 where any does; what two of them that follow one carrier have in
/// common is kept for the division.
fn together<const L: usize, T: Trace>(
    plan: &Plan,
    ripple: &Ripple,
    pass: &Pass<'_, L, T>,
    division: &mut Division<L>,
) -> ([f64; L], [f64; L]) {
    division.commons.clear();
    let (mut total, mut alone) = ([0.0; L], [0.0; L]);
    for (place, term) in ripple.terms.iter().enumerate() {
        let amps = pass.figure(term.current);
        for l in 0..L {
            // A stage at rest sends nothing.
            if amps[l].abs() <= 0.0 {
                continue;
            }
            total[l] += amps[l] * amps[l];
            alone[l] = 1.0;
        }
        for (earlier, other) in ripple.terms[..place].iter().enumerate() {
            if plan.followed_by(other.stage) != plan.followed_by(term.stage) {
                continue;
            }
            let rests = pass.figure(other.current);
            let common = core::array::from_fn(|l| {
                let is_at_rest = amps[l].abs() <= 0.0 || rests[l].abs() <= 0.0;
                if is_at_rest { 0.0 } else { in_common(plan, other, term, l, pass) }
            });
            for l in 0..L {
                total[l] += common[l];
            }
            division.commons.push((earlier, place, common));
        }
    }
    (total, alone)
}

/// One bank with nothing beside it takes it all.
fn taken_by_one<const L: usize, T: Trace>(
    plan: &Plan,
    ripple: &Ripple,
    (l, square): (usize, f64),
    pass: &Pass<'_, L, T>,
    division: &mut Division<L>,
) {
    division.volts[l] = 0.0;
    for &bank in &ripple.banks {
        division.squares[bank][l] = square;
    }
    let across = ripple_voltage::alone(plan, ripple, l, pass);
    let henry = Some(ripple_voltage::inductance(plan, ripple, l, pass));
    for term in &ripple.terms {
        if pass.figures[term.current.index()][l].abs() > 0.0 {
            let lines = plan.ripple_lines(term, pass.at(l));
            let (across, stage) = (core::slice::from_ref(&across), (term, &lines));
            let (volts, pulses) = (&mut division.volts[l], &mut division.pulses);
            ripple_voltage::of_stage(plan, stage, (across, henry), l, pass, pulses, |_, own| *volts += own);
        }
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

/// Twice the mean product of two ripple currents that follow one carrier, in A²: all of both, and of two
/// bridges with one carrier frequency and a stated shift what their pulses have in common.
fn in_common<const L: usize, T: Trace>(
    plan: &Plan,
    one: &RippleTerm,
    other: &RippleTerm,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let (one_lags, other_lags) = (lags(plan, one.stage, l, pass), lags(plan, other.stage, l, pass));
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

/// How far a carrier lags behind that which it follows in the end, in turns.
fn lags<const L: usize, T: Trace>(plan: &Plan, stage: usize, l: usize, pass: &Pass<'_, L, T>) -> f64 {
    let (mut at, mut lags) = (stage, 0.0);
    for _ in 0..plan.stages.len() {
        let Some(next) = plan.stages[at].synchronised else { break };
        lags += pass.inputs[next.shift.index()][l];
        at = next.with;
    }
    lags
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
        from.extend(division::from(plan, bus, pass));
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
    if let Some(life) = &bank.life {
        of_life(bus, bank, life, pass);
    }
}

/// How long the capacitors of a bank last as if the duty point did.
fn of_life<const L: usize, T: Trace>(bus: &Bus, bank: &Bank, life: &Life, pass: &mut Pass<'_, L, T>) {
    let [hours, at, volts, kelvins] =
        [life.endurance, life.hot_spot, life.voltage, life.halved_by].map(|input| pass.input(input));
    let endurance: [Endurance; L] = core::array::from_fn(|l| Endurance {
        life: Time::new(hours[l]),
        hot_spot: Temperature::celsius(at[l]),
        voltage: Voltage::new(volts[l]),
        halved_by: TemperatureDifference::new(kelvins[l]),
    });
    let (hot, across) = (pass.figure(bank.figures.hot_spot), pass.figure(bus.voltage));
    let from: &[Operand] = &[
        life.endurance.into(),
        life.hot_spot.into(),
        bank.figures.hot_spot.into(),
        life.halved_by.into(),
        bus.voltage.into(),
        life.voltage.into(),
    ];
    let lasts = pass.put(life.lasts, &capacitor_life::LIFE, from, |l| {
        capacitor_life::life(&endurance[l], Temperature::celsius(hot[l]), Voltage::new(across[l])).si()
    });
    let Some((asked, spent)) = life.asked else { return };
    let time = pass.input(asked);
    pass.put(spent, &capacitor_life::SPENT, &[asked.into(), life.endurance.into(), life.lasts.into()], |l| {
        capacitor_life::spent(Time::new(time[l]), &endurance[l], Time::new(lasts[l])).si()
    });
}
