//! Powers of ports, buses and sources in a block of lanes.

use crate::plan::{Bus, Load, Plan, Port, Reckoned, Source, Stage, Topology};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::solver::supply::{balances, behind, line_resistance};
use crate::trace::{Operand, Trace};

/// Puts the power, current and draw of a port, from the power that enters the stage there.
fn port<const L: usize, T: Trace>(
    port: &Port,
    law: &'static loadworthy_physics::Law,
    from: &[Operand],
    entering: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let sense = if port.outward { -1.0 } else { 1.0 };
    let power = pass.put(port.power, law, from, |l| sense * entering[l]);
    let voltage = pass.figure(port.voltage);
    let from: &[Operand] = &[port.power.into(), port.voltage.into()];
    let current = pass.put(port.current, &laws::OVER_VOLTAGE, from, |l| power[l] / voltage[l]);
    let drawn = if port.outward { &laws::GIVEN_TO_BUS } else { &laws::DRAWN_FROM_BUS };
    if port.line.is_empty() {
        pass.put(port.drawn, drawn, &[port.power.into()], |l| sense * power[l]);
    } else {
        let line = line_resistance(&port.line, pass.inputs);
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.extend([Operand::Figure(port.power), Operand::Figure(port.current)]);
            from.extend(port.line.iter().map(|&ohms| Operand::Input(ohms)));
        }
        pass.put(port.drawn, drawn, &from, |l| sense * power[l] + line[l] * current[l] * current[l]);
    }
}

/// Puts a load.
pub(crate) fn load<const L: usize, T: Trace>(load: &Load, pass: &mut Pass<'_, L, T>) {
    let (power, current) = (pass.input(load.power), pass.input(load.current));
    let voltage = pass.figure(load.port.voltage);
    let by_current = power[0].is_nan() && !current[0].is_nan();
    let taken: [f64; L] =
        core::array::from_fn(|l| if power[l].is_nan() { current[l] * voltage[l] } else { power[l] });
    if by_current {
        let from: &[Operand] = &[load.current.into(), load.port.voltage.into()];
        port(&load.port, &laws::TIMES_VOLTAGE, from, &taken, pass);
    } else {
        port(&load.port, &laws::STATED, &[load.power.into()], &taken, pass);
    }
}

/// Puts the ports of a bridge, from what it puts out and loses.
pub(crate) fn bridge<const L: usize, T: Trace>(stage: &Stage, loss: &[f64; L], pass: &mut Pass<'_, L, T>) {
    let Topology::Bridge(bridge) = &stage.topology else { return };
    let output = pass.figure(bridge.figures.output_power);
    let entering: [f64; L] = core::array::from_fn(|l| output[l] + loss[l]);
    let from: &[Operand] = &[bridge.figures.output_power.into(), stage.figures.loss.into()];
    if let Some(only) = stage.ports.first() {
        port(only, &laws::DC_POWER, from, &entering, pass);
    }
}

/// Power that leaves a stage at the port that leads it, whatever it loses: what its bus asks for and the conductors lose.
pub(crate) fn passing<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    before: &[f64; L],
    pass: &Pass<'_, L, T>,
) -> Option<[f64; L]> {
    let lead = stage.lead()?;
    let asked = pass.figure(plan.buses[lead.bus?].power);
    let line = line_resistance(&lead.line, pass.inputs);
    Some(core::array::from_fn(|l| asked[l] + line[l] * before[l] * before[l]))
}

/// Puts the ports of a stage between two buses: the bus that leads it says what passes there, its loss the rest.
pub(crate) fn between<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    loss: &[f64; L],
    before: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let (Some(lead), Some(other)) = (stage.lead(), stage.other()) else {
        // Nothing says how much it passes.
        let from: Vec<Operand> = if T::LISTENS {
            stage.unsaid.iter().map(|&input| Operand::Input(input)).collect()
        } else {
            Vec::new()
        };
        for only in &stage.ports {
            port(only, &laws::PASSED_ON, &from, &[f64::NAN; L], pass);
        }
        return;
    };
    let (Some(passes), Some(bus)) =
        (passing(plan, stage, before, pass), lead.bus.map(|bus| &plan.buses[bus]))
    else {
        for only in [lead, other] {
            port(only, &laws::PASSED_ON, &[only.named.into()], &[f64::NAN; L], pass);
        }
        return;
    };
    let entering = passes.map(|passes| -passes);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(bus.power.into());
        if !lead.line.is_empty() {
            from.push(lead.current.into());
            from.extend(lead.line.iter().map(|&ohms| Operand::Input(ohms)));
        }
    }
    port(lead, &laws::PASSED_ON, &from, &entering, pass);
    let rest: [f64; L] = core::array::from_fn(|l| loss[l] - entering[l]);
    let from: &[Operand] = &[lead.power.into(), stage.figures.loss.into()];
    port(other, &laws::PASSED_THROUGH, from, &rest, pass);
}

/// Puts what a bus gives.
pub(crate) fn bus<const L: usize, T: Trace>(plan: &Plan, bus: &Bus, pass: &mut Pass<'_, L, T>) {
    for &source in &bus.sources {
        share(plan, &plan.sources[source], pass);
    }
    let mut left = pass.sum(&bus.drawn);
    for share in &bus.shares {
        let Operand::Figure(share) = *share else { continue };
        let share = pass.figure(share);
        for l in 0..L {
            left[l] -= share[l];
        }
    }
    let shared = bus.sources.iter().any(|&source| !balances(&plan.sources[source], pass.inputs, 0));
    if shared {
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.extend(bus.drawn.iter().chain(&bus.shares));
        }
        pass.put(bus.power, &laws::BUS_POWER_LESS_SHARES, &from, |l| left[l]);
    } else {
        pass.put(bus.power, &laws::BUS_POWER, &bus.drawn, |l| left[l]);
    }
    let (power, voltage) = (pass.figure(bus.power), pass.figure(bus.voltage));
    let from: &[Operand] = &[bus.power.into(), bus.voltage.into()];
    pass.put(bus.current, &laws::OVER_VOLTAGE, from, |l| power[l] / voltage[l]);
}

/// Puts the share of a source that arrives at its bus.
fn share<const L: usize, T: Trace>(plan: &Plan, source: &Source, pass: &mut Pass<'_, L, T>) {
    let (power, current) = (pass.input(source.share_power), pass.input(source.share_current));
    let line = line_resistance(&source.line, pass.inputs);
    let volts = source.bus.map_or([f64::NAN; L], |bus| pass.figure(plan.buses[bus].voltage));
    let at_bus = source.bus.map_or(source.share_power.into(), |bus| plan.buses[bus].voltage.into());
    let balanced = balances(source, pass.inputs, 0);
    let (law, from): (_, &[Operand]) = if balanced {
        (&laws::BALANCES, &[])
    } else if current[0].is_nan() {
        (&laws::SHARE_POWER, &[source.share_power.into(), at_bus])
    } else {
        (&laws::SHARE_CURRENT, &[source.share_current.into(), at_bus])
    };
    let inputs = pass.inputs;
    pass.put(source.share, law, from, |l| {
        if balances(source, inputs, l) {
            0.0
        } else if current[l].is_nan() {
            // P at the terminals less what the conductors lose.
            let root = (volts[l] * volts[l] + 4.0 * line[l] * power[l]).sqrt();
            let amps = 2.0 * power[l] / (volts[l] + root);
            volts[l] * amps
        } else {
            volts[l] * current[l]
        }
    });
}

/// Puts currents, terminal voltages and losses of the sources of a bus.
pub(crate) fn sources<const L: usize, T: Trace>(plan: &Plan, bus: &Bus, pass: &mut Pass<'_, L, T>) {
    let volts = pass.figure(bus.voltage);
    let asked = pass.figure(bus.current);
    for &source in &bus.sources {
        let source = &plan.sources[source];
        let share = pass.figure(source.share);
        let alone = bus.sources.len() == 1;
        let balanced = balances(source, pass.inputs, 0);
        let emf = if pass.input(source.terminal)[0].is_nan() { source.open_circuit } else { source.terminal };
        let (law, from): (_, &[Operand]) = if !balanced {
            (&laws::OVER_VOLTAGE, &[source.share.into(), bus.voltage.into()])
        } else if alone {
            (&laws::SERIES, &[bus.current.into()])
        } else {
            (&laws::DIVIDES, &[emf.into(), bus.voltage.into(), source.resistance.into()])
        };
        let inputs = pass.inputs;
        let current = pass.put(source.current, law, from, |l| {
            if !balances(source, inputs, l) {
                return share[l] / volts[l];
            }
            let (voltage, resistance) = behind(source, inputs, l);
            if alone || resistance == 0.0 { asked[l] } else { (voltage - volts[l]) / resistance }
        });
        let line = line_resistance(&source.line, pass.inputs);
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.extend([Operand::Figure(bus.voltage), source.current.into()]);
            from.extend(source.line.iter().map(|&ohms| Operand::Input(ohms)));
        }
        let law = if source.line.is_empty() { &laws::AT_BUS } else { &laws::AT_TERMINALS };
        let terminal = pass.put(source.terminal_voltage, law, &from, |l| volts[l] + line[l] * current[l]);
        let from: &[Operand] = &[source.terminal_voltage.into(), source.current.into()];
        pass.put(source.power, &laws::TIMES_VOLTAGE, from, |l| terminal[l] * current[l]);
        let resistance = pass.input(source.resistance);
        let from: &[Operand] = &[source.resistance.into(), source.current.into()];
        pass.put(source.loss, &laws::SOURCE_LOSS, from, |l| resistance[l] * current[l] * current[l]);
    }
}

/// Puts the loss and the efficiency of a stage.
pub(crate) fn loss<const L: usize, T: Trace>(stage: &Stage, pass: &mut Pass<'_, L, T>) -> [f64; L] {
    pass.put_products(stage.figures.loss, &laws::STAGE_LOSS, &stage.losses)
}

/// Puts the efficiency of a stage in the direction of flow.
pub(crate) fn efficiency<const L: usize, T: Trace>(stage: &Stage, pass: &mut Pass<'_, L, T>) {
    let (first, second) = match (&stage.topology, stage.ports.as_slice()) {
        (Topology::Bridge(bridge), [only]) => (only.power, bridge.figures.output_power),
        (_, [one, other]) if one.outward => (other.power, one.power),
        (_, [one, other]) => (one.power, other.power),
        _ => return,
    };
    let (into, out) = (pass.figure(first), pass.figure(second));
    pass.put(stage.figures.efficiency, &laws::EFFICIENCY, &[second.into(), first.into()], |l| {
        if out[l] >= 0.0 {
            // Nothing out of nothing in is no efficiency at all; it reads as none.
            if into[l] > 0.0 { out[l] / into[l] } else { 0.0 * into[l] }
        } else if into[l] < 0.0 {
            into[l] / out[l]
        } else {
            // What is recovered does not cover the losses.
            0.0 * into[l]
        }
    });
}

/// Puts the current and the loss of every conductor.
pub(crate) fn conductors<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for conductor in &plan.conductors {
        let (amps, from) = match (conductor.carries, conductor.unknown) {
            (Some(carries), _) => (pass.figure(carries), Some(Operand::Figure(carries))),
            (None, Some(unknown)) => ([f64::NAN; L], Some(Operand::Input(unknown))),
            (None, None) => ([0.0; L], None),
        };
        let law = if from.is_some() { &laws::SERIES } else { &laws::IN_RESERVE };
        pass.put(conductor.current, law, from.as_slice(), |l| amps[l].abs());
        let ohms = pass.input(conductor.resistance);
        // Beside other sources more may flow there than as power is drawn.
        let amps_of = from.filter(|_| conductor.carries.is_some()).unwrap_or(conductor.current.into());
        let from: &[Operand] = &[conductor.resistance.into(), amps_of];
        pass.put(conductor.loss, &laws::DRAWN_LOSS, from, |l| ohms[l] * amps[l] * amps[l]);
    }
}

/// Puts the losses of conductors on pads as the pass before gave them: the coolant takes them up.
pub(crate) fn padded<const L: usize, T: Trace>(plan: &Plan, scratch: &Scratch<L>, pass: &mut Pass<'_, L, T>) {
    for &(conductor, before) in &scratch.pads {
        let of = &plan.conductors[conductor];
        let from: &[Operand] = &[of.resistance.into(), of.current.into()];
        pass.passing(|pass| pass.put(of.loss, &laws::DRAWN_LOSS, from, |l| before[l]));
    }
}

/// Puts everything again with the losses of this pass.
pub(crate) fn settle<const L: usize, T: Trace>(
    plan: &Plan,
    currents_before: &[[f64; L]],
    pass: &mut Pass<'_, L, T>,
) {
    for &item in &plan.order {
        match item {
            Reckoned::Load(load) => self::load(&plan.loads[load], pass),
            Reckoned::Bus(bus) => self::bus(plan, &plan.buses[bus], pass),
            Reckoned::Stage(stage) => {
                let stage = &plan.stages[stage];
                let loss = loss(stage, pass);
                match stage.topology {
                    Topology::Bridge(_) => bridge(stage, &loss, pass),
                    Topology::Chopper(_) | Topology::Isolated(_) => {
                        between(plan, stage, &loss, lead_current(stage, currents_before), pass);
                    }
                }
                efficiency(stage, pass);
            }
        }
    }
    for bus in &plan.buses {
        sources(plan, bus, pass);
    }
    conductors(plan, pass);
}

/// The current of the port that leads a stage, from the pass before.
pub(crate) fn lead_current<'s, const L: usize>(stage: &Stage, before: &'s [[f64; L]]) -> &'s [f64; L] {
    let lead = stage.ports.get(stage.led_by.unwrap_or(0));
    lead.map_or(&before[0], |port| &before[port.slot])
}
