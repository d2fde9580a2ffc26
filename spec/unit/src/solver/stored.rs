//! The charge of each bus, how long it takes to go, and what putting it there costs. Reckoned once after everything is
//! solved, from the highest voltage.

use loadworthy_physics::followed_discharge::{self, Charge};
use loadworthy_physics::fuse::capacitor_peak;
use loadworthy_physics::stored_energy::{self, Charging, HARMLESS};
use loadworthy_physics::{Capacitance, Current, Inductance, Resistance, Voltage};

use crate::ids::InputId;
use crate::plan::{ActiveDischarge, Plan, Precharge, Stored};
use crate::solver::pass::Pass;
use crate::solver::{fuse, laws};
use crate::trace::{Operand, Trace};

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
            let follower = &plan.stored[follower];
            from.extend(operands(plan, follower.bus));
            from.extend(follower.resistor.map(|(resistor, _)| Operand::Input(resistor)));
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
            core::array::from_fn(|l| time(plan, stored, &farads, (conductance[l], 0.0), (l, false), pass));
        pass.put(figures.passive_time, &followed_discharge::FOLLOWED, &from, |l| time[l]);
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
        from.extend(stored.followers.iter().filter_map(|&follower| switched_on(&plan.stored[follower])));
    }
    let time: [f64; L] =
        core::array::from_fn(|l| time(plan, stored, &farads, (conductance[l], power[l]), (l, true), pass));
    pass.put(figures.active_time, &followed_discharge::FOLLOWED, &from, |l| time[l]);
}

/// The input of a discharge that is switched on.
fn switched_on(stored: &Stored) -> Option<Operand> {
    match stored.active? {
        ActiveDischarge::Power(input) | ActiveDischarge::Resistance(input) => Some(input.into()),
    }
}

/// Time down to 60 V with what follows, by resistors alone or with what is switched on.
fn time<const L: usize, T: Trace>(
    plan: &Plan,
    stored: &Stored,
    farads: &[f64; L],
    (conductance, watts): (f64, f64),
    (l, is_active): (usize, bool),
    pass: &Pass<'_, L, T>,
) -> f64 {
    let volts = |bus: usize| pass.figures[plan.buses[bus].highest_voltage.index()][l];
    let leader = Charge { farads: farads[l], volts: volts(stored.bus), conductance, watts };
    let follower = |place: usize| {
        let one = &plan.stored[stored.followers[place]];
        let (mut conductance, mut watts) = (0.0, 0.0);
        if let Some((ohms, _)) = one.resistor {
            conductance += 1.0 / pass.input(ohms)[l];
        }
        match one.active.filter(|_| is_active) {
            Some(ActiveDischarge::Power(input)) => watts = pass.input(input)[l],
            Some(ActiveDischarge::Resistance(ohms)) => conductance += 1.0 / pass.input(ohms)[l],
            None => {}
        }
        Charge { farads: capacitance(plan, one.bus, pass)[l], volts: volts(one.bus), conductance, watts }
    };
    followed_discharge::time(leader, stored.followers.len(), follower, HARMLESS.si())
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

/// Crest of the current that what a pre-charge left drives through the contactor that it leads around.
fn closing<const L: usize, T: Trace>(
    plan: &Plan,
    precharge: &Precharge,
    rest: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let (source, banks) = (&plan.sources[precharge.from], &plan.buses[precharge.bus].ripple.banks);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(precharge.rest_voltage.into());
        from.push(source.lowest_resistance.into());
        from.extend(source.line.iter().copied().map(Operand::Input));
        fuse::banks_from(plan, banks, &mut from);
        let henries = banks.iter().map(|&bank| &plan.banks[bank]);
        let henries = henries.flat_map(|bank| [bank.each.inductance, bank.path_inductance]);
        let stated = henries.chain([source.inductance]).filter(|&id| pass.input(id)[0].is_finite());
        from.extend(stated.map(Operand::Input).collect::<Vec<_>>());
    }
    let inputs = pass.inputs;
    pass.put(precharge.closing, &laws::CLOSING_CURRENT, &from, |l| {
        let input = |id: InputId| inputs[id.index()][l];
        let (farads, before) = fuse::of_banks(plan, banks, input);
        let line: f64 = source.line.iter().map(|&ohms| input(ohms)).sum();
        let own = input(source.inductance);
        let henry = fuse::inductance_of_banks(plan, banks, input) + if own.is_finite() { own } else { 0.0 };
        let path = Resistance::new(input(source.lowest_resistance) + line + before);
        capacitor_peak(Capacitance::new(farads), Voltage::new(rest[l]), path, Inductance::new(henry)).si()
    });
}

fn charge<const L: usize, T: Trace>(plan: &Plan, precharge: &Precharge, pass: &mut Pass<'_, L, T>) {
    let (mut farads, mut conductance) = ([0.0; L], [0.0; L]);
    let mut of_drop: Vec<Operand> = Vec::new();
    let mut from: Vec<Operand> = Vec::new();
    // What stands behind a diode is charged as well, and its resistor draws as well.
    for &charge in &precharge.charges {
        let stored = &plan.stored[charge];
        let more = capacitance(plan, stored.bus, pass);
        farads = core::array::from_fn(|l| farads[l] + more[l]);
        if let Some((resistor, _)) = stored.resistor {
            let ohms = pass.input(resistor);
            conductance = core::array::from_fn(|l| conductance[l] + 1.0 / ohms[l]);
        }
        if T::LISTENS {
            from.extend(operands(plan, stored.bus).into_iter().skip(1));
            of_drop.extend(stored.resistor.map(|(resistor, _)| Operand::Input(resistor)));
        }
    }
    let mut ohms = [0.0; L];
    for &resistance in &precharge.resistances {
        let more = pass.input(resistance);
        ohms = core::array::from_fn(|l| ohms[l] + more[l]);
    }
    let (volts, share, load) =
        (pass.input(precharge.source), pass.input(precharge.rest), pass.input(precharge.load));
    let mut of_inrush: Vec<Operand> = Vec::new();
    if T::LISTENS {
        of_inrush.push(precharge.source.into());
        of_inrush.extend(precharge.resistances.iter().map(|&ohms| Operand::Input(ohms)));
        of_drop.push(precharge.load.into());
        of_drop.extend(&of_inrush);
    }
    let inrush = pass.put(precharge.inrush, &laws::PRECHARGE_INRUSH, &of_inrush, |l| volts[l] / ohms[l]);
    let of_peak: &[Operand] = &[precharge.source.into(), precharge.inrush.into()];
    pass.put(precharge.peak_power, &laws::PRECHARGE_PEAK, of_peak, |l| volts[l] * inrush[l]);
    let of_rest: &[Operand] = &[precharge.source.into(), precharge.rest.into()];
    let rest = pass.put(precharge.rest_voltage, &laws::REST_VOLTAGE, of_rest, |l| share[l] * volts[l]);
    closing(plan, precharge, &rest, pass);
    let charging = |l: usize| Charging {
        capacitance: Capacitance::new(farads[l]),
        resistance: Resistance::new(ohms[l]),
        source: Voltage::new(volts[l]),
        rest: Voltage::new(rest[l]),
        load: Current::new(load[l]),
        conductance: conductance[l],
    };
    pass.put(precharge.drop, &stored_energy::CHARGE_DROP, &of_drop, |l| {
        stored_energy::charge_drop(&charging(l)).si()
    });
    if T::LISTENS {
        from.extend(&of_drop);
        from.extend([precharge.rest_voltage, precharge.drop].map(Operand::Figure));
    }
    let joules = pass.put(precharge.energy, &stored_energy::CHARGE_LOSS, &from, |l| {
        stored_energy::charge_loss(&charging(l)).si()
    });
    let mut of_pulse: Vec<Operand> = Vec::new();
    if T::LISTENS {
        of_pulse.push(precharge.energy.into());
        of_pulse.extend(precharge.resistances.iter().map(|&ohms| Operand::Input(ohms)));
    }
    pass.put(precharge.pulse, &laws::PRECHARGE_PULSE, &of_pulse, |l| joules[l] / ohms[l]);
    pass.put(precharge.time, &stored_energy::CHARGE_TIME, &from, |l| {
        stored_energy::charge_time(&charging(l)).si()
    });
}
