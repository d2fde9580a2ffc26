//! What driving gates takes, and what drivers leave of limits, once currents and bus voltages are solved: it changes
//! nothing of them.

use loadworthy_physics::gates::held_off::{self, HeldOff};
use loadworthy_physics::gates::short_circuit::{self, Reaction};
use loadworthy_physics::gates::supply_power::{self, Driven};
use loadworthy_physics::gates::{dead_time, linear_level, other_resistor};
use loadworthy_physics::{
    Capacitance, Charge, Current, Frequency, Law, Power, Resistance, SlewRate, Time, Transconductance,
    Voltage,
};

use crate::ids::{FigureId, InputId};
use crate::plan::{ChipKind, DeadTime, GateDrive, GateFeed, Plan};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static POWER: Law = Law {
    name: "power that gates and their driver take",
    formula: "P = k·(n·Q·(V_on − V_off)·f + P_own), k positions, n devices in parallel",
    validity: "one charge and discharge in each carrier period; Q for this very swing",
    source: supply_power::POWER.source,
};

static ASKED: Law = Law {
    name: "power that an output gives",
    formula: "P = ΣP of all that it feeds + Σ(max(I_l·V_on − P_own, 0) + Q_s·V_on·f) of bootstraps",
    validity: "gates behind bootstraps that it charges included; I_l what driver and capacitor take for good, Q_s what a level shifter takes in each period; the loss in their diodes left out",
    source: "definition",
};

static TAKEN: Law = Law {
    name: "power that a gate supply takes",
    formula: "P = P_out/η",
    validity: "efficiency at this load",
    source: "definition",
};

static CURRENT: Law = Law {
    name: "crest of the current of a channel",
    formula: "I = n·ΔV/(R + R_int), ΔV/(R + R_int/n) where devices share a resistor; the smaller of both resistors",
    validity: supply_power::PEAK_CURRENT.validity,
    source: supply_power::PEAK_CURRENT.source,
};

static HIGHEST: Law = Law {
    name: "highest gate voltage",
    formula: "V = V_on + p·|V_on|",
    validity: "overshoot of the gate's loop and of a bootstrap left out",
    source: "definition of the tolerance",
};

static LOWEST: Law = Law {
    name: "lowest gate voltage of the on state",
    formula: "V = V_on − p·|V_on|",
    validity: "how far a bootstrap runs down left out",
    source: "definition of the tolerance",
};

static BELOW_ZERO: Law = Law {
    name: "how far below zero a gate is driven",
    formula: "V = −V_off + p·|V_off|",
    validity: "ringing left out",
    source: "definition of the tolerance",
};

static BELOW_ZERO_LIMIT: Law = Law {
    name: "how far below zero a gate may be driven",
    formula: "V = −V_lowest",
    validity: "as stated",
    source: "data sheet of the device",
};

static RAIL_FALL: Law = Law {
    name: "how far the on voltage falls within its tolerance",
    formula: "V = p·|V_on|",
    validity: "steady; a dip while the gate is charged is left to the local capacitor",
    source: "definition of the tolerance",
};

static LOCKOUT_DISTANCE: Law = Law {
    name: "how far a voltage may fall until the driver blocks the gate",
    formula: "V = V_on − V_lockout",
    validity: "lock-out that watches the voltage above the source or emitter",
    source: "definition",
};

static SHORTFALL: Law = Law {
    name: "how far the lowest on voltage stays below the one that on-state figures hold at",
    formula: "V = V_stated − (V_on − p·|V_on|)",
    validity: "negative where it lies above",
    source: "definition",
};

static LIFT: Law = Law {
    name: "how far an edge lifts a gate that is held off",
    formula: "V = R·C_gd·s·(1 − e^(−V_b/(s·τ))), τ = R·C_iss, R = R_int + R_off or R_clamp, R_off counted n times where devices share it",
    validity: held_off::CREST.validity,
    source: held_off::CREST.source,
};

static LIFT_LIMIT: Law = Law {
    name: "from the voltage that holds a gate off to its lowest threshold",
    formula: "V = V_th,min − (V_off + p·|V_off|)",
    validity: "threshold of any device at the hottest junction",
    source: "definition",
};

static RESISTANCE: Law = Law {
    name: "gate resistance of one device",
    formula: "R = R_int + R_out, R_out counted n times where devices share it",
    validity: "what the driver itself adds counts with its resistor",
    source: "definition",
};

static DEAD_SHARE: Law = Law {
    name: "share of the carrier period that the dead time takes",
    formula: "t_d·f",
    validity: "voltage that a leg loses, in shares of the bus voltage; its sign is that of the current",
    source: "Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003",
};

/// Puts the figures of all that drives gates.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for drive in &plan.gate_drives {
        power(plan, drive, pass);
        rails(plan, drive, pass);
        held_off(plan, drive, pass);
        short(plan, drive, pass);
    }
    for feed in &plan.gate_feeds {
        asked(plan, feed, pass);
    }
    for dead_time in &plan.dead_times {
        dead(plan, dead_time, pass);
    }
}

/// What the resistors that are fitted make of the times of each device.
pub(crate) fn times<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for drive in &plan.gate_drives {
        resistors(plan, drive, pass);
    }
}

fn power<const L: usize, T: Trace>(plan: &Plan, drive: &GateDrive, pass: &mut Pass<'_, L, T>) {
    let (figures, gate, rails, channel) = (&drive.figures, &drive.gate, &drive.rails, &drive.channel);
    let stage = &plan.stages[drive.stage];
    let parallel = stage.seats[drive.seat].parallel;
    let positions = drive.positions.len() as f64;
    let (on, off) = (pass.input(rails.on), pass.input(rails.off));
    let (from, to) = (pass.input(gate.stated_off), pass.input(gate.stated_on));
    let charge = pass.input(gate.charge);
    let operands: [Operand; 5] = [
        gate.charge.into(),
        gate.stated_on.into(),
        gate.stated_off.into(),
        rails.on.into(),
        rails.off.into(),
    ];
    let charge = pass.put(figures.charge, &supply_power::CHARGE_AT, &operands, |l| {
        let (swing, stated) = (Voltage::new(on[l] - off[l]), Voltage::new(to[l] - from[l]));
        supply_power::charge_at(swing, Charge::new(charge[l]), stated).si()
    });
    let (count, carrier, own) =
        (pass.input(parallel), pass.input(stage.carrier), pass.input(channel.own_power));
    let operands: [Operand; 6] = [
        figures.charge.into(),
        rails.on.into(),
        rails.off.into(),
        stage.carrier.into(),
        parallel.into(),
        channel.own_power.into(),
    ];
    pass.put(figures.power, &POWER, &operands, |l| {
        let each = Driven {
            charge: Charge::new(charge[l]),
            swing: Voltage::new(on[l] - off[l]),
            frequency: Frequency::new(carrier[l]),
            count: count[l],
            quiescent: Power::new(own[l]),
            efficiency: 1.0,
        };
        positions * supply_power::power(&each).si()
    });
    let internal = pass.input(gate.internal);
    let (turn_on, turn_off) = (pass.input(channel.turn_on_resistor), pass.input(channel.turn_off_resistor));
    let each = pass.input(channel.resistor_for_each);
    let operands: [Operand; 7] = [
        rails.on.into(),
        rails.off.into(),
        channel.turn_on_resistor.into(),
        channel.turn_off_resistor.into(),
        gate.internal.into(),
        parallel.into(),
        channel.resistor_for_each.into(),
    ];
    pass.put(figures.peak_current, &CURRENT, &operands, |l| {
        let swing = Voltage::new(on[l] - off[l]);
        let outside = -more(-turn_on[l], -turn_off[l]);
        let own = count[l]
            * supply_power::peak_current(swing, Resistance::new(outside), Resistance::new(internal[l])).si();
        let one = supply_power::peak_current(
            swing,
            Resistance::new(outside),
            Resistance::new(internal[l] / count[l]),
        )
        .si();
        if each[l] < 0.5 { one } else { own }
    });
}

fn rails<const L: usize, T: Trace>(plan: &Plan, drive: &GateDrive, pass: &mut Pass<'_, L, T>) {
    let (figures, gate, rails) = (&drive.figures, &drive.gate, &drive.rails);
    let (on, off, share) = (pass.input(rails.on), pass.input(rails.off), pass.input(rails.tolerance));
    let of_on: [Operand; 2] = [rails.on.into(), rails.tolerance.into()];
    let of_off: [Operand; 2] = [rails.off.into(), rails.tolerance.into()];
    pass.put(figures.highest, &HIGHEST, &of_on, |l| on[l] + share[l] * on[l].abs());
    pass.put(figures.lowest, &LOWEST, &of_on, |l| on[l] - share[l] * on[l].abs());
    pass.put(figures.below_zero, &BELOW_ZERO, &of_off, |l| share[l] * off[l].abs() - off[l]);
    let lowest = pass.input(gate.lowest);
    pass.put(figures.below_zero_limit, &BELOW_ZERO_LIMIT, &[gate.lowest.into()], |l| -lowest[l]);
    let fall = pass.put(figures.rail_fall, &RAIL_FALL, &of_on, |l| share[l] * on[l].abs());
    let lockout = pass.input(drive.channel.undervoltage);
    let operands: [Operand; 2] = [rails.on.into(), drive.channel.undervoltage.into()];
    pass.put(figures.lockout_distance, &LOCKOUT_DISTANCE, &operands, |l| on[l] - lockout[l]);
    let stated = pass.input(gate.stated_on);
    let operands: [Operand; 3] = [gate.stated_on.into(), rails.on.into(), figures.rail_fall.into()];
    pass.put(figures.shortfall, &SHORTFALL, &operands, |l| stated[l] - (on[l] - fall[l]));
    // The crest that one of the devices in parallel carries.
    let positions = &plan.stages[drive.stage].positions;
    let crests = || {
        let chips =
            drive.positions.iter().flat_map(|&position| &plan.chips[positions[position].chips.clone()]);
        chips.filter(|chip| chip.kind != ChipKind::Diode).map(|chip| chip.figures.peak_current)
    };
    let mut operands: Vec<Operand> = Vec::new();
    if T::LISTENS {
        operands.extend([gate.threshold, gate.transconductance].map(Operand::Input));
        operands.extend(crests().map(Operand::Figure));
    }
    let crest = largest(crests(), pass);
    let (threshold, slope) = (pass.input(gate.threshold), pass.input(gate.transconductance));
    pass.put(figures.linear_level, &linear_level::VOLTAGE, &operands, |l| {
        let slope = Transconductance::new(slope[l]);
        linear_level::voltage(Voltage::new(threshold[l]), Current::new(crest[l]), slope).si()
    });
}

/// The largest magnitude of figures; what is missing stays missing.
fn largest<const L: usize, T: Trace>(
    figures: impl Iterator<Item = FigureId>,
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let mut largest = [0.0; L];
    for figure in figures {
        let value = pass.figure(figure);
        for l in 0..L {
            largest[l] = more(largest[l], value[l].abs());
        }
    }
    largest
}

/// The larger of two; what is missing stays missing.
fn more(one: f64, other: f64) -> f64 {
    if one >= other || f64::is_nan(one) { one } else { other }
}

fn held_off<const L: usize, T: Trace>(plan: &Plan, drive: &GateDrive, pass: &mut Pass<'_, L, T>) {
    let (figures, gate, rails, channel) = (&drive.figures, &drive.gate, &drive.rails, &drive.channel);
    let stage = &plan.stages[drive.stage];
    let parallel = stage.seats[drive.seat].parallel;
    let off_by = channel.clamp.unwrap_or(channel.turn_off_resistor);
    let across = stage.withstands[drive.withstand].blocked;
    let volts = pass.figure(across);
    let (edge, internal, outside) = (pass.input(gate.edge), pass.input(gate.internal), pass.input(off_by));
    let (whole, reverse) = (pass.input(gate.capacitance), pass.input(gate.reverse_capacitance));
    let (each, count) = (pass.input(channel.resistor_for_each), pass.input(parallel));
    let operands: [Operand; 8] = [
        off_by.into(),
        gate.internal.into(),
        channel.resistor_for_each.into(),
        parallel.into(),
        gate.reverse_capacitance.into(),
        gate.capacitance.into(),
        gate.edge.into(),
        across.into(),
    ];
    pass.put(figures.lift, &LIFT, &operands, |l| {
        let shared_by = if each[l] < 0.5 { count[l] } else { 1.0 };
        let held = HeldOff {
            off: Voltage::ZERO,
            resistance: Resistance::new(internal[l] + shared_by * outside[l]),
            to_drain: Capacitance::new(reverse[l]),
            to_source: Capacitance::new(whole[l] - reverse[l]),
        };
        held_off::crest(&held, SlewRate::new(edge[l]), Voltage::new(volts[l])).si()
    });
    let (least, off, share) =
        (pass.input(gate.least_threshold), pass.input(rails.off), pass.input(rails.tolerance));
    let operands: [Operand; 3] = [gate.least_threshold.into(), rails.off.into(), rails.tolerance.into()];
    pass.put(figures.lift_limit, &LIFT_LIMIT, &operands, |l| least[l] - (off[l] + share[l] * off[l].abs()));
}

fn resistors<const L: usize, T: Trace>(plan: &Plan, drive: &GateDrive, pass: &mut Pass<'_, L, T>) {
    let (figures, gate, channel) = (&drive.figures, &drive.gate, &drive.channel);
    let parallel = plan.stages[drive.stage].seats[drive.seat].parallel;
    let (internal, each, count) =
        (pass.input(gate.internal), pass.input(channel.resistor_for_each), pass.input(parallel));
    let [on, off] = [
        (figures.on_resistance, channel.turn_on_resistor),
        (figures.off_resistance, channel.turn_off_resistor),
    ]
    .map(|(figure, by)| {
        let outside = pass.input(by);
        let operands: [Operand; 4] =
            [by.into(), gate.internal.into(), channel.resistor_for_each.into(), parallel.into()];
        pass.put(figure, &RESISTANCE, &operands, |l| {
            let shared_by = if each[l] < 0.5 { count[l] } else { 1.0 };
            internal[l] + shared_by * outside[l]
        })
    });
    let times: [(FigureId, InputId, bool); 3] = [
        (figures.turn_off_delay, gate.turn_off_delay, true),
        (figures.turn_on_delay, gate.turn_on_delay, false),
        (figures.turn_on_time, gate.turn_on_time, false),
    ];
    apart(drive, [on, off], pass);
    let Some(with) = gate.stated_with else {
        for (figure, input, _) in times {
            let stated = pass.input(input);
            pass.put(figure, &laws::STATED, &[input.into()], |l| stated[l]);
        }
        return;
    };
    let stated_with = pass.input(with);
    for (figure, input, is_off) in times {
        let (resistance, fitted) =
            if is_off { (figures.off_resistance, off) } else { (figures.on_resistance, on) };
        let (law, scaled): (_, fn(Time, Resistance, Resistance) -> Time) = if figure == figures.turn_on_delay
        {
            (&other_resistor::SHORTEST, other_resistor::shortest)
        } else {
            (&other_resistor::LONGEST, other_resistor::longest)
        };
        let stated = pass.input(input);
        pass.put(figure, law, &[input.into(), resistance.into(), with.into()], |l| {
            scaled(Time::new(stated[l]), Resistance::new(fitted[l]), Resistance::new(stated_with[l])).si()
        });
    }
}

/// How far the resistors are from those that the energies hold at.
fn apart<const L: usize, T: Trace>(drive: &GateDrive, fitted: [[f64; L]; 2], pass: &mut Pass<'_, L, T>) {
    let (figures, gate) = (&drive.figures, &drive.gate);
    let Some(with) = gate.energies_hold_at() else { return };
    let (outside, internal) = (pass.input(with), pass.input(gate.internal));
    let is_outside = gate.measured_with.is_some();
    let operands: [Operand; 4] =
        [figures.on_resistance.into(), figures.off_resistance.into(), with.into(), gate.internal.into()];
    let operands = if is_outside { &operands[..] } else { &operands[..3] };
    pass.put(figures.apart, &other_resistor::APART, operands, |l| {
        let held_at = if is_outside { outside[l] + internal[l] } else { outside[l] };
        let [on, off] =
            fitted.map(|ohms| other_resistor::apart(Resistance::new(ohms[l]), Resistance::new(held_at)));
        more(on, off)
    });
}

fn short<const L: usize, T: Trace>(plan: &Plan, drive: &GateDrive, pass: &mut Pass<'_, L, T>) {
    if !drive.may_short {
        return;
    }
    let (figures, gate, channel) = (&drive.figures, &drive.gate, &drive.channel);
    let [blanking, filter, delay, turn_off] =
        [channel.blanking, channel.filter, channel.delay, channel.turn_off].map(|input| pass.input(input));
    let operands: [Operand; 4] =
        [channel.blanking.into(), channel.filter.into(), channel.delay.into(), channel.turn_off.into()];
    pass.put(figures.reaction, &short_circuit::REACTION, &operands, |l| {
        let times = Reaction {
            blanking: Time::new(blanking[l]),
            filter: Time::new(filter[l]),
            propagation: Time::new(delay[l]),
            turn_off: Time::new(turn_off[l]),
        };
        short_circuit::reaction(&times).si()
    });
    let Some(bus) = plan.stages[drive.stage].withstands[drive.withstand].bus else { return };
    let highest = plan.buses[bus].highest_voltage;
    let (time, at, volts) =
        (pass.input(gate.withstand), pass.input(gate.withstand_voltage), pass.figure(highest));
    let operands: [Operand; 3] = [gate.withstand.into(), gate.withstand_voltage.into(), highest.into()];
    pass.put(figures.withstand, &short_circuit::AT_VOLTAGE, &operands, |l| {
        short_circuit::at_voltage(Time::new(time[l]), Voltage::new(at[l]), Voltage::new(volts[l])).si()
    });
}

fn asked<const L: usize, T: Trace>(plan: &Plan, feed: &GateFeed, pass: &mut Pass<'_, L, T>) {
    let powers = || feed.drives.iter().map(|&drive| plan.gate_drives[drive].figures.power);
    let mut sum = [0.0; L];
    for figure in powers() {
        let watts = pass.figure(figure);
        for l in 0..L {
            sum[l] += watts[l];
        }
    }
    let mut operands: Vec<Operand> = Vec::new();
    if T::LISTENS {
        operands.extend(powers().map(Operand::Figure));
    }
    for bootstrap in plan.bootstraps.iter().filter(|bootstrap| bootstrap.from == feed.supply) {
        let drive = &plan.gate_drives[bootstrap.drive];
        let inputs = [
            bootstrap.leakage,
            bootstrap.charged_from,
            drive.channel.own_power,
            bootstrap.shift_charge,
            plan.stages[drive.stage].carrier,
        ];
        let [leakage, volts, own, shift, carrier] = inputs.map(|input| pass.input(input));
        for l in 0..L {
            // What the driver takes itself is counted already, and part of what runs the capacitor down.
            let beside = more(leakage[l] * volts[l].abs() - own[l], 0.0);
            let shifted = shift[l] * volts[l].abs() * carrier[l];
            sum[l] += drive.positions.len() as f64 * (beside + shifted);
        }
        if T::LISTENS {
            operands.extend(inputs.map(Operand::Input));
        }
    }
    pass.put(feed.asked, &ASKED, &operands, |l| sum[l]);
    if let (Some(efficiency), Some(taken)) = (feed.efficiency, feed.taken) {
        let share = pass.input(efficiency);
        pass.put(taken, &TAKEN, &[feed.asked.into(), efficiency.into()], |l| sum[l] / share[l]);
    }
}

fn dead<const L: usize, T: Trace>(plan: &Plan, of: &DeadTime, pass: &mut Pass<'_, L, T>) {
    let stage = &plan.stages[of.stage];
    let mut operands: Vec<Operand> = Vec::new();
    let mut needed = [f64::NEG_INFINITY; L];
    for handover in &of.handovers {
        let (off, fall) = (pass.figure(handover.turn_off_delay), pass.input(handover.fall));
        let (on, own) = (pass.figure(handover.turn_on_delay), pass.input(handover.skew));
        let [leaves, comes] = match handover.delays {
            Some((off, on)) => [pass.input(off), pass.input(on)],
            None => [[0.0; L]; 2],
        };
        for l in 0..L {
            let delays = dead_time::Delays {
                off: Time::new(off[l]),
                fall: Time::new(fall[l]),
                on: Time::new(on[l]),
                skew: Time::new(own[l] + leaves[l] - comes[l]),
            };
            needed[l] = more(needed[l], dead_time::needed(&delays, 1.0).si());
        }
        if T::LISTENS {
            let own: [Operand; 4] = [
                handover.turn_off_delay.into(),
                handover.fall.into(),
                handover.turn_on_delay.into(),
                handover.skew.into(),
            ];
            let delays = handover.delays.into_iter().flat_map(|(off, on)| [off, on]);
            for operand in own.into_iter().chain(delays.map(Operand::Input)) {
                if !operands.contains(&operand) {
                    operands.push(operand);
                }
            }
        }
    }
    pass.put(of.needed, &NEEDED, &operands, |l| needed[l]);
    let (dead, carrier) = (pass.input(stage.dead_time), pass.input(stage.carrier));
    let operands: [Operand; 2] = [stage.dead_time.into(), stage.carrier.into()];
    pass.put(of.share, &DEAD_SHARE, &operands, |l| dead[l] * carrier[l]);
}

static NEEDED: Law = Law {
    name: "time from command to command that keeps two switches apart",
    formula: "t = max(t_d,off + t_f − t_d,on + t_skew), the skew between drivers of two kinds t_off − t_on + t_skew of the one that turns on",
    validity: dead_time::NEEDED.validity,
    source: dead_time::NEEDED.source,
};
