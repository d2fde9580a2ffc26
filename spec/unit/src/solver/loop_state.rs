//! What the coolant loop comes to, in a block of lanes, once everything is settled: how each branch warms, how it flows
//! when cold, whether it clears air, and how far its walls are from boiling. Nothing that is sought depends on it.

use loadworthy_physics::air_clearing;
use loadworthy_physics::coolant::{self, air_pressure};
use loadworthy_physics::duct;
use loadworthy_physics::{Area, Length, Power, Pressure, Temperature, ThermalCapacityRate, VolumeFlow};

use crate::ids::FigureId;
use crate::plan::{CoolantLeg, CoolantPath, Place, Plan, RowFigures};
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::solver::{flow, laws};
use crate::trace::{Operand, Trace};

/// Puts all of it but its walls.
pub(crate) fn reckon<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let Some(path) = &plan.coolant else { return };
    flow::cold(path, pass, scratch);
    row(path, &path.whole, path.capacity_rate, pass);
    for branch in path.splits.iter().flat_map(|split| &split.branches) {
        let heat = heat_of(path, &branch.legs, pass);
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            heats(path, &branch.legs, &mut from);
        }
        pass.put(branch.row.heat, &laws::ROW_HEAT, &from, |l| heat[l]);
        row(path, &branch.row, branch.capacity_rate, pass);
    }
    for place in &path.places {
        air(place, pass);
        if let Some(least) = &place.least_flow {
            let stated = pass.input(least.stated);
            pass.put(least.needed, &laws::STATED, &[least.stated.into()], |l| stated[l]);
        }
    }
    total_drop(path, pass);
    limits(path, pass);
    let start = (Operand::from(path.outlet_pressure), pass.figure(path.outlet_pressure));
    pressures(path, &path.legs, start, pass);
}

/// Puts how far its walls are from boiling.
pub(crate) fn walls<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    let Some(path) = &plan.coolant else { return };
    for place in &path.places {
        wall(plan, path, place, pass);
    }
}

/// What all of it drops; missing where a place does not say.
fn total_drop<const L: usize, T: Trace>(path: &CoolantPath, pass: &mut Pass<'_, L, T>) {
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(path.places.iter().filter_map(|place| place.pressure_drop).map(Operand::Figure));
        let branches = path.splits.iter().flat_map(|split| &split.branches).map(|one| one.drop_known);
        from.extend(
            core::iter::once(path.drop_known).chain(branches).filter_map(|known| flow::unknown(known, pass)),
        );
    }
    let drops = drop_of(path, &path.legs, pass);
    pass.put(path.total_drop, &laws::TOTAL_DROP, &from, |l| drops[l]);
}

/// Pressure that some legs drop one after another.
fn drop_of<const L: usize, T: Trace>(
    path: &CoolantPath,
    legs: &[CoolantLeg],
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let mut sum = [0.0; L];
    for &leg in legs {
        match leg {
            CoolantLeg::Place(place) => {
                let drop = path.places[place].pressure_drop;
                add(&mut sum, drop.map_or([f64::NAN; L], |drop| pass.figure(drop)));
            }
            CoolantLeg::Split(split) => {
                let mut most = [0.0_f64; L];
                for branch in &path.splits[split].branches {
                    let own = drop_of(path, &branch.legs, pass);
                    // What is missing stays missing.
                    most = core::array::from_fn(|l| {
                        if most[l].is_nan() || own[l] <= most[l] { most[l] } else { own[l] }
                    });
                }
                add(&mut sum, most);
            }
        }
    }
    sum
}

/// How a row warms, and with what it leaves in a cold start.
fn row<const L: usize, T: Trace>(
    path: &CoolantPath,
    row: &RowFigures,
    rate: FigureId,
    pass: &mut Pass<'_, L, T>,
) {
    let (heat, through) = (pass.figure(row.heat), pass.figure(rate));
    pass.put(row.warming, &coolant::WARMING, &[row.heat.into(), rate.into()], |l| {
        coolant::warming(Power::new(heat[l]), ThermalCapacityRate::new(through[l])).si()
    });
    let (coldest, flow) = (pass.input(path.coldest), pass.figure(row.cold_flow));
    let share = share(path, pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([Operand::Curve(path.coolant_curve), path.coldest.into()]);
        from.extend(path.glycol.map(Operand::Input));
        from.extend([Operand::Figure(row.cold_flow), row.heat.into()]);
    }
    pass.put(row.cold_outlet, &laws::COLD_OUTLET, &from, |l| {
        let at = Temperature::celsius(coldest[l]);
        let Some(fluid) = path.fluid(share[l]).filter(|fluid| fluid.check(at).is_ok()) else {
            return f64::NAN;
        };
        let rate = coolant::heat_capacity_rate(fluid, at, VolumeFlow::new(flow[l]));
        (at + coolant::warming(Power::new(heat[l]), rate)).in_celsius()
    });
}

fn share<const L: usize, T: Trace>(path: &CoolantPath, pass: &Pass<'_, L, T>) -> [f64; L] {
    path.glycol.map_or([f64::NAN; L], |glycol| pass.input(glycol))
}

/// Heat of everything along some legs.
fn heat_of<const L: usize, T: Trace>(
    path: &CoolantPath,
    legs: &[CoolantLeg],
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let mut sum = [0.0; L];
    for &leg in legs {
        match leg {
            CoolantLeg::Place(place) => add(&mut sum, pass.figure(path.places[place].heat)),
            CoolantLeg::Split(split) => {
                for branch in &path.splits[split].branches {
                    add(&mut sum, heat_of(path, &branch.legs, pass));
                }
            }
        }
    }
    sum
}

fn add<const L: usize>(sum: &mut [f64; L], more: [f64; L]) {
    for l in 0..L {
        sum[l] += more[l];
    }
}

/// The figures that [`heat_of`] sums.
fn heats(path: &CoolantPath, legs: &[CoolantLeg], from: &mut Vec<Operand>) {
    for &leg in legs {
        match leg {
            CoolantLeg::Place(place) => from.push(path.places[place].heat.into()),
            CoolantLeg::Split(split) => {
                path.splits[split].branches.iter().for_each(|branch| heats(path, &branch.legs, from));
            }
        }
    }
}

/// Velocity in a passage, and the one that carries air down it.
fn air<const L: usize, T: Trace>(place: &Place, pass: &mut Pass<'_, L, T>) {
    let passage = &place.passage;
    let (Some(velocity), Some(clearing)) = (passage.velocity, passage.clearing_velocity) else { return };
    let (flow, bore, count) = (pass.figure(place.flow), pass.input(passage.bore), pass.input(passage.count));
    let from: &[Operand] = &[place.flow.into(), passage.bore.into(), passage.count.into()];
    pass.put(velocity, &air_clearing::MEAN_VELOCITY, from, |l| {
        air_clearing::mean_velocity(VolumeFlow::new(flow[l]), Length::new(bore[l]), count[l]).si()
    });
    let (top, end) = (pass.input(place.elevation[0]), pass.input(place.elevation[1]));
    let length = pass.input(passage.length);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(passage.bore.into());
        let slope = [place.elevation[0], place.elevation[1], passage.length];
        if slope.iter().all(|&input| !pass.input(input)[0].is_nan()) {
            from.extend(slope.map(Operand::Input));
        }
    }
    pass.put(clearing, &air_clearing::CLEARING_VELOCITY, &from, |l| {
        let fall = (top[l] - end[l]) / length[l];
        // What does not fall itself is held against a hose behind it that falls straight down.
        let sine = if fall > 0.0 { fall } else { 1.0 };
        air_clearing::clearing_velocity(Length::new(bore[l]), sine).si()
    });
}

/// Freezing point and pressure of the whole loop.
fn limits<const L: usize, T: Trace>(path: &CoolantPath, pass: &mut Pass<'_, L, T>) {
    let share = share(path, pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(path.coolant_curve.into());
        from.extend(path.glycol.map(Operand::Input));
    }
    pass.put(path.freezing_point, &coolant::FREEZING, &from, |l| {
        path.fluid(share[l]).map_or(f64::NAN, |fluid| coolant::freezing(fluid).in_celsius())
    });
    let (stated, altitude) = (pass.input(path.stated_pressure), pass.input(path.altitude));
    let is_stated = !stated[0].is_nan();
    let from = if is_stated { path.stated_pressure } else { path.altitude };
    let law = if is_stated { &laws::LEAST_PRESSURE } else { &coolant::AIR_PRESSURE };
    pass.put(path.outlet_pressure, law, &[from.into()], |l| {
        if stated[l].is_nan() { air_pressure(Length::new(altitude[l])).si() } else { stated[l] }
    });
}

/// Puts the pressure behind each place, from the end of a row to its start; says what stands before the row.
fn pressures<const L: usize, T: Trace>(
    path: &CoolantPath,
    legs: &[CoolantLeg],
    end: (Operand, [f64; L]),
    pass: &mut Pass<'_, L, T>,
) -> (Operand, [f64; L]) {
    let (mut from, mut pressure) = end;
    let mut dropped: Option<FigureId> = None;
    for &leg in legs.iter().rev() {
        match leg {
            CoolantLeg::Place(place) => {
                let place = &path.places[place];
                if let Some(wall) = &place.wall {
                    let operands = [from, dropped.map_or(from, Operand::Figure)];
                    let known = if dropped.is_some() { 2 } else { 1 };
                    pass.put(wall.pressure, &laws::PRESSURE_HERE, &operands[..known], |l| pressure[l]);
                    (from, dropped) = (wall.pressure.into(), None);
                }
                if let Some(drop) = place.pressure_drop {
                    let here = pass.figure(drop);
                    for l in 0..L {
                        // A drop that is not known adds nothing.
                        pressure[l] += if here[l].is_nan() { 0.0 } else { here[l] };
                    }
                    dropped = Some(drop);
                }
            }
            CoolantLeg::Split(split) => {
                let end = (from, pressure);
                let mut before = pressure;
                for branch in &path.splits[split].branches {
                    let (_, start) = pressures(path, &branch.legs, end, pass);
                    for l in 0..L {
                        // Branches drop the same; one of which nothing is known drops nothing.
                        before[l] = if start[l] > before[l] { start[l] } else { before[l] };
                    }
                }
                pressure = before;
            }
        }
    }
    (from, pressure)
}

/// Boiling point at a place, and its hottest wetted wall.
fn wall<const L: usize, T: Trace>(plan: &Plan, path: &CoolantPath, place: &Place, pass: &mut Pass<'_, L, T>) {
    let Some(wall) = &place.wall else { return };
    let share = share(path, pass);
    let pressure = pass.figure(wall.pressure);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([Operand::Curve(path.coolant_curve), wall.pressure.into()]);
        from.extend(path.glycol.map(Operand::Input));
    }
    pass.put(wall.boiling_point, &coolant::BOILING, &from, |l| {
        let fluid = path.fluid(share[l]);
        fluid.map_or(f64::NAN, |fluid| coolant::boiling(fluid, Pressure::new(pressure[l])).in_celsius())
    });
    if place.passage.has_film { over_coolant(path, place, pass) } else { over_case(plan, place, pass) }
}

/// The hottest wall from the heat transfer to the coolant.
fn over_coolant<const L: usize, T: Trace>(path: &CoolantPath, place: &Place, pass: &mut Pass<'_, L, T>) {
    let Some(wall) = &place.wall else { return };
    let passage = &place.passage;
    let [bore, length, count, area, concentration] =
        [passage.bore, passage.length, passage.count, passage.wetted_area, passage.heat_concentration]
            .map(|input| pass.input(input));
    let (flow, heat) = (pass.figure(place.flow), pass.figure(place.heat));
    let (inlet, outlet) = (pass.figure(place.coolant_in), pass.figure(place.coolant_out));
    let share = share(path, pass);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([place.coolant_out, place.heat, place.flow, place.coolant_in].map(Operand::Figure));
        from.extend([passage.bore, passage.count, passage.heat_concentration].map(Operand::Input));
        let is_stated = !area[0].is_nan();
        from.extend(Some(passage.wetted_area).filter(|_| is_stated).map(Operand::Input));
        let counts = !is_stated || length[0].is_finite();
        from.extend(Some(passage.length).filter(|_| counts).map(Operand::Input));
        from.push(path.coolant_curve.into());
        from.extend(path.glycol.map(Operand::Input));
    }
    pass.put(wall.temperature, &duct::WALL, &from, |l| {
        let mean = Temperature::celsius(0.5 * (inlet[l] + outlet[l]));
        let Some(fluid) = path.fluid(share[l]).filter(|fluid| fluid.check(mean).is_ok()) else {
            return f64::NAN;
        };
        let (bore, each) = (Length::new(bore[l]), VolumeFlow::new(flow[l] / count[l]));
        let along = Some(Length::new(length[l])).filter(|length| !length.si().is_nan());
        let round = core::f64::consts::PI * bore.si() * length[l] * count[l];
        let area = Area::new(if area[l].is_nan() { round } else { area[l] });
        let film = duct::film(fluid, mean, each, (bore, along));
        let leaving = Temperature::celsius(outlet[l]);
        duct::wall_over_coolant(leaving, Power::new(heat[l]), film, area, concentration[l]).in_celsius()
    });
}

/// A bound where the heat transfer is not known: as much further above the coolant as heat enters denser than on the mean, the
/// plate, else the hottest case that stands here.
fn over_case<const L: usize, T: Trace>(plan: &Plan, place: &Place, pass: &mut Pass<'_, L, T>) {
    let Some(wall) = &place.wall else { return };
    let case = |&(package, face): &(usize, usize)| plan.packages[package].faces[face].case_temperature;
    let plate = place.plate.as_ref().map(|plate| plate.temperature);
    let cases = place.faces.iter().filter(|_| plate.is_none()).map(case);
    let hot = plate.into_iter().chain(cases);
    // Chokes and transformers do not say how hot their cases are.
    let is_known = plate.is_some() || !place.faces.is_empty() && place.magnetics.is_empty();
    let mut hottest = [f64::NEG_INFINITY; L];
    for one in hot.clone() {
        let hot = pass.figure(one);
        for l in 0..L {
            // What is missing stays missing.
            hottest[l] = if hottest[l] >= hot[l] || hottest[l].is_nan() { hottest[l] } else { hot[l] };
        }
    }
    let concentration = place.passage.heat_concentration;
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(hot.map(Operand::Figure));
        if is_known {
            from.extend([place.reference_temperature, place.coolant_out].map(Operand::Figure));
            from.push(concentration.into());
        } else {
            from.push(place.passage.bore.into());
        }
    }
    let (reference, leaving) = (pass.figure(place.reference_temperature), pass.figure(place.coolant_out));
    let times = pass.input(concentration);
    let known = if is_known { 0.0 } else { f64::NAN };
    pass.put(wall.temperature, &laws::WALL_BOUND, &from, |l| {
        let above = hottest[l] - reference[l];
        leaving[l] + if above < 0.0 { 0.0 } else { times[l] * above } + known
    });
}
