//! What machines that turn do to their bus while nothing controls them, and to themselves while they are shorted.
//! Reckoned once after everything is solved.

use core::f64::consts::TAU;

use loadworthy_physics::back_emf::{self, Shorting};
use loadworthy_physics::machine::{Machine, RotorCurrent};
use loadworthy_physics::{
    AngularSpeed, Current, FluxLinkage, Frequency, Inductance, Law, Resistance, Voltage, rating, rectified,
};

use crate::plan::{Coasting, CoastingBus, PhaseShort, Plan, Rectified, Topology};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static COASTING_VOLTAGE: Law = Law {
    name: "voltage of a bus that machines with all gates off charge",
    formula: "V = largest V̂_LL of the machines on it",
    validity: "nothing takes the charge; drops of the diodes left out",
    source: back_emf::LINE_CREST.source,
};

static HELD: Law = Law {
    name: "voltage at which a bus takes what machines with all gates off give",
    formula: "V = V_0 + R·Σ I(V) of a source that is alone there and states V_0, at its lowest; else the lowest voltage of the bus",
    validity: "steady; R the lowest resistance of the source, its line left out, which reads high for the current",
    source: DEFINITION,
};

static LOWEST: Law = Law {
    name: "lowest voltage at which a bus may stand",
    formula: "V = min(solved, lowest open-circuit voltage of its batteries)",
    validity: "a machine may be at its fastest while its battery is empty; without what a load drops beside that of the duty point",
    source: DEFINITION,
};

static ALL: Law = Law {
    name: "direct current of machines with all gates off",
    formula: "I = Σ of the machines that no short keeps from the bus",
    validity: "all at their highest speed at once",
    source: DEFINITION,
};

static POWER: Law = Law {
    name: "power that a machine with all gates off gives to a bus",
    formula: "P = V·I",
    validity: rectified::RECTIFIED.validity,
    source: DEFINITION,
};

static TORQUE: Law = Law {
    name: "torque that a machine with all gates off brakes with",
    formula: "T = P/Ω",
    validity: "losses of machine and diodes left out, which reads low by their share",
    source: "balance of powers",
};

static DIODE_RMS: Law = Law {
    name: "RMS current of a diode that a machine feeds its bus through",
    formula: "I = I_phase/(√2·n)",
    validity: "each side of a leg carries one half wave; even sharing of the n devices in parallel",
    source: DEFINITION,
};

const DEFINITION: &str = "definition";

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
        give(plan, of_bus, pass);
    }
}

/// What they give through the diodes to a bus that something holds.
fn give<const L: usize, T: Trace>(plan: &Plan, of_bus: &CoastingBus, pass: &mut Pass<'_, L, T>) {
    let mut from: Vec<Operand> = Vec::new();
    let solved = plan.buses[of_bus.bus].voltage;
    if T::LISTENS {
        from.push(solved.into());
        from.extend(of_bus.floors.iter().map(|&floor| Operand::Input(floor)));
    }
    let lowest = under_floors(of_bus, pass.figure(solved), pass);
    let lowest = pass.put(of_bus.lowest, &LOWEST, &from, |l| lowest[l]);
    from.clear();
    let held = held(plan, (of_bus, &lowest), pass, &mut from);
    let held = pass.put(of_bus.held, &HELD, &from, |l| held[l]);
    let mut all = [0.0; L];
    from.clear();
    for coasting in &of_bus.machines {
        let Some(rectified) = &coasting.rectified else { continue };
        let amps = through_diodes(plan, (of_bus, coasting, rectified), &held, pass);
        all = core::array::from_fn(|l| all[l] + amps[l]);
        if T::LISTENS {
            from.push(rectified.direct.into());
        }
    }
    pass.put(of_bus.current, &ALL, &from, |l| all[l]);
}

/// The voltage at which a bus takes what they give: lifted by that across the resistance of a source that is alone there.
fn held<const L: usize, T: Trace>(
    plan: &Plan,
    (of_bus, lowest): (&CoastingBus, &[f64; L]),
    pass: &Pass<'_, L, T>,
    from: &mut Vec<Operand>,
) -> [f64; L] {
    if T::LISTENS {
        from.push(of_bus.lowest.into());
    }
    let [source] = plan.buses[of_bus.bus].sources.as_slice() else { return *lowest };
    let source = &plan.sources[*source];
    let open = under_floors(of_bus, pass.input(source.open_circuit), pass);
    let ohms = pass.input(source.lowest_resistance);
    let is_open = |l: usize| open[l].is_finite() && ohms[l].is_finite();
    if T::LISTENS && is_open(0) {
        from.clear();
        from.extend([source.open_circuit, source.lowest_resistance].map(Operand::Input));
        from.extend(of_bus.floors.iter().map(|&floor| Operand::Input(floor)));
        let machines = of_bus.machines.iter().filter(|one| one.rectified.is_some());
        from.extend(machines.map(|one| Operand::Figure(one.line_crest)));
    }
    core::array::from_fn(|l| {
        if !is_open(l) {
            return lowest[l];
        }
        let current = |volts: f64| -> f64 {
            let all = of_bus.machines.iter().filter_map(|one| Some((one, one.rectified.as_ref()?)));
            all.map(|(one, out)| flows(one, out, volts, l, pass).direct.si()).sum()
        };
        let crests = of_bus.machines.iter().map(|one| pass.figure(one.line_crest)[l]);
        let (mut low, mut high) = (open[l], crests.fold(open[l], f64::max));
        // What nobody knows how much flows lifts nothing.
        let most = current(low);
        if most.is_nan() || most <= 0.0 || ohms[l] <= 0.0 {
            return low;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if open[l] + ohms[l] * current(middle) > middle {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    })
}

/// A voltage, or the lowest open-circuit voltage of a battery where that is less.
fn under_floors<const L: usize, T: Trace>(
    of_bus: &CoastingBus,
    volts: [f64; L],
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    of_bus.floors.iter().fold(volts, |least, &floor| {
        let own = pass.input(floor);
        // Written so that a missing one stays missing.
        core::array::from_fn(|l| if own[l] >= least[l] || least[l].is_nan() { least[l] } else { own[l] })
    })
}

/// Halvings of the voltages between which a bus is held, down to less than a millionth.
const HALVINGS: usize = 24;

/// Currents of a machine into a bus of so much voltage.
fn flows<const L: usize, T: Trace>(
    coasting: &Coasting,
    out: &Rectified,
    volts: f64,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> rectified::Rectified {
    let axes = out.axes.map(|henry| Inductance::new(pass.input(henry)[l]));
    let emf = Voltage::new(pass.figure(coasting.line_crest)[l] / 3.0f64.sqrt());
    let hertz = Frequency::new(pass.input(coasting.pole_pairs)[l] * pass.figure(coasting.speed)[l]);
    rectified::rectified(emf, hertz, axes, Voltage::new(volts))
}

fn through_diodes<const L: usize, T: Trace>(
    plan: &Plan,
    (of_bus, coasting, out): (&CoastingBus, &Coasting, &Rectified),
    held: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let speed = pass.figure(coasting.speed);
    let flows: [rectified::Rectified; L] = core::array::from_fn(|l| flows(coasting, out, held[l], l, pass));
    let from: [Operand; 6] = [
        coasting.line_crest.into(),
        coasting.pole_pairs.into(),
        coasting.speed.into(),
        of_bus.held.into(),
        out.axes[0].into(),
        out.axes[1].into(),
    ];
    // Where nothing flows no inductance is asked for.
    let from = if flows.iter().all(|flows| flows.direct.si() <= 0.0) { &from[..4] } else { &from[..] };
    let direct = pass.put(out.direct, &rectified::RECTIFIED, from, |l| flows[l].direct.si());
    let rms = pass.put(out.rms, &rectified::RECTIFIED, from, |l| flows[l].rms.si());
    let crest = pass.put(out.crest, &rectified::RECTIFIED, from, |l| flows[l].crest.si());
    let from: &[Operand] = &[of_bus.held.into(), out.direct.into()];
    let watts = pass.put(out.power, &POWER, from, |l| held[l] * direct[l]);
    pass.put(out.torque, &TORQUE, &[out.power.into(), coasting.speed.into()], |l| {
        // A machine that stands brakes nothing.
        if watts[l] <= 0.0 { 0.0 } else { watts[l] / (TAU * speed[l]) }
    });
    let stage = &plan.stages[coasting.stage];
    for seat in &out.seats {
        let parallel = stage.seats[seat.seat].parallel;
        let (count, chip) = (pass.input(parallel), &plan.chips[seat.chip]);
        pass.put(seat.rms, &DIODE_RMS, &[out.rms.into(), parallel.into()], |l| {
            rms[l] / (core::f64::consts::SQRT_2 * count[l])
        });
        pass.put(seat.crest, &laws::PARALLEL_CREST, &[out.crest.into(), parallel.into()], |l| {
            crest[l] / count[l]
        });
        if let Some(body) = &chip.body_diode {
            let channel = pass.figure(chip.figures.rated_current);
            let from: &[Operand] =
                &[chip.figures.rated_current.into(), chip.conduction.id.into(), body.conduction.id.into()];
            pass.put(seat.rated, &rating::OTHER_WAY, from, |l| {
                let through = Current::new(channel[l]);
                rating::other_way(through, chip.conduction.at_limit, body.conduction.at_limit).si()
            });
        }
    }
    direct
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
        // A current that trips has grown to what the trip lets come of it as the short closes.
        let trip = plan.current_trips.iter().find(|trip| trip.stage == coasting.stage);
        if let Some(trip) = trip {
            let (level, reached) = (pass.input(trip.level), pass.figure(trip.turned_off));
            for l in 0..L {
                let crest = (along[l] * along[l] + across[l] * across[l]).sqrt();
                // Without a trip nothing acts; in a machine without current no direction is known that it would grow in.
                if level[l].is_nan() || crest.is_nan() || crest <= 0.0 || turning[l].is_nan() {
                    continue;
                }
                let grows = reached[l] / crest;
                let grown = |amps: f64| Current::new(if grows < 1.0 { amps } else { grows * amps });
                let flows = RotorCurrent { direct: grown(along[l]), quadrature: grown(across[l]) };
                let tripped = machine[l].shorting(flows, AngularSpeed::new(TAU * turning[l]));
                swing[l] = if grows.is_nan() { tripped } else { worse(swing[l], tripped) };
            }
            if T::LISTENS && level[0].is_finite() && along[0].is_finite() && across[0].is_finite() {
                from.push(trip.turned_off.into());
            }
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
