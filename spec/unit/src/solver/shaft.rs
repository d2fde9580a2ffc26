//! What a machine with constants takes for a torque at a speed.

use core::f64::consts::TAU;

use loadworthy_physics::machine::{self, Machine, MachinePoint, Reached};
use loadworthy_physics::{
    AngularSpeed, FluxLinkage, Frequency, Inductance, Resistance, Time, Torque, Voltage, pole_voltage,
};

use crate::plan::{Bridge, MachineConstants, Stage};
use crate::solver::bridge::modulation;
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

/// Terminals of a machine, for the lanes that ask for a torque.
pub(crate) struct Shaft<const L: usize> {
    pub(crate) is_asked: [bool; L],
    pub(crate) line_voltage: [f64; L],
    pub(crate) power_factor: [f64; L],
    pub(crate) phase_current: [f64; L],
}

/// Puts the output frequency: as stated, or from the speed of the shaft.
pub(crate) fn frequency<const L: usize, T: Trace>(bridge: &Bridge, pass: &mut Pass<'_, L, T>) -> [f64; L] {
    let stated = pass.input(bridge.inputs.frequency);
    let Some(constants) = &bridge.inputs.constants else {
        return pass
            .put(bridge.figures.frequency, &laws::STATED, &[bridge.inputs.frequency.into()], |l| stated[l]);
    };
    let (speed, pairs) = (pass.input(constants.speed), pass.input(constants.pole_pairs));
    let asked = is_asked(constants, pass);
    let (law, from): (_, &[Operand]) = if asked[0] {
        (&laws::ELECTRICAL_FREQUENCY, &[constants.pole_pairs.into(), constants.speed.into()])
    } else {
        (&laws::STATED, &[bridge.inputs.frequency.into()])
    };
    pass.put(bridge.figures.frequency, law, from, |l| {
        if asked[l] { (pairs[l] * speed[l]).abs() } else { stated[l] }
    })
}

/// The lanes that ask for a torque or a power at the shaft.
fn is_asked<const L: usize, T: Trace>(constants: &MachineConstants, pass: &Pass<'_, L, T>) -> [bool; L] {
    let (torque, power) = (pass.input(constants.torque), pass.input(constants.shaft_power));
    core::array::from_fn(|l| !torque[l].is_nan() || !power[l].is_nan())
}

/// Terminals of the machine in the lanes that ask for a torque; nothing where the machine states no constants.
pub(crate) fn terminals<const L: usize, T: Trace>(
    stage: &Stage,
    bridge: &Bridge,
    voltage: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> Option<Shaft<L>> {
    let constants = bridge.inputs.constants.as_ref()?;
    let is_asked = is_asked(constants, pass);
    let (torque, power) = (pass.input(constants.torque), pass.input(constants.shaft_power));
    let speed = pass.input(constants.speed);
    let by_power = torque[0].is_nan();
    let (law, from): (_, &[Operand]) = if by_power {
        (&laws::TORQUE_OF_POWER, &[constants.shaft_power.into(), constants.speed.into()])
    } else {
        (&laws::STATED, &[constants.torque.into()])
    };
    let asked = pass.put(constants.torque_asked, law, from, |l| {
        if torque[l].is_nan() { power[l] / (TAU * speed[l]) } else { torque[l] }
    });
    let (dead, carrier) = (pass.input(stage.dead_time), pass.input(stage.carrier));
    let (share, codes) = (pass.input(constants.field_weakening), pass.input(bridge.inputs.modulation));
    let from: &[Operand] = &[
        stage.ports[0].voltage.into(),
        bridge.inputs.modulation.into(),
        constants.field_weakening.into(),
        stage.dead_time.into(),
        stage.carrier.into(),
    ];
    let available = pass.put(constants.available_voltage, &laws::AVAILABLE_VOLTAGE, from, |l| {
        let (volts, dead) = (Voltage::new(voltage[l]), Time::new(dead[l]));
        let lost = pole_voltage::dead_time_drop(volts, dead, Frequency::new(carrier[l])).si();
        let limit = modulation(codes[l]).linear_limit() + 0.0 * codes[l];
        0.5 * share[l] * limit * voltage[l] - lost
    });
    let (pairs, flux) = (pass.input(constants.pole_pairs), pass.input(constants.flux_linkage));
    let resistance = pass.input(bridge.inputs.phase_resistance);
    let (d, q) = (pass.input(constants.d), pass.input(constants.q));
    let points: [Option<MachinePoint>; L] = core::array::from_fn(|l| {
        is_asked[l].then(|| {
            let stated = Machine {
                pole_pairs: pairs[l],
                flux_linkage: FluxLinkage::new(flux[l]),
                resistance: Resistance::new(resistance[l]),
                direct_inductance: Inductance::new(d[l]),
                quadrature_inductance: Inductance::new(q[l]),
            };
            let turning = AngularSpeed::new(TAU * speed[l]);
            machine::solve(&stated, Torque::new(asked[l]), turning, Voltage::new(available[l]))
        })
    });
    let weakened = points[0].is_some_and(|point| point.reached != Reached::MostTorquePerAmpere);
    let law = if weakened { &machine::FIELD_WEAKENING } else { &machine::MOST_TORQUE_PER_AMPERE };
    let from: [Operand; 8] = [
        constants.torque_asked.into(),
        constants.speed.into(),
        constants.pole_pairs.into(),
        constants.flux_linkage.into(),
        bridge.inputs.phase_resistance.into(),
        constants.d.into(),
        constants.q.into(),
        constants.available_voltage.into(),
    ];
    // A torque that the voltage does not reach has no current: the nearest point would be another duty point.
    let reached = |point: &MachinePoint| if point.reached == Reached::OutOfReach { f64::NAN } else { 0.0 };
    let of = |take: fn(&MachinePoint) -> f64| -> [f64; L] {
        core::array::from_fn(|l| points[l].as_ref().map_or(f64::NAN, |point| take(point) + reached(point)))
    };
    let (along, across) = (of(|point| point.rotor.direct.si()), of(|point| point.rotor.quadrature.si()));
    pass.put(constants.d_current, law, &from, |l| along[l]);
    pass.put(constants.q_current, law, &from, |l| across[l]);
    Some(Shaft {
        is_asked,
        line_voltage: of(|point| point.voltage.si() * (1.5f64).sqrt()),
        power_factor: of(|point| point.cos_phi),
        phase_current: of(|point| point.current.si() * core::f64::consts::FRAC_1_SQRT_2),
    })
}
