//! Buses, sources and loads in a block of lanes: voltages before a pass, powers after it.

use loadworthy_physics::{Power, Resistance, Voltage, battery};

use crate::plan::{Bridge, Bus, Plan};
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::{Bracket, Scratch};
use crate::trace::{Operand, Trace};

/// A bus voltage is found when it is known to this share.
const CLOSE: f64 = 1e-12;

/// Starts the search for every bus voltage that is not stated, at the open-circuit voltage.
pub(crate) fn start<const L: usize>(plan: &Plan, inputs: &[[f64; L]], scratch: &mut Scratch<L>) {
    for (bus, brackets) in plan.buses.iter().zip(&mut scratch.brackets) {
        for (l, bracket) in brackets.iter_mut().enumerate() {
            let stated = inputs[bus.stated.index()][l];
            let open = bus.source.as_ref().map_or(f64::NAN, |source| inputs[source.open_circuit.index()][l]);
            // A bus with neither stays "not a number", and so does all that hangs on it.
            let is_sought = stated.is_nan() && !open.is_nan();
            let at = if is_sought { open } else { stated };
            *bracket = Bracket { at, is_sought, ..Bracket::default() };
        }
    }
}

/// Puts the bus voltages of this pass.
pub(crate) fn voltages<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    for (bus, brackets) in plan.buses.iter().zip(&scratch.brackets) {
        let solved = pass.input(bus.stated)[0].is_nan();
        match &bus.source {
            Some(source) if solved && !pass.input(source.open_circuit)[0].is_nan() => {
                let from: &[Operand] =
                    &[source.open_circuit.into(), source.resistance.into(), bus.power.into()];
                pass.put(bus.voltage, &laws::BUS_SOLVED, from, |l| brackets[l].at);
            }
            _ => {
                let from: &[Operand] = &[bus.stated.into()];
                pass.put(bus.voltage, &laws::BUS_STATED, from, |l| brackets[l].at);
            }
        }
    }
}

/// Puts what each bridge and load draws, and what that makes of the buses and sources.
pub(crate) fn balance<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for bridge in &plan.bridges {
        drawn_by(plan, bridge, pass);
    }
    for load in &plan.loads {
        let power = pass.input(load.power);
        let voltage = load.bus.map_or([f64::NAN; L], |bus| pass.figure(plan.buses[bus].voltage));
        let volts: Operand = load.bus.map_or(load.power.into(), |bus| plan.buses[bus].voltage.into());
        pass.put(load.current, &laws::OVER_VOLTAGE, &[load.power.into(), volts], |l| power[l] / voltage[l]);
    }
    for bus in &plan.buses {
        at_bus(bus, pass);
    }
}

fn drawn_by<const L: usize, T: Trace>(plan: &Plan, bridge: &Bridge, pass: &mut Pass<'_, L, T>) {
    let figures = &bridge.figures;
    let loss = pass.put_products(figures.loss, &laws::STAGE_LOSS, &bridge.losses);
    let output = pass.figure(figures.output_power);
    let from: &[Operand] = &[figures.output_power.into(), figures.loss.into()];
    let drawn = pass.put(figures.dc_power, &laws::DC_POWER, from, |l| output[l] + loss[l]);
    let voltage = bridge.bus.map_or([f64::NAN; L], |bus| pass.figure(plan.buses[bus].voltage));
    let volts: Operand = bridge.bus.map_or(figures.loss.into(), |bus| plan.buses[bus].voltage.into());
    pass.put(figures.dc_current, &laws::OVER_VOLTAGE, &[figures.dc_power.into(), volts], |l| {
        drawn[l] / voltage[l]
    });
    let from: &[Operand] = &[figures.output_power.into(), figures.dc_power.into()];
    pass.put(figures.efficiency, &laws::EFFICIENCY, from, |l| {
        if output[l] >= 0.0 {
            // Nothing out of nothing in is no efficiency at all; it reads as none.
            if drawn[l] > 0.0 { output[l] / drawn[l] } else { 0.0 * drawn[l] }
        } else if drawn[l] < 0.0 {
            drawn[l] / output[l]
        } else {
            // What is recovered does not cover the losses.
            0.0 * drawn[l]
        }
    });
}

fn at_bus<const L: usize, T: Trace>(bus: &Bus, pass: &mut Pass<'_, L, T>) {
    let power = pass.put_sum(bus.power, &laws::BUS_POWER, &bus.drawn);
    let voltage = pass.figure(bus.voltage);
    let from: &[Operand] = &[bus.power.into(), bus.voltage.into()];
    let current = pass.put(bus.current, &laws::OVER_VOLTAGE, from, |l| power[l] / voltage[l]);
    if let Some(source) = &bus.source {
        let resistance = pass.input(source.resistance);
        pass.put(source.current, &laws::BUS_POWER, &[bus.current.into()], |l| current[l]);
        pass.put(source.power, &laws::BUS_POWER, &[bus.power.into()], |l| power[l]);
        let from: &[Operand] = &[source.resistance.into(), source.current.into()];
        pass.put(source.loss, &laws::SOURCE_LOSS, from, |l| resistance[l] * current[l] * current[l]);
    }
}

/// Narrows the search for the voltages of one lane; whether all of them are found.
///
/// The surplus V·(V_oc − V)/R − P(V) falls from half the open-circuit voltage upwards and is zero at the stable
/// solution. The step is the exact root for the power of this pass; where it leaves the bracket, the bracket is halved.
pub(crate) fn narrow<const L: usize>(
    plan: &Plan,
    l: usize,
    inputs: &[[f64; L]],
    figures: &[[f64; L]],
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) -> bool {
    let mut found = true;
    for (place, (bus, brackets)) in plan.buses.iter().zip(&mut scratch.brackets).enumerate() {
        let bracket = &mut brackets[l];
        let Some(source) = &bus.source else { continue };
        if !bracket.is_sought {
            continue;
        }
        let open = inputs[source.open_circuit.index()][l];
        let resistance = inputs[source.resistance.index()][l];
        let power = figures[bus.power.index()][l];
        let least = if power.is_nan() { put_out(plan, place, l, inputs, figures) } else { power };
        let most = battery::transferable_power(Voltage::new(open), Resistance::new(resistance)).si();
        if power.is_nan() && (bracket.at <= 0.5 * open || least > most) {
            // Either the search came to the voltage of highest power because no root was left for a power above it, or
            // what is put out alone is more than that. Curves that do not reach so far do not make a solution.
            trouble.note(l, source.part);
        } else if power.is_nan() || resistance.is_nan() {
            // What is missing cannot be searched for: the next pass leaves the voltage open.
            *bracket = Bracket::default();
            found = false;
        } else if resistance > 0.0 {
            match step(bracket, open, resistance, power) {
                Step::Found => {}
                Step::To(next) => {
                    bracket.at = next;
                    found = false;
                }
                Step::Impossible => trouble.note(l, source.part),
            }
        }
    }
    found
}

/// Power that leaves a bus without any loss on the way.
fn put_out<const L: usize>(
    plan: &Plan,
    place: usize,
    l: usize,
    inputs: &[[f64; L]],
    figures: &[[f64; L]],
) -> f64 {
    let bridges = plan.bridges.iter().filter(|bridge| bridge.bus == Some(place));
    let loads = plan.loads.iter().filter(|load| load.bus == Some(place));
    bridges.map(|bridge| figures[bridge.figures.output_power.index()][l]).sum::<f64>()
        + loads.map(|load| inputs[load.power.index()][l]).sum::<f64>()
}

/// What the search for a voltage does next.
enum Step {
    Found,
    To(f64),
    Impossible,
}

fn step(bracket: &mut Bracket, open: f64, resistance: f64, power: f64) -> Step {
    let at_most_power = 0.5 * open;
    if bracket.low.is_nan() {
        bracket.low = at_most_power;
        // Twice the rise that the recovered power of the first pass makes encloses the solution.
        let rise = if power < 0.0 { -2.0 * power * resistance / open } else { 0.0 };
        bracket.high = open + rise + 1e-9 * open;
    }
    if bracket.at * (open - bracket.at) / resistance >= power {
        bracket.low = bracket.at;
    } else if bracket.at <= at_most_power {
        // Even where most power passes, less passes than is asked.
        return Step::Impossible;
    } else {
        bracket.high = bracket.at;
    }
    let root =
        battery::terminal_voltage(Voltage::new(open), Resistance::new(resistance), Power::new(power)).si();
    let next = if root >= bracket.low && root <= bracket.high {
        root
    } else if root.is_nan() && bracket.low <= at_most_power {
        at_most_power
    } else {
        0.5 * (bracket.low + bracket.high)
    };
    let near = CLOSE * open;
    if (next - bracket.at).abs() <= near || bracket.high - bracket.low <= near {
        Step::Found
    } else {
        Step::To(next)
    }
}
