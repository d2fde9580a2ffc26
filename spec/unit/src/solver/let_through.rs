//! What fuses let through until they have cleared, and what the conductors behind them stand until then.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{Area, Law, Temperature, Time, fuse};

use crate::ids::{FigureId, InputId};
use crate::plan::{Conductor, Emptied, Fuse, Plan, Protected, Reached};
use crate::solver::Block;
use crate::solver::fuse::{COLDEST, banks_from, of_discharge};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static LET_THROUGH: Law = Law {
    name: "I²t that a fuse lets through",
    formula: "I²t = clearing I²t as stated; with a time-current curve the largest of that and I²·t of the currents of its curve, from the lowest prospective one to the highest that sources drive, that melt it within 5 s",
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

static REACHED: Law = Law {
    name: "temperature of a conductor with a rated current",
    formula: "T = T_a + (T_max − T_r)·(I/I_r)²",
    validity: "its rated current brings it from T_r to T_max; settled",
    source: "IEC 60287-1-1: loss with the square of the current over one path of heat",
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
    let highest = pass.figure(figures.highest_fault);
    let points = fuse::TimeCurrent(&curve.points);
    let from: [Operand; 5] = [
        fuse.clearing.into(),
        figures.lowest_fault.into(),
        figures.highest_fault.into(),
        fuse.rated.into(),
        curve.curve.into(),
    ];
    pass.put(figures.let_through, &LET_THROUGH, &from, |l| {
        let (least, largest) = (lowest[l] / rated[l], highest[l] / rated[l]);
        // How slowly it may melt is not known without the weakest fault; one beyond the curve melts it faster than all of it.
        if least.is_nan() && !fuse.drives.is_empty() {
            return f64::NAN;
        }
        let most = points.most_let_through(least, largest, Time::new(KEEPS_HEAT)) * rated[l] * rated[l];
        if most > clearing[l] { most } else { clearing[l] }
    });
    let from: [Operand; 3] = [fuse.least_breaking.into(), fuse.rated.into(), curve.curve.into()];
    pass.put(figures.least_breaking, &LEAST_BREAKING, &from, |l| {
        let melts = points.least() * rated[l];
        if melts > least[l] { melts } else { least[l] }
    });
}

/// What fuses and banks send through a conductor in the worst fault beside it: those of one side or those of the other.
pub(super) fn through<const L: usize, T: Trace>(
    plan: &Plan,
    fuse: &Fuse,
    protected: &Protected,
    pass: &mut Pass<'_, L, T>,
) {
    let own = pass.figure(fuse.figures.let_through);
    let with_banks = protected.of_banks.filter(|_| fuse.of_source);
    let air = plan.conductors[protected.conductor].surroundings;
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(fuse.figures.let_through.into());
        from.extend(protected.beside.iter().chain(&protected.against).map(|&other| Operand::Figure(other)));
        from.extend(with_banks.map(Operand::Figure));
    }
    let across = match protected.banks_at {
        Some(highest) => pass.input(highest),
        None => pass.figure(fuse.figures.highest_voltage),
    };
    // As one fuse that lets through what those of all of them do.
    let as_one = |others: &[FigureId]| {
        let mut roots = [0.0; L];
        for &other in others {
            let sent = pass.figure(other);
            for (root, sent) in roots.iter_mut().zip(sent) {
                *root += sent.sqrt();
            }
        }
        roots.map(|root| root * root)
    };
    let (beside, against) = (as_one(&protected.beside), as_one(&protected.against));
    let inputs = pass.inputs;
    let input = |id: InputId, l: usize| inputs[id.index()][l];
    let of_banks = with_banks.map(|out| {
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.push(protected.banks_at.map_or(fuse.figures.highest_voltage.into(), Operand::Input));
            banks_from(plan, &protected.banks, &mut from);
            from.extend(protected.from_bus.iter().chain([&air]).map(|&input| Operand::Input(input)));
        }
        pass.put(out, &fuse::BANKS_LET_THROUGH, &from, |l| {
            let cold = growth(Temperature::celsius(COLDEST)) / growth(Temperature::celsius(input(air, l)));
            let way: f64 = protected.from_bus.iter().map(|&ohms| input(ohms, l)).sum();
            of_discharge(plan, &protected.banks, across[l], cold * way, |id| input(id, l))
        })
    });
    pass.put(protected.through, &fuse::TOGETHER, &from, |l| {
        let of_banks = of_banks.map(|sent| sent[l]);
        let (with, opposite) = if protected.banks_against { (None, of_banks) } else { (of_banks, None) };
        // A fault lies before the conductor or behind it.
        let ahead = if protected.is_own {
            own[l]
        } else {
            fuse::together([own[l], beside[l]].into_iter().chain(with))
        };
        let back = fuse::together(core::iter::once(against[l]).chain(opposite));
        if back > ahead || back.is_nan() { back } else { ahead }
    });
}

/// What a conductor stands until then, from the hottest that it gets while the duty point lasts.
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
    if let Some(reached) = &protected.reached {
        reaches(conductor, reached, pass);
    }
    let start = start(conductor, protected);
    let (inputs, figures) = (pass.inputs, &*pass.figures);
    let stands: [f64; L] = core::array::from_fn(|l| {
        stands(protected, start, &|id| inputs[id.index()][l], &|id| figures[id.index()][l])
    });
    if is_followed(conductor) {
        // Told once it is known how hot it gets.
        pass.figures[protected.withstood.index()] = stands;
    } else {
        let from = if T::LISTENS { stands_from(conductor, protected) } else { Vec::new() };
        pass.put(protected.withstood, &fuse::WITHSTOOD, &from, |l| stands[l]);
    }
}

/// Where its current settles a conductor that states what its rated one does.
fn reaches<const L: usize, T: Trace>(conductor: &Conductor, reached: &Reached, pass: &mut Pass<'_, L, T>) {
    let (amps, rated) = (pass.figure(conductor.carried()), pass.input(reached.rated));
    let (air, at, hottest) =
        (pass.input(conductor.surroundings), pass.input(reached.at), pass.input(reached.hottest));
    let from: [Operand; 5] = [
        conductor.carried().into(),
        reached.rated.into(),
        reached.at.into(),
        reached.hottest.into(),
        conductor.surroundings.into(),
    ];
    pass.put(reached.temperature, &REACHED, &from, |l| {
        let share = amps[l] / rated[l];
        air[l] + (hottest[l] - at[l]) * share * share
    });
}

/// Whether what a conductor stands waits for how hot it gets in a duty point that is followed over time.
fn is_followed(conductor: &Conductor) -> bool {
    conductor.heat.as_ref().is_some_and(|heat| heat.figures.hottest.is_some())
}

fn stands_from(conductor: &Conductor, protected: &Protected) -> Vec<Operand> {
    let section = protected.section.iter().map(|&side| Operand::Input(side));
    section.chain([start(conductor, protected), protected.short_hottest.into()]).collect()
}

/// What banks send through a conductor that no fuse protects from them, in a fault right where it begins, or behind contacts.
pub(super) fn emptied<const L: usize, T: Trace>(plan: &Plan, emptied: &Emptied, pass: &mut Pass<'_, L, T>) {
    let protected = &emptied.protected;
    let banks = &plan.buses[emptied.bus].ripple.banks;
    let air = plan.conductors[protected.conductor].surroundings;
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(emptied.across);
        banks_from(plan, banks, &mut from);
        from.extend(protected.from_bus.iter().chain([&air]).map(|&input| Operand::Input(input)));
    }
    let across = pass.operand(emptied.across);
    let inputs = pass.inputs;
    let input = |id: InputId, l: usize| inputs[id.index()][l];
    pass.put(protected.through, &fuse::BANKS_LET_THROUGH, &from, |l| {
        let cold = growth(Temperature::celsius(COLDEST)) / growth(Temperature::celsius(input(air, l)));
        let way: f64 = protected.from_bus.iter().map(|&ohms| input(ohms, l)).sum();
        of_discharge(plan, banks, across[l], cold * way, |id| input(id, l))
    });
}

/// All that is held against what it stands.
fn held(plan: &Plan) -> impl Iterator<Item = &Protected> {
    let of_fuses = plan.fuses.iter().flat_map(|fuse| &fuse.protects);
    of_fuses.chain(plan.emptied.iter().map(|emptied| &emptied.protected))
}

/// Tells how that came about, after it is told how hot conductors get.
pub(crate) fn tell_what_stands<T: Trace>(plan: &Plan, trace: &mut T) {
    for protected in held(plan) {
        let conductor = &plan.conductors[protected.conductor];
        if protected.stated.is_none() && is_followed(conductor) {
            trace.step(protected.withstood, &fuse::WITHSTOOD, &stands_from(conductor, protected));
        }
    }
}

/// Reckons that again in a lane of which it is known by now how hot conductors get in it.
pub(crate) fn stands_where_hottest<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize) {
    for protected in held(plan) {
        let conductor = &plan.conductors[protected.conductor];
        if protected.stated.is_none() && is_followed(conductor) {
            let (inputs, figures) = (&block.inputs, &block.figures);
            let stands = stands(protected, start(conductor, protected), &|id| inputs[id.index()][l], &|id| {
                figures[id.index()][l]
            });
            block.figures[protected.withstood.index()][l] = stands;
        }
    }
}

/// Where a fault finds a conductor: at the hottest of the duty point where that is solved, where its rated current brings it
/// that is known, else in the surroundings that its rating is stated for.
fn start(conductor: &Conductor, protected: &Protected) -> Operand {
    match (&conductor.heat, &protected.reached) {
        (Some(heat), _) => heat.figures.highest().into(),
        (None, Some(reached)) => reached.temperature.into(),
        (None, None) => conductor.rated_at.unwrap_or(conductor.surroundings).into(),
    }
}

fn stands(
    protected: &Protected,
    start: Operand,
    input: &impl Fn(InputId) -> f64,
    figure: &impl Fn(FigureId) -> f64,
) -> f64 {
    let section = protected.section.iter().map(|&side| input(side)).product();
    let begins = match start {
        Operand::Figure(id) => figure(id),
        Operand::Input(id) => input(id),
        Operand::Curve(_) => f64::NAN,
    };
    let ends = Temperature::celsius(input(protected.short_hottest));
    fuse::withstood(Area::new(section), Temperature::celsius(begins), ends)
}
