//! One chip of a bridge: its currents, its switching energy, and its loss as a line over its junction temperature.

use loadworthy_physics::{Current, Frequency, Law, Time, bridge_currents, stall};

use crate::device::{self, ConductionCurves, EnergyCurve};
use crate::ids::InputId;
use crate::plan::{BodyDiode, Bridge, Chip, ChipKind, Side, Stage};
use crate::solver::bridge::Shared;
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::LossLine;
use crate::trace::{Operand, Trace};

/// Where a chip sits, and how many devices share its current.
pub(crate) struct Seat<'a, const L: usize> {
    pub(crate) stage: &'a Stage,
    pub(crate) side: Side,
    pub(crate) leg: usize,
    pub(crate) parallel: &'a [f64; L],
    /// The input that states how many.
    pub(crate) count: InputId,
}

/// How a chip stands in one lane.
#[derive(Clone, Copy)]
pub(crate) enum Stand {
    /// The current of its leg turns through all angles.
    Turning,
    /// Its leg holds a current; `leads` says whether its transistor is the one that switches it.
    Standing { role: stall::Leg, leads: bool },
}

/// The crest of a lane as a number: 0 turns, ±1, ±2, ±3 hold it in u, v, w; positive leaves the leg.
#[inline]
pub(crate) fn stand(crest: i8, leg: usize, side: Side) -> Stand {
    if crest == 0 {
        return Stand::Turning;
    }
    let at_crest = usize::from(crest.unsigned_abs()) == leg + 1;
    let role = if at_crest { stall::Leg::Crest } else { stall::Leg::Return };
    let leaving = (crest > 0) == at_crest;
    Stand::Standing { role, leads: leaving == (side == Side::High) }
}

/// Currents, energies and the loss line of one chip.
pub(crate) fn currents<const L: usize, T: Trace>(
    bridge: &Bridge,
    chip: &Chip,
    seat: &Seat<'_, L>,
    shared: &Shared<L>,
    junction: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> LossLine<L> {
    let stands: [Stand; L] = core::array::from_fn(|l| stand(shared.crest[l], seat.leg, seat.side));
    let crest = device_crest(bridge, chip, seat, shared, &stands, pass);
    let (average, rms) = match chip.kind {
        ChipKind::Mosfet => channel(seat.stage, bridge, chip, shared, &stands, &crest, pass),
        ChipKind::Igbt | ChipKind::Diode => one_way(bridge, chip, shared, &stands, &crest, pass),
    };
    let fires = |l: usize| match stands[l] {
        Stand::Turning => true,
        Stand::Standing { leads, .. } => leads == (chip.kind != ChipKind::Diode),
    };
    let energy = energy(chip.figures.energy, &chip.energy, chip, shared, &stands, &crest, fires, pass);

    let mut line = LossLine::default();
    let growth = growth(&chip.energy, pass);
    for l in 0..L {
        let (at_zero, per_kelvin) = chip.energy.around(junction[l], growth[l]);
        let conduction = Line::through(&chip.conduction, crest[l], junction[l]);
        (line.knee.0[l], line.knee.1[l]) = conduction.knee;
        (line.slope.0[l], line.slope.1[l]) = conduction.slope;
        let squared = rms[l] * rms[l];
        let switched = shared.carrier[l] * energy[l];
        line.constant[l] = conduction.knee.0 * average[l] + conduction.slope.0 * squared + switched * at_zero;
        line.per_kelvin[l] =
            conduction.knee.1 * average[l] + conduction.slope.1 * squared + switched * per_kelvin;
    }
    if let Some(body) = &chip.body_diode {
        body_diode(seat.stage, chip, body, shared, &stands, &crest, junction, &mut line, pass);
    }
    line
}

/// Knee and slope as lines over the junction temperature: value at 0 °C and growth for each kelvin.
pub(crate) struct Line {
    pub(crate) knee: (f64, f64),
    pub(crate) slope: (f64, f64),
}

impl Line {
    #[inline]
    pub(crate) fn through(curves: &ConductionCurves, crest: f64, junction: f64) -> Self {
        let Some((cool, hot)) = curves.around(junction) else {
            return Self { knee: (f64::NAN, 0.0), slope: (f64::NAN, 0.0) };
        };
        let (knee, slope) = cool.line(crest);
        let span = hot.junction - cool.junction;
        if span > 0.0 {
            let (hot_knee, hot_slope) = hot.line(crest);
            let over = |cold: f64, warm: f64| {
                let per_kelvin = (warm - cold) / span;
                (cold - per_kelvin * cool.junction, per_kelvin)
            };
            Self { knee: over(knee, hot_knee), slope: over(slope, hot_slope) }
        } else {
            // One curve: taken to hold at every temperature.
            Self { knee: (knee, 0.0), slope: (slope, 0.0) }
        }
    }
}

/// Crest of the current in one of the devices in parallel.
fn device_crest<const L: usize, T: Trace>(
    bridge: &Bridge,
    chip: &Chip,
    seat: &Seat<'_, L>,
    shared: &Shared<L>,
    stands: &[Stand; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let law: &'static Law = match stands[0] {
        Stand::Turning => &laws::PARALLEL_CREST,
        Stand::Standing { .. } => &laws::STANDING_CREST,
    };
    let from: &[Operand] = &[bridge.figures.phase_current_peak.into(), seat.count.into()];
    let through = conducts(chip.kind, stands[0]);
    let law = if through { law } else { &laws::NO_CURRENT };
    let crest: [f64; L] = core::array::from_fn(|l| {
        let share = shared.peak[l] / seat.parallel[l];
        match stands[l] {
            Stand::Turning => share,
            Stand::Standing { role, .. } => role.current(Current::new(share)).si(),
        }
    });
    pass.put(chip.figures.peak_current, law, from, |l| {
        if conducts(chip.kind, stands[l]) { crest[l] } else { 0.0 * crest[l] }
    });
    crest
}

/// Whether the current of a leg turns.
#[inline]
fn turning_lane(stand: Stand) -> bool {
    matches!(stand, Stand::Turning)
}

/// Whether a chip carries the current of its leg at all.
#[inline]
pub(crate) fn conducts(kind: ChipKind, stand: Stand) -> bool {
    match (kind, stand) {
        (ChipKind::Mosfet, _) | (_, Stand::Turning) => true,
        (ChipKind::Igbt, Stand::Standing { leads, .. }) => leads,
        (ChipKind::Diode, Stand::Standing { leads, .. }) => !leads,
    }
}

/// Share of the time that a position conducts at standstill.
#[inline]
fn standing_share<const L: usize>(shared: &Shared<L>, l: usize, role: stall::Leg, leads: bool) -> f64 {
    let index = shared.index[l];
    let share = stall::transistor_share(index, shared.modulation[l].frozen_zero_sequence(index), role);
    let share = share + shared.unsaid[l];
    if leads { share } else { 1.0 - share }
}

/// Share of the time that a channel leads at standstill. The side that switches has its share as it is formed; both
/// dead times are those of the body diode on the other side.
#[inline]
fn channel_share<const L: usize>(shared: &Shared<L>, l: usize, role: stall::Leg, leads: bool) -> f64 {
    let (dead, carrier) = (Time::new(shared.dead_time[l]), Frequency::new(shared.carrier[l]));
    let edges = if leads { 0.0 } else { bridge_currents::dead_share(dead, carrier) };
    let share = standing_share(shared, l, role, leads) - edges;
    if share < 0.0 { 0.0 } else { share }
}

/// Average and RMS current of an IGBT or of the diode beside one.
fn one_way<const L: usize, T: Trace>(
    bridge: &Bridge,
    chip: &Chip,
    shared: &Shared<L>,
    stands: &[Stand; L],
    crest: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> ([f64; L], [f64; L]) {
    let is_diode = chip.kind == ChipKind::Diode;
    let figures = &chip.figures;
    let turning = matches!(stands[0], Stand::Turning);
    let rippled = bridge.figures.ripple_factor;
    let (average_law, rms_law): (&'static Law, &'static Law) = match (turning, is_diode, rippled) {
        (true, false, None) => (&bridge_currents::TRANSISTOR_AVERAGE, &bridge_currents::TRANSISTOR_RMS),
        (true, false, _) => (&bridge_currents::TRANSISTOR_AVERAGE, &laws::RIPPLED_TRANSISTOR_RMS),
        (true, true, None) => (&bridge_currents::DIODE_AVERAGE, &bridge_currents::DIODE_RMS),
        (true, true, _) => (&bridge_currents::DIODE_AVERAGE, &laws::RIPPLED_DIODE_RMS),
        (false, ..) => (&laws::STANDING_AVERAGE, &laws::STANDING_RMS),
    };
    let all: [Operand; 5] = [
        figures.peak_current.into(),
        bridge.figures.formed_index.into(),
        bridge.inputs.modulation.into(),
        bridge.figures.power_factor.into(),
        rippled.unwrap_or(bridge.figures.power_factor).into(),
    ];
    let from = match (turning, rippled) {
        (true, Some(_)) => &all[..],
        (true, None) => &all[..4],
        (false, _) => &all[..3],
    };
    let of_average = if turning { &[all[0], all[1], all[3]][..] } else { from };
    let average = pass.put(figures.average_current, average_law, of_average, |l| {
        let (peak, index, cos_phi) = (Current::new(crest[l]), shared.index[l], shared.cos_phi[l]);
        let amps = match stands[l] {
            Stand::Turning if is_diode => bridge_currents::diode_average(peak, index, cos_phi),
            Stand::Turning => bridge_currents::transistor_average(peak, index, cos_phi),
            Stand::Standing { role, leads } if leads != is_diode => {
                stall::share_average(standing_share(shared, l, role, leads), peak)
            }
            Stand::Standing { .. } => peak * 0.0,
        };
        amps.si()
    });
    let rms = pass.put(figures.rms_current, rms_law, from, |l| {
        let (peak, index, cos_phi) = (Current::new(crest[l]), shared.index[l], shared.cos_phi[l]);
        let amps = match stands[l] {
            Stand::Turning if is_diode => {
                bridge_currents::diode_rms(peak, index, cos_phi, shared.modulation[l])
                    * shared.ripple_factor[l]
            }
            Stand::Turning => {
                bridge_currents::transistor_rms(peak, index, cos_phi, shared.modulation[l])
                    * shared.ripple_factor[l]
            }
            Stand::Standing { role, leads } if leads != is_diode => {
                stall::share_rms(standing_share(shared, l, role, leads), peak)
            }
            Stand::Standing { .. } => peak * 0.0,
        };
        amps.si() + if turning_lane(stands[l]) { shared.unsaid[l] } else { 0.0 }
    });
    (average, rms)
}

/// Average and RMS current of a MOSFET's channel, which leads in both directions.
fn channel<const L: usize, T: Trace>(
    stage: &Stage,
    bridge: &Bridge,
    chip: &Chip,
    shared: &Shared<L>,
    stands: &[Stand; L],
    crest: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> ([f64; L], [f64; L]) {
    let figures = &chip.figures;
    let turning = matches!(stands[0], Stand::Turning);
    let rippled = bridge.figures.ripple_factor;
    let (average_law, rms_law): (&'static Law, &'static Law) = match (turning, rippled) {
        (true, None) => (&laws::CHANNEL_AVERAGE, &bridge_currents::CHANNEL_RMS),
        (true, Some(_)) => (&laws::CHANNEL_AVERAGE, &laws::RIPPLED_CHANNEL_RMS),
        (false, _) => (&laws::STANDING_AVERAGE, &laws::STANDING_CHANNEL_RMS),
    };
    let from: &[Operand] = &[
        figures.peak_current.into(),
        bridge.figures.formed_index.into(),
        if turning { bridge.figures.power_factor.into() } else { bridge.inputs.modulation.into() },
        stage.dead_time.into(),
        stage.carrier.into(),
    ];
    // Forward less backward: what the position leads on average, as it would in a transistor and its diode.
    let average = pass.put(figures.average_current, average_law, from, |l| {
        let (peak, index, cos_phi) = (Current::new(crest[l]), shared.index[l], shared.cos_phi[l]);
        match stands[l] {
            Stand::Turning => {
                let forward = bridge_currents::transistor_average(peak, index, cos_phi);
                let (dead, carrier) = (Time::new(shared.dead_time[l]), Frequency::new(shared.carrier[l]));
                let body = bridge_currents::body_diode_average(peak, dead, carrier);
                (forward - bridge_currents::diode_average(peak, index, cos_phi) + body).si()
            }
            Stand::Standing { role, leads } => {
                let amps = stall::share_average(channel_share(shared, l, role, leads), peak).si();
                if leads { amps } else { -amps }
            }
        }
    });
    let all: [Operand; 5] = [
        figures.peak_current.into(),
        stage.dead_time.into(),
        stage.carrier.into(),
        match (turning, rippled) {
            (true, Some(factor)) => factor.into(),
            _ => bridge.figures.formed_index.into(),
        },
        bridge.inputs.modulation.into(),
    ];
    let from = match (turning, rippled) {
        (true, None) => &all[..3],
        (true, Some(_)) => &all[..4],
        (false, _) => &all[..],
    };
    let rms = pass.put(figures.rms_current, rms_law, from, |l| {
        let peak = Current::new(crest[l]);
        let (dead, carrier) = (Time::new(shared.dead_time[l]), Frequency::new(shared.carrier[l]));
        let amps = match stands[l] {
            Stand::Turning => bridge_currents::channel_rms(peak, dead, carrier) * shared.ripple_factor[l],
            Stand::Standing { role, leads } => stall::share_rms(channel_share(shared, l, role, leads), peak),
        };
        amps.si()
    });
    (average, rms)
}

/// Switching energy for each carrier period, at the temperature of the data sheet and the voltage at hand.
#[expect(clippy::too_many_arguments, reason = "one call for a transistor, a diode and a body diode")]
fn energy<const L: usize, T: Trace>(
    out: crate::ids::FigureId,
    curve: &EnergyCurve,
    chip: &Chip,
    shared: &Shared<L>,
    stands: &[Stand; L],
    crest: &[f64; L],
    fires: impl Fn(usize) -> bool,
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let law =
        if matches!(stands[0], Stand::Turning) { &device::TURNING_ENERGY } else { &device::STANDING_ENERGY };
    let voltage: Operand = shared.bus_voltage;
    let [of_voltage, of_current] = exponents(curve, pass);
    let scale: Operand = curve.scale.map_or(curve.id.into(), |scale| scale.voltage_exponent.into());
    let from: &[Operand] = &[curve.id.into(), chip.figures.peak_current.into(), voltage, scale];
    pass.put(out, law, from, |l| {
        if shared.active[l] < 0.5 {
            return 0.0;
        }
        let factor = curve.voltage_factor(shared.voltage[l], of_voltage[l]);
        match stands[l] {
            Stand::Turning => curve.average(crest[l], of_current[l]) * factor,
            Stand::Standing { .. } if fires(l) => curve.at(crest[l], of_current[l]) * factor,
            Stand::Standing { .. } => 0.0 * factor,
        }
    })
}

/// Exponents of voltage and current of an energy curve.
#[inline]
pub(crate) fn exponents<const L: usize, T: Trace>(
    curve: &EnergyCurve,
    pass: &Pass<'_, L, T>,
) -> [[f64; L]; 2] {
    let Some(scale) = curve.scale else { return [[f64::NAN; L]; 2] };
    let of_current = scale.current_exponent.map_or([1.0; L], |exponent| pass.input(exponent));
    [pass.input(scale.voltage_exponent), of_current]
}

/// Relative growth of an energy curve for each kelvin.
#[inline]
pub(crate) fn growth<const L: usize, T: Trace>(curve: &EnergyCurve, pass: &Pass<'_, L, T>) -> [f64; L] {
    curve.scale.map_or([f64::NAN; L], |scale| pass.input(scale.per_kelvin))
}

/// The dead-time conduction and the recoveries of a MOSFET's body diode, added to the chip's line.
#[expect(clippy::too_many_arguments, reason = "the chip's own arguments, and its body diode")]
fn body_diode<const L: usize, T: Trace>(
    stage: &Stage,
    chip: &Chip,
    body: &BodyDiode,
    shared: &Shared<L>,
    stands: &[Stand; L],
    crest: &[f64; L],
    junction: &[f64; L],
    line: &mut LossLine<L>,
    pass: &mut Pass<'_, L, T>,
) {
    let turning = matches!(stands[0], Stand::Turning);
    let (average_law, rms_law): (&'static Law, &'static Law) = if turning {
        (&bridge_currents::BODY_DIODE_AVERAGE, &bridge_currents::BODY_DIODE_RMS)
    } else {
        (&laws::STANDING_DEAD_AVERAGE, &laws::STANDING_DEAD_RMS)
    };
    let from: &[Operand] = &[chip.figures.peak_current.into(), stage.dead_time.into(), stage.carrier.into()];
    let dead = |l: usize| (Time::new(shared.dead_time[l]), Frequency::new(shared.carrier[l]));
    let average = pass.put(body.average_current, average_law, from, |l| {
        let (peak, (dead, carrier)) = (Current::new(crest[l]), dead(l));
        match stands[l] {
            Stand::Turning => bridge_currents::body_diode_average(peak, dead, carrier).si(),
            Stand::Standing { leads: false, .. } => {
                stall::share_average(bridge_currents::dead_share(dead, carrier), peak).si()
            }
            Stand::Standing { .. } => 0.0 * crest[l],
        }
    });
    let rms = pass.put(body.rms_current, rms_law, from, |l| {
        let (peak, (dead, carrier)) = (Current::new(crest[l]), dead(l));
        match stands[l] {
            Stand::Turning => bridge_currents::body_diode_rms(peak, dead, carrier).si(),
            Stand::Standing { leads: false, .. } => {
                stall::share_rms(bridge_currents::dead_share(dead, carrier), peak).si()
            }
            Stand::Standing { .. } => 0.0 * crest[l],
        }
    });
    let recovers = |l: usize| !matches!(stands[l], Stand::Standing { leads: true, .. });
    let recovery = energy(body.recovery_energy, &body.energy, chip, shared, stands, crest, recovers, pass);
    let growth = growth(&body.energy, pass);
    for l in 0..L {
        let (at_zero, per_kelvin) = body.energy.around(junction[l], growth[l]);
        let way = Line::through(&body.conduction, crest[l], junction[l]);
        let squared = rms[l] * rms[l];
        let recovered = shared.carrier[l] * recovery[l];
        line.body.0[l] = way.knee.0 * average[l] + way.slope.0 * squared;
        line.body.1[l] = way.knee.1 * average[l] + way.slope.1 * squared;
        line.constant[l] += line.body.0[l] + recovered * at_zero;
        line.per_kelvin[l] += line.body.1[l] + recovered * per_kelvin;
    }
}
