//! How hot conductors get, once everything else is solved: it changes nothing of that.

use loadworthy_physics::Law;

use crate::plan::{Conductor, ConductorHeat, ConductorRipple, Plan};
use crate::solver::laws;
use crate::solver::pass::Pass;
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

static HEATING: Law = Law {
    name: "direct current that heats a conductor as much",
    formula: "I_h = √(I² + Σ F_k·I_k²), F the skin effect at f_k: twice the carrier of bridges, n times that of n interleaved legs, a full bridge twice its own",
    validity: "copper at the temperature of the air, which is cautious; skin effect as of the conductor by itself, or of a laminated pair",
    source: "sum of mean squares; IEC 60287-1-1, Dwight, Dowell for F",
};

/// Puts the voltage along every conductor; ripple, heating current and temperature of every conductor that is judged by them.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for conductor in &plan.conductors {
        let (ohms, amps) = (pass.input(conductor.resistance), pass.figure(conductor.current));
        let from: &[Operand] = &[conductor.resistance.into(), conductor.current.into()];
        pass.put(conductor.drop, &laws::VOLTAGE_DROP, from, |l| ohms[l] * amps[l]);
        if let Some(heat) = &conductor.heat {
            heated(conductor, heat, pass);
        }
    }
}

fn heated<const L: usize, T: Trace>(conductor: &Conductor, heat: &ConductorHeat, pass: &mut Pass<'_, L, T>) {
    let mut from: Vec<Operand> = Vec::new();
    let figures = &heat.figures;
    if T::LISTENS {
        from.extend(heat.ripples.iter().map(|ripple| Operand::Figure(ripple.current)));
    }
    let law = if heat.ripples.is_empty() { &NO_RIPPLE } else { &RIPPLE };
    let squares = squares(pass, &heat.ripples, |_, _| 1.0);
    pass.put(figures.ripple, law, &from, |l| squares[l].sqrt());

    let inputs = pass.inputs;
    let air = pass.input(conductor.surroundings);
    let crowded = self::squares(pass, &heat.ripples, |ripple, l| {
        let input = |id: crate::ids::InputId| inputs[id.index()][l];
        let legs = ripple.legs.map_or(1.0, input);
        heat.crowding(ripple.times * legs * input(ripple.carrier), air[l], input)
    });
    if T::LISTENS {
        from.push(conductor.current.into());
        for ripple in &heat.ripples {
            from.push(ripple.carrier.into());
            from.extend(ripple.legs.map(Operand::Input));
        }
        if !heat.ripples.is_empty() {
            from.push(conductor.surroundings.into());
            heat.crowds_in(&mut from);
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

/// Sum of the squares of ripple currents, each times a weight.
fn squares<const L: usize, T: Trace>(
    pass: &Pass<'_, L, T>,
    ripples: &[ConductorRipple],
    weight: impl Fn(&ConductorRipple, usize) -> f64,
) -> [f64; L] {
    let mut sum = [0.0; L];
    for ripple in ripples {
        let amps = pass.figure(ripple.current);
        for (l, sum) in sum.iter_mut().enumerate() {
            // A stage that rests has no carrier to ask for.
            if amps[l] != 0.0 {
                *sum += amps[l] * amps[l] * weight(ripple, l);
            }
        }
    }
    sum
}
