//! What a machine that turns on behind a bridge of diodes gives for good to a bus that something holds.

mod saliency;

use crate::{Current, Frequency, Inductance, Law, Voltage};

/// Law of [`rectified`].
pub static RECTIFIED: Law = Law {
    name: "currents of a turning machine with all gates off into a bus that is held",
    formula: "X = 2·π·f·L_d; v = V/(√3·Ê); up to v = 0.746, where all three phases conduct, I = 3/π·Ê/X·√(1 − (2·π·V/(9·Ê))²), RMS value and crest of the same wave; above it Ê/X times a function of v, down to nothing at v = 1; where L_q is not L_d, a function of v and L_q/L_d more",
    validity: "ideal diodes, sinusoidal machine, speed and magnets constant; resistance left out, which reads high; L_q from half of L_d to five times as much, with the larger current where there are two steady states; of one above four times v not from 1 to 1.05, where it may hold itself in a weakened field",
    source: "circuit of a machine behind a diode bridge, L·di_k/dt = e_k + n − p_k, p_k = V or 0 as the diode conducts, Σ i_k = 0; own derivation, above v = 0.746 and for two inductances by time stepping of the fluxes; compared with a fine simulation with diodes as resistances",
};

/// Currents of a machine that feeds a bus through the diodes of its bridge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rectified {
    /// Direct current into the bus.
    pub direct: Current,
    /// RMS current of a phase.
    pub rms: Current,
    /// Crest of the current of a phase.
    pub crest: Current,
}

impl Rectified {
    const fn each(direct: f64, rms: f64, crest: f64) -> Self {
        Self { direct: Current::new(direct), rms: Current::new(rms), crest: Current::new(crest) }
    }
}

/// Bus over crest of the line voltage, up to which all three phases conduct all the time: 1/√(4·π²/27 + 1/3).
const ALL_CONDUCT: f64 = 0.746_290;

/// Inductance across over that along the magnets above which a machine may go on into a bus above its crest, and bus over crest up to
/// which it may.
const HOLDS_ITSELF: (f64, f64) = (4.0, 1.05);

/// Bus over crest of the line voltage; direct current, RMS value and crest over Ê/X. Straight between them, which reads high.
const BEYOND: [(f64, [f64; 3]); 12] = [
    (0.725, [0.459_40, 0.345_53, 0.482_64]),
    (0.750, [0.402_50, 0.304_55, 0.423_36]),
    (0.775, [0.343_66, 0.261_99, 0.361_80]),
    (0.800, [0.287_35, 0.220_81, 0.302_59]),
    (0.825, [0.233_62, 0.181_08, 0.246_05]),
    (0.850, [0.182_55, 0.142_85, 0.192_79]),
    (0.875, [0.134_26, 0.106_24, 0.145_07]),
    (0.900, [0.088_94, 0.071_41, 0.101_01]),
    (0.925, [0.046_94, 0.038_64, 0.058_56]),
    (0.950, [0.009_44, 0.009_41, 0.018_30]),
    (0.975, [0.002_34, 0.002_79, 0.006_46]),
    (1.000, [0.0, 0.0, 0.0]),
];

/// Currents for good of a machine whose phases show a crest of `back_emf` without current, with one inductance along its magnets
/// and one across them, into a bus of this voltage. None flow where the bus lies above the crest of the line voltage, whatever the
/// inductances, unless one is several times the other; else not a number where anything is missing. See [`RECTIFIED`].
#[must_use]
pub fn rectified(
    back_emf: Voltage,
    frequency: Frequency,
    [along, across]: [Inductance; 2],
    bus: Voltage,
) -> Rectified {
    let (emf, volts) = (back_emf.si().abs(), bus.si());
    let share = volts / (3.0f64.sqrt() * emf);
    let ratio = across / along;
    if volts >= 3.0f64.sqrt() * emf {
        let (times, most) = HOLDS_ITSELF;
        let flows = if ratio > times && share < most { f64::NAN } else { 0.0 };
        return Rectified::each(flows, flows, flows);
    }
    let shorted = emf / (core::f64::consts::TAU * frequency.si().abs() * along.si());
    let own = round(share);
    let more = saliency::beyond_round(share, ratio, round);
    let [direct, rms, crest] = core::array::from_fn(|k| (own[k] + more[k]) * shorted);
    Rectified::each(direct, rms, crest)
}

/// The same of a machine with one inductance, over Ê/X.
fn round(share: f64) -> [f64; 3] {
    match share {
        share if share.is_nan() || share < 0.0 => [f64::NAN; 3],
        share if share <= ALL_CONDUCT => all_conduct(share),
        share => beyond(share),
    }
}

/// Of six steps of voltage against a sine, over Ê/X: a phase carries nothing where its diode takes over, and half a turn later
/// again, which fixes by how much the sine leads.
fn all_conduct(share: f64) -> [f64; 3] {
    use core::f64::consts::PI;
    let over_emf = 3.0f64.sqrt() * share;
    let cosine = 2.0 * PI / 9.0 * over_emf;
    let sine = (1.0 - cosine * cosine).sqrt();
    // The fundamental, and the harmonics of six steps, each over its order once more: Σ 1/n⁴ over 5, 7, 11, 13, …
    let in_phase = over_emf * (2.0 * PI / 9.0 - 2.0 / PI);
    let harmonics = 4.0 / (PI * PI) * over_emf * over_emf * (80.0 / 81.0 * PI * PI * PI * PI / 96.0 - 1.0);
    let rms = (0.5 * (in_phase * in_phase + sine * sine + harmonics)).sqrt();
    // The crest stands where the sine falls to the highest step.
    let step = 2.0 / 3.0 * over_emf;
    let at = PI - libm::asin(step) - libm::acos(cosine);
    let crest = cosine + (1.0 - step * step).sqrt() - PI / 9.0 * over_emf - step * (at - PI / 3.0);
    [3.0 / PI * sine, rms, crest]
}

fn beyond(share: f64) -> [f64; 3] {
    let pair = BEYOND.windows(2).find(|pair| share <= pair[1].0);
    pair.map_or([f64::NAN; 3], |pair| {
        let along = (share - pair[0].0) / (pair[1].0 - pair[0].0);
        core::array::from_fn(|k| pair[0].1[k] + along * (pair[1].1[k] - pair[0].1[k]))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_laws_meet_where_a_phase_no_longer_conducts_all_the_time() {
        let exact = 1.0 / (4.0 * core::f64::consts::PI * core::f64::consts::PI / 27.0 + 1.0 / 3.0).sqrt();
        assert!((exact - ALL_CONDUCT).abs() < 1e-6, "{exact}");
        for (one, other) in all_conduct(0.725).into_iter().zip(BEYOND[0].1) {
            assert!((one - other).abs() < 2e-5, "{one} {other}");
        }
        for (one, other) in all_conduct(ALL_CONDUCT).into_iter().zip(beyond(ALL_CONDUCT)) {
            assert!((one / other - 1.0).abs() < 5e-3, "{one} {other}");
        }
    }

    #[test]
    fn a_bus_without_voltage_takes_what_a_short_drives() {
        let none = all_conduct(0.0);
        assert!((none[0] - 3.0 / core::f64::consts::PI).abs() < 1e-12);
        assert!((none[1] - 0.5f64.sqrt()).abs() < 1e-12 && (none[2] - 1.0).abs() < 1e-12);
    }
}
