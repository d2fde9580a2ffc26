//! A bridge whose angle stands still: one leg holds the crest of the current, the other two half of it
//! each.
//!
//! The crest leg is the hottest thing in the unit: its current does not take turns. At rest the machine is
//! resistive, so that voltage and current have their crest together.

use crate::bounds::within;
use crate::{Current, Law};

/// Law of [`duty`].
pub static DUTY: Law = Law {
    name: "duty of the upper switch at standstill",
    formula: "d = (1 + M + z)/2 in the crest leg, (1 − M/2 + z)/2 in the others",
    validity: "voltage and current at their crest together; clamped to 0 … 1",
    source: "definition of the references",
};

/// Law of [`transistor_share`].
pub static TRANSISTOR_SHARE: Law = Law {
    name: "share of a leg's transistor at standstill",
    formula: "d_T = d in the crest leg, 1 − d in the others; the diode has the rest",
    validity: "d of the upper switch; current leaves the bridge in the crest leg only",
    source: "path of the current through a leg",
};

/// Law of [`share_average`].
pub static SHARE_AVERAGE: Law = Law {
    name: "mean current of a device at standstill",
    formula: "I_avg = d·i",
    validity: "constant current; d is the device's share of the carrier period",
    source: "mean of a chopped constant current",
};

/// Law of [`share_rms`].
pub static SHARE_RMS: Law = Law {
    name: "RMS current of a device at standstill",
    formula: "I_rms = √d·i",
    validity: "constant current; d is the device's share of the carrier period",
    source: "mean square of a chopped constant current",
};

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
/// `m` is the modulation index, `zero_sequence` that of [`crate::Modulation::frozen_zero_sequence`]. In the
/// crest leg the upper transistor has this share and the lower diode the rest; in a return leg the upper
/// *diode* has it and the lower transistor the rest. See [`DUTY`].
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
/// Symbols as in [`duty`]. See [`TRANSISTOR_SHARE`].
#[inline]
pub fn transistor_share(m: f64, zero_sequence: f64, leg: Leg) -> f64 {
    match leg {
        Leg::Crest => duty(m, zero_sequence, leg),
        Leg::Return => 1.0 - duty(m, zero_sequence, leg),
    }
}

/// Mean current of a device that conducts the share `share` of the time. See [`SHARE_AVERAGE`].
#[inline]
pub fn share_average(share: f64, current: Current) -> Current {
    current * share
}

/// RMS current of a device that conducts the share `share` of the time. See [`SHARE_RMS`].
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
