//! Temperatures of chokes and transformers in a block of lanes.
//!
//! The loss of a winding is a straight line over its temperature, which touches the loss where the winding is, that of a core a constant, and conduction is linear, so
//! that a component reduces to a straight line over what its case sees, as a package does.

use loadworthy_physics::{Law, winding_loss};

use crate::plan::{Magnetic, Plan, Winding};
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::{Reduced, Scratch};
use crate::trace::{Operand, Trace};

static WINDING_LOSS: Law = Law {
    name: "loss of a winding",
    formula: "P = R·I_rms²",
    validity: "resistance as stated, at its temperature of service; skin effect left out where it is not known what it is wound of",
    source: "Joule heat",
};
static WARM_LOSS: Law = Law {
    name: "loss of a warm winding",
    formula: "P = R·(1 + a·(T − 20 °C))/(1 + a·(T_0 − 20 °C))·I_rms², a = 0.00393/K, and what its layers add",
    validity: "copper; what layers add through 40, 100 and 160 °C, within 0.5 % of the loss from 0 to 200 °C; solved together with the temperature",
    source: winding_loss::WARMED.source,
};
static GROWS: Law = Law {
    name: "growth of a winding's loss",
    formula: "P' = b of P = a + b·T",
    validity: "zero where the resistance is one of service, or taken at a usual temperature",
    source: winding_loss::WARMED.source,
};
static RATIO: Law = Law {
    name: "alternating over direct resistance of a winding",
    formula: "F = P/(R(T)·I_rms²), P of each harmonic with X·[(sinh 2X + sin 2X)/(cosh 2X − cos 2X) + 2·(p² − 1)/3·(sinh X − sin X)/(cosh X + cos X)], X = h/δ·√η",
    validity: winding_loss::LAYERS.validity,
    source: winding_loss::LAYERS.source,
};
static CASE: Law = Law {
    name: "case temperature of a magnetic component",
    formula: "T_c = T_plate + R·P, of a component on no coolant element T_c = T_air + R·P",
    validity: "steady; winding and core share the case",
    source: "series of thermal resistances",
};
static MEAN: Law = Law {
    name: "mean temperature of a winding",
    formula: "T = T_c + R·P",
    validity: "steady; solved together with the loss",
    source: "series of thermal resistances",
};
static HOTTEST: Law = Law {
    name: "temperature of the hottest place of a winding",
    formula: "T = T_mean + ΔT",
    validity: "ΔT as stated or usual",
    source: "definition",
};
static CORE: Law = Law {
    name: "temperature of a core",
    formula: "T = T_c + R·P_core",
    validity: "steady",
    source: "series of thermal resistances",
};

/// A component reduced to what its case sees.
pub(crate) fn reduce<const L: usize, T: Trace>(
    magnetic: &Magnetic,
    pass: &Pass<'_, L, T>,
    scratch: &Scratch<L>,
    trouble: &mut Trouble<L>,
) -> Reduced<L> {
    let mut out = Reduced { sources: pass.figure(magnetic.core.figures.loss), ..Reduced::default() };
    let usual = magnetic.heat.usual.map(|at| pass.input(at));
    for winding in &magnetic.windings {
        let line = &scratch.windings[winding.line];
        let to_case = pass.input(winding.to_case);
        for l in 0..L {
            if let Some(at) = usual {
                out.sources[l] += line.constant[l] + line.per_kelvin[l] * at[l];
            } else if winding.stated_at.is_none() {
                // Its loss does not wait for its temperature, nor for the path of its heat.
                out.sources[l] += line.constant[l];
            } else {
                let stiffness = 1.0 - to_case[l] * line.per_kelvin[l];
                if stiffness <= 0.0 {
                    trouble.note(l, magnetic.part);
                }
                if stiffness < out.stiffness[l] || stiffness.is_nan() {
                    out.stiffness[l] = stiffness;
                }
                out.sources[l] += line.constant[l] / stiffness;
                out.conductance[l] += line.per_kelvin[l] / stiffness;
            }
        }
    }
    if is_fed_back(magnetic) {
        let case = pass.operand(magnetic.heat.case_here());
        for l in 0..L {
            let stiffness = 1.0 - case[l] * out.conductance[l];
            if stiffness <= 0.0 {
                trouble.note(l, magnetic.part);
            }
            out.sources[l] /= stiffness;
            out.conductance[l] /= stiffness;
            out.stiffness[l] *= stiffness;
        }
    }
    out
}

/// Whether a loss of it waits for its temperature.
fn is_fed_back(magnetic: &Magnetic) -> bool {
    magnetic.heat.usual.is_none() && magnetic.windings.iter().any(|winding| winding.stated_at.is_some())
}

/// Losses of every component, once what their places offer is known.
pub(crate) fn losses<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>, scratch: &Scratch<L>) {
    for (k, magnetic) in plan.magnetics.iter().enumerate() {
        let (_, case) = case(magnetic, &scratch.magnetics[k], pass, scratch);
        for winding in &magnetic.windings {
            wound(magnetic, winding, &case, pass, scratch);
        }
        pass.put_sum(magnetic.loss, &laws::MAGNETIC_LOSS, &magnetic.losses);
    }
}

/// What a case stands before, and its temperature.
fn case<const L: usize, T: Trace>(
    magnetic: &Magnetic,
    reduced: &Reduced<L>,
    pass: &Pass<'_, L, T>,
    scratch: &Scratch<L>,
) -> ([f64; L], [f64; L]) {
    let behind = magnetic.place.map_or_else(|| pass.input(magnetic.heat.air), |place| scratch.plates[place]);
    let resistance = pass.operand(magnetic.heat.case_here());
    let case = core::array::from_fn(|l| {
        behind[l] + resistance[l] * (reduced.sources[l] + reduced.conductance[l] * behind[l])
    });
    (behind, case)
}

/// Temperatures of every component, once the coolant has them.
pub(crate) fn temperatures<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    for (k, magnetic) in plan.magnetics.iter().enumerate() {
        let figures = &magnetic.core.figures;
        let (behind, case) = case(magnetic, &scratch.magnetics[k], pass, scratch);
        let around: Operand =
            super::heat::place_behind(plan, magnetic.place).unwrap_or(magnetic.heat.air.into());
        let from: &[Operand] = &[around, magnetic.heat.case_here(), magnetic.loss.into()];
        pass.put(figures.case_temperature, &CASE, from, |l| case[l]);
        for winding in &magnetic.windings {
            let (to_case, loss) = (pass.input(winding.to_case), pass.figure(winding.loss));
            let from: &[Operand] =
                &[figures.case_temperature.into(), winding.to_case.into(), winding.loss.into()];
            let mean = pass.put(winding.mean_temperature, &MEAN, from, |l| case[l] + to_case[l] * loss[l]);
            // Of legs that are not alike the one that carries most speaks, which nothing waits for.
            if magnetic.uneven.is_none() {
                let hotter = pass.input(winding.hot_spot);
                let from: &[Operand] = &[winding.mean_temperature.into(), winding.hot_spot.into()];
                pass.put(winding.temperature, &HOTTEST, from, |l| mean[l] + hotter[l]);
            }
        }
        let (to_case, loss) = (pass.input(magnetic.core.to_case), pass.figure(figures.loss));
        let from: &[Operand] =
            &[figures.case_temperature.into(), magnetic.core.to_case.into(), figures.loss.into()];
        pass.put(figures.temperature, &CORE, from, |l| case[l] + to_case[l] * loss[l]);
        if T::LISTENS && is_fed_back(magnetic) {
            let resistance = pass.operand(magnetic.heat.case_here());
            let residual = (case[0] - behind[0] - resistance[0] * pass.figure(magnetic.loss)[0]).abs();
            let own = magnetic.windings.iter().flat_map(|winding| [winding.mean_temperature, winding.loss]);
            let members: Vec<_> = own.chain([figures.case_temperature, magnetic.loss]).collect();
            pass.trace.together(&members, residual);
        }
    }
}

fn wound<const L: usize, T: Trace>(
    magnetic: &Magnetic,
    winding: &Winding,
    case: &[f64; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    let line = &scratch.windings[winding.line];
    let to_case = pass.input(winding.to_case);
    let usual = magnetic.heat.usual.map(|at| pass.input(at));
    let at: [f64; L] = core::array::from_fn(|l| match usual {
        Some(at) => at[l],
        None => (case[l] + to_case[l] * line.constant[l]) / (1.0 - to_case[l] * line.per_kelvin[l]),
    });
    let mut from: [Operand; 8] = [winding.resistance.into(); 8];
    from[1] = winding.rms.into();
    let mut count = 2;
    let mut add = |operand: Operand| {
        from[count] = operand;
        count += 1;
    };
    if let Some(stated_at) = winding.stated_at {
        add(stated_at.into());
        add(magnetic.heat.usual.map_or(winding.mean_temperature.into(), Operand::Input));
    }
    if let Some(wound) = &winding.conductor {
        add(wound.size.into());
        add(wound.strands.into());
        add(wound.layers.into());
        add(wound.filling.into());
    }
    let law = if winding.stated_at.is_some() { &WARM_LOSS } else { &WINDING_LOSS };
    // Not touched by a temperature that is not known, where it does not depend on one.
    let on_line = |constant: f64, per_kelvin: f64, l: usize| {
        if winding.stated_at.is_none() { constant } else { constant + per_kelvin * at[l] }
    };
    let loss =
        pass.put(winding.loss, law, &from[..count], |l| on_line(line.constant[l], line.per_kelvin[l], l));
    if let Some(warms) = &winding.warms {
        let grows = &line.per_kelvin;
        let is_held = magnetic.heat.usual.is_some() || winding.stated_at.is_none();
        pass.put(warms.loss_per_kelvin, &GROWS, &from[..count], |l| if is_held { 0.0 } else { grows[l] });
    }
    if let Some(ratio) = winding.ratio {
        pass.put(ratio, &RATIO, &[winding.loss.into(), winding.resistance.into(), winding.rms.into()], |l| {
            loss[l] / on_line(line.direct.0[l], line.direct.1[l], l)
        });
    }
}
