//! A three-phase bridge in a block of lanes: from what the duty point asks to the currents and loss lines of each chip.

use loadworthy_physics::{
    Current, Frequency, Inductance, Modulation, Power, Resistance, Time, Voltage, bridge_currents,
    link_ripple, phase_current, phase_ripple, pole_voltage,
};

use crate::plan::{Bridge, Plan, Stage};
use crate::solver::chip::{self, Seat};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::pulsed;
use crate::solver::scratch::Scratch;
use crate::solver::shaft;
use crate::trace::{Operand, Trace};

/// The modulation that a number in a lane stands for; see [`modulation_code`].
#[inline]
#[must_use]
pub fn modulation(code: f64) -> Modulation {
    if code < 0.5 {
        Modulation::Sinusoidal
    } else if code < 1.5 {
        Modulation::ThirdHarmonic
    } else {
        Modulation::SpaceVector
    }
}

/// The number that stands for a modulation in a lane.
#[must_use]
pub fn modulation_code(modulation: Modulation) -> f64 {
    match modulation {
        Modulation::Sinusoidal => 0.0,
        Modulation::ThirdHarmonic => 1.0,
        Modulation::SpaceVector => 2.0,
    }
}

/// What every leg of a bridge shares.
pub(crate) struct Shared<const L: usize> {
    pub(crate) crest: [i8; L],
    pub(crate) active: [f64; L],
    pub(crate) peak: [f64; L],
    pub(crate) index: [f64; L],
    pub(crate) cos_phi: [f64; L],
    pub(crate) voltage: [f64; L],
    pub(crate) carrier: [f64; L],
    pub(crate) dead_time: [f64; L],
    pub(crate) modulation: [Modulation; L],
    /// Zero; not a number where no modulation is stated and something is asked.
    pub(crate) unsaid: [f64; L],
    pub(crate) ripple_factor: [f64; L],
    pub(crate) bus_voltage: Operand,
}

/// Currents of a bridge and the loss line of each of its chips.
pub(crate) fn currents<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let shared = terminals(plan, stage, bridge, crest, pass);
    let turning = shared.crest.iter().all(|&crest| crest == 0) && !scratch.bends(&super::chips_of(stage));
    for (k, position) in stage.positions.iter().enumerate() {
        // While every lane turns and no curve is chosen by a temperature, the three legs are alike; the later two repeat the
        // first.
        let repeats = turning && !T::LISTENS && position.leg > 0;
        let side = position.role.side();
        let parallel = pass.input(stage.parallel(position));
        for (n, chip) in position.chips.clone().enumerate() {
            if repeats {
                let first = stage.positions[k % 2].chips.start + n;
                pulsed::repeat(&plan.chips[first], &plan.chips[chip], pass);
                scratch.lines[chip] = scratch.lines[first];
                continue;
            }
            let seat =
                Seat { stage, side, leg: position.leg, parallel: &parallel, count: stage.parallel(position) };
            let junction = scratch.junctions_before[chip];
            scratch.lines[chip] = chip::currents(bridge, &plan.chips[chip], &seat, &shared, &junction, pass);
        }
    }
}

/// Phase current, power, modulation index and ripple.
fn terminals<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
) -> Shared<L> {
    let inputs = &bridge.inputs;
    let figures = &bridge.figures;
    // A lane holds the rotors of the machines that stand still; the others turn on.
    let frequency = shaft::frequency(bridge, pass);
    let crest: [i8; L] = core::array::from_fn(|l| if frequency[l] <= 0.0 { crest[l] } else { 0 });
    let standing = crest[0] != 0;
    let active = pass.input(inputs.active);
    let resting = active[0] < 0.5;
    let power = pass.input(inputs.power);
    let stated_current = pass.input(inputs.phase_current);
    let stated_voltage = pass.input(inputs.line_voltage);
    let stated_factor = pass.input(inputs.power_factor);
    let resistance = pass.input(inputs.phase_resistance);
    let carrier = pass.input(stage.carrier);
    let dead_time = pass.input(stage.dead_time);
    let codes = pass.input(inputs.modulation);
    let modulation: [Modulation; L] = core::array::from_fn(|l| modulation(codes[l]));
    // A code that is missing stands for no pattern: nothing that depends on one may pass for a figure.
    let unsaid: [f64; L] = core::array::from_fn(|l| if active[l] < 0.5 { 0.0 } else { 0.0 * codes[l] });
    let port = &stage.ports[0];
    let (voltage, bus_voltage) = (pass.figure(port.voltage), Operand::Figure(port.voltage));
    let shaft = shaft::terminals(stage, bridge, &voltage, pass);
    let by_shaft = shaft.as_ref().is_some_and(|shaft| shaft.is_asked[0]);
    let by_power = stated_current[0].is_nan();
    // A lane that neither turns nor stands has no frequency: nothing in it may pass for a figure.
    let known: [f64; L] = core::array::from_fn(|l| 0.0 * frequency[l]);

    let (law, from): (_, &[Operand]) = if resting {
        (&laws::RESTING, &[])
    } else if let (true, Some(constants)) = (by_shaft, &inputs.constants) {
        (&laws::SHAFT_POWER_FACTOR, &[constants.d_current.into(), constants.q_current.into()])
    } else if standing {
        (&laws::STANDING_POWER_FACTOR, &[])
    } else if by_power {
        (&laws::SIGNED_POWER_FACTOR, &[Operand::Input(inputs.power_factor), Operand::Input(inputs.power)])
    } else {
        (&laws::STATED, &[Operand::Input(inputs.power_factor)])
    };
    let cos_phi = pass.put(figures.power_factor, law, from, |l| {
        if active[l] < 0.5 {
            0.0
        } else if let Some(shaft) = shaft.as_ref().filter(|shaft| shaft.is_asked[l]) {
            shaft.power_factor[l]
        } else if crest[l] != 0 {
            1.0
        } else if stated_current[l].is_nan() {
            stated_factor[l].abs().copysign(power[l]) + 0.0 * power[l]
        } else {
            stated_factor[l]
        }
    });

    let measured_voltage = !stated_voltage[0].is_nan();
    let (law, from): (_, &[Operand]) = if resting {
        (&laws::RESTING, &[])
    } else if let (true, Some(constants)) = (by_shaft, &inputs.constants) {
        (
            &loadworthy_physics::machine::VOLTAGE,
            &[constants.d_current.into(), constants.q_current.into(), figures.frequency.into()],
        )
    } else if standing && !measured_voltage {
        (&laws::STANDING_VOLTAGE, &[inputs.phase_resistance.into(), inputs.phase_current.into()])
    } else {
        (&laws::STATED, &[inputs.line_voltage.into()])
    };
    let line_voltage = pass.put(figures.line_voltage, law, from, |l| {
        if active[l] < 0.5 {
            0.0
        } else if let Some(shaft) = shaft.as_ref().filter(|shaft| shaft.is_asked[l]) {
            shaft.line_voltage[l]
        } else if crest[l] != 0 && stated_voltage[l].is_nan() {
            3f64.sqrt() * resistance[l] * stated_current[l]
        } else {
            stated_voltage[l]
        }
    });

    let (law, from): (_, &[Operand]) = if resting {
        (&laws::RESTING, &[])
    } else if let (true, Some(constants)) = (by_shaft, &inputs.constants) {
        (&laws::SHAFT_CURRENT, &[constants.d_current.into(), constants.q_current.into()])
    } else if by_power {
        (
            &phase_current::PHASE_CURRENT,
            &[
                inputs.power.into(),
                figures.line_voltage.into(),
                figures.power_factor.into(),
                figures.frequency.into(),
            ],
        )
    } else {
        (&laws::STATED, &[inputs.phase_current.into(), figures.frequency.into()])
    };
    let current = pass.put(figures.phase_current, law, from, |l| {
        if active[l] < 0.5 {
            0.0
        } else if let Some(shaft) = shaft.as_ref().filter(|shaft| shaft.is_asked[l]) {
            shaft.phase_current[l] + known[l]
        } else if stated_current[l].is_nan() {
            let volts = Voltage::new(line_voltage[l]);
            phase_current::phase_current(Power::new(power[l]), volts, cos_phi[l]).si() + known[l]
        } else {
            stated_current[l] + known[l]
        }
    });
    let peak = pass.put(figures.phase_current_peak, &laws::CREST, &[figures.phase_current.into()], |l| {
        2f64.sqrt() * current[l]
    });
    pass.put(
        figures.output_power,
        &phase_current::ACTIVE_POWER,
        &[figures.line_voltage.into(), figures.phase_current.into(), figures.power_factor.into()],
        |l| {
            phase_current::active_power(Voltage::new(line_voltage[l]), Current::new(current[l]), cos_phi[l])
                .si()
        },
    );

    let on = device_drop(plan, stage, bridge, &crest, &peak, &active, pass);
    let from: &[Operand] =
        &[figures.device_drop.into(), bus_voltage, stage.dead_time.into(), stage.carrier.into()];
    let drop = pass.put(figures.voltage_drop, &laws::DROP, from, |l| {
        let (volts, dead, pulses) =
            (Voltage::new(voltage[l]), Time::new(dead_time[l]), Frequency::new(carrier[l]));
        let dead = pole_voltage::dead_time_drop(volts, dead, pulses).si();
        if active[l] < 0.5 {
            0.0
        } else if crest[l] != 0 {
            on[l] + dead * core::f64::consts::FRAC_PI_4
        } else {
            on[l] + dead
        }
    });
    pass.put(
        figures.modulation_index,
        &pole_voltage::POLE_INDEX,
        &[figures.line_voltage.into(), figures.power_factor.into(), figures.voltage_drop.into(), bus_voltage],
        |l| {
            pole_voltage::pole_index(
                Voltage::new(line_voltage[l]),
                cos_phi[l],
                Voltage::new(drop[l]),
                Voltage::new(voltage[l]),
            )
        },
    );

    // What the dead time takes is commanded on top and then lost: the gates' own shares of the period are those of
    // the voltage that is formed, and so are the currents of devices and link.
    let from: &[Operand] =
        &[figures.line_voltage.into(), figures.power_factor.into(), figures.device_drop.into(), bus_voltage];
    let index = pass.put(figures.formed_index, &laws::FORMED_INDEX, from, |l| {
        let (line, on, dc) = (Voltage::new(line_voltage[l]), Voltage::new(on[l]), Voltage::new(voltage[l]));
        pole_voltage::pole_index(line, cos_phi[l], on, dc)
    });

    let from: &[Operand] = &[stage.carrier.into(), figures.frequency.into()];
    pass.put(figures.carrier_ratio, &laws::CARRIER_RATIO, from, |l| {
        // What rests or stands still has no ratio; it reads as none.
        if active[l] < 0.5 || frequency[l] <= 0.0 { 0.0 * carrier[l] } else { carrier[l] / frequency[l] }
    });

    let mut ripple_factor = [1.0; L];
    let mut ripple = [0.0; L];
    let into = figures.phase_ripple.zip(figures.ripple_factor);
    if let (Some((out, factor)), Some(inductance)) = (into, inputs.inductance) {
        let henry = pass.input(inductance);
        let from: &[Operand] = &[
            bus_voltage,
            inductance.into(),
            stage.carrier.into(),
            figures.formed_index.into(),
            inputs.modulation.into(),
        ];
        ripple = pass.put(out, &phase_ripple::RIPPLE_RMS, from, |l| {
            let amps = phase_ripple::ripple_rms(
                Voltage::new(voltage[l]),
                Inductance::new(henry[l]),
                Frequency::new(carrier[l]),
                index[l],
                modulation[l],
            );
            // What rests has no ripple, whatever is missing.
            if active[l] < 0.5 { 0.0 } else { amps.si() + unsaid[l] }
        });
        let from: &[Operand] = &[out.into(), figures.phase_current.into()];
        ripple_factor = pass.put(factor, &bridge_currents::RIPPLE_FACTOR, from, |l| {
            if current[l] > 0.0 {
                bridge_currents::ripple_factor(Current::new(ripple[l]), Current::new(current[l]))
            } else {
                // Without current there is nothing to be a share of; what is missing stays missing.
                1.0 + 0.0 * current[l]
            }
        });
    }
    let at_pole: [Operand; 3] =
        [figures.phase_current.into(), figures.formed_index.into(), figures.power_factor.into()];
    let with_ripple: [Operand; 4] =
        [at_pole[0], at_pole[1], at_pole[2], figures.phase_ripple.unwrap_or(figures.phase_current).into()];
    let (law, from): (_, &[Operand]) = if figures.phase_ripple.is_some() {
        (&link_ripple::WITH_PHASE_RIPPLE, &with_ripple)
    } else {
        (&link_ripple::CAPACITOR_RMS, &at_pole)
    };
    pass.put(figures.link_ripple, law, from, |l| {
        let bare = link_ripple::capacitor_rms(Current::new(current[l]), index[l], cos_phi[l]);
        if figures.phase_ripple.is_some() {
            link_ripple::with_phase_ripple(bare, index[l], Current::new(ripple[l])).si()
        } else {
            bare.si()
        }
    });

    // What rests switches nothing: a carrier or a dead time that is missing keeps nothing of it open.
    let switched = |value: [f64; L]| core::array::from_fn(|l| if active[l] < 0.5 { 0.0 } else { value[l] });
    Shared {
        crest,
        active,
        peak,
        index,
        cos_phi,
        voltage,
        carrier: switched(carrier),
        dead_time: switched(dead_time),
        modulation,
        unsaid,
        ripple_factor,
        bus_voltage,
    }
}

/// Crest of the voltage that the conducting devices take; the side of the leg that takes more counts.
///
/// The line of the hottest curve keeps the modulation index apart from the temperatures that are sought later.
fn device_drop<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    crest: &[i8; L],
    peak: &[f64; L],
    active: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let mut drops = [[f64::NAN; L]; 2];
    let mut from: [Operand; 5] = [bridge.figures.phase_current_peak.into(); 5];
    for (side, position) in stage.positions.iter().take(2).enumerate() {
        let curves = &plan.chips[position.chips.start].conduction;
        let parallel = pass.input(stage.parallel(position));
        from[1 + 2 * side] = stage.parallel(position).into();
        from[2 + 2 * side] = curves.id.into();
        for l in 0..L {
            let share = peak[l] / parallel[l];
            let (knee, slope) = curves.hottest().map_or((f64::NAN, f64::NAN), |curve| curve.line(share));
            drops[side][l] = if crest[l] != 0 {
                knee + slope * share
            } else {
                let (knee, slope) = (Voltage::new(knee), Resistance::new(slope));
                pole_voltage::conduction_drop(knee, slope, Current::new(share)).si()
            };
        }
    }
    pass.put(bridge.figures.device_drop, &laws::DEVICE_DROP, &from, |l| {
        let (high, low) = (drops[0][l], drops[1][l]);
        if active[l] < 0.5 {
            0.0
        } else if high > low {
            high
        } else {
            // What is missing on either side stays missing.
            low + 0.0 * high
        }
    })
}
