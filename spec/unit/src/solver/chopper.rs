//! A half bridge with a choke between two buses: from the power that it passes to the loss line of each chip.

use loadworthy_physics::converters::boost;
use loadworthy_physics::converters::discontinuous::{self, Triangle};
use loadworthy_physics::converters::ramp::Split;
use loadworthy_physics::converters::wave::Wave;
use loadworthy_physics::core_flux;
use loadworthy_physics::{
    Current, FluxLinkage, Frequency, Inductance, Law, Resistance, SquaredCurrent, Voltage,
};

use crate::plan::{Chopper, ChopperKind, Plan, Side, Stage};
use crate::solver::laws;
use crate::solver::magnetic::{self, Drive};
use crate::solver::pass::Pass;
use crate::solver::pulsed::{self, Pulse, PulseLaws};
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

static POSITION: PulseLaws = PulseLaws {
    average: Law {
        name: "mean current of a chip in a chopper",
        formula: "low side D·mean(i), high side (1 − D)·mean(i), of the part of i that runs its way; over n",
        validity: "straight ramps; exact for any ripple, also where the current reverses within a period",
        source: boost::POSITION_MEAN.source,
    },
    rms: Law {
        name: "RMS current of a chip in a chopper",
        formula: "low side √(D·mean(i²)), high side √((1 − D)·mean(i²)), of the part of i that runs its way, dead times of a channel left out; over n",
        validity: "straight ramps; exact for any ripple, also where the current reverses within a period",
        source: boost::POSITION_RMS.source,
    },
    peak: Law {
        name: "largest current of a chip in a chopper",
        formula: "î = (|I_L| + ΔI/2)/n in its direction",
        validity: "straight ramps",
        source: boost::PEAK.source,
    },
};

/// Mean current of a leg that passes power one way.
pub static ONE_WAY: Law = Law {
    name: "mean current of a leg with a diode alone on one side",
    formula: "I_L = P/(n·V_low), from the low bus",
    validity: "power upwards through a diode at the high side, downwards past a diode at the low side; none flows back",
    source: "balance of power",
};

static BUCK_FALL: Law = Law {
    name: "share of the period that the diode of a discontinuous buck conducts",
    formula: "D_2 = D·(V_i − V_o)/V_o, D = √(2·I_o·L·f·V_o/(V_i·(V_i − V_o)))",
    validity: discontinuous::BUCK_AT_CURRENT.validity,
    source: discontinuous::BUCK_AT_CURRENT.source,
};

/// A part of a current, such as what runs forward of it.
type Part = fn(f64) -> f64;
/// A current of a leg at one of its edges.
type AtEdge = fn(&Leg) -> f64;

/// One leg in one lane.
#[derive(Clone, Copy)]
struct Leg {
    /// Share of the period that each side conducts, and its current while it does.
    low: Split,
    high: Split,
    /// Currents at the edges: where the low side turns on and off.
    bottom: f64,
    top: f64,
}

/// Currents of a chopper and the loss line of each of its chips.
pub(crate) fn currents<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    chopper: &Chopper,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let [low, high] = stage.ports.as_slice() else { return };
    let (inputs, figures) = (&chopper.inputs, &chopper.figures);
    let legs = pass.input(inputs.legs);
    let mut henry = pass.input(inputs.inductance);
    let softening = stage.magnetics.first().and_then(|&own| plan.magnetics[own].core.softening.as_ref());
    let winding = match stage.magnetics.first().and_then(|&own| plan.magnetics[own].windings.first()) {
        Some(winding) => magnetic::in_service(winding, pass),
        None => pass.input(inputs.winding),
    };
    let carrier = pass.input(stage.carrier);
    let (v_low, v_high) = (pass.figure(low.voltage), pass.figure(high.voltage));
    let sense = if low.outward { -1.0 } else { 1.0 };
    let power = pass.figure(low.power);
    let from: &[Operand] = &[low.power.into(), low.voltage.into(), inputs.legs.into()];
    let law = if chopper.diode_side.is_some() { &ONE_WAY } else { &laws::LEG_CURRENT };
    let leg = pass.put(figures.leg_current, law, from, |l| {
        let leg = sense * power[l] / (v_low[l] * legs[l]);
        let backward = match chopper.diode_side {
            None => false,
            Some(Side::High) => leg < 0.0,
            Some(Side::Low) => leg > 0.0,
        };
        if backward { f64::NAN } else { leg }
    });

    let drop = drop(plan, stage, chopper, &leg, &winding, pass);
    let from: &[Operand] = &[low.voltage.into(), high.voltage.into(), figures.drop.into()];
    let through: [f64; L] = core::array::from_fn(|l| {
        // The drop stands for resistance times current.
        boost::duty(
            Voltage::new(v_low[l]),
            Voltage::new(v_high[l]),
            Current::new(1.0),
            Resistance::new(drop[l]),
        )
    });
    if let Some((_, points)) = softening {
        // The inductance that a straight ramp would need for the same ripple.
        for l in 0..L {
            let duty = through[l].clamp(0.0, 1.0);
            let volt_seconds = FluxLinkage::new(v_high[l] * duty * (1.0 - duty) / carrier[l]);
            let swing = core_flux::softened_swing(points, Current::new(leg[l]), volt_seconds);
            if swing.si() > 0.0 {
                henry[l] = (volt_seconds / swing).si();
            }
        }
    }
    let inductance: Operand = softening.map_or(inputs.inductance.into(), |(curve, _)| (*curve).into());
    let continuous: [f64; L] = core::array::from_fn(|l| {
        boost::ripple(
            Voltage::new(v_high[l]),
            // A duty that cannot be had has no ramps.
            through[l].clamp(0.0, 1.0),
            Inductance::new(henry[l]),
            Frequency::new(carrier[l]),
        )
        .si()
    });
    let empty: [Option<Triangle>; L] = core::array::from_fn(|l| {
        runs_empty(chopper, leg[l], continuous[l], v_low[l], v_high[l], henry[l], carrier[l])
    });
    let asked: [f64; L] = core::array::from_fn(|l| match (&empty[l], chopper.kind) {
        (None, _) => through[l],
        (Some(triangle), ChopperKind::Boost) => triangle.rise,
        (Some(triangle), ChopperKind::Buck) => triangle.fall,
    });
    let at_current: [Operand; 5] = [
        low.voltage.into(),
        high.voltage.into(),
        figures.leg_current.into(),
        inductance,
        stage.carrier.into(),
    ];
    let (law, from): (_, &[Operand]) = match (&empty[0], chopper.kind) {
        (None, _) => (&boost::DUTY, from),
        (Some(_), ChopperKind::Boost) => (&discontinuous::BOOST_AT_CURRENT, &at_current),
        (Some(_), ChopperKind::Buck) => (&BUCK_FALL, &at_current),
    };
    pass.put(figures.duty, law, from, |l| asked[l]);
    // Beyond its reach the search for the bus voltages goes on at the end of the duty; see `reach`.
    let duty = asked.map(|asked| asked.clamp(0.0, 1.0));
    let (law, from): (_, &[Operand]) = match (&empty[0], chopper.kind) {
        (Some(_), ChopperKind::Buck) => (&discontinuous::BUCK_AT_CURRENT, &at_current),
        _ => (&laws::LIMITED_DUTY, &[figures.duty.into()]),
    };
    pass.put(figures.limited_duty, law, from, |l| match (&empty[l], chopper.kind) {
        (_, ChopperKind::Boost) => asked[l],
        (None, ChopperKind::Buck) => 1.0 - through[l],
        (Some(triangle), ChopperKind::Buck) => triangle.rise,
    });
    let from: [Operand; 5] = [
        high.voltage.into(),
        figures.duty.into(),
        inductance,
        stage.carrier.into(),
        figures.leg_current.into(),
    ];
    let (law, from) = match softening {
        None => (&boost::RIPPLE, &from[..4]),
        Some(_) => (&core_flux::SOFTENED_SWING, &from[..]),
    };
    let ripple = pass.put(figures.ripple, law, from, |l| match &empty[l] {
        None => continuous[l],
        Some(triangle) => triangle.peak.si(),
    });
    let of_leg: &[Operand] = &[figures.leg_current.into(), figures.ripple.into()];
    pass.put(figures.leg_rms, &boost::LEG_RMS, of_leg, |l| match &empty[l] {
        None => boost::leg_rms(Current::new(leg[l]), Current::new(ripple[l])).si(),
        Some(triangle) => triangle.rms().si(),
    });
    pass.put(figures.leg_peak, &boost::PEAK, of_leg, |l| match &empty[l] {
        None => boost::peak(Current::new(leg[l]), Current::new(ripple[l])).si(),
        Some(triangle) => triangle.peak.si(),
    });
    let from: &[Operand] = &[inputs.legs.into(), figures.duty.into(), figures.ripple.into()];
    pass.put(figures.low_ripple, &boost::LOW_SIDE_RIPPLE_RMS, from, |l| match &empty[l] {
        None => boost::low_side_ripple_rms(legs[l], duty[l], Current::new(ripple[l])).si(),
        Some(triangle) => triangle.leg_ripple_rms(legs[l]).si(),
    });
    let from: &[Operand] =
        &[inputs.legs.into(), figures.leg_current.into(), figures.duty.into(), figures.ripple.into()];
    pass.put(figures.high_ripple, &boost::HIGH_SIDE_RIPPLE_RMS, from, |l| match (&empty[l], chopper.kind) {
        (None, _) => {
            boost::high_side_ripple_rms(legs[l], Current::new(leg[l]), duty[l], Current::new(ripple[l])).si()
        }
        (Some(triangle), ChopperKind::Boost) => triangle.diode_ripple_rms(legs[l]).si(),
        (Some(triangle), ChopperKind::Buck) => triangle.switch_ripple_rms(legs[l]).si(),
    });
    let each: [Leg; L] =
        core::array::from_fn(|l| one_leg(chopper, leg[l], ripple[l], duty[l], empty[l].as_ref()));
    if let Some(&own) = stage.magnetics.first() {
        let ramps = |l: usize| match &empty[l] {
            None => (duty[l], 1.0 - duty[l]),
            Some(triangle) => (triangle.rise, triangle.fall),
        };
        let wave = |_: usize, l: usize| {
            let wave = match &empty[l] {
                None => Wave::triangle(Current::new(leg[l]), Current::new(ripple[l]), duty[l]),
                Some(triangle) => triangle.wave(),
            };
            (wave, 1.0)
        };
        let (ripple, duty) = (figures.ripple, figures.duty);
        let drive =
            Drive { times: 1.0, peak: Some(figures.leg_peak), ripple, duty, ramps: &ramps, wave: &wave };
        magnetic::losses(plan, stage, own, &drive, pass, scratch);
    }
    chips(plan, stage, chopper, &each, pass, scratch);
}

/// Voltage that choke and conducting device take, in the direction of the leg current. The low side stands for both.
fn drop<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    chopper: &Chopper,
    leg: &[f64; L],
    winding: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    // Of a leg with a diode alone it is the other side that has a transistor.
    let side = if chopper.diode_side == Some(Side::Low) { Side::High } else { Side::Low };
    let position = stage.positions.iter().find(|position| position.role.side() == side);
    let Some((position, curves)) =
        position.and_then(|position| Some((position, &plan.chips.get(position.chips.start)?.conduction)))
    else {
        return pass.put(chopper.figures.drop, &laws::LEG_DROP, &[], |_| f64::NAN);
    };
    let parallel = pass.input(stage.parallel(position));
    let from: &[Operand] = &[
        chopper.figures.leg_current.into(),
        chopper.inputs.winding.into(),
        stage.parallel(position).into(),
        curves.id.into(),
    ];
    pass.put(chopper.figures.drop, &laws::LEG_DROP, from, |l| {
        let share = leg[l].abs() / parallel[l];
        let (knee, slope) = curves.hottest().map_or((f64::NAN, f64::NAN), |curve| curve.line(share));
        let device = if share > 0.0 { (knee + slope * share).copysign(leg[l]) } else { 0.0 * share };
        device + winding[l] * leg[l]
    })
}

/// The triangle of a leg whose diode lets its current rest in each period.
fn runs_empty(
    chopper: &Chopper,
    leg: f64,
    ripple: f64,
    low: f64,
    high: f64,
    henry: f64,
    carrier: f64,
) -> Option<Triangle> {
    let side = chopper.diode_side?;
    let forth = match side {
        Side::High => leg,
        Side::Low => -leg,
    };
    if forth.is_nan() || ripple.is_nan() || forth >= 0.5 * ripple {
        return None;
    }
    let (low, high) = (Voltage::new(low), Voltage::new(high));
    let (henry, carrier) = (Inductance::new(henry), Frequency::new(carrier));
    Some(match side {
        Side::High => discontinuous::boost_at_current(low, high, Current::new(forth), henry, carrier),
        Side::Low => discontinuous::buck_at_current(high, low, Current::new(forth), henry, carrier),
    })
}

fn one_leg(chopper: &Chopper, leg: f64, ripple: f64, duty: f64, empty: Option<&Triangle>) -> Leg {
    if let Some(triangle) = empty {
        let up = |mean: Current, rms: Current| Split {
            forward_mean: mean,
            forward_square: SquaredCurrent::new(rms.si() * rms.si()),
            ..Split::NONE
        };
        let switch = up(triangle.switch_mean(), triangle.switch_rms());
        let diode = up(triangle.diode_mean(), triangle.diode_rms()).reversed();
        return match chopper.kind {
            ChopperKind::Boost => Leg { low: switch, high: diode, bottom: 0.0, top: triangle.peak.si() },
            ChopperKind::Buck => Leg { low: diode, high: switch, bottom: -triangle.peak.si(), top: 0.0 },
        };
    }
    let split = boost::split(Current::new(leg), Current::new(ripple));
    // The current of the leg enters the low side forward and the high side through its diode.
    Leg {
        low: split * duty,
        high: split.reversed() * (1.0 - duty),
        bottom: leg - 0.5 * ripple,
        top: leg + 0.5 * ripple,
    }
}

/// Takes a position of a later leg from the first leg, where no curve is chosen by its own temperature.
fn repeats<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    position: usize,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) -> bool {
    let (first, own) = (&stage.positions[position % 2], &stage.positions[position]);
    let alike = first.chips.len() == own.chips.len();
    if !alike || scratch.bends(&own.chips) || scratch.bends(&first.chips) {
        return false;
    }
    for (from, to) in first.chips.clone().zip(own.chips.clone()) {
        pulsed::repeat(&plan.chips[from], &plan.chips[to], pass);
        scratch.lines[to] = scratch.lines[from];
    }
    true
}

fn chips<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    chopper: &Chopper,
    each: &[Leg; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let figures = &chopper.figures;
    let high = &stage.ports[1];
    let voltage = pass.figure(high.voltage);
    let (dead, carrier) = (pass.input(stage.dead_time), pass.input(stage.carrier));
    let up = |amps: f64| if amps < 0.0 { 0.0 } else { amps };
    let down = |amps: f64| if amps > 0.0 { 0.0 } else { -amps };
    for (k, position) in stage.positions.iter().enumerate() {
        if !T::LISTENS && position.leg > 0 && repeats(plan, stage, k, pass, scratch) {
            continue;
        }
        let parallel = pass.input(stage.parallel(position));
        let is_low = position.role.side() == Side::Low;
        // Towards the transistor of this side: as the low side sees it, or from the other end.
        let (with, against): (Part, Part) = if is_low { (up, down) } else { (down, up) };
        let at = |take: Part, edge: AtEdge| core::array::from_fn(|l| take(edge(&each[l])));
        let (on, off): (AtEdge, AtEdge) =
            if is_low { (|leg| leg.bottom, |leg| leg.top) } else { (|leg| leg.top, |leg| leg.bottom) };
        let dead: ([f64; L], [f64; L]) = {
            let time = |l: usize| if chopper.diode_side.is_some() { 0.0 } else { dead[l] * carrier[l] };
            let ends = |l: usize| (against(each[l].bottom), against(each[l].top));
            (
                core::array::from_fn(|l| time(l) * (ends(l).0 + ends(l).1)),
                core::array::from_fn(|l| time(l) * (ends(l).0 * ends(l).0 + ends(l).1 * ends(l).1)),
            )
        };
        let larger = |take: Part| {
            core::array::from_fn(|l| {
                let (a, b) = (take(each[l].bottom), take(each[l].top));
                if a < b { b } else { a + 0.0 * b }
            })
        };
        // The diode here recovers where the transistor of the other side turns on.
        let other_on: AtEdge = if is_low { |leg| leg.top } else { |leg| leg.bottom };
        let from: [Operand; 7] = [
            figures.leg_current.into(),
            figures.ripple.into(),
            figures.duty.into(),
            stage.parallel(position).into(),
            stage.dead_time.into(),
            stage.carrier.into(),
            high.voltage.into(),
        ];
        let pulse = Pulse {
            over_period: core::array::from_fn(|l| if is_low { each[l].low } else { each[l].high }),
            peaks: (larger(with), larger(against)),
            dead,
            turn_on: Some(at(with, on)),
            turn_off: Some(at(with, off)),
            recovery: Some(at(against, other_on)),
            burnt: [0.0; L],
            voltage,
            voltage_from: high.voltage.into(),
            laws: &POSITION,
            from: &from,
        };
        for chip in position.chips.clone() {
            let junction = scratch.junctions_before[chip];
            scratch.lines[chip] =
                pulsed::currents(stage, &plan.chips[chip], &parallel, &pulse, &junction, pass);
        }
    }
}
