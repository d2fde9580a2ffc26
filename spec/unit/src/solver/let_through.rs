//! What fuses let through until they have cleared, and what the conductors behind them stand until then.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{Area, Capacitance, Law, Resistance, Temperature, Time, Voltage, fuse};

use crate::ids::InputId;
use crate::plan::{Conductor, Fuse, Plan, Protected};
use crate::solver::fuse::{COLDEST, banks_from, of_banks};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static LET_THROUGH: Law = Law {
    name: "I²t that a fuse lets through",
    formula: "I²t = clearing I²t as stated; with a time-current curve the largest of that and I²·t of the currents of its curve from the lowest prospective one up that melt it within 5 s",
    validity: "at its rated voltage; without a curve at high currents alone, near its lowest breaking current it lets more through",
    source: "data sheet",
};

static LEAST_BREAKING: Law = Law {
    name: "lowest current that a fuse breaks",
    formula: "I = stated value, with a time-current curve at least its smallest current and 10 %",
    validity: "definition",
    source: "data sheet; IEC 60269-1",
};

static STATED: Law = Law {
    name: "I²t that contacts stand",
    formula: "I²t = stated value",
    validity: "closed contacts that neither weld nor lift",
    source: "data sheet",
};

/// Seconds within which the copper behind a fuse keeps its heat.
const KEEPS_HEAT: f64 = 5.0;

/// What it lets through, and from where it breaks.
pub(super) fn lets_through<const L: usize, T: Trace>(fuse: &Fuse, pass: &mut Pass<'_, L, T>) {
    let figures = &fuse.figures;
    let clearing = pass.input(fuse.clearing);
    let least = pass.input(fuse.least_breaking);
    let Some(curve) = &fuse.curve else {
        pass.put(figures.let_through, &LET_THROUGH, &[fuse.clearing.into()], |l| clearing[l]);
        pass.put(figures.least_breaking, &LEAST_BREAKING, &[fuse.least_breaking.into()], |l| least[l]);
        return;
    };
    let (rated, lowest) = (pass.input(fuse.rated), pass.figure(figures.lowest_fault));
    let points = fuse::TimeCurrent(&curve.points);
    let from: [Operand; 4] =
        [fuse.clearing.into(), figures.lowest_fault.into(), fuse.rated.into(), curve.curve.into()];
    pass.put(figures.let_through, &LET_THROUGH, &from, |l| {
        let most = points.most_let_through(lowest[l] / rated[l], Time::new(KEEPS_HEAT)) * rated[l] * rated[l];
        if most > clearing[l] { most } else { clearing[l] }
    });
    let from: [Operand; 3] = [fuse.least_breaking.into(), fuse.rated.into(), curve.curve.into()];
    pass.put(figures.least_breaking, &LEAST_BREAKING, &from, |l| {
        let melts = points.least() * rated[l];
        if melts > least[l] { melts } else { least[l] }
    });
}

/// What all fuses and banks send through a conductor in the worst fault beside it.
pub(super) fn through<const L: usize, T: Trace>(
    plan: &Plan,
    fuse: &Fuse,
    protected: &Protected,
    pass: &mut Pass<'_, L, T>,
) {
    let own = pass.figure(fuse.figures.let_through);
    let with_banks = fuse.of_source && !fuse.banks.is_empty();
    let air = plan.conductors[protected.conductor].surroundings;
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(fuse.figures.let_through.into());
        from.extend(protected.others.iter().map(|&other| Operand::Figure(other)));
        if with_banks {
            from.push(fuse.figures.highest_voltage.into());
            banks_from(plan, fuse, &mut from);
            from.extend(protected.from_bus.iter().chain([&air]).map(|&input| Operand::Input(input)));
        }
    }
    let across = pass.figure(fuse.figures.highest_voltage);
    // As one fuse that lets through what those of all other sources do.
    let mut roots = [0.0; L];
    for &other in &protected.others {
        let sent = pass.figure(other);
        for (root, sent) in roots.iter_mut().zip(sent) {
            *root += sent.sqrt();
        }
    }
    let inputs = pass.inputs;
    let input = |id: InputId, l: usize| inputs[id.index()][l];
    pass.put(protected.through, &fuse::TOGETHER, &from, |l| {
        let of_banks = with_banks.then(|| {
            let (farads, before) = of_banks(plan, fuse, |id| input(id, l));
            let cold = growth(Temperature::celsius(COLDEST)) / growth(Temperature::celsius(input(air, l)));
            let way: f64 = protected.from_bus.iter().map(|&ohms| input(ohms, l)).sum();
            let path = Resistance::new(before + cold * way);
            fuse::capacitor_let_through(Capacitance::new(farads), Voltage::new(across[l]), path)
        });
        let rest = core::iter::once(roots[l] * roots[l]).chain(of_banks);
        if !protected.is_own {
            return fuse::together(core::iter::once(own[l]).chain(rest));
        }
        // In its own branch a fault lies before the conductor or behind it.
        let back = fuse::together(rest);
        if back > own[l] || back.is_nan() { back } else { own[l] }
    });
}

pub(super) fn withstood<const L: usize, T: Trace>(
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
