//! Crest of a phase current with the ripple that the switched voltage leaves in it.
//!
//! In half a carrier period each leg switches once, and the voltage of a phase against the star point steps three times. What
//! it departs from its mean, integrated, is the ripple: none at either end of the half period, straight in between, and the
//! same with its sign turned in the next half. Its largest value at the three steps is half of its peak-to-peak value.

use crate::bounds::{cosine, within};
use crate::modulation::{SQRT_3, middle};
use crate::{Current, Frequency, Inductance, Law, Modulation, Voltage};

/// Law of [`swing`].
pub static SWING: Law = Law {
    name: "half the peak-to-peak ripple of a phase current",
    formula: "ΔI/2 = V_dc/(2·L·f_s)·max|∫(v − v_mean) dt'|, v = s_u − (s_u + s_v + s_w)/3 over half a carrier period, dt' its share",
    validity: "symmetrical carrier far above the fundamental; resistance and dead time left out; with a salient machine take the smaller of L_d and L_q for a bound",
    source: "volt-seconds of the switching states; Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003",
};

/// Law of [`largest`].
pub static LARGEST: Law = Law {
    name: "largest phase current, ripple included",
    formula: "Î_max = max over the turn of Î·cos(θ − φ) + ΔI(θ)/2",
    validity: "linear modulation, beyond it with clipped references; within 1.3 % of stepped waveforms from 21 carrier periods a turn where the ripple is a small share, within 2 % where it exceeds the sine",
    source: "half the peak-to-peak ripple on top of the sine; own comparison with a bridge stepped through time",
};

/// Half the peak-to-peak ripple of a phase current while the references stand at an angle.
///
/// `dc` is the link voltage, `inductance` that of a phase at the carrier frequency, `carrier` the carrier frequency, `m` the
/// modulation index at the poles, `angle` in radians from the crest of the phase's own voltage. See [`SWING`].
#[inline]
pub fn swing(
    dc: Voltage,
    inductance: Inductance,
    carrier: Frequency,
    modulation: Modulation,
    m: f64,
    angle: f64,
) -> Current {
    dc / (inductance * carrier * 2.0) * swing_share(modulation, m, [libm::cos(angle), libm::sin(angle)])
}

/// Largest phase current in a turn, its ripple included.
///
/// `crest` is that of the sine, `cos_phi` the cosine of the angle between phase voltage and current, the rest as in
/// [`swing`]. Falls short of the true maximum of sine and ripple by less than 0.1 %, as it is sought in steps of 5°. See [`LARGEST`].
pub fn largest(
    crest: Current,
    cos_phi: f64,
    (dc, inductance, carrier): (Voltage, Inductance, Frequency),
    modulation: Modulation,
    m: f64,
) -> Current {
    let scale = (dc / (inductance * carrier * 2.0)).si();
    let cos_phi = cosine(cos_phi);
    let at_crest = ([cos_phi, (1.0 - cos_phi * cos_phi).sqrt()], [1.0, 0.0]);
    let mut greatest = crest.si() + scale * swing_share(modulation, m, at_crest.0);
    // Half a turn repeats the other with all signs turned; a quarter to either side of the crest is such a half.
    for by in [STEP, [STEP[0], -STEP[1]]] {
        let (mut voltage, mut current) = at_crest;
        for _ in 0..STEPS {
            (voltage, current) = (turned(voltage, by), turned(current, by));
            // From here on the sine lies too low for any ripple to lift it above what was found.
            if crest.si() * current[0] + scale * MOST_SWING <= greatest {
                break;
            }
            let here = crest.si() * current[0] + scale * swing_share(modulation, m, voltage);
            if here > greatest {
                greatest = here;
            }
        }
    }
    Current::new(greatest)
}

/// More than [`swing_share`] ever comes to. The voltage of a phase against the star point lies in a band of 2/3 of the link
/// voltage within half a carrier period, and what begins and ends at nothing while its slope lies in a band departs by a
/// quarter of that band at most.
const MOST_SWING: f64 = 0.17;
/// Steps in a quarter of a turn.
const STEPS: usize = 18;
/// Cosine and sine of a step.
const STEP: [f64; 2] = [0.996_194_698_091_745_5, 0.087_155_742_747_658_17];

/// A direction turned by another.
#[inline]
fn turned([cos, sin]: [f64; 2], [by_cos, by_sin]: [f64; 2]) -> [f64; 2] {
    [cos * by_cos - sin * by_sin, sin * by_cos + cos * by_sin]
}

/// Largest integral of the voltage of a phase less its mean over half a carrier period, as a share of the link voltage and
/// of that half period.
#[inline]
fn swing_share(modulation: Modulation, m: f64, [cos, sin]: [f64; 2]) -> f64 {
    let own = m * cos;
    let (before, behind) = (m * (-0.5 * cos - 0.5 * SQRT_3 * sin), m * (-0.5 * cos + 0.5 * SQRT_3 * sin));
    let zero = match modulation {
        Modulation::Sinusoidal => 0.0,
        Modulation::ThirdHarmonic => -m / 6.0 * cos * (4.0 * cos * cos - 3.0),
        Modulation::SpaceVector => 0.5 * middle(own, before, behind),
    };
    // The share of the half period for which a leg stands on the positive rail.
    let duty = |reference: f64| within(0.5 + 0.5 * (reference + zero), 0.0, 1.0);
    let (own, before, behind) = (duty(own), duty(before), duty(behind));
    let mean = (2.0 * own - before - behind) / 3.0;
    let since = |on: f64, now: f64| if now > on { now - on } else { 0.0 * now };
    let mut greatest = 0.0 * mean;
    for step in [1.0 - own, 1.0 - before, 1.0 - behind] {
        let legs = 2.0 * since(1.0 - own, step) - since(1.0 - before, step) - since(1.0 - behind, step);
        let here = (legs / 3.0 - mean * step).abs();
        if here > greatest {
            greatest = here;
        }
    }
    greatest
}

#[cfg(test)]
mod tests {
    use super::*;

    fn swing_at(m: f64, angle: f64) -> f64 {
        let (dc, henry, carrier) = (Voltage::new(600.0), Inductance::new(200e-6), Frequency::new(10e3));
        swing(dc, henry, carrier, Modulation::SpaceVector, m, angle).si()
    }

    #[test]
    fn at_a_voltage_crest_the_ripple_is_that_of_a_pulse_of_two_thirds() {
        // At the crest of its voltage a phase stands at 2/3·V_dc for d = 3/4·M of the period, else at nothing: across the
        // inductance 2/3·V_dc·(1 − d) for d/f_s.
        for m in [0.2, 0.6, 1.0] {
            let d = 0.75 * m;
            let peak_to_peak = 2.0 / 3.0 * 600.0 * d * (1.0 - d) / (200e-6 * 10e3);
            // The pulse comes twice, once in each half of the period.
            assert!((2.0 * swing_at(m, 0.0) - 0.5 * peak_to_peak).abs() < 1e-9, "{m}: {}", swing_at(m, 0.0));
        }
    }

    #[test]
    fn where_the_sine_lies_too_low_nothing_is_missed() {
        let (dc, henry, carrier) = (Voltage::new(600.0), Inductance::new(200e-6), Frequency::new(10e3));
        let scale = (dc / (henry * carrier * 2.0)).si();
        for modulation in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            for step in 0..160 {
                let (m, angle) = (1.3 * f64::from(step % 20) / 19.0, f64::from(step) * 0.04);
                let (cos_phi, crest) = (libm::cos(angle), f64::from(step / 3));
                assert!(swing(dc, henry, carrier, modulation, m, angle).si() < MOST_SWING * scale);
                let found = largest(Current::new(crest), cos_phi, (dc, henry, carrier), modulation, m).si();
                let phi = libm::acos(cos_phi);
                let whole = (-18i32..=18).map(|place| {
                    let turned = f64::from(place) * 5f64.to_radians();
                    let ripple = swing(dc, henry, carrier, modulation, m, phi + turned).si();
                    crest * libm::cos(turned) + ripple
                });
                let most = whole.fold(0.0, f64::max);
                assert!((found - most).abs() < 1e-9, "{m} {crest}: {found} against {most}");
            }
        }
    }

    #[test]
    fn without_voltage_there_is_no_ripple_and_a_missing_number_stays_missing() {
        assert!(swing_at(0.0, 0.7).abs() < 1e-12);
        assert!(swing_at(f64::NAN, 0.7).is_nan());
        let bridge = (Voltage::new(600.0), Inductance::new(f64::NAN), Frequency::new(10e3));
        assert!(largest(Current::new(100.0), 0.9, bridge, Modulation::SpaceVector, 0.8).si().is_nan());
    }
}
