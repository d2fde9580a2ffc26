//! What the poles of a bridge form of their bus, and the ripple that comes of it.

use loadworthy_physics::{
    Current, Frequency, Inductance, Modulation, Resistance, Time, Voltage, bridge_currents, link_ripple,
    phase_ripple, pole_voltage,
};

use super::modulation;
use super::terminals::{Asked, Terminals};
use crate::plan::{Bridge, Plan, Stage};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

/// How the gates are driven.
pub(super) struct Modulated<const L: usize> {
    pub(super) index: [f64; L],
    pub(super) carrier: [f64; L],
    pub(super) dead_time: [f64; L],
    pub(super) modulation: [Modulation; L],
    /// Zero; not a number where no modulation is stated and something is asked.
    pub(super) unsaid: [f64; L],
}

/// Index that is commanded and index that is formed, and how many pulses a turn has.
pub(super) fn poles<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    (asked, terminals): (&Asked<L>, &Terminals<L>),
    pass: &mut Pass<'_, L, T>,
) -> Modulated<L> {
    let figures = &bridge.figures;
    let Asked { crest, active, frequency, voltage, .. } = asked;
    let Terminals { cos_phi, line_voltage, .. } = terminals;
    let carrier = pass.input(stage.carrier);
    let dead_time = pass.input(stage.dead_time);
    let codes = pass.input(bridge.inputs.modulation);
    let bus_voltage = Operand::Figure(stage.ports[0].voltage);
    let on = device_drop(plan, stage, bridge, (asked, &terminals.peak), pass);
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
    let index_with = |drop: f64, l: usize| {
        let (line, drop, dc) = (Voltage::new(line_voltage[l]), Voltage::new(drop), Voltage::new(voltage[l]));
        pole_voltage::pole_index(line, cos_phi[l], drop, dc)
    };
    let from: &[Operand] =
        &[figures.line_voltage.into(), figures.power_factor.into(), figures.voltage_drop.into(), bus_voltage];
    pass.put(figures.modulation_index, &pole_voltage::POLE_INDEX, from, |l| index_with(drop[l], l));
    // What the dead time takes is commanded on top and then lost: the gates' own shares of the period are those of
    // the voltage that is formed, and so are the currents of devices and link.
    let from: &[Operand] =
        &[figures.line_voltage.into(), figures.power_factor.into(), figures.device_drop.into(), bus_voltage];
    let index = pass.put(figures.formed_index, &laws::FORMED_INDEX, from, |l| index_with(on[l], l));
    let from: &[Operand] = &[stage.carrier.into(), figures.frequency.into()];
    pass.put(figures.carrier_ratio, &laws::CARRIER_RATIO, from, |l| {
        // What rests or stands still has no ratio; it reads as none.
        if active[l] < 0.5 || frequency[l] <= 0.0 { 0.0 * carrier[l] } else { carrier[l] / frequency[l] }
    });
    Modulated {
        index,
        carrier,
        dead_time,
        modulation: core::array::from_fn(|l| modulation(codes[l])),
        // A code that is missing stands for no pattern: nothing that depends on one may pass for a figure.
        unsaid: core::array::from_fn(|l| if active[l] < 0.5 { 0.0 } else { 0.0 * codes[l] }),
    }
}

/// Ripple in the phases and in the link; says by how much the former raises the rms current of a phase.
pub(super) fn ripple<const L: usize, T: Trace>(
    stage: &Stage,
    bridge: &Bridge,
    (asked, terminals, modulated): (&Asked<L>, &Terminals<L>, &Modulated<L>),
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let (inputs, figures) = (&bridge.inputs, &bridge.figures);
    let (current, index) = (&terminals.current, &modulated.index);
    let mut ripple_factor = [1.0; L];
    let mut ripple = [0.0; L];
    let into = figures.phase_ripple.zip(figures.ripple_factor);
    if let (Some((out, factor)), Some(inductance)) = (into, inputs.inductance) {
        let henry = pass.input(inductance);
        let from: &[Operand] = &[
            stage.ports[0].voltage.into(),
            inductance.into(),
            stage.carrier.into(),
            figures.formed_index.into(),
            inputs.modulation.into(),
        ];
        ripple = pass.put(out, &phase_ripple::RIPPLE_RMS, from, |l| {
            let (volts, henry) = (Voltage::new(asked.voltage[l]), Inductance::new(henry[l]));
            let pulses = Frequency::new(modulated.carrier[l]);
            let amps = phase_ripple::ripple_rms(volts, henry, pulses, index[l], modulated.modulation[l]);
            // What rests has no ripple, whatever is missing.
            if asked.active[l] < 0.5 { 0.0 } else { amps.si() + modulated.unsaid[l] }
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
        let bare = link_ripple::capacitor_rms(Current::new(current[l]), index[l], terminals.cos_phi[l]);
        if figures.phase_ripple.is_some() {
            link_ripple::with_phase_ripple(bare, index[l], Current::new(ripple[l])).si()
        } else {
            bare.si()
        }
    });
    ripple_factor
}

/// Crest of the voltage that the conducting devices take; the side of the leg that takes more counts.
///
/// The line of the hottest curve keeps the modulation index apart from the temperatures that are sought later.
fn device_drop<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    bridge: &Bridge,
    (asked, peak): (&Asked<L>, &[f64; L]),
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let Asked { crest, active, .. } = asked;
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
