//! Levels of trips, what flows or stands until they have acted, and how high a bus comes after. Reckoned once after
//! everything is solved.

use loadworthy_physics::core_flux;
use loadworthy_physics::loss_of_load::{self, Choke, Winding};
use loadworthy_physics::{
    Capacitance, Current, FluxLinkage, Frequency, Inductance, Law, Power, Time, Voltage,
};

use crate::ids::InputId;
use crate::plan::{CurrentTrip, LeftFlowing, LossOfLoad, Plan, Topology, VoltageTrip};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

const DEFINITION: &str = "definition";

static EARLY: Law = Law {
    name: "level of a unit that trips early",
    formula: "x = (1 − tolerance)·level",
    validity: "tolerance to either side",
    source: DEFINITION,
};

static LATE: Law = Law {
    name: "level of a unit that trips late",
    formula: "x = (1 + tolerance)·level",
    validity: "tolerance to either side",
    source: DEFINITION,
};

static SERVICE_VOLTAGE: Law = Law {
    name: "highest voltage of a bus in service",
    formula: "V = max(solved + ΔV/2, highest open-circuit voltage of its sources)",
    validity: "steady; what loads that step do to it is not counted",
    source: DEFINITION,
};

static SERVICE_CURRENT: Law = Law {
    name: "largest current in service, ripple included",
    formula: "I = sine or mean and half the ripple that rides on it, at their largest; of several legs the one that carries most",
    validity: "steady; overshoot of the control not counted",
    source: "definition",
};

static TRIPPED: Law = Law {
    name: "current when a trip has acted",
    formula: "I = (1 + tolerance)·I_trip + V_bus,max/L·t_d",
    validity: "t_d the delay of the trip, or what a driver and its device alone take where that is longer; whole highest voltage of the bus across the inductance that is stated for the fault, else that of a phase or choke; back-EMF and saturation not counted",
    source: "definition of the inductance",
};

static TRIPPED_SOFTENED: Law = Law {
    name: "current of a softening choke when a trip has acted",
    formula: "∫ L di from (1 + tolerance)·I_trip to I = V_bus,max·t_d",
    validity: "t_d the delay of the trip, or what a driver and its device alone take where that is longer; whole highest voltage of the bus across the choke; straight between the stated currents of its curve; not beyond the last one: a core that loses more lets more through",
    source: core_flux::SOFTENED_RISE.source,
};

static RECOVERED: Law = Law {
    name: "power that machines and stages leave to the sink of a bus",
    formula: "P = −Σ of what hangs on the bus; while more is drawn Σ n·I_L·V_low of the chokes that bring it, zero where a source stands on the bus",
    validity: "what else draws from the bus goes on drawing, but of a bus that chokes feed all opens; shares of sources on the bus left out",
    source: "balance of powers",
};

static UNTIL_OFF: Law = Law {
    name: "time from the opening of a sink until all gates are off",
    formula: "t = C·(V_trip² − V²)/(2·P) + t_d",
    validity: loss_of_load::HELD_POWER.validity,
    source: loss_of_load::HELD_POWER.source,
};

static AT_OFF: Law = Law {
    name: "voltage of a bus as all gates go off",
    formula: "v² = max(V, V_trip)² + 2·P·t_d/C",
    validity: loss_of_load::HELD_POWER.validity,
    source: loss_of_load::HELD_POWER.source,
};

/// What the course of a bus is stepped with: room for the machines and chokes at one bus.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lifted {
    windings: Vec<Winding>,
    chokes: Vec<Choke>,
}

impl Lifted {
    /// Room for the bus with the most.
    pub(crate) fn new(plan: &Plan) -> Self {
        let most = |count: fn(&LossOfLoad) -> usize| plan.losses_of_load.iter().map(count).max().unwrap_or(0);
        Self {
            windings: Vec::with_capacity(most(|lost| lost.machines.len())),
            chokes: Vec::with_capacity(most(|lost| lost.chokes.len())),
        }
    }
}

/// Levels, then currents of stages that trip. A turn-off is judged with them.
pub(crate) fn levels<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for trip in &plan.voltage_trips {
        let of = (trip.level, trip.tolerance);
        between(of, (trip.lowest, trip.highest), pass);
    }
    for trip in &plan.current_trips {
        let of = (trip.level, trip.tolerance);
        let [_, late] = between(of, (trip.lowest, trip.highest), pass);
        current(plan, trip, &late, pass);
    }
}

/// Both ends of a tolerance.
fn between<const L: usize, T: Trace>(
    (level, tolerance): (crate::ids::InputId, crate::ids::InputId),
    (lowest, highest): (crate::ids::FigureId, crate::ids::FigureId),
    pass: &mut Pass<'_, L, T>,
) -> [[f64; L]; 2] {
    let (at, share) = (pass.input(level), pass.input(tolerance));
    let from: &[Operand] = &[level.into(), tolerance.into()];
    [
        pass.put(lowest, &EARLY, from, |l| at[l] * (1.0 - share[l])),
        pass.put(highest, &LATE, from, |l| at[l] * (1.0 + share[l])),
    ]
}

fn current<const L: usize, T: Trace>(
    plan: &Plan,
    trip: &CurrentTrip,
    late: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let stage = &plan.stages[trip.stage];
    match &stage.topology {
        Topology::Bridge(bridge) => {
            let largest = pass.figure(bridge.figures.largest_current);
            pass.put(trip.normal, &SERVICE_CURRENT, &[bridge.figures.largest_current.into()], |l| largest[l]);
        }
        Topology::Chopper(chopper) => {
            let choke = stage.magnetics.first().and_then(|&own| plan.magnetics[own].uneven);
            let of = choke.map_or(chopper.figures.leg_peak, |uneven| uneven.peak);
            let peak = pass.figure(of);
            pass.put(trip.normal, &SERVICE_CURRENT, &[of.into()], |l| peak[l]);
        }
        Topology::Isolated(_) => {}
    }
    // Positions of a leg stand between the rails of its last port.
    let Some(bus) = stage.ports.last().and_then(|port| port.bus).map(|bus| &plan.buses[bus]) else { return };
    let (volts, henry) = (pass.figure(bus.highest_voltage), pass.input(trip.inductance));
    let delay = longest(plan, (trip.delay, trip.acting), pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([trip.highest, bus.highest_voltage].map(Operand::Figure));
        from.push(trip.softening(plan).map_or(trip.inductance.into(), |&(curve, _)| curve.into()));
        from.push(trip.delay.into());
        from.extend(trip.acting.map(|acting| Operand::Figure(plan.acting[acting].needed)));
    }
    let amps = match trip.softening(plan) {
        None => pass.put(trip.turned_off, &TRIPPED, &from, |l| late[l] + volts[l] / henry[l] * delay[l]),
        Some((_, points)) => pass.put(trip.turned_off, &TRIPPED_SOFTENED, &from, |l| {
            let volt_seconds = FluxLinkage::new(volts[l] * delay[l]);
            core_flux::softened_rise(points, Current::new(late[l]), volt_seconds).si()
        }),
    };
    for seat in &trip.seats {
        let parallel = stage.seats[seat.seat].parallel;
        let count = pass.input(parallel);
        let from: &[Operand] = &[trip.turned_off.into(), parallel.into()];
        pass.put(seat.each, &laws::PARALLEL_CREST, from, |l| amps[l] / count[l]);
    }
}

/// A delay, or what its gates alone take where that is longer.
fn longest<const L: usize, T: Trace>(
    plan: &Plan,
    (delay, acting): (InputId, Option<usize>),
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let stated = pass.input(delay);
    let Some(acting) = acting else { return stated };
    let own = pass.figure(plan.acting[acting].needed);
    // Written so that a missing one stays missing.
    core::array::from_fn(|l| if own[l] <= stated[l] || stated[l].is_nan() { stated[l] } else { own[l] })
}

/// Voltages in service, then how high each bus comes that machines lift.
pub(crate) fn rises<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    for trip in &plan.voltage_trips {
        in_service(plan, trip, pass);
    }
    for lost in &plan.losses_of_load {
        rise(plan, lost, pass, &mut scratch.lifted);
    }
}

fn in_service<const L: usize, T: Trace>(plan: &Plan, trip: &VoltageTrip, pass: &mut Pass<'_, L, T>) {
    let bus = &plan.buses[trip.bus];
    let ripple = bus.ripple.figures.map(|figures| figures.voltage);
    let swing = ripple.map_or([0.0; L], |ripple| pass.figure(ripple));
    let solved = pass.figure(bus.voltage);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(bus.voltage.into());
        from.extend(ripple.map(Operand::Figure));
        from.extend(trip.spans.iter().copied().map(Operand::Input));
    }
    let mut highest: [f64; L] = core::array::from_fn(|l| solved[l] + 0.5 * swing[l]);
    for &most in &trip.spans {
        let most = pass.input(most);
        // Of a source whose highest is missing nobody knows what stands in service.
        highest =
            core::array::from_fn(
                |l| {
                    if most[l] > highest[l] || most[l].is_nan() { most[l] } else { highest[l] }
                },
            );
    }
    pass.put(trip.normal, &SERVICE_VOLTAGE, &from, |l| highest[l]);
}

/// Capacitance of the banks of a bus at the low end of its tolerance.
fn capacitance<const L: usize, T: Trace>(plan: &Plan, lost: &LossOfLoad, pass: &Pass<'_, L, T>) -> [f64; L] {
    let mut sum = [if lost.no_bank.is_some() { f64::NAN } else { 0.0 }; L];
    for &bank in &plan.buses[plan.voltage_trips[lost.trip].bus].ripple.banks {
        let bank = &plan.banks[bank];
        let (parts, each) = (pass.input(bank.parts), pass.input(bank.each.capacitance));
        let tolerance = pass.input(bank.each.tolerance);
        for l in 0..L {
            sum[l] += parts[l] * each[l] * (1.0 - tolerance[l]);
        }
    }
    sum
}

fn rise<const L: usize, T: Trace>(
    plan: &Plan,
    lost: &LossOfLoad,
    pass: &mut Pass<'_, L, T>,
    lifted: &mut Lifted,
) {
    let trip = &plan.voltage_trips[lost.trip];
    let bus = &plan.buses[trip.bus];
    // Shares of sources are left out: they are no power that is held, and rise to their open-circuit voltage at most.
    let drawn = pass.sum(&bus.drawn);
    let given = brought(plan, lost, pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(&bus.drawn);
        bringing(plan, lost, &mut from);
    }
    let watts =
        pass.put(lost.recovered, &RECOVERED, &from, |l| if drawn[l] >= 0.0 { given[l] } else { -drawn[l] });
    // Nothing rises where nothing is recovered; what is not known of the power is not known of the rest.
    if !watts.iter().any(|watts| *watts > 0.0) {
        let from: &[Operand] = &[lost.recovered.into()];
        for (figure, law) in [
            (lost.time, &UNTIL_OFF),
            (lost.as_gates_go_off, &AT_OFF),
            (lost.highest, &loss_of_load::GATES_OFF),
        ] {
            pass.put(figure, law, from, |_| f64::NAN);
        }
        return;
    }
    let farads = capacitance(plan, lost, pass);
    let (solved, level) = (pass.figure(bus.voltage), pass.figure(trip.highest));
    let delay = longest(plan, (trip.delay, trip.acting), pass);
    if T::LISTENS {
        from.clear();
        from.extend([lost.recovered, bus.voltage, trip.highest].map(Operand::Figure));
        from.push(trip.delay.into());
        from.extend(trip.acting.map(|acting| Operand::Figure(plan.acting[acting].needed)));
        from.extend(lost.no_bank.map(Operand::Input));
        for &bank in &bus.ripple.banks {
            let bank = &plan.banks[bank];
            from.extend([bank.parts, bank.each.capacitance, bank.each.tolerance].map(Operand::Input));
        }
    }
    let rises = |l: usize| watts[l] > 0.0;
    pass.put(lost.time, &UNTIL_OFF, &from, |l| {
        if !rises(l) {
            return f64::NAN;
        }
        let ends = (Voltage::new(solved[l]), Voltage::new(level[l]));
        let reached = loss_of_load::time_to_reach(Capacitance::new(farads[l]), ends, Power::new(watts[l]));
        reached.si() + delay[l]
    });
    let off = pass.put(lost.as_gates_go_off, &AT_OFF, &from, |l| {
        let start = if solved[l] > level[l] { solved[l] } else { level[l] };
        let (farad, watts) = (Capacitance::new(farads[l]), Power::new(watts[l]));
        if rises(l) {
            loss_of_load::held_power(farad, Voltage::new(start), watts, Time::new(delay[l])).si()
        } else {
            f64::NAN
        }
    });
    if T::LISTENS {
        from.clear();
        from.push(lost.as_gates_go_off.into());
        operands(plan, lost, &mut from);
        for &bank in &bus.ripple.banks {
            let bank = &plan.banks[bank];
            from.extend([bank.parts, bank.each.capacitance, bank.each.tolerance].map(Operand::Input));
        }
    }
    let mut highest = [f64::NAN; L];
    for l in (0..L).filter(|&l| rises(l) && off[l].is_finite()) {
        gather(plan, lost, pass, lifted, l);
        let farad = Capacitance::new(farads[l]);
        let (Lifted { windings, chokes }, off) = (&mut *lifted, Voltage::new(off[l]));
        // What machines recover is stepped with them; of a bus that is fed what is held in windings and chokes is a bound.
        highest[l] = if drawn[l] < 0.0 {
            loss_of_load::gates_off(farad, off, windings, chokes).si()
        } else {
            loss_of_load::emptied(farad, off, windings, chokes).si()
        };
    }
    let law = if drawn.iter().any(|drawn| *drawn < 0.0) {
        &loss_of_load::GATES_OFF
    } else {
        &loss_of_load::EMPTIED
    };
    pass.put(lost.highest, law, &from, |l| highest[l]);
}

/// Power that chokes bring to a bus on which no source stands.
fn brought<const L: usize, T: Trace>(plan: &Plan, lost: &LossOfLoad, pass: &Pass<'_, L, T>) -> [f64; L] {
    let mut watts = [0.0; L];
    for choke in feeding(plan, lost) {
        let stage = &plan.stages[choke.stage];
        let (Topology::Chopper(chopper), Some(low)) = (&stage.topology, stage.ports.first()) else {
            continue;
        };
        let (legs, upward, volts) = (
            pass.input(chopper.inputs.legs),
            pass.figure(chopper.figures.leg_current),
            pass.figure(low.voltage),
        );
        for l in 0..L {
            let into = legs[l] * if choke.is_high { upward[l] } else { -upward[l] };
            watts[l] += if into <= 0.0 { 0.0 } else { into * volts[l] };
        }
    }
    watts
}

/// What that is known by.
fn bringing(plan: &Plan, lost: &LossOfLoad, from: &mut Vec<Operand>) {
    for choke in feeding(plan, lost) {
        let stage = &plan.stages[choke.stage];
        let (Topology::Chopper(chopper), Some(low)) = (&stage.topology, stage.ports.first()) else {
            continue;
        };
        from.extend([chopper.figures.leg_current, low.voltage].map(Operand::Figure));
        from.push(chopper.inputs.legs.into());
    }
}

/// The chokes that may hold a bus: those of one on which no source stands, which would take what they bring.
fn feeding<'p>(plan: &'p Plan, lost: &'p LossOfLoad) -> &'p [LeftFlowing] {
    let bus = &plan.buses[plan.voltage_trips[lost.trip].bus];
    if bus.sources.is_empty() { &lost.chokes } else { &[] }
}

/// What the machines and chokes at a bus are known by.
fn operands(plan: &Plan, lost: &LossOfLoad, from: &mut Vec<Operand>) {
    for machine in &lost.machines {
        let Some(bridge) = plan.stages[machine.stage].bridge() else { continue };
        from.extend([bridge.figures.phase_current_peak, bridge.figures.frequency].map(Operand::Figure));
        match machine.flux_linkage {
            Some(flux) => from.push(flux.into()),
            None => from.push(bridge.figures.line_voltage.into()),
        }
        let [one, other] = machine.inductances;
        from.push(one.into());
        if other != one {
            from.push(other.into());
        }
    }
    for choke in &lost.chokes {
        let Topology::Chopper(chopper) = &plan.stages[choke.stage].topology else { continue };
        from.push(chopper.figures.leg_current.into());
        from.extend([chopper.inputs.inductance, chopper.inputs.legs].map(Operand::Input));
    }
}

/// Machines and chokes of one lane as all gates go off.
fn gather<const L: usize, T: Trace>(
    plan: &Plan,
    lost: &LossOfLoad,
    pass: &Pass<'_, L, T>,
    lifted: &mut Lifted,
    l: usize,
) {
    let figure = |id: crate::ids::FigureId| pass.figures[id.index()][l];
    let input = |id: crate::ids::InputId| pass.inputs[id.index()][l];
    lifted.windings.clear();
    lifted.chokes.clear();
    for machine in &lost.machines {
        let Some(bridge) = plan.stages[machine.stage].bridge() else { continue };
        if input(bridge.inputs.active) < 0.5 {
            continue;
        }
        let hertz = Frequency::new(figure(bridge.figures.frequency).abs());
        let emf = match machine.flux_linkage {
            Some(flux) => {
                FluxLinkage::new(input(flux))
                    * loadworthy_physics::AngularSpeed::new(core::f64::consts::TAU * hertz.si())
            }
            None => Voltage::new((2.0f64 / 3.0).sqrt() * figure(bridge.figures.line_voltage)),
        };
        let [one, other] = machine.inductances.map(input);
        let henry = if one > other || one.is_nan() { one } else { other };
        let crest = Current::new(figure(bridge.figures.phase_current_peak));
        lifted.windings.push(Winding::new(emf, hertz, Inductance::new(henry), crest));
    }
    for choke in &lost.chokes {
        let stage = &plan.stages[choke.stage];
        let (Topology::Chopper(chopper), Some(low)) = (&stage.topology, stage.ports.first()) else {
            continue;
        };
        let (legs, upward) = (input(chopper.inputs.legs), figure(chopper.figures.leg_current));
        let into = legs * if choke.is_high { upward } else { -upward };
        if into <= 0.0 {
            continue;
        }
        let behind = if choke.is_high { figure(low.voltage) } else { 0.0 };
        let henry = Inductance::new(input(chopper.inputs.inductance) / legs);
        lifted.chokes.push(Choke::new(henry, Current::new(into), Voltage::new(behind)));
    }
}
