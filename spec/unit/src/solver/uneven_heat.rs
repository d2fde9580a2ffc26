//! How hot the chips of the leg that carries most get, of a boost or a buck with several.
//!
//! Its package is solved once more at its own currents. What stands behind the package stays as it was solved: an element
//! cools a position in all legs, and the others carry as much less.

use loadworthy_physics::{Law, rating};

use crate::device::EnergyCurve;
use crate::plan::{
    Chip, ChipKind, Chopper, ChopperKind, Face, Package, Plan, Side, Stage, Topology, UnevenLeg,
};
use crate::solver::chip::{Line, exponents, growth};
use crate::solver::heat::{place_behind, rating_here};
use crate::solver::pass::Pass;
use crate::solver::pulsed::of_edge;
use crate::solver::reduce::{add_chip, behind_one_face, two_faces};
use crate::solver::scratch::Reduced;
use crate::trace::{Operand, Trace};

static UNEVEN_LOSS: Law = Law {
    name: "loss of a chip in the leg that carries most",
    formula: "P = V_0·I_avg·(1 + u) + r·I_u² + f·E at edges of I·(1 + u) ± ΔI/2, at its own junction",
    validity: "the duty of a leg stays; exact while the current of the leg does not reverse",
    source: "definition",
};
static UNEVEN_JUNCTION: Law = Law {
    name: "junction temperature in the leg that carries most",
    formula: "T = T_case + R_jc·P, T_case = T_behind + R·ΣP over the chips of its package, T_behind as solved",
    validity: "settled; legs alike, all at one place, where the others carry as much less as this one carries more",
    source: "series of thermal resistances, solved with the loss at that junction",
};

/// Kelvins above the other legs that stand for a leg whose loss rises faster than its heat can leave: beyond every limit.
const RUNS_AWAY: f64 = 1000.0;

/// Puts what the leg that carries most does to the heat of its chips.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for package in &plan.packages {
        let stage = &plan.stages[package.stage];
        let Topology::Chopper(chopper) = &stage.topology else { continue };
        let uneven = stage.magnetics.iter().find_map(|&own| plan.magnetics[own].uneven);
        let Some(uneven) = uneven else { continue };
        let share = pass.input(uneven.share);
        // What is not known is no even leg.
        let is_even = share.iter().all(|share| share.abs() <= 0.0);
        let cases = if is_even {
            None
        } else {
            Some(heated(plan, stage, package, leg(stage, chopper, &uneven, pass), pass))
        };
        put(plan, package, &uneven, cases.as_ref(), pass);
    }
}

/// The leg that carries most.
pub(super) struct Leg<const L: usize> {
    /// Currents at its edges: where the low side turns on and off.
    bottom: [f64; L],
    top: [f64; L],
    pub(super) share: [f64; L],
    /// Voltage that it switches.
    voltage: [f64; L],
}

pub(super) fn leg<const L: usize, T: Trace>(
    stage: &Stage,
    chopper: &Chopper,
    uneven: &UnevenLeg,
    pass: &Pass<'_, L, T>,
) -> Leg<L> {
    let figures = &chopper.figures;
    let (mean, swing) = (pass.figure(figures.leg_current), pass.figure(figures.ripple));
    let (peak, share) = (pass.figure(figures.leg_peak), pass.input(uneven.share));
    let edges: [(f64, f64); L] = core::array::from_fn(|l| {
        // One that rests in each period rises with all of its crest.
        if peak[l] <= swing[l] && swing[l] <= peak[l] {
            let crest = peak[l] * (1.0 + share[l]);
            return match chopper.kind {
                ChopperKind::Boost => (0.0, crest),
                ChopperKind::Buck => (-crest, 0.0),
            };
        }
        let mean = mean[l] * (1.0 + share[l]);
        (mean - 0.5 * swing[l], mean + 0.5 * swing[l])
    });
    Leg {
        bottom: edges.map(|(bottom, _)| bottom),
        top: edges.map(|(_, top)| top),
        share,
        voltage: stage.ports.get(1).map_or([f64::NAN; L], |high| pass.figure(high.voltage)),
    }
}

/// Losses in W at 0 °C and what each kelvin of the junction adds in W/K.
pub(super) type OverJunction<const L: usize> = ([f64; L], [f64; L]);

/// What a chip of the leg loses over its junction temperature, at the curves of its solved junction.
pub(super) struct Losses<const L: usize> {
    pub(super) conduction: OverJunction<L>,
    pub(super) switching: OverJunction<L>,
    /// Of the body diode of a MOSFET, recovery included.
    pub(super) body: OverJunction<L>,
}

/// All of that together.
fn line<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    index: usize,
    leg: &Leg<L>,
    pass: &Pass<'_, L, T>,
) -> OverJunction<L> {
    let Some(losses) = losses(plan, stage, index, leg, pass) else { return ([f64::NAN; L], [f64::NAN; L]) };
    let Losses { conduction, switching, body } = losses;
    let sum = |l: usize| conduction.0[l] + switching.0[l] + body.0[l];
    let slopes = |l: usize| conduction.1[l] + switching.1[l] + body.1[l];
    (core::array::from_fn(sum), core::array::from_fn(slopes))
}

/// What a chip of the leg loses; none of a chip in no leg.
pub(super) fn losses<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    index: usize,
    leg: &Leg<L>,
    pass: &Pass<'_, L, T>,
) -> Option<Losses<L>> {
    let chip = &plan.chips[index];
    let position = stage.positions.iter().find(|position| position.chips.contains(&index))?;
    let uneven = chip.figures.uneven.as_ref()?;
    let figures = &chip.figures;
    let (n, carrier) = (pass.input(stage.parallel(position)), pass.input(stage.carrier));
    let (crest, rms) = (pass.figure(uneven.largest_current), pass.figure(uneven.rms_current));
    let (average, junction) =
        (pass.figure(figures.average_current), pass.figure(figures.mean_junction_temperature));
    let (of_chip, of_chip_growth) = (exponents(&chip.energy, pass), growth(&chip.energy, pass));
    let none = || ([0.0; L], [0.0; L]);
    let mut losses = Losses { conduction: none(), switching: none(), body: none() };
    for l in 0..L {
        let edges = Edges::of(position.role.side(), leg.bottom[l], leg.top[l]);
        let way = Line::through(&chip.conduction, crest[l], junction[l]);
        let (mean, squared) = (average[l] * (1.0 + leg.share[l]), rms[l] * rms[l]);
        losses.conduction.0[l] = way.knee.0 * mean + way.slope.0 * squared;
        losses.conduction.1[l] = way.knee.1 * mean + way.slope.1 * squared;
        let exponents = [of_chip[0][l], of_chip[1][l]];
        let energy = match (chip.kind, &chip.edges) {
            (ChipKind::Diode, _) => {
                at_edges([(&chip.energy, edges.recovery)], &chip.energy, n[l], leg.voltage[l], exponents)
            }
            (_, Some(own)) => {
                let both = [(&own.turn_on, edges.turn_on), (&own.turn_off, edges.turn_off)];
                at_edges(both, &chip.energy, n[l], leg.voltage[l], exponents)
            }
            (_, None) => 0.0,
        };
        let switches = |curve: &EnergyCurve, energy: f64, growth: f64| {
            // What does not switch hangs on no curve.
            if energy == 0.0 {
                return (0.0, 0.0);
            }
            let (at_zero, growth) = curve.around(junction[l], growth);
            (carrier[l] * energy * at_zero, carrier[l] * energy * growth)
        };
        (losses.switching.0[l], losses.switching.1[l]) = switches(&chip.energy, energy, of_chip_growth[l]);
        let Some(body) = &chip.body_diode else { continue };
        let (of_body, growth) = (exponents_of(&body.energy, pass, l), growth(&body.energy, pass)[l]);
        let recovered =
            at_edges([(&body.energy, edges.recovery)], &body.energy, n[l], leg.voltage[l], of_body);
        (losses.body.0[l], losses.body.1[l]) = switches(&body.energy, recovered, growth);
        let dead = pass.figure(body.average_current)[l] * (1.0 + leg.share[l]);
        if dead != 0.0 {
            let way = Line::through(&body.conduction, crest[l], junction[l]);
            let rms = pass.figure(body.rms_current)[l] * (1.0 + leg.share[l]);
            losses.body.0[l] += way.knee.0 * dead + way.slope.0 * rms * rms;
            losses.body.1[l] += way.knee.1 * dead + way.slope.1 * rms * rms;
        }
    }
    Some(losses)
}

fn exponents_of<const L: usize, T: Trace>(curve: &EnergyCurve, pass: &Pass<'_, L, T>, l: usize) -> [f64; 2] {
    let [of_voltage, of_current] = exponents(curve, pass);
    [of_voltage[l], of_current[l]]
}

/// What a position switches at the edges of its leg, all devices together.
struct Edges {
    turn_on: f64,
    turn_off: f64,
    recovery: f64,
}

impl Edges {
    /// Of a side of a leg: a current out of the low bus enters the low side forward and the high side through its diode.
    fn of(side: Side, bottom: f64, top: f64) -> Self {
        let up = |amps: f64| if amps < 0.0 { 0.0 } else { amps };
        match side {
            Side::Low => Self { turn_on: up(bottom), turn_off: up(top), recovery: up(-top) },
            Side::High => Self { turn_on: up(-top), turn_off: up(-bottom), recovery: up(bottom) },
        }
    }
}

/// Energy of one device at some edges in each carrier period.
fn at_edges<const N: usize>(
    edges: [(&EnergyCurve, f64); N],
    scale: &EnergyCurve,
    parallel: f64,
    voltage: f64,
    [of_voltage, of_current]: [f64; 2],
) -> f64 {
    let mut sum = 0.0;
    for (curve, current) in edges {
        sum += of_edge(curve, current / parallel, of_current);
    }
    if sum == 0.0 { sum } else { sum * scale.voltage_factor(voltage, of_voltage) }
}

/// What a face sees behind its own resistance in °C, and that resistance in K/W.
fn behind<const L: usize, T: Trace>(plan: &Plan, face: &Face, pass: &Pass<'_, L, T>) -> ([f64; L], [f64; L]) {
    let at = place_behind(plan, face.place).map_or([f64::NAN; L], |at| pass.operand(at));
    (at, pass.operand(face.resistance_here()))
}

/// The cases of a package at the currents of the leg, one for each face.
struct Heated<'a, const L: usize> {
    stage: &'a Stage,
    leg: Leg<L>,
    cases: [[f64; L]; 2],
    /// Whether its losses rise faster than its heat can leave.
    runs_away: [bool; L],
}

fn heated<'a, const L: usize, T: Trace>(
    plan: &Plan,
    stage: &'a Stage,
    package: &Package,
    leg: Leg<L>,
    pass: &Pass<'_, L, T>,
) -> Heated<'a, L> {
    let mut reduced = Reduced::<L>::default();
    let mut runs_away = [false; L];
    let faces = package.faces.len();
    for &index in &package.chips {
        let to_case = pass.input(plan.chips[index].inputs.junction_to_case);
        let (constant, per_kelvin) = line(plan, stage, index, &leg, pass);
        for l in 0..L {
            let left = add_chip(&mut reduced, l, faces, to_case[l], constant[l], per_kelvin[l]);
            runs_away[l] |= left <= 0.0;
        }
    }
    let mut cases = [[f64::NAN; L]; 2];
    if faces == 1 {
        let (plate, resistance) = behind(plan, &package.faces[0], pass);
        for l in 0..L {
            runs_away[l] |= behind_one_face(&mut reduced, l, resistance[l]) <= 0.0;
            let heat = reduced.sources[l] + reduced.conductance[l] * plate[l];
            cases[0][l] = plate[l] + resistance[l] * heat;
        }
        cases[1] = cases[0];
    } else if faces == 2 {
        let [(at_a, to_a), (at_b, to_b)] = [0, 1].map(|face| behind(plan, &package.faces[face], pass));
        for l in 0..L {
            let (both, _, determinant) = two_faces(&reduced, l, [to_a[l], to_b[l]], [at_a[l], at_b[l]]);
            runs_away[l] |= determinant <= 0.0;
            (cases[0][l], cases[1][l]) = (both[0], both[1]);
        }
    }
    Heated { stage, leg, cases, runs_away }
}

/// Puts losses, junctions and ratings of a package; where all legs carry the same, those that were solved.
fn put<const L: usize, T: Trace>(
    plan: &Plan,
    package: &Package,
    uneven: &UnevenLeg,
    heated: Option<&Heated<'_, L>>,
    pass: &mut Pass<'_, L, T>,
) {
    for &index in &package.chips {
        let chip = &plan.chips[index];
        let Some(out) = &chip.figures.uneven else { continue };
        let (even_loss, even) =
            (pass.figure(chip.figures.loss), pass.figure(chip.figures.junction_temperature));
        let (share, to_case) = (pass.input(uneven.share), pass.input(chip.inputs.junction_to_case));
        let found: Option<([f64; L], [f64; L])> = heated.map(|heated| {
            let (constant, per_kelvin) = line(plan, heated.stage, index, &heated.leg, pass);
            let junction: [f64; L] = core::array::from_fn(|l| {
                if heated.runs_away[l] {
                    return even[l] + RUNS_AWAY;
                }
                let case = 0.5 * (heated.cases[0][l] + heated.cases[1][l]);
                (case + to_case[l] * constant[l]) / (1.0 - to_case[l] * per_kelvin[l])
            });
            (core::array::from_fn(|l| constant[l] + per_kelvin[l] * junction[l]), junction)
        });
        let evenly = |l: usize| share[l] == 0.0;
        let from: [Operand; 6] = [
            chip.figures.loss.into(),
            uneven.share.into(),
            out.rms_current.into(),
            out.largest_current.into(),
            chip.conduction.id.into(),
            chip.energy.id.into(),
        ];
        pass.put(out.loss, &UNEVEN_LOSS, &from, |l| match &found {
            Some((loss, _)) if !evenly(l) => loss[l],
            _ => even_loss[l],
        });
        let face = |face: Option<&Face>| -> [Operand; 2] {
            let own = face.map_or(chip.inputs.junction_to_case.into(), |face| face.resistance_here());
            [own, face.and_then(|face| place_behind(plan, face.place)).unwrap_or(own)]
        };
        let mut from: [Operand; 7] = [chip.figures.junction_temperature.into(); 7];
        from[1..3].copy_from_slice(&[out.loss.into(), chip.inputs.junction_to_case.into()]);
        from[3..5].copy_from_slice(&face(package.faces.first()));
        from[5..7].copy_from_slice(&face(package.faces.last()));
        let from = if package.faces.len() == 2 { &from[..] } else { &from[..5] };
        pass.put(out.junction_temperature, &UNEVEN_JUNCTION, from, |l| match &found {
            Some((_, junction)) if !evenly(l) => junction[l],
            _ => even[l],
        });
        rated(chip, heated, &share, pass);
    }
}

/// What the continuous rating leaves at the case of the leg; the hotter face decides.
fn rated<const L: usize, T: Trace>(
    chip: &Chip,
    heated: Option<&Heated<'_, L>>,
    share: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let Some(out) = &chip.figures.uneven else { return };
    let (inputs, even) = (&chip.inputs, pass.figure(chip.figures.rated_current));
    let (continuous, at_case) = (pass.input(inputs.continuous), pass.input(inputs.at_case));
    let limit = pass.input(inputs.junction_limit);
    let (knee, slope) = chip.conduction.at_limit;
    let from: [Operand; 7] = [
        inputs.continuous.into(),
        inputs.at_case.into(),
        inputs.junction_limit.into(),
        chip.conduction.id.into(),
        chip.figures.rated_current.into(),
        out.junction_temperature.into(),
        out.loss.into(),
    ];
    pass.put(out.rated_current, &rating::RATING_AT_CASE, &from, |l| {
        let Some(heated) = heated.filter(|_| share[l] != 0.0) else { return even[l] };
        if heated.runs_away[l] {
            return 0.0;
        }
        let [a, b] = [heated.cases[0][l], heated.cases[1][l]];
        let case = if a >= b || a.is_nan() { a } else { b };
        rating_here(continuous[l], at_case[l], limit[l], case, knee, slope)
    });
}
