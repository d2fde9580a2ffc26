//! What the inductance of the commutation loop adds to the bus voltage while a switch turns off.

use crate::bounds::at_least_zero;
use crate::{Capacitance, Current, Inductance, Law, Time, Voltage};
use core::f64::consts::PI;

const SOURCE: &str = "induction in the loop; Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015";

/// Law of [`plateau`].
pub static PLATEAU: Law = Law {
    name: "voltage that the loop adds while the current falls",
    formula: "ΔV = L_σ·0.8·I/t_f",
    validity: "straight fall, t_f from 90 to 10 %; right for a device whose gate holds the slope, such as an IGBT. A loop that rings goes beyond it",
    source: SOURCE,
};

/// Law of [`undamped`].
pub static UNDAMPED: Law = Law {
    name: "voltage that an undamped loop adds at most",
    formula: "ΔV = 2·L_σ·0.8·I/t_f·sin(min(ω·t_r, π)/2), ω = 1/√(L_σ·C_oss), t_r = t_f/0.8; never more than I·√(L_σ/C_oss)",
    validity: "ramp of the current into the loop and a constant output capacitance, no damping: a bound for fast unipolar devices; without a capacitance 2·ΔV of the plateau",
    source: "own solution of the LC circuit, exact against time stepping",
};

/// Law of [`loop_of`].
pub static LOOP: Law = Law {
    name: "inductance of the commutation loop",
    formula: "L_σ = L_bars + 1/Σ 1/(L_path + L_part/n) + ΣL_package/n",
    validity: "banks side by side, devices in parallel with equal shares; coupling between the branches left out",
    source: "series and parallel inductances",
};

/// Voltage that the loop adds while the current falls.
///
/// `fall` is the time from 90 to 10 % of `current`. See [`PLATEAU`].
#[inline]
#[must_use]
pub fn plateau(inductance: Inductance, current: Current, fall: Time) -> Voltage {
    Voltage::new(inductance.si() * 0.8 * at_least_zero(current.si()) / fall.si())
}

/// Voltage that an undamped loop adds at most.
///
/// `capacitance` is what the switch has across it once it is off; zero where it is not known, which doubles the plateau.
/// See [`UNDAMPED`].
#[inline]
#[must_use]
pub fn undamped(inductance: Inductance, capacitance: Capacitance, current: Current, fall: Time) -> Voltage {
    let flat = plateau(inductance, current, fall).si();
    if capacitance.si() <= 0.0 {
        return Voltage::new(2.0 * flat);
    }
    let angle = fall.si() / 0.8 / (inductance.si() * capacitance.si()).sqrt();
    // Beyond half a turn the ring has had its crest before the current is gone.
    let share = if angle < PI { libm::sin(0.5 * angle) } else { 1.0 + 0.0 * angle };
    Voltage::new(2.0 * flat * share)
}

/// Inductance of a loop: the bars, the banks side by side, the packages in it.
///
/// `banks` is the sum of one over the inductance of each bank with its path, in 1/H. See [`LOOP`].
#[inline]
#[must_use]
pub fn loop_of(bars: Inductance, banks: f64, packages: Inductance) -> Inductance {
    Inductance::new(bars.si() + 1.0 / banks + packages.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    const NANO: f64 = 1e-9;

    #[test]
    fn a_slow_fall_rings_to_twice_the_plateau_and_a_fast_one_to_its_charge() {
        let (loop_of, amps) = (Inductance::new(15.0 * NANO), Current::new(300.0));
        let slow = Time::new(200.0 * NANO);
        let flat = plateau(loop_of, amps, slow).si();
        assert!((flat - 18.0).abs() < 1e-9);
        let crest = undamped(loop_of, Capacitance::new(0.5 * NANO), amps, slow).si();
        assert!((crest - 36.0).abs() < 1e-9);
        // So fast that all energy of the loop goes into the capacitance: I·√(L/C).
        let at_once = undamped(loop_of, Capacitance::new(5.0 * NANO), amps, Time::new(0.01 * NANO)).si();
        assert!((at_once / (300.0 * 3f64.sqrt()) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_loop_is_its_parts_in_series_with_the_banks_side_by_side() {
        let banks = 1.0 / (10.0 * NANO) + 1.0 / (30.0 * NANO);
        let all = loop_of(Inductance::new(6.0 * NANO), banks, Inductance::new(8.0 * NANO));
        assert!((all.si() - 21.5 * NANO).abs() < 1e-15);
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let (henry, farad, amps, fall) =
            (Inductance::new(2e-8), Capacitance::new(1e-9), Current::new(9.0), Time::new(5e-8));
        let nothing = f64::NAN;
        assert!(undamped(Inductance::new(nothing), farad, amps, fall).si().is_nan());
        assert!(undamped(henry, Capacitance::new(nothing), amps, fall).si().is_nan());
        assert!(undamped(henry, farad, Current::new(nothing), fall).si().is_nan());
        assert!(undamped(henry, farad, amps, Time::new(nothing)).si().is_nan());
        assert!(plateau(henry, amps, Time::new(nothing)).si().is_nan());
        assert!(loop_of(henry, nothing, henry).si().is_nan());
    }
}
