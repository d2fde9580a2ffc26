//! What fuses carry, and what faults drive through them, once everything else is solved: it changes nothing of that.

mod faults;

use loadworthy_physics::{Capacitance, Current, Law, Resistance, Temperature, Time, Voltage, fuse};

use crate::ids::InputId;
use crate::plan::{Fuse, Plan};
use crate::solver::pass::Pass;
use crate::solver::{let_through, overload};
use crate::trace::{Operand, Trace};

static OVERLOAD: Law = Law {
    name: "current that does not melt a fuse while a duty point lasts",
    formula: "I = I_n·k(t)·√((T_el − T_a)/(T_el − 25 °C)), k of its time-current curve at t less 10 %, of a load that comes and goes times the share for that; never less than it carries for good",
    validity: "from cold; times between those of the curve, of a shorter one the current of its shortest",
    source: loadworthy_physics::fuse::TIME_CURRENT.source,
};

/// Coldest copper that a fault current meets, in °C.
pub(super) const COLDEST: f64 = -40.0;

/// Puts the figures of every fuse and of what it protects.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for fuse in &plan.fuses {
        carries(plan, fuse, pass);
        faults::faults(plan, fuse, pass);
        let_through::lets_through(fuse, pass);
    }
    for fuse in &plan.fuses {
        for protected in &fuse.protects {
            let conductor = &plan.conductors[protected.conductor];
            let_through::through(plan, fuse, protected, pass);
            let_through::withstood(conductor, protected, pass);
        }
    }
    for one in &plan.emptied {
        let conductor = &plan.conductors[one.protected.conductor];
        let_through::emptied(plan, one, pass);
        let_through::withstood(conductor, &one.protected, pass);
    }
    overload::settle(plan, pass);
}

fn carries<const L: usize, T: Trace>(plan: &Plan, fuse: &Fuse, pass: &mut Pass<'_, L, T>) {
    let air = plan.conductors[fuse.conductor].surroundings;
    let (amps, celsius, element) = (pass.input(fuse.rated), pass.input(air), pass.input(fuse.element));
    let cyclic = pass.input(fuse.cyclic);
    let from: [Operand; 4] = [fuse.rated.into(), air.into(), fuse.element.into(), fuse.cyclic.into()];
    let derated = |l: usize, share: f64| {
        let (air, element) = (Temperature::celsius(celsius[l]), Temperature::celsius(element[l]));
        fuse::derated(Current::new(amps[l]), air, element, share).si()
    };
    let for_good = pass.put(fuse.figures.continuous, &fuse::DERATED, &from[..3], |l| derated(l, 1.0));
    let coming = pass.put(fuse.figures.cyclic, &fuse::DERATED, &from, |l| derated(l, cyclic[l]));
    let Some(curve) = &fuse.curve else { return };
    let lasts = pass.input(curve.lasts);
    let within = |l: usize, least: f64, share: f64| {
        let stands = fuse::TimeCurrent(&curve.points).stands(Time::new(lasts[l]));
        let stands = derated(l, stands * share);
        // What lasts longer than the curve is held for good.
        if stands > least { stands } else { least }
    };
    let from: [Operand; 7] = [
        fuse.figures.continuous.into(),
        curve.curve.into(),
        curve.lasts.into(),
        fuse.rated.into(),
        air.into(),
        fuse.element.into(),
        fuse.cyclic.into(),
    ];
    pass.put(curve.overload, &OVERLOAD, &from[..6], |l| within(l, for_good[l], 1.0));
    pass.put(curve.cyclic, &OVERLOAD, &from, |l| within(l, coming[l], cyclic[l]));
}

/// Banks that discharge together: their capacitance, and the resistance before which they stand, in F and Ω.
pub(super) fn of_banks(plan: &Plan, banks: &[usize], input: impl Fn(InputId) -> f64) -> (f64, f64) {
    let each = || each_of(plan, banks, &input);
    (each().map(|(farad, _)| farad.si()).sum(), 1.0 / each().map(|(_, ohms)| 1.0 / ohms.si()).sum::<f64>())
}

/// Capacitance of each bank, and the resistance before which it stands.
fn each_of<'p>(
    plan: &'p Plan,
    banks: &'p [usize],
    input: impl Fn(InputId) -> f64,
) -> impl Iterator<Item = (Capacitance, Resistance)> {
    banks.iter().map(move |&bank| {
        let bank = &plan.banks[bank];
        let parts = input(bank.parts);
        let farads = parts * input(bank.each.capacitance) * (1.0 + input(bank.each.tolerance));
        let ohms = input(bank.each.series_resistance) / parts + input(bank.path_resistance);
        (Capacitance::new(farads), Resistance::new(ohms))
    })
}

/// I²t in A²s that banks send through what lies between them and a fault.
pub(super) fn of_discharge(
    plan: &Plan,
    banks: &[usize],
    volts: f64,
    way: f64,
    input: impl Fn(InputId) -> f64,
) -> f64 {
    let each = each_of(plan, banks, input);
    fuse::banks_let_through(each, Voltage::new(volts), Resistance::new(way))
}

/// Inductance of the banks; that of one that states none is left out, which reads high.
pub(super) fn inductance_of_banks(plan: &Plan, banks: &[usize], input: impl Fn(InputId) -> f64) -> f64 {
    let stated = |id: InputId| if input(id).is_finite() { input(id) } else { 0.0 };
    let own = |bank: &crate::plan::Bank| {
        stated(bank.each.inductance) / input(bank.parts) + stated(bank.path_inductance)
    };
    let all = banks.iter().map(|&bank| own(&plan.banks[bank]));
    if all.clone().any(|henry| henry == 0.0) { 0.0 } else { 1.0 / all.map(|henry| 1.0 / henry).sum::<f64>() }
}

pub(super) fn banks_from(plan: &Plan, banks: &[usize], from: &mut Vec<Operand>) {
    for bank in banks.iter().map(|&bank| &plan.banks[bank]) {
        let each = &bank.each;
        let of_each = [each.capacitance, each.tolerance, each.series_resistance];
        from.extend([bank.parts, bank.path_resistance].into_iter().chain(of_each).map(Operand::from));
    }
}
