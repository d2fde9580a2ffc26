//! Resistance from a cold plate to its coolant: which coolant temperature it is counted from, and at which
//! flow.

use crate::bounds::power;
use crate::coolant::Place;
use crate::{Law, OutOfRange, ThermalCapacityRate, ThermalResistance, VolumeFlow};

/// Law of [`at_flow`].
pub static AT_FLOW: Law = Law {
    name: "plate resistance at another flow",
    formula: "R(Q) = R_s·(Q_s/Q)^1.1 for Q_s/2 ≤ Q < Q_s, R_s above",
    validity: "on the high side for turbulent flow that stays turbulent; not known below half the stated flow",
    source: "exponent above that of turbulent flow after Gnielinski, Int. Chem. Eng. 16, 1976; no gain taken above the stated flow",
};

/// Exponent of the resistance below the stated flow. Turbulent correlations have 0.85 to 0.95 between
/// developed ranges and up to 1.06 just above transition; coolant that warms more adds to it.
const EXPONENT: f64 = 1.1;

/// Least share of the stated flow for which the law holds.
pub const LEAST_SHARE: f64 = 0.5;

/// A plate's resistance, counted from another place of the coolant.
///
/// `resistance` is counted from `from`; `rate` is the stream's heat capacity rate at which it was measured.
///
/// `R_inlet = R_mean + 1/(2·C) = R_outlet + 1/C`. Valid: heat spread evenly along the plate. Source: conservation of
/// energy.
#[inline]
pub fn counted_from(
    resistance: ThermalResistance,
    from: Place,
    to: Place,
    rate: ThermalCapacityRate,
) -> ThermalResistance {
    // Kelvins, for each watt, of the place over the inlet, in units of 1/C.
    let over_inlet = |place| match place {
        Place::Inlet => 0.0,
        Place::Mean => 0.5,
        Place::Outlet => 1.0,
    };
    if from == to {
        return resistance;
    }
    resistance + (1.0 / rate) * (over_inlet(from) - over_inlet(to))
}

/// Least resistance, counted from the inlet, that a plate can have at all.
///
/// `R_inlet ≥ 1/(2·C)`. Valid: heat spread evenly; a plate cannot be colder than the mean coolant. Source: conservation
/// of energy.
#[inline]
pub fn least_from_inlet(rate: ThermalCapacityRate) -> ThermalResistance {
    0.5 / rate
}

/// Whether a stated resistance is possible.
///
/// `resistance` is counted from `from` at the flow of which `rate` is the heat capacity rate.
///
/// # Errors
/// Names the resistance, with the least one possible. Such a figure belongs to another flow, or to another
/// place.
#[inline]
pub fn check_plausible(
    resistance: ThermalResistance,
    from: Place,
    rate: ThermalCapacityRate,
) -> Result<(), OutOfRange> {
    let from_inlet = counted_from(resistance, from, Place::Inlet, rate).si();
    let least = least_from_inlet(rate).si();
    OutOfRange::check("plate resistance counted from the inlet", from_inlet, least, f64::INFINITY, "K/W")
}

/// A plate's resistance at a flow other than the one it was stated for.
///
/// `stated` holds at the flow `at_stated`. More flow is not credited; less raises it steeply down to half
/// the stated flow, below which the answer is not a number, because flow may have turned laminar. See [`AT_FLOW`].
#[inline]
pub fn at_flow(stated: ThermalResistance, at_stated: VolumeFlow, flow: VolumeFlow) -> ThermalResistance {
    let share = flow / at_stated;
    if share >= 1.0 {
        stated
    } else if share < LEAST_SHARE {
        ThermalResistance::new(f64::NAN)
    } else {
        stated * power(share, -EXPONENT)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: ThermalCapacityRate = ThermalCapacityRate::new(120.0);

    #[test]
    fn there_and_back_is_the_same_resistance() {
        let stated = ThermalResistance::new(0.02);
        for place in [Place::Inlet, Place::Mean, Place::Outlet] {
            let moved = counted_from(stated, Place::Inlet, place, RATE);
            let back = counted_from(moved, place, Place::Inlet, RATE);
            assert!((back - stated).si().abs() < 1e-15);
        }
        let outlet = counted_from(stated, Place::Inlet, Place::Outlet, RATE);
        assert!((outlet.si() - (0.02 - 1.0 / 120.0)).abs() < 1e-15);
    }

    #[test]
    fn a_plate_colder_than_its_coolant_is_refused() {
        assert!(check_plausible(ThermalResistance::new(0.0041), Place::Inlet, RATE).is_err());
        assert!(check_plausible(least_from_inlet(RATE), Place::Inlet, RATE).is_ok());
        assert!(check_plausible(ThermalResistance::ZERO, Place::Mean, RATE).is_ok());
        assert!(check_plausible(ThermalResistance::new(f64::NAN), Place::Inlet, RATE).is_err());
    }

    #[test]
    fn less_flow_raises_and_more_flow_does_not_lower() {
        let (stated, flow) = (ThermalResistance::new(0.03), VolumeFlow::new(8e-3 / 60.0));
        assert_eq!(at_flow(stated, flow, flow), stated);
        assert_eq!(at_flow(stated, flow, flow * 3.0), stated);
        // 2^1.1 = 2.1435.
        assert!((at_flow(stated, flow, flow * 0.5) / stated - 2.1435).abs() < 1e-4);
        assert!(at_flow(stated, flow, flow * 0.49).si().is_nan());
        assert!(at_flow(stated, flow, VolumeFlow::new(f64::NAN)).si().is_nan());
    }
}
