//! How far the capacitors of high gates run down, once duties are solved: it changes nothing of them.

use loadworthy_physics::gates::bootstrap::{self, Recharge, Step, Taken};
use loadworthy_physics::gates::bootstrap_turn::{self, Leg, Turn};
use loadworthy_physics::{Capacitance, Charge, Current, Frequency, Law, Resistance, Time, Voltage};

use crate::ids::InputId;
use crate::plan::{Bootstrap, Bridge, Isolated, IsolatedKind, Plan, Stage, Topology};
use crate::solver::bridge::modulation;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static ON_TIME: Law = Law {
    name: "longest time from one recharge of a bootstrap to the next",
    formula: "t = d/f; of a bridge that turns longer where the low side has no time in periods beside one another, and for as long as the duty point lasts at standstill",
    validity: "d the largest share of a period that the high side is on: (1 + M/M_lin)/2 of a bridge, 1/2 of a full bridge, as solved of a chopper, 1 − D of the clamp of a forward converter",
    source: bootstrap::CREST_DUTY.source,
};

static RECHARGE: Law = Law {
    name: "time of a recharge",
    formula: "t = (1 − d)/f − 2·t_d; of a bridge that turns the shortest that there is",
    validity: "the low side or its diode, of a clamp the main switch, conducts for all of it",
    source: "partition of a period",
};

static CURRENT: Law = Law {
    name: "current that a driver and its capacitor take from a bootstrap",
    formula: "I = max(I_leak, P_own/V_cc)",
    validity: "the larger of the current stated for the bootstrap and that of one channel of the driver, where it states its own power",
    source: "definition; the same power is counted for the output that charges it",
};

static DROOP: Law = Law {
    name: bootstrap::DROOP.name,
    formula: "ΔV = (Q_g + Q_shift + I·t_on)/C, I the current that driver and capacitor take",
    validity: bootstrap::DROOP.validity,
    source: bootstrap::DROOP.source,
};

static FALL: Law = Law {
    name: "how far a bootstrap falls below what it is charged from",
    formula: "V = p·V_cc + V_diode + V_low + ΔV/(1 − e^(−t_L/(R·C)))",
    validity: "each period like the one at the crest; of a bridge with more than a thousand periods a turn, or that never recharges, half a turn without where that takes less: on the high side; the low side as far as it takes voltage from the charge, of stages with a transformer not counted",
    source: bootstrap::LOWEST_VOLTAGE.source,
};

static FALL_OVER_A_TURN: Law = Law {
    name: "how far a bootstrap falls below what it is charged from over a turn",
    formula: "V = p·V_cc + V_diode + V_low + max y_k, y_k = (y_(k−1)·e^(−t_(k−1)/(R·C)) + (Q_g + Q_shift + I·d_k/f)/C, t_k = (1 − d_k)/f − 2·t_d or none",
    validity: bootstrap_turn::OVER_A_TURN.validity,
    source: bootstrap_turn::OVER_A_TURN.source,
};

static RESERVE: Law = Law {
    name: "how far a bootstrap may fall until the driver blocks the gate",
    formula: "V = V_cc − V_lockout",
    validity: "lock-out that watches the voltage of the capacitor",
    source: "definition",
};

/// How a high side is on and recharged: its longest time, the time of a recharge, and how often its gate takes its charge
/// in between.
#[derive(Clone, Copy)]
struct Course {
    on: f64,
    recharge: f64,
    edges: f64,
    /// How far it falls over a turn, where that was gone through.
    fall: Option<f64>,
}

/// Puts the figures of every bootstrap.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    let mut last = None;
    for bootstrap in &plan.bootstraps {
        one(plan, bootstrap, pass, &mut last);
    }
}

/// The stage of a bootstrap, what it runs down with and how: legs of one stage that are built alike go alike.
type Gone<const L: usize> = Option<(usize, [Built; L], [Course; L])>;

/// What a bootstrap runs down with in one lane.
#[derive(Clone, Copy, PartialEq)]
struct Built {
    taken: Taken,
    shift: Charge,
    capacitance: Capacitance,
    resistance: Resistance,
}

impl Built {
    fn droop(&self, course: Course) -> f64 {
        let edges = course.edges;
        let taken = Taken { gate: self.taken.gate * edges, shift: self.shift * edges, ..self.taken };
        bootstrap::droop(&taken, Time::new(course.on), self.capacitance).si()
    }

    fn over_a_turn(&self, leg: &Leg) -> Option<Turn> {
        let taken = Taken { shift: self.shift, ..self.taken };
        bootstrap_turn::over_a_turn(leg, &taken, self.capacitance, self.resistance)
    }

    /// The part of the fall that a recharge leaves.
    fn left(&self, course: Course) -> f64 {
        if let Some(fall) = course.fall {
            return fall;
        }
        let recharge = Recharge {
            towards: Voltage::ZERO,
            resistance: self.resistance,
            time: Time::new(course.recharge),
        };
        -bootstrap::lowest_voltage(&recharge, self.capacitance, Voltage::new(self.droop(course))).si()
    }
}

fn one<const L: usize, T: Trace>(plan: &Plan, of: &Bootstrap, pass: &mut Pass<'_, L, T>, last: &mut Gone<L>) {
    let drive = &plan.gate_drives[of.drive];
    let stage = &plan.stages[drive.stage];
    let parallel = stage.seats[drive.seat].parallel;
    let figures = &of.figures;
    let (charge, count) = (pass.figure(drive.figures.charge), pass.input(parallel));
    let shift = pass.input(of.shift_charge);
    let leakage = current(of, drive.channel.own_power, pass);
    let (farad, ohms) = (pass.input(of.capacitance), pass.input(of.resistance));
    let built: [Built; L] = core::array::from_fn(|l| Built {
        taken: Taken {
            gate: Charge::new(count[l] * charge[l]),
            shift: Charge::ZERO,
            leakage: Current::new(leakage[l]),
        },
        shift: Charge::new(shift[l]),
        capacitance: Capacitance::new(farad[l]),
        resistance: Resistance::new(ohms[l]),
    });
    let courses: [Course; L] = match last {
        Some((at, like, courses)) if *at == drive.stage && *like == built => *courses,
        _ => core::array::from_fn(|l| course(of, stage, l, pass, &built[l])),
    };
    *last = Some((drive.stage, built, courses));
    let low = of.low_drop;
    let mut operands: Vec<Operand> = Vec::new();
    if T::LISTENS {
        operands.extend(duty_of(stage));
        operands.extend([stage.carrier, stage.dead_time].map(Operand::Input));
        // Nobody waits for how long a duty point lasts that goes on.
        operands.extend(Some(of.lasts).filter(|&lasts| pass.input(lasts)[0].is_finite()).map(Operand::Input));
    }
    pass.put(figures.on_time, &ON_TIME, &operands, |l| courses[l].on);
    pass.put(figures.recharge, &RECHARGE, &operands, |l| courses[l].recharge);
    let operands: [Operand; 6] = [
        drive.figures.charge.into(),
        parallel.into(),
        of.shift_charge.into(),
        figures.current.into(),
        of.capacitance.into(),
        figures.on_time.into(),
    ];
    pass.put(figures.droop, &DROOP, &operands, |l| built[l].droop(courses[l]));
    let (from, share, diode) =
        (pass.input(of.charged_from), pass.input(of.tolerance), pass.input(of.diode_drop));
    let drop = low.map_or([0.0; L], |low| pass.figure(low));
    let mut operands: Vec<Operand> = Vec::new();
    if T::LISTENS {
        operands.extend([of.charged_from, of.tolerance, of.diode_drop].map(Operand::Input));
        operands.extend(low.map(Operand::Figure));
        operands.extend([figures.droop, figures.recharge].map(Operand::Figure));
        operands.extend([of.resistance, of.capacitance].map(Operand::Input));
        if courses[0].fall.is_some() {
            operands.extend([drive.figures.charge, figures.current].map(Operand::Figure));
            operands.extend([parallel, of.shift_charge, stage.carrier, stage.dead_time].map(Operand::Input));
            operands.extend(duty_of(stage));
        }
    }
    let law = if courses[0].fall.is_some() { &FALL_OVER_A_TURN } else { &FALL };
    pass.put(figures.fall, law, &operands, |l| {
        share[l] * from[l].abs() + diode[l] + drop[l].abs() + built[l].left(courses[l])
    });
    let lockout = pass.input(drive.channel.undervoltage);
    let operands: [Operand; 2] = [of.charged_from.into(), drive.channel.undervoltage.into()];
    pass.put(figures.reserve, &RESERVE, &operands, |l| from[l] - lockout[l]);
}

/// What driver and capacitor take: what is stated for both, or what the driver takes by its own power, if that is more.
fn current<const L: usize, T: Trace>(of: &Bootstrap, own: InputId, pass: &mut Pass<'_, L, T>) -> [f64; L] {
    let (leakage, power, volts) = (pass.input(of.leakage), pass.input(own), pass.input(of.charged_from));
    let states = !power[0].is_nan();
    let operands: [Operand; 3] = [of.leakage.into(), own.into(), of.charged_from.into()];
    let operands = if states { &operands[..] } else { &operands[..1] };
    pass.put(of.figures.current, &CURRENT, operands, |l| {
        let own = power[l] / volts[l].abs();
        // Without a power of its own the current that is stated for both holds the driver's.
        if own > leakage[l] || own.is_nan() && !power[l].is_nan() { own } else { leakage[l] }
    })
}

/// What says how long a high side is on.
fn duty_of(stage: &Stage) -> Vec<Operand> {
    match &stage.topology {
        Topology::Bridge(bridge) => {
            let figures = &bridge.figures;
            let modulation = Operand::Input(bridge.inputs.modulation);
            vec![figures.modulation_index.into(), modulation, figures.frequency.into()]
        }
        Topology::Chopper(chopper) => vec![chopper.figures.duty.into()],
        Topology::Isolated(isolated) if is_forward(isolated) => vec![isolated.figures.duty.into()],
        Topology::Isolated(_) => Vec::new(),
    }
}

/// Whether it is the main switch, and no low side, that recharges.
fn is_forward(isolated: &Isolated) -> bool {
    isolated.kind == IsolatedKind::Forward
}

fn course<const L: usize, T: Trace>(
    of: &Bootstrap,
    stage: &Stage,
    l: usize,
    pass: &Pass<'_, L, T>,
    built: &Built,
) -> Course {
    let (carrier, dead) = (pass.input(stage.carrier)[l], pass.input(stage.dead_time)[l]);
    let period = 1.0 / carrier;
    let lasts = pass.input(of.lasts)[l];
    // At rest the one charge of the gate is taken, and then what leaks; nothing ends it but the duty point.
    let held = Course {
        on: if lasts.is_nan() { f64::INFINITY } else { lasts },
        recharge: f64::INFINITY,
        edges: 1.0,
        fall: None,
    };
    let within = |duty: f64| Course {
        on: duty * period,
        recharge: (1.0 - duty) * period - 2.0 * dead,
        edges: 1.0,
        fall: None,
    };
    match &stage.topology {
        Topology::Bridge(bridge) => of_bridge(bridge, within, held, (l, period, dead), pass, built),
        Topology::Chopper(chopper) => {
            let course = within(1.0 - pass.figure(chopper.figures.duty)[l]);
            if course.recharge <= 0.0 { held } else { course }
        }
        Topology::Isolated(isolated) if is_forward(isolated) => {
            let course = within(1.0 - pass.figure(isolated.figures.duty)[l]);
            if course.recharge <= 0.0 { held } else { course }
        }
        Topology::Isolated(_) => within(0.5),
    }
}

fn of_bridge<const L: usize, T: Trace>(
    bridge: &Bridge,
    within: impl Fn(f64) -> Course,
    held: Course,
    (l, period, dead): (usize, f64, f64),
    pass: &Pass<'_, L, T>,
    built: &Built,
) -> Course {
    let index = pass.figure(bridge.figures.modulation_index)[l];
    let code = pass.input(bridge.inputs.modulation)[l];
    let turns = pass.figure(bridge.figures.frequency)[l];
    let missing = Course { on: f64::NAN, recharge: f64::NAN, edges: f64::NAN, fall: None };
    if index.is_nan() || code.is_nan() || turns.is_nan() || period.is_nan() {
        return missing;
    }
    let leg = Leg {
        index,
        modulation: modulation(code),
        carrier: Frequency::new(1.0 / period),
        output: Frequency::new(turns),
        dead_time: Time::new(dead),
    };
    if let Some(turn) = built.over_a_turn(&leg) {
        let edges = (turn.on.si() / period).ceil();
        return Course {
            on: turn.on.si(),
            recharge: turn.recharge.si(),
            edges: if edges > 1.0 { edges } else { 1.0 },
            fall: Some(turn.fall.si()),
        };
    }
    let each = within(bootstrap::crest_duty(index, modulation(code).linear_limit()));
    let half_turn = bootstrap::six_step_on_time(Frequency::new(turns), Step::HalfTurn).si();
    let seldom = if half_turn.is_finite() {
        Course { on: half_turn, recharge: half_turn, edges: (half_turn / period).max(1.0), fall: None }
    } else {
        held
    };
    if each.recharge <= 0.0 || built.left(seldom) < built.left(each) { seldom } else { each }
}
