//! What fuses carry, and what faults drive through them, once everything else is solved: it changes nothing of that.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{
    Capacitance, Current, Inductance, Law, Resistance, Temperature, Time, Voltage, fuse,
};

use crate::ids::InputId;
use crate::plan::{Drive, Fuse, Plan, Source};
use crate::solver::pass::Pass;
use crate::solver::{laws, let_through, overload};
use crate::trace::{Operand, Trace};

static ACROSS: Law = Law {
    name: "highest voltage across an open fuse",
    formula: "V = the larger of `highest` of its bus and the highest open-circuit voltage that drives it",
    validity: "arc and inductance of the loop left to the fuse's own rating",
    source: "definition",
};

static OPEN_CIRCUIT: Law = Law {
    name: "voltage across an open fuse that its sources have without current",
    formula: "V = the largest open-circuit voltage that drives it",
    validity: "at least so much: what recovers or charges lifts the bus above it",
    source: "definition",
};

static HIGHEST: Law = Law {
    name: "highest prospective current",
    formula: "I = Σ(V_max/R_min)/Σ(1/R_min)/(1/Σ(1/R_min) + R_way) + Σ I_short; in the branch of a source, or from the high side of a boost or a buck, the larger of what drives it one way and the other; copper at −40 °C, the fuse itself left out",
    validity: "direct current, bolted fault right beside the fuse; discharge of banks by itself",
    source: "Ohm's law; IEC 61660-1",
};

static DELIVERED: Law = Law {
    name: "highest current that converters deliver into a fault",
    formula: "I = Σ of what bounds each converter: its late trip, of a chopper times its legs; the trip of the chokes at an output times their number",
    validity: "of a bus that converters alone feed; for as long as they go on, which their control may end at once; discharge of banks by itself",
    source: "definition of their trips",
};

static LOWEST: Law = Law {
    name: "lowest prospective current",
    formula: "I = V_min/(R_max + R_way), of several sources the weakest by itself; copper of the way and of the way back, where one is described, at 150 °C, the fuse and the longest unfused branch behind it counted; other sources at their strongest hold up the bus before that branch",
    validity: "direct current, bolted fault at the far end; arcs leave less",
    source: "Ohm's law; IEC 61660-1",
};

static BANKS: Law = Law {
    name: "I²t that banks send through a fuse",
    formula: "I²t = C·V²/(2·(R_bank + R_way)), of several banks the lesser of that of all together, C = ΣC_k and 1/R_bank = Σ1/R_k, and (Σ √(I²t of each alone))²; copper at −40 °C, the fuse itself left out",
    validity: "whole discharge from the highest voltage, capacitances at the upper end of their tolerance; of unlike banks a bound without their inductance",
    source: loadworthy_physics::fuse::BANKS_LET_THROUGH.source,
};

static SURGE: Law = Law {
    name: "highest prospective current with the discharge of banks",
    formula: "I = I_sources + peak of the discharge, where its I²t reaches the melting I²t of the fuse; else I_sources: the banks are empty before it melts",
    validity: "a bound: peaks of both at once, inductance of the way left out, that of the banks left out where it is not stated",
    source: loadworthy_physics::fuse::CAPACITOR_PEAK.source,
};

static OVERLOAD: Law = Law {
    name: "current that does not melt a fuse while a duty point lasts",
    formula: "I = I_n·k(t)·√((T_el − T_a)/(T_el − 25 °C)), k of its time-current curve at t less 10 %, of a load that comes and goes times the share for that; never less than it carries for good",
    validity: "from cold; times between those of the curve, of a shorter one the current of its shortest",
    source: loadworthy_physics::fuse::TIME_CURRENT.source,
};

/// Coldest and hottest copper that a fault current meets, in °C.
pub(super) const COLDEST: f64 = -40.0;
const HOTTEST: f64 = 150.0;

/// Puts the figures of every fuse and of what it protects.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for fuse in &plan.fuses {
        carries(plan, fuse, pass);
        faults(plan, fuse, pass);
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

/// Conductance of sources at their strongest, what they drive into a short circuit through it, and what others add to it.
fn strongest<'d>(
    drives: impl Iterator<Item = &'d Drive>,
    input: impl Fn(InputId) -> f64,
    way: impl Fn(&[InputId]) -> f64,
) -> (f64, f64, f64) {
    let (mut conducts, mut over, mut short) = (0.0, 0.0, 0.0);
    for drive in drives {
        match drive.short_circuit {
            Some((highest, _)) => short += input(highest),
            None => {
                let ohms = input(drive.resistance.0) + way(&drive.line);
                over += input(drive.voltage.0) / ohms;
                conducts += 1.0 / ohms;
            }
        }
    }
    (conducts, over, short)
}

fn faults<const L: usize, T: Trace>(plan: &Plan, fuse: &Fuse, pass: &mut Pass<'_, L, T>) {
    let figures = &fuse.figures;
    let conductor = &plan.conductors[fuse.conductor];
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(fuse.across.iter().map(|&volts| Operand::Input(volts)));
    }
    let inputs = pass.inputs;
    let input = |id: InputId, l: usize| inputs[id.index()][l];
    let across = pass.put(figures.highest_voltage, &ACROSS, &from, |l| {
        let volts = fuse.across.iter().map(|&volts| input(volts, l));
        volts.fold(if fuse.across.is_empty() { f64::NAN } else { 0.0 }, |most, volts| {
            // What is missing stays missing.
            if most.is_nan() || volts <= most { most } else { volts }
        })
    });

    if let Some(open_circuit) = figures.open_circuit {
        let known = || fuse.across.iter().filter(|&&volts| input(volts, 0).is_finite());
        let from: Vec<Operand> =
            if T::LISTENS { known().map(|&volts| Operand::Input(volts)).collect() } else { Vec::new() };
        pass.put(open_circuit, &OPEN_CIRCUIT, &from, |l| {
            let volts = fuse.across.iter().map(|&volts| input(volts, l));
            volts.fold(f64::NAN, |most, volts| if volts > most || most.is_nan() { volts } else { most })
        });
    }

    let air = conductor.surroundings;
    let shares = |celsius: f64| -> [f64; L] {
        core::array::from_fn(|l| {
            growth(Temperature::celsius(celsius)) / growth(Temperature::celsius(input(air, l)))
        })
    };
    // How much more or less copper resists at its coldest and at its hottest than as stated.
    let (coldest, hottest) = (shares(COLDEST), shares(HOTTEST));
    let way = |line: &[InputId], shares: &[f64; L], l: usize| -> f64 {
        line.iter().map(|&ohms| input(ohms, l)).sum::<f64>() * shares[l]
    };
    // Banks stand at the bus: before a fuse of a load, behind one that sources at its node drive.
    let from_bus = if fuse.from_node { &fuse.after } else { &fuse.before };
    let mut peaks = [0.0; L];
    if let Some(surge) = fuse.surge {
        if T::LISTENS {
            from.clear();
            from.push(figures.highest_voltage.into());
            banks_from(plan, &fuse.banks, &mut from);
            from.extend(from_bus.iter().map(|&ohms| Operand::Input(ohms)));
            from.push(air.into());
        }
        let sent = pass.put(surge.let_through, &BANKS, &from, |l| {
            of_discharge(plan, &fuse.banks, across[l], way(from_bus, &coldest, l), |id| input(id, l))
        });
        peaks = core::array::from_fn(|l| {
            let melting = input(fuse.melting, l);
            if sent[l] < melting {
                return 0.0;
            }
            let (farads, ohms) = of_banks(plan, &fuse.banks, |id| input(id, l));
            let path = Resistance::new(ohms + way(from_bus, &coldest, l));
            let henry = Inductance::new(inductance_of_banks(plan, &fuse.banks, |id| input(id, l)));
            let peak =
                fuse::capacitor_peak(Capacitance::new(farads), Voltage::new(across[l]), path, henry).si();
            // Not known where it is not known whether it melts.
            if melting.is_nan() { melting } else { peak }
        });
    }
    if T::LISTENS {
        from.clear();
        from.extend(fuse.drives.iter().chain(&fuse.others).flat_map(|drive| of_drive(drive, false)));
        from.extend(fuse.before.iter().chain(&fuse.after).map(|&ohms| Operand::Input(ohms)));
        from.push(air.into());
    }
    // What drives it with the banks and what drives it against them.
    let mut sides = [(0.0, 0.0); L];
    let mut law = &HIGHEST;
    if let Some(delivered) = &fuse.delivered {
        law = &DELIVERED;
        if T::LISTENS {
            delivered.from(plan, &mut from);
        }
    }
    let highest = pass.put(figures.highest_fault, law, &from, |l| {
        if let Some(delivered) = &fuse.delivered {
            let amps = delivered.highest(plan, |operand| match operand {
                Operand::Input(id) => input(id, l),
                Operand::Figure(_) | Operand::Curve(_) => f64::NAN,
            });
            sides[l] = (amps, 0.0);
            return amps;
        }
        if fuse.drives.is_empty() {
            return f64::NAN;
        }
        let drives = |drives: &[Drive], before: &[InputId]| {
            let cold = |line: &[InputId]| way(line, &coldest, l);
            let (conducts, over, short) = strongest(drives.iter(), |id| input(id, l), cold);
            let resistive =
                if conducts == 0.0 { 0.0 } else { over / conducts / (1.0 / conducts + cold(before)) };
            resistive + short
        };
        let ahead = drives(&fuse.drives, &fuse.before);
        let back = drives(&fuse.others, &fuse.after);
        sides[l] = if fuse.from_node { (back, ahead) } else { (ahead, back) };
        if back > ahead || back.is_nan() { back } else { ahead }
    });
    if let Some(constant) = figures.fault_constant {
        let source = |drive: &Drive| &plan.sources[drive.place];
        let alone = match (fuse.drives.as_slice(), fuse.others.as_slice()) {
            ([drive], []) if drive.short_circuit.is_none() => Some((drive, source(drive))),
            _ => None,
        };
        if let Some((drive, source)) = alone {
            let from: [Operand; 3] =
                [source.inductance.into(), figures.highest_fault.into(), drive.voltage.0.into()];
            pass.put(constant, &laws::FAULT_CONSTANT, &from, |l| {
                input(source.inductance, l) * highest[l] / input(drive.voltage.0, l)
            });
        } else {
            let all = || fuse.drives.iter().chain(&fuse.others);
            let each = || all().map(|drive| (drive, source(drive)));
            if T::LISTENS {
                from.clear();
                for (drive, source) in each() {
                    from.push(source.inductance.into());
                    from.extend(of_drive(drive, false));
                }
            }
            pass.put(constant, &laws::SLOWEST_FAULT, &from, |l| {
                let of = |(drive, source): (&Drive, &Source)| {
                    let henry = input(source.inductance, l);
                    match drive.short_circuit {
                        Some((highest, _)) => henry * input(highest, l) / input(drive.voltage.0, l),
                        None => henry / (input(drive.resistance.0, l) + way(&drive.line, &coldest, l)),
                    }
                };
                each().map(of).fold(0.0, |most, own| if own > most || own.is_nan() { own } else { most })
            });
        }
    }
    if let Some(surge) = fuse.surge {
        if T::LISTENS {
            from.clear();
            let sent: [Operand; 4] = [
                figures.highest_fault.into(),
                surge.let_through.into(),
                fuse.melting.into(),
                figures.highest_voltage.into(),
            ];
            from.extend(sent);
            banks_from(plan, &fuse.banks, &mut from);
            // Inductances count where they are stated.
            let banks = fuse.banks.iter().map(|&bank| &plan.banks[bank]);
            let henries = banks.flat_map(|bank| [bank.each.inductance, bank.path_inductance]);
            from.extend(henries.filter(|&id| input(id, 0).is_finite()).map(Operand::from));
        }
        pass.put(surge.current, &SURGE, &from, |l| {
            let with_banks = sides[l].0 + peaks[l];
            if with_banks > highest[l] || with_banks.is_nan() { with_banks } else { highest[l] }
        });
    }

    if T::LISTENS {
        from.clear();
        from.extend(fuse.drives.iter().flat_map(|drive| of_drive(drive, true)));
        from.extend(fuse.others.iter().flat_map(|drive| of_drive(drive, false)));
        let lines = fuse.own_line.iter().chain(&fuse.own_back).chain(&fuse.longest_behind);
        from.extend(lines.map(|&ohms| Operand::Input(ohms)));
        from.push(conductor.resistance.into());
        from.push(air.into());
    }
    pass.put(figures.lowest_fault, &LOWEST, &from, |l| {
        let behind = way(&fuse.longest_behind, &hottest, l);
        let own = way(&fuse.own_line, &hottest, l)
            + way(&fuse.own_back, &hottest, l)
            + input(conductor.resistance, l);
        // What other sources drive raises the bus before the branch in which the fault is.
        let held_up = |volts: f64, ohms: f64| {
            let cold = |line: &[InputId]| way(line, &coldest, l);
            let left = |(conducts, over, short): (f64, f64, f64)| {
                let bus = (volts / ohms + over + short) / (1.0 / ohms + conducts + 1.0 / behind);
                let amps = (volts - bus) / ohms;
                if amps < 0.0 { 0.0 } else { amps }
            };
            let all = left(strongest(fuse.others.iter(), |id| input(id, l), cold));
            // Diodes block where the bus stays above what is behind them.
            let at_bus = fuse.others.iter().filter(|drive| !drive.is_beyond);
            let blocked = left(strongest(at_bus, |id| input(id, l), cold));
            if all.is_nan() || all <= blocked { all } else { blocked }
        };
        let each = fuse.drives.iter().map(|drive| match drive.short_circuit {
            Some((_, lowest)) => input(lowest, l),
            None => {
                let line = way(&drive.line, &hottest, l) + way(&drive.back, &hottest, l);
                let ohms = input(drive.resistance.1, l) + line + own;
                let volts = input(drive.voltage.1, l);
                if fuse.others.is_empty() || behind == 0.0 {
                    volts / (ohms + behind)
                } else {
                    held_up(volts, ohms)
                }
            }
        });
        let least = each.fold(
            f64::INFINITY,
            |least, amps| {
                if least.is_nan() || amps >= least { least } else { amps }
            },
        );
        if least.is_finite() { least } else { f64::NAN }
    });
}

/// What a source contributes to a prospective current: the highest, or the lowest.
fn of_drive(drive: &Drive, is_lowest: bool) -> impl Iterator<Item = Operand> + '_ {
    let own = match (drive.short_circuit, is_lowest) {
        (Some((highest, _)), false) => vec![highest],
        (Some((_, lowest)), true) => vec![lowest],
        (None, false) => vec![drive.voltage.0, drive.resistance.0],
        (None, true) => vec![drive.voltage.1, drive.resistance.1],
    };
    let (line, back): (&[InputId], &[InputId]) = match drive.short_circuit {
        Some(_) => (&[], &[]),
        None => (&drive.line, if is_lowest { &drive.back } else { &[] }),
    };
    own.into_iter().chain(line.iter().chain(back).copied()).map(Operand::Input)
}
