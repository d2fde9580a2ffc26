//! The charge of each bus, how long it takes to go, and what putting it there costs. Reckoned once after everything is
//! solved, from the highest voltage.

use loadworthy_physics::stored_energy::{self, HARMLESS};
use loadworthy_physics::{Capacitance, Current, Law, Power, Resistance, Voltage};

use crate::plan::{ActiveDischarge, Plan, Precharge, Stored};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static FOLLOWED: Law = Law {
    name: "time of a discharge with what follows through diodes",
    formula: "t = Σ t_k, each C_k·∫V·dV/(V²/R + P) down to the voltage at which the next bank joins, at last to 60 V",
    validity: "capacitance at the high end of its tolerance; sources and loads off, machines at standstill; discharges of the followers left out",
    source: stored_energy::DISCHARGE_TIME.source,
};

/// Discharges, then pre-charges.
pub(crate) fn charges<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for stored in &plan.stored {
        discharge(plan, stored, pass);
    }
    for stored in &plan.stored {
        if let Some(follows) = stored.follows {
            follow(stored, &plan.stored[follows], pass);
        }
    }
    for precharge in &plan.precharges {
        charge(plan, precharge, pass);
    }
}

/// Capacitance of the banks of a bus at the high end of its tolerance.
fn capacitance<const L: usize, T: Trace>(plan: &Plan, bus: usize, pass: &Pass<'_, L, T>) -> [f64; L] {
    let mut sum = [0.0; L];
    for &bank in &plan.buses[bus].ripple.banks {
        let bank = &plan.banks[bank];
        let (parts, each) = (pass.input(bank.parts), pass.input(bank.each.capacitance));
        let tolerance = pass.input(bank.each.tolerance);
        for l in 0..L {
            sum[l] += parts[l] * each[l] * (1.0 + tolerance[l]);
        }
    }
    sum
}

/// What the energy of a bus follows from.
fn operands(plan: &Plan, bus: usize) -> Vec<Operand> {
    let mut from: Vec<Operand> = vec![plan.buses[bus].highest_voltage.into()];
    for &bank in &plan.buses[bus].ripple.banks {
        let bank = &plan.banks[bank];
        from.extend([bank.parts, bank.each.capacitance, bank.each.tolerance].map(Operand::Input));
    }
    from
}

fn discharge<const L: usize, T: Trace>(plan: &Plan, stored: &Stored, pass: &mut Pass<'_, L, T>) {
    let farads = capacitance(plan, stored.bus, pass);
    let highest = pass.figure(plan.buses[stored.bus].highest_voltage);
    let figures = &stored.figures;
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from = operands(plan, stored.bus);
    }
    pass.put(figures.energy, &stored_energy::ENERGY, &from, |l| {
        stored_energy::energy(Capacitance::new(farads[l]), Voltage::new(highest[l])).si()
    });
    if stored.follows.is_some() {
        return;
    }
    if T::LISTENS {
        for &follower in &stored.followers {
            from.extend(operands(plan, follower));
        }
    }
    let mut conductance = [0.0; L];
    if let Some((resistor, _)) = stored.resistor {
        let ohms = pass.input(resistor);
        conductance = core::array::from_fn(|l| 1.0 / ohms[l]);
        let of_loss: &[Operand] = &[plan.buses[stored.bus].highest_voltage.into(), resistor.into()];
        pass.put(figures.resistor_loss, &laws::RESISTOR_LOSS, of_loss, |l| highest[l] * highest[l] / ohms[l]);
        if T::LISTENS {
            from.push(resistor.into());
        }
        let time: [f64; L] =
            core::array::from_fn(|l| time(plan, stored, &farads, (conductance[l], 0.0), l, pass));
        pass.put(figures.passive_time, &FOLLOWED, &from, |l| time[l]);
    }
    let Some(active) = stored.active else { return };
    let mut power = [0.0; L];
    let input = match active {
        ActiveDischarge::Power(input) => {
            power = pass.input(input);
            input
        }
        ActiveDischarge::Resistance(input) => {
            let ohms = pass.input(input);
            conductance = core::array::from_fn(|l| conductance[l] + 1.0 / ohms[l]);
            input
        }
    };
    if T::LISTENS {
        from.push(input.into());
    }
    let time: [f64; L] =
        core::array::from_fn(|l| time(plan, stored, &farads, (conductance[l], power[l]), l, pass));
    pass.put(figures.active_time, &FOLLOWED, &from, |l| time[l]);
}

/// Time down to 60 V, in stretches between the voltages at which followers join.
fn time<const L: usize, T: Trace>(
    plan: &Plan,
    stored: &Stored,
    farads: &[f64; L],
    (conductance, power): (f64, f64),
    l: usize,
    pass: &Pass<'_, L, T>,
) -> f64 {
    let highest_of = |bus: usize| pass.figures[plan.buses[bus].highest_voltage.index()][l];
    let (mut at, mut seconds) = (highest_of(stored.bus), 0.0);
    let end = HARMLESS.si();
    for _ in 0..=stored.followers.len() {
        let (mut farad, mut next) = (farads[l], end);
        for &follower in &stored.followers {
            let joins = highest_of(follower);
            if joins < at {
                if joins > next {
                    next = joins;
                }
            } else {
                // It joined; one of which nothing is known counts as well, and leaves the time unknown.
                farad += capacitance(plan, follower, pass)[l] + 0.0 * joins;
            }
        }
        let stretch = (Voltage::new(at), Voltage::new(next));
        let (farad, watts) = (Capacitance::new(farad), Power::new(power));
        seconds += stored_energy::discharge_time(farad, stretch, conductance, watts).si();
        at = next;
    }
    seconds
}

/// A bus without a discharge of its own is done when the one that it follows is.
fn follow<const L: usize, T: Trace>(stored: &Stored, leader: &Stored, pass: &mut Pass<'_, L, T>) {
    if leader.resistor.is_some() {
        let seconds = pass.figure(leader.figures.passive_time);
        let from: &[Operand] = &[leader.figures.passive_time.into()];
        pass.put(stored.figures.passive_time, &laws::FOLLOWS, from, |l| seconds[l]);
    }
    if leader.active.is_some() {
        let seconds = pass.figure(leader.figures.active_time);
        let from: &[Operand] = &[leader.figures.active_time.into()];
        pass.put(stored.figures.active_time, &laws::FOLLOWS, from, |l| seconds[l]);
    }
}

fn charge<const L: usize, T: Trace>(plan: &Plan, precharge: &Precharge, pass: &mut Pass<'_, L, T>) {
    let mut farads = capacitance(plan, precharge.bus, pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from = operands(plan, precharge.bus);
        from[0] = precharge.source.into();
    }
    // What stands behind a diode is charged as well.
    for stored in plan.stored.iter().filter(|stored| stored.followers.contains(&precharge.bus)) {
        let behind = capacitance(plan, stored.bus, pass);
        farads = core::array::from_fn(|l| farads[l] + behind[l]);
        if T::LISTENS {
            from.extend(operands(plan, stored.bus).into_iter().skip(1));
        }
    }
    let mut ohms = [0.0; L];
    for &resistance in &precharge.resistances {
        let more = pass.input(resistance);
        ohms = core::array::from_fn(|l| ohms[l] + more[l]);
    }
    let (volts, share) = (pass.input(precharge.source), pass.input(precharge.rest));
    let mut of_inrush: Vec<Operand> = Vec::new();
    if T::LISTENS {
        of_inrush.push(precharge.source.into());
        of_inrush.extend(precharge.resistances.iter().map(|&ohms| Operand::Input(ohms)));
    }
    pass.put(precharge.inrush, &laws::PRECHARGE_INRUSH, &of_inrush, |l| volts[l] / ohms[l]);
    let mut load = pass.input(precharge.load);
    let resistor = plan.stored.iter().find(|stored| stored.bus == precharge.bus).and_then(|one| one.resistor);
    if let Some((resistor, _)) = resistor {
        let ohms = pass.input(resistor);
        load = core::array::from_fn(|l| load[l] + volts[l] / ohms[l]);
    }
    let of_rest: &[Operand] = &[precharge.source.into(), precharge.rest.into()];
    let rest = pass.put(precharge.rest_voltage, &laws::REST_VOLTAGE, of_rest, |l| share[l] * volts[l]);
    let mut of_drop: Vec<Operand> = Vec::new();
    if T::LISTENS {
        of_drop.extend([precharge.load, precharge.source].map(Operand::Input));
        of_drop.extend(resistor.map(|(resistor, _)| Operand::Input(resistor)));
        of_drop.extend(precharge.resistances.iter().map(|&ohms| Operand::Input(ohms)));
    }
    pass.put(precharge.drop, &laws::PRECHARGE_DROP, &of_drop, |l| load[l] * ohms[l]);
    if T::LISTENS {
        from.push(precharge.rest_voltage.into());
    }
    pass.put(precharge.energy, &stored_energy::CHARGE_LOSS, &from, |l| {
        let (farad, source) = (Capacitance::new(farads[l]), Voltage::new(volts[l]));
        stored_energy::charge_loss(farad, source, Voltage::new(rest[l])).si()
    });
    if T::LISTENS {
        from.push(precharge.drop.into());
    }
    pass.put(precharge.time, &stored_energy::CHARGE_TIME, &from, |l| {
        let (farad, ohms) = (Capacitance::new(farads[l]), Resistance::new(ohms[l]));
        let ends = (Voltage::new(volts[l]), Voltage::new(rest[l]));
        stored_energy::charge_time(farad, ohms, ends, Current::new(load[l])).si()
    });
}
