//! Heat from the junctions into the coolant, in a block of lanes.
//!
//! The loss of a chip is a straight line over its junction temperature, and conduction is linear too, so each package
//! reduces to the heat it sends through each face as a straight line over the temperature behind that face, and each
//! place of the path to a straight line over its coolant. One sweep along the flow then gives every temperature
//! without a guess. Each reduction divides by one less its loop gain: where that is not above zero, losses rise
//! faster than heat can leave, and there is no steady state.

use loadworthy_physics::{Current, Frequency, Resistance, ThermalResistance, Voltage};
use loadworthy_physics::{Power, Temperature, VolumeFlow, coolant, junction_ripple, plate, rating};

use crate::plan::{Bridge, CoolantPath, Face, Package, Place, Plan};
use crate::solver::laws;
use crate::solver::losses;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::reduce::{reduce, two_faces};
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

/// Heat-capacity rate of the flow and, where plates state one, their resistance at it.
pub(crate) fn flow<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    trouble: &mut Trouble<L>,
) {
    let Some(path) = &plan.coolant else { return };
    let inlet = pass.input(path.inlet);
    let flow = pass.input(path.flow);
    let from: &[Operand] = &[path.coolant_curve.into(), path.inlet.into(), path.flow.into()];
    let rate = pass.put(path.capacity_rate, &coolant::HEAT_CAPACITY_RATE, from, |l| {
        let Some(kind) = path.coolant else { return f64::NAN };
        let inlet = Temperature::celsius(inlet[l]);
        if kind.check(inlet).is_err() {
            return f64::NAN;
        }
        coolant::heat_capacity_rate(kind, inlet, VolumeFlow::new(flow[l])).si()
    });
    for l in 0..L {
        if rate[l] <= 0.0 {
            trouble.note(l, path.part);
        }
    }
    for place in &path.places {
        let Some(stated) = &place.plate else { continue };
        let resistance = pass.input(stated.resistance);
        let at = pass.input(stated.flow);
        let from: &[Operand] = &[stated.resistance.into(), stated.flow.into(), path.flow.into()];
        pass.put(stated.resistance_here, &plate::AT_FLOW, from, |l| {
            let (at, flow) = (VolumeFlow::new(at[l]), VolumeFlow::new(flow[l]));
            plate::at_flow(ThermalResistance::new(resistance[l]), at, flow).si()
        });
    }
}

/// Starts every place at the inlet temperature.
pub(crate) fn start<const L: usize>(plan: &Plan, inputs: &[[f64; L]], scratch: &mut Scratch<L>) {
    if let Some(path) = &plan.coolant {
        scratch.plates_before.fill(inputs[path.inlet.index()]);
    }
    scratch.junctions_before.fill([f64::NAN; L]);
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
    if let Some(path) = &plan.coolant {
        places(plan, path, pass, scratch, trouble);
    }
    for bridge in &plan.bridges {
        for package in bridge.packages.clone() {
            temperatures(plan, bridge, package, pass, scratch);
        }
    }
    if let Some(path) = &plan.coolant {
        along_the_path(path, pass, scratch);
        if T::LISTENS {
            path.places.iter().for_each(|place| place_together(plan, place, pass));
        }
    }
}

/// Tells that the cases of a place and its coolant wait for one another, and what is left over between them.
fn place_together<const L: usize, T: Trace>(plan: &Plan, place: &Place, pass: &mut Pass<'_, L, T>) {
    let reference = pass.figure(place.reference_temperature)[0];
    let mut members = vec![place.heat, place.coolant_out, place.reference_temperature];
    let mut offered = reference;
    let mut residual: f64 = 0.0;
    if let Some(plate) = &place.plate {
        offered = pass.figure(plate.temperature)[0];
        let rise = pass.figure(plate.resistance_here)[0] * pass.figure(place.heat)[0];
        residual = (offered - reference - rise).abs();
        members.push(plate.temperature);
    }
    for &(package, face) in &place.faces {
        let face = &plan.packages[package].faces[face];
        let rise = pass.input(face.resistance)[0] * pass.figure(face.heat)[0];
        let left = (pass.figure(face.case_temperature)[0] - offered - rise).abs();
        residual = if left > residual { left } else { residual };
        members.extend([face.case_temperature, face.heat]);
    }
    if !place.faces.is_empty() {
        pass.trace.together(&members, residual);
    }
}

/// Coolant and plate temperature of each place, in the order of flow.
fn places<const L: usize, T: Trace>(
    plan: &Plan,
    path: &CoolantPath,
    pass: &Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) {
    let mut coolant_in = pass.input(path.inlet);
    let rate = pass.figure(path.capacity_rate);
    for (here, place) in path.places.iter().enumerate() {
        let mut constant = place.unknown_heat.map_or([0.0; L], |heat| pass.input(heat));
        let mut per_kelvin = [0.0; L];
        for &(package, face) in &place.faces {
            face_line(plan, package, face, here, pass, scratch, &mut constant, &mut per_kelvin);
        }
        let share = pass.input(place.reference);
        let plate = place.plate.as_ref().map_or([0.0; L], |plate| pass.figure(plate.resistance_here));
        for l in 0..L {
            let behind = plate[l] + share[l] / rate[l];
            let stiffness = 1.0 - behind * per_kelvin[l];
            if stiffness <= 0.0 {
                trouble.note(l, place.part);
            }
            trouble.gain(l, place, &scratch.reduced, stiffness);
            let heat = (constant[l] + per_kelvin[l] * coolant_in[l]) / stiffness;
            scratch.plates[here][l] = coolant_in[l] + behind * heat;
            coolant_in[l] += heat / rate[l];
            // Beyond its range the coolant boils or freezes: what is computed from its properties is none.
            if path.coolant.is_some_and(|kind| coolant_in[l] > kind.range().1.in_celsius()) {
                trouble.note(l, place.part);
            }
        }
    }
}

/// Adds the heat that a face sends here, as a line over the temperature of this place.
#[expect(clippy::too_many_arguments, reason = "the sweep's own state")]
fn face_line<const L: usize, T: Trace>(
    plan: &Plan,
    package: usize,
    face: usize,
    here: usize,
    pass: &Pass<'_, L, T>,
    scratch: &Scratch<L>,
    constant: &mut [f64; L],
    per_kelvin: &mut [f64; L],
) {
    let reduced = &scratch.reduced[package];
    let package = &plan.packages[package];
    let count = pass.input(package.count);
    let [a, b] = match package.faces.as_slice() {
        [_] => {
            for l in 0..L {
                constant[l] += count[l] * reduced.sources[l];
                per_kelvin[l] += count[l] * reduced.conductance[l];
            }
            return;
        }
        [a, b] => [a, b],
        _ => return,
    };
    let (to_a, to_b) = (pass.input(a.resistance), pass.input(b.resistance));
    let other = if face == 0 { b } else { a };
    let together = other.place == Some(here);
    for l in 0..L {
        let resistance = [to_a[l], to_b[l]];
        // Elsewhere the other face sees what the pass before found there.
        let mut behind = [0.0; 2];
        if !together {
            behind[1 - face] = other.place.map_or(f64::NAN, |place| scratch.plates_before[place][l]);
        }
        let (_, cold, _) = two_faces(reduced, l, resistance, behind);
        behind[face] += 1.0;
        if together {
            behind[1 - face] += 1.0;
        }
        let (_, warm, _) = two_faces(reduced, l, resistance, behind);
        constant[l] += count[l] * cold[face];
        per_kelvin[l] += count[l] * (warm[face] - cold[face]);
    }
}

/// Case and junction temperatures of a package, and the losses that go with them.
fn temperatures<const L: usize, T: Trace>(
    plan: &Plan,
    bridge: &Bridge,
    package: usize,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let reduced = scratch.reduced[package];
    let package = &plan.packages[package];
    let behind = |place: Option<usize>| place.map_or([f64::NAN; L], |place| scratch.plates[place]);
    let mut members = Vec::new();
    let mut cases = [[f64::NAN; L]; 2];
    let mut heats = [[f64::NAN; L]; 2];
    match package.faces.as_slice() {
        [face] => {
            let (plate, resistance) = (behind(face.place), pass.input(face.resistance));
            for l in 0..L {
                heats[0][l] = reduced.sources[l] + reduced.conductance[l] * plate[l];
                cases[0][l] = plate[l] + resistance[l] * heats[0][l];
            }
            cases[1] = cases[0];
        }
        [a, b] => {
            let (at_a, at_b) = (behind(a.place), behind(b.place));
            let (to_a, to_b) = (pass.input(a.resistance), pass.input(b.resistance));
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
        let behind: Operand = place_behind(plan, face.place).unwrap_or(face.resistance.into());
        let from: &[Operand] = &[behind, face.resistance.into(), face.heat.into()];
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
        losses::losses(bridge, chip, &line, &junction, pass);
        crest(bridge, chip, pass);
        rated(chip, &cases, package, pass);
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

/// What a face sees behind its own resistance.
fn place_behind(plan: &Plan, place: Option<usize>) -> Option<Operand> {
    let place = plan.coolant.as_ref()?.places.get(place?)?;
    Some(place.plate.as_ref().map_or(place.reference_temperature, |plate| plate.temperature).into())
}

/// Crest of the junction temperature at the output frequency.
fn crest<const L: usize, T: Trace>(bridge: &Bridge, chip: &crate::plan::Chip, pass: &mut Pass<'_, L, T>) {
    let figures = &chip.figures;
    let frequency = pass.input(bridge.inputs.frequency);
    let loss = pass.figure(figures.loss);
    let active = pass.input(bridge.inputs.active);
    let to_case = pass.input(chip.inputs.junction_to_case);
    let stated: f64 = chip.foster.iter().map(|(resistance, _)| resistance.si()).sum();
    let held = frequency[0] <= 0.0 || active[0] < 0.5;
    let law = if held { &laws::HELD } else { &laws::JUNCTION_RIPPLE };
    let turning: [Operand; 3] =
        [figures.loss.into(), chip.inputs.junction_to_case.into(), bridge.inputs.frequency.into()];
    let from: &[Operand] = if held { &[] } else { &turning };
    let ripple = pass.put(figures.junction_ripple, law, from, |l| {
        if active[l] < 0.5 || frequency[l] <= 0.0 {
            return 0.0 * loss[l];
        }
        let rise =
            junction_ripple::extra_rise(Power::new(loss[l]), &chip.foster, Frequency::new(frequency[l])).si();
        // A trial of the whole resistance stretches every element alike; as stated the share is exactly one.
        rise * (to_case[l] / stated)
    });
    let mean = pass.figure(figures.mean_junction_temperature);
    let from: &[Operand] = &[figures.mean_junction_temperature.into(), figures.junction_ripple.into()];
    pass.put(figures.junction_temperature, &laws::JUNCTION_CREST, from, |l| mean[l] + ripple[l]);
}

/// Continuous current that the data sheet leaves at the solved case temperature; the hotter face decides.
fn rated<const L: usize, T: Trace>(
    chip: &crate::plan::Chip,
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
        let case = if cases[0][l] < cases[1][l] { cases[1][l] } else { cases[0][l] };
        rating_here(continuous[l], at_case[l], limit[l], case, knee, slope)
    });
}

fn rating_here(rated: f64, at: f64, limit: f64, case: f64, knee: Voltage, slope: Resistance) -> f64 {
    let (rated, at) = (Current::new(rated), Temperature::celsius(at));
    let (limit, case) = (Temperature::celsius(limit), Temperature::celsius(case));
    rating::rating_at_case(rated, at, limit, case, knee, slope).si()
}

/// Figures of each place, from the heats that came out.
fn along_the_path<const L: usize, T: Trace>(
    path: &CoolantPath,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    let rate = pass.figure(path.capacity_rate);
    let mut before: Operand = path.inlet.into();
    let mut coolant = pass.input(path.inlet);
    for (here, place) in path.places.iter().enumerate() {
        coolant = at_place(path, place, &scratch.plates[here], before, coolant, &rate, pass);
        before = place.coolant_out.into();
    }
    let inlet = pass.input(path.inlet);
    pass.put(path.outlet, &laws::COOLANT_IN, &[before], |l| coolant[l]);
    let from: &[Operand] = &[path.capacity_rate.into(), path.outlet.into(), path.inlet.into()];
    pass.put(path.heat, &laws::LOOP_HEAT, from, |l| rate[l] * (coolant[l] - inlet[l]));
}

fn at_place<const L: usize, T: Trace>(
    path: &CoolantPath,
    place: &Place,
    plate: &[f64; L],
    before: Operand,
    coolant: [f64; L],
    rate: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    pass.put(place.coolant_in, &laws::COOLANT_IN, &[before], |l| coolant[l]);
    let heat = pass.put_products(place.heat, &laws::PLACE_HEAT, &place.heats);
    let from: &[Operand] = &[place.coolant_in.into(), place.heat.into(), path.capacity_rate.into()];
    let out = pass.put(place.coolant_out, &laws::COOLANT_OUT, from, |l| {
        coolant[l]
            + coolant::warming(Power::new(heat[l]), loadworthy_physics::ThermalCapacityRate::new(rate[l]))
                .si()
    });
    let share = pass.input(place.reference);
    let from: &[Operand] = &[place.coolant_in.into(), place.coolant_out.into(), place.reference.into()];
    pass.put(place.reference_temperature, &laws::COOLANT_REFERENCE, from, |l| {
        coolant[l] + share[l] * (out[l] - coolant[l])
    });
    if let Some(stated) = &place.plate {
        let from: &[Operand] =
            &[place.reference_temperature.into(), stated.resistance_here.into(), place.heat.into()];
        pass.put(stated.temperature, &laws::PLATE, from, |l| plate[l]);
    }
    out
}
