//! What conductors carry with its ripple, and how hot they get, once everything else is solved: it changes nothing of that.

use loadworthy_physics::Law;
use loadworthy_physics::link_lines::LINES;

use crate::plan::{Conductor, ConductorHeat, Crowds, Plan, RippleTerm};
use crate::solver::asked_for;
use crate::solver::conductor_loss;
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::ripple_lines;
use crate::trace::{Operand, Trace};

static RIPPLE: Law = Law {
    name: "ripple current of a conductor",
    formula: "I_~ = √(Σ I_k²) of the stages whose ripple passes here",
    validity: "banks stand at the bus and take it there; towards a source it passes only where the bus has no bank; carriers unrelated; nothing resonates",
    source: "sum of mean squares",
};

static NO_RIPPLE: Law = Law {
    name: "ripple current of a conductor",
    formula: "I_~ = 0",
    validity: "direct loads, and sources of a bus whose bank takes the ripple; nothing resonates",
    source: "definition",
};

static RMS: Law = Law {
    name: "RMS current of a conductor",
    formula: "I_rms = √(I² + Σ I_k²) of the stages whose ripple passes here",
    validity: RIPPLE.validity,
    source: "sum of mean squares",
};

static HEATING: Law = Law {
    name: "direct current that heats a conductor as much",
    formula: "I_h = √(I² + Σ F_k·I_k²), F_k the skin effect at each line of a stage's ripple, as much as of its square lies there",
    validity: "twelve lines, what lies above counts with the upper half of them; copper at the temperature of the air, which is cautious; skin effect as of the conductor by itself, or of a laminated pair",
    source: "sum of mean squares; IEC 60287-1-1, Dwight, Dowell for F",
};

/// Puts the voltage along every conductor, its RMS current where ripple passes; ripple, heating current and temperature of
/// every conductor that is judged by them.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for conductor in &plan.conductors {
        let (ohms, amps) = (pass.input(conductor.resistance), pass.figure(conductor.current));
        let from: &[Operand] = &[conductor.resistance.into(), conductor.current.into()];
        pass.put(conductor.drop, &laws::VOLTAGE_DROP, from, |l| ohms[l] * amps[l]);
        rms(conductor, pass);
        if let Some(heat) = &conductor.heat {
            heated(plan, conductor, heat, pass);
            asked_for::in_conductor(conductor, pass);
        }
        conductor_loss::settle(plan, conductor, pass);
    }
}

fn rms<const L: usize, T: Trace>(conductor: &Conductor, pass: &mut Pass<'_, L, T>) {
    let Some(rms) = conductor.rms else { return };
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(conductor.current.into());
        from.extend(conductor.ripples.iter().map(|ripple| Operand::Figure(ripple.current)));
    }
    let amps = pass.figure(conductor.current);
    let mut squares: [f64; L] = core::array::from_fn(|l| amps[l] * amps[l]);
    for ripple in &conductor.ripples {
        let amps = pass.figure(ripple.current);
        for l in 0..L {
            squares[l] += amps[l] * amps[l];
        }
    }
    pass.put(rms, &RMS, &from, |l| squares[l].sqrt());
}

fn heated<const L: usize, T: Trace>(
    plan: &Plan,
    conductor: &Conductor,
    heat: &ConductorHeat,
    pass: &mut Pass<'_, L, T>,
) {
    let mut from: Vec<Operand> = Vec::new();
    let figures = &heat.figures;
    if T::LISTENS {
        from.extend(conductor.ripples.iter().map(|ripple| Operand::Figure(ripple.current)));
    }
    let law = if conductor.ripples.is_empty() { &NO_RIPPLE } else { &RIPPLE };
    let (mut squares, mut crowded) = ([0.0; L], [0.0; L]);
    for ripple in &conductor.ripples {
        add(plan, conductor, heat.crowds(), ripple, (&mut squares, &mut crowded), pass);
    }
    pass.put(figures.ripple, law, &from, |l| squares[l].sqrt());

    if T::LISTENS {
        from.push(conductor.current.into());
        for ripple in &conductor.ripples {
            ripple_lines::from(&plan.stages[ripple.stage], &mut from);
        }
        if !conductor.ripples.is_empty() {
            from.push(conductor.surroundings.into());
            if let Some(crowds) = heat.crowds() {
                crowds.from(&mut from);
            }
        }
    }
    let amps = pass.figure(conductor.current);
    let heating =
        pass.put(figures.heating_current, &HEATING, &from, |l| (amps[l] * amps[l] + crowded[l]).sqrt());

    from.clear();
    if T::LISTENS {
        from.push(figures.heating_current.into());
        heat.from(conductor, &mut from);
    }
    let celsius: [f64; L] = core::array::from_fn(|l| {
        heat.temperature(conductor, heating[l], |operand| match operand {
            Operand::Figure(id) => pass.figures[id.index()][l],
            Operand::Input(id) => pass.inputs[id.index()][l],
            Operand::Curve(_) => f64::NAN,
        })
    });
    pass.put(figures.temperature, heat.law(), &from, |l| celsius[l]);
}

/// Square of the direct current that the ripple of a conductor with a rated current heats it like, by its section.
pub(crate) fn crowded<const L: usize, T: Trace>(
    plan: &Plan,
    conductor: &Conductor,
    crowds: Crowds,
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let (mut squares, mut crowded) = ([0.0; L], [0.0; L]);
    for ripple in &conductor.ripples {
        add(plan, conductor, Some(crowds), ripple, (&mut squares, &mut crowded), pass);
    }
    crowded
}

/// Adds the square of a ripple current, and what it heats like. Lanes whose lines lie alike share their skin effect.
fn add<const L: usize, T: Trace>(
    plan: &Plan,
    conductor: &Conductor,
    crowds: Option<Crowds>,
    ripple: &RippleTerm,
    (squares, crowded): (&mut [f64; L], &mut [f64; L]),
    pass: &Pass<'_, L, T>,
) {
    let (amps, air) = (pass.figure(ripple.current), pass.input(conductor.surroundings));
    let mut known: Option<([u64; 4], [f64; LINES])> = None;
    for l in 0..L {
        // A stage that rests has no carrier to ask for.
        if amps[l] == 0.0 {
            continue;
        }
        let square = amps[l] * amps[l];
        squares[l] += square;
        let lines = plan.ripple_lines(ripple, pass.at(l));
        let sides = crowds.map_or([0.0; 2], |crowds| crowds.sides(|input| pass.inputs[input.index()][l]));
        let of = [lines.first.si(), air[l], sides[0], sides[1]].map(f64::to_bits);
        let factors = match known {
            Some((same, factors)) if same == of => factors,
            _ => {
                let at = |line: usize| lines.first * (line as f64 + 1.0);
                let factor = |line| crowds.map_or(1.0, |crowds| crowds.factor(at(line), air[l], sides));
                core::array::from_fn(factor)
            }
        };
        known = Some((of, factors));
        for (share, factor) in lines.shares.iter().zip(factors) {
            crowded[l] += square * share * factor;
        }
    }
}
