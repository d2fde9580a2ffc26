//! What stands between the sources of gates that share an output, once currents are solved.

use loadworthy_physics::gates::shared_return;
use loadworthy_physics::{Current, Inductance, Law, Time};

use crate::plan::{ChipKind, Plan, SharedReturn, Swing, Switching};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static VOLTAGE: Law = Law {
    name: "voltage along a return that gates share",
    formula: "V = L·0.8·I/t_f, the steepest of all that turn off on it",
    validity: "straight fall, t_f from 90 to 10 %; one position turns off at a time, over the whole stated inductance",
    source: shared_return::VOLTAGE.source,
};

static SWING: Law = Law {
    name: "gate voltage from off to on",
    formula: "ΔV = V_on − V_off",
    validity: Law::ALWAYS,
    source: "definition",
};

/// Puts the figures of every output whose return is shared.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for of in &plan.shared_returns {
        swing(of, pass);
        voltage(plan, of, pass);
    }
}

fn swing<const L: usize, T: Trace>(of: &SharedReturn, pass: &mut Pass<'_, L, T>) {
    match of.swing {
        Swing::Stated(on, off) => {
            let (to, from) = (pass.input(on), pass.input(off));
            pass.put(of.swing_figure, &SWING, &[on.into(), off.into()], |l| to[l] - from[l]);
        }
        Swing::Assumed(volts) => {
            let stated = pass.input(volts);
            pass.put(of.swing_figure, &laws::STATED, &[volts.into()], |l| stated[l]);
        }
    }
}

fn voltage<const L: usize, T: Trace>(plan: &Plan, of: &SharedReturn, pass: &mut Pass<'_, L, T>) {
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(of.inductance.into());
    }
    let mut steepest = [0.0; L];
    for switching in &of.switches {
        let amps = current(plan, switching, pass, &mut from);
        let fall = pass.input(switching.fall);
        if T::LISTENS && !from.contains(&switching.fall.into()) {
            from.push(switching.fall.into());
        }
        for l in 0..L {
            let slope = shared_return::edge(Current::new(amps[l]), Time::new(fall[l])).si();
            // What is missing stays missing.
            steepest[l] = if steepest[l] >= slope || f64::is_nan(steepest[l]) { steepest[l] } else { slope };
        }
    }
    let henry = pass.input(of.inductance);
    pass.put(of.voltage, &VOLTAGE, &from, |l| {
        let slope = loadworthy_physics::CurrentSlope::new(steepest[l]);
        shared_return::voltage(Inductance::new(henry[l]), slope).si()
    });
}

/// What all devices of a position turn off together: as solved with its loop, or the largest that flows.
fn current<const L: usize, T: Trace>(
    plan: &Plan,
    of: &Switching,
    pass: &Pass<'_, L, T>,
    from: &mut Vec<Operand>,
) -> [f64; L] {
    if let Some(solved) = of.current {
        if T::LISTENS {
            from.push(solved.into());
        }
        return pass.figure(solved);
    }
    let stage = &plan.stages[of.stage];
    let parallel = stage.seats[of.seat].parallel;
    let count = pass.input(parallel);
    let mut largest = [0.0; L];
    for position in stage.positions.iter().filter(|position| position.seat == of.seat) {
        for chip in plan.chips[position.chips.clone()].iter().filter(|chip| chip.kind != ChipKind::Diode) {
            let amps = pass.figure(chip.figures.judged_crest());
            if T::LISTENS {
                from.push(chip.figures.judged_crest().into());
            }
            for l in 0..L {
                let own = amps[l].abs();
                largest[l] = if largest[l] >= own || f64::is_nan(largest[l]) { largest[l] } else { own };
            }
        }
    }
    if T::LISTENS {
        from.push(parallel.into());
    }
    core::array::from_fn(|l| count[l] * largest[l])
}
