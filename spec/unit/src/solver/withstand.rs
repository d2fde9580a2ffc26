//! The highest voltage that each kind of switch position blocks, reckoned once after everything is solved.

use loadworthy_physics::blocking;
use loadworthy_physics::converters::forward::{self, Forward};
use loadworthy_physics::{Current, Frequency, Inductance, Law, Voltage};

use crate::plan::{Isolated, IsolatedKind, Plan, Role, Stage, Topology, Withstand};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static FORWARD_SWITCH: Law = Law {
    name: "highest voltage of the switches of a forward converter",
    formula: "V = V_i/(1 − D), the largest at the highest and at the solved input voltage, D of the same output, and at the input voltage that needs the largest duty, where that is stated",
    validity: "smallest at D = 0.5, so that both ends count; without the clamp's own ripple, and no transient that opens D at the highest input",
    source: forward::VOLTAGES.source,
};

static FORWARD_RECTIFIER: Law = Law {
    name: "highest voltage of the rectifiers of a forward converter",
    formula: "V = (1 + k)·V_plateau; forward V_i·D/((1 − D)·n), freewheel V_i/n, the largest at the input voltages of the switches",
    validity: "k as the clamp or snubber leaves it, 1 undamped",
    source: forward::VOLTAGES.source,
};

static BRIDGE_RECTIFIER: Law = Law {
    name: "highest voltage of the rectifiers of a full bridge",
    formula: "V = (1 + k)·V_plateau at the highest input voltage; 2·V_in/n with a centre tap, V_in/n with a current doubler",
    validity: "k as the clamp or snubber leaves it, 1 undamped",
    source: blocking::WITH_RINGING.source,
};

/// Highest voltages of buses, then what stands against them.
pub(crate) fn voltages<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for bus in &plan.buses {
        let (stated, solved) = (pass.input(bus.highest), pass.figure(bus.voltage));
        let spans = bus.sources.iter().filter_map(|&source| plan.sources[source].limits.open_circuit);
        let mut highest: [f64; L] = core::array::from_fn(|l| larger(stated[l], solved[l]));
        for (_, most) in spans.clone() {
            let most = pass.input(most);
            highest = core::array::from_fn(|l| larger(highest[l], most[l]));
        }
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.extend([Operand::Input(bus.highest), Operand::Figure(bus.voltage)]);
            from.extend(spans.map(|(_, most)| Operand::Input(most)));
        }
        pass.put(bus.highest_voltage, &laws::HIGHEST_VOLTAGE, &from, |l| highest[l]);
    }
    for stage in &plan.stages {
        for withstand in &stage.withstands {
            blocked(plan, stage, withstand, pass);
        }
    }
}

/// The larger of two, where the first is known; what is not known of the second takes nothing away.
fn larger(known: f64, other: f64) -> f64 {
    if other > known { other } else { known }
}

fn blocked<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    withstand: &Withstand,
    pass: &mut Pass<'_, L, T>,
) {
    let Some(bus) = withstand.bus.map(|bus| &plan.buses[bus]) else {
        let port = if withstand.role.is_of_leg() { stage.ports.last() } else { stage.ports.first() };
        if let Some(port) = port {
            pass.put(withstand.blocked, &laws::BLOCKS_BUS, &[port.named.into()], |_| f64::NAN);
        }
        return;
    };
    let highest = pass.figure(bus.highest_voltage);
    match (&stage.topology, withstand.role) {
        (Topology::Isolated(isolated), Role::Main | Role::Clamp | Role::Forward | Role::Freewheel) => {
            of_forward(stage, isolated, withstand, bus.highest_voltage.into(), &highest, pass);
        }
        (Topology::Isolated(isolated), Role::Rectifier) => {
            let (turns, circuit) =
                (pass.input(isolated.inputs.turns_ratio), pass.input(isolated.inputs.circuit));
            let overshoot = overshoot(withstand, pass);
            let halves = if isolated.kind == IsolatedKind::CentreTap { 2.0 } else { 1.0 };
            let mut from: [Operand; 4] = [bus.highest_voltage.into(); 4];
            from[1] = isolated.inputs.turns_ratio.into();
            from[2] = withstand.overshoot.map_or(from[1], Operand::Input);
            from[3] = isolated.inputs.circuit.into();
            // The circuit is told of only where it is missing.
            let from = if isolated.kind == IsolatedKind::UnknownRectifier { &from[..] } else { &from[..3] };
            pass.put(withstand.blocked, &BRIDGE_RECTIFIER, from, |l| {
                let plateau = Voltage::new(halves * highest[l] / turns[l] + 0.0 * circuit[l]);
                blocking::with_ringing(plateau, overshoot[l]).si()
            });
        }
        _ => {
            let from: &[Operand] = &[bus.highest_voltage.into()];
            pass.put(withstand.blocked, &laws::BLOCKS_BUS, from, |l| highest[l]);
        }
    }
}

fn overshoot<const L: usize, T: Trace>(withstand: &Withstand, pass: &Pass<'_, L, T>) -> [f64; L] {
    withstand.overshoot.map_or([0.0; L], |overshoot| pass.input(overshoot))
}

/// A position of a forward converter, at the highest input voltage and at the one that was solved.
fn of_forward<const L: usize, T: Trace>(
    stage: &Stage,
    isolated: &Isolated,
    withstand: &Withstand,
    bus: Operand,
    highest: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let [from_port, to_port] = stage.ports.as_slice() else { return };
    let (inputs, figures) = (&isolated.inputs, &isolated.figures);
    let (solved, driven) = (pass.figure(from_port.voltage), pass.figure(figures.driven_voltage));
    let (load, carrier) = (pass.figure(to_port.current), pass.input(stage.carrier));
    let (turns, leakage) = (pass.input(inputs.turns_ratio), pass.input(inputs.leakage));
    let (magnetising, inductance) = (pass.input(inputs.magnetising), pass.input(inputs.inductance));
    let overshoot = overshoot(withstand, pass);
    let largest = pass.input(inputs.largest_duty);
    let converter = |volts: f64, l: usize| Forward {
        input: Voltage::new(volts),
        output: Voltage::new(driven[l]),
        load: Current::new(if load[l] < 0.0 { f64::NAN } else { load[l] }),
        turns: turns[l],
        leakage: Inductance::new(leakage[l]),
        magnetising: Inductance::new(magnetising[l]),
        output_inductance: Inductance::new(inductance[l]),
        frequency: Frequency::new(carrier[l]),
    };
    let at = |volts: f64, l: usize| {
        let point = forward::solve(&converter(volts, l));
        match withstand.role {
            Role::Forward => blocking::with_ringing(point.forward_voltage, overshoot[l]).si(),
            Role::Freewheel => blocking::with_ringing(point.freewheel_voltage, overshoot[l]).si(),
            _ => point.switch_voltage.si(),
        }
    };
    let is_rectifier = withstand.overshoot.is_some();
    let from: [Operand; 10] = [
        bus,
        from_port.voltage.into(),
        figures.driven_voltage.into(),
        to_port.current.into(),
        inputs.turns_ratio.into(),
        inputs.leakage.into(),
        inputs.magnetising.into(),
        inputs.inductance.into(),
        stage.carrier.into(),
        withstand.overshoot.map_or(stage.carrier.into(), Operand::Input),
    ];
    let law = if is_rectifier { &FORWARD_RECTIFIER } else { &FORWARD_SWITCH };
    if let Some(out) = withstand.at_highest {
        // Without the voltage that was solved.
        let count = if is_rectifier { 9 } else { 8 };
        let mut at_highest = from;
        at_highest.copy_within(2.., 1);
        pass.put(out, law, &at_highest[..count], |l| at(highest[l], l));
    }
    let lowest = withstand.at_largest_duty.map(|out| {
        let mut at_largest = from;
        at_largest.copy_within(2.., 1);
        at_largest[0] = inputs.largest_duty.into();
        let count = if is_rectifier { 9 } else { 8 };
        pass.put(out, law, &at_largest[..count], |l| {
            at(forward::input_at(largest[l], &converter(f64::NAN, l)).si(), l)
        })
    });
    let mut all: [Operand; 11] = [from[0]; 11];
    all[..10].copy_from_slice(&from);
    let count = if is_rectifier { 10 } else { 9 };
    if withstand.at_largest_duty.is_some() {
        all[count] = inputs.largest_duty.into();
    }
    let count = count + usize::from(withstand.at_largest_duty.is_some());
    pass.put(withstand.blocked, law, &all[..count], |l| {
        let (one, other) = (at(highest[l], l), at(solved[l], l));
        // Any of them may be the worst one: with one unknown the largest is unknown.
        let third = lowest.map_or(other, |lowest| lowest[l]);
        larger(larger(one, other), third) + 0.0 * other + 0.0 * third
    });
}
