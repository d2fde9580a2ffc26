//! The continuous current of a device at a case hotter than that of its rating.

use crate::bounds::within;
use crate::{Current, Law, Resistance, Temperature, Voltage};

/// Law of [`rating_at_case`].
pub static RATING_AT_CASE: Law = Law {
    name: "rated current at a case temperature",
    formula: "V_0·I + r·I² = (V_0·I_r + r·I_r²)·(T_lim − T_c)/(T_lim − T_r), at most I_r",
    validity: "steady direct current without switching loss; V_0 and r at the junction limit; one thermal resistance at all currents",
    source: "own derivation: both currents bring the junction to the same limit",
};

/// Law of [`other_way`].
pub static OTHER_WAY: Law = Law {
    name: "continuous current of a body diode",
    formula: "V_b·I + r_b·I² = V_0·I_c + r·I_c², I_c the continuous current of the channel at this case",
    validity: "steady direct current without switching loss; both lines at the junction limit; the same thermal resistance",
    source: "own derivation: the chip loses as much through its body diode as through its channel",
};

/// Current through a body diode, of `knee` and `slope`, that loses as much as one through the channel. See [`OTHER_WAY`].
#[inline]
#[must_use]
pub fn other_way(
    through_channel: Current,
    channel: (Voltage, Resistance),
    (knee, slope): (Voltage, Resistance),
) -> Current {
    let watts = (channel.0 + channel.1 * through_channel).si() * through_channel.si();
    let root = (knee.si() * knee.si() + 4.0 * slope.si() * watts).sqrt();
    Current::new(2.0 * watts / (knee.si() + root))
}

/// Continuous current that brings the junction to its limit from a given case temperature.
///
/// `rated` is the data sheet's current at the case temperature `at_case`, `junction_limit` the limit it was
/// rated for, `case` the case temperature at hand, `knee` and `slope` the on-state line at the limit.
///
/// Derivation: the rating says that the loss of the rated current, over the resistance from junction to
/// case, makes up exactly the kelvins between `at_case` and the limit. That resistance is the same at
/// another case temperature, so the loss that may flow shrinks with the kelvins that are left; the current
/// follows from the line's loss V_0·I + r·I².
///
/// Never above `rated` (a cooler case does not strengthen leads and bonds), zero once the case is at the
/// limit. Not a number where the limit is not above `at_case`, or where knee and slope are both zero. See
/// [`RATING_AT_CASE`].
#[inline]
pub fn rating_at_case(
    rated: Current,
    at_case: Temperature,
    junction_limit: Temperature,
    case: Temperature,
    knee: Voltage,
    slope: Resistance,
) -> Current {
    let full = (junction_limit - at_case).si();
    if full <= 0.0 {
        return Current::new(f64::NAN);
    }
    let share = within((junction_limit - case).si() / full, 0.0, 1.0);
    // Knee's and resistance's parts of the voltage at the rated current; the rest is a matter of shares.
    let (at_knee, in_slope) = (knee, slope * rated);
    let bend = at_knee / (at_knee + in_slope);
    if share <= 0.0 {
        // The product keeps a rating or a line that is missing.
        return rated * (0.0 * bend);
    }
    if share >= 1.0 {
        return rated * (1.0 + 0.0 * bend);
    }
    // The root of (1 − b)·x² + b·x = share that does not cancel and that bears b = 0 as well as b = 1.
    rated * (2.0 * share / (bend + (bend * bend + 4.0 * (1.0 - bend) * share).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_diode_carries_what_loses_as_much_as_the_channel() {
        // 100 A through 7.4 mΩ are 74 W; through 0.6 V and 2.8 mΩ so are 87.6 A.
        let channel = (Voltage::ZERO, Resistance::new(7.4e-3));
        let body = other_way(Current::new(100.0), channel, (Voltage::new(0.6), Resistance::new(2.8e-3)));
        assert!((0.6 * body.si() + 2.8e-3 * body.si() * body.si() - 74.0).abs() < 1e-9, "{body:?}");
        let same = other_way(Current::new(100.0), channel, channel);
        assert!((same.si() - 100.0).abs() < 1e-9, "{same:?}");
    }

    fn rating(case: f64, knee: f64, slope: f64) -> Current {
        let celsius = Temperature::celsius;
        let line = (Voltage::new(knee), Resistance::new(slope));
        rating_at_case(Current::new(450.0), celsius(80.0), celsius(175.0), celsius(case), line.0, line.1)
    }

    #[test]
    fn loss_shrinks_with_the_kelvins_left() {
        let current = rating(110.0, 0.85, 0.0023).si();
        let loss = |i: f64| 0.85 * i + 0.0023 * i * i;
        assert!((loss(current) / loss(450.0) - 65.0 / 95.0).abs() < 1e-12);
    }

    #[test]
    fn pure_resistance_and_pure_knee_have_their_simple_laws() {
        // A resistance loses with the square, a knee in proportion.
        assert!((rating(127.5, 0.0, 0.002).si() - 450.0 * 0.5f64.sqrt()).abs() < 1e-9);
        assert!((rating(127.5, 1.1, 0.0).si() - 225.0).abs() < 1e-9);
    }

    #[test]
    fn bounded_by_the_rating_and_by_zero() {
        assert_eq!(rating(80.0, 0.85, 0.0023), Current::new(450.0));
        assert_eq!(rating(25.0, 0.85, 0.0023), Current::new(450.0));
        assert_eq!(rating(175.0, 0.85, 0.0023), Current::ZERO);
        assert_eq!(rating(200.0, 0.85, 0.0023), Current::ZERO);
    }

    #[test]
    fn what_is_missing_stays_missing_even_at_the_bounds() {
        assert!(rating(f64::NAN, 0.85, 0.0023).si().is_nan());
        assert!(rating(200.0, f64::NAN, 0.0023).si().is_nan());
        assert!(rating(25.0, 0.85, f64::NAN).si().is_nan());
        let celsius = Temperature::celsius;
        let upside_down = rating_at_case(
            Current::new(450.0),
            celsius(175.0),
            celsius(175.0),
            celsius(65.0),
            Voltage::new(0.85),
            Resistance::new(0.0023),
        );
        assert!(upside_down.si().is_nan());
    }
}
