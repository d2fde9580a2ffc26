//! Voltages across barriers and the distances that they ask for, edges and what they drive through capacitances, and
//! what lies between circuits and the chassis. Reckoned once after everything is solved, from the highest voltages.

use loadworthy_physics::insulation::clearance::{self, reinforced_impulse};
use loadworthy_physics::insulation::isolation_resistance::{self, Joined};
use loadworthy_physics::insulation::pole_capacitors::{self, Counted};
use loadworthy_physics::insulation::rated_impulse::{self, rated_impulse};
use loadworthy_physics::insulation::working_voltage;
use loadworthy_physics::insulation::{common_mode, creepage};
use loadworthy_physics::{Capacitance, Law, Resistance, SlewRate, Voltage};

use crate::ids::{FigureId, InputId};
use crate::plan::{Barrier, Domain, Isolation, Jumping, Lifted, Plan, Pole, Stress, Through};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static LARGEST: Law = Law {
    name: "largest voltage of a domain",
    formula: "the largest of the highest voltages of its buses and of its mains from line to neutral",
    validity: "every bus that stands in the domain",
    source: "IEC 60664-1, working voltage",
};

static RMS: Law = Law {
    name: "working voltage across a barrier",
    formula: "V of the bus, all of it where it floats, half with an earthed midpoint of its only bus; √(V·V_s·(1 + k²/2)) of a node that swings from one rail to V_s, with a ring k; √(V² + V_s·V_r·(1 + k²/2)) of a winding that swings from V_s beyond one rail to V_r behind the other; the sum of two systems that hurt",
    validity: "no credit for shares of time: at standstill one leg may stay high; the voltage of a net that does not hurt is not added",
    source: "square wave with the bus voltage as its mean, by the balance of volt-seconds; else as for two circuits of a bridge: ISO 6469-3 for a first fault to earth",
};

static PEAK: Law = Law {
    name: "recurring peak across a barrier",
    formula: "V + ΔV, with the largest spike of a turn-off between the rails of the domain; V_p of a node that a clamp or a transformer lifts, its ring included; √2·V of mains",
    validity: "spikes where the loop and the fall time of the devices are stated; of field-effect transistors with their ring as if nothing damped it",
    source: working_voltage::WORKING_VOLTAGE.source,
};

/// Largest impulse across a barrier.
pub static IMPULSE: Law = Law {
    name: "largest impulse across a barrier",
    formula: "the largest that either side states or its mains bring, and no less than the recurring peak; between circuits of one system the recurring peak",
    validity: "a battery circuit has no overvoltage category: its largest transient is what the description states",
    source: rated_impulse::RATED_IMPULSE.source,
};

static STEEPEST: Law = Law {
    name: "steepest edge",
    formula: "the largest edge of the devices that move the potential",
    validity: "edges at light load and in the cold, where they are steepest",
    source: "data sheets",
};

static COUPLING: Law = Law {
    name: "capacitance from a potential to another domain",
    formula: "C = Σ C_i",
    validity: "drivers, supplies and transducers; board and wiring left out",
    source: "parallel capacitances",
};

static BONDING: Law = Law {
    name: "resistance of a bonding",
    formula: "as stated",
    validity: "measured with at least 0.2 A",
    source: "UN Regulation No. 100; ISO 6469-3",
};

static POLE_ENERGY: Law = Law {
    name: pole_capacitors::ENERGY.name,
    formula: "W = C·V²/2, or C·(V² − (60 V)²)/2; V all of the bus where it floats, half with an earthed midpoint, none of an earthed rail",
    validity: pole_capacitors::ENERGY.validity,
    source: pole_capacitors::ENERGY.source,
};

/// Most alternating voltage between the phases of a bridge, over that of its bus: six-step.
const SIX_STEP: f64 = 2.0 / 3.0;

/// Limits of what does not hurt, direct and alternating.
const HARMLESS: (f64, f64) = (60.0, 30.0);

/// Every figure of the isolation.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    let Some(isolation) = &plan.isolation else { return };
    for (_, domain) in isolation.domains() {
        // Metal and surfaces have no voltage of their own.
        if domain.stress.is_empty() {
            bonding(domain, pass);
            continue;
        }
        let from = if T::LISTENS { operands(plan, &domain.stress) } else { Vec::new() };
        let volts: [f64; L] = core::array::from_fn(|l| largest(plan, &domain.stress, pass, l));
        pass.put(domain.voltage, &LARGEST, &from, |l| volts[l]);
        bonding(domain, pass);
        if let Some(leakage) = &domain.leakage {
            let from = told::<T>(leakage.resistances.iter().map(|&ohms| ohms.into()));
            let inputs = pass.inputs;
            pass.put(leakage.together, &isolation_resistance::IN_PARALLEL, &from, |l| {
                let all = leakage.resistances.iter().map(|ohms| Resistance::new(inputs[ohms.index()][l]));
                isolation_resistance::in_parallel(all).si()
            });
            let joined =
                if domain.stress.alternates() { Joined::WithAlternating } else { Joined::DirectAlone };
            pass.put(leakage.least, &isolation_resistance::LEAST, &[domain.voltage.into()], |l| {
                isolation_resistance::least(joined, Voltage::new(volts[l])).si()
            });
        }
    }
    for barrier in &isolation.barriers {
        across(plan, isolation, barrier, pass);
    }
    for jumping in &isolation.jumping {
        jump(jumping, pass);
    }
    for crossing in &isolation.crossings {
        let Some(edge) = crossing.edge else { continue };
        // Of a potential that nothing rides on no edge is reckoned.
        let nodes = crossing.jumping.iter().map(|&one| &isolation.jumping[one]);
        let nodes = nodes.filter(|node| !node.couplings.is_empty());
        let from = told::<T>(nodes.clone().map(|node| node.edge.into()));
        let edges: [f64; L] =
            core::array::from_fn(|l| most(nodes.clone().map(|node| pass.figures[node.edge.index()][l])));
        pass.put(edge, &STEEPEST, &from, |l| edges[l]);
        drive(crossing.through, (edge, edges), pass);
    }
    for rider in &isolation.riders {
        let nodes = rider.jumping.iter().map(|&one| &isolation.jumping[one]);
        let from = told::<T>(nodes.clone().map(|node| node.edge.into()));
        let edges: [f64; L] =
            core::array::from_fn(|l| most(nodes.clone().map(|node| pass.figures[node.edge.index()][l])));
        pass.put(rider.edge, &STEEPEST, &from, |l| edges[l]);
        drive(rider.through, (rider.edge, edges), pass);
    }
    for pole in &isolation.poles {
        hold(plan, pole, pass);
    }
}

fn bonding<const L: usize, T: Trace>(domain: &Domain, pass: &mut Pass<'_, L, T>) {
    if let Some((stated, carried)) = domain.bonding_resistance {
        let ohms = pass.input(stated);
        pass.put(carried, &BONDING, &[stated.into()], |l| ohms[l]);
    }
}

/// What a figure follows from, where anyone listens.
fn told<T: Trace>(from: impl Iterator<Item = Operand>) -> Vec<Operand> {
    if T::LISTENS { from.collect() } else { Vec::new() }
}

/// The largest, missing where any is; zero where there is none.
fn most(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |most, value| if most >= value || most.is_nan() { most } else { value })
}

/// What the largest voltage of a domain follows from.
fn operands(plan: &Plan, stress: &Stress) -> Vec<Operand> {
    let buses = stress.buses.iter().map(|&bus| plan.buses[bus].highest_voltage.into());
    buses.chain(stress.mains.map(Operand::Input)).chain(stress.unread.map(Operand::Input)).collect()
}

fn direct<const L: usize, T: Trace>(plan: &Plan, stress: &Stress, pass: &Pass<'_, L, T>, l: usize) -> f64 {
    let unread = stress.unread.map(|bus| pass.inputs[bus.index()][l]);
    let buses = stress.buses.iter().map(|&bus| pass.figures[plan.buses[bus].highest_voltage.index()][l]);
    most(buses.chain(unread))
}

fn largest<const L: usize, T: Trace>(plan: &Plan, stress: &Stress, pass: &Pass<'_, L, T>, l: usize) -> f64 {
    let mains = stress.mains.map(|mains| pass.inputs[mains.index()][l]);
    most(core::iter::once(direct(plan, stress, pass, l)).chain(mains))
}

/// What one side brings to a barrier.
#[derive(Clone, Copy)]
struct Side {
    rms: f64,
    peak: f64,
    hurts: bool,
}

fn side<const L: usize, T: Trace>(
    plan: &Plan,
    stress: &Stress,
    is_within: bool,
    pass: &Pass<'_, L, T>,
    l: usize,
) -> Side {
    // Within a system it is the whole voltage, however it lies to the chassis.
    let share = if is_within { 1.0 } else { stress.share };
    let volts = direct(plan, stress, pass, l);
    let spikes = stress.turn_offs.iter().map(|&one| {
        let one = &plan.turn_offs[one];
        let bus = plan.stages[one.stage].withstands[one.withstand].bus;
        let bus = bus.map_or(f64::NAN, |bus| pass.figures[plan.buses[bus].highest_voltage.index()][l]);
        pass.figures[one.highest().index()][l] - bus
    });
    let spike = if stress.is_still { 0.0 } else { most(spikes) };
    let nodes = || stress.lifted.iter().filter(|_| !stress.is_still).map(|node| lifted(node, volts, pass, l));
    let mains = stress.mains.map_or(0.0, |mains| pass.inputs[mains.index()][l]);
    let alternating =
        most([mains, if stress.alternates() { SIX_STEP.sqrt() * volts } else { 0.0 }].into_iter());
    Side {
        rms: most([share * volts, mains].into_iter().chain(nodes().map(|(rms, _)| rms))),
        peak: most(
            [share * volts + spike, core::f64::consts::SQRT_2 * mains]
                .into_iter()
                .chain(nodes().map(|(_, peak)| peak)),
        ),
        hurts: volts > HARMLESS.0 || alternating > HARMLESS.1,
    }
}

/// Rms and peak of a node against the rail that it is farther from. Its mean is the bus, since no winding and no choke holds a
/// direct voltage; a ring adds to the square of its plateau.
fn lifted<const L: usize, T: Trace>(
    node: &Lifted,
    volts: f64,
    pass: &Pass<'_, L, T>,
    l: usize,
) -> (f64, f64) {
    let blocked = pass.figures[node.blocked.index()][l];
    let k = node.overshoot.map_or(0.0, |overshoot| pass.inputs[overshoot.index()][l]);
    let (plateau, ring) = (blocked / (1.0 + k), 1.0 + 0.5 * k * k);
    match node.against {
        None => ((volts * plateau * ring).sqrt(), blocked),
        Some(other) => {
            let other = pass.figures[other.index()][l] / (1.0 + k);
            ((volts * volts + plateau * other * ring).sqrt(), volts + blocked)
        }
    }
}

/// What the two ends of a pair make together: rms and recurring peak.
fn apart<const L: usize, T: Trace>(
    plan: &Plan,
    isolation: &Isolation,
    pair: (usize, usize),
    pass: &Pass<'_, L, T>,
    l: usize,
) -> Side {
    let is_within = isolation.are_one_system(pair);
    let [one, other] =
        [pair.0, pair.1].map(|end| side(plan, &isolation.domain(end).stress, is_within, pass, l));
    // Two systems may stand apart by both voltages; a net that does not hurt stands on the chassis.
    let hurts = one.hurts && other.hurts && !is_within;
    let of = |one: f64, other: f64| if hurts { one + other } else { most([one, other].into_iter()) };
    Side { rms: of(one.rms, other.rms), peak: of(one.peak, other.peak), hurts }
}

fn across<const L: usize, T: Trace>(
    plan: &Plan,
    isolation: &Isolation,
    barrier: &Barrier,
    pass: &mut Pass<'_, L, T>,
) {
    if barrier.between.is_none() {
        return;
    }
    let pairs = &barrier.carries;
    let figures = &barrier.figures;
    let sum = |pass: &Pass<'_, L, T>, l: usize, of: fn(&Side) -> f64| {
        if barrier.is_one_potential {
            return 0.0;
        }
        most(pairs.iter().map(|&pair| of(&apart(plan, isolation, pair, pass, l))))
    };
    let mut from: Vec<Operand> = Vec::new();
    let mut ends: Vec<usize> = Vec::new();
    if T::LISTENS {
        for end in barrier.carried_by() {
            if !ends.contains(&end) {
                ends.push(end);
            }
        }
        let stresses = || ends.iter().map(|&end| &isolation.domain(end).stress);
        from.extend(stresses().flat_map(|stress| operands(plan, stress)));
        for node in stresses().flat_map(|stress| &stress.lifted) {
            from.push(node.blocked.into());
            from.extend(node.against.map(Operand::Figure));
            from.extend(node.overshoot.map(Operand::Input));
        }
    }
    let volts: [f64; L] = core::array::from_fn(|l| sum(pass, l, |side| side.rms));
    let rms = pass.put(figures.rms, &RMS, &from, |l| volts[l]);
    if T::LISTENS {
        let spikes = ends.iter().flat_map(|&end| &isolation.domain(end).stress.turn_offs);
        from.extend(spikes.map(|&spike| Operand::Figure(plan.turn_offs[spike].highest())));
    }
    let volts: [f64; L] = core::array::from_fn(|l| sum(pass, l, |side| side.peak));
    let peak = pass.put(figures.peak, &PEAK, &from, |l| volts[l]);
    let is_within = |pair: &(usize, usize)| isolation.are_one_system(*pair);
    let mut brought: Vec<Operand> = Vec::new();
    if T::LISTENS {
        let is_peak = |pair: &(usize, usize)| {
            let both = [pair.0, pair.1].map(|end| &isolation.domain(end).stress);
            is_within(pair) || (0..L).any(|l| impulse(&both, pass.inputs, l) < peak[l])
        };
        brought.extend(pairs.iter().any(is_peak).then_some(Operand::Figure(figures.peak)));
        for pair in pairs.iter().filter(|pair| !is_within(pair)) {
            let both = [pair.0, pair.1].map(|end| &isolation.domain(end).stress);
            for one in of_impulse(&both, pass.inputs) {
                if !brought.contains(&one) {
                    brought.push(one);
                }
            }
        }
    }
    let impulses: [f64; L] = core::array::from_fn(|l| {
        most(pairs.iter().map(|pair| {
            let both = [pair.0, pair.1].map(|end| &isolation.domain(end).stress);
            let brought = impulse(&both, pass.inputs, l);
            // What recurs is no less of a stress than what comes once; what is not known stays so.
            if is_within(pair) || brought < peak[l] { peak[l] } else { brought }
        }))
    });
    pass.put(figures.impulse, &IMPULSE, &brought, |l| impulses[l]);
    let kind: Operand = barrier.kind_stated.into();
    let is_double =
        barrier.kind.is_some_and(loadworthy_physics::insulation::protection::Insulation::is_double);
    pass.put(figures.withstand, &clearance::REINFORCED_IMPULSE, &[figures.impulse.into(), kind], |l| match (
        barrier.kind,
        is_double,
    ) {
        (None, _) => f64::NAN,
        (_, true) => reinforced_impulse(Voltage::new(impulses[l])).0.si(),
        (_, false) => impulses[l],
    });
    let inputs = pass.inputs;
    let by_mains = isolation.is_fed_by_mains(barrier);
    let through = |l: usize| {
        let asked = barrier.clearance_asked(|id| inputs[id.index()][l], impulses[l], by_mains)?;
        clearance::clearance(&asked).ok()
    };
    let [degree, altitude, group] = [barrier.degree, barrier.altitude, barrier.group].map(Operand::Input);
    pass.put(
        figures.clearance,
        &clearance::CLEARANCE,
        &[figures.impulse.into(), degree, kind, altitude],
        |l| through(l).map_or(f64::NAN, |answer| answer.required.si()),
    );
    let from: [Operand; 5] = [figures.rms.into(), degree, group, kind, figures.clearance.into()];
    pass.put(figures.creepage, &creepage::CREEPAGE, &from, |l| {
        let asked = barrier.creepage_asked(|id| inputs[id.index()][l], rms[l]);
        let answer = asked.zip(through(l)).map(|(asked, through)| creepage::creepage(&asked, Some(&through)));
        answer.and_then(Result::ok).map_or(f64::NAN, |answer| answer.required.si())
    });
}

/// The largest impulse that two sides bring; missing where neither says what it brings, or its mains not how much.
fn impulse<const L: usize>(sides: &[&Stress; 2], inputs: &[[f64; L]], l: usize) -> f64 {
    let at = |id: InputId| inputs[id.index()][l];
    let mut most = f64::NAN;
    for side in sides {
        let stated = at(side.impulse.stated);
        if side.impulse.is_unread {
            return f64::NAN;
        }
        if stated > most || most.is_nan() {
            most = if stated.is_nan() { most } else { stated };
        }
        if let Some(mains) = side.mains {
            let brought = side.impulse.category.and_then(|category| {
                rated_impulse(Voltage::new(at(mains)), category).ok().map(|answer| answer.voltage.si())
            });
            // What mains bring is not left out because another transient is known.
            let Some(brought) = brought else { return f64::NAN };
            if brought > most || most.is_nan() {
                most = brought;
            }
        }
    }
    most
}

/// What that follows from: what is stated, and where nothing is, what would have to be.
fn of_impulse<const L: usize>(sides: &[&Stress; 2], inputs: &[[f64; L]]) -> Vec<Operand> {
    let stated: Vec<Operand> = sides
        .iter()
        .filter(|side| side.impulse.is_unread || !inputs[side.impulse.stated.index()][0].is_nan())
        .map(|side| side.impulse.stated.into())
        .collect();
    let mains: Vec<Operand> = sides
        .iter()
        .flat_map(|side| side.mains.into_iter().chain(side.impulse.lacks))
        .map(Operand::Input)
        .collect();
    if stated.is_empty() && mains.is_empty() {
        // The side with more buses is the one whose transients are asked for.
        let side = if sides[1].buses.len() > sides[0].buses.len() { sides[1] } else { sides[0] };
        return vec![side.impulse.stated.into()];
    }
    stated.into_iter().chain(mains).collect()
}

fn jump<const L: usize, T: Trace>(jumping: &Jumping, pass: &mut Pass<'_, L, T>) {
    // Nothing leads from it to another domain, and nothing rides on it within its own.
    if jumping.couplings.is_empty() && !jumping.is_ridden {
        return;
    }
    let inputs = pass.inputs;
    let from = told::<T>(jumping.edges.iter().chain(&jumping.lacks).map(|&edge| edge.into()));
    let edge = pass.put(jumping.edge, &STEEPEST, &from, |l| {
        // Without all that says whether, and by what, it is moved, nothing is known of it.
        if jumping.edges.is_empty() || !jumping.lacks.is_empty() {
            return f64::NAN;
        }
        most(jumping.edges.iter().map(|edge| inputs[edge.index()][l]))
    });
    if jumping.couplings.is_empty() {
        return;
    }
    let from = told::<T>(jumping.couplings.iter().map(|&farad| farad.into()));
    let farads = pass.put(jumping.coupling, &COUPLING, &from, |l| {
        jumping.couplings.iter().map(|farad| inputs[farad.index()][l]).sum()
    });
    pass.put(jumping.current, &common_mode::CURRENT, &[jumping.coupling.into(), jumping.edge.into()], |l| {
        common_mode::current(Capacitance::new(farads[l]), SlewRate::new(edge[l])).si()
    });
}

/// What an edge drives through what sees it.
fn drive<const L: usize, T: Trace>(
    through: Option<Through>,
    (edge, edges): (FigureId, [f64; L]),
    pass: &mut Pass<'_, L, T>,
) {
    let Some(Through { coupling, current, .. }) = through else { return };
    let farads = pass.input(coupling);
    pass.put(current, &common_mode::CURRENT, &[coupling.into(), edge.into()], |l| {
        common_mode::current(Capacitance::new(farads[l]), SlewRate::new(edges[l])).si()
    });
}

fn hold<const L: usize, T: Trace>(plan: &Plan, pole: &Pole, pass: &mut Pass<'_, L, T>) {
    let volts: [f64; L] = core::array::from_fn(|l| {
        pole.share
            * most(pole.buses.iter().map(|&bus| pass.figures[plan.buses[bus].highest_voltage.index()][l]))
    });
    let inputs = pass.inputs;
    let farads: [f64; L] =
        core::array::from_fn(|l| pole.capacitances.iter().map(|farad| inputs[farad.index()][l]).sum());
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(pole.capacitances.iter().map(|&farad| Operand::Input(farad)));
        from.extend(pole.buses.iter().map(|&bus| Operand::Figure(plan.buses[bus].highest_voltage)));
    }
    for (figure, counted) in [(pole.energy, Counted::All), (pole.above, Counted::AboveHarmless)] {
        pass.put(figure, &POLE_ENERGY, &from, |l| {
            pole_capacitors::energy(Capacitance::new(farads[l]), Voltage::new(volts[l]), counted).si()
        });
    }
}
