//! What still conducts between a floating bus and the chassis, and how little of it is allowed.

use crate::{Current, Law, Resistance, Voltage};

/// Law of [`in_parallel`].
pub static IN_PARALLEL: Law = Law {
    name: "isolation resistance of all units on a bus",
    formula: "R = 1/Σ 1/R_i",
    validity: "every unit on one system, and every divider from a rail to the chassis",
    source: "parallel resistances",
};

/// Law of [`least`].
pub static LEAST: Law = Law {
    name: "least isolation resistance",
    formula: "R = 100 Ω/V·V for direct voltage alone, 500 Ω/V·V where alternating voltage is joined to it, 100 Ω/V·V for both where the alternating side is protected of its own",
    validity: "V the largest working voltage; road vehicles, taken over for mobile machinery",
    source: "UN Regulation No. 100, 5.1.3; ISO 6469-3, isolation resistance",
};

/// Most resistance between a touchable conductive part and the chassis (UN Regulation No. 100, 5.1.2; ISO 6469-3).
pub const MOST_OF_BONDING: Resistance = Resistance::new(0.1);

/// Least current that bonding is measured with.
pub const MEASURING_BONDING: Current = Current::new(0.2);

/// What is joined to a bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joined {
    /// Direct voltage alone.
    DirectAlone,
    /// Alternating voltage alone, or both joined by conductors.
    WithAlternating,
    /// Both joined, the alternating side protected of its own: a second layer, or an enclosure that stays whole.
    WithProtectedAlternating,
}

/// Isolation resistance of all units on a bus; infinite without any. See [`IN_PARALLEL`].
#[must_use]
pub fn in_parallel(units: impl IntoIterator<Item = Resistance>) -> Resistance {
    Resistance::new(1.0 / units.into_iter().map(|unit| 1.0 / unit.si()).sum::<f64>())
}

/// Least isolation resistance at the largest working voltage. See [`LEAST`].
#[must_use]
pub fn least(joined: Joined, largest: Voltage) -> Resistance {
    let ohms_per_volt = match joined {
        Joined::DirectAlone | Joined::WithProtectedAlternating => 100.0,
        Joined::WithAlternating => 500.0,
    };
    Resistance::new(ohms_per_volt * largest.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_units_side_by_side_isolate_less_than_the_least_of_them() {
        let all = in_parallel([2e6, 2e6, 5e6].map(Resistance::new));
        assert!((all.si() - 1e6 / 1.2).abs() < 1e-6);
        assert!(in_parallel([]).si().is_infinite());
        assert!(in_parallel([2e6, f64::NAN].map(Resistance::new)).si().is_nan());
        assert!(in_parallel([2e6, 0.0].map(Resistance::new)).si().abs() < 1e-12);
    }

    #[test]
    fn a_machine_on_the_bus_asks_for_five_times_as_much() {
        assert_eq!(least(Joined::DirectAlone, Voltage::new(800.0)), Resistance::new(80e3));
        assert_eq!(least(Joined::WithAlternating, Voltage::new(800.0)), Resistance::new(400e3));
        assert_eq!(least(Joined::WithProtectedAlternating, Voltage::new(800.0)), Resistance::new(80e3));
    }
}
