//! A bridge whose angle stands still: one leg holds the crest of the current, the other two half of it
//! each.
//!
//! The crest leg is the hottest thing in the unit: its current does not take turns. At rest the machine is
//! resistive, so that voltage and current have their crest together.

use crate::Current;
use crate::bounds::within;

/// Which leg is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Leg {
    /// The leg that holds the crest Î; its upper transistor and lower diode conduct in turn.
    Crest,
    /// One of the two legs that return half of it; its lower transistor and upper diode conduct in turn.
    Return,
}

impl Leg {
    /// Current in the leg without its sign: Î, or half of it.
    #[inline]
    pub fn current(self, peak: Current) -> Current {
        match self {
            Self::Crest => peak,
            Self::Return => peak * 0.5,
        }
    }
}

/// Share of the carrier period in which the *upper* switch of a leg is on (plain number within 0 … 1).
///
/// `m` is the modulation index, `zero_sequence` that of [`crate::Modulation::frozen_zero_sequence`]. In the crest leg
/// the upper transistor has this share and the lower diode the rest; in a return leg the upper *diode* has it and the
/// lower transistor the rest.
///
/// `d = (1 + M + z)/2 in the crest leg, (1 − M/2 + z)/2 in the others`. Valid: voltage and current at their crest
/// together; clamped to 0 … 1. Source: definition of the references.
#[inline]
pub fn duty(m: f64, zero_sequence: f64, leg: Leg) -> f64 {
    let reference = match leg {
        Leg::Crest => m,
        Leg::Return => -0.5 * m,
    };
    within(0.5 * (1.0 + reference + zero_sequence), 0.0, 1.0)
}

/// Share of the carrier period in which the leg's *transistor* conducts (plain number within 0 … 1); its
/// diode has the rest.
///
/// Symbols as in [`duty`].
///
/// `d_T = d in the crest leg, 1 − d in the others; the diode has the rest`. Valid: d of the upper switch; current
/// leaves the bridge in the crest leg only. Source: path of the current through a leg.
#[inline]
pub fn transistor_share(m: f64, zero_sequence: f64, leg: Leg) -> f64 {
    match leg {
        Leg::Crest => duty(m, zero_sequence, leg),
        Leg::Return => 1.0 - duty(m, zero_sequence, leg),
    }
}

/// Mean current of a device that conducts the share `share` of the time.
///
/// `I_avg = d·i`. Valid: constant current; d is the device's share of the carrier period. Source: mean of a chopped
/// constant current.
#[inline]
pub fn share_average(share: f64, current: Current) -> Current {
    current * share
}

/// RMS current of a device that conducts the share `share` of the time.
///
/// `I_rms = √d·i`. Valid: constant current; d is the device's share of the carrier period. Source: mean square of a
/// chopped constant current.
#[inline]
pub fn share_rms(share: f64, current: Current) -> Current {
    current * share.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Modulation;

    #[test]
    fn the_three_duties_give_back_the_phase_voltages() {
        // Crest leg to return leg: d − d' = 3/4·M whatever the zero sequence.
        for modulation in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            let z = modulation.frozen_zero_sequence(0.08);
            let step = duty(0.08, z, Leg::Crest) - duty(0.08, z, Leg::Return);
            assert!((step - 0.06).abs() < 1e-15);
        }
    }

    #[test]
    fn space_vectors_split_the_zero_vectors_evenly() {
        // At a crest, the three duties lie evenly about one half.
        let z = Modulation::SpaceVector.frozen_zero_sequence(0.2);
        assert!((duty(0.2, z, Leg::Crest) + duty(0.2, z, Leg::Return) - 1.0).abs() < 1e-15);
        assert!((transistor_share(0.2, z, Leg::Return) - duty(0.2, z, Leg::Crest)).abs() < 1e-15);
    }

    #[test]
    fn a_missing_index_is_a_missing_duty() {
        assert!(duty(f64::NAN, 0.0, Leg::Crest).is_nan());
        assert!(share_rms(duty(f64::NAN, 0.0, Leg::Return), Current::new(100.0)).si().is_nan());
    }
}
