//! How the current of a leg ramps up and down: duty, ripple and what follows for choke and buses.

use loadworthy_physics::converters::boost;
use loadworthy_physics::converters::discontinuous::{self, Triangle};
use loadworthy_physics::core_flux;
use loadworthy_physics::{Current, FluxLinkage, Frequency, Inductance, Law, Resistance, Voltage};

use crate::plan::{Chopper, ChopperKind, Plan, Side, Stage};
use crate::solver::laws;
use crate::solver::magnetic;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

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

/// The mean current of a leg, and what drives it up and down.
pub(super) struct Ramps<const L: usize> {
    legs: [f64; L],
    pub(super) leg: [f64; L],
    inductance: Operand,
    /// Whether the inductance falls as the current rises.
    softens: bool,
    /// Share of the period that the low side conducts, as long as the current never rests.
    through: [f64; L],
    /// The ripple in A that goes with it.
    continuous: [f64; L],
    /// What the current does instead where it rests in each period.
    pub(super) empty: [Option<Triangle>; L],
}

impl<const L: usize> Ramps<L> {
    /// What the power on the low side asks of each leg.
    pub(super) fn of<T: Trace>(
        plan: &Plan,
        stage: &Stage,
        chopper: &Chopper,
        pass: &mut Pass<'_, L, T>,
    ) -> Self {
        let [low, high] = [&stage.ports[0], &stage.ports[1]];
        let legs = pass.input(chopper.inputs.legs);
        let carrier = pass.input(stage.carrier);
        let (v_low, v_high) = (pass.figure(low.voltage), pass.figure(high.voltage));
        let leg = leg_current(stage, chopper, (&legs, &v_low), pass);
        let core = stage.magnetics.first().map(|&own| &plan.magnetics[own]);
        let winding = match core.and_then(|core| core.windings.first()) {
            Some(winding) => magnetic::in_service(winding, pass),
            None => pass.input(chopper.inputs.winding),
        };
        let drop = drop(plan, stage, chopper, &leg, &winding, pass);
        let through: [f64; L] = core::array::from_fn(|l| {
            // The drop stands for resistance times current.
            let (low, high) = (Voltage::new(v_low[l]), Voltage::new(v_high[l]));
            boost::duty(low, high, Current::new(1.0), Resistance::new(drop[l]))
        });
        // A duty that cannot be had has no ramps.
        let formed = through.map(|through| through.clamp(0.0, 1.0));
        let mut henry = pass.input(chopper.inputs.inductance);
        let softening = core.and_then(|core| core.core.softening.as_ref());
        if let Some((_, points)) = softening {
            for l in 0..L {
                let duty = formed[l];
                let volt_seconds = FluxLinkage::new(v_high[l] * duty * (1.0 - duty) / carrier[l]);
                let swing = core_flux::softened_swing(points, Current::new(leg[l]), volt_seconds);
                if swing.si() > 0.0 {
                    henry[l] = (volt_seconds / swing).si();
                }
            }
        }
        let continuous: [f64; L] = core::array::from_fn(|l| {
            let (high, henry) = (Voltage::new(v_high[l]), Inductance::new(henry[l]));
            boost::ripple(high, formed[l], henry, Frequency::new(carrier[l])).si()
        });
        Self {
            empty: core::array::from_fn(|l| {
                runs_empty(chopper, leg[l], continuous[l], v_low[l], v_high[l], henry[l], carrier[l])
            }),
            legs,
            leg,
            inductance: softening.map_or(chopper.inputs.inductance.into(), |(curve, _)| (*curve).into()),
            softens: softening.is_some(),
            through,
            continuous,
        }
    }

    /// Puts the duty of the low side, as it is asked and as far as it can be had.
    pub(super) fn duty<T: Trace>(
        &self,
        stage: &Stage,
        chopper: &Chopper,
        pass: &mut Pass<'_, L, T>,
    ) -> [f64; L] {
        let [low, high] = [&stage.ports[0], &stage.ports[1]];
        let figures = &chopper.figures;
        let asked: [f64; L] = core::array::from_fn(|l| match (&self.empty[l], chopper.kind) {
            (None, _) => self.through[l],
            (Some(triangle), ChopperKind::Boost) => triangle.rise,
            (Some(triangle), ChopperKind::Buck) => triangle.fall,
        });
        let by_drop: [Operand; 3] = [low.voltage.into(), high.voltage.into(), figures.drop.into()];
        let at_current: [Operand; 5] = [
            low.voltage.into(),
            high.voltage.into(),
            figures.leg_current.into(),
            self.inductance,
            stage.carrier.into(),
        ];
        let (law, from): (_, &[Operand]) = match (&self.empty[0], chopper.kind) {
            (None, _) => (&boost::DUTY, &by_drop),
            (Some(_), ChopperKind::Boost) => (&discontinuous::BOOST_AT_CURRENT, &at_current),
            (Some(_), ChopperKind::Buck) => (&BUCK_FALL, &at_current),
        };
        pass.put(figures.duty, law, from, |l| asked[l]);
        let (law, from): (_, &[Operand]) = match (&self.empty[0], chopper.kind) {
            (Some(_), ChopperKind::Buck) => (&discontinuous::BUCK_AT_CURRENT, &at_current),
            _ => (&laws::LIMITED_DUTY, &[figures.duty.into()]),
        };
        pass.put(figures.limited_duty, law, from, |l| match (&self.empty[l], chopper.kind) {
            (_, ChopperKind::Boost) => asked[l],
            (None, ChopperKind::Buck) => 1.0 - self.through[l],
            (Some(triangle), ChopperKind::Buck) => triangle.rise,
        });
        // Beyond its reach the search for the bus voltages goes on at the end of the duty; see `reach`.
        asked.map(|asked| asked.clamp(0.0, 1.0))
    }

    /// Puts the ripple in a leg.
    pub(super) fn ripple<T: Trace>(
        &self,
        stage: &Stage,
        chopper: &Chopper,
        pass: &mut Pass<'_, L, T>,
    ) -> [f64; L] {
        let figures = &chopper.figures;
        let from: [Operand; 5] = [
            stage.ports[1].voltage.into(),
            figures.duty.into(),
            self.inductance,
            stage.carrier.into(),
            figures.leg_current.into(),
        ];
        let (law, from) = match self.softens {
            false => (&boost::RIPPLE, &from[..4]),
            true => (&core_flux::SOFTENED_SWING, &from[..]),
        };
        pass.put(figures.ripple, law, from, |l| match &self.empty[l] {
            None => self.continuous[l],
            Some(triangle) => triangle.peak.si(),
        })
    }

    /// Puts what the ramps come to in a leg and on both buses.
    pub(super) fn sums<T: Trace>(
        &self,
        chopper: &Chopper,
        (duty, ripple): (&[f64; L], &[f64; L]),
        pass: &mut Pass<'_, L, T>,
    ) {
        let (inputs, figures, legs) = (&chopper.inputs, &chopper.figures, &self.legs);
        let amps = |l: usize| (Current::new(self.leg[l]), Current::new(ripple[l]));
        let of_leg: &[Operand] = &[figures.leg_current.into(), figures.ripple.into()];
        pass.put(figures.leg_rms, &boost::LEG_RMS, of_leg, |l| match &self.empty[l] {
            None => boost::leg_rms(amps(l).0, amps(l).1).si(),
            Some(triangle) => triangle.rms().si(),
        });
        pass.put(figures.leg_peak, &boost::PEAK, of_leg, |l| match &self.empty[l] {
            None => boost::peak(amps(l).0, amps(l).1).si(),
            Some(triangle) => triangle.peak.si(),
        });
        let from: &[Operand] = &[inputs.legs.into(), figures.duty.into(), figures.ripple.into()];
        pass.put(figures.low_ripple, &boost::LOW_SIDE_RIPPLE_RMS, from, |l| match &self.empty[l] {
            None => boost::low_side_ripple_rms(legs[l], duty[l], amps(l).1).si(),
            Some(triangle) => triangle.leg_ripple_rms(legs[l]).si(),
        });
        let from: &[Operand] =
            &[inputs.legs.into(), figures.leg_current.into(), figures.duty.into(), figures.ripple.into()];
        pass.put(figures.high_ripple, &boost::HIGH_SIDE_RIPPLE_RMS, from, |l| {
            match (&self.empty[l], chopper.kind) {
                (None, _) => boost::high_side_ripple_rms(legs[l], amps(l).0, duty[l], amps(l).1).si(),
                (Some(triangle), ChopperKind::Boost) => triangle.diode_ripple_rms(legs[l]).si(),
                (Some(triangle), ChopperKind::Buck) => triangle.switch_ripple_rms(legs[l]).si(),
            }
        });
    }
}

/// Puts the mean current of a leg, upwards from the low bus; what a diode does not let pass is not known.
fn leg_current<const L: usize, T: Trace>(
    stage: &Stage,
    chopper: &Chopper,
    (legs, v_low): (&[f64; L], &[f64; L]),
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let low = &stage.ports[0];
    let sense = if low.outward { -1.0 } else { 1.0 };
    let power = pass.figure(low.power);
    let from: &[Operand] = &[low.power.into(), low.voltage.into(), chopper.inputs.legs.into()];
    let law = if chopper.diode_side.is_some() { &ONE_WAY } else { &laws::LEG_CURRENT };
    pass.put(chopper.figures.leg_current, law, from, |l| {
        let leg = sense * power[l] / (v_low[l] * legs[l]);
        let backward = match chopper.diode_side {
            None => false,
            Some(Side::High) => leg < 0.0,
            Some(Side::Low) => leg > 0.0,
        };
        if backward { f64::NAN } else { leg }
    })
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
