//! What conductors behind fuses may be left to carry for good, and what they do carry, once everything else is solved: it
//! changes nothing of that.

use loadworthy_physics::Law;
use loadworthy_physics::conductors::foil;

use crate::plan::{Body, Melted, Plan};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static UNENDED: Law = Law {
    name: "largest current that nothing ends",
    formula: "I = the least of what bounds it: of a fuse I_n' or k·I_n'/1.45, I_n' what it carries in its air and k·I_n' what melts it; of a contactor that waits for a minute at most the current above which it opens; of a source what it drives into a short circuit; of a stage its late trip times 3/π, of a chopper times its legs, and of neither where diodes conduct on; and the sum of what bounds all other ends of its bus, or all that feed a boost or a buck from its low side",
    validity: "for good; within a minute a conductor at twice its current warms by half of its rise more, with a time constant of 5 min; what breaks it is left to each of them",
    source: "IEC 60364-4-43, 433.1; balance of power of a bridge, V̂ ≤ 2/π·V, and of a boost, I_high ≤ I_low",
};

static CAPACITY: Law = Law {
    name: "current that a conductor carries for good",
    formula: "I²·R(T_max) = what leaves it at T_max",
    validity: "direct current alone; the law of its temperature holds",
    source: "as its temperature",
};

static FOIL_CAPACITY: Law = Law {
    name: "current that a printed foil is known to carry for good",
    formula: "I = k·ΔT^0.44·A^0.725 at T_max, at most 35 A",
    validity: foil::FOIL.validity,
    source: foil::FOIL.source,
};

static MELTS: Law = Law {
    name: "current that melts a fuse in the end",
    formula: "I_2 = k·I_n', I_n' what it carries in its air, k its conventional fusing current over the rated one",
    validity: "within its conventional time of an hour or more; between I_n' and I_2 it may melt or not",
    source: "IEC 60269-1: conventional fusing current",
};

static UNBROKEN: Law = Law {
    name: "largest current that melts a fuse, which does not break it, and that nothing else ends",
    formula: "I = the lesser of the least current that it breaks and of what bounds it otherwise: of another fuse what melts it, of a contactor the current above which it opens, of a source what it drives into a short circuit, of a stage its late trip times 3/π, of a chopper times its legs, and of neither where diodes conduct on; and the sum of what bounds all other ends of its bus, or all that feed a boost or a buck from its low side; none where it breaks whatever melts it, I_break ≤ k·I_n in air of 25 °C",
    validity: "for good; what ends it in time is left to each of them",
    source: "IEC 60269-4: partial-range breaking; IEC 60364-4-43, 433",
};

static SHUNT_CAPACITY: Law = Law {
    name: "current that a shunt carries for good",
    formula: "I = √(P/R)",
    validity: "direct current; P what it stands where it is fitted",
    source: "Joule's law",
};

static OPENED: Law = Law {
    name: "largest overload that a contactor opens",
    formula: "I = the larger of the least current that the fuse breaks, of what melts it in the end, and of 1.1·I_n·k(t), k of its time-current curve at the time that the contactor waits; no more than sources drive, and than what bounds the current otherwise",
    validity: "from cold: a fuse that carried something melts sooner; beyond the curve whatever flows; without a curve at least so much",
    source: "IEC 60269-1: tolerance of time-current characteristics",
};

static UNBROKEN_BY_ITSELF: Law = Law {
    name: "largest overload that a fuse does not break",
    formula: "I = the lesser of the least current that it breaks and of what may flow without a contactor that opens; none where it breaks whatever melts it, I_break ≤ k·I_n in air of 25 °C",
    validity: "of a partial-range fuse",
    source: "IEC 60269-4: partial-range breaking",
};

static HELD: Law = Law {
    name: "load held for good that leaves a fuse as warm as what it carried",
    formula: "I_0 = I",
    validity: "of what lasts or does not recur; reads high of a load that has just begun",
    source: "definition",
};

pub(crate) static UNMELTED: Law = Law {
    name: "largest current that does not melt a fuse until a contactor opens",
    formula: "I = √(I_c²·(1 − (I_0/I_n')²) + I_0²), I_c = 0.9·k(t)·I_n' of its time-current curve at the time that the contactor waits, I_0 the load held for good that leaves it as warm, I_n' what it carries in its air; never less than I_n'",
    validity: "linear heat; of a time shorter than its curve the current of its shortest; I_n' where the curve ends before the contactor opens, or without a curve",
    source: "IEC 60269-1: tolerance of time-current characteristics; superposition of step responses",
};

/// Puts what each conductor behind a fuse may be left to carry, and what it carries for good.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    let mut from: Vec<Operand> = Vec::new();
    for overload in &plan.overloads {
        from.clear();
        if T::LISTENS {
            overload.from(plan, &mut from);
        }
        let least: [f64; L] =
            core::array::from_fn(|l| overload.least(plan, |operand| value(pass, operand, l)).0);
        pass.put(overload.unended, &UNENDED, &from, |l| least[l]);
        let conductor = &plan.conductors[overload.conductor];
        let Some(capacity) = overload.capacity else { continue };
        if let Some(stands) = conductor.stands {
            let (watts, ohms) = (pass.input(stands), pass.input(conductor.resistance));
            let from: [Operand; 2] = [stands.into(), conductor.resistance.into()];
            pass.put(capacity, &SHUNT_CAPACITY, &from, |l| (watts[l] / ohms[l]).sqrt());
            continue;
        }
        let Some(heat) = &conductor.heat else { continue };
        from.clear();
        if T::LISTENS {
            from.push(heat.hottest.into());
            heat.from(conductor, &mut from);
        }
        let carries: [f64; L] =
            core::array::from_fn(|l| heat.carries(conductor, |operand| value(pass, operand, l)));
        let law = if let Body::Foil { .. } = heat.body { &FOIL_CAPACITY } else { &CAPACITY };
        pass.put(capacity, law, &from, |l| carries[l]);
    }
    for melted in &plan.melted {
        let fuse = &plan.fuses[melted.fuse];
        let law_from: [Operand; 2] = [fuse.figures.continuous.into(), fuse.conventional.into()];
        let melts: [f64; L] = core::array::from_fn(|l| melted.melts(plan, |operand| value(pass, operand, l)));
        pass.put(melted.melts, &MELTS, &law_from, |l| melts[l]);
        from.clear();
        if T::LISTENS {
            melted.from(plan, &mut from);
        }
        let unbroken: [f64; L] =
            core::array::from_fn(|l| melted.unbroken(plan, |operand| value(pass, operand, l)).0);
        pass.put(melted.unbroken, &UNBROKEN, &from, |l| unbroken[l]);
        opened(plan, melted, &mut from, pass);
    }
}

/// Puts what the contactors of a circuit open beside its fuse, and how soon that may have melted.
fn opened<const L: usize, T: Trace>(
    plan: &Plan,
    melted: &Melted,
    from: &mut Vec<Operand>,
    pass: &mut Pass<'_, L, T>,
) {
    let fuse = &plan.fuses[melted.fuse];
    if T::LISTENS {
        from.extend([fuse.figures.highest_fault, fuse.figures.continuous].map(Operand::Figure));
        from.push(fuse.conventional.into());
        from.extend(fuse.curve.as_ref().map(|curve| Operand::Curve(curve.curve)));
    }
    let already = from.len();
    for &(contactor, current) in &melted.opened {
        let Some(opens) = plan.conductors[contactor].opens else { continue };
        if T::LISTENS {
            from.truncate(already);
            from.push(opens.after.into());
        }
        let most: [f64; L] = core::array::from_fn(|l| {
            let waits = pass.inputs[opens.after.index()][l];
            melted.opened(plan, waits, |operand| value(pass, operand, l))
        });
        pass.put(current, &OPENED, from, |l| most[l]);
    }
    let Some(apart) = melted.apart else { return };
    if T::LISTENS {
        from.truncate(already);
    }
    let unbroken: [f64; L] =
        core::array::from_fn(|l| melted.unbroken_by_itself(plan, |operand| value(pass, operand, l)));
    pass.put(apart.unbroken, &UNBROKEN_BY_ITSELF, from, |l| unbroken[l]);
    let load = plan.conductors[fuse.conductor].current;
    let held = pass.figures[load.index()];
    pass.put(apart.load, &HELD, &[load.into()], |l| held[l].abs());
    if T::LISTENS {
        from.clear();
        melted.unmelted_from(&apart, plan, from);
    }
    let unmelted: [f64; L] = core::array::from_fn(|l| {
        melted.unmelted(plan, pass.figures[apart.load.index()][l], |operand| value(pass, operand, l))
    });
    pass.put(apart.unmelted, &UNMELTED, from, |l| unmelted[l]);
}

fn value<const L: usize, T: Trace>(pass: &Pass<'_, L, T>, operand: Operand, l: usize) -> f64 {
    match operand {
        Operand::Figure(id) => pass.figures[id.index()][l],
        Operand::Input(id) => pass.inputs[id.index()][l],
        Operand::Curve(_) => f64::NAN,
    }
}
