//! What conductors lose with ripple and skin effect, in copper as warm as it gets: the power that is drawn for them is that of
//! direct current in copper as warm as the air, and the difference is told beside it.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{Law, Temperature};

use crate::ids::FigureId;
use crate::plan::{Conductor, Crowds, Plan};
use crate::solver::pass::Pass;
use crate::solver::{Block, conductor_heat, ripple_lines};
use crate::trace::{Operand, Trace};

static WARM: Law = Law {
    name: "loss of a conductor in copper as warm as it gets",
    formula: "P = I_h²·R·(1 + α·(T − 20 °C))/(1 + α·(T_a − 20 °C)), R at the temperature T_a of the air, of contacts at T_a = 20 °C",
    validity: "copper, α = 0.00393/K; of a duty point that ends at the hottest that it gets until then",
    source: "Joule heat; IEC 60028 for α",
};

static OF_RMS: Law = Law {
    name: "loss of a conductor with its ripple",
    formula: "P = I_rms²·R",
    validity: "a conductor with a rated current, whose temperature is not solved: copper as warm as the air, without skin effect, for want of its section or of the air inside; on the low side",
    source: "Joule heat",
};

static OF_CROWDED: Law = Law {
    name: "loss of a conductor with its ripple, by its section",
    formula: "P = (I² + Σ F_k·I_k²)·R, F_k the skin effect at each line of a stage's ripple, as much as of its square lies there",
    validity: "a conductor with a rated current, whose temperature is not solved: copper as warm as the air, which is on the low side; skin effect as of the conductor by itself, or of a laminated pair",
    source: "Joule heat; IEC 60287-1-1, Dwight, Dowell for F",
};

/// Puts the loss of every conductor whose temperature or ripple is known.
pub(crate) fn settle<const L: usize, T: Trace>(
    plan: &Plan,
    conductor: &Conductor,
    pass: &mut Pass<'_, L, T>,
) {
    let Some(loss) = conductor.heating_loss else { return };
    // Of a duty point that ends it is reckoned once it is known how hot it gets.
    if is_followed(conductor) {
        return;
    }
    let crowds = conductor.rated_section.as_ref().and_then(|of| of.crowds);
    if let (None, Some(crowds)) = (&conductor.heat, crowds) {
        return of_section(plan, conductor, (crowds, loss), pass);
    }
    let watts: [f64; L] = core::array::from_fn(|l| watts(conductor, pass.at(l)));
    let from = if T::LISTENS { from(conductor) } else { Vec::new() };
    pass.put(loss, law(conductor), &from, |l| watts[l]);
}

/// Puts the loss of a conductor with a rated current and a section.
fn of_section<const L: usize, T: Trace>(
    plan: &Plan,
    conductor: &Conductor,
    (crowds, loss): (Crowds, FigureId),
    pass: &mut Pass<'_, L, T>,
) {
    let crowded = conductor_heat::crowded(plan, conductor, crowds, pass);
    let (amps, ohms) = (pass.figure(conductor.current), pass.input(conductor.resistance));
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(conductor.current.into());
        for ripple in &conductor.ripples {
            from.push(ripple.current.into());
            ripple_lines::from(&plan.stages[ripple.stage], &mut from);
        }
        from.extend([conductor.surroundings, conductor.resistance].map(Operand::Input));
        crowds.from(&mut from);
    }
    pass.put(loss, &OF_CROWDED, &from, |l| (amps[l] * amps[l] + crowded[l]) * ohms[l]);
}

/// Tells how those came about that wait for how hot a conductor gets, after that is told.
pub(crate) fn tell_losses<T: Trace>(plan: &Plan, trace: &mut T) {
    for conductor in plan.conductors.iter().filter(|conductor| is_followed(conductor)) {
        if let Some(loss) = conductor.heating_loss {
            trace.step(loss, law(conductor), &from(conductor));
        }
    }
}

/// Reckons those again in a lane of which it is known by now how hot conductors get in it.
pub(crate) fn lose_where_hottest<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize) {
    for conductor in plan.conductors.iter().filter(|conductor| is_followed(conductor)) {
        let Some(loss) = conductor.heating_loss else { continue };
        let watts = watts(conductor, |operand| match operand {
            Operand::Figure(id) => block.figures[id.index()][l],
            Operand::Input(id) => block.inputs[id.index()][l],
            Operand::Curve(_) => f64::NAN,
        });
        block.figures[loss.index()][l] = watts;
    }
}

/// Whether it waits for how hot the conductor gets in a duty point that is followed over time.
fn is_followed(conductor: &Conductor) -> bool {
    conductor.heat.as_ref().is_some_and(|heat| heat.figures.hottest.is_some())
}

fn law(conductor: &Conductor) -> &'static Law {
    if conductor.heat.is_some() { &WARM } else { &OF_RMS }
}

fn from(conductor: &Conductor) -> Vec<Operand> {
    match &conductor.heat {
        Some(heat) => vec![
            heat.figures.heating_current.into(),
            conductor.resistance.into(),
            heat.figures.highest().into(),
            conductor.surroundings.into(),
        ],
        None => vec![conductor.carried().into(), conductor.resistance.into()],
    }
}

/// The loss in W; not a number where no temperature holds it.
fn watts(conductor: &Conductor, value: impl Fn(Operand) -> f64) -> f64 {
    let ohms = value(conductor.resistance.into());
    let Some(heat) = &conductor.heat else {
        let amps = value(conductor.carried().into());
        return amps * amps * ohms;
    };
    let amps = value(heat.figures.heating_current.into());
    let copper = value(heat.figures.highest().into());
    if copper.is_infinite() {
        return f64::NAN;
    }
    let stated_at = heat.stated_at(Temperature::celsius(value(conductor.surroundings.into())));
    amps * amps * ohms * (growth(Temperature::celsius(copper)) / growth(stated_at))
}
