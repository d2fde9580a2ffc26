//! Operating point of a stage with a transformer: its currents over a period.

use loadworthy_physics::converters::forward::{self, Forward, ForwardPoint};
use loadworthy_physics::converters::full_bridge::{self, FullBridge, FullBridgePoint, Rectifier};
use loadworthy_physics::core_flux;
use loadworthy_physics::{Capacitance, Current, Frequency, Inductance, Voltage};

use crate::ids::CurveId;
use crate::plan::{Isolated, IsolatedKind, MagneticRole, Plan, Role, Stage};
use crate::solver::carried::Point;
use crate::trace::Operand;

/// The point of one lane, of what `read` gives for each operand; it follows from what is put of the stage up to its driven
/// voltage.
pub(crate) fn point(plan: &Plan, stage: &Stage, isolated: &Isolated, read: impl Fn(Operand) -> f64) -> Point {
    let inputs = &isolated.inputs;
    let port = |place: usize| stage.ports.get(place);
    let load = port(1).map_or(f64::NAN, |to| read(to.current.into()));
    // Rectifiers pass current one way: with power flowing back nothing here holds. Nor without a circuit.
    let load = if load < 0.0 { f64::NAN } else { load + 0.0 * read(inputs.circuit.into()) };
    let input = Voltage::new(port(0).map_or(f64::NAN, |from| read(from.voltage.into())));
    let output = Voltage::new(read(isolated.figures.driven_voltage.into()));
    let henry = |input: crate::ids::InputId| Inductance::new(read(input.into()));
    let (leakage, magnetising) = (henry(inputs.leakage), henry(inputs.magnetising));
    let output_inductance = match softening(plan, stage) {
        None => henry(inputs.inductance),
        Some((_, points)) => {
            // What is left of it at the mean current of each choke.
            let chokes = if isolated.kind == IsolatedKind::CurrentDoubler { 2.0 } else { 1.0 };
            core_flux::held_inductance(points, Current::new(load / chokes))
        }
    };
    let turns = read(inputs.turns_ratio.into());
    let frequency = Frequency::new(read(stage.carrier.into()));
    let load = Current::new(load);
    let largest = largest_duty(read(inputs.largest_duty.into()));
    match isolated.kind {
        IsolatedKind::Forward => {
            let stated =
                Forward { input, output, load, turns, leakage, magnetising, output_inductance, frequency };
            let solve = if lets_rest(stage) { forward::behind_diode } else { forward::solve };
            Point::Forward(forward_within_reach(solve, &stated, largest))
        }
        kind => {
            let rectifier = if kind == IsolatedKind::CentreTap {
                Rectifier::CentreTap
            } else {
                Rectifier::CurrentDoubler
            };
            let stated = FullBridge {
                input,
                output,
                load,
                turns,
                leakage,
                magnetising,
                output_inductance,
                frequency,
                switch_capacitance: Some(Capacitance::new(0.5 * node(stage, isolated, read))),
            };
            let solve = if lets_rest(stage) { full_bridge::behind_diodes } else { full_bridge::solve };
            Point::Bridge(bridge_within_reach(solve, rectifier, &stated, largest))
        }
    }
}

/// Whether what carries the current of the output choke on is a diode, behind which it may rest in each period.
fn lets_rest(stage: &Stage) -> bool {
    let mut carries_on =
        stage.positions.iter().filter(|position| matches!(position.role, Role::Rectifier | Role::Freewheel));
    carries_on.any(|position| position.gate.is_none())
}

/// The curve of the output choke, where it softens.
pub(crate) fn softening<'p>(
    plan: &'p Plan,
    stage: &Stage,
) -> Option<&'p (CurveId, Vec<(Current, Inductance)>)> {
    let own = stage.magnetics.iter().map(|&own| &plan.magnetics[own]);
    own.filter(|own| own.role == MagneticRole::OutputChoke).find_map(|own| own.core.softening.as_ref())
}

/// Capacitance of the node between the two primary switches of a leg, or of main and clamp switch, all devices together;
/// zero where one of the two is.
pub(crate) fn node(stage: &Stage, isolated: &Isolated, read: impl Fn(Operand) -> f64) -> f64 {
    let [first, second] = isolated.inputs.output_capacitance.map(|farad| read(farad.into()));
    let count = |seat: usize| stage.seats.get(seat).map_or(f64::NAN, |seat| read(seat.parallel.into()));
    let known = first != 0.0 && second != 0.0;
    if known { count(0) * first + count(1) * second } else { 0.0 }
}

/// The largest duty, or share of half a period, that a stage is driven with; the whole where it states none.
pub(crate) fn largest_duty(stated: f64) -> f64 {
    if stated < 1.0 { stated } else { 1.0 }
}

/// The operating point; beyond its reach the currents of one that can be had, so that the search for the bus voltages
/// goes on, with the duty that was asked. Such currents are taken back in the end, see `reach`; those of a duty that cannot
/// be had would have no ramps, and leave a core without a loss before it can be told what was asked.
fn forward_within_reach(solve: fn(&Forward) -> ForwardPoint, stated: &Forward, largest: f64) -> ForwardPoint {
    let asked = solve(stated);
    if asked.reachable() && asked.duty <= largest {
        return asked;
    }
    let share = 0.5 * largest / asked.duty;
    let less = Forward { output: stated.output * share, load: stated.load * share, ..*stated };
    ForwardPoint { duty: asked.duty, ..solve(&less) }
}

/// The same of a full bridge.
fn bridge_within_reach(
    solve: fn(Rectifier, &FullBridge) -> FullBridgePoint,
    rectifier: Rectifier,
    stated: &FullBridge,
    largest: f64,
) -> FullBridgePoint {
    let asked = solve(rectifier, stated);
    if asked.reachable() && asked.phase_shift <= largest {
        return asked;
    }
    let share = 0.5 * largest / asked.phase_shift;
    let less = FullBridge { output: stated.output * share, load: stated.load * share, ..*stated };
    FullBridgePoint { phase_shift: asked.phase_shift, ..solve(rectifier, &less) }
}
