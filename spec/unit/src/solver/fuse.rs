//! What fuses carry, break and let through, once everything else is solved: it changes nothing of that.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{Area, Current, Law, Temperature, fuse};

use crate::ids::InputId;
use crate::plan::{Conductor, Drive, Fuse, Plan, Protected};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static ACROSS: Law = Law {
    name: "highest voltage across an open fuse",
    formula: "V = the larger of `highest` of its bus and the highest open-circuit voltage that drives it",
    validity: "arc and inductance of the loop left to the fuse's own rating",
    source: "definition",
};

static HIGHEST: Law = Law {
    name: "highest prospective current",
    formula: "I = Σ(V_max/R_min)/Σ(1/R_min)/(1/Σ(1/R_min) + R_before) + Σ I_short; copper from the sources to the fuse at −40 °C, the fuse itself left out",
    validity: "direct current, bolted fault right behind the fuse; discharge of banks, whose peak a fuse limits, left out",
    source: "Ohm's law; IEC 61660-1",
};

static LOWEST: Law = Law {
    name: "lowest prospective current",
    formula: "I = V_min/(R_max + R_way), of several sources the weakest by itself; copper of the way at 150 °C, the fuse and the longest unfused branch behind it counted",
    validity: "direct current, bolted fault at the far end; arcs leave less",
    source: "Ohm's law; IEC 61660-1",
};

static LET_THROUGH: Law = Law {
    name: "I²t that a fuse lets through",
    formula: "I²t = clearing I²t as stated",
    validity: "at its rated voltage and high currents; near its lowest breaking current it lets more through",
    source: "data sheet",
};

static LEAST_BREAKING: Law = Law {
    name: "lowest current that a fuse breaks",
    formula: "I = stated value",
    validity: "definition",
    source: "data sheet",
};

static STATED: Law = Law {
    name: "I²t that contacts stand",
    formula: "I²t = stated value",
    validity: "closed contacts that neither weld nor lift",
    source: "data sheet",
};

/// Coldest and hottest copper that a fault current meets, in °C.
const COLDEST: f64 = -40.0;
const HOTTEST: f64 = 150.0;

/// Puts the figures of every fuse and of what it protects.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for fuse in &plan.fuses {
        carries(plan, fuse, pass);
        faults(plan, fuse, pass);
        let figures = &fuse.figures;
        let clearing = pass.input(fuse.clearing);
        pass.put(figures.let_through, &LET_THROUGH, &[fuse.clearing.into()], |l| clearing[l]);
        let least = pass.input(fuse.least_breaking);
        pass.put(figures.least_breaking, &LEAST_BREAKING, &[fuse.least_breaking.into()], |l| least[l]);
        for protected in &fuse.protects {
            withstood(&plan.conductors[protected.conductor], protected, pass);
        }
    }
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
    pass.put(fuse.figures.continuous, &fuse::DERATED, &from[..3], |l| derated(l, 1.0));
    pass.put(fuse.figures.cyclic, &fuse::DERATED, &from, |l| derated(l, cyclic[l]));
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
    pass.put(figures.highest_voltage, &ACROSS, &from, |l| {
        let volts = fuse.across.iter().map(|&volts| input(volts, l));
        volts.fold(if fuse.across.is_empty() { f64::NAN } else { 0.0 }, |most, volts| {
            // What is missing stays missing.
            if most.is_nan() || volts <= most { most } else { volts }
        })
    });

    let air = conductor.surroundings;
    let way = |line: &[InputId], celsius: f64, l: usize| -> f64 {
        let share = growth(Temperature::celsius(celsius)) / growth(Temperature::celsius(input(air, l)));
        line.iter().map(|&ohms| input(ohms, l)).sum::<f64>() * share
    };
    if T::LISTENS {
        from.clear();
        from.extend(fuse.drives.iter().flat_map(|drive| of_drive(drive, false)));
        from.extend(fuse.before.iter().map(|&ohms| Operand::Input(ohms)));
        from.push(air.into());
    }
    pass.put(figures.highest_fault, &HIGHEST, &from, |l| {
        let (mut over, mut conducts, mut short) = (0.0, 0.0, 0.0);
        for drive in &fuse.drives {
            match drive.short_circuit {
                Some((highest, _)) => short += input(highest, l),
                None => {
                    let ohms = input(drive.resistance.0, l) + way(&drive.line, COLDEST, l);
                    over += input(drive.voltage.0, l) / ohms;
                    conducts += 1.0 / ohms;
                }
            }
        }
        if fuse.drives.is_empty() {
            return f64::NAN;
        }
        let resistive = if conducts == 0.0 {
            0.0
        } else {
            over / conducts / (1.0 / conducts + way(&fuse.before, COLDEST, l))
        };
        resistive + short
    });

    if T::LISTENS {
        from.clear();
        from.extend(fuse.drives.iter().flat_map(|drive| of_drive(drive, true)));
        let lines = fuse.own_line.iter().chain(&fuse.longest_behind);
        from.extend(lines.map(|&ohms| Operand::Input(ohms)));
        from.push(conductor.resistance.into());
        from.push(air.into());
    }
    pass.put(figures.lowest_fault, &LOWEST, &from, |l| {
        let rest = way(&fuse.own_line, HOTTEST, l)
            + way(&fuse.longest_behind, HOTTEST, l)
            + input(conductor.resistance, l);
        let each = fuse.drives.iter().map(|drive| match drive.short_circuit {
            Some((_, lowest)) => input(lowest, l),
            None => {
                let ohms = input(drive.resistance.1, l) + way(&drive.line, HOTTEST, l);
                input(drive.voltage.1, l) / (ohms + rest)
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
    let line: &[InputId] = if drive.short_circuit.is_some() { &[] } else { &drive.line };
    own.into_iter().chain(line.iter().copied()).map(Operand::Input)
}

fn withstood<const L: usize, T: Trace>(
    conductor: &Conductor,
    protected: &Protected,
    pass: &mut Pass<'_, L, T>,
) {
    if let Some(stated) = protected.stated {
        let stands = pass.input(stated);
        pass.put(protected.withstood, &STATED, &[stated.into()], |l| stands[l]);
        return;
    }
    // From where it stands in service: solved where that is judged, else the hottest that it may reach.
    let hot = conductor.heat.as_ref().map(|heat| heat.figures.temperature);
    let start = match hot {
        Some(figure) => pass.figure(figure),
        None => pass.input(conductor.rated_at.unwrap_or(conductor.surroundings)),
    };
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(protected.section.iter().map(|&side| Operand::Input(side)));
        from.push(match hot {
            Some(figure) => figure.into(),
            None => conductor.rated_at.unwrap_or(conductor.surroundings).into(),
        });
        from.push(protected.short_hottest.into());
    }
    let inputs = pass.inputs;
    let end = pass.input(protected.short_hottest);
    pass.put(protected.withstood, &fuse::WITHSTOOD, &from, |l| {
        let section = protected.section.iter().map(|&side| inputs[side.index()][l]).product();
        fuse::withstood(Area::new(section), Temperature::celsius(start[l]), Temperature::celsius(end[l]))
    });
}
