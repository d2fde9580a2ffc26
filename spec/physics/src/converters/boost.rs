//! Half bridge between a low and a high direct voltage, with any number of interleaved legs, in both
//! directions of power.
//!
//! The leg's current is positive where it flows from the low to the high side. The lower position conducts
//! for the share `duty` of a period and the upper one for the rest; which of a position's devices conducts
//! depends on the sign of the current alone.

use super::ramp::{Split, part_forward};
use crate::{Current, Frequency, Inductance, Law, Resistance, Voltage};

const LEG: &str =
    "volt-second balance; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020";
const CAPACITORS: &str = "own integration over one shift of the legs; Chang, Knights, IEEE Trans. Circuits and Systems I 42(5), 1995";
const HALF_PER_ROOT_3: f64 = 0.288_675_134_594_812_9;

/// Law of [`duty`].
pub static DUTY: Law = Law {
    name: "duty of the lower switch",
    formula: "D = 1 − (V_1 − I_L·r)/V_2",
    validity: "continuous conduction, both directions; 0.44 % against the full circuit",
    source: LEG,
};

/// Law of [`ripple`].
pub static RIPPLE: Law = Law {
    name: "ripple of a leg's current, peak to peak",
    formula: "ΔI = V_2·D·(1 − D)/(L·f)",
    validity: "stiff voltages, small resistance; 0.35 % against the full circuit",
    source: LEG,
};

/// Law of [`leg_rms`].
pub static LEG_RMS: Law = Law {
    name: "RMS current of a leg",
    formula: "I_L,rms = √(I_L² + ΔI²/12)",
    validity: "exact for a triangular ripple of any size",
    source: "mean square of a ramp",
};

/// Law of [`peak`].
pub static PEAK: Law = Law {
    name: "highest current of a leg",
    formula: "Î = |I_L| + ΔI/2",
    validity: "triangular ripple",
    source: LEG,
};

/// Law of what a position carries on the mean.
pub static POSITION_MEAN: Law = Law {
    name: "mean current of a position",
    formula: "I_avg = d·I_L, d = D below and 1 − D above",
    validity: "exact for any ripple",
    source: LEG,
};

/// Law of [`position_rms`].
pub static POSITION_RMS: Law = Law {
    name: "RMS current of a position",
    formula: "I_rms = √d·I_L,rms, d = D below and 1 − D above",
    validity: "exact for any ripple, as both positions see the same ramp",
    source: LEG,
};

/// Law of [`low_side_ripple_rms`].
pub static LOW_SIDE_RIPPLE_RMS: Law = Law {
    name: "ripple current of the low-side capacitor, RMS",
    formula: "I_C = n·(D − m/n)·((m + 1)/n − D)/(D·(1 − D))·ΔI/(2·√3), m = ⌊n·D⌋",
    validity: "legs equal and evenly shifted, source without ripple; 0.1 % against sampled waveforms",
    source: CAPACITORS,
};

/// Law of [`high_side_ripple_rms`].
pub static HIGH_SIDE_RIPPLE_RMS: Law = Law {
    name: "ripple current of the high-side capacitor, RMS",
    formula: "I_C² = I_L²·e·(1 − e) + s²/12·[e·((k + 1)·e)² + (1 − e)·(k·(1 − e))²], x = n·(1 − D), k = ⌊x⌋, e = x − k, s = ΔI/x",
    validity: "legs equal and evenly shifted, load without ripple; exact for ideal legs, 0.45 % in the full circuit",
    source: CAPACITORS,
};

/// Duty of the lower switch (plain number; within 0 … 1 where the voltages can be had at all, and not
/// clamped where they cannot).
///
/// `low` and `high` are the voltages, `leg` the leg's mean current with its sign, `resistance` that of the
/// leg and of the switches in it. See [`DUTY`].
#[inline]
pub fn duty(low: Voltage, high: Voltage, leg: Current, resistance: Resistance) -> f64 {
    1.0 - (low - leg * resistance) / high
}

/// Ripple of a leg's current, peak to peak.
///
/// `high` is the high-side voltage, `duty` that of [`duty`]. See [`RIPPLE`].
#[inline]
pub fn ripple(high: Voltage, duty: f64, inductance: Inductance, frequency: Frequency) -> Current {
    high * (duty * (1.0 - duty)) / (inductance * frequency)
}

/// RMS current of a leg and its inductor. See [`LEG_RMS`].
#[inline]
pub fn leg_rms(leg: Current, ripple: Current) -> Current {
    (leg * leg + ripple * ripple / 12.0).root()
}

/// Highest current of a leg, without the sign of the leg. See [`PEAK`].
#[inline]
pub fn peak(leg: Current, ripple: Current) -> Current {
    leg.abs() + ripple * 0.5
}

/// Lowest current of a leg, counted in the direction of its mean; negative where it reverses.
///
/// `I_v = |I_L| − ΔI/2`. Valid: triangular ripple; below zero the current reverses within every period. Source:
/// volt-second balance; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020.
#[inline]
pub fn valley(leg: Current, ripple: Current) -> Current {
    leg.abs() - ripple * 0.5
}

/// RMS current of a position that is on for `share` of the period. See [`POSITION_RMS`].
#[inline]
pub fn position_rms(share: f64, leg_rms: Current) -> Current {
    leg_rms * share.sqrt()
}

/// A leg's current parted by its sign over one interval; see [`super::ramp::Split`].
///
/// Times the duty it is the lower position: the transistor carries the positive part, the diode the
/// negative one. Times the rest it is the upper position: the *diode* carries the positive part, the
/// transistor the negative one.
#[inline]
pub fn split(leg: Current, ripple: Current) -> Split {
    Split::of_ramp(leg - ripple * 0.5, leg + ripple * 0.5)
}

/// Currents at which a transistor switches and the diode opposite recovers, without signs. Zero is a soft
/// edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// The transistor turns on hard at it.
    pub turn_on: Current,
    /// The transistor turns off at it.
    pub turn_off: Current,
    /// The diode of the other position recovers from it.
    pub recovery: Current,
}

/// The edges of a leg, once in every period.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwitchingCurrents {
    /// Lower transistor and upper diode, loaded while power flows to the high side.
    pub lower_transistor: Edges,
    /// Upper transistor and lower diode, loaded while power flows to the low side.
    pub upper_transistor: Edges,
}

/// Currents at the edges of a leg.
///
/// Both pairs have a current where the ripple is larger than twice the mean: each then turns off what it carries and
/// turns on softly.
///
/// `on and recovery at |I_L| − ΔI/2, off at |I_L| + ΔI/2`. Valid: a reversed valley turns on without current and
/// recovers nothing. Source: sign of the current at each edge.
#[inline]
pub fn switching_currents(leg: Current, ripple: Current) -> SwitchingCurrents {
    // The lower switch turns on at the bottom of the ramp and off at its top.
    let (bottom, top) = (leg - ripple * 0.5, leg + ripple * 0.5);
    let edges = |on: Current, off: Current| Edges {
        turn_on: part_forward(on),
        turn_off: part_forward(off),
        recovery: part_forward(on),
    };
    SwitchingCurrents { lower_transistor: edges(bottom, top), upper_transistor: edges(-top, -bottom) }
}

/// Ripple current of the low-side capacitor, RMS, with `legs` interleaved legs (a whole number).
///
/// Nothing at D = k/n, where the ripples cancel. Not a number for a duty outside 0 … 1. See
/// [`LOW_SIDE_RIPPLE_RMS`].
#[inline]
pub fn low_side_ripple_rms(legs: f64, duty: f64, ripple: Current) -> Current {
    if !(0.0..=1.0).contains(&duty) {
        return Current::new(f64::NAN);
    }
    let square = duty * (1.0 - duty);
    if square == 0.0 {
        // Nothing is switched. What is missing stays missing.
        return ripple * (0.0 * legs);
    }
    let below = (legs * duty).floor();
    let factor = legs * (duty - below / legs) * ((below + 1.0) / legs - duty) / square;
    ripple * (factor * HALF_PER_ROOT_3)
}

/// Ripple current of the high-side capacitor, RMS, with `legs` interleaved legs (a whole number).
///
/// `leg` is one leg's mean current, `ripple` its ripple; the same in both directions. Not a number for a
/// duty outside 0 … 1. See [`HIGH_SIDE_RIPPLE_RMS`].
#[inline]
pub fn high_side_ripple_rms(legs: f64, leg: Current, duty: f64, ripple: Current) -> Current {
    if !(0.0..=1.0).contains(&duty) {
        return Current::new(f64::NAN);
    }
    let together = legs * (1.0 - duty);
    if together == 0.0 {
        // The upper positions never conduct.
        return (leg + ripple) * (0.0 * legs);
    }
    let whole = together.floor();
    let rest = together - whole;
    let slope = ripple / together;
    let (more, less) = ((whole + 1.0) * rest, whole * (1.0 - rest));
    let steps = leg * leg * (rest * (1.0 - rest));
    let ramps = slope * slope * ((rest * more * more + (1.0 - rest) * less * less) / 12.0);
    (steps + ramps).root()
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: fn(f64) -> Current = Current::new;

    #[test]
    fn buck_direction_lowers_the_duty_by_the_drop() {
        let r = Resistance::new(0.02);
        let (low, high) = (Voltage::new(250.0), Voltage::new(500.0));
        assert!((duty(low, high, A(100.0), r) - 0.504).abs() < 1e-12);
        assert!((duty(low, high, A(-100.0), r) - 0.496).abs() < 1e-12);
    }

    #[test]
    fn ripples_cancel_where_the_duty_is_a_share_of_the_legs() {
        assert!(low_side_ripple_rms(2.0, 0.5, A(60.0)).si().abs() < 1e-12);
        assert!(low_side_ripple_rms(4.0, 0.25, A(60.0)).si().abs() < 1e-12);
        let alone = low_side_ripple_rms(1.0, 0.3, A(60.0));
        assert!((alone.si() - 60.0 / 12f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn one_leg_chops_its_whole_current() {
        let (d, i, ripple) = (0.4, 50.0, 20.0);
        let square = i * i * d * (1.0 - d) + (1.0 - d) * ripple * ripple / 12.0;
        let rms = high_side_ripple_rms(1.0, A(i), d, A(ripple));
        assert!((rms.si() - square.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn edges_change_pairs_with_the_direction() {
        let forth = switching_currents(A(100.0), A(40.0));
        assert_eq!(forth.lower_transistor, Edges { turn_on: A(80.0), turn_off: A(120.0), recovery: A(80.0) });
        assert_eq!(forth.upper_transistor, Edges { turn_on: A(0.0), turn_off: A(0.0), recovery: A(0.0) });
        let back = switching_currents(A(-100.0), A(40.0));
        assert_eq!(back.upper_transistor, forth.lower_transistor);
        // More ripple than twice the mean: both turn off what they carry and nothing turns on hard.
        let both = switching_currents(A(10.0), A(40.0));
        assert_eq!(both.lower_transistor, Edges { turn_on: A(0.0), turn_off: A(30.0), recovery: A(0.0) });
        assert_eq!(both.upper_transistor, Edges { turn_on: A(0.0), turn_off: A(10.0), recovery: A(0.0) });
    }

    #[test]
    fn nothing_is_switched_at_the_ends_of_the_duty() {
        for d in [0.0, 1.0] {
            assert_eq!(low_side_ripple_rms(3.0, d, Current::ZERO), Current::ZERO);
            assert_eq!(high_side_ripple_rms(3.0, A(50.0), d, Current::ZERO), Current::ZERO);
        }
        assert!(low_side_ripple_rms(3.0, 1.1, A(1.0)).si().is_nan());
        assert!(high_side_ripple_rms(3.0, A(1.0), -0.1, A(1.0)).si().is_nan());
    }
}
