//! Heat from the junctions into the coolant, in a block of lanes.
//!
//! The loss of a chip is a straight line over its junction temperature, and conduction is linear too, so each package
//! reduces to the heat it sends through each face as a straight line over the temperature behind that face, and each
//! place of the path to a straight line over its coolant. One sweep along the flow then gives every temperature
//! without a guess. Each reduction divides by one less its loop gain: where that is not above zero, losses rise
//! faster than heat can leave, and there is no steady state.

use loadworthy_physics::{Current, Frequency, Resistance, Voltage};
use loadworthy_physics::{LossSlope, Power, Temperature, channel_ripple, junction_ripple, rating};

use crate::plan::{BodyDiode, Bridge, Chip, Face, Package, Plan, Stage};
use crate::solver::laws;
use crate::solver::losses;
use crate::solver::magnetic_heat;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::places;
use crate::solver::reduce::{reduce, two_faces};
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

/// Starts every place at the inlet temperature.
pub(crate) fn start<const L: usize>(plan: &Plan, inputs: &[[f64; L]], scratch: &mut Scratch<L>) {
    if let Some(path) = &plan.coolant {
        scratch.plates_before.fill(inputs[path.inlet.index()]);
    }
    scratch.start_junctions(plan, inputs);
    scratch.pads.iter_mut().for_each(|(_, before)| *before = [0.0; L]);
}

/// Temperatures and losses of every chip, package and place.
pub(crate) fn sweep<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) {
    for (k, package) in plan.packages.iter().enumerate() {
        scratch.reduced[k] = reduce(plan, package, pass, scratch, trouble);
    }
    for (k, magnetic) in plan.magnetics.iter().enumerate() {
        scratch.magnetics[k] = magnetic_heat::reduce(magnetic, pass, scratch, trouble);
    }
    if let Some(path) = &plan.coolant {
        places::forward(plan, path, pass, scratch, trouble);
    }
    for package in 0..plan.packages.len() {
        temperatures(plan, package, pass, scratch);
    }
    magnetic_heat::losses(plan, pass, scratch);
    if let Some(path) = &plan.coolant {
        places::along(plan, path, pass, scratch);
    }
    magnetic_heat::temperatures(plan, pass, scratch);
}

/// Case and junction temperatures of a package, and the losses that go with them.
fn temperatures<const L: usize, T: Trace>(
    plan: &Plan,
    package: usize,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let reduced = scratch.reduced[package];
    let package = &plan.packages[package];
    let stage = &plan.stages[package.stage];
    let behind = |place: Option<usize>| place.map_or([f64::NAN; L], |place| scratch.plates[place]);
    let mut members = Vec::new();
    let mut cases = [[f64::NAN; L]; 2];
    let mut heats = [[f64::NAN; L]; 2];
    match package.faces.as_slice() {
        [face] => {
            let (plate, resistance) = (behind(face.place), pass.operand(face.resistance_here()));
            for l in 0..L {
                heats[0][l] = reduced.sources[l] + reduced.conductance[l] * plate[l];
                cases[0][l] = plate[l] + resistance[l] * heats[0][l];
            }
            cases[1] = cases[0];
        }
        [a, b] => {
            let (at_a, at_b) = (behind(a.place), behind(b.place));
            let (to_a, to_b) = (pass.operand(a.resistance_here()), pass.operand(b.resistance_here()));
            for l in 0..L {
                let (case, heat, _) = two_faces(&reduced, l, [to_a[l], to_b[l]], [at_a[l], at_b[l]]);
                (cases[0][l], cases[1][l]) = (case[0], case[1]);
                (heats[0][l], heats[1][l]) = (heat[0], heat[1]);
            }
        }
        _ => return,
    }
    for (n, face) in package.faces.iter().enumerate() {
        let (law, from) = if package.faces.len() == 1 {
            (&laws::FACE_HEAT, &package.losses)
        } else {
            (&laws::FACE_HEAT_OF_TWO, &package.junctions_and_case[n])
        };
        pass.put(face.heat, law, from, |l| heats[n][l]);
        let behind: Operand = place_behind(plan, face.place).unwrap_or(face.resistance_here());
        let from: &[Operand] = &[behind, face.resistance_here(), face.heat.into()];
        pass.put(face.case_temperature, &laws::CASE, from, |l| cases[n][l]);
    }
    let mut residual: f64 = 0.0;
    for &index in &package.chips {
        let chip = &plan.chips[index];
        let to_case = pass.input(chip.inputs.junction_to_case);
        let line = scratch.lines[index];
        let (law, from): (_, &[Operand]) = match package.faces.as_slice() {
            [face] => (
                &laws::JUNCTION_ONE_FACE,
                &[
                    face.case_temperature.into(),
                    chip.inputs.junction_to_case.into(),
                    chip.figures.loss.into(),
                ],
            ),
            [a, b, ..] => (
                &laws::JUNCTION_TWO_FACES,
                &[
                    a.case_temperature.into(),
                    b.case_temperature.into(),
                    chip.inputs.junction_to_case.into(),
                    chip.figures.loss.into(),
                ],
            ),
            [] => return,
        };
        let junction = pass.put(chip.figures.mean_junction_temperature, law, from, |l| {
            let case = 0.5 * (cases[0][l] + cases[1][l]);
            (case + to_case[l] * line.constant[l]) / (1.0 - to_case[l] * line.per_kelvin[l])
        });
        scratch.junctions[index] = junction;
        losses::losses(stage, chip, &line, &junction, pass);
        if T::LISTENS {
            let case = 0.5 * (cases[0][0] + cases[1][0]);
            let loss = pass.figure(chip.figures.loss)[0];
            let left = (junction[0] - case - to_case[0] * loss).abs();
            residual = if left > residual { left } else { residual };
            members.extend([chip.figures.mean_junction_temperature, chip.figures.loss]);
        }
    }
    if T::LISTENS {
        members.extend(package.faces.iter().flat_map(|face| [face.case_temperature, face.heat]));
        pass.trace.together(&members, residual);
    }
}

/// What nothing waits for: crests of the junctions, and what data sheets leave at the cases.
pub(crate) fn crests<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for package in &plan.packages {
        let case = |face: Option<&Face>| face.map(|face| pass.figure(face.case_temperature));
        let (Some(a), Some(b)) = (case(package.faces.first()), case(package.faces.last())) else { continue };
        for &chip in &package.chips {
            crest(&plan.stages[package.stage], &plan.chips[chip], pass);
            rated(&plan.chips[chip], &[a, b], package, pass);
        }
    }
}

/// What a face sees behind its own resistance.
pub(crate) fn place_behind(plan: &Plan, place: Option<usize>) -> Option<Operand> {
    let place = plan.coolant.as_ref()?.places.get(place?)?;
    Some(place.plate.as_ref().map_or(place.reference_temperature, |plate| plate.temperature).into())
}

/// Crest of the junction temperature at the output frequency.
fn crest<const L: usize, T: Trace>(stage: &Stage, chip: &Chip, pass: &mut Pass<'_, L, T>) {
    let figures = &chip.figures;
    let loss = pass.figure(figures.loss);
    let Some(bridge) = stage.bridge() else {
        // What repeats with the carrier is too fast for a junction to follow.
        pass.put(figures.junction_ripple, &laws::HELD, &[], |l| 0.0 * loss[l]);
        let mean = pass.figure(figures.mean_junction_temperature);
        let from: &[Operand] = &[figures.mean_junction_temperature.into(), figures.junction_ripple.into()];
        pass.put(figures.junction_temperature, &laws::JUNCTION_CREST, from, |l| mean[l]);
        return;
    };
    if let Some(body) = &chip.body_diode {
        channel_crest(bridge, chip, body, pass);
        return;
    }
    let frequency = pass.figure(bridge.figures.frequency);
    let active = pass.input(bridge.inputs.active);
    let to_case = pass.input(chip.inputs.junction_to_case);
    let stated: f64 = chip.foster.iter().map(|(resistance, _)| resistance.si()).sum();
    let held = frequency[0] <= 0.0 || active[0] < 0.5;
    let law = if held { &laws::HELD } else { &junction_ripple::EXTRA_RISE };
    let turning: [Operand; 6] = [
        figures.loss.into(),
        figures.slope.into(),
        figures.rms_current.into(),
        figures.loss_per_kelvin.into(),
        chip.inputs.junction_to_case.into(),
        bridge.figures.frequency.into(),
    ];
    let from: &[Operand] = if held { &[] } else { &turning };
    let (slope, rms) = (pass.figure(figures.slope), pass.figure(figures.rms_current));
    let growth = pass.figure(figures.loss_per_kelvin);
    let ripple = pass.put(figures.junction_ripple, law, from, |l| {
        if active[l] < 0.5 || frequency[l] <= 0.0 {
            return 0.0 * loss[l];
        }
        // A trial of the whole resistance stretches every element alike, which is as if all losses were larger; as stated
        // the share is exactly one.
        let stretch = to_case[l] / stated;
        let half_waves = junction_ripple::HalfWaves {
            loss: Power::new(stretch * loss[l]),
            squared: Power::new(stretch * (slope[l] * rms[l] * rms[l])),
            per_kelvin: LossSlope::new(stretch * growth[l]),
        };
        junction_ripple::extra_rise(&half_waves, &chip.foster, Frequency::new(frequency[l])).si()
    });
    let mean = pass.figure(figures.mean_junction_temperature);
    let from: &[Operand] = &[figures.mean_junction_temperature.into(), figures.junction_ripple.into()];
    pass.put(figures.junction_temperature, &laws::JUNCTION_CREST, from, |l| mean[l] + ripple[l]);
}

/// The same of a channel that conducts in both half waves.
fn channel_crest<const L: usize, T: Trace>(
    bridge: &Bridge,
    chip: &Chip,
    body: &BodyDiode,
    pass: &mut Pass<'_, L, T>,
) {
    let figures = &chip.figures;
    let frequency = pass.figure(bridge.figures.frequency);
    let active = pass.input(bridge.inputs.active);
    let to_case = pass.input(chip.inputs.junction_to_case);
    let stated: f64 = chip.foster.iter().map(|(resistance, _)| resistance.si()).sum();
    let (channel, switching) = (pass.figure(figures.conduction_loss), pass.figure(figures.switching_loss));
    let (conducting, recovering) = (pass.figure(body.loss), pass.figure(body.recovery_loss));
    let slope = pass.figure(figures.loss_per_kelvin);
    let (index, factor) =
        (pass.figure(bridge.figures.formed_index), pass.figure(bridge.figures.power_factor));
    let held = frequency[0] <= 0.0 || active[0] < 0.5;
    let law = if held { &laws::HELD } else { &channel_ripple::EXTRA_RISE };
    let turning: [Operand; 9] = [
        figures.conduction_loss.into(),
        figures.switching_loss.into(),
        body.loss.into(),
        body.recovery_loss.into(),
        figures.loss_per_kelvin.into(),
        chip.inputs.junction_to_case.into(),
        bridge.figures.formed_index.into(),
        bridge.figures.power_factor.into(),
        bridge.figures.frequency.into(),
    ];
    let from: &[Operand] = if held { &[] } else { &turning };
    let ripple = pass.put(figures.junction_ripple, law, from, |l| {
        if active[l] < 0.5 || frequency[l] <= 0.0 {
            return 0.0 * (channel[l] + switching[l] + conducting[l] + recovering[l]);
        }
        // A trial of the whole resistance stretches every element alike, which is as if all losses were larger.
        let stretch = to_case[l] / stated;
        let losses = channel_ripple::Losses {
            channel: Power::new(stretch * channel[l]),
            switching: Power::new(stretch * switching[l]),
            body: Power::new(stretch * (conducting[l] + recovering[l])),
            per_kelvin: LossSlope::new(stretch * slope[l]),
            index: index[l],
            power_factor: factor[l],
        };
        channel_ripple::extra_rise(&losses, &chip.foster, Frequency::new(frequency[l])).si()
    });
    let mean = pass.figure(figures.mean_junction_temperature);
    let from: &[Operand] = &[figures.mean_junction_temperature.into(), figures.junction_ripple.into()];
    pass.put(figures.junction_temperature, &laws::JUNCTION_CREST, from, |l| mean[l] + ripple[l]);
}

/// Continuous current that the data sheet leaves at the solved case temperature; the hotter face decides.
fn rated<const L: usize, T: Trace>(
    chip: &Chip,
    cases: &[[f64; L]; 2],
    package: &Package,
    pass: &mut Pass<'_, L, T>,
) {
    let inputs = &chip.inputs;
    let (continuous, at_case) = (pass.input(inputs.continuous), pass.input(inputs.at_case));
    let limit = pass.input(inputs.junction_limit);
    let (knee, slope) = chip.conduction.at_limit;
    let case = |face: Option<&Face>| face.map_or(inputs.at_case.into(), |face| face.case_temperature.into());
    let all: [Operand; 6] = [
        inputs.continuous.into(),
        inputs.at_case.into(),
        inputs.junction_limit.into(),
        chip.conduction.id.into(),
        case(package.faces.first()),
        case(package.faces.last()),
    ];
    let from = if package.faces.len() == 2 { &all[..] } else { &all[..5] };
    pass.put(chip.figures.rated_current, &rating::RATING_AT_CASE, from, |l| {
        let [one, other] = [cases[0][l], cases[1][l]];
        let case = if one >= other || one.is_nan() { one } else { other };
        rating_here(continuous[l], at_case[l], limit[l], case, knee, slope)
    });
}

/// What a rating leaves at a case; see [`rating::RATING_AT_CASE`].
pub(crate) fn rating_here(
    rated: f64,
    at: f64,
    limit: f64,
    case: f64,
    knee: Voltage,
    slope: Resistance,
) -> f64 {
    let (rated, at) = (Current::new(rated), Temperature::celsius(at));
    let (limit, case) = (Temperature::celsius(limit), Temperature::celsius(case));
    rating::rating_at_case(rated, at, limit, case, knee, slope).si()
}
