//! Bus voltages: those of this pass, and those that the powers of this pass lead to.
//!
//! Sources that balance a bus are seen from it as one voltage behind one resistance. The search starts with what leaves the
//! unit and without a loss, or without current where that is not known: voltage is then higher than it ends, and every
//! loss lower. From there powers rise and voltages fall from pass to pass, and if there is a solution they come to the
//! stable one without passing it; so once no voltage is left for a power, there is none for the duty point.

use core::f64::consts::TAU;

use loadworthy_physics::{Law, Power, Resistance, Voltage, battery};

use crate::ids::InputId;
use crate::plan::{Bridge, Bus, Plan, Reckoned, Source};
use crate::solver::expected::Expected;
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

/// Voltage of a bus whose sources all state their shares.
pub static UNHELD: Law = Law {
    name: "voltage of a bus that no source holds",
    formula: "none: what its sources give and what is drawn need not be the same",
    validity: "one of the sources takes what is left over",
    source: "balance of power",
};

/// Share of the most that its sources can pass from which a bus is led in small steps.
const NEAR_MOST: f64 = 0.7;

/// Starts every bus without losses, or without current where nobody knows what leaves by way of it.
pub(crate) fn start<const L: usize>(plan: &Plan, inputs: &[[f64; L]], scratch: &mut Scratch<L>) {
    // There are no next voltages yet: powers find room there.
    lossless(plan, inputs, &mut scratch.next_volts);
    for (place, bus) in plan.buses.iter().enumerate() {
        for l in 0..L {
            scratch.volts[place][l] = match held(plan, bus, inputs, l) {
                Held::At(volts) => volts,
                Held::Behind { voltage, resistance } => {
                    let power = Power::new(scratch.next_volts[place][l]);
                    let (open, ohms) = (Voltage::new(voltage), Resistance::new(resistance));
                    let volts = battery::terminal_voltage(open, ohms, power).si();
                    if volts.is_nan() { voltage } else { volts }
                }
            };
        }
    }
    scratch.losses_before.fill([0.0; L]);
    scratch.expected.fill(Expected::default());
    scratch.currents_before.fill([0.0; L]);
    // No bus stands at this: the currents of every bridge are reckoned at least once.
    scratch.bridge_volts.fill([f64::INFINITY; L]);
}

/// Power that each bus gives where nothing is lost; not a number where that does not follow from inputs alone.
fn lossless<const L: usize>(plan: &Plan, inputs: &[[f64; L]], powers: &mut [[f64; L]]) {
    powers.fill([0.0; L]);
    let mut add = |bus: Option<usize>, more: &dyn Fn(&[[f64; L]], usize) -> f64| {
        let Some(bus) = bus else { return };
        let sum = core::array::from_fn(|l| powers[bus][l] + more(powers, l));
        powers[bus] = sum;
    };
    for source in &plan.sources {
        add(source.bus, &|_, l| {
            if balances(source, inputs, l) { 0.0 } else { -inputs[source.share_power.index()][l] }
        });
    }
    // What hangs on a bus comes before the stage that it leads.
    for &item in &plan.order {
        match item {
            Reckoned::Load(load) => {
                let load = &plan.loads[load];
                add(load.port.bus, &|_, l| inputs[load.power.index()][l]);
            }
            Reckoned::Bus(_) => {}
            Reckoned::Stage(stage) => {
                let stage = &plan.stages[stage];
                if let (Some(bridge), [only]) = (stage.bridge(), stage.ports.as_slice()) {
                    add(only.bus, &|_, l| asked_of(bridge, l, inputs));
                } else if let (Some(lead), Some(other)) = (stage.lead(), stage.other()) {
                    add(other.bus, &|powers, l| lead.bus.map_or(f64::NAN, |bus| powers[bus][l]));
                } else {
                    stage.ports.iter().for_each(|port| add(port.bus, &|_, _| f64::NAN));
                }
            }
        }
    }
}

/// Power that a bridge is asked for. What a shaft is asked for stands for what goes into its machine, which is more.
fn asked_of<const L: usize>(bridge: &Bridge, l: usize, inputs: &[[f64; L]]) -> f64 {
    let input = |id: InputId| inputs[id.index()][l];
    let of = &bridge.inputs;
    if input(of.active) < 0.5 {
        return 0.0;
    }
    let at_shaft = of.constants.as_ref().map_or(f64::NAN, |shaft| {
        let (power, torque) = (input(shaft.shaft_power), input(shaft.torque));
        if torque.is_nan() { power } else { TAU * input(shaft.speed) * torque }
    });
    if !at_shaft.is_nan() {
        return at_shaft;
    }
    let (power, current) = (input(of.power), input(of.phase_current));
    if current.is_nan() {
        power
    } else {
        3f64.sqrt() * input(of.line_voltage) * current * input(of.power_factor)
    }
}

/// What holds the voltage of a bus.
enum Held {
    /// A voltage that does not depend on the power; not a number where nothing states one.
    At(f64),
    /// A voltage behind a resistance.
    Behind { voltage: f64, resistance: f64 },
}

fn held<const L: usize>(plan: &Plan, bus: &Bus, inputs: &[[f64; L]], l: usize) -> Held {
    let stated = inputs[bus.stated.index()][l];
    if !stated.is_nan() {
        return Held::At(stated);
    }
    if !bus.is_balanced_here {
        // A source that gives a share to a stage states the voltage at its terminals.
        let shares = bus.sources.iter().map(|&source| &plan.sources[source]);
        let at_bus = shares.map(|source| behind_its_line(source, inputs, l)).find(|volts| !volts.is_nan());
        return Held::At(at_bus.unwrap_or(f64::NAN));
    }
    let (mut conductance, mut current) = (0.0, 0.0);
    for &source in &bus.sources {
        let source = &plan.sources[source];
        if !balances(source, inputs, l) {
            continue;
        }
        let (voltage, resistance) = behind(source, inputs, l);
        if resistance == 0.0 {
            return Held::At(voltage);
        }
        conductance += 1.0 / resistance;
        current += voltage / resistance;
    }
    // Without any source that balances, both are nothing, and so is what they make.
    Held::Behind { voltage: current / conductance, resistance: 1.0 / conductance }
}

/// The voltage and the resistance behind which a bus is held in a lane, where it is.
pub(crate) fn bus_behind<const L: usize>(
    plan: &Plan,
    bus: &Bus,
    inputs: &[[f64; L]],
    l: usize,
) -> Option<(f64, f64)> {
    match held(plan, bus, inputs, l) {
        Held::At(_) => None,
        Held::Behind { voltage, resistance } => Some((voltage, resistance)),
    }
}

/// The source that speaks for a bus in a lane: the first that takes what is left over, else the first.
pub(crate) fn holder<'p, const L: usize>(
    plan: &'p Plan,
    bus: &Bus,
    inputs: &[[f64; L]],
    l: usize,
) -> Option<&'p Source> {
    let mut sources = bus.sources.iter().map(|&source| &plan.sources[source]);
    let first = sources.clone().next();
    sources.find(|source| balances(source, inputs, l)).or(first)
}

/// Whether a source takes what is left over in a lane.
pub(crate) fn balances<const L: usize>(source: &Source, inputs: &[[f64; L]], l: usize) -> bool {
    source.may_balance
        && inputs[source.share_power.index()][l].is_nan()
        && inputs[source.share_current.index()][l].is_nan()
}

/// Voltage and resistance that a bus sees of a source.
pub(crate) fn behind<const L: usize>(source: &Source, inputs: &[[f64; L]], l: usize) -> (f64, f64) {
    let line: f64 = source.line.iter().map(|ohms| inputs[ohms.index()][l]).sum();
    let terminal = inputs[source.terminal.index()][l];
    if terminal.is_nan() {
        (inputs[source.open_circuit.index()][l], inputs[source.resistance.index()][l] + line)
    } else {
        (terminal, line)
    }
}

/// The same with the lowest resistance of the source.
pub(crate) fn lowest_behind<const L: usize>(source: &Source, inputs: &[[f64; L]], l: usize) -> (f64, f64) {
    let (volts, most) = behind(source, inputs, l);
    if inputs[source.terminal.index()][l].is_nan() {
        let [highest, lowest] =
            [source.resistance, source.lowest_resistance].map(|ohms| inputs[ohms.index()][l]);
        (volts, most - highest + lowest)
    } else {
        (volts, most)
    }
}

/// Voltage that a source with a share leaves at its bus: that of its terminals, stated or behind its resistance.
fn behind_its_line<const L: usize>(source: &Source, inputs: &[[f64; L]], l: usize) -> f64 {
    let input = |id: InputId| inputs[id.index()][l];
    let (power, current) = (input(source.share_power), input(source.share_current));
    let (terminal, open, ohms) =
        (input(source.terminal), input(source.open_circuit), input(source.resistance));
    let terminal = if !terminal.is_nan() {
        terminal
    } else if current.is_nan() {
        battery::terminal_voltage(Voltage::new(open), Resistance::new(ohms), Power::new(power)).si()
    } else {
        open - ohms * current
    };
    if source.line.is_empty() {
        return terminal;
    }
    let line: f64 = source.line.iter().map(|ohms| inputs[ohms.index()][l]).sum();
    let amps = if current.is_nan() { power / terminal } else { current };
    terminal - line * amps
}

/// Puts the voltages of buses and ports of this pass.
pub(crate) fn voltages<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    for (bus, volts) in plan.buses.iter().zip(&scratch.volts) {
        let stated = pass.input(bus.stated)[0];
        if T::LISTENS && stated.is_nan() && !bus.sources.is_empty() {
            let from = sources_of(plan, bus, pass);
            let shares = shares_of(plan, bus, pass);
            let takes_rest = |&source: &usize| balances(&plan.sources[source], pass.inputs, 0);
            let (law, from) = if !bus.is_balanced_here {
                (&laws::BUS_AT_SOURCE, from)
            } else if shares.is_empty() || bus.sources.iter().any(takes_rest) {
                (&laws::BUS_SOLVED, from)
            } else {
                (&UNHELD, shares)
            };
            pass.put(bus.voltage, law, &from, |l| volts[l]);
        } else {
            pass.put(bus.voltage, &laws::BUS_STATED, &[bus.stated.into()], |l| volts[l]);
        }
    }
    for stage in &plan.stages {
        for port in &stage.ports {
            at_port(plan, port, pass, scratch);
        }
    }
    for load in &plan.loads {
        at_port(plan, &load.port, pass, scratch);
    }
}

/// Notes lanes in which conductors leave no voltage. Where they cannot pass a power, what is left falls from pass to pass
/// until nothing is.
pub(crate) fn watch<const L: usize, T: Trace>(plan: &Plan, pass: &Pass<'_, L, T>, trouble: &mut Trouble<L>) {
    let ports =
        plan.stages.iter().flat_map(|stage| &stage.ports).chain(plan.loads.iter().map(|load| &load.port));
    let ports = ports.map(|port| (port.voltage, &port.line));
    let sources = plan.sources.iter();
    let sources = sources.filter_map(|source| Some((plan.buses[source.bus?].voltage, &source.line)));
    for (volts, line) in ports.chain(sources).filter(|(_, line)| !line.is_empty()) {
        let volts = pass.figure(volts);
        for l in 0..L {
            if volts[l] <= 0.0 {
                let ohms = |input: &InputId| pass.inputs[input.index()][l];
                let most = line
                    .iter()
                    .copied()
                    .reduce(|most, one| if ohms(&one) > ohms(&most) { one } else { most });
                let conductor = plan.conductors.iter().find(|conductor| Some(conductor.resistance) == most);
                if let Some(conductor) = conductor {
                    trouble.note(l, conductor.part);
                }
            }
        }
    }
}

/// The shares that the sources of a bus state.
fn shares_of<const L: usize, T: Trace>(plan: &Plan, bus: &Bus, pass: &Pass<'_, L, T>) -> Vec<Operand> {
    let shares = bus.sources.iter().map(|&source| &plan.sources[source]);
    let shares = shares.flat_map(|source| [source.share_power, source.share_current]);
    shares.filter(|&share| pass.input(share)[0].is_finite()).map(Operand::Input).collect()
}

/// What the voltage of a bus follows from, for whoever listens.
fn sources_of<const L: usize, T: Trace>(plan: &Plan, bus: &Bus, pass: &Pass<'_, L, T>) -> Vec<Operand> {
    let mut from = Vec::new();
    for &source in &bus.sources {
        let source = &plan.sources[source];
        if bus.is_balanced_here && !balances(source, pass.inputs, 0) {
            continue;
        }
        let has_open = bus.is_balanced_here || pass.input(source.open_circuit)[0].is_finite();
        if pass.input(source.terminal)[0].is_nan() && has_open {
            from.extend([Operand::Input(source.open_circuit), Operand::Input(source.resistance)]);
            if !bus.is_balanced_here {
                let in_amps = pass.input(source.share_current)[0].is_finite();
                from.push(if in_amps { source.share_current } else { source.share_power }.into());
            }
        } else {
            from.push(source.terminal.into());
        }
        from.extend(source.line.iter().map(|&ohms| Operand::Input(ohms)));
    }
    if bus.is_balanced_here {
        from.push(bus.power.into());
    }
    from
}

fn at_port<const L: usize, T: Trace>(
    plan: &Plan,
    port: &crate::plan::Port,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    let Some(bus) = port.bus else {
        pass.put(port.voltage, &laws::BUS_STATED, &[port.named.into()], |_| f64::NAN);
        return;
    };
    let bus = plan.buses[bus].voltage;
    let volts = pass.figure(bus);
    if port.line.is_empty() {
        pass.put(port.voltage, &laws::AT_BUS, &[bus.into()], |l| volts[l]);
        return;
    }
    let line = line_resistance(&port.line, pass.inputs);
    let before = &scratch.currents_before[port.slot];
    let sense = if port.outward { 1.0 } else { -1.0 };
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([Operand::Figure(bus), Operand::Figure(port.current)]);
        from.extend(port.line.iter().map(|&ohms| Operand::Input(ohms)));
    }
    pass.put(port.voltage, &laws::AT_PORT, &from, |l| volts[l] + sense * line[l] * before[l]);
}

/// Resistance of conductors in series.
pub(crate) fn line_resistance<const L: usize>(line: &[crate::ids::InputId], inputs: &[[f64; L]]) -> [f64; L] {
    let mut sum = [0.0; L];
    for ohms in line {
        for l in 0..L {
            sum[l] += inputs[ohms.index()][l];
        }
    }
    sum
}

/// The voltages that the powers of a pass lead to, for one lane.
pub(crate) fn lead<const L: usize>(
    plan: &Plan,
    l: usize,
    inputs: &[[f64; L]],
    figures: &[[f64; L]],
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) {
    scratch.is_near_most[l] = false;
    let mut is_put_out = false;
    for (place, bus) in plan.buses.iter().enumerate() {
        scratch.next_volts[place][l] = match held(plan, bus, inputs, l) {
            Held::At(volts) => volts,
            Held::Behind { voltage, resistance } => {
                let power = figures[bus.power.index()][l];
                let (open, ohms) = (Voltage::new(voltage), Resistance::new(resistance));
                let most = battery::transferable_power(open, ohms).si();
                let least = if power.is_nan() {
                    if !core::mem::replace(&mut is_put_out, true) {
                        put_out(plan, l, inputs, figures, &mut scratch.put_out);
                    }
                    scratch.put_out[place][l]
                } else {
                    power
                };
                scratch.is_near_most[l] |= least > NEAR_MOST * most;
                if least > most {
                    // Even what is put out alone is more than can pass. Curves that do not reach so far do not make a
                    // solution.
                    let holder = holder(plan, bus, inputs, l).map(|source| source.part);
                    trouble.note(l, holder.unwrap_or(bus.part));
                }
                battery::terminal_voltage(open, ohms, Power::new(power)).si()
            }
        };
    }
}

/// Power that leaves the unit by way of each bus, without any loss inside. What lies beyond a bus comes before it in the plan's
/// order, so one walk reckons a chain of any length.
fn put_out<const L: usize>(
    plan: &Plan,
    l: usize,
    inputs: &[[f64; L]],
    figures: &[[f64; L]],
    out: &mut [[f64; L]],
) {
    for place in &plan.order {
        let Reckoned::Bus(place) = *place else { continue };
        let outlets = &plan.buses[place].outlets;
        let bridges = outlets.bridges.iter().map(|figure| figures[figure.index()][l]).sum::<f64>();
        let beyond = outlets.beyond.iter().map(|&far| out[far][l]).sum::<f64>();
        let loads = outlets.loads.iter().map(|load| inputs[load.index()][l]).sum::<f64>();
        out[place][l] = bridges + beyond + loads;
    }
}
