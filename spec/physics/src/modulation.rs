//! How a three-phase bridge forms its voltage: the modulation index, its limits and its common-mode share.
//!
//! One definition of the index throughout: M = 2·V̂/V_dc, crest of the fundamental phase voltage over half
//! the link voltage. Indices that are one at the space-vector limit or at six-step operation must be
//! converted first (×2/√3 and ×4/π).

use core::f64::consts::{FRAC_2_SQRT_PI, PI};

use crate::Voltage;
use crate::bounds::cosine;

/// √3, written once with all its digits.
pub(crate) const SQRT_3: f64 = 1.732_050_807_568_877_2;

/// V_LL/(M·V_dc) = √3/(2·√2).
const LINE_SHARE: f64 = 0.612_372_435_695_794_5;

/// Highest index that any pattern reaches: six-step operation, M = 4/π. (2/√π squared is 4/π.)
pub const SIX_STEP_LIMIT: f64 = FRAC_2_SQRT_PI * FRAC_2_SQRT_PI;

/// Least carrier periods in a turn of the angle for which the closed forms of device and capacitor currents
/// are more than estimates: they then keep within 0.5 % of the crest, and 6 % for the capacitor.
pub const LEAST_CARRIER_RATIO: f64 = 15.0;

/// The reference that is compared with the carrier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Modulation {
    /// A sine for each phase, linear up to M = 1.
    Sinusoidal,
    /// A sine less one sixth of third harmonic, linear up to M = 2/√3.
    ThirdHarmonic,
    /// Centred space vectors, the same as a sine with −(max + min)/2 added; linear up to M = 2/√3.
    SpaceVector,
}

const THIRD_OF_A_TURN: f64 = 2.0 * PI / 3.0;

/// The middle one of three; a missing one among them stays missing.
#[inline]
pub(crate) fn middle(a: f64, b: f64, c: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    // Of the three, neither the smallest nor the largest.
    if c < low {
        low
    } else if c > high {
        high
    } else {
        c
    }
}

impl Modulation {
    /// Highest modulation index that is produced without distortion (plain number).
    ///
    /// `M_lin = 1 (sinusoidal), 2/√3 (third harmonic, space vector)`. Valid: exact; dead time and control reserve come
    /// on top. Source: Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003.
    #[inline]
    pub const fn linear_limit(self) -> f64 {
        match self {
            Self::Sinusoidal => 1.0,
            Self::ThirdHarmonic | Self::SpaceVector => 2.0 / SQRT_3,
        }
    }

    /// Common-mode term X of a device's mean square, as a share of Î² (plain number; its sign is the
    /// transistor's).
    ///
    /// `m` is the modulation index, `cos_phi` the power factor with the sign of the power. Valid for linear
    /// modulation and sine current. It decides the RMS of the lightly loaded device near the limit, where
    /// leaving it out is 40 % low.
    ///
    /// Source: integral of cos²u·z(u+φ) over a half wave, with the zero sequence's third harmonic alone: X
    /// = M·a₃·cos 3φ/(15·π), where a₃ is −1/6 and −3·√3/(8·π).
    ///
    /// `X = 0 (sinusoidal), −M·cos 3φ/(90·π) (third harmonic), −√3·M·cos 3φ/(40·π²) (space vector)`. Valid: linear
    /// modulation, sine current; the next harmonic of the zero sequence changes X by 0.2 %. Source: own integration of
    /// the zero sequence's third harmonic; method of Kolar, Ertl, Zach, IEEE Trans. IA 27(6), 1991.
    #[inline]
    pub fn rms_common_mode(self, m: f64, cos_phi: f64) -> f64 {
        // The third Chebyshev polynomial spares the angle: cos 3φ = 4·cos³φ − 3·cos φ.
        let cos_phi = cosine(cos_phi);
        let cos_3_phi = cos_phi * (4.0 * cos_phi * cos_phi - 3.0);
        match self {
            // Written as a product so that a missing operand is not lost.
            Self::Sinusoidal => 0.0 * m * cos_3_phi,
            Self::ThirdHarmonic => -m * cos_3_phi / (90.0 * PI),
            Self::SpaceVector => -SQRT_3 * m * cos_3_phi / (40.0 * PI * PI),
        }
    }

    /// Reference of a leg, its wanted pole voltage as a share of V_dc/2 (plain number).
    ///
    /// `m` is the modulation index, `angle` in radians from the crest of the leg's own sine; the other legs stand a
    /// third of a turn before and behind.
    ///
    /// `u = M·cos θ + z; z = 0 (sinusoidal), −M/6·cos 3θ (third harmonic), −(max + min)/2 of the three sines (space
    /// vector)`. Valid: exact; the upper switch is on for (1 + u)/2 of the carrier period. Source: Holmes, Lipo, Pulse
    /// Width Modulation for Power Converters, 2003.
    #[inline]
    pub fn reference(self, m: f64, angle: f64) -> f64 {
        let sine = m * libm::cos(angle);
        match self {
            Self::Sinusoidal => sine,
            Self::ThirdHarmonic => sine - m / 6.0 * libm::cos(3.0 * angle),
            Self::SpaceVector => {
                let (before, behind) =
                    (m * libm::cos(angle + THIRD_OF_A_TURN), m * libm::cos(angle - THIRD_OF_A_TURN));
                // The three add up to nothing: the middle one is what the largest and the smallest leave,
                // with its sign turned.
                sine + 0.5 * middle(sine, before, behind)
            }
        }
    }

    /// Zero sequence of the three references at an angle (plain number, as a share of V_dc/2): what they have in common.
    ///
    /// `m` is the modulation index, `cosines` those of the angle of each leg. As in [`Self::reference`].
    #[inline]
    pub fn zero_sequence(self, m: f64, angle: f64, [u, v, w]: [f64; 3]) -> f64 {
        match self {
            Self::Sinusoidal => 0.0 * m,
            Self::ThirdHarmonic => -m / 6.0 * libm::cos(3.0 * angle),
            Self::SpaceVector => 0.5 * m * middle(u, v, w),
        }
    }

    /// Zero sequence while the angle stands at the crest of one leg's reference (plain number, as a share
    /// of V_dc/2).
    ///
    /// `m` is the modulation index. Exact; all three legs share it.
    ///
    /// Source: the references are M and twice −M/2, so that −(max + min)/2 is −M/4; the third harmonic is
    /// at its own crest.
    ///
    /// `z = 0 (sinusoidal), −M/6 (third harmonic), −M/4 (space vector)`. Valid: exact, one leg at its crest and the
    /// others at −M/2. Source: definition of the references.
    #[inline]
    pub fn frozen_zero_sequence(self, m: f64) -> f64 {
        match self {
            Self::Sinusoidal => 0.0 * m,
            Self::ThirdHarmonic => -m / 6.0,
            Self::SpaceVector => -m / 4.0,
        }
    }
}

/// Modulation index of a line voltage (plain number).
///
/// `line_rms` is the RMS of the fundamental between two phases, `dc` the link voltage. Compare with
/// [`Modulation::linear_limit`] and [`SIX_STEP_LIMIT`]; use the lowest link voltage of the duty point. Definition,
/// exact.
///
/// `M = 2·√2·V_LL/(√3·V_dc)`. Valid: fundamental voltage; linear up to M_lin, out of reach above 4/π. Source:
/// definition; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003.
#[inline]
pub fn modulation_index(line_rms: Voltage, dc: Voltage) -> f64 {
    line_rms / (dc * LINE_SHARE)
}

/// Line voltage (RMS of the fundamental) at a modulation index.
///
/// `m` is the modulation index, `dc` the link voltage. Valid for linear modulation; measured within 0.05 % against
/// sampled waveforms.
///
/// `V_LL = √3/(2·√2)·M·V_dc`. Valid: linear modulation. Source: definition; Mohan, Undeland, Robbins, Power
/// Electronics, 3rd ed., 2003.
#[inline]
pub fn line_voltage(m: f64, dc: Voltage) -> Voltage {
    dc * (m * LINE_SHARE)
}

/// Least link voltage that gives a line voltage without distortion.
///
/// `line_rms` is the RMS between two phases, `linear_limit` that of the modulation. Ideal bridge: add the drops of
/// devices and dead time, and a reserve for control.
///
/// `V_dc,min = 2·√2·V_LL/(√3·M_lin)`. Valid: linear modulation, without the drops of bridge and dead time. Source:
/// definition; Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003.
#[inline]
pub fn least_dc_voltage(line_rms: Voltage, linear_limit: f64) -> Voltage {
    line_rms / (linear_limit * LINE_SHARE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_step_gives_0_780_of_the_link() {
        // Mohan, Undeland, Robbins: square-wave operation gives V_LL = 0.78·V_d.
        assert!((line_voltage(SIX_STEP_LIMIT, Voltage::new(1.0)).si() - 0.7797).abs() < 5e-5);
        assert!((SIX_STEP_LIMIT - 4.0 / PI).abs() < 1e-15);
    }

    #[test]
    fn space_vectors_reach_the_link_over_root_two() {
        let line = line_voltage(Modulation::SpaceVector.linear_limit(), Voltage::new(620.0));
        assert!((line.si() - 620.0 / core::f64::consts::SQRT_2).abs() < 1e-9);
        let dc = least_dc_voltage(line, Modulation::SpaceVector.linear_limit());
        assert!((dc.si() - 620.0).abs() < 1e-9);
        assert!((modulation_index(line, dc) - 2.0 / SQRT_3).abs() < 1e-12);
    }

    #[test]
    fn references_add_up_to_three_zero_sequences_and_keep_their_differences() {
        for kind in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            assert!((kind.reference(0.9, 0.0) - 0.9 - kind.frozen_zero_sequence(0.9)).abs() < 1e-12);
            for step in 0..24 {
                let angle = f64::from(step) * 0.27;
                let legs = [0.0, 1.0, 2.0].map(|k| kind.reference(0.9, angle - k * THIRD_OF_A_TURN));
                let between = legs[0] - legs[1];
                let cosines = [0.0, 1.0, 2.0].map(|k| libm::cos(angle - k * THIRD_OF_A_TURN));
                for (leg, cosine) in legs.iter().zip(cosines) {
                    assert!((leg - 0.9 * cosine - kind.zero_sequence(0.9, angle, cosines)).abs() < 1e-12);
                }
                let sines = 0.9 * (libm::cos(angle) - libm::cos(angle - THIRD_OF_A_TURN));
                assert!((between - sines).abs() < 1e-12);
                if kind == Modulation::SpaceVector {
                    let (low, high) = legs.iter().fold((9.0, -9.0), |(l, h), &x: &f64| (x.min(l), x.max(h)));
                    assert!((low + high).abs() < 1e-12, "the outer two lie evenly about zero");
                }
            }
            assert!(kind.reference(f64::NAN, 0.0).is_nan() && kind.reference(0.9, f64::NAN).is_nan());
        }
    }

    #[test]
    fn common_mode_term_has_the_usual_coefficient() {
        // cos 3φ = 1 at φ = 0; −0.00439·M is the figure in use for space vectors.
        assert!((Modulation::SpaceVector.rms_common_mode(1.0, 1.0) + 0.00439).abs() < 5e-6);
        assert!((Modulation::ThirdHarmonic.rms_common_mode(1.0, -1.0) - 1.0 / (90.0 * PI)).abs() < 1e-15);
        assert!(Modulation::Sinusoidal.rms_common_mode(f64::NAN, 1.0).is_nan());
        assert!(Modulation::Sinusoidal.rms_common_mode(1.0, f64::NAN).is_nan());
    }
}
