//! Where a pump's curve meets a passage's.

use super::Drop;
use crate::{Law, LinearFlowResistance, Pressure, SquareFlowResistance, VolumeFlow};

/// Law of [`pump_point`].
pub static PUMP_POINT: Law = Law {
    name: "operating point of a pump",
    formula: "Q = 2·p_0/((k1 + a) + √((k1 + a)² + 4·(k2 + b)·p_0))",
    validity: "pump curve p = p_0 − a·Q − b·Q² that falls from standstill on; system curve k1·Q + k2·Q²",
    source: "positive root of the quadratic",
};

/// Flow and pressure at which a pump runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpPoint {
    /// Flow through the pump.
    pub flow: VolumeFlow,
    /// Pressure that the pump makes and the system takes.
    pub pressure: Pressure,
}

/// Operating point of a pump with the curve p = p_0 − a·Q − b·Q² on a system.
///
/// `shutoff` is p_0, the pressure without flow, `linear` is a, `square` is b. Infinite flow where neither
/// pump nor system sets an end to it. See [`PUMP_POINT`].
#[inline]
pub fn pump_point(
    shutoff: Pressure,
    linear: LinearFlowResistance,
    square: SquareFlowResistance,
    system: Drop,
) -> PumpPoint {
    // What falls inside the pump is one more passage in the path of the shut-off pressure.
    let flow = (Drop { linear, square } + system).flow(shutoff);
    PumpPoint { flow, pressure: system.pressure(flow) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pump_makes_what_the_system_takes() {
        let (a, b) = (LinearFlowResistance::new(3e7), SquareFlowResistance::new(6e11));
        let system =
            Drop { linear: LinearFlowResistance::new(5e7), square: SquareFlowResistance::new(1.2e12) };
        for shutoff in [10.0, 60e3, 3e5] {
            let point = pump_point(Pressure::new(shutoff), a, b, system);
            let q = point.flow.si();
            let made = shutoff - a.si() * q - b.si() * q * q;
            assert!((made - point.pressure.si()).abs() < 1e-12 * shutoff);
        }
    }
}
