//! Copper foil of a printed board.

use crate::{Area, Current, Law, Length, TemperatureDifference};

/// Law of [`rise`] and [`area`].
pub static FOIL: Law = Law {
    name: "temperature rise of printed foil",
    formula: "I = k·ΔT^0.44·A^0.725, A in square mil, k 0.048 on a face, 0.024 inside",
    validity: "35 A, 10.2 mm wide, 17 to 105 µm, rise of 10 to 100 K; a wider foil counts as 10.2 mm, a lower rise as 10 K; a fit to a chart, ±20 %",
    source: "IPC-2221",
};

/// The largest current that the law knows.
pub const MOST_CURRENT: Current = Current::new(35.0);
/// The largest width that the law knows: 0.4 inch.
pub const MOST_WIDTH: Length = Length::new(10.16e-3);
/// Rises that the law knows, in K.
const RISES: (f64, f64) = (10.0, 100.0);
/// Thicknesses that the law knows, in m, half a micrometre of rounding allowed.
const THICKNESSES: (f64, f64) = (16.5e-6, 105.5e-6);
/// A square mil in m².
const SQUARE_MIL: f64 = 6.4516e-10;
/// Exponents of the rise and of the section.
const EXPONENTS: (f64, f64) = (0.44, 0.725);

fn factor(is_outer: bool) -> f64 {
    if is_outer { 0.048 } else { 0.024 }
}

/// Section that a current needs at a rise. See [`FOIL`]; the caller minds its range.
pub fn area(current: Current, rise: TemperatureDifference, is_outer: bool) -> Area {
    let of_rise = factor(is_outer) * libm::pow(rise.si(), EXPONENTS.0);
    Area::new(SQUARE_MIL * libm::pow(current.si() / of_rise, 1.0 / EXPONENTS.1))
}

/// Current that settles at a rise in a foil as [`rise`] counts it, the rise not held against its range. See [`FOIL`].
pub fn settling(rise: TemperatureDifference, width: Length, thickness: Length, is_outer: bool) -> Current {
    let counted = if MOST_WIDTH < width { MOST_WIDTH } else { width };
    let area = (counted * thickness).si() / SQUARE_MIL;
    let of_rise = libm::pow(rise.si(), EXPONENTS.0);
    Current::new(factor(is_outer) * of_rise * libm::pow(area, EXPONENTS.1))
}

/// Largest current that a foil is known to carry for good at a rise: no more than the law knows, and at a higher rise than that
/// what it carries at the highest; missing at lower rises, and of other thicknesses. See [`FOIL`].
pub fn carried(rise: TemperatureDifference, width: Length, thickness: Length, is_outer: bool) -> Current {
    let kelvins = rise.si();
    if !(RISES.0 <= kelvins && is_known(thickness)) {
        return Current::new(f64::NAN);
    }
    let counted = if kelvins > RISES.1 { TemperatureDifference::new(RISES.1) } else { rise };
    let settling = settling(counted, width, thickness, is_outer);
    if MOST_CURRENT < settling { MOST_CURRENT } else { settling }
}

fn is_known(thickness: Length) -> bool {
    THICKNESSES.0 <= thickness.si() && thickness.si() <= THICKNESSES.1
}

/// Rise of a foil over the board around it; missing beyond the currents, thicknesses and rises that the law knows, at least
/// 10 K. See [`FOIL`].
pub fn rise(current: Current, width: Length, thickness: Length, is_outer: bool) -> TemperatureDifference {
    let unknown = TemperatureDifference::new(f64::NAN);
    let counted = if MOST_WIDTH < width { MOST_WIDTH } else { width };
    if !(is_known(thickness) && current.si() <= MOST_CURRENT.si()) {
        return unknown;
    }
    let area = (counted * thickness).si() / SQUARE_MIL;
    let kelvins =
        libm::pow(current.si() / (factor(is_outer) * libm::pow(area, EXPONENTS.1)), 1.0 / EXPONENTS.0);
    if kelvins < RISES.0 {
        TemperatureDifference::new(RISES.0)
    } else if kelvins <= RISES.1 {
        TemperatureDifference::new(kelvins)
    } else {
        unknown
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_law_does_not_know_has_no_rise() {
        let known = |amps, width, micrometres| {
            rise(Current::new(amps), Length::new(width), Length::new(micrometres * 1e-6), true).si()
        };
        assert!(known(36.0, 0.01, 105.0).is_nan());
        assert!(known(20.0, 0.01, 400.0).is_nan());
        // 20 A through 2 mm of 35 µm would rise by far more than 100 K.
        assert!(known(20.0, 0.002, 35.0).is_nan());
        // Little current: at most 10 K, and nothing says less.
        assert!((known(0.1, 0.01, 105.0) - 10.0).abs() < 1e-12);
        assert!((known(20.0, 0.03, 105.0) - known(20.0, 0.010_16, 105.0)).abs() < 1e-12);
        assert!(known(f64::NAN, 0.01, 105.0).is_nan());
    }

    #[test]
    fn no_foil_carries_more_than_the_law_knows() {
        let carried = |kelvins, width, micrometres: f64| {
            let rise = TemperatureDifference::new(kelvins);
            carried(rise, Length::new(width), Length::new(micrometres * 1e-6), true).si()
        };
        // 0.048·45^0.44·(400 mil·4.134 mil)^0.725 = 55.2 A, which is beyond the chart.
        assert!((carried(45.0, 0.1, 105.0) - 35.0).abs() < 1e-12);
        let some = carried(45.0, 0.003, 105.0);
        let back = rise(Current::new(some), Length::new(0.003), Length::new(105e-6), true).si();
        assert!((back - 45.0).abs() < 1e-9 && some < 35.0);
        assert!((carried(140.0, 0.003, 35.0) - carried(100.0, 0.003, 35.0)).abs() < 1e-12);
        assert!(carried(45.0, 0.01, 1000.0).is_nan() && carried(9.0, 0.01, 105.0).is_nan());
        assert!(carried(f64::NAN, 0.01, 105.0).is_nan() && carried(45.0, f64::NAN, 105.0).is_nan());
    }

    #[test]
    fn area_and_rise_are_one_law() {
        let (amps, kelvins) = (Current::new(20.0), TemperatureDifference::new(20.0));
        let width = Length::new(area(amps, kelvins, true).si() / 105e-6);
        assert!((rise(amps, width, Length::new(105e-6), true).si() - 20.0).abs() < 1e-9);
        assert!((settling(kelvins, width, Length::new(105e-6), true).si() - 20.0).abs() < 1e-9);
    }
}
