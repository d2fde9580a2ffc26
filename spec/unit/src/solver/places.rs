//! Places along the coolant path, in a block of lanes: one sweep along the flow gives every temperature.
//!
//! What a place and all that stands on it send into the coolant is a straight line over the coolant that arrives, so the
//! sweep needs no guess. Where the flow divides each branch starts from the same coolant, and what leaves them mixes by
//! their flows.

use loadworthy_physics::{Power, coolant};

use crate::plan::{CoolantPath, Place, Plan, Step};
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::reduce::two_faces;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

/// Coolant and plate temperature of each place, in the order of flow.
pub(crate) fn forward<const L: usize, T: Trace>(
    plan: &Plan,
    path: &CoolantPath,
    pass: &Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) {
    let mut coolant_in = pass.input(path.inlet);
    for &step in path.steps() {
        match step {
            Step::Visit(here) => visit(plan, path, here, &mut coolant_in, pass, scratch, trouble),
            _ => turn(path, step, &mut coolant_in, pass, scratch),
        }
    }
}

/// Where the flow divides and comes together.
fn turn<const L: usize, T: Trace>(
    path: &CoolantPath,
    step: Step,
    coolant: &mut [f64; L],
    pass: &Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    match step {
        Step::Visit(_) => {}
        Step::Fork(split) => scratch.forks[split] = (*coolant, [0.0; L]),
        Step::Enter(split, _) => *coolant = scratch.forks[split].0,
        Step::Leave(split, branch) => {
            let share = pass.figure(path.splits[split].branches[branch].share);
            for l in 0..L {
                scratch.forks[split].1[l] += share[l] * coolant[l];
            }
        }
        Step::Join(split) => *coolant = scratch.forks[split].1,
    }
}

fn visit<const L: usize, T: Trace>(
    plan: &Plan,
    path: &CoolantPath,
    here: usize,
    coolant_in: &mut [f64; L],
    pass: &Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
) {
    let place = &path.places[here];
    let rate = pass.figure(place.capacity_rate);
    let mut constant = place.unknown_heat.map_or([0.0; L], |heat| pass.input(heat));
    let mut per_kelvin = [0.0; L];
    for &conductor in &place.pads {
        let loss = pass.figure(plan.conductors[conductor].loss);
        constant = core::array::from_fn(|l| constant[l] + loss[l]);
    }
    for &magnetic in &place.magnetics {
        let count = pass.input(plan.magnetics[magnetic].count);
        let reduced = &scratch.magnetics[magnetic];
        for l in 0..L {
            constant[l] += reduced.sources[l] * count[l];
            per_kelvin[l] += reduced.conductance[l] * count[l];
        }
    }
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
        if path.coolant.is_some_and(|kind| coolant_in[l] > kind.highest().in_celsius()) {
            trouble.note(l, place.part);
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
    let (to_a, to_b) = (pass.operand(a.resistance_here()), pass.operand(b.resistance_here()));
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

/// Figures of each place, from the heats that came out.
pub(crate) fn along<const L: usize, T: Trace>(
    plan: &Plan,
    path: &CoolantPath,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let mut before: Operand = path.inlet.into();
    let mut coolant = pass.input(path.inlet);
    for &step in path.steps() {
        match step {
            Step::Visit(here) => {
                let place = &path.places[here];
                coolant = at_place(plan, place, &scratch.plates[here], before, coolant, pass);
                before = place.coolant_out.into();
            }
            Step::Join(split) => {
                turn(path, step, &mut coolant, pass, scratch);
                let split = &path.splits[split];
                let mut from: Vec<Operand> = Vec::new();
                if T::LISTENS {
                    from.extend(split.branches.iter().map(|branch| Operand::Figure(branch.share)));
                    from.extend(split.branches.iter().filter_map(|branch| outlet_of(path, &branch.legs)));
                }
                pass.put(split.outlet, &laws::COOLANT_MIXED, &from, |l| coolant[l]);
                before = split.outlet.into();
            }
            Step::Enter(split, _) => {
                turn(path, step, &mut coolant, pass, scratch);
                before = came_from(path, split).unwrap_or(path.inlet.into());
            }
            Step::Fork(_) | Step::Leave(..) => turn(path, step, &mut coolant, pass, scratch),
        }
    }
    let inlet = pass.input(path.inlet);
    let rate = pass.figure(path.capacity_rate);
    pass.put(path.outlet, &laws::COOLANT_IN, &[before], |l| coolant[l]);
    let from: &[Operand] = &[path.capacity_rate.into(), path.outlet.into(), path.inlet.into()];
    pass.put(path.heat, &laws::LOOP_HEAT, from, |l| rate[l] * (coolant[l] - inlet[l]));
    if T::LISTENS {
        path.places.iter().for_each(|place| place_together(plan, place, pass));
    }
}

/// What leaves the last of some legs.
fn outlet_of(path: &CoolantPath, legs: &[crate::plan::CoolantLeg]) -> Option<Operand> {
    match *legs.last()? {
        crate::plan::CoolantLeg::Place(place) => Some(path.places[place].coolant_out.into()),
        crate::plan::CoolantLeg::Split(split) => Some(path.splits[split].outlet.into()),
    }
}

/// What arrives at a split: what leaves the leg before it, where there is one in the same row.
fn came_from(path: &CoolantPath, split: usize) -> Option<Operand> {
    let own = crate::plan::CoolantLeg::Split(split);
    let rows = core::iter::once(&path.legs)
        .chain(path.splits.iter().flat_map(|split| split.branches.iter().map(|branch| &branch.legs)));
    let row = rows.into_iter().find(|row| row.contains(&own))?;
    let at = row.iter().position(|leg| *leg == own)?;
    if at > 0 {
        return outlet_of(path, &row[..at]);
    }
    let outer =
        path.splits.iter().position(|outer| outer.branches.iter().any(|branch| branch.legs.contains(&own)));
    outer.and_then(|outer| came_from(path, outer))
}

fn at_place<const L: usize, T: Trace>(
    plan: &Plan,
    place: &Place,
    plate: &[f64; L],
    before: Operand,
    coolant: [f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    pass.put(place.coolant_in, &laws::COOLANT_IN, &[before], |l| coolant[l]);
    let rate = pass.figure(place.capacity_rate);
    let heat = if place.pads.is_empty() {
        pass.put_products(place.heat, &laws::PLACE_HEAT, &place.heats)
    } else {
        with_pads(plan, place, pass)
    };
    let from: &[Operand] = &[place.coolant_in.into(), place.heat.into(), place.capacity_rate.into()];
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

/// Puts the heat of a place with what conductors on pads lose there.
fn with_pads<const L: usize, T: Trace>(plan: &Plan, place: &Place, pass: &mut Pass<'_, L, T>) -> [f64; L] {
    let mut sum = [0.0; L];
    for pair in place.heats.chunks_exact(2) {
        let (value, count) = (pass.operand(pair[0]), pass.operand(pair[1]));
        sum = core::array::from_fn(|l| sum[l] + value[l] * count[l]);
    }
    for &conductor in &place.pads {
        let loss = pass.figure(plan.conductors[conductor].loss);
        sum = core::array::from_fn(|l| sum[l] + loss[l]);
    }
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(&place.heats);
        from.extend(place.pads.iter().map(|&conductor| Operand::Figure(plan.conductors[conductor].loss)));
    }
    pass.put(place.heat, &laws::PADS_HEAT, &from, |l| sum[l])
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
        let rise = pass.operand(face.resistance_here())[0] * pass.figure(face.heat)[0];
        let left = (pass.figure(face.case_temperature)[0] - offered - rise).abs();
        residual = if left > residual { left } else { residual };
        members.extend([face.case_temperature, face.heat]);
    }
    if !place.faces.is_empty() {
        pass.trace.together(&members, residual);
    }
}
