//! What machines that turn do to their bus while nothing controls them, and to themselves while they are shorted.
//! Reckoned once after everything is solved.

use core::f64::consts::TAU;

use loadworthy_physics::back_emf::{self, Shorting};
use loadworthy_physics::machine::{Machine, RotorCurrent};
use loadworthy_physics::{AngularSpeed, Current, FluxLinkage, Inductance, Law, Resistance};

use crate::plan::{Coasting, PhaseShort, Plan, Topology};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static COASTING_VOLTAGE: Law = Law {
    name: "voltage of a bus that machines with all gates off charge",
    formula: "V = largest V̂_LL of the machines on it",
    validity: "nothing takes the charge; drops of the diodes left out",
    source: back_emf::LINE_CREST.source,
};

static TURNING_SPEED: Law = Law {
    name: "speed at which a duty point turns a machine",
    formula: "n = f/p",
    validity: "synchronous machine; zero where the duty point asks nothing of it",
    source: "definition",
};

static COASTING_SPEED: Law = Law {
    name: "speed of a machine as control is lost",
    formula: "n = larger of its highest speed and of that of the duty point, whichever is known",
    validity: "definition; where no highest speed is stated it may turn faster elsewhere",
    source: "definition",
};

static SHORTING_TORQUE: Law = Law {
    name: "largest torque of a machine as it is shorted",
    formula: "larger of T(t) in the first turn and of the steady torque at any lower speed",
    validity: back_emf::SHORTING.validity,
    source: back_emf::SHORTING.source,
};

/// Every bus with machines that may turn.
pub(crate) fn coast<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for of_bus in &plan.coasting {
        let mut highest = [0.0; L];
        let mut from: Vec<Operand> = Vec::new();
        for coasting in &of_bus.machines {
            turning(plan, coasting, pass);
            let crest = line_crest(coasting, pass);
            // Written so that a missing one stays missing.
            highest = core::array::from_fn(|l| if crest[l] <= highest[l] { highest[l] } else { crest[l] });
            if T::LISTENS {
                from.push(coasting.line_crest.into());
            }
            if let Some(of_short) = &coasting.short {
                short(plan, coasting, of_short, pass);
            }
        }
        pass.put(of_bus.voltage, &COASTING_VOLTAGE, &from, |l| highest[l]);
    }
}

/// How fast it turns as control is lost.
fn turning<const L: usize, T: Trace>(plan: &Plan, coasting: &Coasting, pass: &mut Pass<'_, L, T>) {
    let Topology::Bridge(bridge) = &plan.stages[coasting.stage].topology else { return };
    let (hertz, pairs) = (pass.figure(bridge.figures.frequency), pass.input(coasting.pole_pairs));
    let (asked, most) = (pass.input(bridge.inputs.active), pass.input(coasting.highest_speed));
    let from: &[Operand] = &[bridge.figures.frequency.into(), coasting.pole_pairs.into()];
    let now = pass.put(coasting.turning, &TURNING_SPEED, from, |l| {
        if asked[l] < 0.5 { 0.0 } else { hertz[l].abs() / pairs[l] }
    });
    let from: &[Operand] = &[coasting.highest_speed.into(), coasting.turning.into()];
    pass.put(coasting.speed, &COASTING_SPEED, from, |l| {
        if most[l].is_nan() || now[l] > most[l] { now[l] } else { most[l] }
    });
}

fn line_crest<const L: usize, T: Trace>(coasting: &Coasting, pass: &mut Pass<'_, L, T>) -> [f64; L] {
    let (pairs, flux) = (pass.input(coasting.pole_pairs), pass.input(coasting.flux_linkage));
    let speed = pass.figure(coasting.speed);
    let from: &[Operand] = &[coasting.pole_pairs.into(), coasting.speed.into(), coasting.flux_linkage.into()];
    pass.put(coasting.line_crest, &back_emf::LINE_CREST, from, |l| {
        back_emf::line_crest(pairs[l], FluxLinkage::new(flux[l]), AngularSpeed::new(TAU * speed[l])).si()
    })
}

fn short<const L: usize, T: Trace>(
    plan: &Plan,
    coasting: &Coasting,
    short: &PhaseShort,
    pass: &mut Pass<'_, L, T>,
) {
    let stage = &plan.stages[coasting.stage];
    let (pairs, flux) = (pass.input(coasting.pole_pairs), pass.input(coasting.flux_linkage));
    let (speed, ohms) = (pass.figure(coasting.speed), pass.input(short.resistance));
    let (d, q) = (pass.input(short.d), pass.input(short.q));
    let machine: [Machine; L] = core::array::from_fn(|l| Machine {
        pole_pairs: pairs[l],
        flux_linkage: FluxLinkage::new(flux[l]),
        resistance: Resistance::new(ohms[l]),
        direct_inductance: Inductance::new(d[l]),
        quadrature_inductance: Inductance::new(q[l]),
    });
    let top: [AngularSpeed; L] = core::array::from_fn(|l| AngularSpeed::new(TAU * speed[l]));
    let mut swing: [Shorting; L] = core::array::from_fn(|l| {
        let none = RotorCurrent { direct: Current::ZERO, quadrature: Current::ZERO };
        machine[l].shorting(none, top[l])
    });
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(coasting.pole_pairs.into());
        from.push(coasting.speed.into());
        from.push(coasting.flux_linkage.into());
        from.extend([short.resistance, short.d, short.q].map(Operand::Input));
    }
    // Also out of what the duty point drives, where that is known as currents of the rotor.
    if let Topology::Bridge(bridge) = &stage.topology
        && let Some(constants) = &bridge.inputs.constants
    {
        let (along, across) = (pass.figure(constants.d_current), pass.figure(constants.q_current));
        let turning = pass.input(constants.speed);
        for l in 0..L {
            if along[l].is_finite() && across[l].is_finite() && turning[l].is_finite() {
                let flows =
                    RotorCurrent { direct: Current::new(along[l]), quadrature: Current::new(across[l]) };
                swing[l] = worse(swing[l], machine[l].shorting(flows, AngularSpeed::new(TAU * turning[l])));
            }
        }
        if T::LISTENS && along[0].is_finite() && across[0].is_finite() {
            from.extend([constants.d_current, constants.q_current].map(Operand::Figure));
            from.push(constants.speed.into());
        }
    }
    let steady = pass.put(short.steady, &back_emf::SHORTED, &from[..from.len().min(6)], |l| {
        machine[l].shorted(top[l]).crest().si()
    });
    let crest = pass.put(short.crest, &back_emf::SHORTING, &from, |l| swing[l].crest.si());
    pass.put(short.against_magnets, &back_emf::SHORTING, &from, |l| swing[l].against_magnets.si());
    pass.put(short.torque, &SHORTING_TORQUE, &from, |l| {
        let most = machine[l].largest_shorted_torque(top[l]).si();
        let first = swing[l].torque.si();
        if most <= first { first } else { most + 0.0 * first }
    });
    for seat in &short.seats {
        let parallel = pass.input(stage.seats[seat.seat].parallel);
        let count = Operand::Input(stage.seats[seat.seat].parallel);
        pass.put(seat.steady, &laws::PARALLEL_CREST, &[short.steady.into(), count], |l| {
            steady[l] / parallel[l]
        });
        pass.put(seat.crest, &laws::PARALLEL_CREST, &[short.crest.into(), count], |l| crest[l] / parallel[l]);
    }
}

/// The larger of each; what is missing in the first stays missing.
fn worse(one: Shorting, other: Shorting) -> Shorting {
    let larger = |one: f64, other: f64| if other > one { other } else { one };
    Shorting {
        crest: Current::new(larger(one.crest.si(), other.crest.si())),
        against_magnets: Current::new(larger(one.against_magnets.si(), other.against_magnets.si())),
        torque: loadworthy_physics::Torque::new(larger(one.torque.si(), other.torque.si())),
    }
}
