//! What an edge at the drain does to a gate that is held off.

use crate::{Capacitance, Law, Resistance, SlewRate, Time, Voltage};

const SOURCE: &str = "step response of the gate circuit to a ramp at the drain, exact against time stepping; Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015 (parasitic turn-on)";

/// Law of [`crest`].
pub static CREST: Law = Law {
    name: "crest of a gate that is held off during an edge",
    formula: "V = V_off + R·C_gd·s·(1 − e^(−V/(s·τ))), τ = R·(C_gd + C_gs), s = dv/dt",
    validity: "constant capacitances, straight edge over the whole bus voltage; inductance in the gate's loop left out, which adds to it",
    source: SOURCE,
};

/// A gate that is held off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeldOff {
    /// Voltage that holds it off.
    pub off: Voltage,
    /// Resistance from the die's gate to that voltage, that inside of the device included.
    pub resistance: Resistance,
    /// Capacitance from gate to drain.
    pub to_drain: Capacitance,
    /// Capacitance from gate to source.
    pub to_source: Capacitance,
}

impl HeldOff {
    /// Time constant of the gate.
    #[must_use]
    pub fn constant(&self) -> Time {
        self.resistance * (self.to_drain + self.to_source)
    }
}

/// Crest of the gate's voltage during an edge over the bus voltage. See [`CREST`].
#[must_use]
pub fn crest(gate: &HeldOff, edge: SlewRate, bus: Voltage) -> Voltage {
    let risen = -libm::expm1(-((bus / edge) / gate.constant()));
    gate.off + gate.resistance * (gate.to_drain * edge) * risen
}

/// Bound for a long edge.
///
/// `V ≤ V_off + R·C_gd·s`. Valid: reached where the edge lasts long against τ; needs neither C_gs nor the bus voltage.
/// Source: step response of the gate circuit to a ramp at the drain, exact against time stepping; Wintrich, Nicolai,
/// Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015 (parasitic turn-on).
#[must_use]
pub fn bound_by_resistance(gate: &HeldOff, edge: SlewRate) -> Voltage {
    gate.off + gate.resistance * (gate.to_drain * edge)
}

/// Bound for a sudden edge.
///
/// `V ≤ V_off + V·C_gd/(C_gd + C_gs)`. Valid: reached where the edge is short against τ; needs neither the resistance
/// nor the slope. Source: step response of the gate circuit to a ramp at the drain, exact against time stepping;
/// Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015 (parasitic turn-on).
#[must_use]
pub fn bound_by_divider(gate: &HeldOff, bus: Voltage) -> Voltage {
    gate.off + bus * (gate.to_drain / (gate.to_drain + gate.to_source))
}

#[cfg(test)]
mod tests {
    use super::*;

    const GATE: HeldOff = HeldOff {
        off: Voltage::new(-4.0),
        resistance: Resistance::new(4.0),
        to_drain: Capacitance::new(40e-12),
        to_source: Capacitance::new(3e-9),
    };
    const BUS: Voltage = Voltage::new(800.0);

    #[test]
    fn a_slow_and_a_sudden_edge_come_up_to_their_bounds() {
        let (slow, sudden) = (SlewRate::new(1e8), SlewRate::new(1e14));
        assert!((crest(&GATE, slow, BUS) - bound_by_resistance(&GATE, slow)).si().abs() < 1e-9);
        assert!((crest(&GATE, sudden, BUS) - bound_by_divider(&GATE, BUS)).si().abs() < 1e-2);
        // 800 V over 40 pF and 3 nF.
        assert!((bound_by_divider(&GATE, BUS).si() - 6.526_315_789).abs() < 1e-8);
    }

    #[test]
    fn a_gate_without_resistance_stays_where_it_is() {
        let short = HeldOff { resistance: Resistance::ZERO, ..GATE };
        assert!((crest(&short, SlewRate::new(5e10), BUS) - GATE.off).si().abs() < 1e-12);
        assert!((crest(&GATE, SlewRate::ZERO, BUS) - GATE.off).si().abs() < 1e-12);
    }
}
