//! What the unluckiest of devices in parallel carries: a corner of its own that leaves the solved figures as they are.
//!
//! One device lies at the low end of its on-state voltage and the others at the high end. The low one carries more, gets
//! hotter, and with a positive temperature coefficient gives some of it back. A threshold at the low end lets it switch on
//! first and off last, which adds to its switching loss. What body diodes lose goes with what their devices carry. The temperatures behind the cases are those of the solved lane.

use loadworthy_physics::sharing::{self, Corner, CornerPoint, OnStateLine};
use loadworthy_physics::{
    Current, Inductance, LossSlope, Power, Resistance, Temperature, ThermalResistance, Time,
    Transconductance, Voltage,
};

use crate::device::EnergyCurve;
use crate::ids::FigureId;
use crate::plan::{
    Chip, ChipKind, Package, Plan, Position, SharingFigures, Stage, ThresholdInputs, Topology,
};
use crate::solver::chip::{Line, exponents, growth};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::{LossLine, Scratch};
use crate::solver::uneven_heat::{self, OverJunction};
use crate::trace::{Operand, Trace};

/// Part of the switching energy that falls into the rise or fall of the current.
const RISE_SHARE: f64 = 0.4;

/// Puts the corner of every chip.
pub(crate) fn corners<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &Scratch<L>,
) {
    for package in &plan.packages {
        let stage = &plan.stages[package.stage];
        for &place in &package.chips {
            let Some(position) = stage.positions.iter().find(|position| position.chips.contains(&place))
            else {
                continue;
            };
            corner(plan, stage, position, package, place, &scratch.lines[place], pass);
        }
    }
}

fn corner<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    position: &Position,
    package: &Package,
    place: usize,
    line: &LossLine<L>,
    pass: &mut Pass<'_, L, T>,
) {
    let chip = &plan.chips[place];
    let parallel = stage.parallel(position);
    let counts = pass.input(parallel);
    let figures = &chip.sharing;
    if counts.iter().all(|&count| count < 1.5) {
        alone(chip, figures, pass);
        return;
    }
    let spread = pass.input(chip.sharing_inputs.on_voltage);
    let carried = carried(plan, stage, package, place, line, pass);
    let skew = edge_skew(chip, &counts, &carried.crest, pass);
    let (warmer, warmed_by) = others_warmer(plan, stage, position, place, &counts, pass);
    let inputs: [Option<Corner>; L] =
        core::array::from_fn(|l| given(package, chip, &carried, (counts[l], spread[l], warmer[l]), l, pass));
    let switching = &carried.switching;
    let follows = switching_follows(chip, &carried.crest, pass);
    let solved = |spread_here: &dyn Fn(&Corner) -> f64, l: usize| -> Option<CornerPoint> {
        let corner = inputs[l]?;
        if skew[l].is_nan() {
            return None;
        }
        let corner = Corner { spread: spread_here(&corner), low_edges: 1.0 + skew[l], ..corner };
        let (at_zero, slope) = switching[l];
        // Switching loss grows with the current of the device along its curve, and with what its threshold takes from
        // the others.
        Some(sharing::corner(&corner, |factor| {
            let share = 1.0 + follows[l] * (factor - 1.0);
            let share = if share < 0.0 { 0.0 } else { share };
            (at_zero * share, slope * share)
        }))
    };
    let worst: [Option<CornerPoint>; L] = core::array::from_fn(|l| solved(&|corner| corner.spread, l));
    let likely: [Option<CornerPoint>; L] = core::array::from_fn(|l| {
        solved(&|corner| sharing::three_sigma_spread(corner.spread, f64::from(corner.devices)), l)
    });
    let mut from: [Operand; 10] = [warmed_by; 10];
    from[..7].copy_from_slice(&[
        parallel.into(),
        chip.sharing_inputs.on_voltage.into(),
        chip.conduction.id.into(),
        chip.figures.uneven.map_or(chip.figures.peak_current, |uneven| uneven.largest_current).into(),
        chip.figures.uneven.map_or(chip.figures.switching_loss, |uneven| uneven.loss).into(),
        figures.edge_skew.into(),
        // Where all are alike: the temperatures behind the case follow from it.
        chip.figures.mean_junction_temperature.into(),
    ]);
    let mut count = 7;
    if let Some(body) = &chip.body_diode {
        from[count..count + 2].copy_from_slice(&[body.loss.into(), body.recovery_loss.into()]);
        count += 2;
    }
    let own = warmed_by == from[6];
    let from = if own { &from[..count] } else { &from[..=count] };
    put(chip, (figures, !own), (&counts, &carried.crest), &worst, &likely, from, pass);
}

/// What the devices of a position carry and lose on average; of several legs those of the one that carries most.
struct Carried<const L: usize> {
    /// Currents in A: their mean, their RMS value and their crest.
    average: [f64; L],
    rms: [f64; L],
    crest: [f64; L],
    line: [OnStateLine; L],
    switching: [(Power, LossSlope); L],
    body: [(Power, LossSlope); L],
    /// What the other chips of the package lose, in W.
    other_heat: [f64; L],
}

fn carried<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    package: &Package,
    place: usize,
    line: &LossLine<L>,
    pass: &Pass<'_, L, T>,
) -> Carried<L> {
    let chip = &plan.chips[place];
    let figures = &chip.figures;
    let own = pass.figure(figures.loss);
    let heat = |l: usize| package.faces.iter().map(|face| pass.figure(face.heat)[l]).sum::<f64>();
    let mut carried = Carried {
        average: pass.figure(figures.average_current),
        rms: pass.figure(figures.rms_current),
        crest: pass.figure(figures.peak_current),
        line: core::array::from_fn(|l| {
            on_state((line.knee.0[l], line.knee.1[l]), (line.slope.0[l], line.slope.1[l]))
        }),
        switching: over_junction(chip, &chip.energy, figures.switching_loss, pass),
        body: body_diode(chip, line, pass),
        other_heat: core::array::from_fn(|l| heat(l) - own[l]),
    };
    most_of_legs(plan, stage, package, place, &mut carried, pass);
    carried
}

/// Puts the leg that carries most in the place of the mean one, where they differ.
fn most_of_legs<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    package: &Package,
    place: usize,
    carried: &mut Carried<L>,
    pass: &Pass<'_, L, T>,
) {
    let chip = &plan.chips[place];
    let leg = stage.magnetics.iter().find_map(|&own| plan.magnetics[own].uneven);
    let (Some(uneven), Some(leg), Topology::Chopper(chopper)) = (&chip.figures.uneven, leg, &stage.topology)
    else {
        return;
    };
    let leg = uneven_heat::leg(stage, chopper, &leg, pass);
    let Some(losses) = uneven_heat::losses(plan, stage, place, &leg, pass) else { return };
    let (rms, largest) = (pass.figure(uneven.rms_current), pass.figure(uneven.largest_current));
    let (even, junction) =
        (pass.figure(chip.figures.largest_current), pass.figure(chip.figures.mean_junction_temperature));
    for l in (0..L).filter(|&l| leg.share[l] != 0.0) {
        carried.average[l] *= 1.0 + leg.share[l];
        carried.rms[l] = rms[l];
        carried.crest[l] *= if even[l] == 0.0 { 1.0 } else { largest[l] / even[l] };
        let way = Line::through(&chip.conduction, largest[l], junction[l]);
        carried.line[l] = on_state(way.knee, way.slope);
        let over_junction =
            |(cold, growth): &OverJunction<L>| (Power::new(cold[l]), LossSlope::new(growth[l]));
        carried.switching[l] = over_junction(&losses.switching);
        carried.body[l] = over_junction(&losses.body);
        let others = package.chips.iter().filter(|&&other| other != place);
        carried.other_heat[l] =
            others.map(|&other| pass.figure(plan.chips[other].figures.judged_loss())[l]).sum();
    }
}

fn on_state(knee: (f64, f64), slope: (f64, f64)) -> OnStateLine {
    OnStateLine {
        knee: Voltage::new(knee.0),
        knee_per_kelvin: Voltage::new(knee.1),
        slope: Resistance::new(slope.0),
        slope_per_kelvin: Resistance::new(slope.1),
    }
}

/// A switching loss at 0 °C and its growth for each kelvin, as it is over the junction temperature of the lane.
fn over_junction<const L: usize, T: Trace>(
    chip: &Chip,
    curve: &EnergyCurve,
    loss: FigureId,
    pass: &Pass<'_, L, T>,
) -> [(Power, LossSlope); L] {
    let loss = pass.figure(loss);
    let junction = pass.figure(chip.figures.mean_junction_temperature);
    let growth = growth(curve, pass);
    core::array::from_fn(|l| {
        if loss[l] == 0.0 {
            return (Power::new(0.0), LossSlope::new(0.0));
        }
        let (at_zero, growth) = curve.around(junction[l], growth[l]);
        let cold = loss[l] / (at_zero + growth * junction[l]);
        (Power::new(cold * at_zero), LossSlope::new(cold * growth))
    })
}

/// What the body diode of a device loses in dead times and as it recovers, at 0 °C and its growth for each kelvin.
fn body_diode<const L: usize, T: Trace>(
    chip: &Chip,
    line: &LossLine<L>,
    pass: &Pass<'_, L, T>,
) -> [(Power, LossSlope); L] {
    let Some(body) = &chip.body_diode else { return [(Power::new(0.0), LossSlope::new(0.0)); L] };
    let recovery = over_junction(chip, &body.energy, body.recovery_loss, pass);
    core::array::from_fn(|l| {
        let (at_zero, slope) = recovery[l];
        (at_zero + Power::new(line.body.0[l]), slope + LossSlope::new(line.body.1[l]))
    })
}

/// Kelvins by which the other devices of a position lie above this one on average, where all carry the same, and the
/// temperature that it hangs on: of the others one that is missing, or the first; with none its own.
fn others_warmer<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    position: &Position,
    place: usize,
    counts: &[f64; L],
    pass: &Pass<'_, L, T>,
) -> ([f64; L], Operand) {
    let kind = plan.chips[place].kind;
    let own_figure = plan.chips[place].figures.mean_junction_temperature;
    let own = pass.figure(own_figure);
    let (mut sum, mut hangs_on) = ([0.0; L], own_figure);
    for other in position.chips.clone().filter(|&other| other != place && plan.chips[other].kind == kind) {
        let mut packages = plan.packages[stage.packages.clone()].iter();
        let Some(package) = packages.find(|package| package.chips.contains(&other)) else { continue };
        let figure = plan.chips[other].figures.mean_junction_temperature;
        let (many, junction) = (pass.input(package.count), pass.figure(figure));
        if hangs_on == own_figure || junction[0].is_nan() {
            hangs_on = figure;
        }
        for l in 0..L {
            sum[l] += many[l] * (junction[l] - own[l]);
        }
    }
    (core::array::from_fn(|l| sum[l] / (counts[l] - 1.0)), hangs_on.into())
}

/// By how many percent the switching energy at the crest rises for one percent more current; one where the curve does
/// not say.
fn switching_follows<const L: usize, T: Trace>(
    chip: &Chip,
    crest: &[f64; L],
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let [_, exponent] = exponents(&chip.energy, pass);
    core::array::from_fn(|l| {
        let (less, here) =
            (chip.energy.at(0.9 * crest[l], exponent[l]), chip.energy.at(crest[l], exponent[l]));
        let follows = (here - less) / (0.1 * here);
        if follows.is_finite() { follows } else { 1.0 }
    })
}

/// One device has nobody to share with: it carries what was solved.
fn alone<const L: usize, T: Trace>(chip: &Chip, figures: &SharingFigures, pass: &mut Pass<'_, L, T>) {
    let same = [
        (chip.figures.rms_current, figures.rms_current),
        (chip.figures.rms_current, figures.likely_rms_current),
        (chip.figures.largest_current, figures.peak_current),
        (chip.figures.largest_current, figures.likely_peak_current),
        (chip.figures.loss, figures.loss),
        (chip.figures.junction_temperature, figures.junction_temperature),
        (chip.figures.junction_temperature, figures.likely_junction_temperature),
    ];
    for (from, to) in same {
        let value = pass.figure(from);
        pass.put(to, &laws::ALONE, &[from.into()], |l| value[l]);
    }
    for (figure, value) in [
        (figures.factor, 1.0),
        (figures.likely_factor, 1.0),
        (figures.edge_skew, 0.0),
        (figures.hogging_gain, 0.0),
    ] {
        pass.put(figure, &laws::ALONE, &[], |_| value);
    }
}

/// Share by which the device with the lowest threshold loses more at its edges than the mean.
fn edge_skew<const L: usize, T: Trace>(
    chip: &Chip,
    counts: &[f64; L],
    crest: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let out = chip.sharing.edge_skew;
    let inputs = chip.sharing_inputs.threshold.filter(|_| chip.kind != ChipKind::Diode);
    // Nobody says how far thresholds lie apart: the verdict says so.
    let Some(inputs) = inputs.filter(|inputs| !pass.input(inputs.spread)[0].is_nan()) else {
        return pass.put(out, &laws::NO_SKEW, &[], |_| 0.0);
    };
    let spread = pass.input(inputs.spread);
    let (gain, farads) = (pass.input(inputs.transconductance), pass.input(inputs.capacitance));
    let henry = pass.input(inputs.common_inductance);
    let ohms = gate_resistance(inputs, counts, pass);
    let mut from: [Operand; 8] = [inputs.spread.into(); 8];
    let mut count = 1;
    let mut add = |operand| {
        from[count] = operand;
        count += 1;
    };
    add(inputs.transconductance.into());
    if let Some(fitted) = inputs.fitted {
        for input in [fitted.outside, fitted.for_each, fitted.internal] {
            add(input.into());
        }
    } else {
        add(inputs.resistance.into());
    }
    add(inputs.capacitance.into());
    if !henry[0].is_nan() {
        add(inputs.common_inductance.into());
    }
    add(chip.figures.peak_current.into());
    pass.put(out, &sharing::ENERGY_SKEW, &from[..count], |l| {
        // Thresholds that are alike ask for nothing else.
        if spread[l] <= 0.0 {
            return 0.0;
        }
        let difference = 2.0 * spread[l];
        let time = Time::new(ohms[l] * farads[l]);
        let inductance = Inductance::new(if henry[l].is_nan() { 0.0 } else { henry[l] });
        let bounds =
            sharing::skew(Transconductance::new(gain[l]), Voltage::new(difference), time, inductance);
        // Half the crest stands for the mean of a half wave; against the average of n the pair's difference counts.
        let mean = Current::new(0.5 * crest[l]);
        // The edge is over long before the difference has grown from its least to its most.
        let apart = bounds.least.si() * (counts[l] - 1.0) / counts[l];
        let apart = if apart > 2.0 * mean.si() { 2.0 * mean.si() } else { apart };
        sharing::energy_skew(Current::new(apart), mean, RISE_SHARE)
    })
}

/// Resistance that turns each gate on: as stated, or as fitted.
fn gate_resistance<const L: usize, T: Trace>(
    inputs: ThresholdInputs,
    counts: &[f64; L],
    pass: &Pass<'_, L, T>,
) -> [f64; L] {
    let Some(fitted) = inputs.fitted else { return pass.input(inputs.resistance) };
    let (outside, for_each, internal) =
        (pass.input(fitted.outside), pass.input(fitted.for_each), pass.input(fitted.internal));
    core::array::from_fn(|l| {
        let shared_by = if for_each[l] < 0.5 { counts[l] } else { 1.0 };
        internal[l] + shared_by * outside[l]
    })
}

/// What is known of a group of devices in a lane.
fn given<const L: usize, T: Trace>(
    package: &Package,
    chip: &Chip,
    carried: &Carried<L>,
    (count, spread, warmer): (f64, f64, f64),
    l: usize,
    pass: &Pass<'_, L, T>,
) -> Option<Corner> {
    let to_case = pass.input(chip.inputs.junction_to_case)[l];
    let mut heat = 0.0;
    let mut cases = 0.0;
    let mut conductance = 0.0;
    for face in &package.faces {
        heat += pass.figure(face.heat)[l];
        cases += pass.figure(face.case_temperature)[l];
        conductance += 1.0 / pass.operand(face.resistance_here())[l];
    }
    #[expect(clippy::cast_precision_loss, reason = "one or two faces")]
    let case = cases / package.faces.len() as f64;
    let to_reference = 1.0 / conductance;
    // The temperature that the case would have without any heat of this package.
    let reference = case - to_reference * heat;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of at most 64")]
    let devices = if count.is_nan() { return None } else { count as u32 };
    let (mean, rms) = (carried.average[l].abs(), carried.rms[l]);
    // With a knee the shares differ along the wave: at this current the RMS values share as they do over all of it, and
    // the crests no more than so. Channels have no knee.
    let decides =
        if chip.kind == ChipKind::Mosfet || mean == 0.0 { carried.crest[l] } else { rms * rms / mean };
    Some(Corner {
        devices,
        spread,
        low_edges: 1.0,
        line: carried.line[l],
        mean: Current::new(mean),
        rms: Current::new(rms),
        crest: Current::new(decides),
        beside: carried.body[l],
        to_case: ThermalResistance::new(to_case),
        case_to_reference: ThermalResistance::new(to_reference),
        other_heat: Power::new(carried.other_heat[l]),
        low_reference: Temperature::celsius(reference),
        others_reference: Temperature::celsius(reference + warmer),
    })
}

fn put<const L: usize, T: Trace>(
    chip: &Chip,
    (figures, is_apart): (&SharingFigures, bool),
    (counts, crest): (&[f64; L], &[f64; L]),
    worst: &[Option<CornerPoint>; L],
    likely: &[Option<CornerPoint>; L],
    from: &[Operand],
    pass: &mut Pass<'_, L, T>,
) {
    let law = &sharing::CORNER;
    let of = |points: &[Option<CornerPoint>; L], take: fn(&CornerPoint) -> f64| -> [f64; L] {
        core::array::from_fn(|l| points[l].as_ref().map_or(f64::NAN, take))
    };
    // A chip that carries nothing has nothing to share.
    let rests = |l: usize| counts[l] < 1.5 || crest[l] == 0.0;
    let (of_rms, of_largest) = (chip.figures.judged_rms(), chip.figures.judged_crest());
    let (rms, largest) = (pass.figure(of_rms), pass.figure(of_largest));
    let ripple = pass.figure(chip.figures.junction_ripple);
    let (loss, junction) =
        (pass.figure(chip.figures.judged_loss()), pass.figure(chip.figures.settled_junction()));
    let gain = of(worst, |point| point.hogging_gain);
    pass.put(figures.hogging_gain, &sharing::HOGGING_GAIN, from, |l| if rests(l) { 0.0 } else { gain[l] });
    let low_loss = of(worst, |point| point.low_loss.si());
    pass.put(figures.loss, law, from, |l| if rests(l) { loss[l] } else { low_loss[l] });
    for (points, factor, rms_out, peak_out, junction_out) in [
        (worst, figures.factor, figures.rms_current, figures.peak_current, figures.junction_temperature),
        (
            likely,
            figures.likely_factor,
            figures.likely_rms_current,
            figures.likely_peak_current,
            figures.likely_junction_temperature,
        ),
    ] {
        let factors = of(points, |point| point.factor);
        let factors: [f64; L] = core::array::from_fn(|l| if rests(l) { 1.0 } else { factors[l] });
        pass.put(factor, law, from, |l| factors[l]);
        pass.put(rms_out, &laws::UNLUCKY, &[factor.into(), of_rms.into()], |l| factors[l] * rms[l]);
        pass.put(peak_out, &laws::UNLUCKY, &[factor.into(), of_largest.into()], |l| factors[l] * largest[l]);
        let low = of(points, |point| point.low_junction.in_celsius());
        let other = of(points, |point| point.others_junction.in_celsius());
        let low_loss = of(points, |point| point.low_loss.si());
        // The swing with the output frequency grows with the loss.
        pass.put(junction_out, law, from, |l| {
            if rests(l) {
                return junction[l];
            }
            let swing = if loss[l] > 0.0 { ripple[l] * low_loss[l] / loss[l] } else { ripple[l] };
            // Others that stand elsewhere are told there; the mean of theirs and these is the temperature of none.
            let hottest = if low[l] < other[l] && !is_apart { other[l] } else { low[l] };
            hottest + swing
        });
    }
}
