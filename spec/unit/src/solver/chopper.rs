//! A half bridge with a choke between two buses: from the power that it passes to the loss line of each chip.

mod ramps;

use loadworthy_physics::converters::boost;
use loadworthy_physics::converters::discontinuous::Triangle;
use loadworthy_physics::converters::ramp::Split;
use loadworthy_physics::converters::wave::Wave;
use loadworthy_physics::{Current, Law, SquaredCurrent};

use crate::plan::{Chopper, ChopperKind, Plan, Side, Stage};
use crate::solver::magnetic::{self, Drive};
use crate::solver::pass::Pass;
use crate::solver::pulsed::{self, Pulse, PulseLaws};
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};
pub use ramps::ONE_WAY;
use ramps::Ramps;

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
    let figures = &chopper.figures;
    let ramps = Ramps::of(plan, stage, chopper, pass);
    let duty = ramps.duty(stage, chopper, pass);
    let ripple = ramps.ripple(stage, chopper, pass);
    ramps.sums(chopper, (&duty, &ripple), pass);
    let Ramps { leg, empty, .. } = &ramps;
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
